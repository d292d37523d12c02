#include "share/link.h"
#include "base/arena.h"
#include "share/exchange_inside.h"
#include "share/folder.h"
#include "share/photos.h"
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { QUIET_S = 120, HELLO_VERSION = 1, FRAME_MOST = BUNDLE_MOST };
static const char hello_magic[] = "amble link";

enum frame_kind {
    FRAME_HELLO = 'H',
    FRAME_DEVICES = 'D',
    FRAME_BUNDLE = 'B',
    FRAME_PHOTO = 'P',
    FRAME_END = 'E',
    FRAME_WAIT = 'W',
    FRAME_FAULT = 'F'
};

struct link {
    struct share *s;
    int in, out;
    const struct watch *watch;
    struct report *report;
    uint8_t challenge[ANSWER_BYTES], answer[ANSWER_BYTES], peer[UUID_BYTES];
    const char *peer_name;
};

struct frame {
    enum frame_kind kind;
    const uint8_t *bytes;
    size_t size;
};

/* ---- frames ---------------------------------------------------------------------------------- */

static bool stop(struct link *l)
{
    const struct watch *w = l->watch;
    if (w != NULL && w->stop != NULL && w->stop(w->of))
        l->report->stopped = true;
    return l->report->stopped;
}

static bool write_all(int fd, const void *from, size_t size, struct fault *f)
{
    const uint8_t *bytes = from;
    while (size > 0) {
        ssize_t n = write(fd, bytes, size);
        if (n < 0 && errno != EINTR)
            return fail(f, FAULT_SYSTEM, "the connection was cut: %s", strerror(errno));
        if (n > 0) {
            bytes += n;
            size -= (size_t)n;
        }
    }
    return true;
}

static bool send_frame(int out, enum frame_kind kind, const void *bytes, size_t size,
                       struct fault *f)
{
    uint8_t head[5];
    for (size_t i = 0; i < 4; i++)
        head[i] = (uint8_t)(size >> (8 * i));
    head[4] = (uint8_t)kind;
    return write_all(out, head, sizeof head, f) && write_all(out, bytes, size, f);
}

static bool read_some(struct link *l, uint8_t *to, size_t size, struct fault *f)
{
    for (int waited = 0; size > 0;) {
        struct pollfd p = {.fd = l->in, .events = POLLIN};
        int ready = poll(&p, 1, 1000);
        if (stop(l))
            return fail(f, FAULT_SYSTEM, "stopped");
        if (ready <= 0 && ++waited > QUIET_S)
            return fail(f, FAULT_SYSTEM, "the other side has said nothing for %d seconds", QUIET_S);
        ssize_t n = ready > 0 ? read(l->in, to, size) : -2;
        if (n == 0)
            return fail(f, FAULT_SYSTEM, "the connection was cut");
        if (n == -1 && errno != EINTR)
            return fail(f, FAULT_SYSTEM, "the connection was cut: %s", strerror(errno));
        if (n > 0) {
            to += n;
            size -= (size_t)n;
            waited = 0;
        }
    }
    return true;
}

static bool say_waits(struct link *l, const struct frame *x)
{
    const struct watch *w = l->watch;
    if (w != NULL && w->progress != NULL)
        w->progress(w->of, x->size > 0 ? "waiting: the other side is busy" : "waiting", 0, 0);
    return true;
}

/* The next frame that is no mere sign of life. */
static bool read_frame(struct link *l, struct arena *a, struct frame *x, struct fault *f)
{
    for (;;) {
        uint8_t head[5];
        if (!read_some(l, head, sizeof head, f))
            return false;
        x->size =
            (size_t)head[0] | (size_t)head[1] << 8 | (size_t)head[2] << 16 | (size_t)head[3] << 24;
        x->kind = (enum frame_kind)head[4];
        if (x->size > FRAME_MOST)
            return fail(f, FAULT_LIMIT, "the other side speaks of %zu bytes at once: is it amble?",
                        x->size);
        uint8_t *bytes = arena_alloc(a, x->size + 1);
        if (!read_some(l, bytes, x->size, f))
            return false;
        x->bytes = bytes;
        if (x->kind == FRAME_FAULT)
            return fail(f, FAULT_REFUSED, "the other side says: %s", (const char *)bytes);
        if (x->kind != FRAME_WAIT || !say_waits(l, x))
            return true;
    }
}

static bool expect(struct link *l, struct arena *a, enum frame_kind kind, struct frame *x,
                   struct fault *f)
{
    return read_frame(l, a, x, f) &&
           (x->kind == kind ||
            fail(f, FAULT_DAMAGE, "the other side said something unexpected: is it amble?"));
}

/* ---- the conversation ------------------------------------------------------------------------ */

static bool greet(struct link *l, struct fault *f)
{
    struct text out;
    const uint8_t *list;
    size_t size;
    struct arena *a = arena_new();
    text_init(&out, 256);
    randombytes_buf(l->challenge, ANSWER_BYTES);
    put_bytes(&out, hello_magic, sizeof hello_magic);
    put_fixed(&out, HELLO_VERSION, 1);
    put_bytes(&out, l->s->devices.practice, UUID_BYTES);
    put_bytes(&out, l->s->self, UUID_BYTES);
    put_bytes(&out, l->challenge, ANSWER_BYTES);
    bool ok = journal_kept(l->s->journal, a, "devices", &list, &size, f) &&
              send_frame(l->out, FRAME_HELLO, out.s, out.len, f) &&
              send_frame(l->out, FRAME_DEVICES, list, size, f);
    text_free(&out);
    arena_free(a);
    return ok;
}

static bool be_greeted(struct link *l, struct arena *a, struct fault *f)
{
    struct frame x;
    uint8_t practice[UUID_BYTES];
    bool newer;
    if (!expect(l, a, FRAME_HELLO, &x, f))
        return false;
    struct reader r = reader_of(x.bytes, x.size);
    const uint8_t *magic = take_bytes(&r, sizeof hello_magic);
    uint64_t version = take_fixed(&r, 1);
    take_copy(&r, practice, UUID_BYTES);
    take_copy(&r, l->peer, UUID_BYTES);
    take_copy(&r, l->answer, ANSWER_BYTES);
    if (r.bad || memcmp(magic, hello_magic, sizeof hello_magic) != 0)
        return fail(f, FAULT_DAMAGE, "the other side is not amble");
    if (version > HELLO_VERSION)
        return fail(f, FAULT_REFUSED, "the other side is a newer amble: update this one");
    if (memcmp(practice, l->s->devices.practice, UUID_BYTES) != 0)
        return fail(f, FAULT_REFUSED, "the other side belongs to another practice");
    if (!expect(l, a, FRAME_DEVICES, &x, f) || !share_devices(l->s, x.bytes, x.size, &newer, f))
        return false;
    const struct device *peer = device_find(&l->s->devices, l->peer);
    if (peer == NULL || peer->retired)
        return fail(f, FAULT_REFUSED,
                    peer == NULL ? "the other side is not enrolled here"
                                 : "the other side is a retired device");
    l->peer_name = peer->name;
    return true;
}

static bool send_bundle(void *of, const struct bundle *b, const struct text *bytes, struct fault *f)
{
    struct link *l = of;
    (void)b;
    return send_frame(l->out, FRAME_BUNDLE, bytes->s, bytes->len, f);
}

/* This side's turn: what the other lacks, or only what this one holds. */
static bool give(struct link *l, bool entries, struct fault *f)
{
    struct arena *a = arena_new();
    struct want *wants = NULL;
    size_t count = 0;
    struct sending how = {.answer = l->answer, .always = true, .send = send_bundle, .of = l};
    bool ok = (!entries || exchange_wants(l->s, a, l->peer, &wants, &count, f)) &&
              exchange_give(l->s, wants, count, &how, l->watch, l->report, f) &&
              send_frame(l->out, FRAME_END, "", 0, f);
    arena_free(a);
    return ok;
}

/* The other side's turn. A bundle that cannot be taken is told; the rest may still be. */
static bool take(struct link *l, struct fault *f)
{
    for (uint64_t n = 1;; n++) {
        struct frame x;
        struct fault why = {0};
        struct arena *a = arena_new();
        bool ok = read_frame(l, a, &x, f);
        bool end = ok && x.kind == FRAME_END;
        if (ok && !end && x.kind != FRAME_BUNDLE)
            ok = fail(f, FAULT_DAMAGE, "the other side said something unexpected: is it amble?");
        if (ok && !end && !exchange_take(l->s, x.bytes, x.size, l->challenge, l->report, &why)) {
            report_line(why.kind == FAULT_MISSING ? &l->report->missing : &l->report->person,
                        "from %s: %s", l->peer_name, why.text);
            ok = why.kind != FAULT_STORE || fail(f, why.kind, "%s", why.text);
        }
        arena_free(a);
        if (!ok || end)
            return ok;
        if (l->watch != NULL && l->watch->progress != NULL)
            l->watch->progress(l->watch->of, "taking entries", l->report->came, 0);
    }
}

static bool send_photo(void *of, const struct bundle *b, const struct text *bytes, struct fault *f)
{
    struct link *l = of;
    (void)b;
    return send_frame(l->out, FRAME_PHOTO, bytes->s, bytes->len, f);
}

/* This side's turn: what photographs are here, or those that the other lacks. */
static bool give_photos(struct link *l, bool pieces, struct fault *f)
{
    struct photo_sending how = {.answer = l->answer, .send = send_photo, .of = l};
    return (pieces ? photos_give(l->s, l->peer, &how, l->watch, l->report, f)
                   : photos_tell(l->s, &how, l->watch, f)) &&
           send_frame(l->out, FRAME_END, "", 0, f);
}

static bool take_photos(struct link *l, struct fault *f)
{
    for (;;) {
        struct frame x;
        struct fault why = {0};
        struct arena *a = arena_new();
        bool ok = read_frame(l, a, &x, f), end = ok && x.kind == FRAME_END;
        if (ok && !end &&
            !photos_take(l->s, x.bytes, x.size, l->challenge, l->watch, l->report, &why)) {
            report_line(&l->report->person, "from %s: %s", l->peer_name, why.text);
            ok = why.kind != FAULT_STORE || fail(f, why.kind, "%s", why.text);
        }
        arena_free(a);
        if (!ok || end)
            return ok;
    }
}

/* Each says what it has, then each sends what the other lacks. */
static bool show_photos(struct link *l, bool caller, struct fault *f)
{
    return caller ? give_photos(l, false, f) && take_photos(l, f) && give_photos(l, true, f) &&
                        take_photos(l, f)
                  : take_photos(l, f) && give_photos(l, false, f) && take_photos(l, f) &&
                        give_photos(l, true, f);
}

static bool talk(struct link *l, bool caller, struct fault *f)
{
    struct arena *a = arena_new();
    bool ok = greet(l, f) && be_greeted(l, a, f);
    arena_free(a);
    if (!ok)
        return false;
    ok = caller
             ? give(l, false, f) && take(l, f) && give(l, true, f) && take(l, f) &&
                   (l->report->renewed || give(l, false, f)) && (l->report->renewed || take(l, f))
             : take(l, f) && give(l, false, f) && take(l, f) && give(l, true, f) && take(l, f) &&
                   send_frame(l->out, FRAME_END, "", 0, f);
    if (ok && !l->report->renewed && !l->report->stopped)
        ok = show_photos(l, caller, f);
    return ok && report_missing(l->s, l->report, f);
}

/* ---- both ends ------------------------------------------------------------------------------- */

/* A pipe whose other end is gone is an answer, not the end of the program. */
static struct sigaction no_sigpipe(void)
{
    struct sigaction ignore = {.sa_handler = SIG_IGN}, before;
    sigemptyset(&ignore.sa_mask);
    sigaction(SIGPIPE, &ignore, &before);
    return before;
}

bool link_serve(struct share *s, int in, int out, const struct watch *w, struct report *r,
                struct fault *f)
{
    struct sigaction before = no_sigpipe();
    struct link l = {.s = s, .in = in, .out = out, .watch = w, .report = r};
    bool ok = talk(&l, false, f);
    if (!ok)
        link_refuses(out, f);
    sigaction(SIGPIPE, &before, NULL);
    return ok;
}

void link_waits(int out, const char *why)
{
    struct sigaction before = no_sigpipe();
    send_frame(out, FRAME_WAIT, why, strlen(why), NULL);
    sigaction(SIGPIPE, &before, NULL);
}

void link_refuses(int out, const struct fault *why)
{
    struct sigaction before = no_sigpipe();
    send_frame(out, FRAME_FAULT, why->text, strlen(why->text), NULL);
    sigaction(SIGPIPE, &before, NULL);
}

/* ---- ssh ------------------------------------------------------------------------------------- */

struct address {
    const char *host; /* user@host */
    const char *port, *path;
};

/* Nothing in it may mean something to the shell at the other end. */
static bool plain_word(const char *s, const char *also)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    char all[128];
    snprintf(all, sizeof all, "%s%s", letters, also);
    return s[0] != '-' && strspn(s, all) == strlen(s);
}

static bool address_read(const char *place, struct arena *a, struct address *out, struct fault *f)
{
    const char *rest = place + strlen("ssh://");
    size_t n = strcspn(rest, "/");
    char *host = arena_strn(a, rest, n);
    char *colon = strchr(host, ':');
    *out = (struct address){.host = host, .port = "", .path = rest + n};
    if (colon != NULL) {
        *colon = '\0';
        out->port = colon + 1;
    }
    if (strcmp(out->path, "/") == 0)
        out->path = "";
    if (host[0] == '\0' || !plain_word(host, "@._-") || !plain_word(out->port, "") ||
        !plain_word(out->path, "/._-"))
        return fail(f, FAULT_INPUT,
                    "\"%s\" is no place: write ssh://user@host/ or "
                    "ssh://user@host:port/folder",
                    place);
    return true;
}

static void run_ssh(const struct address *to, const struct watch *w, int in, int out, int err)
{
    const char *argv[20];
    char most[24];
    size_t n = 0;
    argv[n++] = "ssh";
    argv[n++] = "-T";
    if (w != NULL && w->quiet) {
        argv[n++] = "-o";
        argv[n++] = "BatchMode=yes"; /* a question would be written over the screen */
    }
    if (to->port[0] != '\0') {
        argv[n++] = "-p";
        argv[n++] = to->port;
    }
    argv[n++] = to->host;
    argv[n++] = "amble";
    if (to->path[0] != '\0') {
        argv[n++] = "--data";
        argv[n++] = to->path;
    }
    argv[n++] = "sync";
    argv[n++] = "--serve";
    argv[n++] = "--photos"; /* the caller chooses for both */
    snprintf(most, sizeof most, "%llu", (unsigned long long)(w != NULL ? w->photo_most / 1024 : 0));
    argv[n++] = most;
    argv[n] = NULL;
    if (dup2(in, 0) < 0 || dup2(out, 1) < 0 || dup2(err, 2) < 0)
        _exit(127);
    execvp(argv[0], (char **)(uintptr_t)argv);
    _exit(127);
}

struct child {
    pid_t pid;
    int to, from, err;
};

static bool pipes(int all[6], struct fault *f)
{
    for (int i = 0; i < 6; i++)
        all[i] = -1;
    for (int i = 0; i < 6; i += 2)
        if (pipe2(all + i, O_CLOEXEC) != 0) {
            for (int k = 0; k < i; k++)
                close(all[k]);
            return fail(f, FAULT_SYSTEM, "no pipe to ssh: %s", strerror(errno));
        }
    return true;
}

static bool child_start(struct child *c, const struct address *to, const struct watch *w,
                        struct fault *f)
{
    int p[6];
    if (!pipes(p, f))
        return false;
    c->pid = fork();
    if (c->pid == 0)
        run_ssh(to, w, p[0], p[3], p[5]);
    int why = errno;
    close(p[0]);
    close(p[3]);
    close(p[5]);
    *c = (struct child){.pid = c->pid, .to = p[1], .from = p[2], .err = p[4]};
    if (c->pid > 0)
        return true;
    close(c->to);
    close(c->from);
    close(c->err);
    return fail(f, FAULT_SYSTEM, "cannot start ssh: %s", strerror(why));
}

/* What ssh itself complained of, its last line: it says more than "cut". */
static void child_words(int err, char out[200])
{
    char bytes[2000];
    size_t used = 0;
    ssize_t n;
    while (used < sizeof bytes - 1 && (n = read(err, bytes + used, sizeof bytes - 1 - used)) > 0)
        used += (size_t)n;
    while (used > 0 && (bytes[used - 1] == '\n' || bytes[used - 1] == '\r'))
        used--;
    bytes[used] = '\0';
    const char *last = strrchr(bytes, '\n');
    snprintf(out, 200, "%.199s", last != NULL ? last + 1 : bytes);
}

static void child_end(struct child *c, bool ok, struct fault *f)
{
    char words[200];
    int status = 0;
    close(c->to);
    close(c->from);
    child_words(c->err, words);
    close(c->err);
    while (waitpid(c->pid, &status, 0) < 0 && errno == EINTR) {
    }
    bool missing = WIFEXITED(status) && WEXITSTATUS(status) == 127 && words[0] == '\0';
    if (!ok && f->kind == FAULT_SYSTEM && (words[0] != '\0' || missing))
        fail(f, FAULT_SYSTEM, "the connection failed: %s",
             missing ? "there is no ssh on this computer" : words);
}

/* The other side may have said why before it hung up, while this one was still speaking. */
static void last_words(struct link *l, struct fault *f)
{
    struct frame x;
    struct fault said = {0};
    struct arena *a = arena_new();
    while (read_frame(l, a, &x, &said)) {
    }
    if (said.kind == FAULT_REFUSED)
        *f = said;
    arena_free(a);
}

bool link_sync(struct share *s, const char *place, const struct watch *w, struct report *r,
               struct fault *f)
{
    struct address to;
    struct child c;
    struct arena *a = arena_new();
    bool ok = address_read(place, a, &to, f) && child_start(&c, &to, w, f);
    if (ok) {
        struct sigaction before = no_sigpipe();
        struct link l = {.s = s, .in = c.from, .out = c.to, .watch = w, .report = r};
        struct fault why = {0};
        ok = talk(&l, true, &why);
        if (!ok && why.kind == FAULT_SYSTEM && !r->stopped)
            last_words(&l, &why);
        child_end(&c, ok, &why);
        sigaction(SIGPIPE, &before, NULL);
        if (!ok && r->stopped)
            ok = true; /* what came is kept; the report says that it was stopped */
        else if (!ok)
            fail(f, why.kind, "%s", why.text);
    }
    arena_free(a);
    return ok;
}
