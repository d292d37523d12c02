/* amble backup, amble restore, amble verify: copies of the record, and what is wrong with one. */
#include "base/arena.h"
#include "base/clock.h"
#include "base/disk.h"
#include "base/locked.h"
#include "base/shelter.h"
#include "casebook/sheltering.h"
#include "command/args.h"
#include "command/run.h"
#include "command/secret.h"
#include "journal/restore.h"
#include "journal/signed.h"
#include "journal/vault.h"
#include <inttypes.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_ROOM = 4096 };

/* ---- backup ---------------------------------------------------------------------------------- */

struct backup_args {
    const char *path, *days;
    bool sealed, set_up;
};

static bool backup_parse(struct backup_args *a, int argc, char **argv, struct fault *f)
{
    const struct arg_flag flags[] = {{"--sealed", .set = &a->sealed},
                                     {"--set-up", .set = &a->set_up},
                                     {"--days", .value = &a->days}};
    struct args args = {.flags = flags, .flag_count = 3, .words = &a->path, .most = 1};
    if (!args_read(&args, argc, argv, f))
        return false;
    if (!a->path && !a->sealed && !a->set_up)
        return fail(f, FAULT_INPUT, "expected the file to write, or --sealed, or --set-up");
    if (a->path && (a->set_up || a->sealed))
        return fail(f, FAULT_INPUT, "a sealed backup has its own place: leave out \"%s\"", a->path);
    if (a->days && !a->set_up)
        return fail(f, FAULT_INPUT, "--days belongs to --set-up");
    if (a->days && (strspn(a->days, "0123456789") != strlen(a->days) || strlen(a->days) > 3))
        return fail(f, FAULT_INPUT, "\"--days %s\" is not a number of days", a->days);
    return true;
}

/* The passphrase twice, and with it the vault; nothing is kept when they differ. */
static bool make_vault(struct run *run, struct vault *v, char recovery[RECOVERY_ROOM],
                       struct fault *f)
{
    char *secret = NULL, *again = NULL;
    bool ok = ask_secret(run, "Passphrase for backups?", &secret, f) &&
              ask_secret(run, "Once more:", &again, f) &&
              (strcmp(secret, again) == 0 ||
               fail(f, FAULT_INPUT, "the two passphrases are not the same; nothing was changed")) &&
              vault_make(v, secret, recovery, f);
    locked_free(secret);
    locked_free(again);
    return ok;
}

/* The one moment the recovery key exists: on the output, to be printed. */
static void say_recovery(const struct run *run, const char *recovery)
{
    say(run->out, "Recovery key of the backups of this practice\n\n    ");
    if (fileno(run->out) >= 0) {
        fflush(run->out);
        (void)setvbuf(run->out, NULL, _IONBF, 0); /* no copy in a buffer that nobody wipes */
    }
    fputs(recovery, run->out);
    say(run->out, "\n\n"
                  "It opens every backup made from now on when the passphrase is lost. Print it, "
                  "keep it\n"
                  "where the passphrase is not, and clear the screen: it is kept nowhere else.\n");
}

static int set_up(struct run *run, const char *days)
{
    struct fault f = {0};
    struct vault v;
    char *recovery = locked_new(RECOVERY_ROOM, &f);
    bool ok = recovery && make_vault(run, &v, recovery, &f) &&
              vault_keep(run->cb.journal, &v, &f) &&
              (!days || journal_setting_put(run->cb.journal, "backup.days", days, &f));
    if (ok)
        say_recovery(run, recovery);
    locked_free(recovery);
    return ok ? COMMAND_DONE : say_fault(run, &f);
}

int run_backup(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    struct backup_args a = {0};
    char path[PATH_ROOM];
    if (!backup_parse(&a, argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, a.set_up ? JOURNAL_WRITE : JOURNAL_READ))
        return COMMAND_FAILED;
    if (a.set_up)
        return set_up(run, a.days);
    bool ok = a.sealed ? vault_backup(run->cb.journal, clock_now(), path, &f)
                       : journal_backup(run->cb.journal, a.path, &f);
    if (!ok)
        return say_fault(run, &f);
    run->copied = true;
    say(run->out, "copied to %s and checked%s\n", a.sealed ? path : a.path,
        a.sealed ? ", sealed" : "");
    return COMMAND_DONE;
}

/* ---- a copy as a plain file ------------------------------------------------------------------ */

/* A sealed copy is opened beside the record, where it is as safe as the record; `plain` is then
 * removed again by the caller. Room for that, and for as many `more` as the caller makes of it, is
 * looked for before anybody types a passphrase. */
static bool open_copy(struct run *run, const char *path, unsigned more, const char **plain,
                      bool *made, struct fault *f)
{
    char *secret = NULL;
    struct stat st;
    bool sealed = vault_is_sealed(path);
    *plain = path;
    *made = false;
    if (stat(path, &st) == 0 &&
        !disk_holds(run->setting.data, (more + sealed) * (uint64_t)st.st_size, f))
        return false;
    if (!sealed)
        return true;
    *plain = arena_printf(run->arena, "%s/opened-%ld.db", run->setting.data, (long)getpid());
    bool ok = ask_secret(run, "Passphrase or recovery key of the backup?", &secret, f) &&
              vault_open(path, *plain, secret, f);
    locked_free(secret);
    *made = ok;
    return ok;
}

static int verify_file(struct run *run, const char *path)
{
    struct fault f = {0};
    const char *plain;
    bool made, older = false;
    uint64_t checked = 0;
    bool ok = open_copy(run, path, 0, &plain, &made, &f) &&
              journal_verify_file(plain, &checked, &older, &f);
    if (made)
        unlink(plain);
    if (!ok)
        return say_fault(run, &f);
    if (older) {
        fail(&f, FAULT_REFUSED,
             "%s was made by an older amble: the file is sound, but whether each entry is what was "
             "written cannot be told from it as it is; to be told, restore it into an empty folder "
             "(amble --data FOLDER restore FILE), your records stay as they are",
             path);
        return say_fault(run, &f);
    }
    say(run->out, "%" PRIu64 " entries of %s read: each is what was written\n", checked, path);
    return COMMAND_DONE;
}

/* What a thief of this computer could read. */
static int say_shelter(struct run *run)
{
    struct fault f = {0};
    struct sheltering s;
    if (!sheltering_look(&run->cb, run->arena, run->setting.sysfs, &s, &f))
        return say_fault(run, &f);
    say(run->out, "where they are kept: %s\n", shelter_words(s.kind));
    if (!shelter_safe(s.kind))
        say(run->out, "  %s\n", shelter_offer_words(shelter_offer(run->setting.data)));
    if (*s.because != '\0')
        say(run->out, "  kept so by %s on %s: %s\n", s.by, s.on, s.because);
    if (shelter_swaps_open("/proc/swaps", run->setting.sysfs))
        say(run->out, "swap: NOT ENCRYPTED: what is in memory may be left on the disk\n");
    if (!locked_holds())
        say(run->out, "memory: passphrases and keys cannot be kept out of the swap (ulimit -l)\n");
    if (shelter_open_to_others(run->setting.data))
        say(run->out, "OTHERS ON THIS COMPUTER can open the folder: chmod -R go= %s\n",
            run->setting.data);
    return COMMAND_DONE;
}

int run_verify(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    uint64_t checked = 0;
    struct signatures signatures;
    const char *path = NULL;
    struct args args = {.words = &path, .most = 1};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    if (path)
        return verify_file(run, path);
    if (!run_open(run, JOURNAL_READ))
        return COMMAND_FAILED;
    if (!journal_verify(run->cb.journal, &checked, &f))
        return say_fault(run, &f);
    say(run->out, "%" PRIu64 " entries read again: each is what was written\n", checked);
    if (!journal_signatures(run->cb.journal, &signatures, &f))
        return say_fault(run, &f);
    say(run->out, "signatures: %" PRIu64 " fit what is held here\n", signatures.fit);
    if (signatures.apart > 0)
        say(run->out,
            "signatures: %" PRIu64 " do NOT fit: some of what was signed has not come here, or "
            "stands otherwise\n",
            signatures.apart);
    return say_shelter(run);
}

int run_restore(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    const char *path = NULL, *plain;
    char aside[RESTORE_PATH_ROOM];
    bool made;
    uint64_t checked = 0;
    struct args args = {.words = &path, .least = 1, .most = 1, .expected = "the backup"};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    if (!open_copy(run, path, 1, &plain, &made, &f))
        return say_fault(run, &f);
    bool ok = journal_restore(run->setting.data, plain, aside, &checked, &f);
    if (made)
        unlink(plain);
    if (!ok)
        return say_fault(run, &f);
    run->copied = true;
    say(run->out, "%" PRIu64 " entries restored to %s\n", checked, run->setting.data);
    if (*aside != '\0')
        say(run->out, "What was there is kept as %s\n", aside);
    say(run->out, "This record goes on under a new identity: exchange with the others before the "
                  "next visit\n");
    return COMMAND_DONE;
}
