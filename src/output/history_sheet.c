/* What was changed, by whom and why: of one finding, or of all that belongs to a dog. */
#include "base/arena.h"
#include "output/letter.h"
#include "output/papers.h"

bool story_sheet(const struct chart *c, const char *item, struct sheet **out, struct fault *f)
{
    const struct record *r = chart_holder(c, item);
    struct story story;
    if (r == NULL)
        return fail(f, FAULT_MISSING, "nothing called \"%s\" was entered there", item);
    if (!story_look(c->cb, c->arena, r->entity, item, &story, f))
        return false;
    struct sheet *s = letter_begin(c, "History of one finding");
    sheet_addf(s, SHEET_HEADING, "%s", story.label);
    sheet_add(s, SHEET_TEXT,
              "All that was ever entered, oldest first; nothing is ever taken out. Times are what "
              "the clock of the entering laptop claimed.");
    for (size_t i = 0; i < story.count; i++)
        sheet_add(s, SHEET_BULLET, telling_words(c->arena, &story.all[i]));
    if (story.conflict)
        sheet_add(s, SHEET_TEXT,
                  "CONFLICT: more than one of these stands; nobody has settled which.");
    *out = s;
    return true;
}

bool changes_sheet(const struct chart *c, struct sheet **out, struct fault *f)
{
    struct sheet *s = letter_begin(c, "What was changed");
    struct writing w = {.c = c, .s = s};
    sheet_add(
        s, SHEET_TEXT,
        "Each answer that was ever changed or is disputed, what it was before, who changed it "
        "and why. Nothing is ever taken out.");
    const struct {
        const struct record *record;
        const char *heading;
    } parts[] = {{&c->call, "Call"},
                 {&c->caregiver, "Caregiver"},
                 {&c->dog, "Dog"},
                 {&c->equipment, "Frame"},
                 {&c->practitioner, "Practitioner"}};
    bool any = false;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        any = write_changed(&w, parts[i].record, parts[i].heading) || any;
    for (size_t i = 0; i < c->visit_count; i++) {
        struct chart visit;
        if (!chart_load(c->cb, c->arena, c->visits[i], &visit, f))
            return false;
        const char *heading = arena_printf(c->arena, "Visit %zu, %s, %s", i + 1, letter_day(&visit),
                                           letter_signed(&visit));
        any = write_changed(&w, &visit.visit, heading) || any;
    }
    if (!any)
        sheet_add(s, SHEET_TEXT, "Nothing was changed, and nothing is disputed.");
    *out = s;
    return true;
}
