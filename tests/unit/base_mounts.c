/* The table of mounts, taken apart: what the kernel writes, and what it never should. */
#include "base/mounts.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static bool parse(const char *line, struct mount *out)
{
    snprintf(out->line, sizeof out->line, "%s", line);
    return mount_parse(out->line, out);
}

static void a_line_is_taken_apart(void **state)
{
    (void)state;
    struct mount m;
    assert_true(parse("66 43 0:42 /a\\040b /mnt/up\\134\\054p\\011er rw,relatime - overlay ov "
                      "rw,lowerdir=/l,uuid=on\n",
                      &m));
    assert_int_equal(m.id, 66);
    assert_string_equal(m.root, "/a b");
    assert_string_equal(m.point, "/mnt/up\\,p\ter");
    assert_string_equal(m.type, "overlay");
    assert_string_equal(m.options, "rw,lowerdir=/l,uuid=on");
    assert_true(parse("7 1 8:1 / / rw shared:1 master:2 propagate_from:3 - fuse.x  r", &m));
    assert_string_equal(m.type, "fuse.x"); /* whose source is empty */
    assert_string_equal(m.options, "r");
}

static void what_is_no_line_is_refused(void **state)
{
    (void)state;
    static const char *const broken[] = {
        "",
        "\n",
        "66",
        "66 43 0:42 / /mnt",
        "66 43 0:42 / /mnt rw",
        "66 43 0:42 / /mnt rw -",
        "66 43 0:42 / /mnt rw - ext4",
        "66 43 0:42 / /mnt rw - ext4 /dev/vda",
        "66 43 0:42 / /mnt rw shared:1 ext4 /dev/vda rw",
        "x 43 0:42 / /mnt rw - ext4 /dev/vda rw",
        "-6 43 0:42 / /mnt rw - ext4 /dev/vda rw",
        "6x 43 0:42 / /mnt rw - ext4 /dev/vda rw",
        " 43 0:42 / /mnt rw - ext4 /dev/vda rw",
    };
    struct mount m;
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++)
        assert_false(parse(broken[i], &m));
}

static void broken_escapes_stay_as_they_are(void **state)
{
    (void)state;
    struct mount m;
    assert_true(parse("1 1 0:1 \\ \\400\\08\\1 rw - t s o", &m));
    assert_string_equal(m.root, "\\");
    assert_string_equal(m.point, "\\400\\08\\1");
}

static void options_are_found_by_their_whole_name(void **state)
{
    (void)state;
    struct mount m;
    char value[9];
    assert_true(parse("1 1 0:1 / / rw - overlay o rw,xupperdir=/x,upper=/y,upperdir=/up\\040per,,"
                      "flag,empty=,long=123456789,twice=1,twice=2",
                      &m));
    assert_false(mount_option(&m, "upperdir", value, sizeof value)); /* ten as it is written */
    assert_true(mount_option(&m, "upper", value, sizeof value));
    assert_string_equal(value, "/y");
    assert_true(mount_option(&m, "flag", value, sizeof value));
    assert_string_equal(value, "");
    assert_true(mount_option(&m, "empty", value, sizeof value));
    assert_string_equal(value, "");
    assert_true(mount_option(&m, "twice", value, sizeof value));
    assert_string_equal(value, "1");
    assert_false(mount_option(&m, "long", value, sizeof value));
    assert_false(mount_option(&m, "fla", value, sizeof value));
    assert_false(mount_option(&m, "flagg", value, sizeof value));
    char room[32];
    assert_true(mount_option(&m, "upperdir", room, sizeof room));
    assert_string_equal(room, "/up per");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_is_taken_apart),
        cmocka_unit_test(what_is_no_line_is_refused),
        cmocka_unit_test(broken_escapes_stay_as_they_are),
        cmocka_unit_test(options_are_found_by_their_whole_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
