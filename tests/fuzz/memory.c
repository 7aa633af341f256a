/* memory.c: see memory.h. */
#include "memory.h"

#include "base/base.h"

#include <errno.h>
#include <string.h>

char *__real_base_read_file(struct base_arena *arena, const char *path, size_t most_bytes, size_t *size, const char **why);
char *__wrap_base_read_file(struct base_arena *arena, const char *path, size_t most_bytes, size_t *size, const char **why);

static struct { const char *path; const uint8_t *data; size_t size; } file[FUZZ_MOST_FILES];
static int files_n;

void fuzz_lay(const uint8_t *data, size_t size, const char *const *paths, int n)
{
    const uint8_t *end = data + size;
    for (files_n = 0; files_n < n; files_n++) {
        const uint8_t *next = files_n < n - 1 && data < end ? memchr(data, FUZZ_NEXT_FILE, (size_t)(end - data)) : NULL;
        file[files_n].path = paths[files_n];
        file[files_n].data = data;
        file[files_n].size = (size_t)((next ? next : end) - data);
        if (!next) {
            files_n++;
            return;
        }
        data = next + 1;
    }
}

char *__wrap_base_read_file(struct base_arena *arena, const char *path, size_t most_bytes, size_t *size, const char **why)
{
    int f = 0;
    while (f < files_n && strcmp(file[f].path, path) != 0)
        f++;
    if (f == files_n)
        return __real_base_read_file(arena, path, most_bytes, size, why);
    *why = file[f].size > most_bytes ? "it is too large" : "memory ran out";
    char *text = file[f].size > most_bytes ? NULL : base_arena_take(arena, file[f].size + 1);
    if (!text) {
        errno = ENOMEM;
        return NULL;
    }
    if (file[f].size > 0)
        memcpy(text, file[f].data, file[f].size);
    *size = file[f].size;
    return text;
}
