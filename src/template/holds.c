/* Whether a condition holds. */
#include "base/units.h"
#include "template/template.h"
#include <string.h>

static void use(struct condition_use *used, const char *item)
{
    if (used == NULL || used->count == used->room)
        return;
    for (size_t i = 0; i < used->count; i++)
        if (strcmp(used->items[i], item) == 0)
            return;
    used->items[used->count++] = item;
}

/* A blank-separated word in "knuckles scrapes". */
static bool has_word(const char *value, const char *word)
{
    size_t n = strlen(word);
    for (const char *at = value; *at != '\0';) {
        size_t w = strcspn(at, " ");
        if (w == n && strncmp(at, word, n) == 0)
            return true;
        at += w + (at[w] == ' ');
    }
    return false;
}

/* "40 cm" is 400 (mm); a number alone, or with a unit unknown here, is itself. */
static bool number_of(const char *value, double *number)
{
    if (!number_lead(value, number))
        return false;
    const char *blank = strchr(value, ' ');
    const struct unit *unit = blank == NULL ? NULL : unit_find(blank + 1);
    if (unit != NULL)
        *number = unit_to_base(unit, *number);
    return true;
}

static bool leaf_holds(const struct condition *c, const char *value)
{
    double number = 0;
    bool is_number = number_of(value, &number);
    switch (c->kind) {
    case WHEN_IS:
    case WHEN_IS_ONE_OF:
        for (size_t i = 0; i < c->word_count; i++)
            if (strcmp(c->words[i], value) == 0)
                return true;
        return false;
    case WHEN_HAS:
        return has_word(value, c->words[0]);
    case WHEN_AT_LEAST:
        return is_number && number >= c->number;
    case WHEN_AT_MOST:
        return is_number && number <= c->number;
    case WHEN_ABOVE:
        return is_number && number > c->number;
    case WHEN_BELOW:
        return is_number && number < c->number;
    default:
        return false;
    }
}

static bool holds(const struct condition *c, const struct facts *facts, struct condition_use *used);

/* One part can decide an `all` (it fails) or an `any` (it holds): the verdict then rests on that
 * part alone, so it is found first and asked again for what it used. Else it rests on all parts. */
static bool group_holds(const struct condition *c, const struct facts *facts,
                        struct condition_use *used)
{
    bool deciding = c->kind == WHEN_ANY;
    for (size_t i = 0; i < c->part_count; i++)
        if (holds(&c->parts[i], facts, NULL) == deciding) {
            if (used != NULL)
                (void)holds(&c->parts[i], facts, used);
            return deciding;
        }
    for (size_t i = 0; used != NULL && i < c->part_count; i++)
        (void)holds(&c->parts[i], facts, used);
    return !deciding;
}

static bool holds(const struct condition *c, const struct facts *facts, struct condition_use *used)
{
    if (c->kind == WHEN_ALWAYS)
        return true;
    if (c->kind == WHEN_NOT)
        return !holds(&c->parts[0], facts, used);
    if (c->kind == WHEN_ALL || c->kind == WHEN_ANY)
        return group_holds(c, facts, used);
    const char *value = facts->value(facts->of, c->item);
    bool known = value != NULL && *value != '\0';
    use(used, c->item);
    if (c->kind == WHEN_ANSWERED)
        return known == c->answered;
    return known && leaf_holds(c, value);
}

bool condition_holds(const struct condition *c, const struct facts *facts,
                     struct condition_use *used)
{
    return c == NULL || holds(c, facts, used);
}
