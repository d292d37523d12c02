/* Where the records and the templates are, and opening them: the same for a command and for the
 * screens. */
#ifndef AMBLE_COMMAND_SETTING_H
#define AMBLE_COMMAND_SETTING_H

#include "base/fault.h"
#include "base/text.h"
#include "casebook/casebook.h"
#include <stdbool.h>
#include <stdint.h>

struct arena;

struct setting {
    const char *data;     /* folder of the journal: --data, AMBLE_DATA, $XDG_DATA_HOME/amble */
    const char *overlay;  /* the practice's templates: --config, AMBLE_TEMPLATES,
                             $XDG_CONFIG_HOME/amble; need not exist */
    const char *shipped;  /* the program's templates: --shipped, the folder config/ of the source
                             tree the program was built in, or where it was installed */
    const char *sysfs;    /* where disks are asked about: AMBLE_SYSFS, else /sys */
    int minute_ms;        /* how long a minute of the idle lock is: AMBLE_MINUTE, at most 60000 */
    uint64_t room_least;  /* megabytes free below which it is told: AMBLE_ROOM, else 200 */
    const char *initials; /* --as, or "" */
    bool read_only, help, version;

    struct arena *arena;     /* holds the above */
    struct journal *journal; /* after setting_open */
    struct template_set *set;
    struct text messages; /* what was wrong with the practice's templates, a line each; "" when
                             nothing: when not empty, the shipped templates alone are in use */
};

/* Read the program's own options, which stand before the command; `*first` is the index of the
 * command or argc. `s` needs setting_close whatever this returns. */
bool setting_read(struct setting *s, int argc, char **argv, int *first, struct fault *f);

/* Open journal and templates and join them in `cb`, with the person of --as, else who was last
 * here. With --read-only every write mode becomes JOURNAL_READ. Broken templates of the practice
 * are left out and told in `messages`; broken shipped ones are a fault. */
bool setting_open(struct setting *s, enum journal_mode mode, struct casebook *cb, struct fault *f);
/* The same for the screens, in two steps: the first paint needs of the templates only who the
 * practice is. Until setting_complete has read the rest, `cb` has no forms, measures or rules. */
bool setting_open_soon(struct setting *s, enum journal_mode mode, struct casebook *cb,
                       struct fault *f);
bool setting_complete(struct setting *s, struct casebook *cb, struct fault *f);
void setting_close(struct setting *s); /* both, and what setting_read took */

#endif
