/* The profile photograph beside the numbers: which file, whether it is still that file, what it
 * shows. The record keeps its name, SHA-256, size and time; a copy under that hash lies in the
 * folder "photos" beside the record and travels with it, whatever becomes of the file. */
#ifndef AMBLE_CASEBOOK_PHOTO_H
#define AMBLE_CASEBOOK_PHOTO_H

#include "casebook/casebook.h"

enum { PHOTO_BYTES_MOST = 256 << 20 };

struct photo_file {
    char sha256[65];
    long long bytes;
    int64_t taken; /* when the file was last written, ms */
};
/* Read the file once. FAULT_MISSING when it is not there, FAULT_INPUT when it is no file,
 * FAULT_LIMIT when larger than PHOTO_BYTES_MOST. */
bool photo_read(const char *path, struct photo_file *out, struct fault *f);

/* Where the photograph is: the copy, once there is one; else as it was written (~ is the home
 * folder), else under that name in the folder "photos". In the chart's arena; "" when none is
 * named. */
const char *photo_path(const struct chart *c);
/* After the name was answered: copy the file and record its hash, size and time, or take those of
 * another file back. True also when there is nothing to do; a file that cannot be read or copied is
 * a fault and leaves its name standing. */
bool photo_keep(struct chart *c, struct fault *f);

enum photo_state {
    PHOTO_NONE,      /* none is named */
    PHOTO_UNSEEN,    /* named, never read */
    PHOTO_GONE,      /* recorded, not to be found now */
    PHOTO_OTHER,     /* a file is there that is not the one recorded */
    PHOTO_UNCHANGED, /* the one recorded */
};
enum photo_state photo_look(const struct chart *c);
const char *photo_state_words(enum photo_state s);

/* What the reading typed from the photograph says of the withers height entered, with the error to
 * expect from where the lens stood; "" when one of the two is missing. In the chart's arena. */
const char *photo_compare_words(const struct chart *c);
/* The error to expect, in words; "" when distance, lens height or withers height is missing. */
const char *photo_parallax_words(const struct chart *c);

#endif
