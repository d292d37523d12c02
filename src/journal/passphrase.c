#include "journal/passphrase.h"
#include "base/arena.h"
#include "journal/internal.h"
#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char hash_setting[] = "lock.hash", minutes_setting[] = "lock.minutes",
                  wrong_setting[] = "lock.wrong"; /* "3 1795608000000": tries, and the last */
enum { LEAST = 4, FREE_TRIES = 2 };

bool lock_set(struct journal *j, const char *passphrase, int minutes, struct fault *f)
{
    char hash[crypto_pwhash_STRBYTES] = "", text[16];
    if (*passphrase != '\0' && strlen(passphrase) < LEAST)
        return fail(f, FAULT_INPUT, "a passphrase has at least %d characters", LEAST);
    if (*passphrase != '\0' && (minutes < 1 || minutes > LOCK_MINUTES_MOST))
        return fail(f, FAULT_INPUT, "a lock comes after 1 to %d minutes", LOCK_MINUTES_MOST);
    if (*passphrase != '\0' &&
        crypto_pwhash_str(hash, passphrase, strlen(passphrase), crypto_pwhash_OPSLIMIT_MODERATE,
                          crypto_pwhash_MEMLIMIT_MODERATE) != 0)
        return fail(f, FAULT_SYSTEM, "not enough memory to keep a passphrase (256 MiB)");
    snprintf(text, sizeof text, "%d", *passphrase != '\0' ? minutes : 0);
    return journal_setting_put(j, hash_setting, hash, f) &&
           journal_setting_put(j, minutes_setting, text, f) &&
           journal_setting_put(j, wrong_setting, "0 0", f);
}

int lock_minutes(struct journal *j)
{
    struct arena *a = arena_new();
    const char *hash = journal_setting(j, a, hash_setting);
    const char *set = journal_setting(j, a, minutes_setting);
    long minutes = hash && *hash && set ? strtol(set, NULL, 10) : 0;
    arena_free(a);
    return minutes > 0 && minutes <= LOCK_MINUTES_MOST ? (int)minutes : 0;
}

static void wrong_read(struct journal *j, long *tries, int64_t *last)
{
    struct arena *a = arena_new();
    const char *kept = journal_setting(j, a, wrong_setting);
    *tries = 0;
    *last = 0;
    if (kept && sscanf(kept, "%ld %" SCNd64, tries, last) != 2)
        *tries = 0;
    arena_free(a);
}

/* A clock set back does not lengthen the wait, one set forward does not end more than one. */
int lock_wait(struct journal *j, int64_t now_ms)
{
    long tries;
    int64_t last;
    wrong_read(j, &tries, &last);
    if (tries <= FREE_TRIES)
        return 0;
    long doublings = tries - FREE_TRIES - 1;
    int64_t wait = doublings > 5 ? LOCK_WAIT_MOST_S : INT64_C(1) << doublings;
    int64_t gone = (now_ms - last) / 1000;
    if (gone < 0)
        gone = 0;
    return gone >= wait ? 0 : (int)(wait - gone);
}

bool lock_try(struct journal *j, const char *typed, int64_t now_ms, struct fault *f)
{
    long tries;
    int64_t last;
    char text[48];
    int wait = lock_wait(j, now_ms);
    if (wait > 0)
        return fail(f, FAULT_REFUSED, "too many wrong tries: wait %d s", wait);
    struct arena *a = arena_new();
    const char *hash = journal_setting(j, a, hash_setting);
    bool right = hash && *hash && crypto_pwhash_str_verify(hash, typed, strlen(typed)) == 0;
    arena_free(a);
    wrong_read(j, &tries, &last);
    if (right && tries == 0)
        return true;
    snprintf(text, sizeof text, "%ld %" PRId64, right ? 0 : tries + 1, now_ms);
    if (!j->read_only && !journal_setting_put(j, wrong_setting, text, f))
        return false;
    return right || fail(f, FAULT_REFUSED, "that is not the passphrase");
}
