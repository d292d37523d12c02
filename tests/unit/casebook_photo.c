#include "calc/parallax.h"
#include "casebook/photo.h"
#include "casebook_world.h"
#include <sys/stat.h>

static const char *a_file(struct world *w, const char *content)
{
    const char *path = arena_printf(w->arena, "%s/side.jpg", w->folder);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    assert_true(fputs(content, out) >= 0);
    assert_int_equal(fclose(out), 0);
    return path;
}

static void the_file_is_known_again(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_int_equal(photo_look(&c), PHOTO_NONE);
    const char *path = a_file(w, "abc");
    put(w, &c.visit, ID_PHOTO, path);
    assert_int_equal(photo_look(&c), PHOTO_UNSEEN);
    OK(photo_keep(&c, f));
    /* FIPS 180-2, the message "abc" */
    assert_string_equal(record_text(&c.visit, ID_PHOTO_SHA),
                        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_string_equal(record_text(&c.visit, ID_PHOTO_BYTES), "3");
    assert_int_equal(photo_look(&c), PHOTO_UNCHANGED);
    /* The copy is what is looked at, whatever becomes of the file. */
    (void)a_file(w, "abd");
    assert_int_equal(photo_look(&c), PHOTO_UNCHANGED);
    (void)unlink(path);
    assert_int_equal(photo_look(&c), PHOTO_UNCHANGED);
    struct stat st;
    const char *copy = photo_path(&c);
    assert_non_null(strstr(copy, "/photos/ba7816bf8f01cfea"));
    assert_int_equal(stat(copy, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
    (void)unlink(copy);
    assert_int_equal(photo_look(&c), PHOTO_GONE);
    (void)a_file(w, "abd");
    assert_int_equal(photo_look(&c), PHOTO_OTHER);
    put(w, &c.visit, ID_PHOTO, "/nowhere/at-all.jpg");
    REFUSED(photo_keep(&c, f), FAULT_MISSING, "cannot be opened");
    assert_string_equal(record_text(&c.visit, ID_PHOTO_SHA), "");
    assert_string_equal(record_text(&c.visit, ID_PHOTO), "/nowhere/at-all.jpg");
    put(w, &c.visit, ID_PHOTO, w->folder);
    REFUSED(photo_keep(&c, f), FAULT_INPUT, "is no file");
}

/* Put into the folder by hand, or by a telephone: named by its content without a second copy. */
static void a_file_in_the_folder_is_not_copied(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct stat st;
    a_visit(w, &c);
    const char *folder = arena_printf(w->arena, "%s/photos", journal_folder(w->cb.journal));
    assert_int_equal(mkdir(folder, 0700), 0);
    assert_int_equal(rename(a_file(w, "abc"), arena_printf(w->arena, "%s/side.jpg", folder)), 0);
    put(w, &c.visit, ID_PHOTO, "side.jpg");
    OK(photo_keep(&c, f));
    assert_int_equal(photo_look(&c), PHOTO_UNCHANGED);
    assert_int_equal(stat(photo_path(&c), &st), 0);
    assert_int_equal(st.st_nlink, 2);
}

static void no_room_for_the_copy_is_said(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    put(w, &c.visit, ID_PHOTO, a_file(w, "abc"));
    const char *folder = arena_printf(w->arena, "%s/photos", journal_folder(w->cb.journal));
    FILE *in_the_way = fopen(folder, "w");
    assert_non_null(in_the_way);
    assert_int_equal(fclose(in_the_way), 0);
    REFUSED(photo_keep(&c, f), FAULT_STORE, "cannot write");
    assert_string_equal(record_text(&c.visit, ID_PHOTO_SHA), "");
}

/* The ray from the lens through the point, met with the rule by another way than the formula. */
static void the_ray_meets_the_rule(void **state)
{
    (void)state;
    static const struct parallax_in cases[] = {
        {2000, 1500, 600, 100}, {2000, 200, 600, 100}, {3000, 600, 600, 150}, {1000, 0, 228, 70}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct parallax_in *in = &cases[i];
        struct parallax_out out;
        OK(parallax_solve(in, &out, f));
        double slope =
            (in->height_mm - in->lens_height_mm) / (in->distance_mm + in->rule_before_mm);
        NEAR(out.reads_mm, in->lens_height_mm + slope * in->distance_mm, 1e-9);
        NEAR(out.error_mm, out.reads_mm - in->height_mm, 1e-9);
    }
    struct parallax_out out;
    REFUSED(parallax_solve(&(struct parallax_in){0, 0, 600, 0}, &out, f), FAULT_INPUT,
            "distance_mm");
}

static void the_photograph_is_laid_beside_the_number(void **state)
{
    struct world *w = *state;
    struct chart c;
    a_visit(w, &c);
    assert_string_equal(photo_compare_words(&c), "");
    put(w, &c.visit, "withers_height.1", "228 mm");
    put(w, &c.visit, "withers_height.2", "228 mm");
    put(w, &c.visit, "photo.withers", "256 mm");
    assert_non_null(strstr(photo_compare_words(&c), "reads 28 mm more than what was entered:"));
    /* lens 1.5 m up, 3 m away, the rule 7 cm before the withers: (1500 - 228) 70 / 3070 = 29 mm */
    put(w, &c.visit, "photo.distance", "3000 mm");
    put(w, &c.visit, "photo.lens_height", "1500 mm");
    put(w, &c.visit, "photo.rule_before", "70 mm");
    assert_string_equal(photo_parallax_words(&c),
                        "From where the lens stood the rule reads 29 mm high.");
    assert_string_equal(photo_compare_words(&c),
                        "Photograph and rule agree within 5 mm, less what the lens adds.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_file_is_known_again),
        TEST(a_file_in_the_folder_is_not_copied),
        TEST(no_room_for_the_copy_is_said),
        TEST(the_ray_meets_the_rule),
        TEST(the_photograph_is_laid_beside_the_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
