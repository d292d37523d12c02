/* Finding by typing: whole words, then beginnings of words, then names up to two letters away. */
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include "journal/internal.h"
#include <string.h>

enum { WORDS_MOST = 8, FEW = 5, NEAR_MOST = 24, PHONE_LEAST = 3, PHONE_TELLS = 7 };
/* The index knows beginnings of so many characters; how far those under one are looked through. */
enum { INDEXED = 3, LOOKED_THROUGH = 64 };

struct search {
    struct journal *j;
    struct arena *a;
    struct fault *f;
    char words[WORDS_MOST][WORD_ROOM];
    size_t count;
    char digits[DIGITS_ROOM]; /* last first; "" when it was no phone number */
    size_t limit;
    struct match {
        int64_t entity;
        int distance;
        const char *word; /* the name it was found under when distance > 0 */
    } * matches;
    size_t found, room;
};

static bool full(const struct search *s)
{
    return s->found == s->limit;
}

static bool match_add(struct search *s, int64_t entity, int distance, const char *word)
{
    for (size_t i = 0; i < s->found; i++)
        if (s->matches[i].entity == entity)
            return true;
    if (full(s))
        return false;
    s->matches = arena_grow(s->a, s->matches, s->found, &s->room, sizeof *s->matches);
    s->matches[s->found++] = (struct match){.entity = entity, .distance = distance, .word = word};
    return true;
}

/* Matches beyond those already found must be asked for as well. */
static struct arg wanted(const struct search *s)
{
    return num((int64_t)(s->limit + s->found));
}

/* ---- phone ----------------------------------------------------------------------------------- */

static bool phone_range(struct search *s, size_t digits)
{
    char from[DIGITS_ROOM], to[DIGITS_ROOM + 1];
    memcpy(from, s->digits, digits);
    from[digits] = '\0';
    memcpy(to, from, digits);
    memcpy(to + digits, ":", 2); /* the character after 9 */
    struct rows r = ask(s->j, PHONES, ARGS(txt(from), txt(to), wanted(s)), s->f);
    while (next(&r))
        if (!match_add(s, sqlite3_column_int64(r.s, 0), 0, NULL))
            done(&r);
    return r.ok;
}

/* By all digits typed; when none is, by the last seven, since the country code may differ. */
static bool find_phone(struct search *s)
{
    size_t n = strlen(s->digits);
    if (n < PHONE_LEAST)
        return true;
    return phone_range(s, n) && (s->found > 0 || n <= PHONE_TELLS || phone_range(s, PHONE_TELLS));
}

/* ---- words ----------------------------------------------------------------------------------- */

/* Every word, as a beginning or whole; `instead`, a whole word, stands for word number `at`. */
static bool find_words(struct search *s, bool prefix, size_t at, const char *instead, int distance)
{
    struct text match;
    if (full(s))
        return true;
    text_init(&match, 2048);
    for (size_t i = 0; i < s->count; i++) {
        bool other = instead && i == at;
        text_addf(&match, "\"%s\"%s ", other ? instead : s->words[i], prefix && !other ? "*" : "");
    }
    struct rows r = ask(s->j, SEARCH, ARGS(txt(match.s), wanted(s)), s->f);
    while (next(&r))
        if (!match_add(s, sqlite3_column_int64(r.s, 0), distance, instead))
            done(&r);
    text_free(&match);
    return r.ok;
}

static bool begins_a_word(const char *folded, const char *word)
{
    size_t n = strlen(word);
    for (const char *at = folded; at; at = strchr(at, ' ')) {
        at += *at == ' ';
        if (strncmp(at, word, n) == 0)
            return true;
    }
    return false;
}

static bool begin_words(const struct search *s, const char *folded)
{
    for (size_t i = 0; i < s->count; i++)
        if (!begins_a_word(folded, s->words[i]))
            return false;
    return true;
}

static bool is_ascii(const char *s)
{
    while (*s != '\0' && (unsigned char)*s < 0x80)
        s++;
    return *s == '\0';
}

/* The phone numbers of a whole town begin alike, and for a beginning it does not know the index
 * first gathers everybody who has it. So those under what it does know, and the last of several
 * words, are looked through a little way: what is found there is what it would tell first, and
 * `*all` when the end is reached. Of other alphabets it has its own opinion where a word ends. */
static bool find_digits(struct search *s, bool *all)
{
    struct text match;
    size_t seen = 0;
    text_init(&match, 2048);
    for (size_t i = 0; i < s->count; i++) {
        bool last = i > 0 && i + 1 == s->count;
        text_addf(&match, "\"%.*s\"* ", last ? WORD_ROOM : INDEXED, s->words[i]);
    }
    struct rows r = ask(s->j, SEARCH_WORDS, ARGS(txt(match.s), num(LOOKED_THROUGH)), s->f);
    while (next(&r)) {
        const char *words = column_text(r.s, 1);
        seen = is_ascii(words) ? seen + 1 : LOOKED_THROUGH;
        if (seen == LOOKED_THROUGH ||
            (begin_words(s, words) && !match_add(s, sqlite3_column_int64(r.s, 0), 0, NULL)))
            done(&r);
    }
    text_free(&match);
    *all = seen < LOOKED_THROUGH;
    return r.ok;
}

static bool find_beginnings(struct search *s)
{
    bool all = full(s);
    if (!all && strlen(s->digits) > INDEXED && !find_digits(s, &all))
        return false;
    return all || find_words(s, true, 0, NULL, 0);
}

struct near_name {
    const char *name;
    size_t at; /* the word typed */
    int distance, rank;
};

/* Nearest first; among equals those that sound alike, then those that begin alike. */
static int rank_of(const char *word, const char *name, int distance)
{
    return 4 * distance + 2 * !text_sounds_same(word, name) + (name[0] != word[0]);
}

/* Keep the best, best first. */
static void near_keep(struct near_name *near, size_t *count, struct near_name one)
{
    size_t place = *count;
    while (place > 0 && near[place - 1].rank > one.rank)
        place--;
    if (place == NEAR_MOST)
        return;
    size_t last = *count < NEAR_MOST ? *count : NEAR_MOST - 1;
    memmove(&near[place + 1], &near[place], (last - place) * sizeof *near);
    near[place] = one;
    *count = last + 1;
}

static int bits(uint32_t x)
{
    int n = 0;
    for (; x; x &= x - 1)
        n++;
    return n;
}

/* One edit changes at most two of the letters a word has: most names are passed over by that alone.
 */
static bool near_names(struct search *s, size_t at, struct near_name *near, size_t *count)
{
    const char *word = s->words[at];
    int64_t length = (int64_t)word_length(word);
    int most = length <= 3 ? 1 : 2;
    uint32_t letters = word_letters(word);
    if (length < 3)
        return true;
    struct rows r = ask(s->j, WORDS_NEAR, ARGS(num(length - most), num(length + most)), s->f);
    while (next(&r)) {
        if (bits((uint32_t)sqlite3_column_int64(r.s, 1) ^ letters) > 2 * most)
            continue;
        const char *name = column_text(r.s, 0);
        int distance = text_distance(word, name, most);
        if (distance == 0 || distance > most)
            continue;
        int rank = rank_of(word, name, distance);
        if (*count < NEAR_MOST || rank < near[NEAR_MOST - 1].rank) {
            near_keep(
                near, count,
                (struct near_name){
                    .name = arena_str(s->a, name), .at = at, .distance = distance, .rank = rank});
        }
    }
    return r.ok;
}

static bool find_near(struct search *s)
{
    struct near_name near[NEAR_MOST];
    size_t count = 0;
    for (size_t i = 0; i < s->count; i++)
        if (!near_names(s, i, near, &count))
            return false;
    for (int distance = 1; distance <= 2; distance++) {
        for (size_t i = 0; i < count; i++)
            if (near[i].distance == distance &&
                !find_words(s, true, near[i].at, near[i].name, distance))
                return false;
    }
    return true;
}

/* ---- what to show ---------------------------------------------------------------------------- */

/* The number typed ends that of the text, or begins it: both are last digit first. */
static bool digits_match(const char *typed, const char *text)
{
    char digits[DIGITS_ROOM];
    size_t n = digits_reversed(text, digits), t = strlen(typed);
    size_t tells = t < PHONE_TELLS ? t : PHONE_TELLS;
    return strncmp(digits, typed, tells) == 0 || (n >= t && strcmp(digits + n - t, typed) == 0);
}

static bool text_matches(const struct search *s, const struct match *m, const char *text)
{
    if (strlen(s->digits) >= PHONE_LEAST && digits_match(s->digits, text))
        return true;
    struct text folded;
    text_init(&folded, JOURNAL_VALUE_MAX);
    utf8_fold(&folded, text);
    bool yes = m->word && begins_a_word(folded.s, m->word);
    for (size_t i = 0; !yes && !m->word && i < s->count; i++)
        yes = begins_a_word(folded.s, s->words[i]);
    text_free(&folded);
    return yes;
}

static void hit_texts(struct arena *a, const char *texts, struct hit *out)
{
    const char **all = NULL;
    size_t n = 0, room = 0;
    for (const char *at = texts; *at;) {
        size_t size = strcspn(at, (const char[]){TEXT_END, '\0'});
        all = arena_grow(a, (void *)all, n, &room, sizeof *all);
        all[n++] = arena_strn(a, at, size);
        at += size + (at[size] != '\0');
    }
    out->texts = all;
    out->text_count = n;
}

/* The first of the texts that matches, or else the first. */
static const char *match_text(const struct search *s, const struct match *m, const struct hit *h)
{
    for (size_t i = 0; i < h->text_count; i++)
        if (text_matches(s, m, h->texts[i]))
            return h->texts[i];
    return h->text_count > 0 ? h->texts[0] : "";
}

static bool hit_read(struct search *s, const struct match *m, struct hit *out)
{
    *out = (struct hit){.distance = m->distance};
    struct rows r = ask(s->j, FOUND_HIT, ARGS(num(m->entity)), s->f);
    if (next(&r)) {
        uint8_t uuid[UUID_BYTES];
        char *entity = arena_alloc(s->a, 37);
        column_bytes(r.s, 0, uuid, sizeof uuid);
        uuid_write(uuid, entity);
        out->entity = entity;
        out->entity_kind = arena_str(s->a, column_text(r.s, 1));
        hit_texts(s->a, column_text(r.s, 2), out);
        out->text = match_text(s, m, out);
    }
    done(&r);
    return r.ok;
}

bool journal_hit_texts(struct journal *j, struct arena *a, struct hit *h, struct fault *f)
{
    uint8_t uuid[UUID_BYTES];
    int64_t number;
    if (!uuid_need(h->entity, uuid, "record", f) || !entity_number(j, uuid, &number, f))
        return false;
    struct rows r = ask(j, FOUND_GET, ARGS(num(number)), f);
    hit_texts(a, next(&r) ? column_text(r.s, 3) : "", h);
    done(&r);
    return r.ok;
}

/* ---- all of it ------------------------------------------------------------------------------- */

static void typed_read(struct search *s, const char *typed)
{
    struct text folded;
    text_init(&folded, WORDS_MOST * WORD_ROOM);
    utf8_fold(&folded, typed);
    for (const char *at = folded.s; s->count < WORDS_MOST && word_next(&at, s->words[s->count]);)
        s->count++;
    text_free(&folded);
    if (typed[strspn(typed, "0123456789+-()/. ")] == '\0')
        digits_reversed(typed, s->digits);
}

static bool find(struct search *s)
{
    return find_phone(s) && find_words(s, false, 0, NULL, 0) && find_beginnings(s) &&
           (s->found >= FEW || full(s) || s->digits[0] || find_near(s));
}

bool journal_search(struct journal *j, struct arena *a, const char *typed, size_t limit,
                    const struct hit **out, size_t *count, struct fault *f)
{
    struct search s = {.j = j, .a = a, .f = f, .limit = limit};
    *out = NULL;
    *count = 0;
    typed_read(&s, typed);
    if (s.count == 0 || limit == 0)
        return true;
    bool looking = journal_look_begin(j);
    bool ok = find(&s);
    struct hit *hits = arena_array(a, s.found, sizeof *hits);
    for (size_t i = 0; ok && i < s.found; i++)
        ok = hit_read(&s, &s.matches[i], &hits[i]);
    journal_look_end(j, looking);
    *out = hits;
    *count = ok ? s.found : 0;
    return ok;
}
