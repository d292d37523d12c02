#include "screens/kit/printing.h"
#include "base/clock.h"
#include "base/text.h"
#include "output/print.h"
#include "screens/kit/ask.h"
#include "screens/kit/preview.h"
#include <stdlib.h>

enum { JOB_MOST = 1 << 20 };

static struct sheet_style printed(const struct practice *p)
{
    return (struct sheet_style){
        .columns = 80, .lines = p->sheet_lines, .ascii = p->ascii_sheets, .form_feeds = true};
}

void print_to_printer(struct app *app, const struct sheet *sheet, const char *title)
{
    const struct practice *practice = &app->cb->set->practice;
    struct sheet_style style = printed(practice);
    struct text job;
    text_init(&job, JOB_MOST);
    size_t pages = 0, unmapped = 0;
    sheet_render(sheet, &style, &job, &pages, &unmapped);
    char said[160];
    struct fault f = {0};
    if (!print_job(practice->printer, title, sheet_large(sheet), job.s, job.len, said, sizeof said,
                   &f))
        app_fault(app, &f);
    else if (unmapped > 0)
        app_say(app, LOOK_WARN, "%s: %zu %s, but %zu characters the printer does not know", said,
                pages, pages == 1 ? "page" : "pages", unmapped);
    else
        app_say(app, LOOK_GOOD, "%s: %zu %s", said, pages, pages == 1 ? "page" : "pages");
    text_free(&job);
}

/* HOME/NAME-DAY.txt, or with -2, -3 ... when it is taken. */
static bool save_beside(struct arena *a, const char *name, const char *bytes, size_t n,
                        const char **path, struct fault *f)
{
    enum { TRIES = 50 };
    char day[CLOCK_ROOM];
    const char *home = getenv("HOME");
    for (int i = 1; i <= TRIES; i++) {
        const char *number = i == 1 ? "" : arena_printf(a, "-%d", i);
        *path = arena_printf(a, "%s/%s-%s%s.txt", home != NULL ? home : ".", name,
                             clock_iso_day(clock_today(), day), number);
        *f = (struct fault){0};
        if (save_file(*path, bytes, n, false, f))
            return true;
        if (f->kind != FAULT_REFUSED)
            return false;
    }
    return false;
}

void print_at_once(struct app *app, struct arena *a, const struct sheet *sheet, const char *name)
{
    const struct practice *practice = &app->cb->set->practice;
    struct sheet_style style = printed(practice);
    struct text job;
    char said[160];
    const char *path;
    struct fault none = {0}, f = {0};
    text_init(&job, JOB_MOST);
    sheet_render(sheet, &style, &job, NULL, NULL);
    if (print_job(practice->printer, name, sheet_large(sheet), job.s, job.len, said, sizeof said,
                  &none)) {
        app_say(app, LOOK_GOOD, "%s: %s", name, said);
    } else {
        text_clear(&job);
        sheet_render(sheet, &(struct sheet_style){.columns = 80}, &job, NULL, NULL);
        if (save_beside(a, name, job.s, job.len, &path, &f))
            app_say(app, LOOK_WARN, "Not printed, saved as %s. %s", path, none.text);
        else
            app_fault(app, &f);
    }
    text_free(&job);
}

void print_to_file(struct app *app, struct arena *a, const struct sheet *sheet, const char *name)
{
    char day[CLOCK_ROOM];
    const char *home = getenv("HOME");
    const char *given = arena_printf(a, "%s/%s-%s.txt", home != NULL ? home : ".", name,
                                     clock_iso_day(clock_today(), day));
    const char *path = ask_line(app, a, "Save as", given);
    if (path == NULL || *path == '\0')
        return;
    struct sheet_style style = {.columns = 80, .lines = 0};
    struct text out;
    text_init(&out, JOB_MOST);
    sheet_render(sheet, &style, &out, NULL, NULL);
    struct fault f = {0};
    bool saved = save_file(path, out.s, out.len, false, &f);
    if (!saved && f.kind == FAULT_REFUSED &&
        ask_key(app, "There is a file of this name. Write over it? y n", "yn") == 'y')
        saved = save_file(path, out.s, out.len, true, &f);
    if (saved)
        app_say(app, LOOK_GOOD, "Saved as %s", path);
    else
        app_fault(app, &f);
    text_free(&out);
}

void print_ask(struct app *app, struct arena *a, const struct sheet *sheet, const char *name)
{
    int key = ask_key(app, "p print, s save as a file, v look at it first", "psv");
    if (key == 'p')
        print_to_printer(app, sheet, name);
    else if (key == 's')
        print_to_file(app, a, sheet, name);
    else if (key == 'v')
        preview_open(app, sheet, name);
}
