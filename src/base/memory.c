/* memory.c: the one gate through which this program allocates. Alone in its file, so that a test can put its
 * own gate in front (ld --wrap=base_alloc) and make the n-th allocation fail. */
#include "base/base.h"

#include <stdlib.h>

void *base_alloc(size_t bytes)
{
    return calloc(1, bytes > 0 ? bytes : 1);
}

void *base_realloc(void *old, size_t bytes)
{
    return realloc(old, bytes > 0 ? bytes : 1);
}

void base_free(void *memory)
{
    free(memory);
}
