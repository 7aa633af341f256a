/* allocations.c: linked over the program's gate of allocations: the one numbered FAULT_ALLOCATION fails (counted from 1); with
 * FAULT_COUNT set, their number is written to that file at the end. Threads: run with --threads 1. */
#include <stdio.h>
#include <stdlib.h>

void *__real_base_alloc(size_t bytes);
void *__real_base_realloc(void *old, size_t bytes);
void *__wrap_base_alloc(size_t bytes);
void *__wrap_base_realloc(void *old, size_t bytes);

static long count;

static void tell(void)
{
    FILE *file = fopen(getenv("FAULT_COUNT"), "w");
    if (file) {
        fprintf(file, "%ld\n", count);
        fclose(file);
    }
}

static int fails(void)
{
    static long at = -1;
    if (at < 0) {
        const char *text = getenv("FAULT_ALLOCATION");
        at = text ? atol(text) : 0;
        if (getenv("FAULT_COUNT"))
            atexit(tell);
    }
    return ++count == at;
}

void *__wrap_base_alloc(size_t bytes) { return fails() ? NULL : __real_base_alloc(bytes); }
void *__wrap_base_realloc(void *old, size_t bytes) { return fails() ? NULL : __real_base_realloc(old, bytes); }
