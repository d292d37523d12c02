/* amble sync: exchange with a folder or over ssh, and the other end of the latter. */
#include "base/clock.h"
#include "command/args.h"
#include "command/run.h"
#include "journal/vault.h"
#include "share/link.h"
#include "share/share.h"
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { REPORT_MOST = 64 * 1024, WAIT_MOST_S = 60, WAIT_STEP_MS = 200 };

/* ---- watching -------------------------------------------------------------------------------- */

struct watcher {
    const struct run *run;
    time_t from, told;
    sigset_t before;
    bool line; /* something stands on the line of the terminal */
};

static time_t seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return t.tv_sec;
}

/* Once a second, and only when it takes longer than one. */
static void tell(void *of, const char *what, uint64_t done, uint64_t total)
{
    struct watcher *w = of;
    time_t now = seconds();
    if (now - w->from < 1 || now == w->told)
        return;
    bool terminal = isatty(fileno(w->run->err)) == 1;
    w->told = now;
    w->line = terminal;
    fprintf(w->run->err, "%s%s", terminal ? "\r" : "", what);
    if (total > 0)
        fprintf(w->run->err, " %llu of %llu", (unsigned long long)done, (unsigned long long)total);
    else if (done > 0)
        fprintf(w->run->err, " %llu", (unsigned long long)done);
    fputs(terminal ? "\033[K" : "\n", w->run->err);
    fflush(w->run->err);
}

/* ^C waits until a step is whole; it is asked for here instead of breaking in. */
static bool interrupted(void *of)
{
    sigset_t waiting;
    (void)of;
    return sigpending(&waiting) == 0 &&
           (sigismember(&waiting, SIGINT) == 1 || sigismember(&waiting, SIGTERM) == 1);
}

static void watch_begin(struct watcher *w, const struct run *run)
{
    sigset_t asked;
    *w = (struct watcher){.run = run, .from = seconds()};
    sigemptyset(&asked);
    sigaddset(&asked, SIGINT);
    sigaddset(&asked, SIGTERM);
    sigprocmask(SIG_BLOCK, &asked, &w->before);
}

static void watch_end(struct watcher *w)
{
    sigset_t asked;
    static const struct timespec at_once = {0};
    sigemptyset(&asked);
    sigaddset(&asked, SIGINT);
    sigaddset(&asked, SIGTERM);
    while (sigtimedwait(&asked, NULL, &at_once) > 0) {
    }
    sigprocmask(SIG_SETMASK, &w->before, NULL);
    if (w->line)
        fputs("\r\033[K", w->run->err);
}

/* ---- this end -------------------------------------------------------------------------------- */

static int exchange(struct run *run, const char *place, uint64_t photo_most)
{
    struct fault f = {0};
    struct share *s;
    struct report r;
    struct text out;
    struct watcher w;
    if (!share_open(&s, run->cb.journal, &f))
        return say_fault(run, &f);
    watch_begin(&w, run);
    const struct watch watch = {
        .progress = tell, .stop = interrupted, .of = &w, .photo_most = photo_most};
    report_init(&r);
    bool ok = share_sync(s, place, &watch, &r, &f);
    watch_end(&w);
    text_init(&out, REPORT_MOST);
    report_say(&r, &out);
    say(run->out, "%s", out.s);
    bool whole = ok && !r.stopped;
    text_free(&out);
    report_free(&r);
    share_close(s);
    if (!ok)
        return say_fault(run, &f);
    return whole ? COMMAND_DONE : COMMAND_FAILED;
}

/* ---- the other end --------------------------------------------------------------------------- */

/* Several may come at once: each has the record for itself while it is served. */
static bool take_turn(struct run *run, int out, struct fault *f)
{
    for (int waited = 0;; waited += WAIT_STEP_MS) {
        static const struct timespec step = {.tv_nsec = WAIT_STEP_MS * 1000000L};
        if (journal_open(&run->setting.journal, run->setting.data, JOURNAL_WRITE, f))
            return true;
        if (f->kind != FAULT_BUSY || waited > WAIT_MOST_S * 1000)
            return false;
        if (waited % 2000 == 0)
            link_waits(out, f->text);
        nanosleep(&step, NULL);
    }
}

static int serve(struct run *run, uint64_t photo_most)
{
    struct fault f = {0};
    struct share *s = NULL;
    struct report r;
    int in = fileno(run->in), out = fileno(run->out);
    const struct watch watch = {.photo_most = photo_most};
    bool there = take_turn(run, out, &f) && share_open(&s, run->setting.journal, &f);
    if (!there) {
        link_refuses(out, &f);
        return COMMAND_FAILED;
    }
    report_init(&r);
    bool ok = link_serve(s, in, out, &watch, &r, &f);
    /* A base that nobody sits at has no other moment for it; the caller no longer waits. */
    if (ok && s->keys->root_there)
        (void)vault_backup_due(run->setting.journal, clock_now(), NULL, NULL);
    report_free(&r);
    share_close(s);
    return ok ? COMMAND_DONE : COMMAND_FAILED;
}

/* ---- arguments ------------------------------------------------------------------------------- */

static bool photo_size(const char *said, uint64_t *kib, struct fault *f)
{
    char *end;
    *kib = strtoul(said, &end, 10);
    if (said[0] < '0' || said[0] > '9' || *end != '\0' || *kib > PHOTO_KIB_MOST)
        return fail(f, FAULT_INPUT, "\"--photos %s\" is not a size in KiB; 0 sends none", said);
    return true;
}

int run_sync(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    bool serving = false;
    const char *place = NULL, *photos = NULL;
    uint64_t kib = PHOTO_KIB_USUAL;
    const struct arg_flag flags[] = {{"--serve", .set = &serving}, {"--photos", .value = &photos}};
    struct args args = {.flags = flags, .flag_count = 2, .words = &place, .most = 1};
    if (!args_read(&args, argc, argv, &f) || (photos != NULL && !photo_size(photos, &kib, &f)))
        return say_usage(run, &f);
    if (serving)
        return serve(run, kib << 10);
    if (!run_open(run, JOURNAL_WRITE))
        return COMMAND_FAILED;
    if (place == NULL)
        place = run->cb.set->practice.sync;
    if (place[0] == '\0') {
        fail(&f, FAULT_INPUT,
             "with what? Name a folder or ssh://user@host/, or set sync: in "
             "practice.yaml");
        return say_usage(run, &f);
    }
    if (photos == NULL)
        kib = share_photo_kib(run->setting.journal);
    return exchange(run, place, kib << 10);
}
