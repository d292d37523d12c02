/* Whether a stolen disk can be read: told from a folder that looks like sysfs. */
#include "base/shelter.h"
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <linux/fscrypt.h>
#include <linux/magic.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <unistd.h>

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

static bool mount_ext4(const char *image, const char *folder)
{
    static const char command[] = "truncate -s 16M \"$1\" && mkfs.ext4 -q -O encrypt \"$1\" && "
                                  "mkdir \"$2\" && mount -o loop \"$1\" \"$2\"";
    if (geteuid() != 0)
        return false;
    pid_t child = fork();
    if (child == 0) {
        dup2(open("/dev/null", O_WRONLY), 2);
        execlp("sh", "sh", "-c", command, "sh", image, folder, (char *)NULL);
        _exit(127);
    }
    int status = 1;
    return child > 0 && waitpid(child, &status, 0) == child && status == 0;
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
    device("dev/block/253:3", "CRYPT-VERITY-0123"); /* checked, and not encrypted */
    device("dev/block/253:4", "CRYPT-INTEGRITY-0123");
    device("dev/block/253:5", "CRYPT-SUBDEV-0123"); /* a helper, on an encrypted one */
    device("dev/block/253:5/slaves/dm-0", "CRYPT-PLAIN-swap");
    assert_int_equal(shelter_of_device(makedev(8, 1), root), SHELTER_NONE);
    assert_int_equal(shelter_of_device(makedev(253, 0), root), SHELTER_DISK);
    assert_int_equal(shelter_of_device(makedev(253, 1), root), SHELTER_DISK);
    assert_int_equal(shelter_of_device(makedev(253, 2), root), SHELTER_NONE);
    assert_int_equal(shelter_of_device(makedev(253, 3), root), SHELTER_NONE);
    assert_int_equal(shelter_of_device(makedev(253, 4), root), SHELTER_NONE);
    assert_int_equal(shelter_of_device(makedev(253, 5), root), SHELTER_DISK);
    assert_int_equal(shelter_of_device(makedev(0, 4040), root), SHELTER_UNKNOWN);
    assert_int_equal(shelter_of_device(makedev(9, 9), root), SHELTER_UNKNOWN);
    assert_int_equal(shelter_of("/no/such/folder", root), SHELTER_UNKNOWN);
}

/* The device of a real folder, as this sysfs tells of it: encrypted, plain, or not at all. */
static void a_folder_is_as_safe_as_its_disk(void **state)
{
    (void)state;
    char place[64];
    struct stat st;
    enum shelter untold = shelter_of(root, "/no/such/sysfs");
    assert_true(untold == SHELTER_UNKNOWN || untold == SHELTER_MEMORY || untold == SHELTER_FOLDER);
    assert_int_equal(stat(root, &st), 0);
    snprintf(place, sizeof place, "dev/block/%u:%u", major(st.st_dev), minor(st.st_dev));
    device(place, NULL);
    if (untold != SHELTER_FOLDER)
        assert_int_equal(shelter_of(root, root), SHELTER_NONE);
    device(place, "CRYPT-LUKS2-0123");
    if (untold != SHELTER_FOLDER)
        assert_int_equal(shelter_of(root, root), SHELTER_DISK);
}

/* A chain of devices longer than any real one is not followed for ever. */
static void a_ring_of_devices_ends(void **state)
{
    (void)state;
    char link[512];
    device("dev/block/9:0", "LVM-ring");
    device("dev/block/9:0/slaves", NULL);
    snprintf(link, sizeof link, "%s/dev/block/9:0/slaves/dm-9", root);
    assert_int_equal(symlink("../../9:0", link), 0);
    assert_int_equal(shelter_of_device(makedev(9, 0), root), SHELTER_NONE);
}

static void networks_are_known_by_their_magic(void **state)
{
    (void)state;
    static const unsigned long far[] = {NFS_SUPER_MAGIC, CIFS_SUPER_MAGIC, SMB2_SUPER_MAGIC,
                                        CEPH_SUPER_MAGIC, V9FS_MAGIC};
    static const unsigned long near[] = {EXT4_SUPER_MAGIC, TMPFS_MAGIC, BTRFS_SUPER_MAGIC,
                                         OVERLAYFS_SUPER_MAGIC};
    for (size_t i = 0; i < sizeof far / sizeof far[0]; i++)
        assert_true(shelter_network(far[i]));
    for (size_t i = 0; i < sizeof near / sizeof near[0]; i++)
        assert_false(shelter_network(near[i]));
}

static void only_what_a_thief_cannot_read_is_safe(void **state)
{
    (void)state;
    static const enum shelter safe[] = {SHELTER_DISK, SHELTER_FOLDER, SHELTER_MEMORY};
    size_t count = 0;
    for (int s = 0; s < SHELTER_COUNT; s++) {
        count += shelter_safe((enum shelter)s);
        assert_true(shelter_words((enum shelter)s)[0] != '\0');
        for (int other = 0; other < s; other++)
            assert_string_not_equal(shelter_id((enum shelter)s), shelter_id((enum shelter)other));
    }
    assert_int_equal(count, sizeof safe / sizeof safe[0]);
    for (size_t i = 0; i < count; i++)
        assert_true(shelter_safe(safe[i]));
}

/* What the kernel answers when it is asked for the policy of a folder. */
static void what_the_file_system_offers_is_told(void **state)
{
    (void)state;
    assert_int_equal(shelter_offer_of(0), OFFER_FOLDER);
    assert_int_equal(shelter_offer_of(ENODATA), OFFER_FOLDER);
    assert_int_equal(shelter_offer_of(EOPNOTSUPP), OFFER_FEATURE);
    assert_int_equal(shelter_offer_of(ENOTTY), OFFER_CANNOT);
    assert_int_equal(shelter_offer("/no/such/folder"), OFFER_CANNOT);
    assert_non_null(strstr(shelter_offer_words(OFFER_FOLDER), "fscrypt encrypt"));
    assert_null(strstr(shelter_offer_words(OFFER_FOLDER), "tune2fs"));
    assert_non_null(strstr(shelter_offer_words(OFFER_FEATURE), "tune2fs -O encrypt"));
    assert_non_null(strstr(shelter_offer_words(OFFER_CANNOT), "LUKS"));
}

/* On a real ext4 in a file, where root may mount one: no feature, feature, policy set. */
static void a_real_encrypted_folder_is_recognised(void **state)
{
    (void)state;
    char line[512], folder[128];
    struct fscrypt_add_key_arg *key = calloc(1, sizeof *key + FSCRYPT_MAX_KEY_SIZE);
    struct fscrypt_policy_v2 policy = {.version = FSCRYPT_POLICY_V2,
                                       .contents_encryption_mode = FSCRYPT_MODE_AES_256_XTS,
                                       .filenames_encryption_mode = FSCRYPT_MODE_AES_256_CTS,
                                       .flags = FSCRYPT_POLICY_FLAGS_PAD_32};
    assert_non_null(key);
    snprintf(line, sizeof line, "%s/disk", root);
    snprintf(folder, sizeof folder, "%s/mounted", root);
    if (!mount_ext4(line, folder)) {
        free(key);
        skip();
    }
    assert_int_equal(shelter_offer(folder), OFFER_FOLDER);
    assert_int_not_equal(shelter_of(folder, root), SHELTER_FOLDER);
    snprintf(line, sizeof line, "%s/records", folder);
    assert_int_equal(mkdir(line, 0700), 0);
    key->key_spec.type = FSCRYPT_KEY_SPEC_TYPE_IDENTIFIER;
    key->raw_size = 64;
    memset(key->raw, 7, 64);
    int fd = open(line, O_RDONLY | O_DIRECTORY);
    bool set = ioctl(fd, FS_IOC_ADD_ENCRYPTION_KEY, key) == 0;
    memcpy(policy.master_key_identifier, key->key_spec.u.identifier,
           sizeof policy.master_key_identifier);
    set = set && ioctl(fd, FS_IOC_SET_ENCRYPTION_POLICY, &policy) == 0;
    close(fd);
    enum shelter found = shelter_of(line, root);
    assert_int_equal(umount(folder), 0);
    free(key);
    if (!set)
        skip();
    assert_int_equal(found, SHELTER_FOLDER);
}

static void a_folder_that_others_can_open_is_noticed(void **state)
{
    (void)state;
    char folder[128], file[160];
    snprintf(folder, sizeof folder, "%s/modes", root);
    snprintf(file, sizeof file, "%s/journal.db", folder);
    assert_int_equal(mkdir(folder, 0700), 0);
    int fd = open(file, O_CREAT | O_WRONLY, 0600);
    assert_true(fd >= 0);
    close(fd);
    assert_false(shelter_open_to_others(folder));
    assert_int_equal(chmod(file, 0640), 0);
    assert_true(shelter_open_to_others(folder));
    assert_int_equal(chmod(file, 0600), 0);
    assert_int_equal(chmod(folder, 0711), 0);
    assert_true(shelter_open_to_others(folder));
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
        cmocka_unit_test(a_folder_is_as_safe_as_its_disk),
        cmocka_unit_test(a_ring_of_devices_ends),
        cmocka_unit_test(networks_are_known_by_their_magic),
        cmocka_unit_test(only_what_a_thief_cannot_read_is_safe),
        cmocka_unit_test(what_the_file_system_offers_is_told),
        cmocka_unit_test(a_real_encrypted_folder_is_recognised),
        cmocka_unit_test(a_folder_that_others_can_open_is_noticed),
        cmocka_unit_test(memory_is_not_dumped),
        cmocka_unit_test(an_open_swap_is_noticed),
    };
    return cmocka_run_group_tests(tests, up, down);
}
