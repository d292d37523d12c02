#include "command/secret.h"
#include <string.h>
#include <termios.h>
#include <unistd.h>

bool ask_secret(struct run *run, const char *question, char out[SECRET_ROOM], struct fault *f)
{
    struct termios kept, quiet;
    int fd = fileno(run->in);
    bool terminal = fd >= 0 && isatty(fd) && tcgetattr(fd, &kept) == 0;
    if (terminal) {
        say(run->err, "%s ", question);
        quiet = kept;
        quiet.c_lflag &= ~(tcflag_t)ECHO;
        tcsetattr(fd, TCSAFLUSH, &quiet);
    }
    bool got = fgets(out, SECRET_ROOM, run->in) != NULL;
    if (terminal) {
        tcsetattr(fd, TCSAFLUSH, &kept);
        say(run->err, "\n");
    }
    if (got)
        out[strcspn(out, "\r\n")] = '\0';
    return (got && *out != '\0') || fail(f, FAULT_INPUT, "no passphrase was given");
}
