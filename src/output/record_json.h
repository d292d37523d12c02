/* A chart as one JSON object, every finding with who, when and what it replaces. */
#ifndef AMBLE_OUTPUT_RECORD_JSON_H
#define AMBLE_OUTPUT_RECORD_JSON_H

#include "casebook/casebook.h"

struct text;
/* Conflicts are written as an array of all values with "conflict": true; never one of them. */
bool chart_json(const struct chart *c, struct text *out, struct fault *f);

#endif
