/* Hostile text through the doors of the shell to every exit: kept as it was given or refused with a
 * message, and never able to act on a terminal, a printer, a spreadsheet or a reader of its own.
 * What the screens draw goes through the same utf8_show; tests/screens/sync_test.c looks at the
 * bytes that reach a terminal. */
#include "command_office.h"

enum { LONG = 10000 };

static const char *repeated(const char *part)
{
    static char out[LONG + 64];
    size_t n = strlen(part);
    out[0] = '\0';
    for (size_t at = 0; at + n <= LONG; at += n)
        memcpy(out + at, part, n + 1);
    return out;
}

/* In every place a person's words go. The name's first word stays, so that it can be asked for. */
static const char *visit_with(const char *words)
{
    static char lines[8 * LONG];
    snprintf(lines, sizeof lines,
             "practitioner MK Mara %.60s\ncaregiver Nora Lind\ncaregiver.phone = 01632 960133\n"
             "caregiver.address = %.300s\ncaregiver.directions = %s\n"
             "equipment Frame %.60s\nequipment.frame = rear_stepped\n"
             "dog Juniper\ndog.cautions = %s\ndog.breed = %.200s\ndog.vet_of_record = %.200s\n"
             "visit today 10:00\nstory = %s\ngoals = %s\ntoday_plan = %s\nskin_note = %s\n"
             "withers_height = 22.8, 22.8\nhip_width = 13.1, 13.2\n",
             words, words, words, words, words, words, words, words, words, words, words);
    return lines;
}

static const char *const texts[] = {
    "\x1b[2J\x1b]0;owned\x07 red",
    "a\x08\x08\x08 rubbed out \x7f",
    ("\xc2\x9b"
     "31m one byte of CSI"),
    ("\xe2\x80\xae"
     "desrever \xe2\x81\xa6 isolated"),
    "=HYPERLINK(\"x\")",
    "+1+1",
    "@SUM(A1:A9)",
    "</text><script>alert(1)</script>&amp;",
    "\" ; \\ , END:VCARD",
    "%s%n%d ${HOME} $(id) `id`",
    "\xcc\x81\xcc\x81\xcc\x81 marks with nothing to stand on",
};

static void kept_and_made_harmless(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if (i > 0) {
            (void)end(NULL);
            assert_int_equal(begin(NULL), 0);
        }
        done(amble(visit_with(texts[i]), "enter", NULL));
        is_kept(texts[i]);
        leaves_safely();
    }
}

static void ten_thousand_characters_are_kept_or_refused(void **state)
{
    static const char *const parts[] = {"long-word-", "x", "\xc3\xa9", "\xcc\x81"};
    (void)state;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (i > 0) {
            (void)end(NULL);
            assert_int_equal(begin(NULL), 0);
        }
        const char *words = repeated(parts[i]);
        done(amble(visit_with(words), "enter", NULL));
        done(amble("", "show", "Juniper", "--json", NULL));
        has(last.out, words);
        leaves_safely();
    }
}

/* What is no text at all is refused with the line, and the rest of the file with it. */
static void bytes_that_are_no_text_are_refused(void **state)
{
    static const struct {
        const char *bytes;
        size_t n;
        const char *said;
    } bad[] = {
#define BYTES(text, message) {text, sizeof(text) - 1, message}
        BYTES("dog Juniper\ndog.colour = \xff\xfe\n", ":2"),
        BYTES("dog Juniper\ndog.colour = \xed\xa0\x80\n", ":2"), /* half of a surrogate pair */
        BYTES("dog Juniper\ndog.colour = \xc0\xaf\n", ":2"),     /* longer than it need be */
        BYTES("dog Juniper\ndog.colour = a\0b\n", "zero byte"),
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        FILE *file = fopen(in_folder("bad.txt"), "wb");
        assert_non_null(file);
        assert_int_equal(fwrite(bad[i].bytes, 1, bad[i].n, file), bad[i].n);
        fclose(file);
        assert_int_equal(amble("", "enter", in_folder("bad.txt"), NULL), COMMAND_FAILED);
        has(last.err, bad[i].said);
        only_text("enter", last.err);
        assert_int_equal(amble("", "show", "Juniper", NULL), COMMAND_FAILED);
    }
}

/* A template is a door, too: what it says is shown by help, forms and sheets. */
static void a_template_cannot_steer_a_terminal(void **state)
{
    static const char *const labels[] = {"red \\e[31m", "red \\u202E", "red \\x9B31m"};
    char yaml[200];
    (void)state;
    for (size_t i = 0; i < sizeof labels / sizeof *labels; i++) {
        snprintf(yaml, sizeof yaml,
                 "add_to: history\nitems:\n  - {id: own, label: \"%s\", kind: text}\n", labels[i]);
        write_file("overlay/forms/own.yaml", yaml);
        assert_int_equal(amble("", "template", "check", NULL), COMMAND_FAILED);
        has(last.err, "forms/own.yaml:3:22: control characters are not allowed in a text");
        only_text("template check", last.err);
    }
}

/* ---- a bundle from another device ---- */

/* Written on a laptop and carried on a stick: at the base it is what it was, and acts on nothing.
 */
static void a_bundle_brings_it_no_further(void **state)
{
    const char *long_word = repeated("long-word-");
    size_t count = sizeof texts / sizeof *texts;
    for (size_t i = 0; i <= count; i++) {
        const char *text = i < count ? texts[i] : long_word;
        if (i > 0) {
            assert_int_equal(end_both(state), 0);
            assert_int_equal(begin(state), 0);
        }
        enrol();
        done(amble(visit_with(text), "enter", NULL));
        exchange();
        sit_at("base");
        assert_int_equal(amble("", "show", "Juniper", NULL), COMMAND_FAILED); /* not there yet */
        exchange();
        is_kept(text);
        leaves_safely();
    }
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(kept_and_made_harmless),
        TEST(ten_thousand_characters_are_kept_or_refused),
        cmocka_unit_test_setup_teardown(a_bundle_brings_it_no_further, begin, end_both),
        TEST(bytes_that_are_no_text_are_refused),
        TEST(a_template_cannot_steer_a_terminal),
    };
    return cmocka_run_group_tests_name("hostile", tests, NULL, NULL);
}
