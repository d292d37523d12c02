#include "tests/screens/visit_kit.h"

#include <fcntl.h>
#include <ftw.h>
#include <limits.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#ifndef AMBLE_PROGRAM
#error "AMBLE_PROGRAM names the program under test"
#endif

enum { WORDS_MOST = 24, ENV_MOST = 16, LINE_ROOM = 1024, FILE_MOST = 1 << 20 };

/* ---- a folder ------------------------------------------------------------------------------ */

static void make_folders(char *path)
{
    for (char *slash = path + 1; (slash = strchr(slash, '/')); slash++) {
        *slash = '\0';
        mkdir(path, 0700);
        *slash = '/';
    }
}

void practice_disk(struct practice *p, bool encrypted)
{
    char path[256];
    struct stat st;
    assert_int_equal(stat(p->folder, &st), 0);
    snprintf(path, sizeof path, "%s/sys/dev/block/%u:%u/dm/uuid", p->folder, major(st.st_dev),
             minor(st.st_dev));
    make_folders(path);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    fputs(encrypted ? "CRYPT-LUKS2-0123" : "LVM-0123", out);
    assert_int_equal(fclose(out), 0);
}

int practice_setup(void **state)
{
    struct practice *p = calloc(1, sizeof *p);
    assert_non_null(p);
    /* In memory where there is such a place: a visit typed is a thousand writes to disk. */
    snprintf(p->folder, sizeof p->folder, "%s/amble-visit-XXXXXX",
             access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
    assert_non_null(mkdtemp(p->folder));
    practice_disk(p, true);
    *state = p;
    return 0;
}

int practice_setup_demo(void **state)
{
    practice_setup(state);
    free(practice_says(*state, "demo contrib/demo"));
    return 0;
}

static int remove_one(const char *path, const struct stat *st, int type, struct FTW *ftw)
{
    (void)st;
    (void)type;
    (void)ftw;
    return remove(path);
}

int practice_teardown(void **state)
{
    struct practice *p = *state;
    tty_stop(p->tty);
    nftw(p->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
    free(p);
    return 0;
}

void practice_template(struct practice *p, const char *name, const char *text)
{
    char path[192];
    snprintf(path, sizeof path, "templates/%s", name);
    practice_write(p, path, text);
}

void practice_write(struct practice *p, const char *name, const char *text)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", p->folder, name);
    make_folders(path);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    assert_true(fputs(text, out) >= 0);
    assert_int_equal(fclose(out), 0);
}

char *practice_file(struct practice *p, const char *name)
{
    char path[256];
    snprintf(path, sizeof path, "%s/%s", p->folder, name);
    FILE *in = fopen(path, "r");
    if (!in)
        fail_msg("there is no %s", path);
    char *all = calloc(1, FILE_MOST);
    assert_non_null(all);
    size_t n = fread(all, 1, FILE_MOST - 1, in);
    all[n] = '\0';
    fclose(in);
    return all;
}

/* ---- the program --------------------------------------------------------------------------- */

/* The environment of both: what a practice's laptop has, all of it inside the folder. */
struct surroundings {
    char room[ENV_MOST][160];
    const char *env[ENV_MOST + 1];
    size_t count;
};

static void surround(struct surroundings *s, const char *name, const char *value)
{
    assert_true(s->count < ENV_MOST);
    snprintf(s->room[s->count], sizeof s->room[0], "%s=%s", name, value);
    s->env[s->count] = s->room[s->count];
    s->env[++s->count] = NULL;
}

static void surroundings_of(const struct practice *p, struct surroundings *s)
{
    static const char *const folders[][2] = {
        {"AMBLE_DATA", "records"},
        {"AMBLE_TEMPLATES", "templates"},
        {"HOME", ""},
        {"XDG_DATA_HOME", "share"},
        {"XDG_CONFIG_HOME", "config"},
        {"XDG_STATE_HOME", "state"},
        {"XDG_RUNTIME_DIR", "runtime"},
        {"AMBLE_SYSFS", "sys"},
        {"TMPDIR", ""},
    };
    char path[128];
    *s = (struct surroundings){.count = 0};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        snprintf(path, sizeof path, "%s%s%s", p->folder, *folders[i][1] ? "/" : "", folders[i][1]);
        surround(s, folders[i][0], path);
    }
    surround(s, "AMBLE_NOW", "2026-11-24T09:30");
    surround(s, "TZ", "UTC");
    surround(s, "AMBLE_ROOM", "0"); /* screens look the same on a small disk */
}

struct tty *practice_open(struct practice *p, struct stage stage)
{
    char program[PATH_MAX];
    assert_non_null(realpath(AMBLE_PROGRAM, program));
    const char *there[WORDS_MOST + 5] = {"/usr/bin/env", "-C", p->folder, program};
    for (size_t i = 0; stage.words && stage.words[i] && i < WORDS_MOST; i++)
        there[4 + i] = stage.words[i];
    const char *const *argv = stage.inside ? there : there + 3;
    struct surroundings s;
    surroundings_of(p, &s);
    if (stage.inside) {
        surround(&s, "AMBLE_DATA", "records");
        surround(&s, "AMBLE_TEMPLATES", "templates");
    }
    if (stage.extra)
        s.env[s.count++] = stage.extra;
    s.env[s.count] = NULL;
    tty_stop(p->tty);
    p->tty = tty_start(&(struct tty_options){.argv = argv,
                                             .env = s.env,
                                             .term = stage.term,
                                             .rows = stage.rows,
                                             .cols = stage.cols,
                                             .job = stage.job});
    return p->tty;
}

static bool screen_changed(struct tty *t, const void *of)
{
    char *dump = tty_dump(t);
    bool changed = strcmp(dump, of) != 0;
    free(dump);
    return changed;
}

void practice_leave(struct practice *p)
{
    tty_wait_still(p->tty);
    while (!tty_has(p->tty, "p practice")) {
        char *before = tty_dump(p->tty);
        tty_keys(p->tty, "^Q");
        tty_wait_that(p->tty, screen_changed, before, "another screen after ^Q");
        free(before);
        tty_wait_still(p->tty);
    }
    tty_keys(p->tty, "^Q");
    int status = tty_wait_exit(p->tty);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void run_shell(const struct practice *p, char *const *argv, const char *input, int out)
{
    struct surroundings s;
    surroundings_of(p, &s);
    for (size_t i = 0; i < s.count; i++)
        putenv(s.room[i]);
    int in = open(input ? input : "/dev/null", O_RDONLY);
    dup2(in, STDIN_FILENO);
    dup2(out, STDOUT_FILENO);
    dup2(out, STDERR_FILENO);
    execv(argv[0], argv);
    _exit(127);
}

char *practice_shell(struct practice *p, const char *words, const char *input, int *status)
{
    char path[128], copy[LINE_ROOM], *argv[WORDS_MOST + 2] = {(char[]){AMBLE_PROGRAM}};
    size_t count = 1;
    snprintf(copy, sizeof copy, "%s", words);
    for (char *rest = copy, *word; (word = strsep(&rest, " ")) && count <= WORDS_MOST;)
        argv[count++] = word;
    argv[count] = NULL;
    snprintf(path, sizeof path, "%s/said", p->folder);
    int out = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    assert_true(out >= 0);
    pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid == 0)
        run_shell(p, argv, input, out);
    close(out);
    int how;
    assert_int_equal(waitpid(pid, &how, 0), pid);
    *status = WIFEXITED(how) ? WEXITSTATUS(how) : -1;
    return practice_file(p, "said");
}

char *practice_says(struct practice *p, const char *words)
{
    int status;
    char *said = practice_shell(p, words, NULL, &status);
    if (status != 0)
        fail_msg("amble %s ended with %d: %s", words, status, said);
    return said;
}

void practice_feed(struct practice *p, const char *input)
{
    int status;
    char *said = practice_shell(p, "enter", input, &status);
    if (status != 0)
        fail_msg("amble enter <%s ended with %d: %s", input, status, said);
    free(said);
}

/* ---- steps --------------------------------------------------------------------------------- */

/* The row marked > in `line`; empty while there is none, or while the screen is being drawn: when a
 * frame is complete, the cursor stands in that row. */
static void marked_row(struct tty *t, char *line, size_t room)
{
    char *dump = tty_dump(t), *place = strstr(dump, "\ncursor ");
    long cursor = place ? strtol(place + strlen("\ncursor "), NULL, 10) : -1;
    line[0] = '\0';
    for (char *rest = dump, *row; (row = strsep(&rest, "\n")); cursor--) {
        if (cursor == 0 && row[strspn(row, " ")] == '>')
            snprintf(line, room, "%s", row);
    }
    free(dump);
}

static bool row_holds(struct tty *t, const void *of)
{
    char line[LINE_ROOM];
    marked_row(t, line, sizeof line);
    return strstr(line, of) != NULL;
}

bool at_row(struct tty *t, const char *words)
{
    return row_holds(t, words);
}

void wait_row(struct tty *t, const char *words)
{
    tty_wait_that(t, row_holds, words, words);
}

static bool row_differs(struct tty *t, const void *of)
{
    char line[LINE_ROOM];
    marked_row(t, line, sizeof line);
    return line[0] != '\0' && strcmp(line, of) != 0;
}

void go_to_row(struct tty *t, const char *words)
{
    char what[LINE_ROOM + 32], line[LINE_ROOM];
    snprintf(what, sizeof what, "another row, on the way to: %s", words);
    tty_wait_still(t);
    tty_wait_that(t, row_differs, "", what);
    while (!at_row(t, words)) {
        marked_row(t, line, sizeof line);
        tty_keys(t, "Down");
        tty_wait_that(t, row_differs, line, what);
        tty_wait_still(t);
    }
}

static bool row_lacks(struct tty *t, const void *of)
{
    char line[LINE_ROOM];
    marked_row(t, line, sizeof line);
    return line[0] != '\0' && strstr(line, of) == NULL;
}

void wait_row_left(struct tty *t, const char *words)
{
    tty_wait_that(t, row_lacks, words, "the next row");
    tty_wait_still(t);
}

/* The answer is kept: the next question has the cursor, or the form says that this was the last. */
static bool gone_on(struct tty *t, const void *of)
{
    return tty_has(t, "The last question") || row_lacks(t, of);
}

static bool ends_with_enter(const struct step *s)
{
    const char *end = s->keys ? strrchr(s->keys, 'E') : NULL;
    return s->typed || (end && strcmp(end, "Enter") == 0);
}

void play(struct tty *t, const struct step *steps, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct step *s = &steps[i];
        char line[LINE_ROOM];
        go_to_row(t, s->at);
        marked_row(t, line, sizeof line);
        if (s->keys)
            tty_keys(t, s->keys);
        if (s->typed) {
            tty_type(t, s->typed);
            tty_keys(t, "Enter");
        }
        if (ends_with_enter(s))
            tty_wait_that(t, gone_on, s->at, s->at);
        else
            tty_wait_that(t, row_differs, line, s->at);
        tty_wait_still(t);
    }
}

void answer_line(struct tty *t, const char *question, const char *typed)
{
    tty_wait_text(t, question);
    tty_keys(t, "^U");
    tty_type(t, typed);
    tty_keys(t, "Enter");
    tty_wait_gone(t, question);
}

void open_visit(struct tty *t, const char *dog)
{
    tty_wait_text(t, "p practice");
    go_to_row(t, dog);
    tty_keys(t, "Enter");
    tty_wait_gone(t, "p practice");
    tty_wait_still(t);
    if (tty_has(t, "v new visit")) /* a dog that was seen: its last visit is marked */
        tty_keys(t, "Enter");
    tty_wait_text(t, "s sign");
    tty_keys(t, "Home");
    wait_row(t, "History");
}

void open_section(struct tty *t, const char *title)
{
    tty_wait_text(t, "s sign");
    tty_keys(t, "Home");
    wait_row(t, "History");
    go_to_row(t, title);
    tty_keys(t, "Enter");
    tty_wait_gone(t, "s sign");
}
