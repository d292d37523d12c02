/* A stolen laptop, seen from the keys: what the program says of the disk, who answers for a plain
 * one, and who else may open the files. */
#include "tests/screens/visit_kit.h"
#include <ftw.h>
#include <glob.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

static void somebody_begins(struct tty *t)
{
    tty_wait_text(t, "Name of the practitioner");
    tty_type(t, "Ida Quill");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Initials");
    tty_type(t, "IQ");
    tty_keys(t, "Enter");
}

static void a_plain_disk_is_answered_for_on_record(void **state)
{
    struct practice *p = *state;
    practice_disk(p, false);
    struct tty *t = practice_open(p, (struct stage){0});
    somebody_begins(t);
    tty_wait_text(t, "Why keep records here all the same?");
    tty_wait_text(t, "NOT ENCRYPTED: a thief");
    tty_keys(t, "^Q"); /* not answered: it goes on saying so, at the next start too */
    tty_wait_text(t, "Nobody has answered for it");
    practice_leave(p);
    t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "NOT ENCRYPTED: a thief");
    tty_keys(t, "p");
    tty_wait_text(t, "NOT ENCRYPTED: who steals this computer");
    tty_keys(t, "d");
    tty_wait_text(t, "Why keep records here all the same?");
    tty_type(t, "it never leaves the safe");
    tty_keys(t, "Enter");
    tty_wait_text(t, "Kept so by IQ on Tue 24 Nov: it never");
    tty_keys(t, "^Q");
    tty_wait_text(t, "Not encrypted, kept so by IQ on Tue 24 Nov: it never leaves the safe");
    practice_leave(p);
    char *said = practice_says(p, "verify");
    assert_non_null(strstr(said, "NOT ENCRYPTED"));
    assert_non_null(strstr(said, "kept so by IQ on Tue 24 Nov: it never leaves the safe"));
    free(said);
}

static void an_encrypted_disk_is_said_once_and_warned_of_never(void **state)
{
    struct practice *p = *state;
    struct tty *t = practice_open(p, (struct stage){0});
    somebody_begins(t);
    tty_wait_text(t, "The records are kept on an encrypted disk (LUKS)");
    assert_false(tty_has(t, "NOT ENCRYPTED"));
    tty_keys(t, "p");
    tty_wait_text(t, "on an encrypted disk (LUKS)");
    practice_leave(p);
}

/* ---- who else may open the files ---- */

static size_t walked;

static int only_ours(const char *path, const struct stat *st, int type, struct FTW *ftw)
{
    (void)ftw;
    walked++;
    if (type != FTW_SL && (st->st_mode & 077) != 0) {
        print_error("%s has mode %o\n", path, (unsigned)(st->st_mode & 0777));
        return 1;
    }
    return 0;
}

static void set_up_backups(struct practice *p)
{
    char path[128];
    int status;
    snprintf(path, sizeof path, "%s/phrases", p->folder);
    FILE *phrases = fopen(path, "w");
    assert_non_null(phrases);
    fputs("three green birds\nthree green birds\n", phrases);
    assert_int_equal(fclose(phrases), 0);
    free(practice_shell(p, "backup --set-up", path, &status));
    assert_int_equal(status, 0);
}

static void files_are_the_owners_alone(void **state)
{
    struct practice *p = *state;
    char path[128], words[160];
    mode_t before = umask(022); /* what a shell usually has */
    free(practice_says(p, "demo contrib/demo"));
    set_up_backups(p);
    free(practice_says(p, "backup --sealed"));
    free(practice_says(p, "base --name office"));
    snprintf(words, sizeof words, "sync %s", p->folder);
    free(practice_says(p, words)); /* what is handed out is noted in the state folder */
    practice_open(p, (struct stage){0});
    tty_wait_text(p->tty, "find");
    snprintf(path, sizeof path, "%s/records", p->folder); /* while it runs, log and all */
    assert_int_equal(nftw(path, only_ours, 8, FTW_PHYS), 0);
    practice_leave(p);
    assert_int_equal(nftw(path, only_ours, 8, FTW_PHYS), 0);
    snprintf(path, sizeof path, "%s/state", p->folder);
    assert_int_equal(nftw(path, only_ours, 8, FTW_PHYS), 0);
    umask(before);
    assert_true(walked > 12);
    char *said = practice_says(p, "verify");
    assert_null(strstr(said, "OTHERS ON THIS COMPUTER"));
    free(said);
    snprintf(path, sizeof path, "%s/records", p->folder);
    assert_int_equal(chmod(path, 0755), 0);
    said = practice_says(p, "verify");
    assert_non_null(strstr(said, "OTHERS ON THIS COMPUTER can open the folder"));
    free(said);
}

/* ---- leaving ---- */

static size_t sealed_count(const struct practice *p)
{
    char shape[160];
    glob_t found = {0};
    snprintf(shape, sizeof shape, "%s/records/backups/record-*.sealed", p->folder);
    int none = glob(shape, 0, NULL, &found);
    size_t count = none ? 0 : found.gl_pathc;
    globfree(&found);
    return count;
}

static void leaving_the_screens_seals_a_backup(void **state)
{
    struct practice *p = *state;
    free(practice_says(p, "demo contrib/demo"));
    practice_open(p, (struct stage){0});
    tty_wait_text(p->tty, "find");
    practice_leave(p);
    assert_int_equal(sealed_count(p), 0); /* without a passphrase nothing is sealed */
    set_up_backups(p);
    assert_int_equal(sealed_count(p), 0);
    for (int twice = 0; twice < 2; twice++) { /* the second time none is due */
        practice_open(p, (struct stage){0});
        tty_wait_text(p->tty, "find");
        practice_leave(p);
        assert_int_equal(sealed_count(p), 1);
    }
}

static void a_disk_nearly_full_is_told(void **state)
{
    struct practice *p = *state;
    free(practice_says(p, "demo contrib/demo"));
    practice_open(p, (struct stage){.cols = 132, .extra = "AMBLE_ROOM=999999999999"});
    tty_wait_text(p->tty, "MB are free for the records: make room on the disk");
    tty_wait_text(p->tty, "DISK NEARLY FULL");
    practice_leave(p);
    practice_open(p, (struct stage){.cols = 132, .extra = "AMBLE_ROOM=0"});
    tty_wait_text(p->tty, "find");
    assert_false(tty_has(p->tty, "DISK NEARLY FULL"));
    practice_leave(p);
}

#define with(setup, name) cmocka_unit_test_setup_teardown(name, setup, practice_teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        with(practice_setup, a_plain_disk_is_answered_for_on_record),
        with(practice_setup, an_encrypted_disk_is_said_once_and_warned_of_never),
        with(practice_setup, files_are_the_owners_alone),
        with(practice_setup, leaving_the_screens_seals_a_backup),
        with(practice_setup, a_disk_nearly_full_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
