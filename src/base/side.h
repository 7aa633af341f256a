/* side.h: eight numbers worked on side by side, one for each of eight trials: GCC's and Clang's vector extension, which they
 * turn into the widest instructions of the version of a function that they compile (BASE_VECTOR). */
#ifndef TIDEOVER_BASE_SIDE_H
#define TIDEOVER_BASE_SIDE_H

#include <string.h>

#include "base/base.h"

enum { BASE_SIDE = 8 };
typedef double base_side __attribute__((vector_size(BASE_SIDE * sizeof(double))));
typedef int32_t base_side_counts __attribute__((vector_size(BASE_SIDE * sizeof(int32_t))));
typedef int8_t base_side_bytes __attribute__((vector_size(BASE_SIDE)));
typedef int64_t base_side_mask __attribute__((vector_size(BASE_SIDE * sizeof(int64_t)))); /* all ones or none: a < b */

/* A loop over the trials side by side, i from 0, none of which reads what is another's. GCC turns it into vector instructions
 * wherever it becomes a part of a function: it does not take it apart first, nor asks at run time whether arrays overlap. */
#if defined(__GNUC__) && !defined(__clang__)
#define BASE_SIDE_BY_SIDE(i) _Pragma("GCC ivdep") _Pragma("GCC unroll 1") for (int i = 0; i < BASE_SIDE; i++)
#else
#define BASE_SIDE_BY_SIDE(i) for (int i = 0; i < BASE_SIDE; i++)
#endif

BASE_PART void base_side_load(base_side *x, const double *from) { memcpy(x, from, sizeof *x); }
BASE_PART void base_side_store(double *to, const base_side *x) { memcpy(to, x, sizeof *x); }

/* Eight bytes. */
BASE_PART void base_side_load_bytes(base_side_mask *x, const uint8_t *from)
{
#if __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    const base_side_mask bits = { 0, 8, 16, 24, 32, 40, 48, 56 };
#else
    const base_side_mask bits = { 56, 48, 40, 32, 24, 16, 8, 0 };
#endif
    int64_t all;
    memcpy(&all, from, sizeof all);
    *x = ((base_side_mask){ 0 } + all) >> bits & 0xff;
}

/* Ones and noughts as bytes. */
BASE_PART void base_side_flags(uint8_t *to, const double *ones)
{
    base_side x;
    base_side_load(&x, ones);
    base_side_bytes flags = __builtin_convertvector(__builtin_convertvector(x, base_side_counts), base_side_bytes);
    memcpy(to, &flags, sizeof flags);
}

/* x where the mask is set, y elsewhere. */
#define base_side_choose(mask, x, y) ((base_side)(((mask) & (base_side_mask)(x)) | (~(mask) & (base_side_mask)(y))))
#define base_side_least(x, y) base_side_choose((x) < (y), x, y)

/* A bit of its own for each, chosen or not: base_side_join(&(base_side){ base_side_choose(a < b, base_side_bit, none) }).
 * Conditions that are not chosen by at once GCC 12 works out one by one where processors keep them apart from vectors. */
#define base_side_bit ((base_side_mask){ 1, 2, 4, 8, 16, 32, 64, 128 })
BASE_PART unsigned base_side_join(const base_side *bits)
{
    base_side_mask all = (base_side_mask)*bits;
    all |= __builtin_shufflevector(all, all, 4, 5, 6, 7, 0, 1, 2, 3);
    all |= __builtin_shufflevector(all, all, 2, 3, 0, 1, 6, 7, 4, 5);
    all |= __builtin_shufflevector(all, all, 1, 0, 3, 2, 5, 4, 7, 6);
    return (unsigned)all[0];
}

#endif
