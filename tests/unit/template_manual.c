/* The tables of amble-templates(5) are the tables the loader reads by.
 *
 * The page holds them between `.\" begin NAME` and `.\" end`. When they differ the page as it
 * should be is left in the build folder. */
#include "template/condition_tests.h"
#include "template/facts.h"
#include "template/placeholders.h"
#include "template/schema.h"
#include "templates/cases.h"
#include <stdlib.h>

#define PAGE  "man/amble-templates.5"
#define BEGIN ".\\\" begin "
#define END   ".\\\" end\n"

/* Words wrapped to lines that a person can edit. */
static void add_wrapped(struct text *out, const char *words)
{
    enum { WIDE = 76 };
    size_t column = 0;
    while (*words != '\0') {
        size_t n = strcspn(words, " ");
        if (column > 0 && column + 1 + n > WIDE) {
            text_add(out, "\n");
            column = 0;
        }
        text_addf(out, "%s%.*s", column > 0 ? " " : "", (int)n, words);
        column += n + (column > 0);
        words += n + strspn(words + n, " ");
    }
    text_add(out, "\n");
}

static void add_row(struct text *out, const char *macro, const char *key, const char *more,
                    const char *told)
{
    text_addf(out, ".It %s %s%s\n", macro, key, more);
    add_wrapped(out, told);
}

static void add_schema(struct text *out, const struct schema *s)
{
    struct text told;
    text_init(&told, 4096);
    for (size_t i = 0; i < s->field_count; i++) {
        const struct field *f = &s->fields[i];
        text_clear(&told);
        text_addf(&told, "%s; ", f->help);
        if (f->type == FIELD_WORD)
            for (const struct word *w = f->words; w->name != NULL; w++)
                text_addf(&told, "%s%s", w == f->words ? "one of " : ", ", w->name);
        else
            text_add(&told, field_type_told(f->type));
        if (f->low < f->high)
            text_addf(&told, ", from %g to %g", f->low, f->high);
        text_add(&told, ".");
        add_row(out, "Ic", f->key, f->required ? " Pq required" : "", told.s);
    }
    text_free(&told);
}

/* The lists that are no structures of their own. */
static bool add_list(struct text *out, const char *name)
{
#define ROW_KIND(id, word, told)       add_row(out, "Cm", word, "", told ".");
#define ROW_TEST(word, kind, of, told) add_row(out, "Ic", #word, "", told ".");
#define ROW_FACT(word, told)           add_row(out, "Cm", #word, "", told ".");
#define ROW_PLACEHOLDER(word, told)    add_row(out, "Cm", "{" word "}", "", told ".");
    if (strcmp(name, "kinds") == 0) {
        ITEM_KINDS(ROW_KIND)
    } else if (strcmp(name, "tests") == 0) {
        CONDITION_TESTS(ROW_TEST)
    } else if (strcmp(name, "facts") == 0) {
        DERIVED_FACTS(ROW_FACT)
    } else if (strcmp(name, "placeholders") == 0) {
        PLACEHOLDERS(ROW_PLACEHOLDER)
    } else {
        return false;
    }
    return true;
}

/* The table that belongs behind a marker: the lists by their names, the structures in their order.
 */
static void add_table(struct text *out, const char *name, size_t *next)
{
    size_t count;
    const struct schema *const *all = schemas(&count);
    text_add(out, ".Bl -tag -width Ds -compact\n");
    if (!add_list(out, name)) {
        assert_true(*next < count);
        assert_string_equal(name, all[*next]->name);
        add_schema(out, all[(*next)++]);
    }
    text_add(out, ".El\n");
}

static void the_manual_tells_every_key(void **state)
{
    (void)state;
    struct arena *a = arena_new();
    const char *page = read_whole(a, PAGE, NULL);
    struct text wanted;
    text_init(&wanted, 1 << 20);
    size_t structures = 0, lists = 0, count;
    (void)schemas(&count);
    for (const char *at = page; *at != '\0';) {
        const char *begin = strstr(at, BEGIN);
        if (begin == NULL) {
            text_add(&wanted, at);
            break;
        }
        const char *name = begin + strlen(BEGIN);
        size_t n = strcspn(name, "\n");
        const char *end = strstr(name, END);
        assert_non_null(end);
        text_addn(&wanted, at, (size_t)(name + n + 1 - at));
        size_t before = structures;
        add_table(&wanted, arena_strn(a, name, n), &structures);
        lists += structures == before;
        at = end;
    }
    assert_int_equal(structures, count);
    assert_int_equal(lists, 4);
    if (strcmp(page, wanted.s) != 0) {
        const char *folder = getenv("BUILD");
        const char *path = arena_printf(a, "%s/amble-templates.5", folder ? folder : "build");
        FILE *f = fopen(path, "w");
        if (f != NULL) {
            (void)fputs(wanted.s, f);
            (void)fclose(f);
        }
        fail_msg("%s differs from the loader's tables; as it should be: %s", PAGE, path);
    }
    text_free(&wanted);
    arena_free(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_manual_tells_every_key)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
