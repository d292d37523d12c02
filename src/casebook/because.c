#include "casebook/because.h"
#include "base/arena.h"
#include "base/text.h"
#include "casebook/derived.h"
#include "casebook/measuring.h"
#include <string.h>

enum { RESTS_ON_MOST = 24, WORDS_MOST = 2000 };

/* "Can the dog walk ten steps" for "Can the dog walk ten steps?": an answer follows. */
static const char *unasked(struct arena *a, const char *label)
{
    size_t n = strlen(label);
    while (n > 0 && (label[n - 1] == '?' || label[n - 1] == ':'))
        n--;
    return arena_strn(a, label, n);
}

const char *fact_words(const struct chart *c, const char *item)
{
    const struct template_set *set = c->cb->set;
    const struct item *asked = template_item(set, item);
    const struct measure *measure = template_measure(set, item);
    const char *value = chart_fact(c, item);
    if (asked == NULL && measure == NULL) {
        const char *words = derived_words(c, item);
        return words != NULL ? words : "";
    }
    const char *label = unasked(c->arena, finding_label(set, item, c->arena));
    const struct finding *found = chart_finding(c, item);
    const char *mark = found != NULL && found->other_count > 0 ? " (in conflict)"
                       : found != NULL && found->amended       ? " (changed after signing)"
                       : measure != NULL && *measure_mark(c, measure) != '\0'
                           ? " (changed or disputed)"
                           : "";
    if (value == NULL)
        return arena_printf(c->arena, "%s: not recorded%s", label, mark);
    double base;
    if (asked == NULL && number_lead(value, &base))
        return arena_printf(c->arena, "%s: %s %s%s", label,
                            reading_show(set, measure, base, c->arena),
                            measure_unit(set, measure)->name, mark);
    return arena_printf(c->arena, "%s: %s%s", label,
                        asked == NULL ? value : answer_show(set, asked, value, c->arena), mark);
}

/* What a rule is held against: a chart, and with `stands` what its earlier visits found. */
struct ground {
    const struct chart *chart;
    bool stands;
    const char *item, *value; /* one item read as another of its values in conflict; NULL: none */
    struct chart then;        /* room for the visit that answered last */
};

static bool speaks(const struct chart *c, const char *item, const char **value)
{
    *value = chart_fact(c, item);
    if (*value != NULL)
        return true;
    const struct finding *found = chart_finding(c, item);
    return found != NULL && found->other_count > 0;
}

/* The chart, or an earlier visit when only that has the item; and its value, NULL when it has none.
 */
static const struct chart *speaker(struct ground *g, const char *item, const char **value)
{
    const struct chart *c = g->chart;
    if (speaks(c, item, value) || !g->stands)
        return c;
    for (size_t i = c->earlier_count; i-- > 0;) {
        g->then =
            (struct chart){.cb = c->cb, .arena = c->arena, .now = c->now, .visit = c->earlier[i]};
        if (speaks(&g->then, item, value))
            return &g->then;
    }
    return c;
}

static const char *ground_fact(const void *of, const char *item)
{
    struct ground g = *(const struct ground *)of;
    if (g.item != NULL && strcmp(item, g.item) == 0)
        return g.value[0] == '\0' ? NULL : g.value;
    const char *value;
    (void)speaker(&g, item, &value);
    return value;
}

/* Holds with one of the values somebody else wrote. A condition looks at few items: the first look
 * has named those it read. */
static bool holds_otherwise(struct ground *g, const struct condition *when,
                            const struct condition_use *read, struct condition_use *used)
{
    for (size_t i = 0; i < read->count; i++) {
        const char *value;
        const struct finding *found =
            chart_finding(speaker(g, read->items[i], &value), read->items[i]);
        for (size_t k = 0; found != NULL && k < found->other_count; k++) {
            struct ground supposed = {.chart = g->chart,
                                      .stands = g->stands,
                                      .item = read->items[i],
                                      .value = found->others[k]};
            struct facts facts = {ground_fact, &supposed};
            used->count = 0;
            if (condition_holds(when, &facts, used))
                return true;
        }
    }
    return false;
}

/* Every item a condition names, in order and once. */
static void collect(const struct condition *when, struct condition_use *out)
{
    bool known = when->item == NULL;
    for (size_t i = 0; i < out->count && !known; i++)
        known = strcmp(out->items[i], when->item) == 0;
    if (!known && out->count < out->room)
        out->items[out->count++] = when->item;
    for (size_t i = 0; i < when->part_count; i++)
        collect(&when->parts[i], out);
}

static bool holds(struct ground *g, const struct condition *when, bool cautious,
                  const char **because)
{
    const char *items[RESTS_ON_MOST], *named[RESTS_ON_MOST];
    struct condition_use used = {.items = items, .room = RESTS_ON_MOST};
    struct condition_use all = {.items = named, .room = RESTS_ON_MOST};
    struct facts facts = {ground_fact, g};
    bool met = condition_holds(when, &facts, &used);
    if (!met && cautious && when != NULL) {
        collect(when, &all);
        met = holds_otherwise(g, when, &all, &used);
    }
    if (!met)
        return false;
    struct text words;
    text_init(&words, WORDS_MOST);
    for (size_t i = 0; i < used.count; i++) {
        const char *value, *one = fact_words(speaker(g, used.items[i], &value), used.items[i]);
        if (one[0] != '\0')
            text_addf(&words, "%s%s", words.len > 0 ? "; " : "", one);
    }
    *because = arena_str(g->chart->arena, words.s);
    text_free(&words);
    return true;
}

bool rule_holds(const struct chart *c, const struct condition *when, bool cautious,
                const char **because)
{
    return holds(&(struct ground){.chart = c}, when, cautious, because);
}

bool rule_stands(const struct chart *c, const struct condition *when, bool cautious,
                 const char **because)
{
    return holds(&(struct ground){.chart = c, .stands = true}, when, cautious, because);
}
