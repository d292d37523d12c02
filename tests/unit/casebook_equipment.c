/* The practice's own frames: in order, late ones named, and which of them fits. */
#include "casebook/equipment.h"
#include "casebook/lending.h"
#include "casebook/review.h"
#include "casebook_world.h"

static struct record a_frame(struct world *w, const char *name, const char *width,
                             const char *opening)
{
    struct record r;
    OK(equipment_new(&w->cb, w->arena, name, &r, f));
    put(w, &r, "equipment.frame", "level_small");
    put(w, &r, "equipment.width", width);
    put(w, &r, "equipment.opening", opening);
    return r;
}

static void a_dog(struct world *w, struct chart *c)
{
    a_visit(w, c);
    put(w, &c->visit, ID_SUPPORT, "level");
    put(w, &c->visit, "body_mass.1", "12 kg");
    put(w, &c->visit, "stance_length.1", "400 mm");
    put(w, &c->visit, "withers_height.1", "420 mm");
    put(w, &c->visit, "hip_width.1", "200 mm");
    put(w, &c->visit, "thigh_depth.1", "90 mm");
    put(w, &c->visit, "fore_scale.1", "7.2 kg");
    put(w, &c->visit, "hind_scale.1", "4.8 kg");
    put(w, &c->visit, "hind_movement", "none");
}

static void late_ones_come_first_and_gone_ones_not(void **state)
{
    struct world *w = *state;
    const struct equipment *rows;
    size_t count;
    (void)a_frame(w, "A1", "210 mm", "94 mm");
    struct record b = a_frame(w, "B2", "210 mm", "94 mm"), c = a_frame(w, "C3", "1 mm", "1 mm");
    put(w, &b, "equipment.state", "out");
    put(w, &b, "equipment.due", "2026-11-20");
    put(w, &c, "equipment.state", "gone");
    OK(equipment_look(&w->cb, w->arena, NULL, &rows, &count, f));
    assert_int_equal(count, 2);
    assert_string_equal(rows[0].name, "B2");
    assert_true(rows[0].late);
    assert_string_equal(rows[1].name, "A1");
    assert_false(rows[1].late);
    assert_int_equal(rows[0].fits, FITS_NOT_ASKED);
}

static void which_one_fits_and_at_what_setting(void **state)
{
    struct world *w = *state;
    struct chart c;
    const struct equipment *rows;
    size_t count;
    a_dog(w, &c); /* needs 210 mm at the hips and 94 mm in the rest */
    (void)a_frame(w, "narrow", "200 mm", "94 mm");
    (void)a_frame(w, "right", "210 mm", "94 mm");
    (void)a_frame(w, "wide", "225 mm", "100 mm");
    (void)a_frame(w, "huge", "300 mm", "94 mm");
    struct record strange = a_frame(w, "strange", "210 mm", "94 mm");
    put(w, &strange, "equipment.frame", "nothing_known");
    struct record light = a_frame(w, "light", "210 mm", "94 mm");
    put(w, &light, "equipment.mass_high", "10 kg");
    OK(equipment_look(&w->cb, w->arena, &c, &rows, &count, f));
    assert_int_equal(count, 6);
    assert_string_equal(rows[0].name, "right");
    assert_int_equal(rows[0].fits, FITS_YES);
    NEAR(rows[0].axle_mm, 360, 1e-9); /* nearest to neutral */
    assert_int_equal(rows[0].step, 6);
    assert_string_equal(rows[1].name, "wide");
    assert_int_equal(rows[1].fits, FITS_PADDED);
    assert_non_null(strstr(rows[1].why, "15 mm too large"));
    assert_string_equal(rows[2].name, "strange"); /* cannot be said */
    assert_int_equal(rows[2].fits, FITS_NOT_ASKED);
    assert_int_equal(rows[3].fits, FITS_NO);
    assert_non_null(strstr(rows[3].why, "90 mm too large")); /* huge */
    assert_non_null(strstr(rows[4].why, "10 kg at most"));
    assert_non_null(strstr(rows[5].why, "10 mm too small"));
}

static void what_is_not_measured_cannot_fit(void **state)
{
    struct world *w = *state;
    struct chart c;
    const struct equipment *rows;
    size_t count;
    a_visit(w, &c);
    (void)a_frame(w, "right", "210 mm", "94 mm");
    OK(equipment_look(&w->cb, w->arena, &c, &rows, &count, f));
    assert_int_equal(rows[0].fits, FITS_NO);
    assert_non_null(strstr(rows[0].why, "still to measure"));
}

static const struct equipment *only(struct world *w)
{
    const struct equipment *rows;
    size_t count;
    OK(equipment_look(&w->cb, w->arena, NULL, &rows, &count, f));
    assert_int_equal(count, 1);
    return rows;
}

static void lent_and_back(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_dog(w, &c);
    struct record r = a_frame(w, "Blue", "210 mm", "94 mm");
    OK(frame_lend(&c, r.entity, "2026-12-01", f));
    assert_string_equal(only(w)->state, "out");
    assert_non_null(strstr(only(w)->where, "Biscuit"));
    REFUSED(frame_lend(&c, r.entity, "", f), FAULT_REFUSED, "not here");
    OK(frame_take_back(&w->cb, w->arena, r.entity, f));
    assert_string_equal(only(w)->state, "back");
    assert_string_equal(only(w)->due, "");
    uint64_t before = entries(w);
    OK(frame_take_back(&w->cb, w->arena, r.entity, f));
    assert_int_equal(entries(w), before);
    REFUSED(frame_lend(&c, r.entity, "", f), FAULT_REFUSED, "clean and check");
}

static size_t loans_due(struct world *w)
{
    struct today t;
    size_t n = 0;
    OK(today_look(&w->cb, w->arena, &t, f));
    for (size_t i = 0; i < t.count; i++)
        n += t.rows[i].kind == DUE_LOAN;
    return n;
}

/* Nobody is rung about it from the moment the case is closed; what is said later decides. */
static void closing_brings_it_back_to_the_register(void **state)
{
    struct world *w = *state;
    struct chart c, other;
    a_dog(w, &c);
    a_dog(w, &other);
    struct record mine = a_frame(w, "Mine", "210 mm", "94 mm");
    OK(frame_lend(&c, mine.entity, "2026-11-20", f));
    assert_int_equal(loans_due(w), 1);
    OK(case_close(&other, f)); /* of the same name: its case says nothing of this frame */
    assert_string_equal(only(w)->state, "out");
    OK(case_close(&c, f));
    assert_int_equal(loans_due(w), 0);
    assert_string_equal(only(w)->state, "waits");
    assert_non_null(strstr(only(w)->where, "Biscuit"));
    put(w, &c.dog, ID_CLOSED_FRAMES, "back");
    OK(frames_follow_closing(&c, f));
    assert_string_equal(only(w)->state, "back");
    assert_null(strstr(only(w)->where, "Biscuit"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(late_ones_come_first_and_gone_ones_not), TEST(which_one_fits_and_at_what_setting),
        TEST(what_is_not_measured_cannot_fit),        TEST(lent_and_back),
        TEST(closing_brings_it_back_to_the_register),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
