/* UTF-8: what is well formed, what one character is, what may reach a terminal, what is the same
 * name. */
#include "base/text.h"
#include "base/utf8.h"
#include "screens/kit/wrap.c"
#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <wchar.h>

#include <cmocka.h>

static void decodes_what_it_encodes(void **state)
{
    (void)state;
    for (uint32_t cp = 1; cp <= 0x110400; cp++) {
        char bytes[4];
        int n = utf8_encode(cp, bytes);
        if (cp > 0x10FFFF || (cp >= 0xD800 && cp <= 0xDFFF)) {
            assert_int_equal(n, 0);
            continue;
        }
        uint32_t back = 0;
        assert_int_equal(n, cp < 0x80 ? 1 : cp < 0x800 ? 2 : cp < 0x10000 ? 3 : 4);
        assert_int_equal(utf8_decode(bytes, (size_t)n, &back), n);
        assert_int_equal(back, cp);
        if (n > 1)
            assert_int_equal(utf8_decode(bytes, (size_t)n - 1, &back), -1);
    }
    uint32_t cp;
    assert_int_equal(utf8_decode("", 0, &cp), 0);
    assert_int_equal(utf8_decode("", 1, &cp), 0);
    assert_int_equal(utf8_decode("x", 0, &cp), 0);
}

static void refuses_what_is_not_well_formed(void **state)
{
    (void)state;
    static const struct {
        const char *s;
        size_t bad;
    } rows[] = {
        {"\x80", 0},                  /* continuation first */
        {"ab\xC0\xAF", 2},            /* overlong / */
        {"\xC1\xBF", 0},              /* overlong */
        {"\xE0\x9F\xBF", 0},          /* overlong, three bytes */
        {"\xF0\x8F\xBF\xBF", 0},      /* overlong, four bytes */
        {"x\xED\xA0\x80", 1},         /* surrogate */
        {"\xED\xBF\xBF", 0},          /* surrogate */
        {"\xF4\x90\x80\x80", 0},      /* beyond U+10FFFF */
        {"\xF5\x80\x80\x80", 0},      /* no such lead */
        {"\xFF", 0},                  /* never a byte of UTF-8 */
        {"\xC3\xA9\xC3", 2},          /* cut */
        {"\xE2\x82", 0},              /* cut */
        {"\xF0\x9F\x90", 0},          /* cut */
        {"\xC3(", 0},                 /* continuation missing */
        {"\xE6\x97(", 0},             /* continuation missing */
        {"\xF0\x9F\x90(", 0},         /* continuation missing */
        {"\U0001F415\xC3\xA9\xFE", 6} /* good ones before */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t bad = 99;
        assert_false(utf8_valid(rows[i].s, strlen(rows[i].s), &bad));
        assert_int_equal(bad, rows[i].bad);
        assert_false(utf8_valid(rows[i].s, strlen(rows[i].s), NULL));
    }
    assert_true(utf8_valid("", 0, NULL));
    assert_true(utf8_valid("a\0b", 3, NULL));
    assert_true(utf8_valid("e\u0301 \U0001F415 \u65E5 \uFFFD", 16, NULL));
}

/* Steps through `s` both ways and compares with the boundaries given, which end with the length. */
static void has_boundaries(const char *s, const size_t *at)
{
    size_t n = strlen(s), here = 0;
    for (size_t i = 0; here < n; i++) {
        size_t next = utf8_next(s, n, here);
        assert_int_equal(next, at[i]);
        assert_int_equal(utf8_prev(s, n, next), here);
        here = next;
    }
    assert_int_equal(utf8_next(s, n, n), n);
    assert_int_equal(utf8_next(s, n, n + 5), n);
    assert_int_equal(utf8_prev(s, n, 0), 0);
}

static void steps_by_what_people_see(void **state)
{
    (void)state;
    has_boundaries("abc", (const size_t[]){1, 2, 3});
    has_boundaries("e\u0301x", (const size_t[]){3, 4});       /* the accent stays on the e */
    has_boundaries("a\u0323\u0301b", (const size_t[]){5, 6}); /* two marks */
    has_boundaries("\u65E5\u672C", (const size_t[]){3, 6});   /* wide letters */
    has_boundaries("\U0001F468\u200D\U0001F33E!", (const size_t[]){11, 12}); /* joined pair */
    has_boundaries("\u2764\uFE0F.", (const size_t[]){6, 7}); /* variation selector */
    has_boundaries("\u0301a", (const size_t[]){2, 3});       /* a mark with nothing under it */
    has_boundaries("a\xFF\xFE\x62", (const size_t[]){1, 2, 3, 4}); /* bad bytes one by one */
    has_boundaries("\xE2\x82", (const size_t[]){1, 2});
    assert_int_equal(utf8_prev("e\u0301x", 4, 2), 0); /* from inside a cluster to its start */
}

static void knows_terminal_columns(void **state)
{
    (void)state;
    assert_int_equal(utf8_width(""), 0);
    assert_int_equal(utf8_width("Biscuit"), 7);
    assert_int_equal(utf8_width("e\u0301"), 1);
    assert_int_equal(utf8_width("\u00E9"), 1);
    assert_int_equal(utf8_width("\u65E5\u672C\u8A9E"), 6);
    assert_int_equal(utf8_width("\U0001F415"), 2);
    assert_int_equal(utf8_width("\U0001F468\u200D\U0001F33E"), 2); /* a pair takes one place */
    assert_int_equal(utf8_width("23 \u00B0"), 4);
    assert_int_equal(utf8_width("\a\x7F\xC2\x85"), 0);
    assert_int_equal(utf8_width_n("abcdef", 3), 3);
    assert_int_equal(utf8_cp_width(0x200D), 0);
    assert_int_equal(utf8_cp_width(0xFF21), 2); /* full-width A */
    assert_int_equal(utf8_cp_width(0x0E31), 0); /* a Thai vowel sign */
}

/* The terminal library measures with wcwidth: the table must agree where it is as old as ours. */
static void agrees_with_the_library(void **state)
{
    (void)state;
    if (setlocale(LC_CTYPE, "C.UTF-8") == NULL)
        skip();
    int apart = 0;
    for (uint32_t cp = 0x20; cp < 0x3000; cp++) {
        int library = wcwidth((wchar_t)cp);
        apart += library >= 0 && library != utf8_cp_width(cp);
    }
    assert_true(apart < 20); /* a newer Unicode adds a few marks */
}

static void fits_whole_characters(void **state)
{
    (void)state;
    assert_int_equal(utf8_fit("abcdef", 3), 3);
    assert_int_equal(utf8_fit("abc", 80), 3);
    assert_int_equal(utf8_fit("abc", 0), 0);
    assert_int_equal(utf8_fit("abc", -1), 0);
    assert_int_equal(utf8_fit("one whole line\u00E9", 14), 14);
    assert_int_equal(utf8_fit("one whole line\u00E9", 15), 16);
    assert_int_equal(utf8_fit("one whole line\u0301", 13), 13);
    assert_int_equal(utf8_fit("one whole line\u0301", 14), 16);
    assert_int_equal(utf8_fit("\u65E5\u672C", 3), 3); /* the second does not fit by half */
    assert_int_equal(utf8_fit("ae\u0301x", 2), 4);    /* the mark comes along */
    assert_int_equal(utf8_fit("e\u0301", 0), 0);      /* and not without its letter */
    assert_int_equal(utf8_fit("\U0001F468\u200D\U0001F33E", 1), 0);
}

/* Eight letters at once tell the same as one after the other: any byte at any place, and any length
 * looked at. */
static void knows_simple_letters(void **state)
{
    (void)state;
    enum { LETTERS = 19 };
    for (int odd = 1; odd < 256; odd++)
        for (size_t at = 0; at < LETTERS; at++)
            for (size_t n = 0; n <= LETTERS; n++) {
                char s[LETTERS + 1] = "letters that stand.";
                s[at] = (char)odd;
                bool simple = odd >= 0x20 && odd < 0x7F;
                size_t end = simple || at >= n ? n : odd >= 0x80 && at > 0 ? at - 1 : at;
                assert_int_equal(utf8_simple(s, n), end);
            }
}

/* A line of letters alone is broken where the same line is that needs to be decoded. */
static void breaks_simple_lines_like_any(void **state)
{
    (void)state;
    static const char letters[] = "ab c d-e \nf";
    unsigned dice = 1;
    for (int round = 0; round < 20000; round++) {
        char plain[40] = "e", accented[41] = "\u00E9";
        for (size_t i = 1; i < sizeof plain - 1; i++) {
            dice = dice * 1103515245U + 12345U;
            bool end = dice >> 26 == 0;
            plain[i] = accented[i + 1] = end ? '\0' : letters[(dice >> 16) % (sizeof letters - 1)];
            if (end)
                break;
        }
        for (int width = 0; width < 42; width++) {
            size_t next, next_accented, end = draw_break(plain, 0, width, &next);
            assert_int_equal(draw_break(accented, 0, width, &next_accented), end + 1);
            assert_int_equal(next_accented, next + 1);
        }
    }
}

static void shows(const char *s, bool lines, const char *want)
{
    struct text t;
    text_init(&t, 1000);
    utf8_show(&t, s, lines);
    assert_string_equal(t.s, want);
    assert_int_equal(utf8_plain(s, lines), strcmp(s, want) == 0);
    assert_true(utf8_plain(t.s, lines)); /* shown once is plain for good */
    text_free(&t);
}

static void shows_what_would_act(void **state)
{
    (void)state;
    shows("Zo\u00EB, 9.4 kg \U0001F415", false, "Zo\u00EB, 9.4 kg \U0001F415");
    shows("\033[2J", false, "<U+001B>[2J");
    shows("\033]0;title\a", true, "<U+001B>]0;title<U+0007>");
    shows("a\302\23331mb", false, "a<U+009B>31mb"); /* C1: one byte of escape to a terminal */
    shows("\x7F\b\f\r\t", true, "<U+007F><U+0008><U+000C><U+000D><U+0009>");
    shows("two\nlines", false, "two<U+000A>lines");
    shows("two\nlines", true, "two\nlines");
    shows("a\u202Eb\u2066c\u2069", false, "a<U+202E>b<U+2066>c<U+2069>"); /* turns text round */
    shows("\u200E\u200F\u061C\uFEFF\u2028\u2029", true,
          "<U+200E><U+200F><U+061C><U+FEFF><U+2028><U+2029>");
    shows("a\xFF\xC3", false, "a<FF><C3>");
    shows("\xED\xA0\x80", false, "<ED><A0><80>");
    shows("", false, "");
}

static void folds(const char *s, const char *want)
{
    struct text t;
    text_init(&t, 1000);
    utf8_fold(&t, s);
    assert_string_equal(t.s, want);
    text_free(&t);
}

static void folds_names(void **state)
{
    (void)state;
    folds("  Biscuit -- the  Dog! ", "biscuit the dog");
    folds("O'Hara O\u2019Hara", "ohara ohara");
    folds("Zo\u00EB", "zoe");
    folds("Zoe\u0308", "zoe"); /* the same name with its mark apart */
    folds("\u00C5ngstr\u00F6m", "angstrom");
    folds("Stra\u00DFe STRA\u1E9EE", "strasse strasse");
    folds("\u00C6r\u00F8 \u0152uvre \u00DEor \u00D0", "aero oeuvre thor d");
    folds("Za\u017C\u00F3\u0142\u0107 g\u0119\u015Bl\u0105 ja\u017A\u0144 \u0141\u00D3D\u0179",
          "zazolc gesla jazn lodz");                                      /* Polish */
    folds("\u0218tefan \u021Aepe\u0219 \u0162\u0163", "stefan tepes tt"); /* Romanian, both ways */
    folds("\u0110\u1EB7ng Nguy\u1EC5n \u01A0\u01B0", "dang nguyen ou");   /* Vietnamese */
    folds("\u0130stanbul \u0131\u011F\u0131", "istanbul igi");            /* Turkish */
    folds("\u0158eho\u0159 \u010C\u017D\u016E", "rehor czu");             /* Czech */
    folds("\u039F\u03B4\u03C5\u03C3\u03C3\u03AD\u03B1\u03C2 \u0386\u038E\u0390\u03CB",
          "\u03BF\u03B4\u03C5\u03C3\u03C3\u03B5\u03B1\u03C3 \u03B1\u03C5\u03B9\u03C5");
    folds("\u1F08\u03C7\u03B9\u03BB\u03BB\u03B5\u03CD\u03C2",
          "\u03B1\u03C7\u03B9\u03BB\u03BB\u03B5\u03C5\u03C3"); /* breathings go */
    folds("\u0410\u043B\u0451\u043D\u0430 \u0419\u041E\u0420\u0414",
          "\u0430\u043B\u0435\u043D\u0430 \u0438\u043E\u0440\u0434");
    folds("\u0407\u0436\u0430\u043A \u0490 \u0404",
          "\u0456\u0436\u0430\u043A \u0491 \u0454");                 /* Ukrainian */
    folds("\u65E5\u672C \u05D0\u05D1", "\u65E5\u672C \u05D0\u05D1"); /* other scripts unchanged */
    folds("mi\u200Bmi \u200D\u2060", "mimi");                        /* invisible is nothing */
    folds("\u2013 a\u00A0b\u00D7c\u00F7d \u00B0", "a b c d");
    folds("", "");
    folds("...", "");
}

/* Folding a folded name changes nothing: index and query may each fold. */
static void folding_twice_is_folding_once(void **state)
{
    (void)state;
    for (uint32_t cp = 0x20; cp < 0x2100; cp++) {
        char s[5] = "";
        (void)utf8_encode(cp, s);
        struct text once, twice;
        text_init(&once, 100);
        text_init(&twice, 100);
        utf8_fold(&once, s);
        utf8_fold(&twice, once.s);
        if (strcmp(once.s, twice.s) != 0)
            fail_msg("U+%04X folds to \"%s\" and then to \"%s\"", (unsigned)cp, once.s, twice.s);
        text_free(&once);
        text_free(&twice);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decodes_what_it_encodes),
        cmocka_unit_test(refuses_what_is_not_well_formed),
        cmocka_unit_test(steps_by_what_people_see),
        cmocka_unit_test(knows_terminal_columns),
        cmocka_unit_test(agrees_with_the_library),
        cmocka_unit_test(fits_whole_characters),
        cmocka_unit_test(knows_simple_letters),
        cmocka_unit_test(breaks_simple_lines_like_any),
        cmocka_unit_test(shows_what_would_act),
        cmocka_unit_test(folds_names),
        cmocka_unit_test(folding_twice_is_folding_once),
    };
    return cmocka_run_group_tests_name("utf8", tests, NULL, NULL);
}
