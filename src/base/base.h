/* base.h: what every room stands on: memory, complaints about the user's input, whole files, hashes.
 * Knows nothing of scenarios or chance. */
#ifndef TIDEOVER_BASE_H
#define TIDEOVER_BASE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* Exit codes of the program, also used as results of functions that can fail. */
enum base_result {
    BASE_OK = 0,
    BASE_FAILED = 1,       /* could not do it: input/output, memory */
    BASE_WRONG = 2,        /* the request was wrong: usage, scenario, records */
    BASE_INTERRUPTED = 130 /* a signal ended the work */
};

/* ---- memory -------------------------------------------------------------------------------- */

/* An arena: everything taken from it lives until base_arena_free. Never shared between threads. */
struct base_arena {
    struct base_chunk *last;
    size_t bytes;          /* taken so far, bookkeeping aside */
};

/* Zeroed memory of `bytes` bytes, aligned for any type (64 bytes); NULL when memory runs out. */
void *base_arena_take(struct base_arena *arena, size_t bytes);
/* Zeroed array of n elements; NULL when memory runs out or n*size overflows. */
void *base_arena_array(struct base_arena *arena, size_t n, size_t size);
/* Copy of a string, owned by the arena; NULL when memory runs out or text is NULL. */
char *base_arena_text(struct base_arena *arena, const char *text);
/* printf into the arena; NULL when memory runs out. */
char *base_arena_print(struct base_arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* What is in one arena goes over to another, which lasts from then on as long; `from` is empty thereafter. */
void base_arena_join(struct base_arena *into, struct base_arena *from);
/* Gives everything back; the arena may be used again. */
void base_arena_free(struct base_arena *arena);

/* The only allocations of this program outside libraries; NULL when memory runs out. One gate, so that
 * tests can make the n-th one fail. base_free(NULL) does nothing. */
void *base_alloc(size_t bytes);            /* zeroed */
void *base_realloc(void *old, size_t bytes);
void base_free(void *memory);

/* ---- complaints ---------------------------------------------------------------------------- */

enum base_severity { BASE_WARNING, BASE_ERROR };

/* All that is wrong with the user's input, gathered so that it can be said at once. Zero-initialise.
 * Messages past `BASE_COMPLAINTS_KEPT` are counted, not kept. */
#define BASE_COMPLAINTS_KEPT 200
struct base_complaints {
    struct base_arena arena;
    struct base_complaint *first, *last;
    int errors, warnings, kept;
    bool out_of_memory;
};

/* Adds one: `file` may be NULL (command line), line 0 when unknown, `setting` the whole path or NULL.
 * The text says what is wrong, what was found and what is allowed. */
void base_complain(struct base_complaints *all, enum base_severity severity, const char *file, int line,
                   const char *setting, const char *format, ...) __attribute__((format(printf, 6, 7)));
/* Prints each as `file:line: setting: text`, sorted by file and line, warnings marked so; control characters
 * in what the user wrote are shown as '?'. */
void base_complaints_print(const struct base_complaints *all, FILE *to);
/* Text with '?' for what could drive a terminal: ASCII's control characters and, in UTF-8, U+0080 to U+009F. */
void base_print_plain(const char *text, FILE *to);
void base_complaints_free(struct base_complaints *all);

/* ---- files --------------------------------------------------------------------------------- */

/* Reads a whole regular file into the arena, NUL-terminated. On failure returns NULL and sets *why to a
 * static or arena-owned reason (no such file, a directory, larger than `most_bytes`, ...). */
char *base_read_file(struct base_arena *arena, const char *path, size_t most_bytes, size_t *size,
                     const char **why);

/* SHA-256 (FIPS 180-4) as 64 hexadecimal digits and NUL. */
struct base_sha256 {
    uint32_t h[8];
    uint64_t length;
    unsigned char block[64];
};
void base_sha256_start(struct base_sha256 *sha);
void base_sha256_add(struct base_sha256 *sha, const void *data, size_t bytes);
void base_sha256_hex(struct base_sha256 *sha, char hex[65]);

/* ---- packing ------------------------------------------------------------------------------- */

/* Numbers and text as bytes that mean the same on every machine. Zero-initialise; base_packed_free gives it back. */
struct base_packed {
    unsigned char *bytes;
    size_t n, room;
    bool failed;           /* memory ran out; what was packed is not whole */
};
void base_pack(struct base_packed *to, const void *data, size_t n);
void base_pack_whole(struct base_packed *to, uint64_t value); /* 8 bytes, the lowest first */
void base_pack_short(struct base_packed *to, uint64_t value); /* 1 to 10 bytes of 7 bits each, the lowest first */
void base_pack_real(struct base_packed *to, double value);    /* exactly: the bits of an IEEE 754 double */
void base_pack_text(struct base_packed *to, const char *text);
void base_packed_free(struct base_packed *packed);

/* Takes them out again in the same order. Never reads past `end`: what is not there is 0, "" or NULL, and `failed` from
 * there on. Text stays where it is. */
struct base_unpacking {
    const unsigned char *at, *end;
    bool failed;
};
const unsigned char *base_unpack(struct base_unpacking *from, uint64_t n);
uint64_t base_unpack_whole(struct base_unpacking *from);
uint64_t base_unpack_short(struct base_unpacking *from);
double base_unpack_real(struct base_unpacking *from);
const char *base_unpack_text(struct base_unpacking *from);

/* A function whose loops are also compiled for wider vectors; the processor's are chosen at start. The arithmetic is the
 * same to the last bit: nothing is fused, nothing re-ordered (-ffp-contract=off, no fast maths). */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__AVX__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) \
    && !defined(__SANITIZE_THREAD__) /* a build for one processor has its vectors: GCC 12 breaks off at versions for lesser ones */
#define BASE_VECTOR __attribute__((target_clones("arch=x86-64-v4", "arch=x86-64-v3", "default")))
#else
#define BASE_VECTOR
#endif

/* For what is called from such functions: it must become part of each of their versions. */
#if defined(__GNUC__)
#define BASE_PART static inline __attribute__((always_inline))
#else
#define BASE_PART static inline
#endif

/* ---- small things -------------------------------------------------------------------------- */

/* Calendar of 365 days: "MM-DD" to day of the year 0..364 (02-29 reads as 02-28); -1 when it is no date. */
int base_day_of_year(const char *mm_dd);
/* Day of the year 0..364 to "MM-DD" and NUL. */
void base_mm_dd(int day_of_year, char text[6]);

#endif
