#include "command/secret.h"
#include "base/locked.h"
#include <string.h>
#include <termios.h>
#include <unistd.h>

bool ask_secret(struct run *run, const char *question, char **out, struct fault *f)
{
    struct termios kept, quiet;
    int fd = fileno(run->in);
    bool terminal = fd >= 0 && isatty(fd) && tcgetattr(fd, &kept) == 0;
    *out = locked_new(SECRET_ROOM, f);
    if (*out == NULL)
        return false;
    (void)setvbuf(run->in, NULL, _IONBF, 0); /* no copy in a buffer that nobody wipes */
    if (terminal) {
        quiet = kept;
        quiet.c_lflag &= ~(tcflag_t)ECHO;
        tcsetattr(fd, TCSAFLUSH, &quiet);
        say(run->err, "%s ", question); /* who answers at once is not shown, nor cut short */
    }
    bool got = fgets(*out, SECRET_ROOM, run->in) != NULL;
    if (terminal) {
        tcsetattr(fd, TCSAFLUSH, &kept);
        say(run->err, "\n");
    }
    if (got)
        (*out)[strcspn(*out, "\r\n")] = '\0';
    if (got && **out != '\0')
        return true;
    locked_free(*out);
    *out = NULL;
    return fail(f, FAULT_INPUT, "no passphrase was given");
}
