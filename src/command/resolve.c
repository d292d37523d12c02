/* The record somebody means on a command line. Nothing is guessed: two that fit are an error. */
#include "base/arena.h"
#include "base/utf8.h"
#include "casebook/ids.h"
#include "casebook/merging.h"
#include "command/run.h"
#include <string.h>

enum { NAME_MOST = 4096, START_LEAST = 4, NAMES_LOOKED_AT = 50 };

struct search {
    struct run *run;
    const char *said;
    const char *entity; /* the last found */
    const char *those;  /* short ids of all, for a message */
    size_t found;
};

static void found(struct search *s, const char *entity)
{
    struct arena *a = s->run->arena;
    s->those = arena_printf(a, "%s%s%.*s", s->those, s->found ? ", " : "", SHORT_ID, entity);
    s->entity = arena_str(a, entity);
    s->found++;
}

static bool same_name(const char *a, const char *b)
{
    struct text one, other;
    text_init(&one, NAME_MOST);
    text_init(&other, NAME_MOST);
    utf8_fold(&one, a);
    utf8_fold(&other, b);
    bool same = one.len > 0 && strcmp(one.s, other.s) == 0;
    text_free(&one);
    text_free(&other);
    return same;
}

/* Dogs of exactly this name. */
static bool by_name(struct search *s, struct fault *f)
{
    struct run *run = s->run;
    const struct hit *hits = NULL;
    size_t count = 0;
    if (!merge_search(&run->cb, run->arena, s->said, NAMES_LOOKED_AT, &hits, &count, f))
        return false;
    for (size_t i = 0; i < count; i++)
        if (strcmp(hits[i].entity_kind, "dog") == 0 && same_name(hits[i].text, s->said))
            found(s, hits[i].entity);
    return true;
}

static bool start_each(void *of, const char *entity)
{
    struct search *s = of;
    if (text_starts(entity, s->said))
        found(s, entity);
    return s->found < 2;
}

/* Ids that start so, of any kind. */
static bool by_start(struct search *s, struct fault *f)
{
    static const char *const kinds[] = {"dog", "visit", "call", "caregiver", "practitioner"};
    size_t n = strlen(s->said);
    if (n < START_LEAST || strspn(s->said, "0123456789abcdef-") != n)
        return true;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0] && s->found < 2; i++)
        if (!journal_each(s->run->cb.journal, kinds[i], start_each, s, f))
            return false;
    return true;
}

static bool call_each(void *of, const char *entity)
{
    struct search *s = of;
    struct record call;
    struct arena *a = arena_new();
    if (record_load(&s->run->cb, a, entity, &call, NULL) &&
        *record_text(&call, ID_CALL_DOG) == '\0' &&
        same_name(record_text(&call, ID_CALL_DOG_NAME), s->said))
        found(s, entity);
    arena_free(a);
    return true;
}

/* Calls about a dog of this name that has no record of its own yet. */
static bool by_call(struct search *s, struct fault *f)
{
    return journal_each(s->run->cb.journal, "call", call_each, s, f);
}

bool run_resolve(struct run *run, const char *said, const char **entity, struct fault *f)
{
    static bool (*const ways[])(struct search *, struct fault *) = {by_name, by_start, by_call};
    struct search s = {.run = run, .said = said, .those = ""};
    if (ident_valid(said)) {
        *entity = said;
        return true;
    }
    for (size_t i = 0; i < sizeof ways / sizeof ways[0] && s.found == 0; i++)
        if (!ways[i](&s, f))
            return false;
    *entity = s.entity;
    if (s.found > 1)
        return fail(f, FAULT_INPUT, "more than one record is meant by \"%s\": %s", said, s.those);
    return s.found == 1 ||
           fail(f, FAULT_MISSING, "no dog is called \"%s\" and no id starts so", said);
}
