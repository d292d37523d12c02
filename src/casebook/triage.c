#include "casebook/triage.h"
#include "base/arena.h"
#include "casebook/because.h"
#include <string.h>

const char *urgency_word(enum urgency u)
{
    static const char *const words[] = {[URGENCY_UNKNOWN] = "not yet known",
                                        [URGENCY_BOOK] = "book a visit",
                                        [URGENCY_SAME_DAY] = "same day",
                                        [URGENCY_EMERGENCY] = "emergency"};
    return words[u];
}

/* Labels of what must be answered first and is not; what is not shown for this dog is not asked. */
static void list_open(const struct chart *c, struct verdict *out)
{
    const struct triage *t = &c->cb->set->triage;
    const char **open = arena_array(c->arena, t->asked_count, sizeof *open);
    for (size_t i = 0; i < t->asked_count; i++) {
        const struct item *item = template_item(c->cb->set, t->asked_first[i]);
        if (chart_fact(c, t->asked_first[i]) != NULL || (item != NULL && !item_shown(c, item)))
            continue;
        open[out->open_count++] = finding_label(c->cb->set, t->asked_first[i], c->arena);
    }
    out->open = open;
}

static const char *words_for(const struct triage *t, enum urgency u)
{
    switch (u) {
    case URGENCY_EMERGENCY:
        return t->emergency_words;
    case URGENCY_SAME_DAY:
        return t->same_day_words;
    case URGENCY_BOOK:
        return t->book_words;
    case URGENCY_UNKNOWN:
        break;
    }
    return t->unknown_words;
}

void triage_judge(const struct chart *c, struct verdict *out)
{
    const struct triage *t = &c->cb->set->triage;
    struct triage_reason *reasons = arena_array(c->arena, t->rule_count, sizeof *reasons);
    *out = (struct verdict){.reasons = reasons};
    for (int grave = URGENCY_EMERGENCY; grave > URGENCY_UNKNOWN; grave--)
        for (size_t i = 0; i < t->rule_count; i++) {
            const char *because;
            if ((int)t->rules[i].urgency != grave ||
                !rule_holds(c, t->rules[i].when, true, &because))
                continue;
            reasons[out->reason_count++] = (struct triage_reason){&t->rules[i], because};
        }
    list_open(c, out);
    if (out->reason_count > 0)
        out->urgency = reasons[0].rule->urgency;
    else
        out->urgency = URGENCY_BOOK;
    if (out->urgency == URGENCY_BOOK && out->open_count > 0)
        out->urgency = URGENCY_UNKNOWN; /* nothing calms while a red flag was not asked */
    out->words = words_for(t, out->urgency);
}
