/* The program as the shell sees it. */
#ifndef AMBLE_COMMAND_COMMAND_H
#define AMBLE_COMMAND_COMMAND_H

enum {
    COMMAND_SCREENS = -1, /* no command was named: the caller opens the screens */
    COMMAND_DONE = 0,
    COMMAND_FAILED = 1, /* it could not be done; the reason is on the error stream */
    COMMAND_USAGE = 2,  /* the arguments cannot be used; the message names the one */
};

#define AMBLE_VERSION "0.1"

/* Run what the arguments ask for and return one of the above. Sets the umask to 077. After
 * COMMAND_SCREENS the caller reads the same arguments with setting_read (command/setting.h). */
int command_main(int argc, char **argv);

#endif
