/* side.h: eight numbers worked on side by side, one for each of eight trials, in loops that GCC turns into the widest instructions of
 * the version of a function that it compiles (BASE_VECTOR). */
#ifndef TIDEOVER_BASE_SIDE_H
#define TIDEOVER_BASE_SIDE_H

#include <string.h>

#include "base/base.h"

enum { BASE_SIDE = 8 };

/* A loop over the trials side by side, i from 0, none of which reads what is another's. GCC turns it into vector instructions
 * wherever it becomes a part of a function: it does not take it apart first, nor asks at run time whether arrays overlap. */
#if defined(__GNUC__) && !defined(__clang__)
#define BASE_SIDE_BY_SIDE(i) _Pragma("GCC ivdep") _Pragma("GCC unroll 1") for (int i = 0; i < BASE_SIDE; i++)
#else
#define BASE_SIDE_BY_SIDE(i) for (int i = 0; i < BASE_SIDE; i++)
#endif

/* Eight bytes as numbers. */
BASE_PART void base_side_spread(uint64_t to[BASE_SIDE], const uint8_t *from)
{
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    static const uint64_t bits[BASE_SIDE] = { 0, 8, 16, 24, 32, 40, 48, 56 };
#else
    static const uint64_t bits[BASE_SIDE] = { 56, 48, 40, 32, 24, 16, 8, 0 };
#endif
    uint64_t all;
    memcpy(&all, from, sizeof all);
    BASE_SIDE_BY_SIDE(i)
        to[i] = all >> bits[i] & 0xff;
}

/* Ones and noughts as bytes, in vectors of one's own: loops that end in single bytes stay loops. */
BASE_PART void base_side_flags(uint8_t *to, const double *ones)
{
    typedef double reals __attribute__((vector_size(BASE_SIDE * sizeof(double))));
    typedef int32_t wholes __attribute__((vector_size(BASE_SIDE * sizeof(int32_t))));
    typedef int8_t bytes __attribute__((vector_size(BASE_SIDE)));
    reals x;
    memcpy(&x, ones, sizeof x);
    bytes flags = __builtin_convertvector(__builtin_convertvector(x, wholes), bytes);
    memcpy(to, &flags, sizeof flags);
}

/* A bit for each trial. */
static const uint64_t BASE_SIDE_BIT[BASE_SIDE] = { 1, 2, 4, 8, 16, 32, 64, 128 };

/* Rows of trials begin where the widest vectors do. */
#define BASE_SIDE_ALIGNED _Alignas(BASE_SIDE * sizeof(double))

#endif
