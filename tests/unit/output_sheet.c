/* Pages: where they part, how lines wrap, and that a record cannot reach the printer raw. */
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include "output/sheet.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <stdio.h>
#include <string.h>

static const struct sheet_style paper = {.columns = 40, .lines = 12, .form_feeds = true};
static const struct sheet_style screen = {.columns = 40};

struct printed {
    struct arena *arena;
    struct sheet *sheet;
    struct text text;
    size_t pages, unmapped;
};

static int begin(void **state)
{
    static struct printed p;
    p = (struct printed){.arena = arena_new()};
    p.sheet = sheet_new(p.arena, "Biscuit, 24 Nov");
    text_init(&p.text, 1 << 20);
    *state = &p;
    return 0;
}

static int end(void **state)
{
    struct printed *p = *state;
    text_free(&p->text);
    arena_free(p->arena);
    return 0;
}

static void print(struct printed *p, const struct sheet_style *style)
{
    text_clear(&p->text);
    sheet_render(p->sheet, style, &p->text, &p->pages, &p->unmapped);
}

/* The given page (from 1) without its form feed. */
static const char *page(struct printed *p, size_t number)
{
    char *s = arena_str(p->arena, p->text.s);
    for (;; number--) {
        char *feed = strchr(s, '\f');
        if (feed) {
            *feed = '\0';
        }
        if (number == 1) {
            return s;
        }
        assert_non_null(feed);
        s = feed + 1;
    }
}

static size_t lines_in(const char *s)
{
    size_t n = 0;
    for (; *s; s++) {
        n += *s == '\n';
    }
    return n;
}

static void each_kind_has_its_look(void **state)
{
    struct printed *p = *state;
    sheet_add(p->sheet, SHEET_TITLE, "Care of Biscuit");
    sheet_add(p->sheet, SHEET_HEADING, "Skin");
    sheet_add(p->sheet, SHEET_TEXT, "Look at the skin under every strap after each walk.");
    sheet_add(p->sheet, SHEET_BULLET, "redness that is still there after half an hour");
    sheet_add(p->sheet, SHEET_BOX, "first walk, five minutes");
    sheet_add(p->sheet, SHEET_BLANK, "");
    sheet_add(p->sheet, SHEET_BLANK, "");
    sheet_addf(p->sheet, SHEET_PLAIN, "%s|%d", "  a  ", 7);
    print(p, &screen);
    assert_string_equal(p->text.s, "            Care of Biscuit\n"
                                   "\n"
                                   "Skin\n"
                                   "   Look at the skin under every strap\n"
                                   "   after each walk.\n"
                                   "   - redness that is still there after\n"
                                   "     half an hour\n"
                                   "   [ ] first walk, five minutes\n"
                                   "\n"
                                   "  a  |7\n");
    assert_int_equal(p->pages, 1);
}

static void newlines_stay_and_long_words_break(void **state)
{
    struct printed *p = *state;
    sheet_add(p->sheet, SHEET_BULLET, "one\n\n  two   \nthree");
    sheet_add(p->sheet, SHEET_TEXT, "0123456789012345678901234567890123456789abc");
    sheet_add(p->sheet, SHEET_PLAIN, "0123456789012345678901234567890123456789abc");
    print(p, &screen);
    assert_string_equal(p->text.s, "   - one\n\n     two\n     three\n"
                                   "   0123456789012345678901234567890123456\n   789abc\n"
                                   "0123456789012345678901234567890123456789\n");
}

static void wide_characters_fill_two_columns(void **state)
{
    struct printed *p = *state;
    for (int i = 0; i < 30; i++) {
        sheet_add(p->sheet, SHEET_TEXT,
                  "犬の車いす犬の車いす犬の車いす犬の車いす e\u0301e\u0301 犬");
        sheet_add(p->sheet, SHEET_PLAIN, "x犬の車いす犬の車いす犬の車いす犬の車いす犬の車いす");
    }
    print(p, &paper);
    char *rest = arena_str(p->arena, p->text.s);
    for (char *line = strsep(&rest, "\n"); line; line = strsep(&rest, "\n")) {
        assert_in_range(utf8_width(line + (*line == '\f')), 0, 40);
        assert_true(utf8_valid(line, strlen(line), NULL));
    }
}

static void a_page_has_its_lines_footer_and_feed(void **state)
{
    struct printed *p = *state;
    for (int i = 0; i < 21; i++) {
        sheet_addf(p->sheet, SHEET_TEXT, "row %d", i);
    }
    print(p, &paper);
    assert_int_equal(p->pages, 3);
    for (size_t i = 1; i <= 3; i++) {
        assert_int_equal(lines_in(page(p, i)), 12);
    }
    assert_non_null(strstr(page(p, 1), "   row 9\n\nBiscuit, 24 Nov              page 1 of 3\n"));
    assert_non_null(strstr(page(p, 3), "   row 20\n\n"));
    assert_string_equal(page(p, 4), "");
}

static void a_heading_goes_with_what_follows(void **state)
{
    struct printed *p = *state;
    for (int rows = 0; rows < 25; rows++) {
        p->sheet = sheet_new(p->arena, "");
        for (int i = 0; i < rows; i++) {
            sheet_add(p->sheet, SHEET_TEXT, "row");
        }
        sheet_add(p->sheet, SHEET_HEADING, "Heading");
        sheet_add(p->sheet, SHEET_BLANK, "");
        sheet_add(p->sheet, SHEET_BULLET, "follows");
        print(p, &paper);
        for (size_t i = 1; i <= p->pages; i++) {
            const char *heading = strstr(page(p, i), "Heading");
            const char *follows = strstr(page(p, i), "follows");
            assert_true(!heading == !follows);
        }
    }
}

static void no_single_line_is_left_alone(void **state)
{
    struct printed *p = *state;
    for (int rows = 0; rows < 25; rows++) {
        p->sheet = sheet_new(p->arena, "");
        for (int i = 0; i < rows; i++) {
            sheet_add(p->sheet, SHEET_TEXT, "row");
        }
        sheet_add(p->sheet, SHEET_TEXT, "first\nsecond\nthird\nfourth");
        print(p, &paper);
        for (size_t i = 1; i <= p->pages; i++) {
            const char *s = page(p, i);
            assert_true(!strstr(s, "first") == !strstr(s, "second"));
            assert_true(!strstr(s, "third") == !strstr(s, "fourth"));
        }
    }
}

static void a_drawing_stays_whole_when_it_can(void **state)
{
    struct printed *p = *state;
    for (int i = 0; i < 7; i++) {
        sheet_add(p->sheet, SHEET_TEXT, "row");
    }
    for (int i = 0; i < 6; i++) {
        sheet_addf(p->sheet, SHEET_PLAIN, "drawing %d", i);
    }
    print(p, &paper);
    assert_null(strstr(page(p, 1), "drawing"));
    assert_non_null(strstr(page(p, 2), "drawing 0\ndrawing 1"));
    for (int i = 6; i < 40; i++) { /* and is cut where it is longer than a page */
        sheet_addf(p->sheet, SHEET_PLAIN, "drawing %d", i);
    }
    print(p, &paper);
    assert_int_equal(p->pages, 5);
    assert_non_null(strstr(page(p, 5), "drawing 39"));
}

static void a_record_cannot_command_the_printer(void **state)
{
    struct printed *p = *state;
    static const char *const hostile[] = {
        "\033[2J\033]0;title\a",
        "a\rb\bc\fd\ve",
        "\xc2\x9b"
        "31m",
        "\xe2\x80\xae"
        "gpj.exe\xe2\x81\xa6",
        "\xff\xfe",
        "tab\there",
        "\x7f",
    };
    p->sheet = sheet_new(p->arena, "foot\033[1m\nnext");
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        for (enum sheet_line kind = SHEET_TITLE; kind <= SHEET_PLAIN; kind++) {
            sheet_add(p->sheet, kind, hostile[i]);
        }
    }
    for (int ascii = 0; ascii < 2; ascii++) {
        struct sheet_style style = {.columns = 40, .lines = 12, .ascii = ascii};
        print(p, &style);
        assert_true(utf8_plain(p->text.s, true));
        assert_null(strchr(p->text.s, '\t'));
    }
}

static void ascii_is_mapped_before_it_is_measured(void **state)
{
    struct printed *p = *state;
    sheet_add(p->sheet, SHEET_TEXT,
              "Zoë, 犬: ramp 9\u00b0 9\u00b0 9\u00b0 9\u00b0 9\u00b0 9\u00b0 9\u00b0");
    struct sheet_style style = screen;
    style.ascii = true;
    print(p, &style);
    assert_string_equal(p->text.s, "   Zoe, ?: ramp 9 deg 9 deg 9 deg 9 deg\n"
                                   "   9 deg 9 deg 9 deg\n");
    assert_int_equal(p->unmapped, 1);
}

static void an_empty_sheet_is_one_page(void **state)
{
    struct printed *p = *state;
    print(p, &paper);
    assert_int_equal(p->pages, 1);
    assert_int_equal(lines_in(page(p, 1)), 12);
    print(p, &screen);
    assert_string_equal(p->text.s, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(each_kind_has_its_look, begin, end),
        cmocka_unit_test_setup_teardown(newlines_stay_and_long_words_break, begin, end),
        cmocka_unit_test_setup_teardown(wide_characters_fill_two_columns, begin, end),
        cmocka_unit_test_setup_teardown(a_page_has_its_lines_footer_and_feed, begin, end),
        cmocka_unit_test_setup_teardown(a_heading_goes_with_what_follows, begin, end),
        cmocka_unit_test_setup_teardown(no_single_line_is_left_alone, begin, end),
        cmocka_unit_test_setup_teardown(a_drawing_stays_whole_when_it_can, begin, end),
        cmocka_unit_test_setup_teardown(a_record_cannot_command_the_printer, begin, end),
        cmocka_unit_test_setup_teardown(ascii_is_mapped_before_it_is_measured, begin, end),
        cmocka_unit_test_setup_teardown(an_empty_sheet_is_one_page, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
