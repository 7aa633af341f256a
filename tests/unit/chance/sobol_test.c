/* The Sobol sequence against SciPy's (tests/reference/sobol.csv, which sobol.py makes) and GSL's, and what scrambling must leave of
 * it: every replicate's points stay as evenly spread, each word is uniform, replicates are independent. */
#include "unit/chance/made.h"

#include <gsl/gsl_qrng.h>

enum { R = CHANCE_REPLICATES, POINTS = 8, SIDE = BASE_SIDE };

static uint64_t unscrambled(int dimension, uint64_t number)
{
    uint64_t direction[CHANCE_SOBOL_BITS], word = 0;
    chance_sobol_directions(dimension, direction);
    for (int b = 0; b < CHANCE_SOBOL_BITS; b++)
        word ^= number >> b & 1 ? direction[b] : 0;
    return word;
}

static void scipy(void **state)
{
    (void)state;
    FILE *file = fopen("tests/reference/sobol.csv", "r");
    long long number[POINTS], expected;
    assert_non_null(file);
    for (int i = 0; i < POINTS; i++)
        assert_int_equal(fscanf(file, "%lld,", &number[i]), 1);
    for (int d = 0; d < CHANCE_SOBOL_DIMENSIONS; d++)
        for (int i = 0; i < POINTS; i++) {
            assert_int_equal(fscanf(file, "%lld,", &expected), 1);
            assert_int_equal(unscrambled(d, (uint64_t)number[i]) >> 34, expected);
        }
    fclose(file);
}

/* Bratley & Fox's direction numbers, which GSL has, are others from the third dimension on. */
static void gsl(void **state)
{
    (void)state;
    gsl_qrng *theirs = gsl_qrng_alloc(gsl_qrng_sobol, 2);
    double x[2];
    for (uint64_t i = 1; i < 5000; i++) {           /* in the order of Gray's code, without the origin */
        gsl_qrng_get(theirs, x);
        for (int d = 0; d < 2; d++)
            assert_true(x[d] == (double)(unscrambled(d, i ^ i >> 1) >> 34) * 0x1p-30);
    }
    gsl_qrng_free(theirs);
}

/* Word of a replicate's point. */
static uint64_t word_of(const struct chance_sobol *sobol, int dimension, uint64_t replicate, uint64_t point)
{
    uint64_t word[SIDE];
    chance_sobol_row(sobol, dimension, point * R + replicate, 1, word);
    return word[0];
}

static struct chance_sobol scrambled(struct base_arena *arena, uint64_t seed)
{
    struct chance_sobol sobol;
    assert_true(chance_sobol_make(arena, seed, 99, CHANCE_SOBOL_DIMENSIONS, &sobol));
    return sobol;
}

/* The first 2^k points, and the 2^k after them, lie one in each of 2^k intervals of every dimension. */
static void every_dimension(void **state)
{
    (void)state;
    enum { K = 7 };
    struct base_arena arena = { .last = NULL };
    struct chance_sobol sobol = scrambled(&arena, 1);
    for (int d = 0; d < CHANCE_SOBOL_DIMENSIONS; d++)
        for (uint64_t r = 0; r < R; r++)
            for (uint64_t from = 0; from < 2 << K; from += 1 << K) {
                bool seen[1 << K] = { false };
                for (uint64_t i = 0; i < 1 << K; i++) {
                    uint64_t interval = word_of(&sobol, d, r, from + i) >> (64 - K);
                    assert_false(seen[interval]);
                    seen[interval] = true;
                }
            }
    base_arena_free(&arena);
}

/* In the first two dimensions every elementary interval of area 2^-k has one of the first 2^k points: a (0, k, 2)-net. */
static void first_pair(void **state)
{
    (void)state;
    enum { K = 8 };
    struct base_arena arena = { .last = NULL };
    struct chance_sobol sobol = scrambled(&arena, 2);
    for (uint64_t r = 0; r < R; r++)
        for (int across = 0; across <= K; across++) {
            bool seen[1 << K] = { false };
            for (uint64_t i = 0; i < 1 << K; i++) {
                uint64_t x = across ? word_of(&sobol, 0, r, i) >> (64 - across) : 0;
                uint64_t y = across < K ? word_of(&sobol, 1, r, i) >> (64 - K + across) : 0, interval = x << (K - across) | y;
                assert_false(seen[interval]);
                seen[interval] = true;
            }
        }
    base_arena_free(&arena);
}

/* Rows of eight, whole or not, wherever they begin, are the words one by one. */
static void rows(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct chance_sobol sobol = scrambled(&arena, 3);
    for (uint64_t first = 100000; first < 100040; first++)
        for (int n = 1; n <= SIDE; n++) {
            uint64_t word[SIDE];
            chance_sobol_row(&sobol, 17, first, n, word);
            for (uint64_t i = 0; i < (uint64_t)n; i++)
                assert_int_equal(word[i], word_of(&sobol, 17, (first + i) % R, (first + i) / R));
        }
    base_arena_free(&arena);
}

/* How often a bit is set, and how often two words' bits are alike, over random seeds: half the time each. z of the worst of
 * them, at a level that gives one false alarm in a thousand changes of the generator. */
static void uniform_and_independent(void **state)
{
    (void)state;
    enum { SEEDS = 400, DIMENSIONS = 6 };
    const uint64_t point[3] = { 0, 1, 1234567 };
    int set[DIMENSIONS][3][64] = { { { 0 } } }, other_replicate[64] = { 0 }, other_dimension[64] = { 0 }, next[64] = { 0 };
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        struct base_arena arena = { .last = NULL };
        struct chance_sobol sobol;
        assert_true(chance_sobol_make(&arena, seed, 5, DIMENSIONS, &sobol));
        for (int bit = 0; bit < 64; bit++) {
            for (int d = 0; d < DIMENSIONS; d++)
                for (int p = 0; p < 3; p++)
                    set[d][p][bit] += word_of(&sobol, d, seed % R, point[p]) >> bit & 1;
            uint64_t word = word_of(&sobol, 3, 4, point[2]);
            other_replicate[bit] += (word ^ word_of(&sobol, 3, 5, point[2])) >> bit & 1;
            other_dimension[bit] += (word ^ word_of(&sobol, 4, 4, point[2])) >> bit & 1;
            next[bit] += (word ^ word_of(&sobol, 3, 4, point[2] ^ 0x55)) >> bit & 1;
        }
        base_arena_free(&arena);
    }
    double worst = 0;
    for (int bit = 0; bit < 64; bit++) {
        for (int i = 0; i < DIMENSIONS * 3; i++)
            worst = fmax(worst, fabs(set[i / 3][i % 3][bit] - SEEDS / 2.0));
        worst = fmax(worst, fmax(fabs(other_replicate[bit] - SEEDS / 2.0), fabs(other_dimension[bit] - SEEDS / 2.0)));
        /* two points of a replicate differ in a fixed leading bit, and in all bits below it at random */
        worst = fmax(worst, bit < 32 ? fabs(next[bit] - SEEDS / 2.0) : 0);
    }
    assert_true(worst / sqrt(SEEDS / 4.0) < 5.3); /* 64 * 21 of them: P(|Z| > 5.3) is 1.2e-7 */
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(scipy), cmocka_unit_test(gsl), cmocka_unit_test(every_dimension),
                                        cmocka_unit_test(first_pair), cmocka_unit_test(rows),
                                        cmocka_unit_test(uniform_and_independent) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
