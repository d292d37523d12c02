/* Loading from memory: what template_load does once the files have been read. For tests, fuzzing.
 */
#ifndef AMBLE_TEMPLATE_LOAD_H
#define AMBLE_TEMPLATE_LOAD_H

#include "template/template.h"

struct template_file {
    const char *path; /* below the folder: "forms/history.yaml" */
    const char *bytes;
    size_t size;
};

/* As template_load; the bytes are not needed afterwards. */
struct template_set *template_load_files(const struct template_file *files, size_t count,
                                         struct template_report *report);

/* Files that need not be all of a set: nothing is required, names of other files are not looked
 * up. NULL when one of them has a mistake. */
struct template_set *template_load_some(const struct template_file *files, size_t count);

#endif
