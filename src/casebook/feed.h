/* A visit as lines of text: what `amble enter` reads, and the demo practice is made of.
 *
 *   # a comment; blank lines are passed over
 *   practitioner MK Mara Kell        be this practitioner; made when the initials are new
 *   call                             a new call; what follows is kept in it
 *   book tomorrow 14:00              book a visit from the call, as the screen does
 *   caregiver Ann Petrie             the caregiver of that name, made when there is none
 *   dog Biscuit                      the dog of that name (of that caregiver), made likewise
 *   visit 24 Nov                     the dog's visit of that day, made likewise
 *   reason misread the scale         why what follows changes a signed record; alone: no reason
 *   ITEM = VALUE                     an answer as a person would type it; also ITEM: VALUE
 *   ITEM <<                          a note of several lines, up to a line that is
 *   >>                               just this
 *   hip_width.1 = 13.1               a reading, in the practice's unit when none is written
 *   hip_width = 13.1, 13.2           both at once (a comma and a blank, or a semicolon, between)
 *   hip_width.so = yes               looked at again, it is so
 *   support rear_level [because REASON]
 *   axle 340 mm                      the frame's position nearest to it
 *   teach bladder.blood done_back    told, shown or done_back
 *   handout [care]                   hand over the care sheet: its text is kept as it is now
 *   sign                             sign the visit; what is due next is noted on the dog. Again
 *                                    after an amendment
 *   close                            close the case of the dog that is meant: nothing is due then
 *   equipment Blue frame             the practice's frame of that name, made likewise
 *   lend Blue frame [until DAY]      it goes out with the dog that is meant
 *   at -40 10:00                     only in an invented practice: what follows was written then;
 *                                    a visit that is past says so of itself
 *
 * All of it goes through answer_read, record_put and the rest, so that what a screen refuses is
 * refused here, and a visit typed and a visit piped make the same record.
 */
#ifndef AMBLE_CASEBOOK_FEED_H
#define AMBLE_CASEBOOK_FEED_H

#include "casebook/casebook.h"

struct text;

enum { FEED_COMPLAINTS_MOST = 20 };

struct fed {
    const char *entity; /* the visit, call, dog or caregiver written last, in the arena; or NULL */
    size_t findings;    /* lines that were findings */
    size_t complaints;  /* lines in `said`, and more when it ends with "and more" */
};

struct feed_how {
    bool invented; /* a demo: entries claim the time of their visit, not the clock's */
    /* What `handout` does: it belongs to a higher room. NULL: the line is refused. */
    bool (*hand_over)(struct chart *c, const char *sheet, struct fault *f);
};

/* Read `n` bytes and write what they say in one transaction: all of it, or nothing when any line
 * cannot be used. Then *said has a line for each, at most FEED_COMPLAINTS_MOST:
 * "visit.txt:12:9: ...", columns counted in characters from 1, with the nearest right word for a
 * misspelt one; the fault (FAULT_INPUT) sums up. Other faults are the journal's own. `how` may be
 * NULL. */
bool feed_read(struct casebook *cb, struct arena *a, const char *source, const char *bytes,
               size_t n, const struct feed_how *how, struct text *said, struct fed *out,
               struct fault *f);

#endif
