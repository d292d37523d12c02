#include "output/findings.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/text.h"
#include "casebook/ids.h"
#include "casebook/story.h"
#include "output/letter.h"
#include <string.h>

/* Conflicts, amendments, errors and changes say for themselves who wrote them and when. */
static bool remarkable(const struct finding *f)
{
    return f->other_count > 0 || f->amended || f->in_error || *f->reason;
}

/* Under a heading that says who and when, only another person or another day is said again. */
static bool same_hand(const struct finding *f, const struct finding *headed)
{
    return headed && !remarkable(f) && strcmp(f->author, headed->author) == 0 &&
           clock_day(f->claimed_at) == clock_day(headed->claimed_at);
}

void write_story(const struct chart *c, const struct story *story, struct sheet *s)
{
    const char *before = "before", *answer = "one answer";
    for (size_t i = 0; i < story->count && story->conflict; i++)
        if (story->all[i].stands) {
            sheet_addf(s, SHEET_UNDER, "%s: %s", answer, telling_words(c->arena, &story->all[i]));
            answer = "another";
        }
    for (size_t i = story->count; i-- > 0;)
        if (!story->all[i].stands) {
            sheet_addf(s, SHEET_UNDER, "%s: %s", before, telling_words(c->arena, &story->all[i]));
            before = "before that";
        }
}

/* Worked out anew at every signing: what was planned before is no change that anybody made. */
static bool planned(const char *item)
{
    return strcmp(item, ID_REVIEW_DUE) == 0 || strcmp(item, ID_CULTURE_DUE) == 0;
}

static bool tells(const struct writing *w, const struct finding *f, struct story *story)
{
    const struct chart *c = w->c;
    bool wanted = (w->past == PAST_ALL && !planned(f->item)) || f->other_count > 0 || f->amended ||
                  f->in_error;
    return wanted && story_look(c->cb, c->arena, w->record->entity, f->item, story, NULL) &&
           story->count > 1;
}

void write_finding(struct writing *w, const struct finding *f)
{
    const struct chart *c = w->c;
    const char *label = finding_label(c->cb->set, f->item, c->arena);
    struct story story;
    struct text line;
    text_init(&line, 64 * 1024);
    size_t n = strlen(label);
    text_addf(&line, "%s%s%s ", f->other_count > 0 ? "CONFLICT " : "", label,
              n > 0 && label[n - 1] == '?' ? "" : ":");
    if (f->in_error && f->other_count == 0)
        text_add(&line, "entered in error");
    else
        text_add(&line, letter_answer(c, f));
    if (f->other_count == 0 && !same_hand(f, w->headed))
        text_addf(&line, "  [%s%s]", letter_who(c, f), f->amended ? ", amended after signing" : "");
    if (f->other_count == 0 && *f->reason)
        text_addf(&line, " because: %s", f->reason);
    sheet_add(w->s, SHEET_BULLET, line.s);
    text_free(&line);
    if (tells(w, f, &story))
        write_story(c, &story, w->s);
}

static void write_form(struct writing *w, const struct form *form)
{
    w->record = letter_record(w->c, form);
    w->headed = NULL;
    for (size_t i = 0; w->record && i < form->item_count; i++) {
        const struct finding *f = record_find(w->record, form->items[i].id);
        if (f == NULL)
            continue;
        if (!w->headed) {
            w->headed = f;
            sheet_addf(w->s, SHEET_HEADING, "%s  [%s]", form->title, letter_who(w->c, f));
        }
        write_finding(w, f);
    }
}

void write_forms_but(struct writing *w, const char *about, enum form_place left_out)
{
    const struct template_set *set = w->c->cb->set;
    for (size_t i = 0; i < set->form_count; i++)
        if (strcmp(set->forms[i].about, about) == 0 && set->forms[i].place != left_out)
            write_form(w, &set->forms[i]);
}

void write_forms(struct writing *w, const char *about)
{
    write_forms_but(w, about, FORM_PLACE_COUNT);
}

/* What binds records together, and what their heading says. */
static bool passes_over(const char *item)
{
    return finding_binds(item) || strcmp(item, ID_SIGNED) == 0;
}

/* Readings, teaching, support and fit have sections of their own, and the day heads the sheet. */
static bool has_section(const struct chart *c, const char *item)
{
    const char *dot = strrchr(item, '.');
    return text_starts(item, "teach.") || text_starts(item, "fit.") ||
           text_starts(item, "build.") || strcmp(item, ID_SUPPORT) == 0 ||
           strcmp(item, ID_SUPPORT_REASON) == 0 || strcmp(item, ID_VISIT_DAY) == 0 ||
           strcmp(item, ID_VISIT_KIND) == 0 ||
           (dot &&
            template_measure(c->cb->set, arena_strn(c->arena, item, (size_t)(dot - item))) != NULL);
}

/* The reason for a support is kept twice: beside the decision, and as what its screen shows. */
static bool said_beside(const struct record *r, const struct finding *f)
{
    const struct finding *support = record_find(r, ID_SUPPORT);
    return strcmp(f->item, ID_SUPPORT_REASON) == 0 && f->other_count == 0 && support != NULL &&
           (*f->text == '\0' || strcmp(f->text, support->reason) == 0);
}

static void write_rest(struct writing *w, bool sections)
{
    const struct chart *c = w->c;
    const struct record *r = w->record;
    struct story story;
    bool headed = false;
    w->headed = NULL;
    for (size_t i = 0; i < r->count; i++) {
        const struct finding *f = &r->findings[i];
        if (passes_over(f->item) || template_item(c->cb->set, f->item) || said_beside(r, f) ||
            has_section(c, f->item) != sections ||
            (sections && !remarkable(f) && !tells(w, f, &story)))
            continue;
        if (!headed && sections)
            sheet_add(w->s, SHEET_HEADING, "Reasons and changes");
        else if (!headed)
            sheet_addf(w->s, SHEET_HEADING, "Also recorded: %s  [%s]", r->kind, letter_who(c, f));
        if (!headed && !sections)
            w->headed = f;
        headed = true;
        write_finding(w, f);
    }
}

void write_others(struct writing *w, const struct record *r)
{
    w->record = r;
    if (r->entity == NULL)
        return;
    write_rest(w, false);
    write_rest(w, true);
}

bool write_changed(struct writing *w, const struct record *r, const char *heading)
{
    bool headed = false;
    struct story story;
    w->record = r;
    w->headed = NULL;
    w->past = PAST_ALL;
    for (size_t i = 0; r->entity && i < r->count; i++) {
        const struct finding *f = &r->findings[i];
        if (passes_over(f->item) || said_beside(r, f) || (!f->in_error && !tells(w, f, &story)))
            continue;
        if (!headed)
            sheet_add(w->s, SHEET_HEADING, heading);
        headed = true;
        write_finding(w, f);
    }
    return headed;
}
