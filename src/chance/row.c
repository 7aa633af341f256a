/* row.c: many words or values at once, to the same bits as one after the other. */
#include "chance/chance.h"

#include <math.h>

/* Where a processor works on eight numbers at once, eight words are looked up together: GCC's own vectoriser makes the loads
 * one by one. Elsewhere a row is as many look-ups one after the other. */
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__)
#include <immintrin.h>

static bool fetches_eight(void)
{
    return __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512cd") && __builtin_cpu_supports("avx512vl");
}

#define EIGHTS __attribute__((target("avx512f,avx512dq,avx512cd,avx512vl")))

/* The four coefficients of each of eight cells, whose rows begin `at` so many numbers: whole rows are loaded and turned,
 * which takes a quarter of the loads of fetching them by coefficient. */
EIGHTS static inline void eight_cells(const double *rows, __m512i at, __m512d c[4])
{
    const __m512i low = _mm512_setr_epi64(0, 1, 8, 9, 4, 5, 12, 13), high = _mm512_setr_epi64(2, 3, 10, 11, 6, 7, 14, 15);
    uint64_t of[8];
    __m512d row[4];
    _mm512_storeu_si512(of, at);
    for (int i = 0; i < 4; i++)
        row[i] = _mm512_insertf64x4(_mm512_castpd256_pd512(_mm256_loadu_pd(rows + of[i])), _mm256_loadu_pd(rows + of[i + 4]), 1);
    __m512d even = _mm512_unpacklo_pd(row[0], row[1]), odd = _mm512_unpackhi_pd(row[0], row[1]);
    __m512d even_too = _mm512_unpacklo_pd(row[2], row[3]), odd_too = _mm512_unpackhi_pd(row[2], row[3]);
    c[0] = _mm512_permutex2var_pd(even, low, even_too);
    c[1] = _mm512_permutex2var_pd(odd, low, odd_too);
    c[2] = _mm512_permutex2var_pd(even, high, even_too);
    c[3] = _mm512_permutex2var_pd(odd, high, odd_too);
}

/* c0 + t (c1 + t (c2 + t c3)) */
EIGHTS static inline __m512d eight_cubics(const __m512d c[4], __m512d t)
{
    __m512d sum = _mm512_add_pd(c[2], _mm512_mul_pd(t, c[3]));
    sum = _mm512_add_pd(c[1], _mm512_mul_pd(t, sum));
    return _mm512_add_pd(c[0], _mm512_mul_pd(t, sum));
}

EIGHTS
static int draw_eights(const double (*cubic)[4], const uint64_t *restrict word, int n, double *restrict out)
{
    __m512d c[4];
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
        eight_cells(cubic[0], _mm512_slli_epi64(cell, 2), c);
        _mm512_storeu_pd(out + i, eight_cubics(c, t));
    }
    return i;
}

EIGHTS
static bool even_eights(const struct chance_cdf_table *table, const double *restrict from, int n, double *restrict p)
{
    __m512d c[4];
    const __m512d least = _mm512_set1_pd(table->least), most = _mm512_set1_pd(table->most);
    const __m256i last = _mm256_set1_epi32((int)table->n - 1);
    for (int i = 0; i < n; i += 8) { /* even_row, instruction for instruction */
        __mmask8 there = n - i >= 8 ? 0xff : (__mmask8)((1 << (n - i)) - 1);
        __m512d x = _mm512_maskz_loadu_pd(there, from + i);
        __m512d at = _mm512_mul_pd(_mm512_sub_pd(x, least), _mm512_set1_pd(table->per_cell));
        at = _mm512_min_pd(_mm512_max_pd(at, _mm512_setzero_pd()), _mm512_set1_pd((double)table->n));
        __m256i cell = _mm512_cvttpd_epi32(at);
        __m512d t = _mm512_sub_pd(at, _mm512_cvtepi32_pd(cell));
        cell = _mm256_slli_epi32(_mm256_min_epi32(cell, last), 2);
        eight_cells(table->cubic[0], _mm512_cvtepi32_epi64(cell), c);
        __m512d sum = eight_cubics(c, t);
        sum = _mm512_maskz_mov_pd(_mm512_cmp_pd_mask(x, least, _CMP_GT_OQ), sum);
        sum = _mm512_mask_mov_pd(sum, _mm512_cmp_pd_mask(x, most, _CMP_GE_OQ), _mm512_set1_pd(1.0));
        _mm512_mask_storeu_pd(p + i, there, sum);
    }
    return true;
}
#else
static bool fetches_eight(void) { return false; }
static int draw_eights(const double (*cubic)[4], const uint64_t *restrict word, int n, double *restrict out)
{
    (void)cubic, (void)word, (void)n, (void)out;
    return 0;
}
static bool even_eights(const struct chance_cdf_table *table, const double *restrict from, int n, double *restrict p)
{
    (void)table, (void)from, (void)n, (void)p;
    return false;
}
#endif

/* ---- quantiles ---------------------------------------------------------------------------------- */

void chance_curve_row(const double (*cubic)[4], const uint64_t *restrict word, int n, double *restrict out)
{
    int i = fetches_eight() ? draw_eights(cubic, word, n, out) : 0;
    for (; i < n; i++)
        out[i] = chance_curve(cubic, word[i]);
}

BASE_VECTOR static void round_row(int n, double *restrict out)
{
    for (int i = 0; i < n; i++)
        out[i] = floor(out[i] + 0.5);
}

/* Curves with some cells divided: those words are drawn again on their own. */
static void cells_row(const struct chance_table *table, const uint64_t *restrict word, int n, double *restrict out)
{
    double t;
    chance_curve_row(table->cubic, word, n, out);
    if (table->whole)
        round_row(n, out);
    for (int i = 0; table->divided && i < n; i++) {
        size_t cell = chance_cell(word[i], &t);
        if (table->divided[cell] != table->divided[cell + 1])
            out[i] = chance_draw_other(table, word[i]);
    }
}

void chance_draw_row(const struct chance_table *table, const uint64_t *restrict word, int n, double *restrict out)
{
    if (table->kind == CHANCE_CURVE)
        chance_curve_row(table->cubic, word, n, out);
    else if (table->kind == CHANCE_CELLS)
        cells_row(table, word, n, out);
    else
        for (int i = 0; i < n; i++)
            out[i] = chance_draw(table, word[i]);
}

/* ---- distribution functions --------------------------------------------------------------------- */

/* Even cells for a row of values: as chance_cdf_at, without a branch. */
BASE_VECTOR static void even_row(const struct chance_cdf_table *table, const double *restrict x, int n, double *restrict p)
{
    const double (*cubic)[4] = table->cubic, least = table->least, most = table->most, per_cell = table->per_cell;
    const double cells = (double)table->n;
    const int last = (int)table->n - 1;
    for (int i = 0; i < n; i++) {
        double at = (x[i] - least) * per_cell;
        at = at > 0 ? at : 0.0;
        at = at < cells ? at : cells;
        int cell = (int)at;
        double t = at - cell;
        cell = cell < last ? cell : last;
        const double *c = cubic[cell];
        double inside = c[0] + t * (c[1] + t * (c[2] + t * c[3]));
        inside = x[i] > least ? inside : 0.0;
        p[i] = x[i] >= most ? 1.0 : inside;
    }
}

void chance_cdf_row(const struct chance_cdf_table *table, const double *restrict x, int n, double *restrict p)
{
    if (table->kind == CHANCE_CURVE) {
        if (!fetches_eight() || !even_eights(table, x, n, p))
            even_row(table, x, n, p);
        return;
    }
    for (int i = 0; i < n; i++)
        p[i] = chance_cdf_at(table, x[i]);
}

/* ---- words -------------------------------------------------------------------------------------- */

BASE_VECTOR void chance_word_row(const double *restrict u, int n, uint64_t *restrict word)
{
    for (int i = 0; i < n; i++) {
        double scaled = u[i] > 0.0 ? u[i] * 0x1p64 : 0.0;
        uint64_t inside = (uint64_t)(scaled < 0x1p64 ? scaled : 0.0);
        word[i] = u[i] >= 1.0 ? UINT64_MAX : inside;
    }
}

BASE_VECTOR static void nearer_row(const double *restrict z, int n, double *restrict nearer)
{
    for (int i = 0; i < n; i++)
        nearer[i] = z[i] > 0.0 ? -z[i] : z[i];
}

BASE_VECTOR static void further_row(const double *restrict z, int n, uint64_t *restrict word)
{
    for (int i = 0; i < n; i++)
        word[i] ^= z[i] > 0.0 ? UINT64_MAX : 0;
}

void chance_normal_word_row(const struct chance_normal *normal, const double *restrict z, int n, uint64_t *restrict word)
{
    enum { PART = 64 };
    double nearer[PART], mass[PART];
    for (int i = 0; i < n; i += PART) {
        int part = n - i < PART ? n - i : PART;
        nearer_row(z + i, part, nearer);
        chance_cdf_row(normal->lower, nearer, part, mass);
        chance_word_row(mass, part, word + i);
        further_row(z + i, part, word + i);
    }
}

BASE_VECTOR void chance_stream_row(const uint64_t *restrict season_key, uint64_t stream_key, int n, uint64_t *restrict state,
                                   uint64_t *restrict inc)
{
    for (int i = 0; i < n; i++) {
        struct chance_pcg pcg = chance_stream(season_key[i], stream_key);
        state[i] = pcg.state;
        inc[i] = pcg.inc;
    }
}
