/* arena.c: memory that is given back all at once. */
#include "base/base.h"

#include <stdarg.h>
#include <string.h>

enum { ALIGNMENT = 64, CHUNK_BYTES = 64 * 1024 };

/* A block of memory; what is taken from it starts at the first aligned byte after this header. */
struct base_chunk {
    struct base_chunk *before;
    unsigned char *next, *end;   /* next is always aligned */
};

static unsigned char *aligned(void *at)
{
    uintptr_t address = (uintptr_t)at;
    size_t odd = address % ALIGNMENT;
    return (unsigned char *)at + (odd == 0 ? 0 : ALIGNMENT - odd);
}

/* Adds a chunk with room for `bytes` (a multiple of ALIGNMENT); NULL when memory runs out. */
static struct base_chunk *add_chunk(struct base_arena *arena, size_t bytes)
{
    size_t room = bytes > CHUNK_BYTES ? bytes : CHUNK_BYTES;
    size_t whole = room + sizeof(struct base_chunk) + ALIGNMENT;
    struct base_chunk *chunk = base_alloc(whole);
    if (chunk == NULL) {
        return NULL;
    }
    chunk->next = aligned(chunk + 1);
    chunk->end = chunk->next + room;
    chunk->before = arena->last;
    arena->last = chunk;
    return chunk;
}

void *base_arena_take(struct base_arena *arena, size_t bytes)
{
    if (bytes > SIZE_MAX / 4) {
        return NULL;
    }
    size_t rounded = (bytes + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    if (rounded == 0) {
        rounded = ALIGNMENT;
    }
    struct base_chunk *chunk = arena->last;
    if (chunk == NULL || (size_t)(chunk->end - chunk->next) < rounded) {
        chunk = add_chunk(arena, rounded);
        if (chunk == NULL) {
            return NULL;
        }
    }
    void *taken = chunk->next;
    chunk->next += rounded;
    arena->bytes += rounded;
    return taken;
}

void *base_arena_array(struct base_arena *arena, size_t n, size_t size)
{
    if (size != 0 && n > SIZE_MAX / size) {
        return NULL;
    }
    return base_arena_take(arena, n * size);
}

char *base_arena_text(struct base_arena *arena, const char *text)
{
    if (text == NULL) {
        return NULL;
    }
    size_t bytes = strlen(text) + 1;
    char *copy = base_arena_take(arena, bytes);
    if (copy != NULL) {
        memcpy(copy, text, bytes);
    }
    return copy;
}

static char *print_list(struct base_arena *arena, const char *format, va_list list)
{
    va_list again;
    va_copy(again, list);
    int length = vsnprintf(NULL, 0, format, list);
    char *text = length < 0 ? NULL : base_arena_take(arena, (size_t)length + 1);
    if (text != NULL) {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    return text;
}

char *base_arena_print(struct base_arena *arena, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    char *text = print_list(arena, format, list);
    va_end(list);
    return text;
}

void base_arena_join(struct base_arena *into, struct base_arena *from)
{
    struct base_chunk **after = into->last != NULL ? &into->last->before : &into->last, *oldest = from->last;
    if (oldest == NULL) {
        return;
    }
    while (oldest->before != NULL) {
        oldest = oldest->before;
    }
    oldest->before = *after;
    *after = from->last;
    into->bytes += from->bytes;
    *from = (struct base_arena){ .last = NULL };
}

void base_arena_free(struct base_arena *arena)
{
    struct base_chunk *chunk = arena->last;
    while (chunk != NULL) {
        struct base_chunk *before = chunk->before;
        base_free(chunk);
        chunk = before;
    }
    arena->last = NULL;
    arena->bytes = 0;
}
