/* Hostile text through the doors of the shell to every exit: kept as it was given or refused with a
 * message, and never able to act on a terminal, a printer, a spreadsheet or a reader of its own.
 * What the screens draw goes through the same utf8_show; tests/screens/sync_test.c looks at the
 * bytes that reach a terminal. */
#include "base/text.h"
#include "base/utf8.h"
#include "command_shell.h"

enum { LONG = 10000 };

/* Nothing but text: line ends, form feeds between pages, and no character that steers a display. */
static bool steers(uint32_t cp)
{
    return (cp < 0x20 && cp != '\n' && cp != '\r' && cp != '\f' && cp != '\t') ||
           (cp >= 0x7F && cp < 0xA0) || (cp >= 0x202A && cp <= 0x202E) ||
           (cp >= 0x2066 && cp <= 0x2069) || cp == 0x200E || cp == 0x200F || cp == 0x061C;
}

static void only_text(const char *exit, const char *s)
{
    size_t n = strlen(s);
    for (size_t at = 0; at < n;) {
        uint32_t cp;
        int step = utf8_decode(s + at, n - at, &cp);
        if (step <= 0 || steers(cp))
            fail_msg("%s gives a byte %02x at %zu: %.60s", exit, (unsigned char)s[at], at,
                     s + (at > 20 ? at - 20 : 0));
        at += (size_t)step;
    }
}

static void is_json(const char *exit, const char *s)
{
    json_error_t e;
    json_t *root = json_loads(s, JSON_REJECT_DUPLICATES, &e);
    if (root == NULL)
        fail_msg("%s: line %d: %s", exit, e.line, e.text);
    json_decref(root);
}

/* Tags open and close, and what a record says opens none. */
static void is_markup(const char *exit, const char *s)
{
    assert_null(strstr(s, "<script"));
    int depth = 0;
    for (const char *p = s; (p = strchr(p, '<')) != NULL; p++) {
        const char *end = strchr(p, '>');
        if (end == NULL)
            fail_msg("%s: a tag does not end: %.40s", exit, p);
        if (p[1] == '/')
            depth--;
        else if (p[1] != '?' && p[1] != '!' && end[-1] != '/')
            depth++;
    }
    assert_int_equal(depth, 0);
}

/* A cell that begins so is calculated. */
static void calculates_nothing(const char *exit, const char *s)
{
    bool quoted = false;
    for (const char *p = s; *p != '\0'; p++) {
        bool begins = !quoted && (p == s || p[-1] == ',' || p[-1] == '\n');
        if (*p == '"')
            quoted = !quoted;
        const char *first = p + (begins && *p == '"');
        if (begins && strchr("=+@", *first) != NULL && *first != '\0')
            fail_msg("%s: a cell begins with %.20s", exit, first);
    }
}

static const struct exit {
    const char *words[5];
    void (*also)(const char *exit, const char *s);
} exits[] = {
    {{"list", "dogs"}, NULL},
    {{"list", "visits", "--json"}, is_json},
    {{"find", "juniper"}, NULL},
    {{"today"}, NULL},
    {{"today", "--json"}, is_json},
    {{"show", "Juniper"}, NULL},
    {{"show", "Juniper", "--json"}, is_json},
    {{"show", "Juniper", "--history", "story"}, NULL},
    {{"sheet", "Juniper"}, NULL},
    {{"sheet", "Juniper", "--ascii"}, NULL},
    {{"print", "Juniper", "--preview"}, NULL},
    {{"paper", "day"}, NULL},
    {{"paper", "report", "Juniper"}, NULL},
    {{"paper", "record", "Juniper"}, NULL},
    {{"build", "Juniper"}, NULL},
    {{"build", "Juniper", "--json"}, is_json},
    {{"draw", "Juniper", "--svg"}, is_markup},
    {{"bench", "Juniper"}, NULL},
    {{"equipment"}, NULL},
    {{"equipment", "--json"}, is_json},
    {{"check"}, NULL},
    {{"device", "list"}, NULL},
    {{"export", "csv"}, calculates_nothing},
    {{"export", "fhir", "Juniper"}, is_json},
    {{"export", "calendar"}, NULL},
    {{"export", "card", "Juniper"}, NULL},
};

/* Every exit that answers gives text; JSON escapes what it must keep. */
static void leaves_safely(void)
{
    size_t answered = 0;
    for (size_t i = 0; i < sizeof exits / sizeof *exits; i++) {
        const char *const *w = exits[i].words;
        char name[80];
        snprintf(name, sizeof name, "%s %s %s", w[0], w[1] ? w[1] : "", w[1] && w[2] ? w[2] : "");
        int status = amble("", w[0], w[1], w[1] ? w[2] : NULL, w[1] && w[2] ? w[3] : NULL, NULL);
        only_text(name, last.err);
        if (status != COMMAND_DONE)
            continue; /* no frame to draw before there is a whole set of measures */
        answered++;
        only_text(name, last.out);
        if (exits[i].also != NULL)
            exits[i].also(name, last.out);
    }
    assert_in_range(answered, 20, sizeof exits / sizeof *exits);
}

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

/* The story of Juniper's visit is `text`, to the byte. */
static void is_kept(const char *text)
{
    done(amble("", "show", "Juniper", "--json", NULL));
    json_t *root = json_loads(last.out, 0, NULL), *each;
    const char *stored = "";
    size_t k;
    json_array_foreach(json_object_get(json_object_get(root, "visit"), "findings"), k, each)
    {
        if (strcmp(json_string_value(json_object_get(each, "item")), "story") == 0)
            stored = json_string_value(
                json_object_get(json_array_get(json_object_get(each, "values"), 0), "value"));
    }
    assert_string_equal(stored, text);
    json_decref(root);
}

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

/* The same person at another computer: its records, templates and state are in a folder there. */
static void sit_at(const char *computer)
{
    char *slash = strchr(folder + strlen("/tmp/"), '/');
    size_t n = slash ? (size_t)(slash - folder) : strlen(folder);
    snprintf(folder + n, sizeof folder - n, "/%s", computer);
    mkdir(folder, 0700);
    mkdir(in_folder("overlay"), 0700);
    assert_int_equal(setenv("XDG_STATE_HOME", in_folder("state"), 1), 0);
}

static int end_both(void **state)
{
    *strchr(folder + strlen("/tmp/"), '/') = '\0';
    unsetenv("XDG_STATE_HOME");
    return end(state);
}

/* The numbers that the last command ended with, for the next one to compare. */
static const char *fingerprint(void)
{
    static char numbers[80];
    last.out[strlen(last.out) - 1] = '\0'; /* its line end */
    const char *line = strrchr(last.out, '\n');
    snprintf(numbers, sizeof numbers, "%s", line ? line + 1 : last.out);
    return numbers;
}

/* The base, and a laptop admitted there, whose keys we are at then. Its name is a door as well. */
static void enrol(void)
{
    char request[80], reply[96];
    sit_at("base");
    done(amble("", "base", "--name", "office", NULL));
    snprintf(request, sizeof request, "%s/../request", folder);
    snprintf(reply, sizeof reply, "%s.reply", request);
    sit_at("laptop");
    assert_int_equal(
        amble("", "device", "request", request, "--name", "Jo \x1b[2J\xe2\x80\xae", NULL),
        COMMAND_FAILED);
    has(last.err, "a device's name is a short text of one line");
    only_text("device request", last.err);
    done(amble("", "device", "request", request, "--name", "Jo's laptop", NULL));
    const char *numbers = fingerprint();
    sit_at("base");
    done(amble("", "device", "admit", request, "--fingerprint", numbers, NULL));
    only_text("device admit", last.out);
    numbers = fingerprint();
    sit_at("laptop");
    done(amble("", "device", "join", reply, "--fingerprint", numbers, NULL));
    only_text("device join", last.out);
}

static void exchange(void)
{
    char stick[80];
    snprintf(stick, sizeof stick, "%s/../stick", folder);
    mkdir(stick, 0700);
    done(amble("", "sync", stick, NULL));
    only_text("sync", last.out);
    only_text("sync", last.err);
}

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
