#include "command/setting.h"
#include "base/arena.h"
#include "command/args.h"
#include "share/identity.h"
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    MESSAGES_MAX = 64 * 1024,
    LEVELS_UP = 4 /* from build/tests/unit/program to the source tree */
};

static const char *environment(const char *name)
{
    const char *value = getenv(name);
    return value ? value : "";
}

/* $XDG_..._HOME/amble; a relative path there is to be ignored (XDG Base Directory Specification).
 */
static const char *xdg_folder(struct arena *a, const char *variable, const char *under_home)
{
    const char *base = environment(variable);
    if (*base == '/')
        return arena_printf(a, "%s/amble", base);
    return arena_printf(a, "%s/%s/amble", environment("HOME"), under_home);
}

/* A program run from its source tree uses the templates beside it, not those of an older one that
 * happens to be installed. */
static const char *shipped_folder(struct arena *a)
{
    char exe[PATH_MAX];
    ssize_t n = readlink("/proc/self/exe", exe, sizeof exe - 1);
    exe[n > 0 ? n : 0] = '\0';
    for (int up = 0; up < LEVELS_UP; up++) {
        char *slash = strrchr(exe, '/');
        if (!slash)
            break;
        *slash = '\0';
        const char *folder = arena_printf(a, "%s/config", exe);
        if (access(arena_printf(a, "%s/practice.yaml", folder), R_OK) == 0)
            return folder;
    }
    return AMBLE_CONFIG;
}

static const char *first_of(const char *one, const char *other)
{
    return one && *one ? one : other;
}

bool setting_read(struct setting *s, int argc, char **argv, int *first, struct fault *f)
{
    *s = (struct setting){.initials = "", .arena = arena_new()};
    text_init(&s->messages, MESSAGES_MAX);
    const struct arg_flag flags[] = {
        {"--data", .value = &s->data},         {"--config", .value = &s->overlay},
        {"--shipped", .value = &s->shipped},   {"--as", .value = &s->initials},
        {"--read-only", .set = &s->read_only}, {"--help", .set = &s->help},
        {"--version", .set = &s->version},
    };
    if (!args_flags(argc, argv, flags, sizeof flags / sizeof flags[0], first, f))
        return false;
    struct arena *a = s->arena;
    s->data = first_of(first_of(s->data, environment("AMBLE_DATA")),
                       xdg_folder(a, "XDG_DATA_HOME", ".local/share"));
    s->overlay = first_of(first_of(s->overlay, environment("AMBLE_TEMPLATES")),
                          xdg_folder(a, "XDG_CONFIG_HOME", ".config"));
    s->sysfs = first_of(environment("AMBLE_SYSFS"), "/sys");
    unsigned long minute = strtoul(first_of(environment("AMBLE_MINUTE"), "60000"), NULL, 10);
    s->minute_ms = minute > 0 && minute < 60000 ? (int)minute : 60000;
    s->room_least = strtoull(first_of(environment("AMBLE_ROOM"), "200"), NULL, 10);
    s->shipped = first_of(s->shipped, shipped_folder(a));
    return true;
}

/* ---- opening --------------------------------------------------------------------------------- */

static bool load_templates(struct setting *s, struct fault *f)
{
    struct template_report report = {.lines = &s->messages};
    template_free(s->set);
    s->set = template_load(s->shipped, s->overlay, &report);
    if (s->set) {
        text_clear(&s->messages);
        return true;
    }
    struct text own;
    text_init(&own, MESSAGES_MAX);
    struct template_report own_report = {.lines = &own};
    s->set = template_load(s->shipped, NULL, &own_report);
    if (!s->set)
        fail(f, FAULT_INPUT, "the templates in %s cannot be used: %.*s", s->shipped,
             (int)strcspn(own.s, "\n"), own.s);
    text_free(&own);
    return s->set != NULL;
}

static bool become(struct setting *s, struct casebook *cb, struct fault *f)
{
    const struct practitioner *all = NULL;
    size_t count = 0;
    if (!practitioners(cb, s->arena, &all, &count, f))
        return false;
    const char *known = "";
    for (size_t i = 0; i < count; i++) {
        if (text_same(all[i].initials, s->initials)) {
            memcpy(cb->author, all[i].entity, strnlen(all[i].entity, sizeof cb->author - 1) + 1);
            return true;
        }
        known = arena_printf(s->arena, "%s%s%s", known, i ? ", " : "", all[i].initials);
    }
    return fail(f, FAULT_MISSING, "nobody here has the initials \"%s\"%s%s", s->initials,
                *known ? "; known are " : "", known);
}

static bool open_journal(struct setting *s, enum journal_mode mode, struct casebook *cb,
                         struct fault *f)
{
    bool renewed; /* told by the next exchange, which needs the base to know the new name */
    if (!journal_open(&s->journal, s->data, s->read_only ? JOURNAL_READ : mode, f) ||
        !identity_check(s->journal, &renewed, NULL, f))
        return false;
    *cb = (struct casebook){.journal = s->journal, .set = s->set};
    if (*s->initials)
        return become(s, cb, f);
    casebook_wake(cb);
    return true;
}

bool setting_open(struct setting *s, enum journal_mode mode, struct casebook *cb, struct fault *f)
{
    *cb = (struct casebook){0};
    return load_templates(s, f) && open_journal(s, mode, cb, f);
}

bool setting_open_soon(struct setting *s, enum journal_mode mode, struct casebook *cb,
                       struct fault *f)
{
    *cb = (struct casebook){0};
    s->set = template_load_practice(s->shipped, s->overlay);
    return (s->set || load_templates(s, f)) && open_journal(s, mode, cb, f);
}

bool setting_complete(struct setting *s, struct casebook *cb, struct fault *f)
{
    bool loaded = load_templates(s, f);
    cb->set = s->set;
    return loaded;
}

void setting_close(struct setting *s)
{
    journal_close(s->journal);
    template_free(s->set);
    text_free(&s->messages);
    arena_free(s->arena);
    *s = (struct setting){0};
}
