#include "tests/screens/harness.h"

#include <errno.h>
#include <poll.h>
#include <pty.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>
#include <vterm.h>

#include <cmocka.h>

/* STILL_MS: the kernel hands a key on from a thread of its own, which can be late on a busy
 * machine. */
enum { QUIET_MS = 150, STILL_MS = 20, POLL_MS = 20, CHUNK = 4096, DUMP_ROOM = 1 << 17 };

struct tty {
    pid_t pid;     /* our child: the program, or the parent with job control */
    pid_t program; /* the program */
    int master;
    int news;   /* job: "P<pid>\n", "S\n" from the parent */
    int orders; /* job: "f" continues */
    int rows, cols;
    bool alternate, ended, job;
    int status;
    size_t received;
    char *sent; /* those bytes */
    VTerm *vt;
    VTermScreen *screen;
};

static long long now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (long long)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

/* ---- starting -------------------------------------------------------------------------------- */

static void set_environment(const struct tty_options *o)
{
    static const char *const unset[] = {"LINES", "COLUMNS",  "NO_COLOR", "ESCDELAY",
                                        "LANG",  "LC_CTYPE", "TMUX"};
    for (size_t i = 0; i < sizeof unset / sizeof *unset; i++)
        unsetenv(unset[i]);
    setenv("LC_ALL", "C.UTF-8", 1);
    setenv("TERM", o->term ? o->term : "xterm-256color", 1);
    for (const char *const *e = o->env; e && *e; e++) {
        const char *equals = strchr(*e, '=');
        char name[64];
        snprintf(name, sizeof name, "%.*s", (int)(equals ? equals - *e : (long)strlen(*e)), *e);
        if (equals)
            setenv(name, equals + 1, 1);
        else
            unsetenv(name);
    }
}

static void run(const struct tty_options *o)
{
    set_environment(o);
    execv(o->argv[0], (char *const *)o->argv);
    fprintf(stderr, "cannot run %s: %s\n", o->argv[0], strerror(errno));
    _exit(127);
}

/* What a shell does for one job: a process group of its own that has the terminal, told when it
 * stops, put in front again when asked. Ends as the job ended. */
static void run_job(const struct tty_options *o, int news, int orders)
{
    signal(SIGTTOU, SIG_IGN);
    pid_t job = fork();
    if (job == 0) {
        setpgid(0, 0);
        tcsetpgrp(STDIN_FILENO, getpid());
        signal(SIGTTOU, SIG_DFL);
        close(news);
        close(orders);
        run(o);
    }
    setpgid(job, job);
    dprintf(news, "P%d\n", (int)job);
    int status = 0;
    while (waitpid(job, &status, WUNTRACED) == job && WIFSTOPPED(status)) {
        tcsetpgrp(STDIN_FILENO, getpid());
        dprintf(news, "S\n");
        char order;
        if (read(orders, &order, 1) != 1)
            break;
        tcsetpgrp(STDIN_FILENO, job);
        kill(-job, SIGCONT);
    }
    if (WIFSIGNALED(status)) {
        signal(WTERMSIG(status), SIG_DFL);
        raise(WTERMSIG(status));
    }
    _exit(WIFEXITED(status) ? WEXITSTATUS(status) : 126);
}

static int on_property(VTermProp prop, VTermValue *value, void *of)
{
    struct tty *t = of;
    if (prop == VTERM_PROP_ALTSCREEN)
        t->alternate = value->boolean;
    return 1;
}

static int read_news(struct tty *t, char *line, size_t room)
{
    size_t n = 0;
    while (n + 1 < room) {
        struct pollfd on = {.fd = t->news, .events = POLLIN};
        if (poll(&on, 1, TTY_WAIT_MS) <= 0 || read(t->news, line + n, 1) != 1 || line[n] == '\n')
            break;
        n++;
    }
    line[n] = '\0';
    return (int)n;
}

struct tty *tty_start(const struct tty_options *o)
{
    static const VTermScreenCallbacks callbacks = {.settermprop = on_property};
    struct tty *t = calloc(1, sizeof *t);
    assert_non_null(t);
    t->rows = o->rows > 0 ? o->rows : 24;
    t->cols = o->cols > 0 ? o->cols : 80;
    t->job = o->job;
    t->vt = vterm_new(t->rows, t->cols);
    vterm_set_utf8(t->vt, 1);
    t->screen = vterm_obtain_screen(t->vt);
    vterm_screen_enable_altscreen(t->screen, 1);
    vterm_screen_set_callbacks(t->screen, &callbacks, t);
    vterm_screen_reset(t->screen, 1);
    struct winsize size = {.ws_row = (unsigned short)t->rows, .ws_col = (unsigned short)t->cols};
    int news[2] = {-1, -1}, orders[2] = {-1, -1};
    if (o->job)
        assert_true(pipe(news) == 0 && pipe(orders) == 0);
    t->pid = forkpty(&t->master, NULL, NULL, &size);
    assert_true(t->pid >= 0);
    if (t->pid == 0) {
        if (!o->job)
            run(o);
        close(news[0]);
        close(orders[1]);
        run_job(o, news[1], orders[0]);
    }
    t->program = t->pid;
    t->news = news[0];
    t->orders = orders[1];
    if (o->job) {
        char line[32];
        close(news[1]);
        close(orders[0]);
        read_news(t, line, sizeof line);
        t->program = (pid_t)strtol(line + 1, NULL, 10);
    }
    return t;
}

void tty_stop(struct tty *t)
{
    if (!t)
        return;
    if (!t->ended) {
        if (t->program != t->pid)
            kill(t->program, SIGKILL);
        kill(t->pid, SIGKILL);
        waitpid(t->pid, &t->status, 0);
    }
    if (t->master >= 0)
        close(t->master);
    if (t->job) {
        close(t->news);
        close(t->orders);
    }
    vterm_free(t->vt);
    free(t->sent);
    free(t);
}

/* ---- traffic --------------------------------------------------------------------------------- */

/* Send what libvterm made of keys and questions (a terminal answers, too). */
static void flush_input(struct tty *t)
{
    char buf[CHUNK];
    size_t n;
    while ((n = vterm_output_read(t->vt, buf, sizeof buf)) > 0)
        tty_bytes(t, buf, n);
}

/* Read what comes within `ms`; false when nothing did. */
static bool pump(struct tty *t, int ms)
{
    char buf[CHUNK];
    if (t->master < 0)
        return false;
    struct pollfd on = {.fd = t->master, .events = POLLIN};
    if (poll(&on, 1, ms) <= 0 || !(on.revents & POLLIN))
        return false;
    ssize_t n = read(t->master, buf, sizeof buf);
    if (n <= 0)
        return false;
    t->sent = realloc(t->sent, t->received + (size_t)n);
    assert_non_null(t->sent);
    memcpy(t->sent + t->received, buf, (size_t)n);
    t->received += (size_t)n;
    vterm_input_write(t->vt, buf, (size_t)n);
    flush_input(t);
    return true;
}

/* Write all, reading meanwhile so that neither side waits for the other. */
void tty_bytes(struct tty *t, const char *bytes, size_t n)
{
    long long until = now_ms() + TTY_WAIT_MS;
    while (n > 0 && now_ms() < until) {
        struct pollfd on = {.fd = t->master, .events = POLLIN | POLLOUT};
        poll(&on, 1, POLL_MS);
        if (on.revents & POLLOUT) {
            ssize_t done = write(t->master, bytes, n < 512 ? n : 512);
            if (done > 0) {
                bytes += done;
                n -= (size_t)done;
            }
        }
        if (on.revents & POLLIN)
            pump(t, 0);
        if (on.revents & (POLLHUP | POLLERR))
            return;
    }
    assert_int_equal(n, 0);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static uint32_t next_character(const char **s)
{
    const unsigned char *b = (const unsigned char *)*s;
    int len = b[0] < 0x80 ? 1 : b[0] < 0xE0 ? 2 : b[0] < 0xF0 ? 3 : 4;
    uint32_t c = len == 1 ? b[0] : b[0] & (0xFFu >> (len + 1));
    for (int i = 1; i < len; i++)
        c = c << 6 | (b[i] & 0x3Fu);
    *s += len;
    return c;
}

void tty_type(struct tty *t, const char *utf8)
{
    while (*utf8) {
        vterm_keyboard_unichar(t->vt, next_character(&utf8), VTERM_MOD_NONE);
        flush_input(t);
    }
}

void tty_paste(struct tty *t, const char *utf8)
{
    vterm_keyboard_start_paste(t->vt);
    flush_input(t);
    tty_bytes(t, utf8, strlen(utf8));
    vterm_keyboard_end_paste(t->vt);
    flush_input(t);
}

static const struct {
    const char *name;
    VTermKey key;
    VTermModifier mod;
} named[] = {
    {"Enter", VTERM_KEY_ENTER, VTERM_MOD_NONE},
    {"Tab", VTERM_KEY_TAB, VTERM_MOD_NONE},
    {"S-Tab", VTERM_KEY_TAB, VTERM_MOD_SHIFT},
    {"Up", VTERM_KEY_UP, VTERM_MOD_NONE},
    {"Down", VTERM_KEY_DOWN, VTERM_MOD_NONE},
    {"Left", VTERM_KEY_LEFT, VTERM_MOD_NONE},
    {"Right", VTERM_KEY_RIGHT, VTERM_MOD_NONE},
    {"S-Left", VTERM_KEY_LEFT, VTERM_MOD_SHIFT},
    {"S-Right", VTERM_KEY_RIGHT, VTERM_MOD_SHIFT},
    {"C-Left", VTERM_KEY_LEFT, VTERM_MOD_CTRL},
    {"Home", VTERM_KEY_HOME, VTERM_MOD_NONE},
    {"End", VTERM_KEY_END, VTERM_MOD_NONE},
    {"PageUp", VTERM_KEY_PAGEUP, VTERM_MOD_NONE},
    {"PageDown", VTERM_KEY_PAGEDOWN, VTERM_MOD_NONE},
    {"Backspace", VTERM_KEY_BACKSPACE, VTERM_MOD_NONE},
    {"Delete", VTERM_KEY_DEL, VTERM_MOD_NONE},
    {"Esc", VTERM_KEY_ESCAPE, VTERM_MOD_NONE},
    {"F1", VTERM_KEY_FUNCTION(1), VTERM_MOD_NONE},
    {"F2", VTERM_KEY_FUNCTION(2), VTERM_MOD_NONE},
    {"F3", VTERM_KEY_FUNCTION(3), VTERM_MOD_NONE},
    {"F4", VTERM_KEY_FUNCTION(4), VTERM_MOD_NONE},
    {"F5", VTERM_KEY_FUNCTION(5), VTERM_MOD_NONE},
};

static void press_named(struct tty *t, const char *name)
{
    for (size_t i = 0; i < sizeof named / sizeof *named; i++) {
        if (strcmp(named[i].name, name) == 0) {
            vterm_keyboard_key(t->vt, named[i].key, named[i].mod);
            flush_input(t);
            return;
        }
    }
    if (strcmp(name, "Space") == 0) {
        tty_type(t, " ");
    } else if (name[0] == '^' && name[1] && !name[2]) {
        tty_bytes(t, &(char){(char)(name[1] & 0x1F)}, 1);
    } else {
        const char *rest = name;
        next_character(&rest);
        if (*rest)
            fail_msg("no key is called \"%s\"", name);
        tty_type(t, name);
    }
}

void tty_keys(struct tty *t, const char *names)
{
    while (*names) {
        char name[16];
        size_t n = strcspn(names, " ");
        snprintf(name, sizeof name, "%.*s", (int)n, names);
        if (n > 0)
            press_named(t, name);
        names += n + (names[n] == ' ');
    }
}

/* ---- looking --------------------------------------------------------------------------------- */

static void row_text(struct tty *t, int row, char *out, size_t room)
{
    VTermRect rect = {.start_row = row, .end_row = row + 1, .start_col = 0, .end_col = t->cols};
    size_t n = vterm_screen_get_text(t->screen, out, room - 1, rect);
    while (n > 0 && (out[n - 1] == ' ' || out[n - 1] == '\n'))
        n--;
    out[n] = '\0';
}

char *tty_dump(struct tty *t)
{
    char *all = malloc(DUMP_ROOM), row[CHUNK];
    assert_non_null(all);
    size_t len = 0;
    for (int r = 0; r < t->rows; r++) {
        row_text(t, r, row, sizeof row);
        len += (size_t)snprintf(all + len, DUMP_ROOM - len, "%s\n", row);
    }
    VTermPos at;
    vterm_state_get_cursorpos(vterm_obtain_state(t->vt), &at);
    snprintf(all + len, DUMP_ROOM - len, "cursor %d,%d\n", at.row, at.col);
    return all;
}

bool tty_has(struct tty *t, const char *text)
{
    char row[CHUNK];
    for (int r = 0; r < t->rows; r++) {
        row_text(t, r, row, sizeof row);
        if (strstr(row, text))
            return true;
    }
    return false;
}

static void give_up(struct tty *t, const char *what, const char *text)
{
    char *dump = tty_dump(t);
    print_error("%s \"%s\"; the screen is:\n%s", what, text, dump);
    free(dump);
    fail();
}

static void wait_has(struct tty *t, const char *text, bool wanted)
{
    long long until = now_ms() + TTY_WAIT_MS;
    while (tty_has(t, text) != wanted) {
        if (now_ms() > until)
            give_up(t, wanted ? "waited in vain for" : "still there:", text);
        pump(t, POLL_MS);
    }
}

void tty_wait_text(struct tty *t, const char *text)
{
    wait_has(t, text, true);
}

void tty_wait_gone(struct tty *t, const char *text)
{
    wait_has(t, text, false);
}

void tty_wait_that(struct tty *t, bool (*holds)(struct tty *t, const void *of), const void *of,
                   const char *what)
{
    long long until = now_ms() + TTY_WAIT_MS;
    while (!holds(t, of)) {
        if (now_ms() > until)
            give_up(t, "waited in vain for", what);
        pump(t, POLL_MS);
    }
}

/* The program waits for something, is put aside, or is gone. */
static bool sleeps(const struct tty *t)
{
    char path[32], stat[512];
    snprintf(path, sizeof path, "/proc/%d/stat", (int)t->program);
    FILE *in = fopen(path, "r");
    size_t n = in ? fread(stat, 1, sizeof stat - 1, in) : 0;
    if (in)
        fclose(in);
    stat[n] = '\0';
    const char *name_end = strrchr(stat, ')');
    return !name_end || strchr("RD", name_end[2]) == NULL; /* neither runs nor writes to disk */
}

void tty_wait_still(struct tty *t)
{
    long long until = now_ms() + TTY_WAIT_MS;
    while ((pump(t, STILL_MS) || !sleeps(t)) && now_ms() < until)
        ;
}

void tty_wait_cursor(struct tty *t, int row, int col)
{
    long long until = now_ms() + TTY_WAIT_MS;
    for (;;) {
        VTermPos at;
        vterm_state_get_cursorpos(vterm_obtain_state(t->vt), &at);
        if (at.row == row && at.col == col)
            return;
        if (now_ms() > until) {
            char place[32];
            snprintf(place, sizeof place, "%d,%d", row, col);
            give_up(t, "the cursor never came to", place);
        }
        pump(t, POLL_MS);
    }
}

static char *read_golden(const char *path)
{
    FILE *in = fopen(path, "r");
    if (!in)
        return NULL;
    char *all = calloc(1, DUMP_ROOM);
    assert_non_null(all);
    size_t n = fread(all, 1, DUMP_ROOM - 1, in);
    all[n] = '\0';
    fclose(in);
    return all;
}

static void write_golden(struct tty *t, const char *path)
{
    while (pump(t, QUIET_MS))
        ;
    char *dump = tty_dump(t);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    fputs(dump, out);
    assert_int_equal(fclose(out), 0);
    free(dump);
}

void tty_golden(struct tty *t, const char *name)
{
    char path[256];
    snprintf(path, sizeof path, "tests/screens/golden/%s.txt", name);
    if (getenv("UPDATE_GOLDEN")) {
        write_golden(t, path);
        return;
    }
    char *wanted = read_golden(path);
    if (!wanted) {
        fail_msg("there is no %s: UPDATE_GOLDEN=1 writes it", path);
        return;
    }
    long long until = now_ms() + TTY_WAIT_MS;
    for (;;) {
        char *dump = tty_dump(t);
        bool same = strcmp(dump, wanted) == 0;
        if (!same && now_ms() > until)
            print_error("%s is:\n%swhile the screen is (UPDATE_GOLDEN=1 accepts it):\n%s", path,
                        wanted, dump);
        free(dump);
        if (same || now_ms() > until) {
            free(wanted);
            assert_true(same);
            return;
        }
        pump(t, POLL_MS);
    }
}

struct tty_cell tty_cell(struct tty *t, int row, int col)
{
    VTermScreenCell cell;
    VTermPos at = {.row = row, .col = col};
    struct tty_cell out = {0};
    vterm_screen_get_cell(t->screen, at, &cell);
    VTermRect one = {.start_row = row, .end_row = row + 1, .start_col = col, .end_col = col + 1};
    size_t n = vterm_screen_get_text(t->screen, out.text, sizeof out.text - 1, one);
    out.text[n] = '\0';
    out.bold = cell.attrs.bold;
    out.underline = cell.attrs.underline != 0;
    out.reverse = cell.attrs.reverse;
    out.colored = !VTERM_COLOR_IS_DEFAULT_FG(&cell.fg);
    out.width = (unsigned char)cell.width;
    return out;
}

bool tty_alternate(struct tty *t)
{
    return t->alternate;
}

bool tty_pastes(struct tty *t)
{
    char buf[16];
    vterm_keyboard_start_paste(t->vt); /* says something only when the mode is on */
    size_t n = vterm_output_read(t->vt, buf, sizeof buf);
    return n > 0;
}

bool tty_cooked(struct tty *t)
{
    struct termios modes;
    assert_int_equal(tcgetattr(t->master, &modes), 0);
    tcflag_t wanted = ICANON | ECHO | ISIG;
    return (modes.c_lflag & wanted) == wanted && (modes.c_iflag & IXON) && (modes.c_iflag & ICRNL);
}

size_t tty_received(const struct tty *t)
{
    return t->received;
}

bool tty_sent(const struct tty *t, const char *bytes)
{
    return t->received > 0 && memmem(t->sent, t->received, bytes, strlen(bytes)) != NULL;
}

void tty_wait_more(struct tty *t, size_t received)
{
    long long until = now_ms() + TTY_WAIT_MS;
    while (t->received <= received) {
        if (now_ms() > until)
            give_up(t, "waited in vain for", "anything new");
        pump(t, POLL_MS);
    }
}

pid_t tty_pid(struct tty *t)
{
    return t->program;
}

/* ---- the rest of the world ------------------------------------------------------------------- */

void tty_resize(struct tty *t, int rows, int cols)
{
    struct winsize size = {.ws_row = (unsigned short)rows, .ws_col = (unsigned short)cols};
    while (pump(t, 0))
        ;
    vterm_set_size(t->vt, rows, cols);
    t->rows = rows;
    t->cols = cols;
    assert_int_equal(ioctl(t->master, TIOCSWINSZ, &size), 0);
}

void tty_signal(struct tty *t, int sig)
{
    assert_int_equal(kill(t->program, sig), 0);
}

void tty_wait_stopped(struct tty *t)
{
    char line[32];
    read_news(t, line, sizeof line);
    assert_string_equal(line, "S");
    while (pump(t, 0))
        ;
}

void tty_continue(struct tty *t)
{
    assert_int_equal(write(t->orders, "f", 1), 1);
}

int tty_wait_exit(struct tty *t)
{
    long long until = now_ms() + TTY_WAIT_MS;
    while (!t->ended) {
        pid_t done = waitpid(t->pid, &t->status, WNOHANG);
        t->ended = done == t->pid;
        if (!t->ended && now_ms() > until)
            give_up(t, "waited in vain for", "the end of the program");
        if (!pump(t, POLL_MS) && !t->ended)
            usleep(1000); /* the terminal may close a moment before the process is gone */
    }
    while (pump(t, 0))
        ;
    return t->status;
}

void tty_hang_up(struct tty *t)
{
    close(t->master);
    t->master = -1;
}
