/* Only what differs is sent: whatever keys came, the terminal shows what it shows after a repaint,
 * letter for letter and look for look. */
#include "tests/screens/harness.h"

#include <ftw.h>
#include <setjmp.h>
#include <signal.h>
#include <spawn.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

static const char *const demo[] = {KIT_DEMO, NULL};

static int teardown(void **state)
{
    tty_stop(*state);
    *state = NULL;
    return 0;
}

/* Every cell with its looks. The caller frees it. */
static char *picture(struct tty *t, int rows, int cols)
{
    size_t room = (size_t)rows * (size_t)cols * 40 + 64, used = 0;
    char *all = malloc(room);
    assert_non_null(all);
    for (int row = 0; row < rows; row++)
        for (int col = 0; col < cols; col++) {
            struct tty_cell c = tty_cell(t, row, col);
            bool nothing = *c.text == '\0' || strcmp(c.text, " ") == 0;
            bool looks[] = {c.bold && !nothing, c.colored && !nothing, c.underline, c.reverse};
            used += (size_t)snprintf(all + used, room - used, "%s%s", nothing ? " " : c.text,
                                     col + 1 == cols ? "\n" : "");
            for (size_t i = 0; i < sizeof looks; i++)
                if (looks[i])
                    used += (size_t)snprintf(all + used, room - used, "^%c", "bcur"[i]);
        }
    return all;
}

static void repaint_changes_nothing(struct tty *t, int rows, int cols)
{
    tty_wait_still(t);
    char *before = picture(t, rows, cols);
    size_t received = tty_received(t);
    tty_signal(t, SIGWINCH); /* questions hear of it too */
    tty_wait_more(t, received);
    tty_wait_still(t);
    char *after = picture(t, rows, cols);
    assert_string_equal(before, after);
    free(before);
    free(after);
}

static void any_keys(void **state, const char *term, const char *env, int rows, int cols)
{
    static const char *const keys[] = {
        "Down",   "Up", "PageDown",  "PageUp", "Home", "End",   "Tab", "Tab", "Left",  "Enter",
        "c",      "m",  "Backspace", "x",      "é",    "日",    "語",  "a",   "Space", "Down",
        "Delete", "k",  "l",         "Esc",    "0",    "Right", "End", "i",   "~",     "ë"};
    const char *const environment[] = {env, NULL};
    struct tty *t = tty_start(&(struct tty_options){
        .argv = demo, .env = env ? environment : NULL, .term = term, .rows = rows, .cols = cols});
    *state = t;
    tty_wait_text(t, "3 unsent");
    unsigned dice = 12345;
    for (int round = 0; round < 12; round++) {
        for (int i = 0; i < 9; i++) {
            dice = dice * 1103515245U + 12345U;
            const char *key = keys[(dice >> 16) % (sizeof keys / sizeof *keys)];
            if ((unsigned char)key[0] >= 0x80 || key[1] == '\0' || (unsigned char)key[1] >= 0x80)
                tty_type(t, key);
            else
                tty_keys(t, key);
        }
        tty_keys(t, "Down"); /* after Esc the program waits for more, and seems still */
        repaint_changes_nothing(t, rows, cols);
    }
}

static void on_xterm(void **state)
{
    any_keys(state, NULL, NULL, 24, 80);
}

static void on_large(void **state)
{
    any_keys(state, "screen-256color", "NO_COLOR=1", 43, 132);
}

static void on_linux(void **state)
{
    any_keys(state, "linux", NULL, 25, 81);
}

static void on_ascii(void **state)
{
    any_keys(state, "vt100", "LC_ALL=POSIX", 24, 80);
}

/* One that cannot scroll between margins. */
static void on_ansi(void **state)
{
    any_keys(state, "ansi", NULL, 24, 80);
}

static int remove_one(const char *path, const struct stat *st, int type, struct FTW *ftw)
{
    (void)st;
    (void)type;
    (void)ftw;
    return remove(path);
}

/* What the terminal library looks up, made of `source` in the folder. */
static void describe(const char *folder, const char *source)
{
    char text[64];
    const char *argv[] = {"tic", "-x", "-o", folder, text, NULL};
    int status;
    pid_t pid;
    snprintf(text, sizeof text, "%s/source.ti", folder);
    FILE *f = fopen(text, "w");
    assert_non_null(f);
    assert_true(fputs(source, f) >= 0 && fclose(f) == 0);
    assert_int_equal(posix_spawnp(&pid, "tic", NULL, NULL, (char *const *)(uintptr_t)argv, environ),
                     0);
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_int_equal(status, 0);
}

/* A terminal whose ways to move are not the usual ones, though it understands them as well. */
static void on_unusual(void **state)
{
    char folder[] = "/tmp/amble-terms-XXXXXX", found[64];
    assert_non_null(mkdtemp(folder));
    snprintf(found, sizeof found, "TERMINFO=%s", folder);
    describe(folder, "unusual,\n\tcup=\\E[%i%p1%03d;%p2%03dH, cub=\\E[%p1%03dD,\n"
                     "\tcuf=\\E[0%p1%dC, use=xterm-256color,\n");
    any_keys(state, "unusual", found, 24, 80);
    nftw(folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_teardown(on_xterm, teardown),
        cmocka_unit_test_teardown(on_large, teardown),
        cmocka_unit_test_teardown(on_linux, teardown),
        cmocka_unit_test_teardown(on_ascii, teardown),
        cmocka_unit_test_teardown(on_ansi, teardown),
        cmocka_unit_test_teardown(on_unusual, teardown),
    };
    return cmocka_run_group_tests_name("frame", tests, NULL, NULL);
}
