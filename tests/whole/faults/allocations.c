/* allocations.c: linked over the program's gates of memory. FAULT_ALLOCATION=n: the n-th allocation fails (counted from 1).
 * FAULT_SITE=n: the n-th place in the program that takes memory, from the system or from an arena, gets none when it does so first.
 * FAULT_COUNT: the numbers of both go to that file at the end. Threads: run with --threads 1. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "scenario/inside.h"

void *__real_base_alloc(size_t bytes);
void *__real_base_realloc(void *old, size_t bytes);
void *__real_base_arena_take(struct base_arena *arena, size_t bytes);
void *__real_base_arena_array(struct base_arena *arena, size_t n, size_t size);
char *__real_base_arena_text(struct base_arena *arena, const char *text);
void *__real_scenario_take(struct scenario_reading *reading, size_t n, size_t size);
void *__wrap_base_alloc(size_t bytes);
void *__wrap_base_realloc(void *old, size_t bytes);
void *__wrap_base_arena_take(struct base_arena *arena, size_t bytes);
void *__wrap_base_arena_array(struct base_arena *arena, size_t n, size_t size);
char *__wrap_base_arena_text(struct base_arena *arena, const char *text);
void *__wrap_scenario_take(struct scenario_reading *reading, size_t n, size_t size);

enum { MOST_SITES = 4096 };
static long count, sites_n;
static const void *site[MOST_SITES];

static void tell(void)
{
    FILE *file = fopen(getenv("FAULT_COUNT"), "w");
    if (file) {
        fprintf(file, "%ld %ld\n", count, sites_n);
        fclose(file);
    }
}

static long number_of(const char *name)
{
    const char *text = getenv(name);
    return text ? atol(text) : 0;
}

static int first_time(void)
{
    static int been;
    if (!been++ && getenv("FAULT_COUNT"))
        atexit(tell);
    return 0;
}

static int fails(void) { return first_time() || ++count == number_of("FAULT_ALLOCATION"); }

/* Is this the place that is to get none, at its first time? */
static int site_fails(const void *place)
{
    first_time();
    for (long s = 0; s < sites_n; s++)
        if (site[s] == place)
            return 0;
    if (sites_n == MOST_SITES)
        abort();
    site[sites_n++] = place;
    return sites_n == number_of("FAULT_SITE");
}
#define HERE_FAILS site_fails(__builtin_return_address(0))

void *__wrap_base_alloc(size_t bytes)
{
    int here = HERE_FAILS;
    return fails() || here ? NULL : __real_base_alloc(bytes);
}

void *__wrap_base_realloc(void *old, size_t bytes)
{
    int here = HERE_FAILS;
    return fails() || here ? NULL : __real_base_realloc(old, bytes);
}

void *__wrap_base_arena_take(struct base_arena *arena, size_t bytes)
{
    return __real_base_arena_take(arena, HERE_FAILS ? SIZE_MAX : bytes);
}

void *__wrap_base_arena_array(struct base_arena *arena, size_t n, size_t size)
{
    return HERE_FAILS ? NULL : __real_base_arena_array(arena, n, size);
}

char *__wrap_base_arena_text(struct base_arena *arena, const char *text)
{
    return __real_base_arena_text(arena, text && HERE_FAILS ? NULL : text);
}

void *__wrap_scenario_take(struct scenario_reading *reading, size_t n, size_t size)
{
    return HERE_FAILS ? __real_scenario_take(reading, SIZE_MAX, 2) : __real_scenario_take(reading, n, size);
}
