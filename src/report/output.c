/* output.c: a set of files that appears whole or not at all. */
#include "report/report.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { BUFFER_BYTES = 64 * 1024, MOST_FILES = 32 };

struct report_file {
    const char *name, *temporary;
    struct report_output *output;
    int fd, error;                      /* errno of the first failure; 0: none */
    bool in_memory;
    size_t used, room;
    char *buffer;
    uint64_t bytes;
    struct base_sha256 sha;
    char hex[65];
};

struct report_output {
    struct base_arena *arena;
    const char *dir;
    int dir_fd, files_n;
    struct report_file *file[MOST_FILES];
    const char *unmade;                 /* a file that could not be made */
    int unmade_error;
};

static enum base_result refuse(struct base_complaints *complaints, const char *option, const char *dir, const char *why)
{
    base_complain(complaints, BASE_ERROR, NULL, 0, option, "the %sdirectory \"%s\" %s",
                  strcmp(option, "--out") == 0 ? "output " : "", dir, why);
    return BASE_WRONG;
}

/* Makes the directory and those above it; errno tells why not. */
static bool make_dirs(char *path)
{
    for (char *slash = path + 1; (slash = strchr(slash, '/')) != NULL; slash++) {
        *slash = '\0';
        bool made = mkdir(path, 0777) == 0 || errno == EEXIST;
        *slash = '/';
        if (!made)
            return false;
    }
    return mkdir(path, 0777) == 0 || errno == EEXIST;
}

/* Whether the directory may be written into now; why not. */
static const char *refusal(const struct report_output *output, enum report_lock lock)
{
    if (output->dir_fd < 0 || access(output->dir, W_OK | X_OK) != 0)
        return strerror(errno);
    if (lock == REPORT_FREELY || flock(output->dir_fd, (lock == REPORT_ALONE ? LOCK_EX : LOCK_SH) | LOCK_NB) == 0)
        return NULL;
    return errno == EWOULDBLOCK ? "is in use by another run" : strerror(errno);
}

enum base_result report_output_open_as(struct base_arena *arena, const char *dir, enum report_lock lock, const char *option,
                                       struct base_complaints *complaints, struct report_output **output)
{
    struct stat status;
    *output = NULL;
    char *path = base_arena_text(arena, dir[0] ? dir : ".");
    if (!path)
        return BASE_FAILED;
    if (!make_dirs(path))
        return refuse(complaints, option, dir, strerror(errno));
    if (stat(dir, &status) != 0 || !S_ISDIR(status.st_mode))
        return refuse(complaints, option, dir, "is not a directory");
    struct report_output *made = base_arena_take(arena, sizeof *made);
    char *name = base_arena_text(arena, dir);
    if (!made || !name)
        return BASE_FAILED;
    *made = (struct report_output){ .arena = arena, .dir = name, .dir_fd = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC) };
    const char *why = refusal(made, lock);
    if (why) {
        enum base_result result = refuse(complaints, option, dir, why);
        report_output_close(made);
        return result;
    }
    *output = made;
    return BASE_OK;
}

enum base_result report_output_open(struct base_arena *arena, const char *dir, struct base_complaints *complaints,
                                    struct report_output **output)
{
    return report_output_open_as(arena, dir, REPORT_ALONE, "--out", complaints, output);
}

struct report_file *report_output_file(struct report_output *output, const char *name)
{
    struct report_file *file = base_arena_take(output->arena, sizeof *file);
    char *buffer = base_arena_take(output->arena, BUFFER_BYTES);
    char *temporary = base_arena_print(output->arena, ".%s.%ld.part", name, (long)getpid());
    char *own_name = base_arena_text(output->arena, name);
    int fd = -1;
    errno = ENOMEM;
    if (file && buffer && temporary && own_name && output->files_n < MOST_FILES)
        fd = openat(output->dir_fd, temporary, O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (fd < 0) {
        output->unmade = own_name;
        output->unmade_error = errno;
        return NULL;
    }
    *file = (struct report_file){ .name = own_name, .temporary = temporary,
                                  .output = output, .fd = fd, .buffer = buffer, .room = BUFFER_BYTES };
    base_sha256_start(&file->sha);
    output->file[output->files_n++] = file;
    return file;
}

static void grow(struct report_file *file)
{
    char *larger = base_realloc(file->buffer, 2 * file->room);
    if (larger) {
        file->buffer = larger;
        file->room *= 2;
    } else {
        file->error = ENOMEM;
        file->used = 0;
    }
}

static void flush(struct report_file *file)
{
    if (file->in_memory) {
        grow(file);
        return;
    }
    const char *at = file->buffer;
    base_sha256_add(&file->sha, file->buffer, file->used);
    for (size_t left = file->used; left > 0 && file->error == 0;) {
        ssize_t wrote = write(file->fd, at, left);
        if (wrote < 0 && errno == EINTR)
            continue;
        if (wrote <= 0) {
            file->error = wrote == 0 ? ENOSPC : errno;
            break;
        }
        at += wrote;
        left -= (size_t)wrote;
    }
    file->bytes += file->used;
    file->used = 0;
}

void report_write(struct report_file *file, const char *data, size_t bytes)
{
    while (file && bytes > 0) {
        size_t room = file->room - file->used, part = bytes < room ? bytes : room;
        memcpy(file->buffer + file->used, data, part);
        file->used += part;
        data += part;
        bytes -= part;
        if (file->used == file->room)
            flush(file);
    }
}

void report_print(struct report_file *file, const char *format, ...)
{
    char text[4096];
    va_list args;
    va_start(args, format);
    int n = vsnprintf(text, sizeof text, format, args);
    va_end(args);
    if (n >= (int)sizeof text && file)
        file->error = EOVERFLOW;        /* a line longer than any that this program makes */
    else if (n > 0)
        report_write(file, text, (size_t)n);
}

struct report_file *report_memory_open(void)
{
    struct report_file *file = base_alloc(sizeof *file);
    char *buffer = base_alloc(BUFFER_BYTES);
    if (!file || !buffer) {
        base_free(file);
        base_free(buffer);
        return NULL;
    }
    *file = (struct report_file){ .fd = -1, .in_memory = true, .buffer = buffer, .room = BUFFER_BYTES };
    return file;
}

void report_memory_pour(struct report_file *memory, struct report_file *into)
{
    report_write(into, memory->buffer, memory->used);
    memory->used = 0;
}

bool report_memory_failed(const struct report_file *memory) { return memory->error != 0; }

void report_memory_free(struct report_file *memory)
{
    if (memory)
        base_free(memory->buffer);
    base_free(memory);
}

bool report_file_close(struct report_file *file)
{
    if (!file)
        return false;
    if (file->fd < 0)
        return file->error == 0;
    flush(file);
    while (fsync(file->fd) != 0 && file->error == 0)
        if (errno != EINTR)
            file->error = errno;
    if (close(file->fd) != 0 && errno != EINTR && file->error == 0)
        file->error = errno;
    file->fd = -1;
    base_sha256_hex(&file->sha, file->hex);
    return file->error == 0;
}

const char *report_file_name(const struct report_file *file) { return file ? file->name : ""; }
const char *report_file_sha256(const struct report_file *file) { return file ? file->hex : ""; }
uint64_t report_file_bytes(const struct report_file *file) { return file ? file->bytes : 0; }
const char *report_output_dir(const struct report_output *output) { return output->dir; }

static enum base_result failed(struct report_output *output, const char *name, int error,
                               struct base_complaints *complaints)
{
    base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "could not write %s/%s: %s", output->dir, name, strerror(error));
    return BASE_FAILED;
}

enum base_result report_output_commit(struct report_output *output, struct base_complaints *complaints)
{
    if (output->unmade_error != 0)
        return failed(output, output->unmade ? output->unmade : "a file", output->unmade_error, complaints);
    for (int f = 0; f < output->files_n; f++)
        if (!report_file_close(output->file[f]))
            return failed(output, output->file[f]->name, output->file[f]->error, complaints);
    for (int f = 0; f < output->files_n; f++) {
        struct report_file *file = output->file[f];
        if (renameat(output->dir_fd, file->temporary, output->dir_fd, file->name) != 0)
            return failed(output, file->name, errno, complaints);
        file->temporary = NULL;
    }
    while (fsync(output->dir_fd) != 0)
        if (errno != EINTR && errno != EINVAL)
            return failed(output, "", errno, complaints);
        else if (errno == EINVAL)
            break;                      /* a file system that cannot sync a directory */
    return BASE_OK;
}

void report_output_close(struct report_output *output)
{
    if (!output)
        return;
    for (int f = 0; f < output->files_n; f++) {
        if (output->file[f]->fd >= 0)
            close(output->file[f]->fd);
        output->file[f]->fd = -1;
        if (output->file[f]->temporary)
            unlinkat(output->dir_fd, output->file[f]->temporary, 0);
        output->file[f]->temporary = NULL;
    }
    if (output->dir_fd >= 0)
        close(output->dir_fd);
    output->dir_fd = -1;
}
