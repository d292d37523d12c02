/* Whether a stolen disk can be read: told from a folder that looks like sysfs. */
#include "base/shelter.h"
#include <ftw.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>

#include <cmocka.h>

static char root[] = "/tmp/amble-sysfs-XXXXXX";

/* A device, what dm says it is (NULL: it is no dm), and the folder of its slaves. */
static void device(const char *path, const char *uuid)
{
    char text[512];
    for (const char *c = path; (c = strchr(c, '/')); c++) {
        snprintf(text, sizeof text, "%s/%.*s", root, (int)(c - path), path);
        mkdir(text, 0700);
    }
    snprintf(text, sizeof text, "%s/%s", root, path);
    mkdir(text, 0700);
    if (uuid) {
        snprintf(text, sizeof text, "%s/%s/dm", root, path);
        mkdir(text, 0700);
        snprintf(text, sizeof text, "%s/%s/dm/uuid", root, path);
        FILE *out = fopen(text, "w");
        assert_non_null(out);
        fprintf(out, "%s\n", uuid);
        fclose(out);
    }
}

static void disks_are_walked_to_the_bottom(void **state)
{
    (void)state;
    device("dev/block/8:1", NULL); /* a plain partition */
    device("dev/block/253:0", "CRYPT-LUKS2-0123");
    device("dev/block/253:1", "LVM-abc"); /* on one encrypted disk */
    device("dev/block/253:1/slaves/dm-0", "CRYPT-LUKS2-0123");
    device("dev/block/253:2", "LVM-def"); /* on two, one of them plain */
    device("dev/block/253:2/slaves/dm-0", "CRYPT-LUKS2-0123");
    device("dev/block/253:2/slaves/sdb1", NULL);
    assert_int_equal(shelter_of_device(makedev(8, 1), root), SHELTER_NONE);
    assert_int_equal(shelter_of_device(makedev(253, 0), root), SHELTER_DISK);
    assert_int_equal(shelter_of_device(makedev(253, 1), root), SHELTER_DISK);
    assert_int_equal(shelter_of_device(makedev(253, 2), root), SHELTER_NONE);
    assert_int_equal(shelter_of_device(makedev(0, 40), root), SHELTER_UNKNOWN);
    assert_int_equal(shelter_of_device(makedev(9, 9), root), SHELTER_UNKNOWN);
    assert_int_equal(shelter_of("/no/such/folder", root), SHELTER_UNKNOWN);
}

static void memory_is_not_dumped(void **state)
{
    (void)state;
    struct rlimit core;
    shelter_memory();
    assert_int_equal(getrlimit(RLIMIT_CORE, &core), 0);
    assert_int_equal(core.rlim_cur, 0);
}

static void an_open_swap_is_noticed(void **state)
{
    (void)state;
    char path[128];
    snprintf(path, sizeof path, "%s/swaps", root);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    fprintf(out, "Filename Type Size Used Priority\n/dev/zram0 partition 1 0 100\n");
    fclose(out);
    assert_false(shelter_swaps_open(path, root));
    out = fopen(path, "a");
    assert_non_null(out);
    fprintf(out, "/swapfile file 1 0 -2\n");
    fclose(out);
    assert_true(shelter_swaps_open(path, root));
    assert_false(shelter_swaps_open("/no/such/file", root));
}

static int remove_one(const char *path, const struct stat *st, int flag, struct FTW *at)
{
    (void)st, (void)flag, (void)at;
    return remove(path);
}

static int up(void **state)
{
    (void)state;
    return mkdtemp(root) ? 0 : 1;
}

static int down(void **state)
{
    (void)state;
    return nftw(root, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(disks_are_walked_to_the_bottom),
        cmocka_unit_test(memory_is_not_dumped),
        cmocka_unit_test(an_open_swap_is_noticed),
    };
    return cmocka_run_group_tests(tests, up, down);
}
