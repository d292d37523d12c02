#include "base/arena.h"
#include <stdalign.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_BLOCK = 4096, LARGEST_STEP = 1 << 20 };

struct block {
    struct block *next;
    size_t used, size;
    alignas(max_align_t) unsigned char bytes[];
};

struct arena {
    struct block *first, *last;
    size_t handed_out;
};

static _Noreturn void out_of_memory(void)
{
    (void)fputs("amble: out of memory; every field that was left is on disk\n", stderr);
    abort();
}

static struct block *block_new(size_t size)
{
    struct block *b = malloc(sizeof *b + size);
    if (b == NULL)
        out_of_memory();
    b->next = NULL;
    b->used = 0;
    b->size = size;
    return b;
}

struct arena *arena_new(void)
{
    struct arena *a = malloc(sizeof *a);
    if (a == NULL)
        out_of_memory();
    a->first = a->last = block_new(FIRST_BLOCK);
    a->handed_out = 0;
    return a;
}

static void free_blocks(struct block *b)
{
    while (b != NULL) {
        struct block *next = b->next;
        free(b);
        b = next;
    }
}

void arena_free(struct arena *a)
{
    if (a == NULL)
        return;
    free_blocks(a->first);
    free(a);
}

void arena_reset(struct arena *a)
{
    free_blocks(a->first->next);
    a->first->next = NULL;
    a->first->used = 0;
    a->last = a->first;
    a->handed_out = 0;
}

void *arena_alloc(struct arena *a, size_t size)
{
    const size_t align = alignof(max_align_t);
    if (size > SIZE_MAX / 4)
        out_of_memory();
    size = (size + align - 1) / align * align;
    struct block *b = a->last;
    if (b->size - b->used < size) {
        size_t step = b->size < LARGEST_STEP ? b->size * 2 : LARGEST_STEP;
        b = block_new(size > step ? size : step);
        a->last->next = b;
        a->last = b;
    }
    void *p = b->bytes + b->used;
    b->used += size;
    a->handed_out += size;
    memset(p, 0, size);
    return p;
}

void *arena_array(struct arena *a, size_t count, size_t size)
{
    size_t total;
    if (__builtin_mul_overflow(count, size, &total))
        out_of_memory();
    return arena_alloc(a, total);
}

char *arena_strn(struct arena *a, const char *s, size_t n)
{
    char *copy = arena_alloc(a, n + 1);
    if (n > 0)
        memcpy(copy, s, n);
    return copy;
}

char *arena_str(struct arena *a, const char *s)
{
    return arena_strn(a, s, s == NULL ? 0 : strlen(s));
}

char *arena_vprintf(struct arena *a, const char *format, va_list args)
{
    char usual[256]; /* most texts are short: formatted once */
    va_list again;
    va_copy(again, args);
    int n = vsnprintf(usual, sizeof usual, format, args);
    size_t room = n < 0 ? 1 : (size_t)n + 1;
    char *s = arena_alloc(a, room);
    if (n > 0 && room <= sizeof usual)
        memcpy(s, usual, room);
    else if (n > 0)
        (void)vsnprintf(s, room, format, again);
    va_end(again);
    return s;
}

char *arena_printf(struct arena *a, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    char *s = arena_vprintf(a, format, args);
    va_end(args);
    return s;
}

size_t arena_used(const struct arena *a)
{
    return a->handed_out;
}

void *arena_grow(struct arena *a, void *items, size_t count, size_t *cap, size_t size)
{
    if (count < *cap)
        return items;
    size_t cap_new = *cap == 0 ? 8 : *cap * 2;
    void *grown = arena_array(a, cap_new, size);
    if (count > 0)
        memcpy(grown, items, count * size);
    *cap = cap_new;
    return grown;
}
