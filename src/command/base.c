/* amble base: set one up, and say how it stands. */
#include "base/arena.h"
#include "base/clock.h"
#include "command/args.h"
#include "command/run.h"
#include "journal/travel.h"
#include "journal/vault.h"
#include "share/enrol.h"
#include "share/exchange.h"
#include "share/files.h"
#include <inttypes.h>
#include <string.h>

enum { PATH_ROOM = 4096 };

struct standing {
    struct run *run;
    const struct share *s;
    uint64_t held;
};

static bool count_held(void *of, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
                       const char *why)
{
    struct standing *x = of;
    say(x->run->out, "held back   %" PRIu64 " entries of %s from %" PRIu64 " on: %s\n", count,
        share_name(x->s, device), first, why);
    x->held += count;
    return true;
}

static int status(struct run *run, const struct share *s)
{
    struct fault f = {0};
    struct journal_counts n;
    char print[FINGERPRINT_ROOM];
    struct standing x = {.run = run, .s = s};
    if (!journal_count(run->cb.journal, &n, &f))
        return say_fault(run, &f);
    practice_fingerprint(&s->devices, print);
    say(run->out, "practice    %s\n", print);
    say(run->out, "records     %" PRIu64 " %s, %" PRIu64 " entries, %" PRIu64 " in conflict\n",
        n.dogs, n.dogs == 1 ? "dog" : "dogs", n.entries, n.conflicts);
    for (size_t i = 0; i < s->devices.count; i++) {
        const struct device *d = &s->devices.list[i];
        uint64_t have = 0;
        if (!journal_have(run->cb.journal, d->uuid, &have, &f))
            return say_fault(run, &f);
        say(run->out, "device      %s: %" PRIu64 " entries here%s%s\n", d->name, have,
            d->base ? ", a base" : "", d->retired ? ", retired" : "");
    }
    if (!held_each(run->cb.journal, count_held, &x, &f))
        return say_fault(run, &f);
    return COMMAND_DONE;
}

/* Sealed where a passphrase is set; else one a day that anybody can read, which is said. Of either
 * the newest few are kept. Whoever wants them elsewhere copies them. */
static bool back_up(struct run *run, struct fault *f)
{
    char day[CLOCK_ROOM], sealed[PATH_ROOM];
    struct vault v;
    if (vault_load(run->cb.journal, &v)) {
        if (!vault_backup(run->cb.journal, clock_now(), sealed, f))
            return false;
        say(run->out, "sealed and checked: %s, the newest %d are kept\n", sealed, BACKUPS_KEPT);
        return true;
    }
    const char *folder = arena_printf(run->arena, "%s/backups", run->setting.data);
    const char *path =
        arena_printf(run->arena, "%s/amble-%s.db", folder, clock_iso_day(clock_today(), day));
    if (!folder_need(folder, f) || !journal_backup(run->cb.journal, path, f))
        return false;
    backups_thin(folder, "amble-0000-00-00.db");
    say(run->out,
        "copied to %s and checked, the newest %d are kept. "
        "Anybody can read it: amble backup --set-up seals them\n",
        path, BACKUPS_KEPT);
    return true;
}

int run_base(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    bool backup = false;
    const char *name = NULL;
    const struct arg_flag flags[] = {{"--name", .value = &name}, {"--backup", .set = &backup}};
    struct args args = {.flags = flags, .flag_count = 2};
    struct share *s = NULL;
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_WRITE))
        return COMMAND_FAILED;
    bool ok = share_open(&s, run->cb.journal, &f);
    if (!ok && f.kind == FAULT_MISSING) {
        ok = base_make(run->cb.journal, name ? name : "base", &f) &&
             share_open(&s, run->cb.journal, &f);
        if (ok)
            say(run->out,
                "This is the base now. Laptops are admitted with amble device admit.\n"
                "Keep a copy of %s/keys in a safe place: no backup of the record holds "
                "it.\n",
                run->setting.data);
    }
    if (ok && !s->keys->root_there)
        ok = fail(&f, FAULT_REFUSED, "this device is not the base of its practice");
    ok = ok && (!backup || back_up(run, &f));
    int done = ok ? status(run, s) : say_fault(run, &f);
    share_close(s);
    return done;
}
