#include "command/run.h"
#include "base/arena.h"
#include "base/utf8.h"
#include <errno.h>
#include <stdarg.h>
#include <string.h>

enum { LINE_MAX_BYTES = 256 * 1024, START_LEAST = 4, NAMES_LOOKED_AT = 50 };

void say(FILE *out, const char *format, ...)
{
    struct text made, shown;
    text_init(&made, LINE_MAX_BYTES);
    text_init(&shown, LINE_MAX_BYTES);
    va_list args;
    va_start(args, format);
    text_vaddf(&made, format, args);
    va_end(args);
    utf8_show(&shown, made.s, true);
    fputs(shown.s, out);
    text_free(&made);
    text_free(&shown);
}

int say_fault(const struct run *run, const struct fault *f)
{
    say(run->err, "amble: %s\n", f->text);
    return COMMAND_FAILED;
}

int say_usage(const struct run *run, const struct fault *f)
{
    const char *name = run->command ? run->command : "";
    say(run->err, "amble%s%s: %s\nMore: amble help%s%s\n", *name ? " " : "", name, f->text,
        *name ? " " : "", name);
    return COMMAND_USAGE;
}

int say_bytes(const struct run *run, const char *bytes, size_t n)
{
    struct fault f = {0};
    if (fwrite(bytes, 1, n, run->out) == n && fflush(run->out) == 0)
        return COMMAND_DONE;
    fail(&f, FAULT_SYSTEM, "cannot write the output: %s", strerror(errno));
    return say_fault(run, &f);
}

/* ---- records -----------------------------------------------------------------------------------
 */

bool run_open(struct run *run, enum journal_mode mode)
{
    struct fault f = {0};
    bool open = setting_open(&run->setting, mode, &run->cb, &f);
    if (run->setting.messages.len > 0)
        say(run->err,
            "%samble: the practice's templates are left out until this is mended; the shipped ones "
            "are in use\n",
            run->setting.messages.s);
    if (!open)
        say_fault(run, &f);
    return open;
}

struct starting {
    const char *start;
    struct arena *arena;
    const char *entity;
    size_t found;
};

static bool starts_each(void *of, const char *entity)
{
    struct starting *s = of;
    if (text_starts(entity, s->start)) {
        s->entity = arena_str(s->arena, entity);
        s->found++;
    }
    return s->found < 2;
}

/* Ids that start so, of any kind. */
static bool by_start(struct run *run, const char *said, struct starting *s, struct fault *f)
{
    static const char *const kinds[] = {"dog", "visit", "call", "caregiver", "practitioner"};
    *s = (struct starting){.start = said, .arena = run->arena};
    if (strlen(said) < START_LEAST || strspn(said, "0123456789abcdef-") != strlen(said))
        return true;
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0] && s->found < 2; i++)
        if (!journal_each(run->cb.journal, kinds[i], starts_each, s, f))
            return false;
    return true;
}

/* Dogs of exactly this name; `*those` names their ids for a message. */
static bool by_name(struct run *run, const char *said, struct starting *s, const char **those,
                    struct fault *f)
{
    const struct hit *hits = NULL;
    size_t count = 0;
    struct text want, have;
    *s = (struct starting){.arena = run->arena};
    if (!journal_search(run->cb.journal, run->arena, said, NAMES_LOOKED_AT, &hits, &count, f))
        return false;
    text_init(&want, LINE_MAX_BYTES);
    text_init(&have, LINE_MAX_BYTES);
    utf8_fold(&want, said);
    for (size_t i = 0; i < count; i++) {
        text_clear(&have);
        utf8_fold(&have, hits[i].text);
        if (strcmp(hits[i].entity_kind, "dog") != 0 || strcmp(have.s, want.s) != 0)
            continue;
        *those = arena_printf(run->arena, "%s%s%.*s", *those, s->found ? ", " : "", SHORT_ID,
                              hits[i].entity);
        s->entity = hits[i].entity;
        s->found++;
    }
    text_free(&want);
    text_free(&have);
    return true;
}

bool run_resolve(struct run *run, const char *said, const char **entity, struct fault *f)
{
    struct starting s;
    const char *those = "";
    if (ident_valid(said)) {
        *entity = said;
        return true;
    }
    if (!by_name(run, said, &s, &those, f))
        return false;
    if (s.found > 1)
        return fail(f, FAULT_INPUT, "%zu dogs are called \"%s\": %s", s.found, said, those);
    if (s.found == 0 && !by_start(run, said, &s, f))
        return false;
    if (s.found > 1)
        return fail(f, FAULT_INPUT, "more than one id starts with \"%s\": give more of it", said);
    *entity = s.entity;
    return s.found == 1 ||
           fail(f, FAULT_MISSING, "no record is called \"%s\" or has an id that starts so", said);
}

bool run_chart(struct run *run, const char *said, struct chart *out, struct fault *f)
{
    const char *entity = NULL;
    return run_resolve(run, said, &entity, f) && chart_load(&run->cb, run->arena, entity, out, f);
}
