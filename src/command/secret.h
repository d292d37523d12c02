/* A passphrase from whoever runs a command: without echo on a terminal, else a line of input. */
#ifndef AMBLE_COMMAND_SECRET_H
#define AMBLE_COMMAND_SECRET_H

#include "command/run.h"

enum { SECRET_ROOM = 1024 };
/* The caller wipes `out`. FAULT_INPUT when nothing came. */
bool ask_secret(struct run *run, const char *question, char out[SECRET_ROOM], struct fault *f);

#endif
