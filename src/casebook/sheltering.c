#include "casebook/sheltering.h"
#include "base/arena.h"
#include "base/clock.h"
#include "casebook/ids.h"
#include "journal/travel.h"
#include <string.h>

/* The record of what was answered on this device; without entity when nothing was. */
static bool own_record(struct casebook *cb, struct arena *a, struct record *r, struct fault *f)
{
    uint8_t self[UUID_BYTES];
    char uuid[IDENT_ROOM];
    struct ids found;
    journal_self(cb->journal, self);
    uuid_write(self, uuid);
    if (!journal_by_value(cb->journal, a, ID_SHELTER_DEVICE, uuid, 1, &found, f))
        return false;
    *r = (struct record){0};
    return found.count == 0 || record_load(cb, a, found.uuids[0], r, f);
}

/* "none: we lock it in" is an answer to SHELTER_NONE, "" when it answers something else. */
static const char *answer_to(enum shelter kind, const char *value)
{
    const char *id = shelter_id(kind);
    size_t n = strlen(id);
    return strncmp(value, id, n) == 0 && strncmp(value + n, ": ", 2) == 0 ? value + n + 2 : "";
}

static const char *line_of(const struct sheltering *s, struct arena *a)
{
    static const char *const loud[SHELTER_COUNT] = {
        [SHELTER_NONE] = "NOT ENCRYPTED: a thief of this computer can read every record; p says "
                         "more",
        [SHELTER_NETWORK] = "ON A NETWORK: records can be damaged there and read by others; p says "
                            "more",
        [SHELTER_UNKNOWN] = "CANNOT TELL whether the disk under the records is encrypted; p says "
                            "more",
    };
    static const char *const quiet[SHELTER_COUNT] = {
        [SHELTER_NONE] = "Not encrypted",
        [SHELTER_NETWORK] = "On a network",
        [SHELTER_UNKNOWN] = "Perhaps not encrypted",
    };
    if (shelter_safe(s->kind))
        return "";
    if (*s->because == '\0')
        return loud[s->kind];
    return arena_printf(a, "%s, kept so by %s on %s: %s", quiet[s->kind], s->by, s->on, s->because);
}

bool sheltering_look(struct casebook *cb, struct arena *a, const char *sysfs,
                     struct sheltering *out, struct fault *f)
{
    struct record r;
    char day[CLOCK_ROOM];
    *out = (struct sheltering){.kind = shelter_of(journal_folder(cb->journal), sysfs),
                               .because = "",
                               .by = "",
                               .on = "",
                               .line = ""};
    if (shelter_safe(out->kind))
        return true;
    if (!own_record(cb, a, &r, f))
        return false;
    const struct finding *found = record_find(&r, ID_SHELTER_BECAUSE);
    if (found != NULL && !found->in_error && *answer_to(out->kind, found->text) != '\0') {
        out->because = answer_to(out->kind, found->text);
        out->by = author_initials(cb, a, found->author);
        out->on = arena_str(a, clock_short(clock_day(found->claimed_at), day));
    }
    out->line = line_of(out, a);
    return true;
}

bool sheltering_answer(struct casebook *cb, struct arena *a, const char *sysfs, const char *words,
                       struct fault *f)
{
    struct record r;
    uint8_t self[UUID_BYTES];
    char uuid[IDENT_ROOM];
    enum shelter kind = shelter_of(journal_folder(cb->journal), sysfs);
    if (shelter_safe(kind))
        return true;
    if (*words == '\0')
        return fail(f, FAULT_INPUT, "without words nobody has answered for it");
    journal_self(cb->journal, self);
    uuid_write(self, uuid);
    if (!casebook_begin(cb, f))
        return false;
    bool ok = own_record(cb, a, &r, f) &&
              (r.entity != NULL || record_new(cb, a, "device", &r, f)) &&
              record_put(cb, &r, ID_SHELTER_DEVICE, uuid, "", f) &&
              record_put(cb, &r, ID_SHELTER_BECAUSE,
                         arena_printf(a, "%s: %s", shelter_id(kind), words), "", f);
    return casebook_end(cb, ok, f);
}
