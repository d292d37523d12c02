/* Shared by link.c, which holds the conversation, ssh.c, which calls, and their tests. */
#ifndef AMBLE_SHARE_LINK_INSIDE_H
#define AMBLE_SHARE_LINK_INSIDE_H

#include "share/link.h"
#include "share/seal.h"
#include <signal.h>

struct link {
    struct share *s;
    int in, out;
    const struct watch *watch;
    struct report *report;
    uint8_t challenge[ANSWER_BYTES], answer[ANSWER_BYTES], peer[UUID_BYTES];
    const char *peer_name;
    bool begun, greeted; /* a byte has come; it is a device of this practice */
    bool quiet;          /* the other side was waited for long enough */
};
/* "ssh://user@host:port/path" in parts that mean nothing to a shell and are no option; port and
 * path may be "". */
struct address {
    const char *host; /* user@host */
    const char *port, *path;
};
bool address_read(const char *place, struct arena *a, struct address *out, struct fault *f);
bool link_talk(struct link *l, bool caller, struct fault *f);
/* The other side may have said why before it hung up, while this one was still speaking. */
void link_last_words(struct link *l, struct fault *f);
/* A pipe whose other end is gone is an answer, not the end of the program; returns what was set. */
struct sigaction link_no_sigpipe(void);

#endif
