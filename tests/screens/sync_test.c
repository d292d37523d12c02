/* Two people's evening: their records meet over a stick, they answered one question differently,
 * and one of them decides. Played on the screens, small and large. */
#include "tests/screens/visit_kit.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

struct evening {
    struct practice *mara, *jo; /* Mara's is the base */
    char stick[96];
};

static void golden(struct tty *t, const char *screen, bool large)
{
    char name[64];
    snprintf(name, sizeof name, "sync_%s_%s", screen, large ? "132" : "80");
    tty_wait_still(t);
    tty_golden(t, name);
}

static struct tty *open_at(struct practice *p, bool large, const char *extra)
{
    struct tty *t = practice_open(
        p, (struct stage){
               .rows = large ? 43 : 24, .cols = large ? 132 : 80, .extra = extra, .inside = true});
    tty_wait_text(t, "p practice");
    return t;
}

static void say(struct practice *p, const char *format, const char *word)
{
    char words[256];
    snprintf(words, sizeof words, format, word);
    free(practice_says(p, words));
}

/* The numbers on the last line of what was said, as --fingerprint wants them without blanks. */
static void numbers(struct practice *p, const char *words, char out[48])
{
    char *said = practice_says(p, words), *last = said + strlen(said) - 1;
    while (last > said && last[-1] != '\n')
        last--;
    for (; *last != '\0'; last++)
        if (*last >= '0' && *last <= '9')
            *out++ = *last;
    *out = '\0';
    free(said);
}

static void enrol(struct evening *e)
{
    char words[256], print[48], letter[112];
    snprintf(letter, sizeof letter, "%s/jo.txt", e->stick);
    say(e->mara, "base --name %s", "office");
    snprintf(words, sizeof words, "device request %s --name Jo's-laptop", letter);
    numbers(e->jo, words, print);
    snprintf(words, sizeof words, "device admit %s --fingerprint %s", letter, print);
    numbers(e->mara, words, print);
    snprintf(words, sizeof words, "device join %s.reply --fingerprint %s", letter, print);
    free(practice_says(e->jo, words));
    say(e->mara, "sync %s", e->stick);
    say(e->jo, "sync %s", e->stick);
}

static int begin(void **state)
{
    struct evening *e = calloc(1, sizeof *e);
    char path[128];
    void *made;
    assert_non_null(e);
    practice_setup_demo(&made);
    e->mara = made;
    practice_setup(&made);
    e->jo = made;
    snprintf(e->stick, sizeof e->stick, "%s/stick", e->mara->folder);
    assert_int_equal(mkdir(e->stick, 0700), 0);
    snprintf(path, sizeof path, "%s/stick", e->jo->folder);
    assert_int_equal(symlink(e->stick, path), 0);
    enrol(e);
    *state = e;
    return 0;
}

static int end(void **state)
{
    struct evening *e = *state;
    void *p = e->mara;
    practice_teardown(&p);
    p = e->jo;
    practice_teardown(&p);
    free(e);
    return 0;
}

/* Both saw Juno today; neither saw what the other wrote. Jo wrote more, and so later. */
static void both_write(struct evening *e)
{
    practice_feed(e->mara, "tests/screens/sync_mara.txt");
    practice_feed(e->jo, "tests/screens/sync_jo.txt");
    say(e->jo, "sync %s", e->stick);
}

static void exchange(struct tty *t)
{
    tty_keys(t, "s");
    tty_wait_text(t, "to send");
    tty_keys(t, "o");
    answer_line(t, "With which folder", "stick");
    tty_keys(t, "s");
    tty_wait_text(t, "the stick may be pulled");
}

static void where_it_shows(struct practice *p)
{
    static const char *const both[] = {"CONFLICT Last known weight: 19.8 kg or 19.1 kg",
                                       "CONFLICT Open, scalded or blistered: groin or inner thigh",
                                       "CONFLICT Hip width, reading 1: 13.3 cm or 14.3 cm"};
    static const char *const outputs[] = {"show Juno", "paper record Juno"};
    for (size_t i = 0; i < sizeof outputs / sizeof *outputs; i++) {
        char *said = practice_says(p, outputs[i]);
        for (size_t k = 0; k < sizeof both / sizeof *both; k++)
            if (strstr(said, both[k]) == NULL)
                fail_msg("amble %s does not say \"%s\": %s", outputs[i], both[k], said);
        free(said);
    }
    char *json = practice_says(p, "show Juno --json");
    assert_non_null(strstr(json, "\"conflict\": true"));
    assert_non_null(strstr(json, "\"19.1 kg\""));
    assert_non_null(strstr(json, "\"19.8 kg\""));
    free(json);
}

static void settled(struct practice *p)
{
    char *said = practice_says(p, "show Juno");
    if (strstr(said, "CONFLICT") != NULL)
        fail_msg("still in conflict: %s", said);
    assert_non_null(strstr(said, "13.6"));
    assert_non_null(strstr(said, "because: weighed"));
    free(said);
}

static void decide(struct tty *t, const char *row, const char *key, const char *because)
{
    go_to_row(t, row);
    tty_keys(t, key);
    answer_line(t, "because:", because);
    tty_wait_text(t, "settled; the others learn of it");
}

static void an_evening(void **state, bool large)
{
    struct evening *e = *state;
    both_write(e);
    struct tty *t = open_at(e->mara, large, NULL);
    exchange(t);
    golden(t, "done", large);
    say(e->jo, "sync %s", e->stick);
    where_it_shows(e->jo);
    tty_keys(t, "x");
    tty_wait_text(t, "to settle");
    golden(t, "conflicts", large);
    /* A blank is no reason. */
    tty_keys(t, "1");
    answer_line(t, "because:", " ");
    tty_wait_text(t, "Nothing was decided: a reason is needed");
    tty_keys(t, "2");
    tty_wait_text(t, "because:");
    golden(t, "because", large);
    tty_keys(t, "^Q");
    decide(t, "Last known weight", "2", "weighed again at the desk");
    decide(t, "Open, scalded", "1", "seen by both in good light");
    go_to_row(t, "Hip width");
    tty_keys(t, "w");
    answer_line(t, "what is right?", "13.6");
    answer_line(t, "because:", "measured once more by both");
    tty_wait_text(t, "settled; the others learn of it");
    decide(t, "Body condition", "2", "felt once more, together"); /* the demo's own two */
    decide(t, "Weight, reading 1", "1", "the scale stood on carpet for the other");
    tty_wait_text(t, "Nothing is in conflict.");
    golden(t, "settled", large);
    tty_keys(t, "^Q");
    tty_wait_text(t, "stick");
    tty_keys(t, "s");
    tty_wait_text(t, "the stick may be pulled");
    practice_leave(e->mara);
    say(e->jo, "sync %s", e->stick);
    settled(e->mara);
    settled(e->jo);
}

static void an_evening_small(void **state)
{
    an_evening(state, false);
}
static void an_evening_large(void **state)
{
    an_evening(state, true);
}

/* On Today, on the dog, in the section where it was asked, and its story. */
static void shown_where_it_was_asked(void **state)
{
    struct evening *e = *state;
    both_write(e);
    say(e->mara, "sync %s", e->stick);
    struct tty *t = open_at(e->mara, true, NULL);
    tty_wait_text(t, "Conflicts");
    go_to_row(t, "Juno");
    tty_keys(t, "Enter");
    tty_wait_text(t, "s sign");
    tty_wait_text(t, "1 in CONFLICT; ");
    go_to_row(t, "Examination");
    tty_keys(t, "Enter");
    tty_wait_gone(t, "s sign");
    go_to_row(t, "Open, scalded");
    tty_wait_text(t, "# two answers, written apart");
    tty_wait_text(t, "by MK: Enter chooses");
    tty_wait_text(t, "or none, by JB");
    golden(t, "asked", true);
    tty_keys(t, "^Q");
    tty_wait_text(t, "s sign");
    go_to_row(t, "Measures");
    tty_keys(t, "Enter");
    tty_wait_text(t, "1st CONFLICT: 13.3 cm by MK, or 14.3 cm by JB");
    tty_keys(t, "^Q ^Q");
    tty_wait_text(t, "p practice");
    tty_keys(t, "x");
    tty_wait_text(t, "to settle");
    go_to_row(t, "Hip width");
    tty_keys(t, "h");
    tty_wait_text(t, "Hip width, reading 1");
    tty_wait_text(t, "13.3 cm");
    tty_wait_text(t, "14.3 cm");
    practice_leave(e->mara);
    char *record = practice_says(e->mara, "paper record Juno");
    assert_non_null(strstr(record, "one answer: 13.3 cm  [MK"));
    assert_non_null(strstr(record, "another: 14.3 cm  [JB"));
    free(record);
}

static void dog_of(struct tty *t, const char *name)
{
    tty_keys(t, "f");
    tty_wait_text(t, "Find");
    tty_type(t, name);
    tty_wait_text(t, name);
    tty_wait_still(t);
    tty_keys(t, "Enter");
    tty_wait_text(t, "v new visit");
}

/* The dog's page, and what is made of its heading: never one weight of two, nor their mean. */
static void both_weights_stand_in_the_heading(void **state)
{
    struct evening *e = *state;
    both_write(e);
    say(e->mara, "sync %s", e->stick);
    struct tty *t = open_at(e->mara, false, NULL);
    dog_of(t, "Pip"); /* two at the scale */
    tty_wait_text(t, "5 mo, 4.5 kg or 4.7 kg");
    golden(t, "dog", false);
    tty_keys(t, "^Q ^Q");
    tty_wait_text(t, "p practice");
    dog_of(t, "Juno"); /* last known; she was weighed at a visit since, so not in the heading */
    tty_wait_text(t, "none -> CONFLICT: groin");
    go_to_row(t, "dog ");
    tty_keys(t, "Enter");
    tty_wait_text(t, "19.8 kg");
    tty_wait_text(t, "19.1 kg, by JB");
    practice_leave(e->mara);
    static const char *const outputs[] = {"list dogs", "sheet Pip", "paper record Pip"};
    for (size_t i = 0; i < sizeof outputs / sizeof *outputs; i++) {
        char *said = practice_says(e->mara, outputs[i]);
        if (strstr(said, "4.5 kg or 4.7 kg") == NULL || strstr(said, "4.6 kg") != NULL)
            fail_msg("amble %s does not say both weights: %s", outputs[i], said);
        free(said);
    }
}

static void far_end(struct evening *e, const char *script, char path[160])
{
    char name[128];
    snprintf(name, sizeof name, "%s/bin", e->jo->folder);
    mkdir(name, 0700);
    snprintf(name, sizeof name, "%s/bin/ssh", e->jo->folder);
    FILE *out = fopen(name, "w");
    assert_non_null(out);
    fputs(script, out);
    fclose(out);
    assert_int_equal(chmod(name, 0755), 0);
    snprintf(path, 160, "PATH=%s/bin:/usr/bin:/bin", e->jo->folder);
}

/* A line that says nothing: told by the second, and left at once. */
static void a_silent_line_is_told_and_left(void **state)
{
    struct evening *e = *state;
    char path[160];
    far_end(e, "#!/bin/sh\nexec sleep 300\n", path);
    practice_feed(e->jo, "tests/screens/sync_jo.txt");
    struct tty *t = open_at(e->jo, false, path);
    tty_keys(t, "s");
    tty_wait_text(t, "to send");
    tty_keys(t, "o");
    answer_line(t, "With which folder", "ssh://vet@office/");
    tty_keys(t, "s");
    tty_wait_text(t, "waiting for the other side, 1 of 120 seconds; ^C stops");
    tty_keys(t, "^C");
    tty_wait_text(t, "Stopped; what came is kept");
    golden(t, "stopped", false);
    practice_leave(e->jo);
}

/* The base is open on its screens: a laptop that comes while it stands by is served. */
static void the_base_stands_by(void **state)
{
    struct evening *e = *state;
    char path[160], script[4096 + 512], program[4096];
    int status;
    assert_non_null(realpath(AMBLE_PROGRAM, program));
    snprintf(script, sizeof script,
             "#!/bin/sh\nwhile [ \"$1\" != amble ]; do shift; done; shift\n"
             "XDG_STATE_HOME=%s/state HOME=%s exec %s --data %s/records \"$@\"\n",
             e->mara->folder, e->mara->folder, program, e->mara->folder);
    far_end(e, script, path);
    practice_feed(e->jo, "tests/screens/sync_jo.txt");
    struct tty *t = open_at(e->mara, false, NULL);
    tty_keys(t, "s");
    tty_wait_text(t, "to send");
    tty_keys(t, "w");
    tty_wait_text(t, "Standing by for the laptops");
    golden(t, "standby", false);
    const char *before = getenv("PATH");
    char kept[4096];
    snprintf(kept, sizeof kept, "%s", before ? before : "");
    setenv("PATH", path + strlen("PATH="), 1);
    char *said = practice_shell(e->jo, "sync ssh://vet@office/", NULL, &status);
    setenv("PATH", kept, 1);
    if (status != 0)
        fail_msg("not served: %s", said);
    free(said);
    tty_keys(t, "q"); /* any key; it does no more than that */
    tty_wait_text(t, "s exchange");
    practice_leave(e->mara);
    said = practice_says(e->mara, "show Juno");
    assert_non_null(strstr(said, "19.1 kg"));
    free(said);
}

/* ---- hostile text ---- */

/* The layout holds: what it is in the first row, the keys in the last. */
static bool framed(struct tty *t, const void *of)
{
    char *dump = tty_dump(t), *cursor = strstr(dump, "\ncursor "), *last;
    *cursor = '\0';
    last = strrchr(dump, '\n') + 1;
    dump[strcspn(dump, "\n")] = '\0';
    size_t n = strlen(dump), title = strlen(of);
    bool holds = n > title && strcmp(dump + n - title, of) == 0 && strstr(last, "keys") != NULL;
    free(dump);
    return holds;
}

/* That screen is shown as it should be, a hostile name on it, and nothing of the record has acted
 * up to here: the program itself sends none of these. */
static void unharmed(struct tty *t, const char *screen)
{
    static const char *const acting[] = {"\033]0;owned", "owned\a",      "\xc2\x9b",
                                         "\xe2\x80\xae", "\xe2\x81\xa6", "\033[?9h"};
    tty_wait_that(t, framed, screen, screen);
    tty_wait_text(t, "<U+001B>");
    tty_wait_still(t);
    for (size_t i = 0; i < sizeof acting / sizeof *acting; i++)
        if (tty_sent(t, acting[i]))
            fail_msg("%s: what a record says reached the terminal (%zu)", screen, i);
}

#define HOSTILE                                                                                    \
    "\033]0;owned\a\xc2\x9b"                                                                       \
    "5m\xe2\x80\xae\xe2\x81\xa6\033[?9h"

static void writes(struct practice *p, const char *lines)
{
    char path[128];
    practice_write(p, "hostile.txt", lines);
    snprintf(path, sizeof path, "%s/hostile.txt", p->folder);
    practice_feed(p, path);
}

/* Mara enters a dog, Jo's answer about it comes by a bundle, and Bruno, who was seen nine times, is
 * renamed with all that is named beside him: caregiver, vet, frame. */
static void hostile_practice(struct evening *e)
{
    writes(e->mara,
           "practitioner MK Mara Kell\ncaregiver Nora " HOSTILE "\ncaregiver.phone = " HOSTILE
           "\ncaregiver.address = " HOSTILE "\ndog Zed" HOSTILE "\ndog.caregiver = Nora " HOSTILE
           "\ndog.breed = " HOSTILE "\nvisit today 08:00\nhip_width = 13.1, 13.2\n"
           "call\ncall.phone = 01632 960777\ncall.caregiver_name = Zoe" HOSTILE
           "\ncall.dog_name = Zak" HOSTILE "\ncall.address = " HOSTILE "\n");
    writes(e->mara, "practitioner ZZ Zora " HOSTILE "\nequipment Zinc " HOSTILE
                    "\nequipment.frame = rear_stepped\nequipment.with = " HOSTILE
                    "\nequipment.state = out\ncaregiver Lucía Ferrer\ncaregiver.name = Lu" HOSTILE
                    "\ndog Bruno\ndog.breed = Boxer " HOSTILE "\ndog.vet_of_record = " HOSTILE
                    "\ndog.cautions = " HOSTILE "\ndog.name = Bruno " HOSTILE "\n");
    say(e->mara, "sync %s", e->stick);
    say(e->jo, "sync %s", e->stick);
    writes(e->mara, "practitioner MK Mara Kell\ndog Zed" HOSTILE
                    "\nvisit today\nstory = here " HOSTILE "\n");
    writes(e->jo, "practitioner JB Jo Brandt\ndog Zed" HOSTILE
                  "\nvisit today\nstory = there " HOSTILE "\n");
    say(e->jo, "sync %s", e->stick);
    say(e->mara, "sync %s", e->stick);
}

/* A key and the screen it opens. */
static void opens(struct tty *t, const char *keys, const char *screen)
{
    tty_keys(t, keys);
    unharmed(t, screen);
}

static void found(struct tty *t, const char *typed, const char *row)
{
    tty_keys(t, "f");
    tty_wait_text(t, "Dog, caregiver");
    tty_type(t, typed);
    tty_wait_text(t, row);
    unharmed(t, "Find");
    opens(t, "Enter", "Dog");
}

static void opens_section(struct tty *t, const char *section, const char *screen)
{
    tty_keys(t, "Home");
    go_to_row(t, section);
    opens(t, "Enter", screen);
    opens(t, "^Q", "Visit");
}

static void today_and_what_it_opens(struct tty *t)
{
    unharmed(t, "Today");
    opens(t, "x", "Conflicts");
    go_to_row(t, "Zed<U+001B>]0;owned");
    unharmed(t, "Conflicts");
    opens(t, "^Q", "Today");
    tty_keys(t, "d");
    tty_wait_text(t, "v look at it first");
    opens(t, "v", "Preview");
    opens(t, "^Q", "Today");
    opens(t, "p", "Practice");
    go_to_row(t, "Zora");
    unharmed(t, "Practice");
    opens(t, "e", "Equipment");
    go_to_row(t, "Zinc");
    unharmed(t, "Equipment");
    opens(t, "^Q", "Practice");
    opens(t, "^Q", "Today");
    go_to_row(t, "Zoe");
    opens(t, "Enter", "Call");
    opens(t, "^Q", "Today");
}

static void a_visit_and_its_past(struct tty *t)
{
    found(t, "zed", "> Zed<U+001B>");
    opens(t, "Enter", "Visit");
    opens_section(t, "Measures", "Measures");
    open_section(t, "History");
    tty_wait_text(t, ">#");
    opens(t, "F2", "History");
    opens(t, "p v", "Preview");
    opens(t, "^Q", "History");
    opens(t, "^Q", "History"); /* the section is called so, too */
    opens(t, "^Q", "Visit");
    opens(t, "^Q", "Dog");
    opens(t, "^Q", "Find");
    opens(t, "^Q", "Today");
}

static void the_dog_with_a_long_story(struct tty *t)
{
    found(t, "bruno", "> Bruno <U+001B>");
    opens(t, "t", "Trends");
    opens(t, "^Q", "Dog");
    opens(t, "c", "Cautions");
    opens(t, "^Q", "Dog");
    opens(t, "Enter", "Visit");
    opens_section(t, "Review", "Review");
    opens_section(t, "Support", "Support");
    opens_section(t, "Accessories", "Accessories");
    opens_section(t, "Fit", "Fit bench");
    opens_section(t, "Teaching", "Teaching");
    opens_section(t, "Handout", "Handout");
}

static void hostile_text_acts_on_no_screen(void **state)
{
    struct evening *e = *state;
    hostile_practice(e);
    for (int large = 0; large < 2; large++) {
        struct tty *t = open_at(e->mara, large, NULL);
        today_and_what_it_opens(t);
        a_visit_and_its_past(t);
        the_dog_with_a_long_story(t);
        practice_leave(e->mara);
    }
}

#define T(f) cmocka_unit_test_setup_teardown(f, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(an_evening_small),
        T(an_evening_large),
        T(shown_where_it_was_asked),
        T(both_weights_stand_in_the_heading),
        T(a_silent_line_is_told_and_left),
        T(the_base_stands_by),
        T(hostile_text_acts_on_no_screen),
    };
    return cmocka_run_group_tests_name("two people's evening", tests, NULL, NULL);
}
