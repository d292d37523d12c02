#include "share/share.h"
#include "base/arena.h"
#include "base/clock.h"
#include "journal/travel.h"
#include "share/exchange_inside.h"
#include "share/folder.h"
#include "share/identity.h"
#include "share/link.h"
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINES_MOST = 16 << 10, LIST_MOST = 64 << 10 };

const char *share_name(const struct share *s, const uint8_t device[UUID_BYTES])
{
    const struct device *d = device_find(&s->devices, device);
    return d != NULL && d->name[0] != '\0' ? d->name : "a device not enrolled";
}

/* ---- joining --------------------------------------------------------------------------------- */

static bool list_load(struct share *s, struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    if (!journal_kept(s->journal, s->arena, "devices", &bytes, &size, f))
        return false;
    if (bytes == NULL)
        return fail(f, FAULT_MISSING,
                    "this device is not enrolled: amble base makes it the base, amble device "
                    "request asks a base to take it");
    return devices_read(&s->devices, bytes, size, s->arena, f) ||
           fail_within(f, "what is kept of the devices");
}

/* The base answers for itself: after a new identity it admits itself again. */
static bool base_again(struct share *s, struct fault *f)
{
    struct devices d = s->devices;
    struct keys *made;
    if (!keys_make(&made, journal_folder(s->journal), s->self, f))
        return false;
    keys_close(s->keys);
    s->keys = made;
    d.list = arena_array(s->arena, d.count + 1, sizeof *d.list);
    memcpy(d.list, s->devices.list, d.count * sizeof *d.list);
    struct device *me = &d.list[d.count++];
    *me = (struct device){.base = true, .name = "base"};
    for (size_t i = 0; i + 1 < d.count; i++)
        if (d.list[i].base && !d.list[i].retired) {
            me->name = d.list[i].name;
            d.list[i].retired = true;
            d.list[i].cut = UINT64_C(1) << 40; /* all it ever wrote stands */
        }
    memcpy(me->uuid, s->self, UUID_BYTES);
    memcpy(me->sign, s->keys->sign, KEY_BYTES);
    memcpy(me->box, s->keys->box, KEY_BYTES);
    return share_devices_change(s, &d, f);
}

static bool keys_load(struct share *s, struct fault *f)
{
    const char *folder = journal_folder(s->journal);
    if (!keys_open(&s->keys, folder, f))
        return false;
    bool mine = memcmp(s->keys->uuid, s->self, UUID_BYTES) == 0;
    if (!mine && s->keys->root_there && !journal_read_only(s->journal))
        return base_again(s, f);
    const struct device *me = device_find(&s->devices, s->self);
    if (me == NULL)
        return fail(f, FAULT_REFUSED,
                    "this device has a new name that the base does not know yet: amble device "
                    "request, and let the base admit it");
    if (me->retired)
        return fail(f, FAULT_REFUSED, "the base has retired this device: nothing is exchanged");
    return mine ||
           fail(f, FAULT_REFUSED, "the keys in %s/keys are those of another device", folder);
}

bool share_open(struct share **out, struct journal *j, struct fault *f)
{
    struct arena *a = arena_new();
    struct share *s = arena_alloc(a, sizeof *s);
    bool renewed = false;
    *out = NULL;
    s->journal = j;
    s->arena = a;
    bool ok = identity_check(j, &renewed, NULL, f);
    journal_self(j, s->self);
    if (ok && list_load(s, f) && keys_load(s, f)) {
        *out = s;
        return true;
    }
    share_close(s);
    return false;
}

void share_close(struct share *s)
{
    if (s == NULL)
        return;
    keys_close(s->keys);
    arena_free(s->arena);
}

/* ---- the list of devices --------------------------------------------------------------------- */

static bool list_keep(struct share *s, const struct devices *d, const uint8_t *bytes, size_t size,
                      struct fault *f)
{
    if (!journal_keep(s->journal, "devices", bytes, size, f))
        return false;
    for (size_t i = 0; i < d->count; i++) {
        const struct device *x = &d->list[i];
        bool other = memcmp(x->uuid, s->self, UUID_BYTES) != 0;
        if (!journal_device_name(s->journal, x->uuid, x->name, f) ||
            (x->retired && other && !held_withdraw(s, x->uuid, x->cut, HELD_RETIRED, f)))
            return false;
    }
    return true;
}

bool share_devices(struct share *s, const uint8_t *bytes, size_t size, bool *newer, struct fault *f)
{
    struct devices d;
    *newer = false;
    if (!devices_read(&d, bytes, size, s->arena, f))
        return false;
    if (memcmp(d.practice, s->devices.practice, UUID_BYTES) != 0 ||
        memcmp(d.root, s->devices.root, KEY_BYTES) != 0)
        return fail(f, FAULT_REFUSED, "the list of devices is of another practice");
    if (d.version <= s->devices.version)
        return true;
    if (!journal_begin(s->journal, f))
        return false;
    if (!list_keep(s, &d, bytes, size, f)) {
        journal_rollback(s->journal);
        return false;
    }
    if (!journal_commit(s->journal, f))
        return false;
    s->devices = d;
    *newer = true;
    struct report r;
    report_init(&r);
    bool ok = held_release(s, &r, f);
    report_free(&r);
    return ok;
}

bool share_devices_change(struct share *s, const struct devices *changed, struct fault *f)
{
    struct text out;
    bool newer;
    struct devices d = *changed;
    if (!s->keys->root_there)
        return fail(f, FAULT_REFUSED, "devices are changed at the base only");
    d.version = s->devices.version + 1;
    text_init(&out, LIST_MOST);
    devices_write(&d, s->keys->root_secret, &out);
    bool ok = share_devices(s, (const uint8_t *)out.s, out.len, &newer, f);
    text_free(&out);
    return ok;
}

/* ---- the report ------------------------------------------------------------------------------ */

void report_init(struct report *r)
{
    *r = (struct report){0};
    text_init(&r->missing, LINES_MOST);
    text_init(&r->person, LINES_MOST);
}

void report_free(struct report *r)
{
    text_free(&r->missing);
    text_free(&r->person);
}

void report_line(struct text *lines, const char *format, ...)
{
    struct text line;
    va_list args;
    text_init(&line, 600);
    va_start(args, format);
    text_vaddf(&line, format, args);
    va_end(args);
    text_addc(&line, '\n');
    if (strstr(lines->s, line.s) == NULL)
        text_add(lines, line.s);
    text_free(&line);
}

static const char *plural(uint64_t n, const char *one, const char *many)
{
    return n == 1 ? one : many;
}

static void say_unsent(const struct report *r, struct text *out)
{
    if (r->unsent == 0) {
        text_add(out, "everything made here is known elsewhere\n");
        return;
    }
    day_number today = clock_today();
    day_number old = r->oldest_unsent != 0 ? clock_day(r->oldest_unsent) : today;
    text_addf(out, "%llu %s made here: no other device has said yet that it has %s, the oldest ",
              (unsigned long long)r->unsent, plural(r->unsent, "entry", "entries"),
              plural(r->unsent, "it", "them"));
    if (old >= today)
        text_add(out, "from today\n");
    else
        text_addf(out, "%d %s old\n", (int)(today - old),
                  plural((uint64_t)(today - old), "day", "days"));
}

static void say_lines(const char *before, const char *lines, struct text *out)
{
    while (*lines != '\0') {
        size_t n = strcspn(lines, "\n");
        text_addf(out, "%s%.*s\n", before, (int)n, lines);
        lines += n + (lines[n] == '\n');
    }
}

void report_say(const struct report *r, struct text *out)
{
    text_addf(out, "%llu %s came, %llu went\n", (unsigned long long)r->came,
              plural(r->came, "entry", "entries"), (unsigned long long)r->went);
    if (r->photos_came + r->photos_went + r->photos_left > 0)
        text_addf(out, "photographs: %llu came, %llu went, %llu stay behind\n",
                  (unsigned long long)r->photos_came, (unsigned long long)r->photos_went,
                  (unsigned long long)r->photos_left);
    say_unsent(r, out);
    say_lines("missing: ", r->missing.s, out);
    say_lines("look at: ", r->person.s, out);
    if (r->conflicts > 0)
        text_addf(out, "look at: %llu %s more than one answer", (unsigned long long)r->conflicts,
                  plural(r->conflicts, "finding has", "findings have"));
    if (r->conflicts > r->conflicts_before)
        text_addf(out, ", %llu of them new",
                  (unsigned long long)(r->conflicts - r->conflicts_before));
    if (r->conflicts > 0)
        text_addc(out, '\n');
    if (r->renewed)
        text_add(out, "look at: this record was put back or copied, and goes on under a new name: "
                      "amble device request, and let the base admit it\n");
    if (r->stopped)
        text_add(out, "stopped before the end; the next time goes on from here\n");
}

/* ---- photographs ----------------------------------------------------------------------------- */

static const char photo_setting[] = "sync.photos";

uint64_t share_photo_kib(struct journal *j)
{
    struct arena *a = arena_new();
    const char *kept = journal_setting(j, a, photo_setting);
    uint64_t kib = kept != NULL ? strtoul(kept, NULL, 10) : PHOTO_KIB_USUAL;
    arena_free(a);
    return kib;
}

bool share_photo_kib_set(struct journal *j, uint64_t kib, struct fault *f)
{
    char text[24];
    snprintf(text, sizeof text, "%llu", (unsigned long long)kib);
    return journal_setting_put(j, photo_setting, text, f);
}

/* ---- one exchange ---------------------------------------------------------------------------- */

bool share_sync(struct share *s, const char *place, const struct watch *w, struct report *r,
                struct fault *f)
{
    struct journal_counts counts;
    if (!journal_count(s->journal, &counts, f))
        return false;
    r->conflicts_before = counts.conflicts;
    if (!held_release(s, r, f))
        return false;
    bool ok = strncmp(place, "ssh://", 6) == 0 ? link_sync(s, place, w, r, f)
                                               : folder_sync(s, place, w, r, f);
    if (journal_count(s->journal, &counts, ok ? f : NULL)) {
        r->conflicts = counts.conflicts;
        r->unsent = counts.unsent;
        r->oldest_unsent = counts.oldest_unsent;
    } else {
        ok = false;
    }
    return ok;
}
