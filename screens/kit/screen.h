/* A screen, and the stack of them.
 *
 * Work with data happens in open, press and refresh; draw only draws what they left. A screen lives
 * in its own arena and goes with it.
 */
#ifndef AMBLE_KIT_SCREEN_H
#define AMBLE_KIT_SCREEN_H

#include "base/arena.h"
#include "base/clock.h"
#include "casebook/casebook.h"
#include "screens/kit/draw.h"
#include "screens/kit/term.h"

struct app;
struct screen;

/* One row declares a key: what it does in the footer, the help and the manual. */
struct key_help {
    const char *key;        /* "Enter", "^Q", "x" */
    const char *short_name; /* in the key line: "next" */
    const char *help;       /* in the help: one sentence */
    bool footer;            /* shown in the key line */
};

struct screen_class {
    const char *name;            /* "Measures": on the context line and the help's title */
    const char *help;            /* what the screen is for, one or two sentences */
    const struct key_help *keys; /* ends with a NULL key; common keys are added by the kit */
    /* Read what the screen shows. False with a fault: the screen is not opened. */
    bool (*open)(struct screen *s, struct fault *f);
    /* Draw rows 1 .. term_rows() - 3; row 0 is the context line, the last two the message and the
     * keys, drawn by the kit. Must place the cursor. */
    void (*draw)(struct screen *s);
    /* True when the press was taken; the kit handles what is left (help, back, sizes). */
    bool (*press)(struct screen *s, const struct press *p);
    /* Data may have changed under it (a screen above was left): read again. May be NULL. */
    void (*refresh)(struct screen *s);
    /* About to be left: save the field. False keeps it open (the fault is shown). May be NULL. */
    bool (*leave)(struct screen *s, struct fault *f);
    /* Keep what is being typed and not yet left in the draft table; called after each key that
     * changed text, once it is painted. May be NULL. */
    void (*draft)(struct screen *s);
    void (*close)(struct screen *s); /* free what is not in the arena; may be NULL */
    /* What it shows follows from the record, the templates, who is at the keys and the day alone:
     * when a screen above is left it is only read again if one of them is another. */
    bool of_record;
};

struct screen {
    const struct screen_class *class;
    struct app *app;
    struct arena *arena;
    const char *title;   /* right of the context line, instead of the class's name; or NULL */
    const char *subject; /* left of the context line: "Biscuit  Dachshund, 6 y, 9.4 kg" */
    const char *middle;  /* "visit 1, Tue 24 Nov" */
    const char *about;   /* uuid of the record it is about, or that is under the cursor: h and F2
                            show its findings and their history; or NULL */
    struct seen {        /* when it was read last */
        struct journal_state record;
        const struct template_set *set;
        char author[IDENT_ROOM];
        day_number day;
    } seen;
    bool typing; /* letters are text now: single-letter keys are not commands */
    void *state;
};

enum { APP_SCREENS = 16 }; /* open above each other, at most */
struct app {
    struct casebook *cb;
    struct screen *stack[APP_SCREENS];
    int depth;
    bool quit;
    char message[512]; /* above the keys, wrapped; cleared by the next press */
    enum look message_look;
    char status[48]; /* at the right of the key line, on every screen: "read only" */
    bool late;   /* the disk takes long to keep what was entered, and status gives way to that */
    bool unkept; /* it could not, and that was told */
    void (*standing)(struct app *a); /* before each paint: brings status up to date, may add to the
                                        message; must be quick; may be NULL */
    uint64_t looked_at;              /* what it saw last: journal_writes and one more; 0: nothing */
    bool nearly_full;                /* and the disk was so */
    int minute_ms;                   /* 60000, or less to try what waits for minutes */
    int idle_ms;                     /* without a key for so long: idle is called; 0: never */
    void (*idle)(struct app *a);     /* may set quit; NULL with idle_ms 0 */
    void (*who)(struct app *a);      /* ^Y: another practitioner; may be NULL */
    const char *broken_templates; /* report of the last failed load: the last good set is in use */
    const char *data_folder, *shipped_templates, *overlay_templates;
    const char *sysfs;   /* where disks are asked about */
    uint64_t room_least; /* megabytes free below which it is said that the disk is nearly full */
};

/* The keys every screen has; ends with a NULL key. */
const struct key_help *screen_common_keys(void);

/* Run until quit: draws, keeps what is being typed, waits without wake-ups, dispatches. */
void app_run(struct app *a);
/* Open on top. `state` is kept as screen->state. On failure the message says why and nothing opens.
 */
bool screen_open(struct app *a, const struct screen_class *c, struct arena *arena, void *state);
void app_refresh(struct app *a); /* the top screen reads again what it shows */
void app_paint(struct app *a);   /* now, before anything is pressed */
void screen_back(struct app *a); /* leave the top one, if it agrees: its memory is gone then */
/* Run until the screen that is now on top has been left: a question that needs a whole screen. */
void screen_run_top(struct app *a);
void app_say(struct app *a, enum look look, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void app_fault(struct app *a, const struct fault *f);

#endif
