/* amble device: enrolling devices by files and a fingerprint read aloud, and what becomes of them.
 */
#include "base/arena.h"
#include "base/clock.h"
#include "base/ident.h"
#include "command/args.h"
#include "command/run.h"
#include "journal/travel.h"
#include "share/enrol.h"
#include "share/exchange.h"
#include "share/files.h"
#include <inttypes.h>
#include <libgen.h>
#include <stdlib.h>
#include <string.h>

enum { LETTER_MOST = 64 << 10, WORDS_MOST = 3 };

struct asked {
    const char *words[WORDS_MOST]; /* what to do, and with what */
    size_t count;
    const char *name, *print, *after, *because;
};

/* ---- files and fingerprints ------------------------------------------------------------------ */

static bool letter_read(struct run *run, const char *path, const char **text, struct fault *f)
{
    const uint8_t *bytes;
    size_t size;
    if (!file_get(path, LETTER_MOST, run->arena, &bytes, &size, f))
        return false;
    *text = arena_strn(run->arena, (const char *)bytes, size);
    return true;
}

static bool letter_write(struct run *run, const char *path, const struct text *letter,
                         struct fault *f)
{
    const char *folder = dirname(arena_str(run->arena, path));
    const char *name = basename(arena_str(run->arena, path));
    return file_put(folder, name, letter->s, letter->len, f);
}

static bool digits_same(const char *a, const char *b)
{
    for (;; a++, b++) {
        a += strspn(a, " -");
        b += strspn(b, " -");
        if (*a != *b || *a == '\0')
            return *a == *b;
    }
}

/* Somebody must have compared: by typing what the other screen shows, or by saying so. */
static bool compared(struct run *run, const struct asked *q, const char *print, const char *where,
                     struct fault *f)
{
    char line[32] = "";
    if (q->print != NULL)
        return digits_same(q->print, print) ||
               fail(f, FAULT_REFUSED,
                    "the fingerprints differ: %s here, %s was given; the file is "
                    "not the one that was made there",
                    print, q->print);
    say(run->out, "  %s\nDoes %s show the same six numbers? y n: ", print, where);
    fflush(run->out);
    if (fgets(line, sizeof line, run->in) == NULL)
        line[0] = '\0';
    say(run->out, "\n");
    return line[0] == 'y' || line[0] == 'Y' ||
           fail(f, FAULT_REFUSED, "not done: the numbers were not found to be the same");
}

/* ---- what can be done ------------------------------------------------------------------------ */

static const char *own_name(struct run *run)
{
    const struct device_state *all;
    size_t count;
    if (journal_vector(run->cb.journal, run->arena, &all, &count, NULL))
        for (size_t i = 0; i < count; i++)
            if (all[i].device == journal_device(run->cb.journal) && all[i].name[0] != '\0')
                return all[i].name;
    return "laptop";
}

static bool do_request(struct run *run, const struct asked *q, struct fault *f)
{
    struct text out;
    char print[FINGERPRINT_ROOM];
    text_init(&out, LETTER_MOST);
    bool ok = request_make(run->cb.journal, q->name ? q->name : own_name(run), &out, print, f) &&
              letter_write(run, q->words[1], &out, f);
    text_free(&out);
    if (ok)
        say(run->out,
            "Take %s to the base: amble device admit. There these numbers must be seen:\n"
            "  %s\n",
            q->words[1], print);
    return ok;
}

/* What a person decided about a device goes into the record, with the reason. */
static bool decision(struct run *run, const char *item, const char *value, const struct asked *q,
                     struct fault *f)
{
    char uuid[IDENT_ROOM];
    struct edit e = {.kind = ENTRY_SET,
                     .entity = uuid,
                     .item = item,
                     .value = value,
                     .author = run->cb.author,
                     .reason = q->because};
    return journal_entity_new(run->cb.journal, "decision", uuid, f) &&
           journal_append(run->cb.journal, &e, NULL, f);
}

static bool do_admit(struct run *run, struct share *s, const struct asked *q, struct fault *f)
{
    const char *text;
    struct device d;
    struct text out;
    char print[FINGERPRINT_ROOM], practice[FINGERPRINT_ROOM];
    const char *reply = arena_printf(run->arena, "%s.reply", q->words[1]);
    if (!letter_read(run, q->words[1], &text, f) || !request_read(text, run->arena, &d, print, f) ||
        !compared(run, q, print, d.name, f))
        return false;
    text_init(&out, LETTER_MOST);
    const struct device *known = device_find(&s->devices, d.uuid);
    bool again = known != NULL && known->retired && q->because != NULL;
    bool ok = request_admit(s, &d, again, &out, f) && letter_write(run, reply, &out, f) &&
              (!again || decision(run, "device.admitted_again", d.name, q, f));
    text_free(&out);
    practice_fingerprint(&s->devices, practice);
    if (ok)
        say(run->out,
            "%s is admitted. Take %s back to it: amble device join. There these numbers "
            "must be seen:\n  %s\n",
            d.name, reply, practice);
    return ok;
}

static bool do_join(struct run *run, const struct asked *q, struct fault *f)
{
    const char *text;
    struct devices d;
    const uint8_t *bytes;
    size_t size;
    char print[FINGERPRINT_ROOM];
    if (!letter_read(run, q->words[1], &text, f) ||
        !reply_read(run->cb.journal, text, run->arena, &d, &bytes, &size, print, f) ||
        !compared(run, q, print, "the base", f) || !reply_join(run->cb.journal, &d, bytes, size, f))
        return false;
    say(run->out, "Joined. The practice has %zu devices; amble sync exchanges with them.\n",
        d.count);
    return true;
}

static bool do_rename(struct run *run, struct share *s, const struct asked *q, struct fault *f)
{
    const struct device *d;
    if (!device_named(s, q->words[1], &d, f) || !device_rename(s, d->uuid, q->words[2], f))
        return false;
    say(run->out, "%s is called %s from now on\n", q->words[1], q->words[2]);
    return true;
}

static bool number_read(const char *flag, const char *said, uint64_t *out, struct fault *f)
{
    char *end = NULL;
    *out = strtoull(said, &end, 10);
    return (said[0] >= '0' && said[0] <= '9' && *end == '\0' && *out <= UINT64_C(1) << 40) ||
           fail(f, FAULT_INPUT, "\"%s %s\" is not the number of an entry", flag, said);
}

static bool do_retire(struct run *run, struct share *s, const struct asked *q, struct fault *f)
{
    const struct device *d;
    uint64_t cut = 0;
    if (!device_named(s, q->words[1], &d, f) || !journal_have(run->cb.journal, d->uuid, &cut, f) ||
        (q->after != NULL && !number_read("--after", q->after, &cut, f)))
        return false;
    const char *name = d->name;
    if (!device_retire(s, d->uuid, cut, f))
        return false;
    say(run->out,
        "%s is retired: nothing is sealed to it any more, and its entries after %" PRIu64
        " are held back\n",
        name, cut);
    return true;
}

static bool do_accept(struct run *run, struct share *s, const struct asked *q, struct fault *f)
{
    const struct device *d;
    uint64_t last = 0;
    if (!device_named(s, q->words[1], &d, f) || !held_last(run->cb.journal, d->uuid, &last, f) ||
        (q->after != NULL && !number_read("--after", q->after, &last, f)))
        return false;
    if (q->because == NULL)
        return fail(f, FAULT_INPUT, "to accept what was held back needs --because");
    const char *name = d->name;
    if (!device_accept(s, d->uuid, last, f) ||
        !decision(run, "device.accepted",
                  arena_printf(run->arena, "%s, entries to %" PRIu64, name, last), q, f))
        return false;
    say(run->out,
        "The entries of %s to %" PRIu64 " stand now, here and, with the next exchange, "
        "everywhere\n",
        name, last);
    return true;
}

static bool decision_line(void *of, const char *entity)
{
    struct run *run = of;
    struct heads h;
    char day[CLOCK_ROOM];
    if (!journal_heads(run->cb.journal, run->arena, entity, &h, NULL))
        return true;
    for (size_t i = 0; i < h.count; i++) {
        const struct entry *e = &h.entries[i];
        const char *what = strcmp(e->item, "device.accepted") == 0 ? "accepted" : "admitted again";
        const char *who = author_initials(&run->cb, run->arena, e->author);
        say(run->out, "  %s: %s, %s %s, because: %s\n", what, e->value, who,
            clock_iso_day(clock_day(e->claimed_at), day), e->reason);
    }
    return true;
}

static bool held_line(void *of, const uint8_t device[UUID_BYTES], uint64_t first, uint64_t count,
                      const char *why)
{
    struct run *run = of;
    char uuid[37];
    uuid_write(device, uuid);
    say(run->out, "  held back: %" PRIu64 " entries of %.*s, %" PRIu64 " to %" PRIu64 " (%s)\n",
        count, SHORT_ID, uuid, first, first + count - 1, why);
    return true;
}

static bool do_list(struct run *run, struct share *s, const struct asked *q, struct fault *f)
{
    (void)q;
    for (size_t i = 0; i < s->devices.count; i++) {
        const struct device *d = &s->devices.list[i];
        char uuid[37];
        uint64_t have = 0;
        uuid_write(d->uuid, uuid);
        if (!journal_have(run->cb.journal, d->uuid, &have, f))
            return false;
        say(run->out, "%.*s  %s%s%s, %" PRIu64 " entries here%s\n", SHORT_ID, uuid, d->name,
            d->base ? ", base" : "", d->retired ? ", retired" : "", have,
            memcmp(d->uuid, s->self, UUID_BYTES) == 0 ? " (this one)" : "");
    }
    return held_each(run->cb.journal, held_line, run, f) &&
           journal_each(run->cb.journal, "decision", decision_line, run, f);
}

/* ---- arguments ------------------------------------------------------------------------------- */

static const struct doing {
    const char *word, *expected;
    size_t words; /* with the first */
    bool (*alone)(struct run *run, const struct asked *q, struct fault *f);
    bool (*enrolled)(struct run *run, struct share *s, const struct asked *q, struct fault *f);
} doings[] = {
    {"list", "", 1, NULL, do_list},
    {"request", "the file to write", 2, do_request, NULL},
    {"admit", "the file of the request", 2, NULL, do_admit},
    {"join", "the file of the reply", 2, do_join, NULL},
    {"rename", "the device and its new name", 3, NULL, do_rename},
    {"retire", "the device", 2, NULL, do_retire},
    {"accept", "the retired device", 2, NULL, do_accept},
};

static const struct doing *doing_find(const struct asked *q, struct fault *f)
{
    const char *word = q->count > 0 ? q->words[0] : "list";
    for (size_t i = 0; i < sizeof doings / sizeof doings[0]; i++) {
        const struct doing *d = &doings[i];
        if (strcmp(d->word, word) != 0)
            continue;
        if (q->count > d->words)
            fail(f, FAULT_INPUT, "\"%s\" is one argument too many", q->words[d->words]);
        else if (q->count < d->words && q->count > 0)
            fail(f, FAULT_INPUT, "%s is missing", d->expected);
        else
            return d;
        return NULL;
    }
    fail(f, FAULT_INPUT,
         "\"%s\" cannot be done with a device: list, request, admit, join, rename, "
         "retire or accept",
         word);
    return NULL;
}

int run_device(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    struct asked q = {0};
    struct share *s = NULL;
    const struct arg_flag flags[] = {{"--name", .value = &q.name},
                                     {"--fingerprint", .value = &q.print},
                                     {"--after", .value = &q.after},
                                     {"--because", .value = &q.because}};
    struct args args = {.flags = flags, .flag_count = 4, .words = q.words, .most = WORDS_MOST};
    bool read = args_read(&args, argc, argv, &f);
    q.count = args.count;
    const struct doing *d = read ? doing_find(&q, &f) : NULL;
    if (d == NULL)
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_WRITE))
        return COMMAND_FAILED;
    bool ok = d->alone != NULL ? d->alone(run, &q, &f)
                               : share_open(&s, run->cb.journal, &f) && d->enrolled(run, s, &q, &f);
    share_close(s);
    return ok ? COMMAND_DONE : say_fault(run, &f);
}
