/* Support: what the rules say of each kind, and the practitioner's decision. */
#include "casebook/deciding.h"
#include "casebook/ids.h"
#include "screens/kit/ask.h"
#include "screens/kit/list.h"
#include "screens/kit/past.h"
#include "screens/visit.h"
#include <string.h>

struct support_state {
    struct section_page at;
    struct deciding deciding;
    struct list list;
};

static const char *const standing_words[] = {
    [SUPPORT_SILENT] = "",
    [SUPPORT_PROPOSED] = "proposed",
    [SUPPORT_WARNED] = "with care",
    [SUPPORT_FORBIDDEN] = "not for this dog",
};
static const enum look standing_looks[] = {
    [SUPPORT_SILENT] = LOOK_DIM,
    [SUPPORT_PROPOSED] = LOOK_GOOD,
    [SUPPORT_WARNED] = LOOK_WARN,
    [SUPPORT_FORBIDDEN] = LOOK_BAD,
};
static const char *const effect_words[] = {
    [EFFECT_PROPOSES] = "for", [EFFECT_WARNS] = "care", [EFFECT_FORBIDS] = "against"};

static void look(struct support_state *st)
{
    deciding_look(&st->at.page.chart, &st->deciding);
    st->list.count = st->deciding.count;
}

static bool open_support(struct screen *s, struct fault *f)
{
    struct support_state *st = s->state;
    if (!page_load(&st->at.page, s, st->at.page.entity, f))
        return false;
    look(st);
    for (size_t i = 0; i < st->deciding.count; i++)
        if (st->deciding.views[i].decided)
            st->list.at = i;
    return true;
}

/* "with care" of one that is proposed all the same says so. */
static const char *standing_word(const struct support_view *v)
{
    for (size_t i = 0; v->standing == SUPPORT_WARNED && i < v->reason_count; i++)
        if (v->reasons[i].rule->effect == EFFECT_PROPOSES)
            return "yes, with care";
    return standing_words[v->standing];
}

static void draw_support(void *of, size_t i, int row, bool focus)
{
    const struct support_state *st = of;
    const struct support_view *v = &st->deciding.views[i];
    enum look plain = focus ? LOOK_FOCUS : LOOK_PLAIN;
    draw_fill(row, 1, 48, plain);
    draw_text(row, 2, 1, plain, focus ? ">" : " ");
    draw_text(row, 4, 27, plain, v->support->label);
    draw_text(row, 32, 17, focus ? LOOK_FOCUS : standing_looks[v->standing],
              v->decided ? "decided" : standing_word(v));
}

enum { BESIDE = 9 }; /* columns of the word before a reason */

/* One rule: what it says, which findings it rests on, who says so. Nothing is drawn below `last`.
 */
static int draw_reason(const struct support_reason *r, int row, int col, int width, int last)
{
    static const enum look looks[] = {
        [EFFECT_PROPOSES] = LOOK_GOOD, [EFFECT_WARNS] = LOOK_WARN, [EFFECT_FORBIDS] = LOOK_BAD};
    const struct {
        const char *word, *text;
        enum look word_look, look;
    } rows[] = {
        {effect_words[r->rule->effect], r->rule->reason, looks[r->rule->effect], LOOK_STRONG},
        {"because", r->because, LOOK_DIM, LOOK_PLAIN},
        {"source", r->rule->source, LOOK_DIM, LOOK_DIM},
    };
    int from = row;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (*rows[i].text == '\0' || row > last)
            continue;
        draw_text(row, col, BESIDE - 1, rows[i].word_look, rows[i].word);
        row += draw_wrapped(row, col + BESIDE, width - BESIDE, last - row + 1, rows[i].look,
                            rows[i].text);
    }
    return row - from;
}

/* Reasons of the support under the cursor; those that do not fit are counted. */
static void draw_reasons(const struct support_view *v, int row, int col, int width, int last)
{
    row += draw_wrapped(row, col, width, 3, LOOK_STRONG, v->support->label);
    row += draw_wrapped(row, col, width, 3, LOOK_PLAIN, v->support->summary) + 1;
    if (v->reason_count == 0)
        draw_wrapped(row, col, width, 2, LOOK_DIM,
                     "No rule of the practice speaks for or against.");
    for (size_t i = 0; i < v->reason_count; i++) {
        size_t left = v->reason_count - i;
        if (row + 1 >= last && left > 1) {
            draw_textf(last, col, width, LOOK_WARN, "%zu more: c on the dog's page has them all",
                       left);
            return;
        }
        row += draw_reason(&v->reasons[i], row, col, width, left > 1 ? last - 1 : last) + 1;
    }
}

static void draw(struct screen *s)
{
    struct support_state *st = s->state;
    int columns = term_columns();
    const struct deciding *d = &st->deciding;
    int last = term_rows() - 3, said = *d->mark != '\0'; /* the mark has a line of its own */
    if (d->count == 0)
        return;
    const struct support_view *v = &d->views[st->list.at];
    if (columns >= 110) {
        draw_reasons(v, 2, 52, columns - 54, last - 2 - said);
        list_draw(&st->list, 2, last - 3 - said, 2, draw_support, st);
    } else {
        int rows = (int)d->count < last / 2 ? (int)d->count : last / 2;
        draw_reasons(v, 2 + rows, 4, columns - 6, last - 1 - said);
        list_draw(&st->list, 1, rows, 2, draw_support, st);
        draw_rule(1 + rows, 1, columns - 2);
    }
    if (said)
        draw_textf(last - 1, 2, columns - 4, LOOK_WARN, "The decision: %s", d->mark);
    if (d->decided != NULL && d->override)
        draw_textf(last, 2, columns - 4, LOOK_WARN, "%s decided against a rule: %s", d->signed_by,
                   d->override_reason);
    else if (d->decided != NULL)
        draw_textf(last, 2, columns - 4, LOOK_PLAIN, "Decided by %s: %s.", d->signed_by,
                   d->decided->label);
    else
        draw_text(last, 2, columns - 4, LOOK_DIM,
                  "The rules propose; a veterinarian decides, by Enter.");
}

static void decide(struct screen *s)
{
    struct support_state *st = s->state;
    const struct support_view *v = &st->deciding.views[st->list.at];
    const char *reason;
    if (v->standing == SUPPORT_FORBIDDEN || v->standing == SUPPORT_WARNED)
        reason = ask_line(s->app, s->arena,
                          "This goes against a rule. Why is it right for this dog?", "");
    else
        reason = past_reason(s->app, s->arena, &st->at.page.chart.visit, "Support");
    if (reason == NULL)
        return;
    struct fault f = {0};
    if (!deciding_put(&st->at.page.chart, v->support, reason, &f))
        app_fault(s->app, &f);
    else
        app_say(s->app, LOOK_GOOD, "Decided: %s", v->support->label);
    const struct support *chosen = v->support;
    if (page_reload(&st->at.page, s)) {
        look(st);
        for (size_t i = 0; i < st->deciding.count; i++)
            if (st->deciding.views[i].support == chosen)
                st->list.at = i;
    }
}

static bool press(struct screen *s, const struct press *p)
{
    struct support_state *st = s->state;
    if (section_press(s, p) || list_press(&st->list, p, term_rows() / 2))
        return true;
    if (p->kind == PRESS_KEY && p->code == PK_ENTER && st->deciding.count > 0) {
        decide(s);
        return true;
    }
    return past_press(s, p, &st->at.page.chart.visit, ID_SUPPORT);
}

static void refresh(struct screen *s)
{
    struct support_state *st = s->state;
    if (page_reload(&st->at.page, s))
        look(st);
}

static void close_support(struct screen *s)
{
    struct support_state *st = s->state;
    page_close(&st->at.page);
}

static const struct key_help keys[] = {
    {"Enter", "decide", "Decide on the support under the cursor; against a rule it asks why.",
     true},
    {"Up Down", "choose", "The reasons of each stand below it.", true},
    PAST_KEYS,
    SECTION_KEYS,
    {0},
};

static const struct screen_class support_class = {
    .name = "Support",
    .help = "Rules of the practice propose, warn and forbid, each with its reason and source. The "
            "practitioner decides and signs; going against a rule needs a reason, which is kept.",
    .keys = keys,
    .open = open_support,
    .draw = draw,
    .press = press,
    .refresh = refresh,
    .close = close_support,
};

void support_open(struct app *app, const char *visit, size_t index)
{
    section_screen(app, &support_class, visit, index, sizeof(struct support_state));
}
