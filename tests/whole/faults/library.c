/* library.c: preloaded: libconfig's own allocations, told by who calls, counted apart from the program's. FAULT_LIBRARY=n: its n-th
 * one (from 1) fails. FAULT_COUNT: their number goes to that file at the end, however the program ends. */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <link.h>
#include <locale.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

void *__libc_malloc(size_t bytes);
void *__libc_calloc(size_t n, size_t bytes);
void *__libc_realloc(void *old, size_t bytes);
char *__strdup(const char *text);
static uintptr_t from, end;
static long wanted, *count;                 /* the count lies in the file, so that a crash loses none */

static int find(struct dl_phdr_info *library, size_t size, void *unused)
{
    (void)size;
    (void)unused;
    if (!strstr(library->dlpi_name, "/libconfig."))
        return 0;
    for (int i = 0; i < library->dlpi_phnum; i++)
        if (library->dlpi_phdr[i].p_type == PT_LOAD && library->dlpi_phdr[i].p_flags & PF_X) {
            from = library->dlpi_addr + library->dlpi_phdr[i].p_vaddr;
            end = from + library->dlpi_phdr[i].p_memsz;
        }
    return 1;
}

__attribute__((constructor)) static void start(void)
{
    static long none;
    const char *n = getenv("FAULT_LIBRARY"), *path = getenv("FAULT_COUNT");
    count = &none;
    if (path) {
        int fd = open(path, O_RDWR | O_CREAT | O_TRUNC, 0666);
        if (fd < 0 || ftruncate(fd, sizeof *count) != 0)
            abort();
        count = mmap(NULL, sizeof *count, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
        if (count == MAP_FAILED)
            abort();
        close(fd);
    }
    wanted = n ? atol(n) : 0;
    if (!dl_iterate_phdr(find, NULL))
        abort();                            /* not the program that this is for */
}

static int fails(const void *caller)
{
    uintptr_t at = (uintptr_t)caller;
    if (!count || at < from || at >= end || ++*count != wanted)
        return 0;
    errno = ENOMEM;
    return 1;
}
#define HERE_FAILS fails(__builtin_return_address(0))

void *malloc(size_t bytes) { return HERE_FAILS ? NULL : __libc_malloc(bytes); }
void *calloc(size_t n, size_t bytes) { return HERE_FAILS ? NULL : __libc_calloc(n, bytes); }
void *realloc(void *old, size_t bytes) { return HERE_FAILS ? NULL : __libc_realloc(old, bytes); }

char *__strdup(const char *text)
{
    size_t bytes = strlen(text) + 1;
    char *copy = HERE_FAILS ? NULL : __libc_malloc(bytes);
    return copy ? memcpy(copy, text, bytes) : NULL;
}

locale_t newlocale(int mask, const char *name, locale_t base)
{
    extern locale_t __newlocale(int, const char *, locale_t);
    return HERE_FAILS ? (locale_t)0 : __newlocale(mask, name, base);
}
