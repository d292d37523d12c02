#include "screens/kit/guard.h"

#include <curses.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <term.h>
#include <termios.h>
#include <unistd.h>

enum { GRACE_SECONDS = 2, EXIT_ROOM = 512, STACK_ROOM = 65536 };

/* What each signal does. Stopping signals reach the loop as a byte in the pipe. */
enum manner { FATAL, ENDING, TOLD };
static const struct {
    int signal;
    enum manner manner;
} signals[] = {
    {SIGSEGV, FATAL}, {SIGBUS, FATAL},  {SIGFPE, FATAL},  {SIGILL, FATAL},   {SIGABRT, FATAL},
    {SIGINT, FATAL},  {SIGQUIT, FATAL}, {SIGALRM, FATAL}, {SIGTERM, ENDING}, {SIGHUP, ENDING},
    {SIGWINCH, TOLD}, {SIGTSTP, TOLD},  {SIGCONT, TOLD},
};
enum { SIGNAL_COUNT = sizeof signals / sizeof *signals };

static struct {
    int fd, pipe[2];
    struct termios modes;
    char exit[EXIT_ROOM]; /* what gives the terminal back */
    size_t exit_len;
    volatile sig_atomic_t ending;
    struct sigaction before[SIGNAL_COUNT];
    char stack[STACK_ROOM]; /* for a handler after the ordinary stack ran out */
} guard = {.pipe = {-1, -1}};

static void tell_loop(int sig)
{
    unsigned char byte = (unsigned char)sig;
    ssize_t done = write(guard.pipe[1], &byte, 1); /* full: the loop has enough to read */
    (void)done;
}

static void on_fatal(int sig)
{
    ssize_t done = write(guard.fd, guard.exit, guard.exit_len);
    (void)done;
    tcsetattr(guard.fd, TCSANOW, &guard.modes);
    int real = sig == SIGALRM && guard.ending ? guard.ending : sig;
    signal(real, SIG_DFL);
    raise(real);
}

static void on_ending(int sig)
{
    int kept = errno;
    if (guard.ending) { /* asked twice: no more patience */
        on_fatal(sig);
    } else {
        guard.ending = sig;
        alarm(GRACE_SECONDS);
        tell_loop(sig);
    }
    errno = kept;
}

static void on_told(int sig)
{
    int kept = errno;
    tell_loop(sig);
    errno = kept;
}

static void install(size_t i)
{
    static void (*const handlers[])(int) = {
        [FATAL] = on_fatal, [ENDING] = on_ending, [TOLD] = on_told};
    struct sigaction act = {.sa_handler = handlers[signals[i].manner],
                            .sa_flags = SA_ONSTACK | SA_RESTART};
    sigemptyset(&act.sa_mask);
    sigaction(signals[i].signal, &act, NULL);
}

bool guard_start(int fd, struct fault *f)
{
    guard.fd = fd;
    guard.exit_len = 0;
    guard.ending = 0;
    if (tcgetattr(fd, &guard.modes) != 0)
        return fail(f, FAULT_REFUSED, "the terminal does not tell its settings: %s",
                    strerror(errno));
    if (pipe2(guard.pipe, O_CLOEXEC | O_NONBLOCK) != 0)
        return fail(f, FAULT_SYSTEM, "the system has no pipe left: %s", strerror(errno));
    stack_t stack = {.ss_sp = guard.stack, .ss_size = sizeof guard.stack};
    sigaltstack(&stack, NULL);
    for (size_t i = 0; i < SIGNAL_COUNT; i++) {
        sigaction(signals[i].signal, NULL, &guard.before[i]);
        /* Started with nohup: the hang-up is nobody's wish to end. */
        if (guard.before[i].sa_handler != SIG_IGN || signals[i].manner == TOLD)
            install(i);
    }
    return true;
}

static int keep_byte(int c)
{
    if (guard.exit_len < sizeof guard.exit)
        guard.exit[guard.exit_len++] = (char)c;
    return c;
}

static void keep_string(const char *s)
{
    if (s && s != (const char *)-1)
        tputs(s, 1, keep_byte);
}

void guard_capture(const char *paste_off, int rows)
{
    guard.exit_len = 0; /* a crash just now gives less back, never half a sequence */
    keep_string(paste_off);
    keep_string(tigetstr("sgr0"));
    keep_string(tigetstr("op"));
    keep_string(tigetstr("cnorm"));
    const char *cup = tigetstr("cup");
    if (cup && cup != (const char *)-1)
        keep_string(tparm(cup, (long)(rows - 1), 0L, 0L, 0L, 0L, 0L, 0L, 0L, 0L));
    keep_string(tigetstr("rmcup"));
    keep_string(tigetstr("rmkx"));
    keep_byte('\r');
    keep_byte('\n');
}

void guard_stop(void)
{
    if (guard.pipe[0] < 0)
        return;
    alarm(0);
    for (size_t i = 0; i < SIGNAL_COUNT; i++)
        sigaction(signals[i].signal, &guard.before[i], NULL);
    stack_t none = {.ss_flags = SS_DISABLE};
    sigaltstack(&none, NULL);
    close(guard.pipe[0]);
    close(guard.pipe[1]);
    guard.pipe[0] = guard.pipe[1] = -1;
}

int guard_fd(void)
{
    return guard.pipe[0];
}

int guard_signal(void)
{
    return guard.ending;
}

enum guard_event guard_next(void)
{
    if (guard.ending) {
        alarm(0); /* the loop is alive and ends by itself */
        return GUARD_END;
    }
    unsigned char byte;
    if (read(guard.pipe[0], &byte, 1) != 1)
        return GUARD_NONE;
    switch (byte) {
    case SIGWINCH:
        return GUARD_SIZE;
    case SIGTSTP:
        return GUARD_STOP;
    case SIGCONT:
        return GUARD_CONT;
    default:
        return GUARD_END;
    }
}

void guard_suspend(void)
{
    signal(SIGTSTP, SIG_DFL);
    signal(SIGCONT, SIG_DFL);
    kill(0, SIGTSTP); /* delivered before kill returns; everything after is after "fg" */
    for (size_t i = 0; i < SIGNAL_COUNT; i++)
        if (signals[i].signal == SIGTSTP || signals[i].signal == SIGCONT)
            install(i);
}
