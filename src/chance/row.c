/* row.c: quantiles of many words at once, to the same bits as chance_draw. */
#include "chance/chance.h"

/* Sixteen tables of a thousand cells do not fit into vector registers: a row is worth it where a processor fetches eight
 * cells with one instruction. GCC's own vectoriser does so only when told to tune for such a processor. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__)
#include <immintrin.h>

static bool fetches_eight(void) { return __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512cd"); }

__attribute__((target("avx512f,avx512dq,avx512cd")))
static int draw_eights(const double (*cubic)[4], const uint64_t *restrict word, int n, double *restrict out)
{
    const double *c = cubic[0];
    const __m512i one = _mm512_set1_epi64(1), least = _mm512_set1_epi64(1 << 20), fifteen = _mm512_set1_epi64(15);
    int i = 0;
    for (; i + 8 <= n; i += 8) { /* chance_cell and chance_curve, instruction for instruction */
        __m512i x = _mm512_loadu_si512(word + i), upper = _mm512_srli_epi64(x, 63);
        __m512i y = _mm512_max_epu64(_mm512_xor_si512(x, _mm512_srai_epi64(x, 63)), least);
        __m512i z = _mm512_lzcnt_epi64(y);
        y = _mm512_sllv_epi64(y, z);
        __m512d t = _mm512_mul_pd(_mm512_cvtepi64_pd(_mm512_srli_epi64(_mm512_slli_epi64(y, 5), 20)), _mm512_set1_pd(0x1p-44));
        __m512i cell = _mm512_add_epi64(_mm512_slli_epi64(_mm512_sub_epi64(z, one), 1), upper);
        cell = _mm512_or_si512(_mm512_slli_epi64(cell, 4), _mm512_and_si512(_mm512_srli_epi64(y, 59), fifteen));
        __m512i at = _mm512_slli_epi64(cell, 2);
        __m512d sum = _mm512_mul_pd(t, _mm512_i64gather_pd(at, c + 3, 8));
        sum = _mm512_mul_pd(t, _mm512_add_pd(_mm512_i64gather_pd(at, c + 2, 8), sum));
        sum = _mm512_mul_pd(t, _mm512_add_pd(_mm512_i64gather_pd(at, c + 1, 8), sum));
        _mm512_storeu_pd(out + i, _mm512_add_pd(_mm512_i64gather_pd(at, c, 8), sum));
    }
    return i;
}
#else
static bool fetches_eight(void) { return false; }
static int draw_eights(const double (*cubic)[4], const uint64_t *restrict word, int n, double *restrict out)
{
    (void)cubic, (void)word, (void)n, (void)out;
    return 0;
}
#endif

void chance_draw_row(const struct chance_table *table, const uint64_t *restrict word, int n, double *restrict out)
{
    int i = table->kind == CHANCE_CURVE && fetches_eight() ? draw_eights(table->cubic, word, n, out) : 0;
    for (; i < n; i++)
        out[i] = chance_draw(table, word[i]);
}
