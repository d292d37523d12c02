/* What was written reaches the disk: SQLite has put it into the log beside the record, where it
 * outlives this program; it outlives a power cut once the log is flushed. A second thread does that
 * and nothing else, so that whoever types meanwhile need not wait. It knows the log's descriptor
 * and never SQLite.
 *
 * A flush that failed says nothing of what an earlier one left behind, and the next may succeed
 * without it: the system counts what it could not write as written. So then the log's pages are
 * written once more, into the record itself (a checkpoint), before anything else may be added.
 */
#include "journal/internal.h"
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { LOG_PAGES = 1000 }; /* a log as long goes into the record: SQLite's own measure */

struct flusher {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    uint64_t asked, done; /* flushes; each ends all that were asked for before it began */
    int log;              /* -1 until there is something to flush */
    int error;            /* of the first flush that failed and was not made good; 0: none */
    bool end;
    bool unasked; /* main thread only: what is written just now needs no flush */
};

static void *run_flushes(void *of)
{
    struct flusher *fl = of;
    pthread_mutex_lock(&fl->lock);
    while (!fl->end || fl->done < fl->asked) {
        if (fl->done == fl->asked) {
            pthread_cond_wait(&fl->changed, &fl->lock);
            continue;
        }
        uint64_t upto = fl->asked;
        pthread_mutex_unlock(&fl->lock);
        int error = fdatasync(fl->log) == 0 ? 0 : errno;
        pthread_mutex_lock(&fl->lock);
        fl->done = upto;
        fl->error = fl->error != 0 ? fl->error : error;
        pthread_cond_broadcast(&fl->changed);
    }
    pthread_mutex_unlock(&fl->lock);
    return NULL;
}

/* The log lies beside the record from the first thing written until the record is closed. */
static int log_open(sqlite3 *db)
{
    return open(sqlite3_filename_wal(sqlite3_db_filename(db, "main")), O_RDWR | O_CLOEXEC);
}

/* SQLite calls it after each commit, so that none is forgotten. */
static int committed(void *of, sqlite3 *db, const char *name, int pages)
{
    struct flusher *fl = of;
    if (!fl->unasked) {
        pthread_mutex_lock(&fl->lock);
        if (fl->log < 0)
            fl->log = log_open(db);
        fl->error = fl->log < 0 && fl->error == 0 ? errno : fl->error;
        fl->asked++;
        fl->done += fl->log < 0; /* nothing can be flushed: see journal_flush */
        pthread_cond_broadcast(&fl->changed);
        pthread_mutex_unlock(&fl->lock);
    }
    return pages < LOG_PAGES
               ? SQLITE_OK
               : sqlite3_wal_checkpoint_v2(db, name, SQLITE_CHECKPOINT_PASSIVE, NULL, NULL);
}

/* Signals are the main thread's. */
static int thread_start(struct flusher *fl)
{
    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_BLOCK, &all, &before);
    int error = pthread_create(&fl->thread, NULL, run_flushes, fl);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return error;
}

static bool flush_each(sqlite3 *db, bool each)
{
    return sqlite3_exec(db, each ? "PRAGMA synchronous = FULL" : "PRAGMA synchronous = NORMAL",
                        NULL, NULL, NULL) == SQLITE_OK;
}

bool journal_flush_beside(struct journal *j, struct fault *f)
{
    if (j->read_only || j->flusher)
        return true;
    struct flusher *fl = calloc(1, sizeof *fl);
    if (!fl)
        return fail(f, FAULT_SYSTEM, "no memory to write the record");
    *fl = (struct flusher){
        .lock = PTHREAD_MUTEX_INITIALIZER, .changed = PTHREAD_COND_INITIALIZER, .log = -1};
    int error = flush_each(j->db, false) ? thread_start(fl) : EIO;
    if (error != 0) {
        free(fl);
        flush_each(j->db, true);
        return fail(f, FAULT_SYSTEM, "nothing can be flushed beside: %s", strerror(error));
    }
    j->flusher = fl;
    sqlite3_wal_hook(j->db, committed, fl);
    return true;
}

enum flushing journal_flushing(struct journal *j)
{
    struct flusher *fl = j->flusher;
    if (!fl)
        return FLUSHED;
    pthread_mutex_lock(&fl->lock);
    enum flushing state = fl->error != 0         ? FLUSH_FAILED
                          : fl->done < fl->asked ? FLUSH_RUNS
                                                 : FLUSHED;
    pthread_mutex_unlock(&fl->lock);
    return state;
}

bool journal_flush(struct journal *j, struct fault *f)
{
    struct flusher *fl = j->flusher;
    if (!fl)
        return true;
    pthread_mutex_lock(&fl->lock);
    while (fl->done < fl->asked)
        pthread_cond_wait(&fl->changed, &fl->lock);
    int error = fl->error;
    pthread_mutex_unlock(&fl->lock);
    if (error == 0)
        return true;
    journal_look_stop(j);
    if (sqlite3_wal_checkpoint_v2(j->db, "main", SQLITE_CHECKPOINT_FULL, NULL, NULL) != SQLITE_OK)
        return fail(f, FAULT_STORE,
                    "what was entered last is not on the disk (%s), and a power cut would take it: "
                    "make room, or copy the record to another disk",
                    strerror(error));
    pthread_mutex_lock(&fl->lock);
    fl->error = 0;
    pthread_mutex_unlock(&fl->lock);
    return true;
}

void flush_wanted(struct journal *j, bool flush)
{
    if (j->flusher)
        j->flusher->unasked = !flush;
}

void flush_end(struct journal *j)
{
    struct flusher *fl = j->flusher;
    if (!fl)
        return;
    pthread_mutex_lock(&fl->lock);
    fl->end = true;
    pthread_cond_broadcast(&fl->changed);
    pthread_mutex_unlock(&fl->lock);
    pthread_join(fl->thread, NULL);
    if (fl->log >= 0)
        close(fl->log);
    sqlite3_wal_autocheckpoint(j->db, LOG_PAGES); /* in place of the hook */
    flush_each(j->db, true);
    pthread_mutex_destroy(&fl->lock);
    pthread_cond_destroy(&fl->changed);
    free(fl);
    j->flusher = NULL;
}
