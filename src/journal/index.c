/* What can be found by typing: one row of folded words for each entity, the distinct words of
 * names, and phone numbers from their end. Derived from the heads, in the same transaction. */
#include "base/text.h"
#include "base/utf8.h"
#include "journal/internal.h"
#include "journal/keyed.h"
#include <string.h>

enum { FOUND_MAX = 1 << 16 };

const struct searched_item *searched_items(size_t *count)
{
    static const struct searched_item items[] = {
#define X(item, how) {.name = (item), .as = (how)},
        SEARCHED_ITEMS(X)
#undef X
    };
    *count = sizeof items / sizeof items[0];
    return items;
}

bool item_searched(const char *item)
{
    size_t count;
    const struct searched_item *items = searched_items(&count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(items[i].name, item) == 0)
            return true;
    return false;
}

/* ---- words and digits ------------------------------------------------------------------------ */

bool word_next(const char **at, char word[WORD_ROOM])
{
    const char *from = *at + strspn(*at, " ");
    size_t whole = strcspn(from, " "), size = whole, bad;
    if (size >= WORD_ROOM)
        size = WORD_ROOM - 1;
    if (!utf8_valid(from, size, &bad))
        size = bad;
    memcpy(word, from, size);
    word[size] = '\0';
    *at = from + whole;
    return whole > 0;
}

size_t word_length(const char *word)
{
    size_t n = 0;
    for (; *word; word++)
        n += (*word & 0xC0) != 0x80;
    return n;
}

uint32_t word_letters(const char *word)
{
    uint32_t letters = 0;
    for (; *word; word++)
        letters |= UINT32_C(1) << ((unsigned char)*word & 31);
    return letters;
}

size_t digits_reversed(const char *s, char out[DIGITS_ROOM])
{
    size_t n = 0;
    for (size_t i = strlen(s); i > 0 && n + 1 < DIGITS_ROOM; i--)
        if (s[i - 1] >= '0' && s[i - 1] <= '9')
            out[n++] = s[i - 1];
    out[n] = '\0';
    return n;
}

/* ---- one entity ------------------------------------------------------------------------------ */

struct findable {
    struct text words, names, phones; /* blank-separated */
    struct text texts;                /* each ended by TEXT_END */
};

static void findable_init(struct findable *x)
{
    text_init(&x->words, FOUND_MAX);
    text_init(&x->names, FOUND_MAX);
    text_init(&x->phones, FOUND_MAX);
    text_init(&x->texts, FOUND_MAX);
}

static void findable_free(struct findable *x)
{
    text_free(&x->words);
    text_free(&x->names);
    text_free(&x->phones);
    text_free(&x->texts);
}

static void add_folded(struct text *out, const char *s)
{
    struct text folded;
    text_init(&folded, FOUND_MAX);
    utf8_fold(&folded, s);
    if (folded.len > 0)
        text_addf(out, "%s%s", out->len ? " " : "", folded.s);
    text_free(&folded);
}

/* A phone number is also one word of all its digits, to be found while it is typed from the front.
 */
static void add_phone(struct findable *x, const char *s)
{
    char reversed[DIGITS_ROOM], forward[DIGITS_ROOM];
    size_t n = digits_reversed(s, reversed);
    if (n == 0)
        return;
    for (size_t i = 0; i < n; i++)
        forward[i] = reversed[n - 1 - i];
    forward[n] = '\0';
    text_addf(&x->words, "%s%s", x->words.len ? " " : "", forward);
    text_addf(&x->phones, "%s%s", x->phones.len ? " " : "", reversed);
}

static bool findable_now(struct journal *j, int64_t entity, struct findable *x, struct fault *f)
{
    size_t count;
    const struct searched_item *items = searched_items(&count);
    for (size_t i = 0; i < count; i++) {
        int64_t item = 0;
        if (!item_number(j, items[i].name, false, &item, f))
            return false;
        struct rows r = ask(j, HEAD_TEXTS, ARGS(num(entity), num(item)), f);
        while (next(&r)) {
            const char *s = column_text(r.s, 0);
            text_addf(&x->texts, "%s%c", s, TEXT_END);
            add_folded(&x->words, s);
            if (items[i].as == SEARCHED_NAME)
                add_folded(&x->names, s);
            else if (items[i].as == SEARCHED_PHONE)
                add_phone(x, s);
        }
        if (!r.ok)
            return false;
    }
    return true;
}

static bool findable_before(struct journal *j, int64_t entity, struct findable *x, bool *any,
                            struct fault *f)
{
    struct rows r = ask(j, FOUND_GET, ARGS(num(entity)), f);
    *any = next(&r);
    if (*any) {
        text_add(&x->words, column_text(r.s, 0));
        text_add(&x->names, column_text(r.s, 1));
        text_add(&x->phones, column_text(r.s, 2));
        text_add(&x->texts, column_text(r.s, 3));
    }
    done(&r);
    return r.ok;
}

static bool take_out(struct journal *j, int64_t entity, const struct findable *x, struct fault *f)
{
    char word[WORD_ROOM];
    bool ok = run(j, SEARCH_DROP, ARGS(num(entity), txt(x->words.s)), f);
    for (const char *at = x->names.s; ok && word_next(&at, word);) {
        int64_t length = (int64_t)word_length(word);
        ok = run(j, WORD_LESS, ARGS(num(length), txt(word)), f) &&
             run(j, WORD_DROP, ARGS(num(length), txt(word)), f);
    }
    for (const char *at = x->phones.s; ok && word_next(&at, word);)
        ok = run(j, PHONE_DROP, ARGS(txt(word), num(entity)), f);
    return ok && run(j, FOUND_DROP, ARGS(num(entity)), f);
}

static bool put_in(struct journal *j, int64_t entity, const struct findable *x, struct fault *f)
{
    char word[WORD_ROOM];
    bool ok =
        run(j, FOUND_PUT,
            ARGS(num(entity), txt(x->words.s), txt(x->names.s), txt(x->phones.s), txt(x->texts.s)),
            f) &&
        run(j, SEARCH_ADD, ARGS(num(entity), txt(x->words.s)), f);
    for (const char *at = x->names.s; ok && word_next(&at, word);) {
        ok = run(j, WORD_ADD,
                 ARGS(num((int64_t)word_length(word)), txt(word), num(word_letters(word))), f);
    }
    for (const char *at = x->phones.s; ok && word_next(&at, word);)
        ok = run(j, PHONE_ADD, ARGS(txt(word), num(entity)), f);
    return ok;
}

static bool findable_same(const struct findable *x, const struct findable *y)
{
    return strcmp(x->words.s, y->words.s) == 0 && strcmp(x->names.s, y->names.s) == 0 &&
           strcmp(x->phones.s, y->phones.s) == 0 && strcmp(x->texts.s, y->texts.s) == 0;
}

bool index_entity(struct journal *j, int64_t entity, struct fault *f)
{
    struct findable before, now;
    bool any = false;
    findable_init(&before);
    findable_init(&now);
    bool ok = findable_before(j, entity, &before, &any, f) && findable_now(j, entity, &now, f);
    if (ok && !(any && findable_same(&before, &now))) {
        ok = (!any || take_out(j, entity, &before, f)) &&
             (now.words.len == 0 || put_in(j, entity, &now, f));
    }
    findable_free(&before);
    findable_free(&now);
    return ok;
}
