/* amble demo: an invented practice from text files, with a colleague's laptop of its own. */
#include "base/arena.h"
#include "casebook/sheltering.h"
#include "command/args.h"
#include "command/feeding.h"
#include "share/enrol.h"
#include "share/identity.h"
#include <dirent.h>
#include <errno.h>
#include <ftw.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { LETTER_MOST = 64 << 10, OPEN_FOLDERS = 8 };

/* What is read: a folder's text files in the order of their names, or one file. A folder among them
 * is a colleague's laptop. */
struct story {
    const char **paths;
    size_t count;
    size_t colleague; /* which of them is a folder; count: none */
    size_t findings;
};

/* ---- what there is to read ------------------------------------------------------------------- */

static bool is_folder(const char *path)
{
    struct stat st;
    return stat(path, &st) == 0 && S_ISDIR(st.st_mode);
}

static int seen_only(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static bool list_folder(struct arena *a, const char *path, struct story *s, struct fault *f)
{
    struct dirent **entries = NULL;
    int n = scandir(path, &entries, seen_only, alphasort);
    s->paths = arena_array(a, n > 0 ? (size_t)n : 1, sizeof *s->paths);
    for (int i = 0; i < n; i++) {
        const char *one = arena_printf(a, "%s/%s", path, entries[i]->d_name);
        size_t end = strlen(one);
        if (is_folder(one) && s->colleague == SIZE_MAX)
            s->colleague = s->count;
        if (is_folder(one) || (end > 4 && strcmp(one + end - 4, ".txt") == 0))
            s->paths[s->count++] = one;
        free(entries[i]);
    }
    free(entries);
    if (s->colleague == SIZE_MAX)
        s->colleague = s->count;
    return s->count > 0 || fail(f, FAULT_MISSING, "there are no text files in \"%s\"", path);
}

static bool list_story(struct arena *a, const char *path, struct story *s, struct fault *f)
{
    *s = (struct story){.colleague = SIZE_MAX};
    if (is_folder(path))
        return list_folder(a, path, s, f);
    s->paths = arena_array(a, 1, sizeof *s->paths);
    s->paths[0] = path;
    s->count = s->colleague = 1;
    return true;
}

static bool feed_some(struct run *run, struct casebook *cb, struct story *s, size_t from, size_t to,
                      struct fault *f)
{
    bool fine = true;
    for (size_t i = from; fine && i < to; i++) {
        struct fed fed = {0};
        fine = feed_path(run, cb, s->paths[i], &feeding_invented, &fed, f);
        s->findings += fed.findings;
    }
    return fine;
}

/* ---- a colleague's laptop -------------------------------------------------------------------- */

/* A second record in a folder of its own, which goes again when its entries have come here. */
struct colleague {
    const char *folder, *stick;
    struct casebook cb;
    struct share *here, *there;
};

static bool laptop_make(struct run *run, struct colleague *c, struct fault *f)
{
    const char *place = getenv("TMPDIR");
    char *folder = arena_printf(run->arena, "%s/amble-demo.XXXXXX",
                                place != NULL && place[0] == '/' ? place : "/tmp");
    if (mkdtemp(folder) == NULL)
        return fail(f, FAULT_SYSTEM, "cannot make the folder %s: %s", folder, strerror(errno));
    c->folder = folder;
    c->stick = arena_printf(run->arena, "%s/stick", folder);
    c->cb = (struct casebook){.set = run->cb.set};
    return (mkdir(c->stick, 0700) == 0 ||
            fail(f, FAULT_SYSTEM, "cannot make the folder %s: %s", c->stick, strerror(errno))) &&
           journal_open(&c->cb.journal, arena_printf(run->arena, "%s/records", folder),
                        JOURNAL_WRITE, f);
}

/* As two people do it with two files; both ends are this program, so nobody compares numbers. */
static bool laptop_enrol(struct run *run, struct colleague *c, const char *name, struct fault *f)
{
    struct arena *a = run->arena;
    struct text request, reply;
    struct device asks;
    struct devices all;
    const uint8_t *bytes;
    size_t size;
    char print[FINGERPRINT_ROOM];
    text_init(&request, LETTER_MOST);
    text_init(&reply, LETTER_MOST);
    bool ok = base_make(run->cb.journal, "office", f) && share_open(&c->here, run->cb.journal, f) &&
              request_make(c->cb.journal, name, &request, print, f) &&
              request_read(request.s, a, &asks, print, f) &&
              request_admit(c->here, &asks, false, &reply, f) &&
              reply_read(c->cb.journal, reply.s, a, &all, &bytes, &size, print, f) &&
              reply_join(c->cb.journal, &all, bytes, size, f) &&
              share_open(&c->there, c->cb.journal, f);
    text_free(&request);
    text_free(&reply);
    return ok;
}

static bool exchange(const struct colleague *c, struct share *end, struct fault *f)
{
    struct report r;
    report_init(&r);
    bool ok = share_sync(end, c->stick, NULL, &r, f);
    report_free(&r);
    return ok;
}

static int remove_one(const char *path, const struct stat *st, int type, struct FTW *walk)
{
    (void)st;
    (void)type;
    (void)walk;
    return remove(path);
}

static void laptop_remove(struct colleague *c)
{
    share_close(c->here);
    share_close(c->there);
    if (c->cb.journal != NULL)
        identity_forget(c->cb.journal);
    journal_close(c->cb.journal);
    if (c->folder != NULL)
        (void)nftw(c->folder, remove_one, OPEN_FOLDERS, FTW_DEPTH | FTW_PHYS);
}

/* "contrib/demo/c-the-second-laptop": what stands behind the first dash, in words. */
static const char *laptop_name(struct arena *a, const char *path)
{
    const char *slash = strrchr(path, '/'), *last = slash != NULL ? slash + 1 : path;
    const char *dash = strchr(last, '-');
    char *name = arena_str(a, dash != NULL ? dash + 1 : last);
    for (char *c = name; *c != '\0'; c++)
        if (*c == '-')
            *c = ' ';
    return name;
}

/* The colleague takes over all that stands before her folder and writes hers; what stands behind it
 * is written here without having seen that; then hers comes. */
static bool two_write(struct run *run, struct story *s, struct fault *f)
{
    struct colleague c = {0};
    struct story hers;
    const char *folder = s->paths[s->colleague];
    bool ok = list_story(run->arena, folder, &hers, f) && laptop_make(run, &c, f) &&
              laptop_enrol(run, &c, laptop_name(run->arena, folder), f) &&
              exchange(&c, c.here, f) && exchange(&c, c.there, f) &&
              feed_some(run, &c.cb, &hers, 0, hers.colleague, f) && exchange(&c, c.there, f) &&
              feed_some(run, &run->cb, s, s->colleague + 1, s->count, f) && exchange(&c, c.here, f);
    s->findings += hers.findings;
    laptop_remove(&c);
    return ok;
}

/* ---- the command ----------------------------------------------------------------------------- */

static bool is_empty(struct run *run, struct fault *f)
{
    struct journal_counts counts;
    return journal_count(run->cb.journal, &counts, f) &&
           (counts.dogs == 0 ||
            fail(f, FAULT_REFUSED,
                 "the records in %s hold %" PRIu64 " %s already: name an empty folder with --data",
                 run->setting.data, counts.dogs, counts.dogs == 1 ? "dog" : "dogs"));
}

static bool fill(struct run *run, struct story *s, struct fault *f)
{
    return casebook_begin(&run->cb, f) &&
           casebook_end(&run->cb,
                        feed_some(run, &run->cb, s, 0, s->colleague, f) &&
                            sheltering_answer(&run->cb, run->arena, run->setting.sysfs,
                                              "an invented practice: there is nothing to steal", f),
                        f) &&
           (s->colleague == s->count || two_write(run, s, f));
}

int run_demo(struct run *run, int argc, char **argv)
{
    const char *path = NULL;
    struct fault f = {0};
    struct story s;
    struct args args = {
        .words = &path, .least = 1, .most = 1, .expected = "the file or folder to read"};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    if (!run_open(run, JOURNAL_WRITE))
        return COMMAND_FAILED;
    if (!is_empty(run, &f) || !list_story(run->arena, path, &s, &f) || !fill(run, &s, &f))
        return say_fault(run, &f);
    say(run->out, "%zu findings of an invented practice are in %s\n", s.findings,
        run->setting.data);
    return COMMAND_DONE;
}
