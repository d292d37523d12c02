#include "base/arena.h"
#include "share/exchange_inside.h"
#include "share/folder.h"
#include "share/link_inside.h"
#include "share/photos.h"
#include <errno.h>
#include <limits.h>
#include <poll.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

/* How long nothing at all may come, counted anew from every byte. Whoever gives finds the other
 * silent while it takes a bundle, on a slow disk for many seconds; before the first byte a person
 * may be typing a passphrase for ssh. Between the first byte and the end of the greeting there is
 * nothing to work out: whoever stops there is not amble, or hangs, and keeps a base's record from
 * others. */
enum {
    QUIET_S = 120,
    QUIET_GREETING_S = 30,
    WAIT_STEP_MS = 200,
    HELLO_VERSION = 1,
    HEAD_BYTES = 5,
    FRAME_MOST = BUNDLE_MOST
};
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

static int quiet_most(const struct link *l)
{
    return l != NULL && l->begun && !l->greeted ? QUIET_GREETING_S : QUIET_S;
}

/* Nobody waits without end: a side that neither speaks nor listens is told as it happens, and left
 * after quiet_most. False with the fault when it is over. */
static bool wait_for(struct link *l, int fd, short events, int *waited_ms, struct fault *f)
{
    struct pollfd p = {.fd = fd, .events = events};
    int ready = poll(&p, 1, WAIT_STEP_MS);
    if (l != NULL && stop(l))
        return fail(f, FAULT_SYSTEM, "stopped");
    if (ready > 0) {
        *waited_ms = 0;
        return true;
    }
    int most = quiet_most(l);
    *waited_ms += WAIT_STEP_MS;
    if (*waited_ms > most * 1000) {
        if (l != NULL)
            l->quiet = true;
        return fail(f, FAULT_SYSTEM, "the other side has said nothing for %d seconds", most);
    }
    const struct watch *w = l != NULL ? l->watch : NULL;
    if (*waited_ms % 1000 == 0 && w != NULL && w->progress != NULL) {
        char words[80];
        snprintf(words, sizeof words, "waiting for the other side, %d of %d seconds",
                 *waited_ms / 1000, most);
        w->progress(w->of, words, 0, 0);
    }
    return true;
}

/* A pipe that is ready takes PIPE_BUF bytes without keeping anybody waiting. */
static bool write_all(struct link *l, int fd, const void *from, size_t size, struct fault *f)
{
    const uint8_t *bytes = from;
    for (int waited = 0; size > 0;) {
        if (!wait_for(l, fd, POLLOUT, &waited, f))
            return false;
        if (waited > 0)
            continue;
        ssize_t n = write(fd, bytes, size < PIPE_BUF ? size : PIPE_BUF);
        if (n < 0 && errno != EINTR)
            return fail(f, FAULT_SYSTEM, "the connection was cut: %s", strerror(errno));
        if (n > 0) {
            bytes += n;
            size -= (size_t)n;
        }
    }
    return true;
}

/* `l` may be NULL: nobody watches. */
static bool send_frame(struct link *l, int out, enum frame_kind kind, const void *bytes,
                       size_t size, struct fault *f)
{
    uint8_t head[HEAD_BYTES];
    for (size_t i = 0; i < 4; i++)
        head[i] = (uint8_t)(size >> (8 * i));
    head[4] = (uint8_t)kind;
    return write_all(l, out, head, sizeof head, f) && write_all(l, out, bytes, size, f);
}

static bool say_frame(struct link *l, enum frame_kind kind, const struct text *bytes,
                      struct fault *f)
{
    return send_frame(l, l->out, kind, bytes->s, bytes->len, f);
}

static bool say_end(struct link *l, struct fault *f)
{
    return send_frame(l, l->out, FRAME_END, "", 0, f);
}

static bool read_some(struct link *l, uint8_t *to, size_t size, struct fault *f)
{
    for (int waited = 0; size > 0;) {
        if (!wait_for(l, l->in, POLLIN, &waited, f))
            return false;
        if (waited > 0)
            continue;
        ssize_t n = read(l->in, to, size);
        if (n == 0)
            return fail(f, FAULT_SYSTEM, "the connection was cut");
        if (n < 0 && errno != EINTR)
            return fail(f, FAULT_SYSTEM, "the connection was cut: %s", strerror(errno));
        if (n > 0) {
            l->begun = true;
            to += n;
            size -= (size_t)n;
        }
    }
    return true;
}

/* Not amble: a greeting of its shell, most likely. What it said is the best clue to what it is. */
static bool not_amble(struct link *l, const uint8_t head[HEAD_BYTES], size_t size, struct fault *f)
{
    char words[80];
    size_t n = 0, got = HEAD_BYTES;
    struct pollfd p = {.fd = l->in, .events = POLLIN};
    memcpy(words, head, HEAD_BYTES);
    if (poll(&p, 1, WAIT_STEP_MS) > 0) {
        ssize_t more = read(l->in, words + got, sizeof words - got);
        got += more > 0 ? (size_t)more : 0;
    }
    while (n < got && words[n] >= ' ' && words[n] <= '~') /* no more than a terminal may be shown */
        n++;
    if (n < HEAD_BYTES)
        return fail(f, FAULT_DAMAGE, "the other side speaks of %zu bytes at once: is it amble?",
                    size);
    return fail(
        f, FAULT_DAMAGE,
        "the other side says \"%.*s\" where amble should answer: its shell must say nothing "
        "by itself",
        (int)n, words);
}

static bool say_waits(struct link *l, const struct frame *x)
{
    const struct watch *w = l->watch;
    if (w != NULL && w->progress != NULL)
        w->progress(w->of,
                    x->size > 0
                        ? "waiting: another laptop, or somebody at its keys, is writing there"
                        : "waiting",
                    0, 0);
    return true;
}

/* The next frame that is no mere sign of life. */
static bool read_frame(struct link *l, struct arena *a, struct frame *x, struct fault *f)
{
    for (;;) {
        uint8_t head[HEAD_BYTES];
        if (!read_some(l, head, sizeof head, f))
            return false;
        x->size =
            (size_t)head[0] | (size_t)head[1] << 8 | (size_t)head[2] << 16 | (size_t)head[3] << 24;
        x->kind = (enum frame_kind)head[4];
        if (x->size > FRAME_MOST)
            return not_amble(l, head, x->size, f);
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
              say_frame(l, FRAME_HELLO, &out, f) &&
              send_frame(l, l->out, FRAME_DEVICES, list, size, f);
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
    if (memcmp(l->answer, l->challenge, ANSWER_BYTES) == 0)
        return fail(f, FAULT_DAMAGE,
                    "the other side only says back what it is told: there is no amble");
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
    l->greeted = true;
    return true;
}

static bool send_bundle(void *of, const struct bundle *b, const struct text *bytes, struct fault *f)
{
    struct link *l = of;
    (void)b;
    return say_frame(l, FRAME_BUNDLE, bytes, f);
}

/* This side's turn: what the other lacks, or only what this one holds. */
static bool give(struct link *l, bool entries, struct fault *f)
{
    struct arena *a = arena_new();
    struct want *wants = NULL;
    size_t count = 0;
    struct sending how = {.answer = l->answer, .always = true, .send = send_bundle, .of = l};
    bool ok = (!entries || exchange_wants(l->s, a, l->peer, &wants, &count, f)) &&
              exchange_give(l->s, wants, count, &how, l->watch, l->report, f) && say_end(l, f);
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
    return say_frame(l, FRAME_PHOTO, bytes, f);
}

/* This side's turn: what photographs are here, or those that the other lacks. */
static bool give_photos(struct link *l, bool pieces, struct fault *f)
{
    struct photo_sending how = {.answer = l->answer, .send = send_photo, .of = l};
    return (pieces ? photos_give(l->s, l->peer, &how, l->watch, l->report, f)
                   : photos_tell(l->s, &how, l->watch, f)) &&
           say_end(l, f);
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

bool link_talk(struct link *l, bool caller, struct fault *f)
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
                   say_end(l, f);
    if (ok && !l->report->renewed && !l->report->stopped)
        ok = show_photos(l, caller, f);
    return ok && report_missing(l->s, l->report, f);
}

/* ---- both ends ------------------------------------------------------------------------------- */

struct sigaction link_no_sigpipe(void)
{
    struct sigaction ignore = {.sa_handler = SIG_IGN}, before;
    sigemptyset(&ignore.sa_mask);
    sigaction(SIGPIPE, &ignore, &before);
    return before;
}

bool link_serve(struct share *s, int in, int out, const struct watch *w, struct report *r,
                struct fault *f)
{
    struct sigaction before = link_no_sigpipe();
    struct link l = {.s = s, .in = in, .out = out, .watch = w, .report = r};
    bool ok = link_talk(&l, false, f);
    if (!ok)
        link_refuses(out, f);
    sigaction(SIGPIPE, &before, NULL);
    return ok;
}

void link_waits(int out, const char *why)
{
    struct sigaction before = link_no_sigpipe();
    send_frame(NULL, out, FRAME_WAIT, why, strlen(why), NULL);
    sigaction(SIGPIPE, &before, NULL);
}

void link_refuses(int out, const struct fault *why)
{
    struct sigaction before = link_no_sigpipe();
    send_frame(NULL, out, FRAME_FAULT, why->text, strlen(why->text), NULL);
    sigaction(SIGPIPE, &before, NULL);
}

void link_last_words(struct link *l, struct fault *f)
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
