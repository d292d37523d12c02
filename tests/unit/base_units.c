/* Quantities as people write them. Factors are checked against their definitions, not against the
 * table: yard and pound agreement of 1959 (in = 25.4 mm, lb = 0.45359237 kg), standard gravity
 * 9.80665 m/s2 (CGPM 1901), thermochemical calorie 4.184 J. */
#include "base/units.h"
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double want, const char *what)
{
    if (!(fabs(got - want) <= 1e-12 * fmax(1, fabs(want))))
        fail_msg("%s: %.17g instead of %.17g", what, got, want);
}

static void reads(const char *s, const char *assumed, double want, const char *written)
{
    struct fault f = {0};
    double v = NAN;
    const struct unit *u = unit_find("kg");
    const struct unit *a = assumed == NULL ? NULL : unit_find(assumed);
    if (!quantity_parse(s, a, &v, &u, &f))
        fail_msg("\"%s\" was refused: %s", s, f.text);
    near(v, want, s);
    if (written == NULL)
        assert_null(u);
    else
        assert_string_equal(u->name, written);
    assert_true(quantity_parse(s, a, &v, NULL, NULL));
}

static void refuses(const char *s, const char *assumed, const char *message)
{
    struct fault f = {0};
    double v = 77;
    if (quantity_parse(s, assumed == NULL ? NULL : unit_find(assumed), &v, NULL, &f))
        fail_msg("\"%s\" was taken as %.17g", s, v);
    assert_int_equal(f.kind, FAULT_INPUT);
    assert_string_equal(f.text, message);
    assert_true(v == 77); /* untouched */
}

static void reads_lengths(void **state)
{
    (void)state;
    reads("235mm", "mm", 235, "mm");
    reads("235 mm.", "mm", 235, "mm");
    reads("235", "mm", 235, NULL);
    reads("23.5", "cm", 235, NULL); /* a bare number is in the practice's unit */
    reads("23,5 cm", "mm", 235, "cm");
    reads("  23.5\tcm  ", "mm", 235, "cm");
    reads("23.5\u00A0cm", "mm", 235, "cm");
    reads("0.235 m", "mm", 235, "m");
    reads(".5 in", "mm", 12.7, "in");
    reads(",5 in", "mm", 12.7, "in");
    reads("9 1/4 in", "mm", 234.95, "in");
    reads("9-1/4 in", "mm", 234.95, "in");
    reads("9\u00BC in", "mm", 234.95, "in");
    reads("9 \u00BC\"", "mm", 234.95, "in");
    reads("\u215E in", "mm", 22.225, "in");
    reads("1/4\"", "mm", 6.35, "in");
    reads("5/4 in", "mm", 31.75, "in");
    reads("1 / 2 in", "mm", 12.7, "in");
    reads("4.75\"", "mm", 120.65, "in");
    reads("4.75 \u201D", "mm", 120.65, "in");
    reads("4.75\u2033", "mm", 120.65, "in");
    reads("4.75''", "mm", 120.65, "in");
    reads("9 in.", "mm", 228.6, "in");
    reads("9 Inches", "mm", 228.6, "in");
    reads("1' 3 1/2\"", "mm", 393.7, "ft");
    reads("1'3\"", "mm", 381, "ft");
    reads("1\u2032 \u00BD\u2033", "mm", 317.5, "ft");
    reads("5ft2in", "mm", 1574.8, "ft");
    reads("5 ft. 2 in.", "mm", 1574.8, "ft");
    reads("1 m 5 cm", "mm", 1050, "m");
    reads("235 MM", "mm", 235, "mm");
}

static void reads_other_things(void **state)
{
    (void)state;
    reads("12 lb 4 oz", "kg", 12.25 * 0.45359237, "lb");
    reads("12lb4oz", "kg", 12.25 * 0.45359237, "lb");
    reads("12lb2oz", "kg", 12.125 * 0.45359237, "lb");
    reads("9,4", "kg", 9.4, NULL);
    reads("9400 g", "kg", 9.4, "g");
    reads("1 st 3 lb", "kg", 17 * 0.45359237, "st");
    reads("38.5 \u00B0C", "degC", 38.5, "degC");
    reads("101.3 \u00B0F", "degC", 38.5, "degF");
    reads("-40 F", "degC", -40, "degF");
    reads("32", "degF", 0, NULL);
    reads("1 h 30 min", "min", 90, "h");
    reads("2 wk 3 d", "min", 17 * 1440, "wk");
    reads("10 cm2", "cm2", 10, "cm2");
    reads("10 cm\u00B2", "cm2", 10, "cm2");
    reads("2 in2", "cm2", 12.9032, "in2");
    reads("50%", "%", 50, "%");
    reads("9\u00B0", "deg", 9, "deg");
    reads("120 mmHg", "kPa", 120 * 0.133322387415, "mmHg");
    reads("3", NULL, 3, NULL);
    reads("-3", NULL, -3, NULL);
    reads("+3", NULL, 3, NULL);
    reads("\u22123 mm", "mm", -3, "mm");
    reads("-1' 3\"", "mm", -381, "ft");
    reads("0012", "mm", 12, NULL);
}

static void minus_nothing_is_nothing(void **state)
{
    (void)state;
    const struct unit *assumed[] = {NULL, unit_find("mm"), unit_find("degC")};
    for (int i = 0; i < 3; i++) {
        double v = 1;
        assert_true(quantity_parse("-0", assumed[i], &v, NULL, NULL));
        assert_true(v == 0 && !signbit(v));
    }
}

static void refuses_with_words(void **state)
{
    (void)state;
    refuses("", "mm", "\"\" is not a number with a unit");
    refuses("   ", "mm", "\"   \" is not a number with a unit");
    refuses("inch", "mm", "\"inch\" is not a number with a unit");
    refuses("--5", "mm", "\"--5\" is not a number with a unit");
    refuses(".", "mm", "\".\" is not a number with a unit");
    refuses("1,234.5", "mm", "\"1,234.5\" has two decimal marks; write one point or one comma");
    refuses("1.234.5 mm", "mm",
            "\"1.234.5 mm\" has two decimal marks; write one point or one comma");
    refuses("5 5", "mm", "\"5 5\": \"5\" is left over after the quantity");
    refuses("9 1/0 in", "mm", "\"9 1/0 in\": \"1/0 in\" is left over after the quantity");
    refuses("9 5/4 in", "mm", "\"9 5/4 in\": \"5/4 in\" is left over after the quantity");
    refuses("9.5 1/4 in", "mm", "\"9.5 1/4 in\": \"1/4 in\" is left over after the quantity");
    refuses("23. cm", "mm", "\"23. cm\": \". cm\" is left over after the quantity");
    refuses("1e5", "mm", "\"e\" is not a unit this program knows");
    refuses("0x10", "mm", "\"x\" is not a unit this program knows");
    refuses("5 furlong", "mm", "\"furlong\" is not a unit this program knows");
    refuses("- 3 mm", "mm", "\"- 3 mm\" is not a number with a unit");
    refuses("5 mm", NULL, "\"5 mm\": a number without a unit is expected");
    refuses("5 kg", "mm", "\"5 kg\": kg is a weight; a length is expected, for example in mm");
    refuses("9 deg", "in2", "\"9 deg\": deg is an angle; an area is expected, for example in in2");
    refuses("12 lb 4 kg", "kg",
            "\"12 lb 4 kg\" does not end with a smaller unit, as 12 lb 4 oz does");
    refuses("12 lb 4", "kg", "\"12 lb 4\" does not end with a smaller unit, as 12 lb 4 oz does");
    refuses("4 oz 12 lb", "kg",
            "\"4 oz 12 lb\" does not end with a smaller unit, as 12 lb 4 oz does");
    refuses("12 lb 4 in", "kg",
            "\"12 lb 4 in\" does not end with a smaller unit, as 12 lb 4 oz does");
    refuses("38 degC 3 degF", "degC",
            "\"38 degC 3 degF\" does not end with a smaller unit, as 12 lb 4 oz does");
    refuses("1 ft 3 in 2 mm", "mm", "\"1 ft 3 in 2 mm\": \"2 mm\" is left over after the quantity");
    refuses("1 ft -3 in", "mm", "\"1 ft -3 in\": \"-3 in\" is left over after the quantity");
    refuses("235 mm high", "mm", "\"235 mm high\": \"high\" is left over after the quantity");
    refuses("nan", "mm", "\"nan\" is not a number with a unit");
    refuses("inf", "mm", "\"inf\" is not a number with a unit");
}

static void refuses_the_endless(void **state)
{
    (void)state;
    char nines[500];
    struct fault f = {0};
    double v = 77;
    memset(nines, '9', sizeof nines - 1);
    nines[sizeof nines - 1] = '\0';
    assert_false(quantity_parse(nines, unit_find("mm"), &v, NULL, &f));
    assert_int_equal(f.kind, FAULT_INPUT);
    nines[400] = '/';
    assert_false(quantity_parse(nines, unit_find("mm"), &v, NULL, &f));
    assert_true(v == 77);
}

static void knows_its_factors(void **state)
{
    (void)state;
    static const struct {
        const char *unit;
        double base;
    } rows[] = {
        {"mm", 1},
        {"cm", 10},
        {"m", 1000},
        {"in", 25.4},
        {"ft", 304.8},
        {"kg", 1},
        {"g", 1e-3},
        {"lb", 0.45359237},
        {"oz", 0.028349523125},
        {"st", 6.35029318},
        {"deg", 1},
        {"N", 1},
        {"kgf", 9.80665},
        {"lbf", 4.4482216152605},
        {"kPa", 1},
        {"Pa", 1e-3},
        {"ml", 1},
        {"l", 1000},
        {"cm2", 1},
        {"in2", 6.4516},
        {"min", 1},
        {"s", 1.0 / 60},
        {"h", 60},
        {"d", 1440},
        {"wk", 10080},
        {"degC", 1},
        {"kcal", 1},
        {"kJ", 1 / 4.184},
        {"%", 1},
        {"mmHg", 0.133322387415}, /* 13.5951 g/ml * 9.80665 m/s2 * 1 mm */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct unit *u = unit_find(rows[i].unit);
        assert_non_null(u);
        near(unit_to_base(u, 1), rows[i].base, rows[i].unit);
    }
    near(unit_to_base(unit_find("psi"), 1), 6.894757293168361, "psi"); /* lbf / in2 */
    near(unit_to_base(unit_find("rad"), acos(-1.0)), 180, "rad");
    near(unit_to_base(unit_find("degF"), 212), 100, "degF");
    near(unit_from_base(unit_find("degF"), 37), 98.6, "degF");
    near(unit_from_base(unit_find("in"), 25.4), 1, "in");
}

static void every_row_of_the_table_can_be_found(void **state)
{
    (void)state;
    size_t count;
    const struct unit *all = unit_all(&count);
    assert_true(count > 20);
    for (size_t i = 0; i < count; i++) {
        const struct unit *u = &all[i];
        assert_ptr_equal(unit_find(u->name), u);
        assert_non_null(u->ucum);
        assert_true(u->dimension > DIM_NONE && u->dimension < DIM_COUNT);
        for (const char *p = u->others; *p != '\0';) { /* each spelling leads to it alone */
            char word[40];
            size_t n = strcspn(p, " ");
            (void)snprintf(word, sizeof word, "%.*s", (int)n, p);
            assert_ptr_equal(unit_find(word), u);
            p += n + (p[n] == ' ');
        }
        near(unit_from_base(u, unit_to_base(u, 12.5)), 12.5, u->name);
        double v;
        char text[60]; /* and what is written with it is read back */
        (void)snprintf(text, sizeof text, "12.5 %s", u->name);
        assert_true(quantity_parse(text, unit_base(u->dimension), &v, NULL, NULL));
        near(v, unit_to_base(u, 12.5), text);
    }
    for (int d = DIM_NONE + 1; d < DIM_COUNT; d++) {
        const struct unit *u = unit_base((enum dimension)d);
        assert_non_null(u);
        assert_true(u->factor == 1.0 && u->offset == 0.0);
    }
    assert_null(unit_base(DIM_NONE));
}

static void case_counts_only_where_it_matters(void **state)
{
    (void)state;
    assert_string_equal(unit_find("KG")->name, "kg");
    assert_string_equal(unit_find("Lbs")->name, "lb");
    assert_string_equal(unit_find("MMHG")->name, "mmHg");
    assert_string_equal(unit_find("mL")->name, "ml");
    assert_null(unit_find("M")); /* mega? metre? */
    assert_null(unit_find("n"));
    assert_null(unit_find(""));
    assert_null(unit_find(" mm"));
    assert_null(unit_find("a word longer than any unit's name"));
}

static void formats(double v, int decimals, bool fixed, const char *want)
{
    char buf[40];
    assert_ptr_equal(number_format(v, decimals, fixed, buf, sizeof buf), buf);
    assert_string_equal(buf, want);
}

static void formats_numbers(void **state)
{
    (void)state;
    formats(234.95, 2, false, "234.95");
    formats(234.9, 2, false, "234.9");
    formats(234.9, 2, true, "234.90");
    formats(234, 2, false, "234");
    formats(200, 0, false, "200"); /* zeros before the point stay */
    formats(0, 2, false, "0");
    formats(-0.0, 2, false, "0");
    formats(-0.004, 2, false, "0");
    formats(-0.004, 2, true, "0.00");
    formats(-0.006, 2, false, "-0.01");
    formats(-12.50, 1, false, "-12.5");
    formats(9.999, 2, true, "10.00");
    formats(0.1 + 0.2, 6, false, "0.3");
    char small[6];
    (void)number_format(123456789, 2, false, small, sizeof small); /* never beyond its room */
    assert_true(strlen(small) < sizeof small);
}

static void reads_the_head_of_a_canonical_value(void **state)
{
    (void)state;
    static const struct {
        const char *s;
        bool ok;
        double v;
    } rows[] = {
        {"234.95 mm", true, 234.95},
        {"3", true, 3},
        {"-0.5 deg", true, -0.5},
        {"", false, 0},
        {"mm", false, 0},
        {"-", false, 0},
        {"3mm", false, 0},
        {"nan", false, 0},
        {"-inf", false, 0},
        {"inf mm", false, 0},
        {"1e999 mm", false, 0},
        {"0x10 mm", false, 0}, /* a record may come from elsewhere */
        {"2026-11-24", false, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double v = 0;
        if (number_lead(rows[i].s, &v) != rows[i].ok)
            fail_msg("\"%s\" gives %.17g", rows[i].s, v);
        if (rows[i].ok)
            assert_true(v == rows[i].v);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_lengths),
        cmocka_unit_test(reads_other_things),
        cmocka_unit_test(minus_nothing_is_nothing),
        cmocka_unit_test(refuses_with_words),
        cmocka_unit_test(refuses_the_endless),
        cmocka_unit_test(knows_its_factors),
        cmocka_unit_test(every_row_of_the_table_can_be_found),
        cmocka_unit_test(case_counts_only_where_it_matters),
        cmocka_unit_test(formats_numbers),
        cmocka_unit_test(reads_the_head_of_a_canonical_value),
    };
    return cmocka_run_group_tests_name("units", tests, NULL, NULL);
}
