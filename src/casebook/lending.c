#include "casebook/lending.h"
#include "base/arena.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/merging.h"
#include <string.h>

/* Where a frame is: the choices of equipment.state that mean something here. */
static const char here[] = "here", out[] = "out", waits[] = "waits", back[] = "back",
                  gone[] = "gone";

static bool state_is(const struct record *frame, const char *state)
{
    return strcmp(record_text(frame, ID_FRAME_STATE), state) == 0;
}

static const char *with_whom(const struct chart *c)
{
    const char *dog = record_said(&c->dog, ID_DOG_NAME);
    const char *caregiver =
        c->caregiver.entity != NULL ? record_said(&c->caregiver, ID_CAREGIVER_NAME) : "";
    return *caregiver == '\0' ? dog : arena_printf(c->arena, "%s, %s", dog, caregiver);
}

bool frame_lend(struct chart *c, const char *frame, const char *due, struct fault *f)
{
    struct record r;
    if (c->dog.entity == NULL)
        return fail(f, FAULT_MISSING, "there is no dog to lend it to");
    if (!record_load(c->cb, c->arena, frame, &r, f))
        return false;
    const char *name = record_text(&r, ID_FRAME_NAME);
    if (!state_is(&r, here))
        return fail(f, FAULT_REFUSED, "\"%s\" is not here: take it back, clean and check it first",
                    name);
    const char *kind = c->visit.entity != NULL ? record_text(&c->visit, ID_FIT_FRAME) : "";
    bool same = *kind != '\0' && strcmp(kind, record_text(&r, ID_FRAME_KIND)) == 0;
    if (!casebook_begin(c->cb, f))
        return false;
    bool ok =
        record_put(c->cb, &r, ID_FRAME_STATE, out, "", f) &&
        record_put(c->cb, &r, ID_FRAME_DOG, c->dog.entity, "", f) &&
        record_put(c->cb, &r, ID_FRAME_WITH, with_whom(c), "", f) &&
        record_put(c->cb, &r, ID_FRAME_DUE, due, "", f) &&
        (!same ||
         record_put(c->cb, &r, ID_FRAME_SETTING,
                    arena_printf(c->arena, "axle %s", record_text(&c->visit, ID_FIT_AXLE)), "", f));
    return casebook_end(c->cb, ok, f);
}

/* `with` goes when the frame does not stay there. */
static bool put_where(struct casebook *cb, struct record *r, const char *state, bool stays,
                      struct fault *f)
{
    static const char *const left[] = {ID_FRAME_DUE, ID_FRAME_WITH, ID_FRAME_DOG};
    size_t n = stays ? 1 : sizeof left / sizeof *left;
    bool ok = casebook_begin(cb, f);
    if (!ok)
        return false;
    ok = record_put(cb, r, ID_FRAME_STATE, state, "", f);
    for (size_t i = 0; i < n && ok; i++)
        ok = *record_text(r, left[i]) == '\0' || record_put(cb, r, left[i], "", "", f);
    return casebook_end(cb, ok, f);
}

bool frame_take_back(struct casebook *cb, struct arena *a, const char *frame, struct fault *f)
{
    struct record r;
    if (!record_load(cb, a, frame, &r, f))
        return false;
    return (!state_is(&r, out) && !state_is(&r, waits)) || put_where(cb, &r, back, false, f);
}

/* ---- when a case is closed ------------------------------------------------------------------ */

struct follow {
    struct chart *c;
    const char *state;
    struct ids frames;
    const char **list;
    size_t room;
};

static bool collect(void *of, const char *entity)
{
    struct follow *w = of;
    struct arena *a = w->c->arena;
    w->list = arena_grow(a, (void *)w->list, w->frames.count, &w->room, sizeof *w->list);
    w->list[w->frames.count++] = arena_str(a, entity);
    return true;
}

static bool is_with(struct chart *c, const struct record *frame)
{
    const char *dog = record_text(frame, ID_FRAME_DOG);
    return *dog != '\0' && strcmp(merge_survivor(c->cb, c->arena, dog),
                                  merge_survivor(c->cb, c->arena, c->dog.entity)) == 0;
}

bool frames_follow_closing(struct chart *c, struct fault *f)
{
    static const char *const said[][2] = {{back, back}, {"given", gone}};
    struct follow w = {.c = c, .state = waits};
    if (c->dog.entity == NULL || *record_text(&c->dog, ID_DOG_CLOSED) == '\0')
        return true;
    for (size_t i = 0; i < sizeof said / sizeof *said; i++)
        if (strcmp(record_text(&c->dog, ID_CLOSED_FRAMES), said[i][0]) == 0)
            w.state = said[i][1];
    if (!journal_each(c->cb->journal, "equipment", collect, &w, f))
        return false;
    for (size_t i = 0; i < w.frames.count; i++) {
        struct record r;
        if (!record_load(c->cb, c->arena, w.list[i], &r, f))
            return false;
        if ((state_is(&r, out) || state_is(&r, waits)) && is_with(c, &r) &&
            !put_where(c->cb, &r, w.state, w.state != back, f))
            return false;
    }
    return true;
}
