/* calls.c: preloaded: the FAULT_N-th call (from 1) of the function named FAULT_CALL on the program's own output fails with errno
 * FAULT_ERRNO, or, for write and "short", writes one byte only. FAULT_COUNT: their number goes to that file. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static long count;

static void tell(void)
{
    char text[32];
    int n = snprintf(text, sizeof text, "%ld\n", count);
    int (*real_open)(const char *, int, ...) = dlsym(RTLD_NEXT, "open");
    ssize_t (*real_write)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
    int fd = real_open(getenv("FAULT_COUNT"), O_WRONLY | O_CREAT | O_TRUNC, 0666);
    if (fd >= 0 && real_write(fd, text, (size_t)n) != n)
        abort();
}

static int fails(const char *call)
{
    static int ready;
    const char *wanted = getenv("FAULT_CALL"), *n = getenv("FAULT_N");
    if (!wanted || strcmp(wanted, call) != 0)
        return 0;
    if (!ready++ && getenv("FAULT_COUNT"))
        atexit(tell);
    return ++count == (n ? atol(n) : 0);
}

static int fail(void)
{
    const char *text = getenv("FAULT_ERRNO");
    errno = text ? atoi(text) : EIO;
    return -1;
}

ssize_t write(int fd, const void *data, size_t bytes)
{
    ssize_t (*real)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
    const char *kind = getenv("FAULT_ERRNO");
    if (fd <= 2 || !fails("write"))
        return real(fd, data, bytes);
    return kind && strcmp(kind, "short") == 0 ? real(fd, data, bytes > 0 ? 1 : 0) : fail();
}

int fsync(int fd)
{
    int (*real)(int) = dlsym(RTLD_NEXT, "fsync");
    return fails("fsync") ? fail() : real(fd);
}

int close(int fd)
{
    int (*real)(int) = dlsym(RTLD_NEXT, "close");
    if (!fails("close"))
        return real(fd);
    real(fd);
    return fail();
}

int renameat(int from_dir, const char *from, int to_dir, const char *to)
{
    int (*real)(int, const char *, int, const char *) = dlsym(RTLD_NEXT, "renameat");
    return fails("renameat") ? fail() : real(from_dir, from, to_dir, to);
}

int openat(int dir, const char *path, int flags, ...)
{
    int (*real)(int, const char *, int, ...) = dlsym(RTLD_NEXT, "openat");
    va_list args;
    va_start(args, flags);
    mode_t mode = flags & O_CREAT ? va_arg(args, mode_t) : 0;
    va_end(args);
    return fails("openat") ? fail() : real(dir, path, flags, mode);
}

ssize_t read(int fd, void *data, size_t bytes)
{
    ssize_t (*real)(int, void *, size_t) = dlsym(RTLD_NEXT, "read");
    const char *kind = getenv("FAULT_ERRNO");
    if (fd <= 2 || !fails("read"))
        return real(fd, data, bytes);
    return kind && strcmp(kind, "short") == 0 ? real(fd, data, bytes > 0 ? 1 : 0) : fail();
}
