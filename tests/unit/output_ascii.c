/* The ASCII printer: nothing clinical may be lost or change its meaning on the way. */
#include "base/text.h"
#include "output/ascii.h"
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on
#include <stdbool.h>
#include <string.h>

static void check(const char *in, const char *want, size_t want_unmapped)
{
    struct text out;
    text_init(&out, 4096);
    size_t unmapped = ascii_map(&out, in);
    assert_string_equal(out.s, want);
    assert_int_equal(unmapped, want_unmapped);
    text_free(&out);
}

static void units_keep_their_meaning(void **state)
{
    (void)state;
    check("34\u00b0 uphill", "34 deg uphill", 0);
    check("34 \u00b0", "34 deg", 0);
    check("38.5 \u00b0C", "38.5 degC", 0);
    check("5 \u00b5g, 5 \u03bcg", "5 mcg, 5 mcg", 0);
    check("9½ in", "9 1/2 in", 0);
    check("9 ½ in", "9 1/2 in", 0);
    check("½ cup", "1/2 cup", 0);
    check("10² cm²", "10^2 cm^2", 0);
    check("8 ± 3, ≤ 5, ≥ 2", "8 +/- 3, <= 5, >= 2", 0);
    check("\u22123 kg, 3\u20134 weeks", "-3 kg, 3-4 weeks", 0);
}

static void names_lose_accents_only(void **state)
{
    (void)state;
    check("Zoë Müller-Łukasz, Ærøskøbing", "Zoe Muller-Lukasz, AEroskobing", 0);
    check("Zoe\u0308", "Zoe", 0); /* the same name, typed with a combining mark */
    check("\u201cso-called\u201d \u2018x\u2019 \u2026 \u2014", "\"so-called\" 'x' ... --", 0);
    check("plain, as it is: [x] {y} ~ \\", "plain, as it is: [x] {y} ~ \\", 0);
}

static void what_is_lost_is_counted(void **state)
{
    (void)state;
    check("犬 Rex", "? Rex", 1);
    check("Рекс", "????", 4);
    check("\xff", "?", 1);
    check("", "", 0);
}

static void every_result_is_ascii(void **state)
{
    (void)state;
    struct text out;
    text_init(&out, 64);
    for (uint32_t cp = 0x80; cp < 0x3000; cp++) {
        char in[4] = {0};
        in[0] = (char)(cp < 0x800 ? 0xc0 | cp >> 6 : 0xe0 | cp >> 12);
        in[1] = (char)(0x80 | (cp < 0x800 ? cp & 63 : cp >> 6 & 63));
        in[2] = (char)(cp < 0x800 ? 0 : 0x80 | (cp & 63));
        text_clear(&out);
        ascii_map(&out, in);
        for (size_t i = 0; i < out.len; i++) {
            assert_in_range(out.s[i], ' ', '~');
        }
    }
    text_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(units_keep_their_meaning),
        cmocka_unit_test(names_lose_accents_only),
        cmocka_unit_test(what_is_lost_is_counted),
        cmocka_unit_test(every_result_is_ascii),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
