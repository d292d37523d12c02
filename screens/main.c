/* The program: a command of the shell, or the screens when none is named. */
#include "base/clock.h"
#include "base/disk.h"
#include "base/shelter.h"
#include "command/command.h"
#include "command/setting.h"
#include "journal/vault.h"
#include "screens/kit/screen.h"
#include "screens/lock.h"
#include "screens/screens.h"
#include <inttypes.h>
#include <malloc.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* What was being typed when the program last ended without leaving the field. */
static void tell_drafts(struct app *app)
{
    struct arena *a = arena_new();
    const struct draft *drafts;
    size_t count;
    if (journal_drafts(app->cb->journal, a, &drafts, &count, NULL) && count > 0)
        app_say(app, LOOK_WARN,
                "%zu %s being typed when amble last ended; %s offered where %s typed", count,
                count == 1 ? "field was" : "fields were", count == 1 ? "it is" : "they are",
                count == 1 ? "it was" : "they were");
    arena_free(a);
}

/* The first start: somebody must answer for what is entered. */
static void ask_who(struct app *app)
{
    if (*app->cb->author != '\0' || journal_read_only(app->cb->journal))
        return;
    struct arena *a = arena_new();
    struct screen *today = app->stack[app->depth - 1];
    enum shelter disk = shelter_of(app->data_folder, app->sysfs);
    if (!practitioner_ask(app, a))
        app_say(app, LOOK_WARN, "Nobody is at the keys: p, then n, before anything is signed");
    else if (shelter_safe(disk))
        app_say(app, LOOK_GOOD,
                "The records are kept %s. c takes a call, f finds a dog, ? shows the keys",
                shelter_words(disk));
    else if (disk != SHELTER_UNKNOWN) /* where it cannot be told, Today says so */
        shelter_ask(app, a);
    today->class->refresh(today);
    arena_free(a);
}

enum { LOOKED_THROUGH_MOST = 64 << 20 }; /* bytes, about 0.2 s of looking */

/* The last program did not close the record: is its file still well formed? Of a large one that
 * takes too long at a key, and is left to who reads the message. */
static void look_through(struct app *app)
{
    struct journal *j = app->cb->journal;
    struct fault f = {0};
    uint64_t size = journal_bytes(j);
    if (!journal_unclean(j))
        return;
    if (size > LOOKED_THROUGH_MOST) {
        app_say(app, LOOK_WARN, "amble did not end well last time: let amble verify read it all");
    } else if (!journal_quick_check(j, &f)) {
        journal_stop_writing(j, "its file is damaged");
        app_say(app, LOOK_BAD, "%s. Nothing more is written to it: amble restore FILE", f.text);
    }
}

/* Below what the key itself had to say, which is not lost by it. */
static void tell_room(struct app *app, uint64_t room)
{
    char said[sizeof app->message];
    enum look look = *app->message && app->message_look == LOOK_BAD ? LOOK_BAD : LOOK_WARN;
    memcpy(said, app->message, sizeof said);
    app_say(app, look, "%s%sOnly %" PRIu64 " MB are free for the records: make room on the disk",
            said, *said ? "\n" : "", room);
}

/* What holds for every screen: at the right of the key line. The disk is looked at after a key that
 * wrote, and while it is nearly full after each, so that nothing has to wake up for it; the 1.5 us
 * of a look are a thousandth of the flush of what was written. */
static void tell_standing(struct app *app)
{
    struct journal *j = app->cb->journal;
    const char *status = "";
    uint64_t now = journal_writes(j) + 1;
    bool first = app->looked_at == 0, was_full = app->nearly_full;
    if (now == app->looked_at && !was_full)
        return;
    uint64_t room = disk_room(app->data_folder);
    app->looked_at = now;
    app->nearly_full = room < app->room_least;
    if (!first && app->nearly_full == was_full)
        return;
    if (journal_read_only(j)) {
        status = "READ ONLY";
        if (*app->message == '\0')
            app_say(app, LOOK_WARN, "The record is open for reading only: %s",
                    journal_why_read_only(j));
    } else if (app->nearly_full) {
        status = "DISK NEARLY FULL";
        tell_room(app, room);
    } else if (shelter_of(app->data_folder, app->sysfs) == SHELTER_NETWORK) {
        status = "ON A NETWORK";
    }
    snprintf(app->status, sizeof app->status, "%s", status);
}

/* After the screens: said on the shell, because nobody should wait for it at a key. */
static int leave_backup(struct journal *j)
{
    struct fault f = {0};
    if (vault_backup_due(j, clock_now(), NULL, &f))
        return COMMAND_DONE;
    (void)fprintf(stderr, "amble: %s\n", f.text);
    return COMMAND_FAILED;
}

/* Today first: the templates are read while the vet looks at the day, before the first key. */
static bool open_templates(struct app *app, struct setting *setting, struct fault *f)
{
    today_open(app);
    app_paint(app);
    bool loaded = setting_complete(setting, app->cb, f);
    if (setting->messages.len > 0)
        app->broken_templates = setting->messages.s;
    if (loaded)
        app_refresh(app);
    return loaded;
}

static int run_screens(struct setting *setting)
{
    struct casebook cb = {0};
    struct fault f = {0};
    if (!setting_open_soon(setting, JOURNAL_WRITE_ELSE_READ, &cb, &f)) {
        (void)fprintf(stderr, "amble: %s\n", f.text);
        return COMMAND_FAILED;
    }
    struct app app = {.cb = &cb,
                      .data_folder = setting->data,
                      .overlay_templates = setting->overlay,
                      .shipped_templates = setting->shipped,
                      .sysfs = setting->sysfs,
                      .room_least = setting->room_least,
                      .standing = tell_standing,
                      .minute_ms = setting->minute_ms};
    if (!term_start(&f)) {
        (void)fprintf(stderr, "amble: %s\n", f.text);
        return COMMAND_USAGE;
    }
    if (!lock_start(&app)) {
        term_stop();
        return COMMAND_DONE;
    }
    app.quit = !open_templates(&app, setting, &f);
    if (!app.quit && !journal_flush_beside(cb.journal, &f)) {
        app_fault(&app, &f); /* then each field waits for its flush */
        f = (struct fault){0};
    }
    if (!app.quit) {
        tell_drafts(&app);
        look_through(&app);
        ask_who(&app);
    }
    app_run(&app);
    term_stop();
    if (f.kind == FAULT_NONE)
        (void)journal_flush(cb.journal, &f);
    if (f.kind != FAULT_NONE) {
        (void)fprintf(stderr, "amble: %s\n", f.text);
        return COMMAND_FAILED;
    }
    return term_signal() == 0 ? leave_backup(cb.journal) : COMMAND_DONE;
}

enum { START_HEAP = 2 << 20 }; /* bytes, what a start comes to use */

/* Pages of the heap are got in one call, not one by one as each is first touched: that takes a
 * fifth off a start. A kernel that cannot do so leaves everything as it was. */
static void take_heap(void)
{
    mallopt(M_MMAP_THRESHOLD, 2 * START_HEAP);
    mallopt(M_TRIM_THRESHOLD, 4 * START_HEAP);
    uintptr_t page = (uintptr_t)sysconf(_SC_PAGESIZE), from = (uintptr_t)sbrk(0);
    void *volatile heap = malloc(START_HEAP); /* volatile, or the compiler would see through it */
    free(heap);
    uintptr_t to = (uintptr_t)sbrk(0) / page * page;
    from = (from + page - 1) / page * page;
    if (from < to)
        (void)madvise((void *)from, to - from, MADV_POPULATE_WRITE);
}

int main(int argc, char **argv)
{
    int status = command_main(argc, argv);
    if (status != COMMAND_SCREENS)
        return status;
    take_heap();
    struct setting setting;
    struct fault f = {0};
    int first;
    status = COMMAND_USAGE;
    if (setting_read(&setting, argc, argv, &first, &f))
        status = run_screens(&setting);
    else
        (void)fprintf(stderr, "amble: %s\n", f.text);
    setting_close(&setting);
    if (term_signal() != 0) /* everything is closed: now obey the signal that asked for it */
        (void)raise(term_signal());
    return status;
}
