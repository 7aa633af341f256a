/* file.c: whole files into memory. */
#include "base/base.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Reads up to `room` bytes; -1 with errno set on an error, else the number of bytes there were. */
static ssize_t read_all(int file, char *text, size_t room)
{
    size_t size = 0;
    while (size < room) {
        ssize_t got = read(file, text + size, room - size);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            return -1;
        }
        if (got == 0) {
            break;
        }
        size += (size_t)got;
    }
    return (ssize_t)size;
}

/* Why this open file will not be read, or NULL. */
static const char *refuse(struct base_arena *arena, const struct stat *about, size_t most_bytes)
{
    if (S_ISDIR(about->st_mode)) {
        return "it is a folder, not a file";
    }
    if (!S_ISREG(about->st_mode)) {
        return "it is not a regular file";
    }
    if (about->st_size < 0 || (uintmax_t)about->st_size > most_bytes) {
        const char *text = base_arena_print(arena, "it is larger than %zu bytes", most_bytes);
        return text != NULL ? text : "it is too large";
    }
    return NULL;
}

static char *read_open(struct base_arena *arena, int file, size_t most_bytes, size_t *size, const char **why)
{
    struct stat about;
    if (fstat(file, &about) != 0) {
        *why = base_arena_text(arena, strerror(errno));
        return NULL;
    }
    *why = refuse(arena, &about, most_bytes);
    if (*why != NULL) {
        return NULL;
    }
    size_t room = (size_t)about.st_size;
    char *text = base_arena_take(arena, room + 1);
    if (text == NULL) {
        *why = "memory ran out";
        errno = ENOMEM;
        return NULL;
    }
    ssize_t got = read_all(file, text, room);
    if (got < 0) {
        *why = base_arena_text(arena, strerror(errno));
        return NULL;
    }
    text[got] = '\0';
    *size = (size_t)got;
    return text;
}

char *base_read_file(struct base_arena *arena, const char *path, size_t most_bytes, size_t *size,
                     const char **why)
{
    *why = NULL;
    /* O_NONBLOCK: opening a pipe nobody writes to must not hang; it is refused a moment later. */
    int file = open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (file < 0) {
        *why = errno == ENOENT ? "there is no such file" : base_arena_text(arena, strerror(errno));
        if (*why == NULL) {
            *why = "it cannot be opened";
        }
        return NULL;
    }
    char *text = read_open(arena, file, most_bytes, size, why);
    if (text == NULL && *why == NULL) {
        *why = "it cannot be read";
    }
    close(file);
    return text;
}
