#include "share/keys.h"
#include "base/locked.h"
#include "share/files.h"
#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char magic[16] = "amble keys 1";
static const char device_file[] = "device.key", root_file[] = "practice.key";

enum {
    DEVICE_FILE_SIZE = sizeof magic + UUID_BYTES + SIGNATURE_BYTES + KEY_BYTES,
    ROOT_FILE_SIZE = sizeof magic + SIGNATURE_BYTES
};

void keys_close(struct keys *k)
{
    locked_free(k);
}

/* A secret file of exactly `size` bytes; `after` is what follows the magic. */
static bool secret_read(const char *folder, const char *name, uint8_t *whole, size_t size,
                        struct fault *f)
{
    char path[FILE_PATH_ROOM];
    struct stat st;
    if (snprintf(path, sizeof path, "%s/keys/%s", folder, name) >= FILE_PATH_ROOM)
        return fail(f, FAULT_INPUT, "the folder's name is too long");
    FILE *file = fopen(path, "rbe");
    if (file == NULL)
        return fail(f, errno == ENOENT ? FAULT_MISSING : FAULT_SYSTEM, "cannot read %s: %s", path,
                    strerror(errno));
    (void)setvbuf(file, NULL, _IONBF, 0); /* no copy of a key in a buffer that nobody wipes */
    bool ok = fstat(fileno(file), &st) == 0;
    if (ok && (st.st_mode & 077) != 0)
        ok = fail(f, FAULT_REFUSED, "%s can be read by others: chmod 600 it, or make new keys",
                  path);
    else if (!ok || (size_t)st.st_size != size || fread(whole, 1, size, file) != size ||
             memcmp(whole, magic, sizeof magic) != 0)
        ok = fail(f, FAULT_DAMAGE, "%s is no key of amble, or it is damaged", path);
    fclose(file);
    return ok;
}

static bool secret_write(const char *folder, const char *name, const uint8_t *whole, size_t size,
                         struct fault *f)
{
    char keys[FILE_PATH_ROOM];
    if (snprintf(keys, sizeof keys, "%s/keys", folder) >= FILE_PATH_ROOM)
        return fail(f, FAULT_INPUT, "the folder's name is too long");
    return folder_need(keys, f) && file_put(keys, name, whole, size, f);
}

static bool device_read(struct keys *k, const char *folder, uint8_t *whole, struct fault *f)
{
    if (!secret_read(folder, device_file, whole, DEVICE_FILE_SIZE, f))
        return false;
    const uint8_t *at = whole + sizeof magic;
    memcpy(k->uuid, at, UUID_BYTES);
    memcpy(k->sign_secret, at + UUID_BYTES, SIGNATURE_BYTES);
    memcpy(k->box_secret, at + UUID_BYTES + SIGNATURE_BYTES, KEY_BYTES);
    crypto_sign_ed25519_sk_to_pk(k->sign, k->sign_secret);
    return crypto_scalarmult_base(k->box, k->box_secret) == 0 ||
           fail(f, FAULT_DAMAGE, "this device's key is no key");
}

static bool root_read(struct keys *k, const char *folder, uint8_t *whole, struct fault *f)
{
    struct fault none = {0};
    if (!secret_read(folder, root_file, whole, ROOT_FILE_SIZE, &none)) {
        if (none.kind == FAULT_MISSING)
            return true;
        return fail(f, none.kind, "%s", none.text);
    }
    memcpy(k->root_secret, whole + sizeof magic, SIGNATURE_BYTES);
    crypto_sign_ed25519_sk_to_pk(k->root, k->root_secret);
    k->root_there = true;
    return true;
}

bool keys_open(struct keys **out, const char *folder, struct fault *f)
{
    *out = locked_new(sizeof **out, f);
    uint8_t *whole = locked_new(DEVICE_FILE_SIZE, f);
    bool ok = *out != NULL && whole != NULL && device_read(*out, folder, whole, f) &&
              root_read(*out, folder, whole, f);
    locked_free(whole);
    if (!ok) {
        keys_close(*out);
        *out = NULL;
    }
    return ok;
}

/* What is there is never thrown away. */
static bool old_aside(const char *folder, const char *name, struct fault *f)
{
    char from[FILE_PATH_ROOM], to[FILE_PATH_ROOM];
    if (snprintf(from, sizeof from, "%s/keys/%s", folder, name) >= FILE_PATH_ROOM ||
        snprintf(to, sizeof to, "%s/keys/%s.old", folder, name) >= FILE_PATH_ROOM)
        return fail(f, FAULT_INPUT, "the folder's name is too long");
    if (rename(from, to) != 0 && errno != ENOENT)
        return fail(f, FAULT_STORE, "cannot put %s aside: %s", from, strerror(errno));
    return true;
}

static bool device_make(struct keys *k, const char *folder, const uint8_t uuid[UUID_BYTES],
                        struct fault *f)
{
    memcpy(k->uuid, uuid, UUID_BYTES);
    crypto_sign_keypair(k->sign, k->sign_secret);
    crypto_box_keypair(k->box, k->box_secret);
    uint8_t *whole = locked_new(DEVICE_FILE_SIZE, f);
    if (whole == NULL)
        return false;
    memcpy(whole, magic, sizeof magic);
    memcpy(whole + sizeof magic, uuid, UUID_BYTES);
    memcpy(whole + sizeof magic + UUID_BYTES, k->sign_secret, SIGNATURE_BYTES);
    memcpy(whole + sizeof magic + UUID_BYTES + SIGNATURE_BYTES, k->box_secret, KEY_BYTES);
    bool ok = old_aside(folder, device_file, f) &&
              secret_write(folder, device_file, whole, DEVICE_FILE_SIZE, f);
    locked_free(whole);
    return ok;
}

bool keys_make(struct keys **out, const char *folder, const uint8_t uuid[UUID_BYTES],
               struct fault *f)
{
    *out = locked_new(sizeof **out, f);
    uint8_t *whole = locked_new(DEVICE_FILE_SIZE, f);
    bool ok = *out != NULL && whole != NULL && device_make(*out, folder, uuid, f) &&
              root_read(*out, folder, whole, f);
    locked_free(whole);
    if (!ok) {
        keys_close(*out);
        *out = NULL;
    }
    return ok;
}

bool keys_of_base(const char *folder)
{
    char path[FILE_PATH_ROOM];
    return snprintf(path, sizeof path, "%s/keys/%s", folder, root_file) < FILE_PATH_ROOM &&
           access(path, R_OK) == 0;
}

bool keys_make_root(struct keys *k, const char *folder, struct fault *f)
{
    if (k->root_there)
        return true;
    uint8_t *whole = locked_new(ROOT_FILE_SIZE, f);
    if (whole == NULL)
        return false;
    crypto_sign_keypair(k->root, k->root_secret);
    memcpy(whole, magic, sizeof magic);
    memcpy(whole + sizeof magic, k->root_secret, SIGNATURE_BYTES);
    k->root_there = secret_write(folder, root_file, whole, ROOT_FILE_SIZE, f);
    locked_free(whole);
    return k->root_there;
}
