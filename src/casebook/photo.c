#include "casebook/photo.h"
#include "base/arena.h"
#include "base/clock.h"
#include "base/disk.h"
#include "base/text.h"
#include "calc/parallax.h"
#include "casebook/ids.h"
#include "casebook/inside.h"
#include "casebook/measuring.h"
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* ---- the file ------------------------------------------------------------------------------- */

/* Read to the end; what was read is also written to `copy`, unless that is negative. */
static bool hash_file(int fd, int copy, const char *path, struct photo_file *out, struct fault *f)
{
    crypto_hash_sha256_state state;
    unsigned char hash[crypto_hash_sha256_BYTES], buf[65536];
    long long bytes = 0;
    ssize_t n;
    crypto_hash_sha256_init(&state);
    while ((n = read(fd, buf, sizeof buf)) > 0 || (n < 0 && errno == EINTR)) {
        if (n < 0)
            continue;
        crypto_hash_sha256_update(&state, buf, (unsigned long long)n);
        bytes += n;
        if (bytes > PHOTO_BYTES_MOST)
            return fail(f, FAULT_LIMIT, "%s is larger than any photograph", path);
        if (copy >= 0 && !disk_write(copy, buf, (size_t)n))
            return fail(f, FAULT_STORE, "no copy of %s can be kept: %s", path, strerror(errno));
    }
    if (n < 0)
        return fail(f, FAULT_SYSTEM, "%s cannot be read: %s", path, strerror(errno));
    crypto_hash_sha256_final(&state, hash);
    sodium_bin2hex(out->sha256, sizeof out->sha256, hash, sizeof hash);
    out->bytes = bytes;
    return true;
}

static bool read_and_copy(const char *path, int copy, struct photo_file *out, struct fault *f)
{
    struct stat st;
    /* a pipe or a device named here must not keep anybody waiting */
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0)
        return fail(f, errno == ENOENT ? FAULT_MISSING : FAULT_SYSTEM, "%s cannot be opened: %s",
                    path, strerror(errno));
    bool ok = fstat(fd, &st) == 0 && S_ISREG(st.st_mode);
    if (!ok)
        (void)fail(f, FAULT_INPUT, "%s is no file", path);
    else
        ok = hash_file(fd, copy, path, out, f);
    (void)close(fd);
    if (ok)
        out->taken = (int64_t)st.st_mtim.tv_sec * 1000 + st.st_mtim.tv_nsec / 1000000;
    return ok;
}

bool photo_read(const char *path, struct photo_file *out, struct fault *f)
{
    return read_and_copy(path, -1, out, f);
}

/* ---- the copy that travels ------------------------------------------------------------------ */

static const char *photo_folder(const struct chart *c)
{
    return arena_printf(c->arena, "%s/photos", journal_folder(c->cb->journal));
}

/* On disk under a name of its own first, so that what has the hash for its name is whole. */
static bool copy_to(const char *from, const char *folder, const char *part, struct photo_file *out,
                    struct fault *f)
{
    if (mkdir(folder, 0700) != 0 && errno != EEXIST)
        return fail(f, FAULT_STORE, "cannot make the folder %s: %s", folder, strerror(errno));
    int copy = open(part, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (copy < 0)
        return fail(f, FAULT_STORE, "cannot write %s: %s", part, strerror(errno));
    bool ok = read_and_copy(from, copy, out, f);
    if (ok && fsync(copy) != 0)
        ok = fail(f, FAULT_STORE, "no copy of %s can be kept: %s", from, strerror(errno));
    (void)close(copy);
    return ok;
}

/* A file that lies in the folder already gets its second name without being copied. */
static bool take_in(const struct chart *c, const char *path, struct photo_file *out,
                    struct fault *f)
{
    const char *folder = photo_folder(c);
    const char *part = arena_printf(c->arena, "%s/.copying", folder);
    size_t n = strlen(folder);
    if (strncmp(path, folder, n) == 0 && path[n] == '/') {
        if (!photo_read(path, out, f))
            return false;
        if (link(path, arena_printf(c->arena, "%s/%s", folder, out->sha256)) == 0 ||
            errno == EEXIST)
            return true;
    }
    if (!copy_to(path, folder, part, out, f)) {
        (void)unlink(part);
        return false;
    }
    return rename(part, arena_printf(c->arena, "%s/%s", folder, out->sha256)) == 0 ||
           fail(f, FAULT_STORE, "no copy of %s can be kept: %s", path, strerror(errno));
}

/* The copy by its hash, once the file that is named was read; NULL while there is none. */
static const char *copy_of(const struct chart *c, const char *name)
{
    const char *hash = record_text(&c->visit, ID_PHOTO_SHA);
    if (*hash == '\0' || strcmp(record_text(&c->visit, ID_PHOTO_OF), name) != 0)
        return NULL;
    const char *path = arena_printf(c->arena, "%s/%s", photo_folder(c), hash);
    return access(path, F_OK) == 0 ? path : NULL;
}

const char *photo_path(const struct chart *c)
{
    const char *name = record_text(&c->visit, ID_PHOTO), *home = getenv("HOME");
    const char *copy = copy_of(c, name);
    if (copy != NULL)
        return copy;
    if (*name == '\0' || *name == '/')
        return name;
    if (strncmp(name, "~/", 2) == 0 && home != NULL)
        return arena_printf(c->arena, "%s%s", home, name + 1);
    if (access(name, F_OK) == 0)
        return name;
    return arena_printf(c->arena, "%s/%s", photo_folder(c), name);
}

/* ---- what the record keeps of it ------------------------------------------------------------ */

/* A change to what a signed visit says of its photograph carries the same reason as the name. */
static bool put(struct chart *c, const char *item, const char *value, struct fault *f)
{
    const char *reason = c->reason != NULL          ? c->reason
                         : record_signed(&c->visit) ? "photograph named"
                                                    : "";
    return record_put(c->cb, &c->visit, item, value, reason, f);
}

static bool put_all(struct chart *c, const char *of, const char *sha, const char *bytes,
                    const char *taken, struct fault *f)
{
    if (!casebook_begin(c->cb, f))
        return false;
    bool ok = put(c, ID_PHOTO_OF, of, f) && put(c, ID_PHOTO_SHA, sha, f) &&
              put(c, ID_PHOTO_BYTES, bytes, f) && put(c, ID_PHOTO_TAKEN, taken, f);
    return end_with(c->cb, ok, &c->visit, f);
}

bool photo_keep(struct chart *c, struct fault *f)
{
    const char *name = record_text(&c->visit, ID_PHOTO);
    struct photo_file file = {0};
    char when[CLOCK_ROOM];
    if (strcmp(record_text(&c->visit, ID_PHOTO_OF), name) == 0)
        return true;
    if (*name == '\0')
        return put_all(c, "", "", "", "", f);
    if (!take_in(c, photo_path(c), &file, f)) {
        (void)put_all(c, "", "", "", "", NULL);
        return false;
    }
    return put_all(c, name, file.sha256, arena_printf(c->arena, "%lld", file.bytes),
                   clock_iso_time(file.taken, when), f);
}

enum photo_state photo_look(const struct chart *c)
{
    struct photo_file file = {0};
    const char *name = record_text(&c->visit, ID_PHOTO);
    if (*name == '\0')
        return PHOTO_NONE;
    if (strcmp(record_text(&c->visit, ID_PHOTO_OF), name) != 0)
        return PHOTO_UNSEEN;
    if (!photo_read(photo_path(c), &file, NULL))
        return PHOTO_GONE;
    return strcmp(file.sha256, record_text(&c->visit, ID_PHOTO_SHA)) == 0 ? PHOTO_UNCHANGED
                                                                          : PHOTO_OTHER;
}

const char *photo_state_words(enum photo_state s)
{
    static const char *const words[] = {
        [PHOTO_NONE] = "no photograph is named",
        [PHOTO_UNSEEN] = "named, but no file of that name was found",
        [PHOTO_GONE] = "recorded, but not to be found now",
        [PHOTO_OTHER] = "NOT the file that was recorded: its content differs",
        [PHOTO_UNCHANGED] = "there, and the file that was recorded",
    };
    return words[s];
}

/* ---- what it shows -------------------------------------------------------------------------- */

static bool number_of(const struct chart *c, const char *item, double *out)
{
    const char *text = chart_fact(c, item);
    return text != NULL && number_lead(text, out);
}

/* Where nobody said how far the rule stands before the withers it is half the chest's width. */
static bool rule_before(const struct chart *c, double *out)
{
    if (number_of(c, "photo.rule_before", out))
        return true;
    if (!number_of(c, "chest_width", out))
        return false;
    *out /= 2;
    return true;
}

static bool parallax(const struct chart *c, struct parallax_out *out)
{
    struct parallax_in in = {0};
    return number_of(c, "photo.distance", &in.distance_mm) &&
           number_of(c, "photo.lens_height", &in.lens_height_mm) &&
           number_of(c, "withers_height", &in.height_mm) && rule_before(c, &in.rule_before_mm) &&
           parallax_solve(&in, out, NULL);
}

const char *photo_parallax_words(const struct chart *c)
{
    struct parallax_out out;
    if (!parallax(c, &out))
        return "";
    if (fabs(out.error_mm) < 0.5)
        return "The lens stood at the height of the withers: the rule reads true.";
    return arena_printf(c->arena, "From where the lens stood the rule reads %.0f mm %s.",
                        fabs(out.error_mm), out.error_mm > 0 ? "high" : "low");
}

const char *photo_compare_words(const struct chart *c)
{
    double seen, entered;
    struct parallax_out lens;
    const struct measure *m = template_measure(c->cb->set, "withers_height");
    if (m == NULL || !number_of(c, "photo.withers", &seen) ||
        !number_of(c, "withers_height", &entered))
        return "";
    bool known = parallax(c, &lens);
    double apart = seen - entered - (known ? lens.error_mm : 0);
    double limit = fmax(m->tolerance, m->tolerance_share * entered);
    const char *less = known ? ", less what the lens adds" : "";
    if (fabs(apart) <= limit)
        return arena_printf(c->arena, "Photograph and rule agree within %.0f mm%s.", limit, less);
    return arena_printf(
        c->arena, "The photograph reads %.0f mm %s than what was entered%s: look again at %s.",
        fabs(apart), apart > 0 ? "more" : "less", less, m->label);
}
