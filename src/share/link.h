/* Exchanging over a pair of pipes: ssh://user@host/ runs "amble sync --serve" there.
 *
 * Frames of a length (4 bytes), a letter and so many bytes; what matters in them are the same
 * sealed bundles as in a folder. Each side names a challenge that the other's bundles answer, so
 * that a recorded conversation cannot be played again.
 */
#ifndef AMBLE_SHARE_LINK_H
#define AMBLE_SHARE_LINK_H

#include "share/share.h"

bool link_sync(struct share *s, const char *place, const struct watch *w, struct report *r,
               struct fault *f);
/* The other end, over descriptors. */
bool link_serve(struct share *s, int in, int out, const struct watch *w, struct report *r,
                struct fault *f);
/* To the caller at the other end, before there is anything to serve: why it waits, and that it
 * cannot be. */
void link_waits(int out, const char *why);
void link_refuses(int out, const struct fault *why);

#endif
