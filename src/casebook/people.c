#include "base/arena.h"
#include "casebook/casebook.h"
#include "casebook/ids.h"
#include <string.h>

/* The setting of this device that remembers who was last here. */
static const char last_here[] = "practitioner";

struct uuids {
    struct arena *arena;
    const char **items;
    size_t count, room;
};

static bool keep(void *of, const char *entity)
{
    struct uuids *u = of;
    u->items = arena_grow(u->arena, (void *)u->items, u->count, &u->room, sizeof *u->items);
    u->items[u->count++] = arena_str(u->arena, entity);
    return true;
}

bool practitioners(struct casebook *cb, struct arena *a, const struct practitioner **out,
                   size_t *count, struct fault *f)
{
    struct uuids found = {.arena = a};
    if (!journal_each(cb->journal, "practitioner", keep, &found, f))
        return false;
    struct practitioner *list = arena_array(a, found.count, sizeof *list);
    for (size_t i = 0; i < found.count; i++) {
        struct record r;
        if (!record_load(cb, a, found.items[i], &r, f))
            return false;
        list[i] = (struct practitioner){.entity = found.items[i],
                                        .name = record_text(&r, ID_PRACTITIONER_NAME),
                                        .initials = record_text(&r, ID_PRACTITIONER_INITIALS)};
    }
    *out = list;
    *count = found.count;
    return true;
}

const char *author_initials(struct casebook *cb, struct arena *a, const char *author)
{
    struct record r;
    if (author[0] == '\0' || !record_load(cb, a, author, &r, NULL))
        return "?";
    const char *initials = record_text(&r, ID_PRACTITIONER_INITIALS);
    return initials[0] != '\0' ? initials : "?";
}

static bool is_practitioner(struct casebook *cb, struct arena *a, const char *entity)
{
    const char *kind = journal_kind(cb->journal, a, entity);
    return kind != NULL && strcmp(kind, "practitioner") == 0;
}

static void set_author(struct casebook *cb, const char *practitioner)
{
    memcpy(cb->author, practitioner, IDENT_ROOM - 1);
    cb->author[IDENT_ROOM - 1] = '\0';
}

bool casebook_become(struct casebook *cb, const char *practitioner, struct fault *f)
{
    struct arena *a = arena_new();
    bool known = ident_valid(practitioner) && is_practitioner(cb, a, practitioner);
    arena_free(a);
    if (!known)
        return fail(f, FAULT_MISSING, "there is no practitioner %s here", practitioner);
    if (!journal_read_only(cb->journal) &&
        !journal_setting_put(cb->journal, last_here, practitioner, f))
        return false;
    set_author(cb, practitioner);
    return true;
}

void casebook_wake(struct casebook *cb)
{
    struct arena *a = arena_new();
    const char *last = journal_setting(cb->journal, a, last_here);
    if (last != NULL && ident_valid(last) && is_practitioner(cb, a, last))
        set_author(cb, last);
    arena_free(a);
}

static const char *answer_by(struct casebook *cb, struct arena *a, const char *item,
                             const char *value, const char *author)
{
    return arena_printf(a, "%s by %s",
                        *value != '\0' ? finding_show(cb->set, item, value, a) : "no value",
                        author_initials(cb, a, author));
}

static const char *conflict_words(struct casebook *cb, struct arena *a, const struct finding *f)
{
    const char *words =
        arena_printf(a, "CONFLICT: %s", answer_by(cb, a, f->item, f->text, f->author));
    for (size_t i = 0; i < f->other_count; i++)
        words = arena_printf(a, "%s, or %s", words,
                             answer_by(cb, a, f->item, f->others[i], f->other_authors[i]));
    return words;
}

const char *finding_mark(struct casebook *cb, struct arena *a, const struct finding *f)
{
    if (f != NULL && f->other_count > 0)
        return conflict_words(cb, a, f);
    if (f == NULL || (!f->amended && !f->in_error))
        return "";
    return arena_printf(a, "%s%s%s, by %s%s%s", f->in_error ? "entered in error" : "",
                        f->in_error && f->amended ? ", " : "", f->amended ? "after signing" : "",
                        author_initials(cb, a, f->author), *f->reason != '\0' ? ": " : "",
                        f->reason);
}
