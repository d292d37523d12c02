/* Who answers for records on a disk that anybody can read, and until when. */
#include "casebook/sheltering.h"
#include "journal/apply.h"
#include "tests/unit/casebook_world.h"
#include <sys/stat.h>
#include <sys/sysmacros.h>

/* A sysfs that tells of the device under the world's folder; "" for a plain one. */
static const char *sysfs(struct world *w, const char *uuid)
{
    static const char *const levels[] = {"", "/dev", "/dev/block"};
    struct stat st;
    assert_int_equal(stat(w->folder, &st), 0);
    const char *root = arena_printf(w->arena, "%s.sys", w->folder);
    for (size_t i = 0; i < 3; i++)
        mkdir(arena_printf(w->arena, "%s%s", root, levels[i]), 0700);
    const char *disk =
        arena_printf(w->arena, "%s/dev/block/%u:%u", root, major(st.st_dev), minor(st.st_dev));
    mkdir(disk, 0700);
    mkdir(arena_printf(w->arena, "%s/dm", disk), 0700);
    FILE *out = fopen(arena_printf(w->arena, "%s/dm/uuid", disk), "w");
    assert_non_null(out);
    fputs(uuid, out);
    assert_int_equal(fclose(out), 0);
    return root;
}

static void sysfs_away(struct world *w)
{
    struct stat st;
    assert_int_equal(stat(w->folder, &st), 0);
    const char *block = arena_printf(w->arena, "%s.sys/dev/block", w->folder);
    const char *disk =
        arena_printf(w->arena, "%s/%u:%u", block, major(st.st_dev), minor(st.st_dev));
    unlink(arena_printf(w->arena, "%s/dm/uuid", disk));
    rmdir(arena_printf(w->arena, "%s/dm", disk));
    rmdir(disk);
    rmdir(block);
    rmdir(arena_printf(w->arena, "%s.sys/dev", w->folder));
    rmdir(arena_printf(w->arena, "%s.sys", w->folder));
}

static struct sheltering look(struct world *w, const char *root)
{
    struct sheltering s;
    OK(sheltering_look(&w->cb, w->arena, root, &s, f));
    return s;
}

static void an_answer_holds_for_what_it_answered(void **state)
{
    struct world *w = *state;
    somebody(w, "IQ", "Ida Quill");
    const char *root = sysfs(w, "LVM-1");
    struct sheltering s = look(w, root);
    assert_int_equal(s.kind, SHELTER_NONE);
    assert_non_null(strstr(s.line, "NOT ENCRYPTED"));
    uint64_t before = entries(w);
    REFUSED(sheltering_answer(&w->cb, w->arena, root, "", f), FAULT_INPUT, "without words");
    assert_int_equal(entries(w), before);

    OK(sheltering_answer(&w->cb, w->arena, root, "it never leaves the safe", f));
    assert_int_equal(entries(w), before + 2); /* which device, and why: on record, by whom */
    s = look(w, root);
    assert_string_equal(s.because, "it never leaves the safe");
    assert_string_equal(s.by, "IQ");
    assert_string_equal(s.line,
                        "Not encrypted, kept so by IQ on Tue 24 Nov: it never leaves the safe");

    sysfs(w, "CRYPT-LUKS2-1");
    s = look(w, root);
    assert_string_equal(s.line, "");
    before = entries(w);
    OK(sheltering_answer(&w->cb, w->arena, root, "needless", f));
    assert_int_equal(entries(w), before);

    sysfs(w, "LVM-1"); /* plain again: the old answer was for this */
    assert_string_equal(look(w, root).because, "it never leaves the safe");
    s = look(w, "/no/such/sysfs");
    if (s.kind == SHELTER_UNKNOWN) { /* an answer to something else */
        assert_string_equal(s.because, "");
        assert_non_null(strstr(s.line, "CANNOT TELL"));
    }
    sysfs_away(w);
}

/* A record that goes on under a new name is on another computer: somebody answers there. */
static void another_device_answers_for_itself(void **state)
{
    struct world *w = *state;
    somebody(w, "IQ", "Ida Quill");
    const char *root = sysfs(w, "");
    OK(sheltering_answer(&w->cb, w->arena, root, "a trial", f));
    OK(journal_renew_identity(w->cb.journal, f));
    assert_string_equal(look(w, root).because, "");
    OK(sheltering_answer(&w->cb, w->arena, root, "another trial", f));
    assert_string_equal(look(w, root).because, "another trial");
    sysfs_away(w);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(an_answer_holds_for_what_it_answered),
        TEST(another_device_answers_for_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
