/* Calling: ssh started at this end, the program at the other end of its pipes. */
#include "base/arena.h"
#include "share/link_inside.h"
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { WORDS_WAIT_MS = 5000 };

/* Nothing in it may mean something to the shell at the other end. */
static bool plain_word(const char *s, const char *also)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    char all[128];
    snprintf(all, sizeof all, "%s%s", letters, also);
    return s[0] != '-' && strspn(s, all) == strlen(s);
}

bool address_read(const char *place, struct arena *a, struct address *out, struct fault *f)
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
    sigset_t ending; /* kept waiting here while a step is made whole; ssh is ended by it at once */
    sigemptyset(&ending);
    sigaddset(&ending, SIGTERM);
    sigprocmask(SIG_UNBLOCK, &ending, NULL);
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
    char bytes[2000] = "";
    size_t used = 0;
    ssize_t n = 1;
    for (struct pollfd p = {.fd = err, .events = POLLIN};
         used < sizeof bytes - 1 && n > 0 && poll(&p, 1, WORDS_WAIT_MS) > 0;) {
        n = read(err, bytes + used, sizeof bytes - 1 - used);
        used += n > 0 ? (size_t)n : 0;
    }
    while (used > 0 && (bytes[used - 1] == '\n' || bytes[used - 1] == '\r'))
        used--;
    bytes[used] = '\0';
    const char *last = strrchr(bytes, '\n');
    snprintf(out, 200, "%.199s", last != NULL ? last + 1 : bytes);
}

/* It ends when its pipes do; one that hangs is ended. */
static void child_end(struct child *c, bool ok, bool hangs, struct fault *f)
{
    char words[200];
    int status = 0;
    if (hangs)
        kill(c->pid, SIGTERM);
    close(c->to);
    close(c->from);
    child_words(c->err, words);
    close(c->err);
    while (waitpid(c->pid, &status, 0) < 0 && errno == EINTR) {
    }
    bool missing = WIFEXITED(status) && WEXITSTATUS(status) == 127 && words[0] == '\0';
    if (!ok && !hangs && f->kind == FAULT_SYSTEM && (words[0] != '\0' || missing))
        fail(f, FAULT_SYSTEM, "the connection failed: %s",
             missing ? "there is no ssh on this computer" : words);
}

bool link_sync(struct share *s, const char *place, const struct watch *w, struct report *r,
               struct fault *f)
{
    struct address to;
    struct child c;
    struct arena *a = arena_new();
    bool ok = address_read(place, a, &to, f) && child_start(&c, &to, w, f);
    if (ok) {
        struct sigaction before = link_no_sigpipe();
        struct link l = {.s = s, .in = c.from, .out = c.to, .watch = w, .report = r};
        struct fault why = {0};
        ok = link_talk(&l, true, &why);
        if (!ok && why.kind == FAULT_SYSTEM && !r->stopped && !l.quiet)
            link_last_words(&l, &why);
        child_end(&c, ok, r->stopped || l.quiet, &why);
        sigaction(SIGPIPE, &before, NULL);
        if (!ok && r->stopped)
            ok = true; /* what came is kept; the report says that it was stopped */
        else if (!ok)
            fail(f, why.kind, "%s", why.text);
    }
    arena_free(a);
    return ok;
}
