/* This device's own small things: texts being typed, and settings. */
#include "base/arena.h"
#include "base/utf8.h"
#include "journal/internal.h"
#include <string.h>

bool journal_draft_put(struct journal *j, const char *entity, const char *item, const char *typed,
                       struct fault *f)
{
    uint8_t uuid[UUID_BYTES];
    char kind[40];
    if (!writable(j, f) || !uuid_need(entity, uuid, "record", f))
        return false;
    if (strlen(typed) > JOURNAL_VALUE_MAX || !utf8_valid(typed, strlen(typed), NULL))
        return fail(f, FAULT_INPUT, "what was typed is too long or not UTF-8 text");
    if (!entity_kind(j, uuid, kind))
        return fail(f, FAULT_MISSING, "there is no record %s", entity);
    return run_unflushed(j, DRAFT_PUT,
                         ARGS(blob(uuid, UUID_BYTES), txt(kind), txt(item), txt(typed)), f);
}

bool journal_draft_drop(struct journal *j, const char *entity, const char *item, struct fault *f)
{
    uint8_t uuid[UUID_BYTES];
    return writable(j, f) && uuid_need(entity, uuid, "record", f) &&
           run_unflushed(j, DRAFT_DROP, ARGS(blob(uuid, UUID_BYTES), txt(item)), f);
}

bool journal_drafts(struct journal *j, struct arena *a, const struct draft **out, size_t *count,
                    struct fault *f)
{
    struct draft *drafts = NULL;
    size_t n = 0, room = 0;
    struct rows r = ask(j, DRAFTS, NO_ARGS, f);
    while (next(&r)) {
        uint8_t uuid[UUID_BYTES];
        char *entity = arena_alloc(a, 37);
        column_bytes(r.s, 0, uuid, sizeof uuid);
        uuid_write(uuid, entity);
        drafts = arena_grow(a, drafts, n, &room, sizeof *drafts);
        drafts[n++] = (struct draft){.entity = entity,
                                     .item = arena_str(a, column_text(r.s, 1)),
                                     .typed = arena_str(a, column_text(r.s, 2))};
    }
    *out = drafts;
    *count = n;
    return r.ok;
}

const char *journal_setting(struct journal *j, struct arena *a, const char *name)
{
    struct rows r = ask(j, SETTING_GET, ARGS(txt(name)), NULL);
    const char *value = next(&r) ? arena_str(a, column_text(r.s, 0)) : NULL;
    done(&r);
    return value;
}

bool journal_setting_put(struct journal *j, const char *name, const char *value, struct fault *f)
{
    return writable(j, f) && run(j, SETTING_PUT, ARGS(txt(name), txt(value)), f);
}
