/* Whether a stolen disk can be read: told from a folder that looks like sysfs. */
#include "base/ident.h"
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
#include <sys/prctl.h>
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

/* A script for the shell, with two words for it; false also where this is not root. */
static bool as_root(const char *script, const char *first, const char *second)
{
    if (geteuid() != 0)
        return false;
    pid_t child = fork();
    if (child == 0) {
        int nowhere = open("/dev/null", O_WRONLY);
        dup2(nowhere, 1);
        dup2(nowhere, 2);
        execlp("sh", "sh", "-c", script, "sh", first, second, (char *)NULL);
        _exit(127);
    }
    int status = 1;
    return child > 0 && waitpid(child, &status, 0) == child && status == 0;
}

/* The device of a real folder in this sysfs, with what dm says of it. */
static void device_of(const char *folder, const char *uuid)
{
    char place[64];
    struct stat st;
    assert_int_equal(stat(folder, &st), 0);
    snprintf(place, sizeof place, "dev/block/%u:%u", major(st.st_dev), minor(st.st_dev));
    device(place, uuid);
}

/* The table of mounts: what is mounted at /proc, which has no device in any sysfs, is `type` with
 * `options`, its folder `of` being what is seen there. `before` goes first. */
static void proc_is(const char *before, const char *of, const char *type, const char *options)
{
    char path[64];
    struct statx at;
    assert_int_equal(statx(AT_FDCWD, "/proc", 0, STATX_MNT_ID, &at), 0);
    assert_true(at.stx_mask & STATX_MNT_ID);
    snprintf(path, sizeof path, "%s/mountinfo", root);
    FILE *out = fopen(path, "w");
    assert_non_null(out);
    fprintf(out, "%s%llu 1 0:5 %s /proc rw,relatime shared:3 - %s none %s\n", before,
            (unsigned long long)at.stx_mnt_id, of, type, options);
    fclose(out);
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
    enum shelter untold = shelter_of(root, "/no/such/sysfs");
    assert_true(untold == SHELTER_UNKNOWN || untold == SHELTER_MEMORY || untold == SHELTER_FOLDER);
    device_of(root, NULL);
    if (untold != SHELTER_FOLDER)
        assert_int_equal(shelter_of(root, root), SHELTER_NONE);
    device_of(root, "CRYPT-LUKS2-0123");
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

static void a_btrfs_is_as_safe_as_its_worst_disk(void **state)
{
    (void)state;
    static const unsigned char one[16] = {1}, two[16] = {2}, plain[16] = {3}, none[16] = {4},
                               shown[16] = {0x8d, 0xd8, 0xd0, 0x70, 0x82, 0xdf, 0x45, 0xe6,
                                            0x95, 0x82, 0x56, 0x75, 0x14, 0x8b, 0x61, 0xc0};
    device("fs/btrfs/01000000-0000-0000-0000-000000000000/devices/dm-0", "CRYPT-LUKS2-01");
    device("fs/btrfs/02000000-0000-0000-0000-000000000000/devices/dm-0", "CRYPT-LUKS2-01");
    device("fs/btrfs/02000000-0000-0000-0000-000000000000/devices/sdb1", NULL);
    device("fs/btrfs/03000000-0000-0000-0000-000000000000/devices/sda2", NULL);
    device("fs/btrfs/04000000-0000-0000-0000-000000000000/devices", NULL);
    device("fs/btrfs/8dd8d070-82df-45e6-9582-5675148b61c0/devices/dm-1/slaves/dm-0", "CRYPT-LUKS1");
    device("fs/btrfs/8dd8d070-82df-45e6-9582-5675148b61c0/devices/dm-2", "CRYPT-LUKS2-02");
    assert_int_equal(shelter_of_btrfs(one, root), SHELTER_DISK);
    assert_int_equal(shelter_of_btrfs(two, root), SHELTER_NONE);
    assert_int_equal(shelter_of_btrfs(plain, root), SHELTER_NONE);
    assert_int_equal(shelter_of_btrfs(none, root), SHELTER_UNKNOWN);
    assert_int_equal(shelter_of_btrfs(shown, root), SHELTER_DISK);
    assert_int_equal(shelter_of_btrfs(one, "/no/such/sysfs"), SHELTER_UNKNOWN);
}

/* Where /tmp itself is encrypted by fscrypt nothing else is asked. */
static void an_overlay_is_as_safe_as_where_it_writes(void **state)
{
    (void)state;
    char upper[64], written[96], options[256];
    if (shelter_of(root, "/no/such/sysfs") == SHELTER_FOLDER)
        skip();
    snprintf(upper, sizeof upper, "%s/up per", root);
    assert_int_equal(mkdir(upper, 0700), 0);
    snprintf(options, sizeof options, "rw,lowerdir=/a,upperdir=%s/up\\040per,workdir=/w", root);
    proc_is("", "/", "overlay", options);
    device_of(root, "LVM-1");
    assert_int_equal(shelter_of("/proc", root), SHELTER_NONE);
    device_of(root, "CRYPT-LUKS2-0123");
    assert_int_equal(shelter_of("/proc", root), SHELTER_DISK);

    /* a folder that nothing was written to: its path may mean something else here */
    assert_int_equal(shelter_of("/proc/self", root), SHELTER_UNKNOWN);
    snprintf(written, sizeof written, "%s/%d", upper, (int)getpid());
    assert_int_equal(mkdir(written, 0700), 0);
    assert_int_equal(shelter_of("/proc/self", root), SHELTER_DISK);
    proc_is("", "/part", "overlay", options); /* a part of the overlay, mounted alone */
    assert_int_equal(shelter_of("/proc", root), SHELTER_UNKNOWN);
    snprintf(written, sizeof written, "%s/part", upper);
    assert_int_equal(mkdir(written, 0700), 0);
    assert_int_equal(shelter_of("/proc", root), SHELTER_DISK);

    proc_is("", "/", "overlay", "ro,lowerdir=/a:/b");
    assert_int_equal(shelter_of("/proc", root), SHELTER_UNKNOWN);
    proc_is("", "/", "overlay", "rw,lowerdir=/a,upperdir=/no/such/folder,workdir=/w");
    assert_int_equal(shelter_of("/proc", root), SHELTER_UNKNOWN);
    proc_is("", "/", "overlay", "rw,lowerdir=/a,upperdir=/proc,workdir=/w");
    assert_int_equal(shelter_of("/proc", root), SHELTER_UNKNOWN); /* round and round */
    proc_is("", "/", "overlay", "rw,lowerdir=a,upperdir=.,workdir=w");
    assert_int_equal(shelter_of("/proc", root), SHELTER_UNKNOWN);
}

static void only_what_surely_encrypts_is_an_encrypted_folder(void **state)
{
    (void)state;
    static const struct {
        const char *type, *options;
        enum shelter kind;
    } cases[] = {
        {"fuse.gocryptfs", "rw,user_id=0", SHELTER_FOLDER},
        {"fuse.cryfs", "rw,user_id=0", SHELTER_FOLDER},
        {"ecryptfs", "rw,ecryptfs_sig=12,ecryptfs_cipher=aes", SHELTER_FOLDER},
        {"ecryptfs", "rw,ecryptfs_sig=12,ecryptfs_passthrough", SHELTER_UNKNOWN},
        {"ecryptfs", "rw,ecryptfs_encrypted_view,ecryptfs_sig=12", SHELTER_UNKNOWN},
        {"fuse.encfs", "rw,user_id=0", SHELTER_UNKNOWN},
        {"fuse.gocryptfs2", "rw,user_id=0", SHELTER_UNKNOWN},
        {"fuse", "rw,user_id=0", SHELTER_UNKNOWN},
        {"zfs", "rw,xattr,posixacl", SHELTER_UNKNOWN},
        {"bcachefs", "rw", SHELTER_UNKNOWN},
        {"btrfs", "rw,subvol=/", SHELTER_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        proc_is("", "/", cases[i].type, cases[i].options);
        assert_int_equal(shelter_of("/proc", root), cases[i].kind);
    }
    assert_int_equal(shelter_of("/proc", "/no/such/sysfs"), SHELTER_UNKNOWN);
}

/* The end of a line that is too long is no line, and what is broken hides none. */
static void a_broken_table_of_mounts_is_read_past(void **state)
{
    (void)state;
    struct statx at;
    char *before = malloc(200000);
    assert_non_null(before);
    assert_int_equal(statx(AT_FDCWD, "/proc", 0, STATX_MNT_ID, &at), 0);
    size_t n = (size_t)snprintf(before, 200000, "\n\n66\n%llu 1 0:5 / /proc rw ecryptfs\n \\ -\n",
                                (unsigned long long)at.stx_mnt_id);
    memset(before + n, 'x', 5 * 16383); /* as it is read piece by piece, a piece ends here */
    n += 5 * 16383;
    snprintf(before + n, 200000 - n, "%llu 1 0:5 / /proc rw - ecryptfs none rw\n",
             (unsigned long long)at.stx_mnt_id);
    proc_is(before, "/", "fuse.encfs", "rw");
    assert_int_equal(shelter_of("/proc", root), SHELTER_UNKNOWN);
    proc_is(before, "/", "fuse.cryfs", "rw");
    assert_int_equal(shelter_of("/proc", root), SHELTER_FOLDER);
    free(before);
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
    assert_int_equal(shelter_offer_of(0, EXT4_SUPER_MAGIC), OFFER_FOLDER);
    assert_int_equal(shelter_offer_of(ENODATA, EXT4_SUPER_MAGIC), OFFER_FOLDER);
    assert_int_equal(shelter_offer_of(EOPNOTSUPP, EXT4_SUPER_MAGIC), OFFER_FEATURE);
    assert_int_equal(shelter_offer_of(ENOTTY, BTRFS_SUPER_MAGIC), OFFER_CANNOT);
    assert_int_equal(shelter_offer_of(ENOTTY, 0x2fc12fc1), OFFER_ZFS);
    assert_int_equal(shelter_offer("/no/such/folder"), OFFER_CANNOT);
    assert_non_null(strstr(shelter_offer_words(OFFER_ZFS), "zfs get encryption"));
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
    if (!as_root("truncate -s 16M \"$1\" && mkfs.ext4 -q -O encrypt \"$1\" && mkdir \"$2\" && "
                 "mount -o loop \"$1\" \"$2\"",
                 line, folder)) {
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

/* On a real btrfs in a file, where root may mount one: itself, a subvolume, an overlay that writes
 * to it. Only what its disks are is told by a sysfs of our own. */
static void a_real_btrfs_is_recognised(void **state)
{
    (void)state;
    static const char make[] =
        "folder=$1; cd \"$folder\" && truncate -s 160M btrfs && mkfs.btrfs -q -U \"$2\" btrfs && "
        "mkdir tree over && mount -o loop btrfs tree && btrfs subvolume create 'tree/sub vol' && "
        "mkdir tree/low 'tree/up per' tree/work && mount -t overlay overlay -o "
        "lowerdir=tree/low,upperdir=\"$folder/tree/up per\",workdir=tree/work over && "
        "mkdir over/mine && cat /proc/self/mountinfo >mountinfo";
    static const char away[] = "umount \"$1/over\"; umount \"$1/tree\"";
    static const char *const places[] = {"tree", "tree/sub vol", "over", "over/mine"};
    enum { PLACES = sizeof places / sizeof places[0] };
    static const enum shelter wanted[] = {SHELTER_UNKNOWN, SHELTER_DISK, SHELTER_NONE};
    enum shelter found[3][PLACES];
    char uuid[IDENT_ROOM], disk[128], folder[64];
    ident_new(uuid);
    if (!as_root(make, root, uuid)) {
        as_root(away, root, "");
        skip();
    }
    for (int step = 0; step < 3; step++) { /* no disks told, an encrypted one, a plain one too */
        snprintf(disk, sizeof disk, "fs/btrfs/%s/devices/%s", uuid, step == 1 ? "dm-0" : "sdb1");
        if (step > 0)
            device(disk, step == 1 ? "CRYPT-LUKS2-0123" : NULL);
        for (int i = 0; i < PLACES; i++) {
            snprintf(folder, sizeof folder, "%s/%s", root, places[i]);
            found[step][i] = shelter_of(folder, root);
        }
    }
    assert_true(as_root(away, root, ""));
    for (int step = 0; step < 3; step++)
        for (int i = 0; i < PLACES; i++)
            assert_int_equal(found[step][i], wanted[step]);
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
    assert_int_equal(getrlimit(RLIMIT_CORE, &core), 0);
    core.rlim_cur = core.rlim_max; /* most shells have it at 0 already */
    assert_int_equal(setrlimit(RLIMIT_CORE, &core), 0);
    shelter_memory();
    assert_int_equal(getrlimit(RLIMIT_CORE, &core), 0);
    assert_int_equal(core.rlim_cur, 0);
#ifndef __SANITIZE_ADDRESS__ /* see shelter_memory */
    assert_int_equal(prctl(PR_GET_DUMPABLE), 0);
#endif
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
    if (shelter_of(root, "/no/such/sysfs") != SHELTER_FOLDER) { /* a file: as its folder is kept */
        out = fopen(path, "a");
        assert_non_null(out);
        fprintf(out, "%s file 1 0 -2\n", path);
        fclose(out);
        device_of(root, "CRYPT-LUKS2-0123");
        assert_false(shelter_swaps_open(path, root));
        device_of(root, "LVM-1");
        assert_true(shelter_swaps_open(path, root));
        device_of(root, "CRYPT-LUKS2-0123");
    }
    out = fopen(path, "a");
    assert_non_null(out);
    fprintf(out, "/no/such/swapfile file 1 0 -2\n");
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
        cmocka_unit_test(a_btrfs_is_as_safe_as_its_worst_disk),
        cmocka_unit_test(an_overlay_is_as_safe_as_where_it_writes),
        cmocka_unit_test(only_what_surely_encrypts_is_an_encrypted_folder),
        cmocka_unit_test(a_broken_table_of_mounts_is_read_past),
        cmocka_unit_test(networks_are_known_by_their_magic),
        cmocka_unit_test(only_what_a_thief_cannot_read_is_safe),
        cmocka_unit_test(what_the_file_system_offers_is_told),
        cmocka_unit_test(a_real_encrypted_folder_is_recognised),
        cmocka_unit_test(a_real_btrfs_is_recognised),
        cmocka_unit_test(a_folder_that_others_can_open_is_noticed),
        cmocka_unit_test(memory_is_not_dumped),
        cmocka_unit_test(an_open_swap_is_noticed),
    };
    return cmocka_run_group_tests(tests, up, down);
}
