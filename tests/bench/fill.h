/* A practice of invented dogs for the benches: names out of syllables, fifty entries a dog. */
#ifndef AMBLE_TESTS_BENCH_FILL_H
#define AMBLE_TESTS_BENCH_FILL_H

#include "base/arena.h"
#include "base/ident.h"
#include "journal/journal.h"
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { FINDINGS = 38, DOGS_KEPT = 512 };

struct bench {
    struct journal *j;
    struct arena *a;
    struct fault f;
    uint64_t random;
    char dogs[DOGS_KEPT][IDENT_ROOM]; /* some of them, to ask for */
    size_t kept;
};

static inline void must(bool ok, const struct bench *b)
{
    if (!ok) {
        fprintf(stderr, "bench: %s\n", b->f.text);
        exit(1);
    }
}

static inline double now_ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

static inline uint64_t chance(struct bench *b, uint64_t below)
{
    b->random ^= b->random << 13;
    b->random ^= b->random >> 7;
    b->random ^= b->random << 17;
    return b->random % below;
}

static inline int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static inline void quantiles(double *times, size_t n, double out[2])
{
    qsort(times, n, sizeof *times, by_size);
    out[0] = times[n / 2];
    out[1] = times[n * 95 / 100];
}

/* ---- filling --------------------------------------------------------------------------------- */

/* Invented names out of syllables: some tens of thousands of surnames. */
static inline void surname(struct bench *b, char out[64])
{
    static const char *const syllables[] = {"bar", "ken", "lo",  "mit", "ross", "tan", "vel",
                                            "wyn", "dor", "ash", "ell", "fen",  "gar", "hol",
                                            "ing", "jor", "mar", "nor", "pel",  "quin"};
    out[0] = '\0';
    for (uint64_t i = 2 + chance(b, 3); i > 0; i--)
        strncat(out, syllables[chance(b, 20)], 8);
    out[0] = (char)(out[0] - 32);
}

/* The first is called Biscuit, so that the smallest practice has one to find. */
static inline const char *dog_name(struct bench *b, uint64_t number)
{
    static const char *const names[] = {"Biscuit", "Pepper",   "Juniper", "Waffles", "Clover",
                                        "Otis",    "Marzipan", "Ziggy",   "Hazel",   "Truffle",
                                        "Mó",      "Noodle",   "Pickle",  "Bramble", "Sorrel"};
    return names[number == 0 ? 0 : chance(b, 15)];
}

static inline struct entry_id put(struct bench *b, const char *entity, const char *item,
                                  const char *value, const char *author)
{
    struct entry_id id;
    struct edit e = {.kind = ENTRY_SET,
                     .entity = entity,
                     .item = item,
                     .value = value,
                     .author = author,
                     .reason = ""};
    must(journal_append(b->j, &e, &id, &b->f), b);
    return id;
}

static inline void finding(struct bench *b, const char *visit, int n, const char *author)
{
    static const char *const words[] = {"yes",
                                        "no",
                                        "normal",
                                        "grade 3",
                                        "left hind, mild",
                                        "not today",
                                        "walks with help",
                                        "skin whole, dry"};
    char item[32], value[64];
    snprintf(item, sizeof item, "visit.finding_%02d", n);
    if (n % 3 == 0)
        snprintf(value, sizeof value, "%" PRIu64 ".%" PRIu64 " mm", 60 + chance(b, 600),
                 chance(b, 10));
    else
        snprintf(value, sizeof value, "%s", words[chance(b, 8)]);
    struct entry_id id = put(b, visit, item, value, author);
    if (chance(b, 25) == 0) { /* four in a hundred are corrected */
        struct edit e = {.kind = ENTRY_SET,
                         .entity = visit,
                         .item = item,
                         .value = "measured again",
                         .author = author,
                         .reason = "slip",
                         .replaces = &id,
                         .replaces_count = 1};
        must(journal_append(b->j, &e, NULL, &b->f), b);
    }
}

static inline void fill_dog(struct bench *b, uint64_t number, const char *author)
{
    char dog[IDENT_ROOM], caregiver[IDENT_ROOM], visit[IDENT_ROOM], name[64], text[128];
    must(journal_entity_new(b->j, "dog", dog, &b->f), b);
    must(journal_entity_new(b->j, "caregiver", caregiver, &b->f), b);
    must(journal_entity_new(b->j, "visit", visit, &b->f), b);
    surname(b, name);
    snprintf(text, sizeof text, "Ada %s", name);
    put(b, caregiver, "caregiver.name", text, author);
    snprintf(text, sizeof text, "01632 %06" PRIu64, number % 1000000);
    put(b, caregiver, "caregiver.phone", text, author);
    surname(b, name);
    snprintf(text, sizeof text, "%" PRIu64 " %s Lane", 1 + chance(b, 90), name);
    put(b, caregiver, "caregiver.address", text, author);
    put(b, dog, "dog.name", dog_name(b, number), author);
    put(b, dog, "dog.caregiver", caregiver, author);
    put(b, dog, "dog.breed", "Dachshund", author);
    put(b, dog, "dog.sex", "female, spayed", author);
    put(b, visit, "visit.dog", dog, author);
    snprintf(text, sizeof text, "20%02d-%02d-%02dT10:00", (int)chance(b, 26),
             1 + (int)chance(b, 12), 1 + (int)chance(b, 28));
    put(b, visit, "visit.day", text, author);
    put(b, visit, "record.open", "no", author);
    for (int i = 0; i < FINDINGS; i++)
        finding(b, visit, i, author);
    if (b->kept < DOGS_KEPT && chance(b, 20) == 0)
        memcpy(b->dogs[b->kept++], visit, IDENT_ROOM);
}

/* `dogs` of them with their caregivers and two visits each; fifty entries a dog. */
static inline void fill(struct bench *b, uint64_t dogs)
{
    char author[IDENT_ROOM];
    must(journal_entity_new(b->j, "practitioner", author, &b->f), b);
    must(journal_begin(b->j, &b->f), b);
    put(b, author, "practitioner.name", "Ida Quill", author);
    put(b, author, "practitioner.initials", "IQ", author);
    for (uint64_t i = 0; i < dogs; i++) {
        fill_dog(b, i, author);
        if (i % 2000 == 1999) /* a write-ahead log of a few hundred megabytes helps nobody */
            must(journal_commit(b->j, &b->f) && journal_begin(b->j, &b->f), b);
    }
    must(journal_commit(b->j, &b->f), b);
    must(journal_setting_put(b->j, "practitioner", author, &b->f), b);
}

#endif
