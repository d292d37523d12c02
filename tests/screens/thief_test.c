/* A stolen laptop, seen from the keys: what the program says of the disk, who answers for a plain
 * one, and who else may open the files. */
#include "tests/screens/visit_kit.h"
#include <fcntl.h>
#include <ftw.h>
#include <glob.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

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

/* A line of /proc/PID/FILE: "Umask:\t0077\n". */
static void assert_process(struct tty *t, const char *file, const char *wanted)
{
    char path[64], line[256] = "";
    bool found = false;
    snprintf(path, sizeof path, "/proc/%d/%s", (int)tty_pid(t), file);
    FILE *in = fopen(path, "r");
    assert_non_null(in);
    while (!found && fgets(line, sizeof line, in))
        found = strncmp(line, wanted, strlen(wanted)) == 0;
    fclose(in);
    if (!found)
        fail_msg("%s does not say \"%s\"", path, wanted);
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
    struct rlimit core;
    assert_int_equal(getrlimit(RLIMIT_CORE, &core), 0);
    core.rlim_cur = core.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_CORE, &core), 0);
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
    assert_process(p->tty, "status", "Umask:\t0077\n");
    assert_process(p->tty, "limits", "Max core file size        0  ");
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

/* ---- what is left in memory ---- */

enum { REGION_MOST = 256 << 20 }; /* larger ones are reserved, not used */

/* How many regions of the program's memory hold these bytes, and how many of them are not locked.
 */
struct copies {
    int all, open;
};

static bool region_holds(int memory, unsigned long from, unsigned long to, const void *bytes,
                         size_t n)
{
    size_t size = to - from;
    char *copy = size > REGION_MOST ? NULL : malloc(size);
    ssize_t got = copy ? pread(memory, copy, size, (off_t)from) : -1;
    bool holds = got > 0 && memmem(copy, (size_t)got, bytes, n) != NULL;
    free(copy);
    return holds;
}

static struct copies copies_of(struct tty *t, const void *bytes, size_t n)
{
    char path[64], line[512], may[8];
    struct copies found = {0};
    unsigned long from = 0, to = 0;
    bool holds = false;
    snprintf(path, sizeof path, "/proc/%d/mem", (int)tty_pid(t));
    int memory = open(path, O_RDONLY | O_CLOEXEC);
    snprintf(path, sizeof path, "/proc/%d/smaps", (int)tty_pid(t));
    FILE *maps = fopen(path, "r");
    if (memory < 0 || !maps)
        skip(); /* only root may look */
    while (fgets(line, sizeof line, maps)) {
        if (sscanf(line, "%lx-%lx %7s", &from, &to, may) == 3)
            holds = may[1] == 'w' && region_holds(memory, from, to, bytes, n);
        if (holds && strncmp(line, "VmFlags:", 8) == 0) {
            found.all++;
            found.open += strstr(line, " lo") == NULL;
        }
    }
    fclose(maps);
    close(memory);
    return found;
}

/* Its end, because what frees memory may write over the beginning. */
static const char passphrase[] = "some words behind the old mill", *const end = passphrase + 16;
static const char stars[] = "******************************";

/* As bytes, and as the codes of keys that curses keeps. */
static void assert_forgotten(struct tty *t)
{
    int codes[sizeof passphrase];
    size_t n = strlen(end);
    for (size_t i = 0; i < n; i++)
        codes[i] = end[i];
    assert_int_equal(copies_of(t, end, n).all, 0);
    assert_int_equal(copies_of(t, codes, n * sizeof codes[0]).all, 0);
}

static void a_passphrase_leaves_nothing_in_memory(void **state)
{
    struct practice *p = *state;
#ifdef __SANITIZE_ADDRESS__ /* it keeps what was freed, and locks nothing */
    skip();
#endif
    free(practice_says(p, "demo contrib/demo"));
    struct tty *t = practice_open(p, (struct stage){0});
    tty_wait_text(t, "find");
    assert_int_not_equal(copies_of(t, "Fernhill", 8).open, 0); /* it does find what is there */
    tty_keys(t, "p");
    tty_wait_text(t, "Who is at the keys");
    for (int pasted = 0; pasted < 2; pasted++) {
        tty_keys(t, "l");
        tty_wait_text(t, "New passphrase");
        (pasted ? tty_paste : tty_type)(t, passphrase);
        tty_wait_text(t, stars);
        struct copies typed = copies_of(t, end, strlen(end));
        assert_int_equal(typed.all, pasted ? 2 : 1); /* as it came, and in its field */
        assert_int_equal(typed.open, 0);
        tty_keys(t, "Enter");
        tty_wait_text(t, "how many minutes");
        tty_keys(t, "Enter");
        tty_wait_text(t, "Locks after 10 minutes");
        assert_forgotten(t);
    }
    for (int pasted = 0; pasted < 2; pasted++) {
        tty_keys(t, "^Y");
        tty_wait_text(t, "lock the screen now");
        tty_keys(t, "End Enter");
        tty_wait_text(t, "Locked");
        (pasted ? tty_paste : tty_type)(t, passphrase);
        tty_wait_text(t, stars);
        assert_int_equal(copies_of(t, end, strlen(end)).open, 0);
        tty_keys(t, "Enter");
        tty_wait_text(t, "Who is at the keys");
        assert_forgotten(t);
    }
    practice_leave(p);
}

static void the_shell_shows_no_passphrase(void **state)
{
    struct practice *p = *state;
    static const char *const words[] = {"backup", "--set-up", NULL};
    struct tty *t = practice_open(p, (struct stage){.words = words});
    tty_wait_text(t, "Passphrase for backups?");
    tty_type(t, passphrase);
    tty_keys(t, "Enter");
    tty_wait_text(t, "Once more:");
    tty_type(t, passphrase);
    tty_keys(t, "Enter");
    tty_wait_text(t, "Recovery key");
    assert_false(tty_has(t, "some words"));
    assert_int_equal(tty_wait_exit(t), 0);
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
        with(practice_setup, a_passphrase_leaves_nothing_in_memory),
        with(practice_setup, the_shell_shows_no_passphrase),
        with(practice_setup, leaving_the_screens_seals_a_backup),
        with(practice_setup, a_disk_nearly_full_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
