#include "command/calc.h"
#include "base/arena.h"
#include "base/json.h"
#include "base/text.h"
#include "base/utf8.h"
#include "command/command.h"
#include <math.h>
#include <string.h>

enum { OUTPUT_MOST = 1 << 20 };

/* ---- reading --------------------------------------------------------------------------------- */

static const struct calculation *find_calculation(const char *name)
{
    for (size_t i = 0; i < calculation_count; i++)
        if (strcmp(calculations[i].name, name) == 0)
            return &calculations[i];
    return NULL;
}

const struct calc_key *calc_key_at(const struct calculation *calc, size_t i)
{
    size_t own = *calc->in_count;
    if (i < own)
        return &calc->in[i];
    return calc->also && i - own < *calc->also_count ? &calc->also[i - own] : NULL;
}

static bool unknown_key(const struct calculation *calc, const char *name, struct fault *f)
{
    const char *names[64];
    size_t n = 0;
    for (size_t i = 0; i < calc->word_count; i++)
        names[n++] = calc->words[i].name;
    const struct calc_key *key;
    for (size_t i = 0; (key = calc_key_at(calc, i)) && n < sizeof names / sizeof *names; i++)
        names[n++] = key->name;
    const char *near = text_nearest(name, names, n);
    return near ? fail(f, FAULT_INPUT, "there is no key \"%s\" (did you mean \"%s\"?)", name, near)
                : fail(f, FAULT_INPUT, "there is no key \"%s\"", name);
}

static bool put_once(const struct calc_key *key, void *of, double value, struct fault *f)
{
    if (!isnan(calc_get(key, of)))
        return fail(f, FAULT_INPUT, "%s is given twice", key->name);
    calc_put(key, of, value);
    return true;
}

/* "value" or, where uncertainty is asked for, "value~u". */
static bool read_key(struct calc_call *c, const struct calc_key *key, const char *text,
                     struct fault *f)
{
    double value, u;
    const char *mark = strchr(text, '~');
    if (mark && !c->spread)
        return fail(f, FAULT_INPUT, "%s=%s: an uncertainty needs --spread%s", key->name, text,
                    c->calc->spread ? "" : ", which only balance has");
    if (!calc_read_number(key->name, text, mark ? (size_t)(mark - text) : strlen(text), &value,
                          f) ||
        !put_once(key, &c->in, value, f))
        return false;
    if (!mark)
        return true;
    if (!calc_read_number(key->name, mark + 1, strlen(mark + 1), &u, f))
        return false;
    calc_put(key, &c->u, u);
    return true;
}

/* A measure the practice added to its templates: its id and "_mm". Whether it is one is known once
 * the relations are read. */
static bool read_other(struct calc_call *c, const char *name, const char *text, struct fault *f)
{
    size_t n = strlen(name);
    double value;
    if (c->calc->in != proportion_keys_in || n < 4 || strcmp(name + n - 3, "_mm") != 0 ||
        c->other_count == PROPORTION_MOST)
        return unknown_key(c->calc, name, f);
    const struct calc_key key = {name, "mm", "", 0, KEY_OPTIONAL, 0, 1, 5000};
    if (!calc_read_number(name, text, strlen(text), &value, f) || !calc_check(&key, 1, &value, f))
        return false;
    c->others[c->other_count++] =
        (struct proportion_measure){arena_strn(c->arena, name, n - 3), value};
    return true;
}

static bool read_word(struct calc_call *c, size_t word, const char *text, struct fault *f)
{
    if (c->words[word])
        return fail(f, FAULT_INPUT, "%s is given twice", c->calc->words[word].name);
    if (text[0] == '\0' && !c->calc->words[word].fallback)
        return fail(f, FAULT_MISSING, "%s is empty (%s)", c->calc->words[word].name,
                    c->calc->words[word].help);
    c->words[word] = text;
    return true;
}

static bool read_argument(struct calc_call *c, const char *arg, struct fault *f)
{
    const struct calculation *calc = c->calc;
    const char *equals = strchr(arg, '=');
    if (!equals || equals == arg)
        return fail(f, FAULT_INPUT, "\"%s\" is not key=value", arg);
    const char *name = arena_strn(c->arena, arg, (size_t)(equals - arg));
    for (size_t i = 0; i < calc->word_count; i++)
        if (strcmp(calc->words[i].name, name) == 0)
            return read_word(c, i, equals + 1, f);
    const struct calc_key *key;
    for (size_t i = 0; (key = calc_key_at(calc, i)) && strcmp(key->name, name) != 0;)
        i++;
    return key ? read_key(c, key, equals + 1, f) : read_other(c, name, equals + 1, f);
}

static bool read_option(struct calc_call *c, const char *arg, struct fault *f)
{
    if (strcmp(arg, "--json") == 0)
        c->json = true;
    else if (strcmp(arg, "--help") == 0)
        c->help = true;
    else if (strcmp(arg, "--spread") == 0 && c->calc->spread)
        c->spread = true;
    else
        return fail(f, FAULT_INPUT, "there is no option \"%s\"", arg);
    return true;
}

static bool read_options(struct calc_call *c, int argc, char **argv, struct fault *f)
{
    c->json = c->help = c->spread = false;
    for (int i = 1; i < argc; i++)
        if (argv[i][0] == '-' && !read_option(c, argv[i], f))
            return false;
    return true;
}

static bool read_keys(struct calc_call *c, int argc, char **argv, struct fault *f)
{
    const struct calculation *calc = c->calc;
    const struct calc_key *key;
    for (size_t i = 0; (key = calc_key_at(calc, i)); i++) {
        calc_put(key, &c->in, NAN);
        calc_put(key, &c->u, NAN);
    }
    c->others = arena_array(c->arena, PROPORTION_MOST, sizeof *c->others);
    for (int i = 1; i < argc; i++)
        if (argv[i][0] != '-' && !read_argument(c, argv[i], f))
            return false;
    for (size_t i = 0; (key = calc_key_at(calc, i)); i++)
        if (key->need == KEY_DEFAULT && isnan(calc_get(key, &c->in)))
            calc_put(key, &c->in, key->fallback);
    for (size_t i = 0; i < calc->word_count; i++)
        if (!c->words[i] && !(c->words[i] = calc->words[i].fallback))
            return fail(f, FAULT_MISSING, "%s is missing (%s)", calc->words[i].name,
                        calc->words[i].help);
    return true;
}

/* ---- showing --------------------------------------------------------------------------------- */

/* Ten figures: more than any input deserves, enough for another program. */
static void number_text(double v, char *buf, size_t room)
{
    if (isnan(v))
        snprintf(buf, room, "-");
    else
        snprintf(buf, room, "%.10g", v == 0 ? 0 : v);
}

static void line(struct text *t, const char *key, const char *part, double value, const char *unit)
{
    char number[40];
    number_text(value, number, sizeof number);
    text_addf(t, "%s%s %s %s", key, part, number, unit);
}

/* "chest_girth/(chest_depth,chest_width)" */
static const char *relation_key(struct arena *a, const struct proportion_relation *r)
{
    const char *of = r->plus == NULL ? r->of : arena_printf(a, "(%s+%s)", r->of, r->plus);
    const char *to = r->across == NULL ? r->to : arena_printf(a, "(%s,%s)", r->to, r->across);
    return arena_printf(a, "%s/%s", of, to);
}

static void show_lines(const struct calc_call *c, struct text *t)
{
    for (size_t i = 0; i < c->check_count; i++) {
        const struct calc_relation_answer *r = &c->checks[i];
        const char *key = relation_key(c->arena, &r->relation);
        line(t, key, ".ratio", r->check.ratio, "-\n");
        line(t, key, ".low", r->relation.low, "-\n");
        line(t, key, ".high", r->relation.high, "-\n");
        text_addf(t, "%s.verdict %s -\n", key, proportion_verdict_word(r->check.verdict));
    }
    for (size_t i = 0; i < c->answer_count; i++) {
        const struct calc_answer *a = &c->answers[i];
        if (a->word)
            text_addf(t, "%s %s -\n", a->key, a->word);
        else
            line(t, a->key, "", a->value, a->unit);
        if (!a->word && !isnan(a->spread)) {
            char u[40];
            snprintf(u, sizeof u, "%.3g", a->spread);
            text_addf(t, " +- %s", u);
        }
        if (!a->word)
            text_addc(t, '\n');
    }
}

static void show_json(const struct calc_call *c, struct text *t)
{
    struct json j;
    json_begin(&j, t, 2);
    json_open_object(&j);
    if (c->calc->in == proportion_keys_in) {
        json_key(&j, "relations");
        json_open_array(&j);
        for (size_t i = 0; i < c->check_count; i++) {
            const struct calc_relation_answer *r = &c->checks[i];
            json_open_object(&j);
            json_member(&j, "of", r->relation.of);
            if (r->relation.plus != NULL)
                json_member(&j, "plus", r->relation.plus);
            json_member(&j, "to", r->relation.to);
            if (r->relation.across != NULL)
                json_member(&j, "across", r->relation.across);
            json_key(&j, "ratio");
            json_put_number(&j, r->check.ratio);
            json_key(&j, "low");
            json_put_number(&j, r->relation.low);
            json_key(&j, "high");
            json_put_number(&j, r->relation.high);
            json_member(&j, "verdict", proportion_verdict_word(r->check.verdict));
            json_end(&j);
        }
        json_end(&j);
    }
    for (size_t i = 0; i < c->answer_count; i++) {
        json_key(&j, c->answers[i].key);
        if (c->answers[i].word)
            json_put_string(&j, c->answers[i].word);
        else
            json_put_number(&j, c->answers[i].value == 0 ? 0 : c->answers[i].value);
    }
    if (c->spread) {
        json_key(&j, "spread");
        json_open_object(&j);
        for (size_t i = 0; i < c->answer_count; i++) {
            json_key(&j, c->answers[i].key);
            json_put_number(&j, c->answers[i].spread);
        }
        json_end(&j);
    }
    json_end(&j);
    text_addc(t, '\n');
}

static void help_row(struct text *t, const char *name, const char *unit, const char *given,
                     const char *help)
{
    text_addf(t, "  %-23s %-5s %-9s %s\n", name, unit, given, help);
}

static void show_help(const struct calculation *calc, struct text *t)
{
    text_addf(t, "amble calc %s: %s\n\ntakes\n", calc->name, calc->help);
    for (size_t i = 0; i < calc->word_count; i++) {
        const struct calc_word *w = &calc->words[i];
        help_row(t, w->name, "text",
                 !w->fallback   ? "needed"
                 : *w->fallback ? w->fallback
                                : "may be",
                 w->help);
    }
    const struct calc_key *k;
    for (size_t i = 0; (k = calc_key_at(calc, i)); i++) {
        char given[32] = "needed";
        if (k->need == KEY_DEFAULT)
            snprintf(given, sizeof given, "%g", k->fallback);
        else if (k->need == KEY_OPTIONAL)
            snprintf(given, sizeof given, "may be");
        help_row(t, k->name, k->unit, given, k->help);
    }
    if (*calc->out_count > 0)
        text_add(t, "\ngives\n");
    for (size_t i = 0; i < *calc->out_count; i++)
        help_row(t, calc->out[i].name, calc->out[i].unit, "", calc->out[i].help);
    if (*calc->more)
        text_addf(t, "\n%s\n", calc->more);
}

static void show_names(struct text *t)
{
    text_add(t, "amble calc NAME key=value ... [--json]\n\n");
    for (size_t i = 0; i < calculation_count; i++)
        text_addf(t, "  %-11s %s\n", calculations[i].name, calculations[i].help);
    text_add(t,
             "\namble calc NAME --help tells its keys; amble-calc(1) has formulas and sources.\n");
}

/* ---- running --------------------------------------------------------------------------------- */

static int complain(FILE *err, const char *name, const struct fault *f)
{
    struct text shown;
    text_init(&shown, OUTPUT_MOST);
    utf8_show(&shown, f->text, false);
    fprintf(err, "amble: calc%s%s: %s\n", *name ? " " : "", name, shown.s);
    text_free(&shown);
    switch (f->kind) {
    case FAULT_INPUT:
    case FAULT_MISSING:
    case FAULT_REFUSED:
    case FAULT_LIMIT:
        return COMMAND_USAGE;
    case FAULT_NONE:
    case FAULT_BUSY:
    case FAULT_STORE:
    case FAULT_DAMAGE:
    case FAULT_SYSTEM:
        break;
    }
    return COMMAND_FAILED;
}

static bool write_out(const struct text *t, FILE *out, struct fault *f)
{
    if (t->cut)
        return fail(f, FAULT_SYSTEM, "the answer is too long to write");
    if (fwrite(t->s, 1, t->len, out) != t->len || fflush(out) != 0)
        return fail(f, FAULT_SYSTEM, "the answer cannot be written");
    return true;
}

static bool answer(struct calc_call *c, int argc, char **argv, struct text *t, struct fault *f)
{
    if (!read_options(c, argc, argv, f)) /* they say how the keys are read */
        return false;
    if (c->help) {
        show_help(c->calc, t);
        return true;
    }
    if (!read_keys(c, argc, argv, f) || !c->calc->run(c, f))
        return false;
    if (c->json)
        show_json(c, t);
    else
        show_lines(c, t);
    return true;
}

static bool unknown_name(const char *name, struct fault *f)
{
    const char *names[32];
    size_t n = 0;
    for (; n < calculation_count && n < sizeof names / sizeof *names; n++)
        names[n] = calculations[n].name;
    const char *near = text_nearest(name, names, n);
    return near ? fail(f, FAULT_INPUT, "there is no calculation \"%s\" (did you mean \"%s\"?)",
                       name, near)
                : fail(f, FAULT_INPUT, "there is no calculation \"%s\"", name);
}

int calc_run(int argc, char **argv, const struct calc_relations *relations, FILE *out, FILE *err)
{
    struct fault f = {FAULT_NONE, ""};
    struct text t;
    bool listing = argc < 1 || strcmp(argv[0], "--help") == 0;
    const struct calculation *calc = listing ? NULL : find_calculation(argv[0]);
    if (!listing && !calc) {
        unknown_name(argv[0], &f);
        return complain(err, "", &f);
    }
    text_init(&t, OUTPUT_MOST);
    struct arena *arena = arena_new();
    struct calc_call call = {.calc = calc, .relations = relations, .arena = arena};
    if (listing)
        show_names(&t);
    bool done = (listing || answer(&call, argc, argv, &t, &f)) && write_out(&t, out, &f);
    int status = done ? COMMAND_DONE : complain(err, calc ? calc->name : "", &f);
    arena_free(arena);
    text_free(&t);
    return status;
}
