/* Memory that is given back all at once.
 *
 * A screen, a command or a template set owns one arena; everything it shows or
 * loads lives there and goes with it. Nothing in an arena is freed on its own.
 * When the machine has no memory left the process aborts with a message: every
 * field left is already on disk, and there is nothing better to do.
 */
#ifndef AMBLE_BASE_ARENA_H
#define AMBLE_BASE_ARENA_H

#include <stdarg.h>
#include <stddef.h>

struct arena;

struct arena *arena_new(void);
void arena_free(struct arena *a);  /* NULL is allowed */
void arena_reset(struct arena *a); /* forget everything, keep the first block */

/* Zeroed, aligned for any type; size 0 gives a valid, unusable pointer. */
void *arena_alloc(struct arena *a, size_t size) __attribute__((malloc, returns_nonnull));
/* `count` zeroed objects; the product is checked. */
void *arena_array(struct arena *a, size_t count, size_t size)
    __attribute__((malloc, returns_nonnull));
/* Copies of text; NULL in gives "" out. */
char *arena_str(struct arena *a, const char *s) __attribute__((returns_nonnull));
char *arena_strn(struct arena *a, const char *s, size_t n) __attribute__((returns_nonnull));
char *arena_printf(struct arena *a, const char *format, ...)
    __attribute__((returns_nonnull, format(printf, 2, 3)));
char *arena_vprintf(struct arena *a, const char *format, va_list args)
    __attribute__((returns_nonnull, format(printf, 2, 0)));
size_t arena_used(const struct arena *a); /* bytes handed out, for tests and the bench */

/* Grow an array that lives in an arena: `*items` has room for `*cap`, holds `count`;
 * afterwards there is room for count + 1. The old copy stays in the arena. */
void *arena_grow(struct arena *a, void *items, size_t count, size_t *cap, size_t size)
    __attribute__((returns_nonnull));

#endif
