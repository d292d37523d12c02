/* Between feed.c, which reads lines and findings, and feed_say.c, which knows the statements. */
#ifndef AMBLE_CASEBOOK_FEED_INSIDE_H
#define AMBLE_CASEBOOK_FEED_INSIDE_H

#include "casebook/feed.h"

/* Where the reading stands. */
struct feed {
    struct casebook *cb;
    struct arena *arena;
    const char *source;
    const char *next, *end; /* what is still to be read */
    size_t line;            /* number of the line below */
    const char *text;       /* the line, without its end */
    struct text *said;
    struct fed *out;
    struct chart chart;
    const char *entity; /* what the chart is of; NULL before anything was started */
    bool astray;        /* a start failed: that nothing is open is not said once more */
    const char *reason; /* for changes of what is signed */
    const struct feed_how *how;
    struct fault broken; /* the journal itself failed: nothing more is read */
};

struct feed_statement {
    const char *word;
    bool (*say)(struct feed *d, const char *at); /* `at`: what follows the word */
    bool starts;                                 /* what follows goes to another record */
};
extern const struct feed_statement feed_statements[];
extern const size_t feed_statement_count;

/* Say what is wrong at a place in the line. Always false. */
bool feed_complain(struct feed *d, const char *at, const char *what);
/* What a lower room refused belongs to the line; what broke ends the reading. Always false. */
bool feed_complain_of(struct feed *d, const char *at, const struct fault *f);
/* `what` "word" is not known; did you mean the nearest of `n` names? Always false. */
bool feed_unknown(struct feed *d, const char *at, const char *what, const char *word,
                  const char *const *names, size_t n);
/* True, and said unless a failed start was, when no visit is open. */
bool feed_no_visit(struct feed *d);

const char *feed_skip(const char *s);                 /* past blanks */
size_t feed_word_length(const char *s);               /* up to a blank, =, : or < */
const char *feed_rest(struct feed *d, const char *s); /* without blanks at its end */

#endif
