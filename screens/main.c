/* The program: a command of the shell, or the screens when none is named. */
#include "base/clock.h"
#include "command/command.h"
#include "command/setting.h"
#include "journal/vault.h"
#include "screens/kit/screen.h"
#include "screens/lock.h"
#include "screens/screens.h"
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>

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
    if (!practitioner_ask(app, a))
        app_say(app, LOOK_WARN, "Nobody is at the keys: p, then n, before anything is signed");
    else
        app_say(app, LOOK_GOOD, "c takes a call, f finds a dog, ? shows the keys");
    arena_free(a);
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
                      .shipped_templates = setting->shipped};
    if (!term_start(&f)) {
        (void)fprintf(stderr, "amble: %s\n", f.text);
        return COMMAND_USAGE;
    }
    if (!lock_start(&app)) {
        term_stop();
        return COMMAND_DONE;
    }
    app.quit = !open_templates(&app, setting, &f);
    if (!app.quit) {
        ask_who(&app);
        tell_drafts(&app);
    }
    app_run(&app);
    term_stop();
    if (f.kind != FAULT_NONE) {
        (void)fprintf(stderr, "amble: %s\n", f.text);
        return COMMAND_FAILED;
    }
    return term_signal() == 0 ? leave_backup(cb.journal) : COMMAND_DONE;
}

int main(int argc, char **argv)
{
    int status = command_main(argc, argv);
    if (status != COMMAND_SCREENS)
        return status;
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
