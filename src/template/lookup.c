/* Finding things in a set by name. Lists are short and read by people's keystrokes: a walk is fast
 * enough, and there is no index to keep true. */
#include "base/text.h"
#include "base/utf8.h"
#include "template/phrases.h"
#include "template/template.h"
#include <string.h>

const char *item_kind_name(enum item_kind k)
{
    static const char *const names[ITEM_KIND_COUNT] = {
#define X(id, name, told) [ITEM_##id] = (name),
        ITEM_KINDS(X)
#undef X
    };
    return names[k];
}

const char *item_kind_told(enum item_kind k)
{
    static const char *const told[ITEM_KIND_COUNT] = {
#define X(id, name, words) [ITEM_##id] = (words),
        ITEM_KINDS(X)
#undef X
    };
    return told[k];
}

/* The structure of that id in a list of structures that begin with their id. */
static const void *find(const void *list, size_t count, size_t size, const char *id)
{
    const char *one = list;
    for (size_t i = 0; i < count; i++, one += size) {
        const char *its;
        memcpy(&its, one, sizeof its);
        if (its[0] == id[0] && strcmp(its, id) == 0) /* a call for each would be most of the walk */
            return one;
    }
    return NULL;
}
_Static_assert(offsetof(struct form, id) == 0 && offsetof(struct measure, id) == 0 &&
                   offsetof(struct support, id) == 0 && offsetof(struct body_type, id) == 0 &&
                   offsetof(struct checklist, id) == 0 && offsetof(struct item, id) == 0 &&
                   offsetof(struct score, id) == 0,
               "ids come first");

const struct form *template_form(const struct template_set *set, const char *id)
{
    return find(set->forms, set->form_count, sizeof *set->forms, id);
}

const struct item *template_item(const struct template_set *set, const char *id)
{
    const struct item *found = NULL;
    for (size_t f = 0; f < set->form_count && found == NULL; f++) {
        const struct form *form = &set->forms[f];
        found = find(form->items, form->item_count, sizeof *form->items, id);
    }
    return found;
}

const struct measure *template_measure(const struct template_set *set, const char *id)
{
    return find(set->measures, set->measure_count, sizeof *set->measures, id);
}

const struct support *template_support(const struct template_set *set, const char *id)
{
    return find(set->supports, set->support_count, sizeof *set->supports, id);
}

const struct body_type *template_body_type(const struct template_set *set, const char *id)
{
    return find(set->body_types, set->body_type_count, sizeof *set->body_types, id);
}

const struct checklist *template_checklist(const struct template_set *set, const char *id)
{
    return find(set->checklists, set->checklist_count, sizeof *set->checklists, id);
}

const struct score *template_score(const struct template_set *set, const char *id)
{
    return find(set->scores, set->score_count, sizeof *set->scores, id);
}

const char *template_language(const struct template_set *set, const char *named)
{
    for (size_t i = 0; i < set->language_count; i++)
        if (text_same(set->languages[i].id, named) || text_same(set->languages[i].name, named))
            return set->languages[i].id;
    return "en";
}

const char *template_say(const struct template_set *set, const char *language, const char *of,
                         const char *english)
{
    for (size_t i = 0; i < set->language_count; i++)
        for (size_t k = 0;
             strcmp(set->languages[i].id, language) == 0 && k < set->languages[i].phrase_count; k++)
            if (strcmp(set->languages[i].phrases[k].of, of) == 0)
                return set->languages[i].phrases[k].text;
    return english;
}

const char *template_phrase(const struct template_set *set, const char *language,
                            enum phrase_id phrase)
{
    static const struct {
        const char *of, *english;
    } all[] = {
#define X(id, name, english) {"phrase." name, english},
        PHRASES(X)
#undef X
    };
    return template_say(set, language, all[phrase].of, all[phrase].english);
}

char template_decimal(const struct template_set *set, const char *language)
{
    for (size_t i = 0; i < set->language_count; i++)
        if (strcmp(set->languages[i].id, language) == 0)
            return set->languages[i].decimal_mark == DECIMAL_COMMA ? ',' : '.';
    return '.';
}

const struct breed *template_breed(const struct template_set *set, const char *name)
{
    const struct breed *found = NULL;
    struct text wanted, here;
    text_init(&wanted, 200);
    text_init(&here, 200);
    utf8_fold(&wanted, name);
    for (size_t i = 0; i < set->breed_count && found == NULL; i++) {
        text_clear(&here);
        utf8_fold(&here, set->breeds[i].name);
        if (strcmp(here.s, wanted.s) == 0)
            found = &set->breeds[i];
    }
    text_free(&wanted);
    text_free(&here);
    return found;
}

const struct handout *template_handout(const struct template_set *set, const char *id,
                                       const char *language)
{
    const char *const wanted[] = {language, set->practice.language, "en"};
    for (size_t w = 0; w < sizeof wanted / sizeof *wanted; w++)
        for (size_t i = 0; wanted[w] != NULL && i < set->handout_count; i++)
            if (strcmp(set->handouts[i].id, id) == 0 &&
                strcmp(set->handouts[i].language, wanted[w]) == 0)
                return &set->handouts[i];
    return NULL;
}
