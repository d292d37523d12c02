/* The casebook: records of dogs, caregivers, calls and visits, read through the practice's
 * templates.
 *
 * It joins journal/ (what was written), template/ (what may be asked) and calc/ (what follows), and
 * knows neither screens nor shell. Screens and commands both go through here, so that a visit typed
 * and a visit piped make the same record.
 *
 * What it hands out lives in the caller's arena. One casebook, one thread.
 */
#ifndef AMBLE_CASEBOOK_CASEBOOK_H
#define AMBLE_CASEBOOK_CASEBOOK_H

#include "base/fault.h"
#include "base/ident.h"
#include "journal/journal.h"
#include "template/template.h"

struct casebook {
    struct journal *journal;
    const struct template_set *set;
    char author[IDENT_ROOM]; /* the practitioner at the keys; "" before the first one is entered */
    unsigned open;           /* transactions begun here and not yet ended; start with 0 */
    bool spoilt;             /* an inner one was rolled back: the outermost cannot commit */
};

/* Several writes as one transaction; may nest: only the outermost pair reaches the journal, and it
 * cannot commit once an inner one was rolled back.
 * After a rollback the records in memory hold what never was: load them again. */
bool casebook_begin(struct casebook *cb, struct fault *f);
bool casebook_commit(struct casebook *cb, struct fault *f);
void casebook_rollback(struct casebook *cb);
/* The end of a sequence of writes: commit when `ok`, else roll back. Returns whether it is kept. */
bool casebook_end(struct casebook *cb, bool ok, struct fault *f);

/* ---- records -------------------------------------------------------------------------------- */

/* The current state of one item of one entity. More than one head with different values is a
 * conflict: `text` is the first, `others` the rest, and every place that shows it says so. */
struct finding {
    const char *item;
    const char *text;          /* canonical value; "" when entered in error */
    const char *const *others; /* further values in conflict, and who wrote each */
    const char *const *other_authors;
    size_t other_count;
    const struct entry_id *heads; /* what was shown: an edit replaces exactly these */
    const bool *after;            /* which of them were written after the entity was signed */
    size_t head_count;
    const char *author; /* practitioner uuid */
    const char *reason; /* in words: reason_words of what was given */
    int64_t claimed_at;
    bool in_error;
    bool amended; /* any of them was written after the entity was signed */
};

struct record {
    const char *entity;       /* uuid */
    const char *kind;         /* "dog" ... */
    struct finding *findings; /* sorted by item */
    size_t count, room;
    struct arena *arena; /* where they live */
};

/* Everything current about one entity. FAULT_MISSING when there is none. An entity that was only
 * just made loads as empty. */
bool record_load(struct casebook *cb, struct arena *a, const char *entity, struct record *out,
                 struct fault *f);
/* A new, still empty entity. On disk with its first finding. */
bool record_new(struct casebook *cb, struct arena *a, const char *kind, struct record *out,
                struct fault *f);
const struct finding *record_find(const struct record *r, const char *item); /* NULL: never asked */
const char *record_text(const struct record *r, const char *item); /* "" when none or in error */
/* The same for headings and lists, where a conflict has no mark beside it: "Pip or Pippa". */
const char *record_said(const struct record *r, const char *item);
/* What stands beside a finding wherever it is shown or printed, in `a`: "after signing, by IV: read
 * again", "entered in error, by IV: the other leg", "CONFLICT: 22.8 cm by MK, or 24.0 cm by IV"; ""
 * when there is nothing to say. */
const char *finding_mark(struct casebook *cb, struct arena *a, const struct finding *f);

/* Write one finding and, on success, the record in memory too. Replaces exactly the heads the
 * record shows. Writing the value that already stands alone is no entry. `reason` may be "" for a
 * first value; changing a signed record's value needs one (FAULT_REFUSED says so). */
bool record_put(struct casebook *cb, struct record *r, const char *item, const char *canonical,
                const char *reason, struct fault *f);
/* "Entered in error", with its reason. */
bool record_strike(struct casebook *cb, struct record *r, const char *item, const char *reason,
                   struct fault *f);
/* Undo this author's last entry on this device: an entry that restores what it replaced (or strikes
 * it, when it replaced nothing). Once more undoes the one before. `*entity` and `*item` (in `a`)
 * tell what changed. FAULT_MISSING when there is nothing to undo, FAULT_REFUSED when somebody has
 * written over it since. */
bool casebook_undo(struct casebook *cb, struct arena *a, const char **entity, const char **item,
                   struct fault *f);
/* A kept reason for a person: of an undo, which names an entry, "taken back". */
const char *reason_words(const char *reason);
bool record_signed(const struct record *r); /* a sign-off stands */
/* Sign the record: an entry over the hash of its heads. FAULT_REFUSED while nobody is named at the
 * keys. Signing what is signed and unchanged is no entry. */
bool record_sign(struct casebook *cb, struct record *r, struct fault *f);

/* ---- people at the keys --------------------------------------------------------------------- */

struct practitioner {
    const char *entity, *name, *initials;
};
bool practitioners(struct casebook *cb, struct arena *a, const struct practitioner **out,
                   size_t *count, struct fault *f);
/* Initials of an author for display, "?" when unknown. */
const char *author_initials(struct casebook *cb, struct arena *a, const char *author);
/* Be this practitioner from now on (remembered on this device). */
bool casebook_become(struct casebook *cb, const char *practitioner, struct fault *f);
/* Set cb->author to who was last here, if anybody. */
void casebook_wake(struct casebook *cb);

/* ---- answers: what a person types against what is kept -------------------------------------- */

/* Read what was typed for an item: canonical value in `a`, or a fault that says what is expected.
 * "" reads as "" (no answer). Choices may be typed as label, id, number from 1 (unless
 * they are numbers themselves, as grades are) or unambiguous start; yesno as y, n, u (or ?); many
 * as labels or ids with commas. Lengths keep the precision typed and become mm, masses kg. */
bool answer_read(const struct template_set *set, const struct item *item, const char *typed,
                 int64_t now, struct arena *a, const char **canonical, struct fault *f);
/* A canonical value for a person: label, unit of the practice, day in words. */
const char *answer_show(const struct template_set *set, const struct item *item,
                        const char *canonical, struct arena *a);
/* The same, ready to be edited again (answer_read of it gives the same canonical value). */
const char *answer_edit(const struct template_set *set, const struct item *item,
                        const char *canonical, struct arena *a);

/* The question an id stands for: an item of a form, or of what holds a record together when no form
 * of the practice asks for it (dog.name, call.outcome, ...). `*about` is the kind of record it is
 * kept in. NULL when nothing has that id. */
const struct item *casebook_item(const struct template_set *set, const char *id,
                                 const char **about);
/* Any finding for a person, whatever it is: an answer, a reading, a taught point, the support. */
const char *finding_label(const struct template_set *set, const char *item, struct arena *a);
/* It only binds records to one another: nothing that a person reads. */
bool finding_binds(const char *item);
const char *finding_show(const struct template_set *set, const char *item, const char *canonical,
                         struct arena *a);

/* ---- a chart: one dog with all that bears on one visit -------------------------------------- */

struct deciding;
struct chart {
    struct casebook *cb;
    struct arena *arena;
    struct record dog, caregiver, call, visit; /* .entity NULL where there is none */
    struct ids family;                         /* the dog, and records that were joined with it */
    struct record practitioner;                /* only of a chart loaded from one */
    struct record equipment;                   /* likewise */
    struct record before;                      /* the visit before this one */
    const struct record *earlier;              /* all before it, oldest first; what they found */
    size_t earlier_count;                      /* still speaks in rules (casebook/because.h) */
    const char *const *visits;                 /* the dog's visits, oldest first */
    size_t visit_count;
    int64_t now;
    /* What the rules say of the supports when that is worked out already, as deciding_look does
     * from this very chart; NULL: it is not. */
    const struct deciding *decided;
    const char *reason; /* why what is put next changes a signed record; NULL when there is none */
};

/* What is worked out from a chart (facts, triage_judge, measuring_look, fitting_look, ...) is put
 * into chart->arena. Where that happens on every key, give a copy of the chart an arena that is
 * reset. */

/* From the uuid of a visit, a call, a dog or a caregiver, whatever belongs to it. For a dog: its
 * latest visit and call; for a caregiver: the dog, when there is only one. What is referred to but
 * has not reached this device is left out. */
bool chart_load(struct casebook *cb, struct arena *a, const char *entity, struct chart *out,
                struct fault *f);
/* The chart's visit `i` where it was read with it, NULL where it was not: those after its visit. */
const struct record *chart_visit(const struct chart *c, size_t i);
/* All findings of the chart and the derived facts, for conditions. An item is looked for in the
 * visit, then dog, caregiver, call; then the measures (the value used, under the measure's id) and
 * the derived facts. Values live as long as the chart. */
struct facts chart_facts(const struct chart *c);
const char *chart_fact(const struct chart *c, const char *item); /* NULL when not known */
/* The record an item of a form is kept in: by the form's `about`. NULL when the chart has none. */
struct record *chart_record(struct chart *c, const char *about);
/* The record in which something was once entered for the item; NULL when there is none. */
const struct record *chart_holder(const struct chart *c, const char *item);
/* "Dachshund, 6 y, 9.4 kg" from what is known, "" when nothing is; "9.4 kg or 9.6 kg" while two
 * stand. */
const char *chart_signalment(const struct chart *c);
/* The same on a sheet in another language: "Dachshund, 6 años, 9,4 kg". The breed stays as typed.
 */
const char *chart_signalment_in(const struct chart *c, const char *language);

/* Making things: a call in the middle of which nothing else exists; who called and about which dog
 * become records of their own when a visit is booked. */
bool call_new(struct casebook *cb, struct arena *a, struct chart *out, struct fault *f);
/* Make dog and caregiver from the call's answers (items call.dog_name, call.caregiver_name, ...)
 * unless it names existing ones, and a visit on `day` (canonical date or time). The chart is then
 * the visit's. One transaction. FAULT_REFUSED when the answers make it an emergency and the item
 * call.override does not say why a visit is booked all the same. */
bool call_book(struct chart *c, const char *day, struct fault *f);
/* A visit for a dog that is known. */
bool visit_new(struct casebook *cb, struct arena *a, const char *dog, const char *day,
               struct chart *out, struct fault *f);

/* ---- forms ---------------------------------------------------------------------------------- */

/* Asked now, needed now. */
bool item_shown(const struct chart *c, const struct item *i);
bool item_required(const struct chart *c, const struct item *i);

enum progress { PROGRESS_NOT_ASKED, PROGRESS_BEGUN, PROGRESS_NEEDED, PROGRESS_DONE };
struct section_state {
    enum progress progress;          /* NEEDED: begun, but something required is missing */
    size_t answered, shown, missing; /* missing: required and not answered */
    const char *summary;             /* one line for the visit's page */
    const char *open; /* labels without an answer, what is needed first; NULL: none */
};
struct section_state form_state(const struct chart *c, const struct form *form);
const char *progress_word(enum progress p); /* "not asked", "begun", "needed", "done" */

#endif
