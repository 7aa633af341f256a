/* Quantile tables against the exact quantiles, and their monotonicity. */
#include "unit/chance/made.h"

static const double figures[] = { 3.5, 1.0, 4.0, 1.5, 9.0, 2.6, 5.3, 5.8, 9.7, 9.3, 2.3, 8.4 };
static const double dates[] = { 40, 55, 61, 61, 70, 82 };
static const double some[] = { 0, 1, 2, 4 }, weights[] = { 1, 5, 3, 0.5 };

#define PLAIN .set = true, .origin = { "scenario.cfg", 7, "crops.bean.unit_kg" }
#define SHAPE(kind, limits, ...) \
    { PLAIN, .shape = SCENARIO_##kind, .bound = SCENARIO_##limits, .a = { __VA_ARGS__ } }

/* Smooth, kinked, cut off, steep and rounded ones. */
static const struct scenario_distribution specs[] = {
    SHAPE(NORMAL, UNBOUNDED, 0, 1),
    SHAPE(NORMAL, UNBOUNDED, 1e6, 0.01),
    SHAPE(NORMAL, POSITIVE, 1, 0.2),
    { PLAIN, .shape = SCENARIO_NORMAL, .a = { 0, 1 }, .has_least = true, .at_least = 2, .has_most = true,
      .at_most = 4 },
    SHAPE(LOGNORMAL, POSITIVE, 1, 0.3),
    SHAPE(LOGNORMAL_LOG, POSITIVE, 0, 2),
    { PLAIN, .shape = SCENARIO_LOGNORMAL, .bound = SCENARIO_POSITIVE, .a = { 20, 60 }, .has_most = true,
      .at_most = 100 },
    SHAPE(GAMMA, POSITIVE, 2, 1),
    SHAPE(GAMMA_SHAPE, POSITIVE, 0.05, 3),
    SHAPE(GAMMA_SHAPE, POSITIVE, 0.012, 1),
    SHAPE(GAMMA_SHAPE, POSITIVE, 400, 0.1),
    { PLAIN, .shape = SCENARIO_GAMMA, .bound = SCENARIO_POSITIVE, .a = { 20, 9 }, .has_least = true,
      .at_least = 18 },
    SHAPE(BETA, SHARE, 0.9, 0.05),
    SHAPE(BETA_SHAPE, SHARE, 0.5, 0.5),
    SHAPE(BETA_SHAPE, SHARE, 0.05, 0.05),
    SHAPE(BETA_SHAPE, SHARE, 0.01, 0.02),
    SHAPE(BETA_SHAPE, SHARE, 3000, 20),
    SHAPE(BETA_SHAPE, SHARE, 1, 1),
    SHAPE(WEIBULL, POSITIVE, 20, 6),
    SHAPE(WEIBULL_SHAPE, POSITIVE, 0.4, 1),
    SHAPE(EXPONENTIAL, POSITIVE, 3),
    SHAPE(UNIFORM, POSITIVE, 2, 7),
    SHAPE(TRIANGULAR, UNBOUNDED, -1, 2, 4),
    SHAPE(TRIANGULAR, POSITIVE, 0, 0, 1),
    /* modes just inside a cell's end */
    SHAPE(TRIANGULAR, POSITIVE, 0, 0.878369217519, 1),
    { PLAIN, .shape = SCENARIO_TRIANGULAR, .a = { 0, 0.451638836483, 1 }, .has_least = true,
      .at_least = 0.235713344012, .has_most = true, .at_most = 0.997900019601 },
    SHAPE(TRIANGULAR, POSITIVE, 0, 0.013, 1),
    SHAPE(PERT, POSITIVE, 1, 2, 6),
    SHAPE(PERT, POSITIVE, 0, 5, 5),
    SHAPE(TRIPLET, UNBOUNDED, 2, 5, 10),
    SHAPE(TRIPLET, UNBOUNDED, 0, 1.7, 10),
    SHAPE(TRIPLET, POSITIVE, 2, 5, 10),
    SHAPE(TRIPLET, POSITIVE, 1, 3, 8.9),
    SHAPE(TRIPLET, SHARE, 0.5, 0.7, 0.9),
    { PLAIN, .shape = SCENARIO_TRIPLET, .bound = SCENARIO_POSITIVE, .a = { 1, 20, 400 }, .has_most = true,
      .at_most = 1000 },
    { PLAIN, .shape = SCENARIO_TRIPLET, .a = { 0, 1, 3 }, .has_least = true, .at_least = 0.5,
      .has_most = true, .at_most = 1.5 },
    { PLAIN, .shape = SCENARIO_TRIANGULAR, .a = { 0, 1, 3 }, .has_least = true, .at_least = 0.5,
      .has_most = true, .at_most = 2 },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures, .smooth = true },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures, .smooth = true, .has_least = true,
      .at_least = 2, .has_most = true, .at_most = 6.1 },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures },
    SHAPE(POISSON, COUNT, 0.02),
    SHAPE(POISSON, COUNT, 3),
    SHAPE(POISSON, COUNT, 5000),
    SHAPE(NEGATIVE_BINOMIAL, COUNT, 3, 9),
    SHAPE(NEGATIVE_BINOMIAL, COUNT, 2000, 1500),
    { PLAIN, .shape = SCENARIO_COUNTS, .bound = SCENARIO_COUNT, .n = 4, .list = some, .weights = weights },
    SHAPE(GAMMA, COUNT, 3, 2),
    SHAPE(TRIPLET, COUNT, 4, 10, 22),
    SHAPE(LOGNORMAL, COUNT, 500, 900),
    { PLAIN, .shape = SCENARIO_TRIPLET, .is_date = true, .a = { 50, 61, 70 } },
    { PLAIN, .shape = SCENARIO_UNIFORM, .is_date = true, .a = { 50, 61 } },
    { PLAIN, .shape = SCENARIO_RECORDS, .is_date = true, .n = 6, .list = dates, .smooth = true },
    { PLAIN, .shape = SCENARIO_CERTAIN, .is_date = true, .a = { 50 } }
};
enum { SPECS = sizeof specs / sizeof *specs };

struct pair { const struct chance_distribution *d; const struct chance_table *table; };

static struct pair pair_of(struct base_arena *arena, int i)
{
    struct pair pair = { made(arena, &specs[i]), NULL };
    pair.table = chance_table_make(arena, pair.d);
    assert_non_null(pair.table);
    return pair;
}

static double exact(const struct chance_distribution *d, uint64_t word)
{
    return word >> 63 ? chance_upper_quantile(d, ((double)~word + 1.0) * 0x1p-64)
                      : chance_quantile(d, ((double)word + 0.5) * 0x1p-64);
}

/* For whole numbers the table may be off where its continuous quantile is within its error of a half. */
static bool on_the_edge(const struct chance_distribution *d, uint64_t word, double spread)
{
    uint64_t shift = (uint64_t)(0x1p-64 * (double)(word >> 63 ? ~word : word) * 0x1p44) + (UINT64_C(1) << 12);
    (void)spread;
    return exact(d, word > shift ? word - shift : 0) != exact(d, word < ~shift ? word + shift : UINT64_MAX);
}

static void check_word(const struct pair *pair, int i, uint64_t word, double spread, double median)
{
    double x = exact(pair->d, word), ours = chance_draw(pair->table, word);
    if (fabs(ours - x) <= 1e-6 * fmax(spread, fabs(x - median)))
        return;
    if (pair->table->whole && fabs(ours - x) <= fmax(1.0, 1e-6 * x) && on_the_edge(pair->d, word, spread))
        return;
    if (pair->table->kind == CHANCE_POINTS || pair->table->kind == CHANCE_STEPS)
        if (on_the_edge(pair->d, word, spread))
            return;
    print_error("shape %d (kind %d), word %016llx: %.17g, exact %.17g, spread %g\n", i,
                (int)pair->table->kind, (unsigned long long)word, ours, x, spread);
    fail();
}

static void tables_are_near(void **state)
{
    (void)state;
    for (int i = 0; i < SPECS; i++) {
        struct base_arena arena = { .last = NULL };
        const struct pair pair = pair_of(&arena, i);
        double width = chance_quantile(pair.d, 0.9) - chance_quantile(pair.d, 0.1),
               median = chance_quantile(pair.d, 0.5);
        double spread = fmax(width, chance_sd(pair.d) / 16.0);
        for (uint64_t k = 0; k < 4000; k++)
            check_word(&pair, i, made_word(k), spread, median);
        for (double mass = 1e-9; mass < 0.5; mass *= 1.00917) {
            uint64_t word = chance_word(mass);
            check_word(&pair, i, word, spread, median);
            check_word(&pair, i, ~word, spread, median);
        }
        base_arena_free(&arena);
    }
}

/* Adjacent words from many places, among them the ends of cells and the middle. */
static void tables_are_monotone(void **state)
{
    (void)state;
    for (int i = 0; i < SPECS; i++) {
        struct base_arena arena = { .last = NULL };
        const struct pair pair = pair_of(&arena, i);
        double last = -HUGE_VAL;
        for (uint64_t k = 0; k < 60000; k++) {
            double x = chance_draw(pair.table, k * (UINT64_MAX / 60000));
            assert_true(x >= last);
            last = x;
        }
        for (uint64_t k = 0; k < 12000; k++) {
            uint64_t any = made_word(k), edge = (any & (UINT64_MAX << (59 - k % 40))) - 8;
            uint64_t from = k % 2 ? edge : any, step = UINT64_C(1) << (k / 2 % 12);
            last = -HUGE_VAL;
            for (uint64_t word = from; word >= from && word < from + 16 * step; word += step) {
                double x = chance_draw(pair.table, word);
                if (x < last) {
                    print_error("shape %d falls at %016llx: %.17g after %.17g\n", i, (unsigned long long)word,
                                x, last);
                    fail();
                }
                last = x;
            }
        }
        assert_true(chance_draw(pair.table, UINT64_MAX / 2) <= chance_draw(pair.table, UINT64_MAX / 2 + 1));
        base_arena_free(&arena);
    }
}

/* Drawn values never leave the support, at the very ends neither. */
static void tables_stay_inside(void **state)
{
    static const uint64_t ends[] = { 0, 1, UINT64_C(1) << 20, UINT64_MAX, UINT64_MAX - (UINT64_C(1) << 20) };
    (void)state;
    for (int i = 0; i < SPECS; i++) {
        struct base_arena arena = { .last = NULL };
        const struct pair pair = pair_of(&arena, i);
        double least, most;
        chance_support(pair.d, &least, &most);
        for (int k = 0; k < 5; k++) {
            double x = chance_draw(pair.table, ends[k]);
            assert_true(isfinite(x) && x >= least && x <= most);
            assert_true(!pair.table->whole || x == floor(x));
        }
        base_arena_free(&arena);
    }
}

/* Integrals of the table over all words, by 20 words a cell placed at Gauss-Legendre's five points in its
 * quarters (exact for the squares of cubics). */
static void integrate(const struct chance_table *table, double *mean, double *variance)
{
    static const double node[3] = { 0.0, 0.5384693101056831, 0.9061798459386640 };
    static const double weight[3] = { 0.5688888888888889, 0.4786286704993665, 0.2369268850561891 };
    double first = 0.0, second = 0.0;
    for (int cell = 0; cell < CHANCE_CELLS_N; cell++) {
        int octave = cell / 32, upper = cell / 16 % 2, sub = cell % 16;
        double from = ldexp(1.0 + sub / 16.0, -(octave + 2)), width = ldexp(1.0, -(octave + 6));
        for (int k = -2; k <= 2; k++) {
            double mass = from + width * 0.5 * (1.0 + (k < 0 ? -node[-k] : node[k]));
            uint64_t word = chance_word(mass);
            double x = chance_draw(table, upper ? ~word : word), w = 0.5 * width * weight[k < 0 ? -k : k];
            first += w * x;
            second += w * x * x;
        }
    }
    *mean = first;
    *variance = second - first * first;
}

static void moments_survive_the_table(void **state)
{
    struct base_arena arena = { .last = NULL };
    double mean, variance;
    (void)state;
    /* a lognormal's by closed form: mean 2, sd 1.5; and mean 1, sd 3, a heavy tail */
    integrate(chance_table_make(&arena, made_of(&arena, SCENARIO_LOGNORMAL, SCENARIO_POSITIVE, 2, 1.5, 0)),
              &mean, &variance);
    check_near(mean, 2.0, 1e-6);
    check_near(variance, 2.25, 1e-5);
    integrate(chance_table_make(&arena, made_of(&arena, SCENARIO_LOGNORMAL, SCENARIO_POSITIVE, 1, 3, 0)),
              &mean, &variance);
    check_near(mean, 1.0, 1e-6);
    check_near(variance, 9.0, 1e-5);
    integrate(chance_table_make(&arena, made_of(&arena, SCENARIO_GAMMA, SCENARIO_POSITIVE, 1, 3, 0)), &mean,
              &variance);
    check_near(mean, 1.0, 1e-6);
    check_near(variance, 9.0, 1e-5);
    base_arena_free(&arena);
}

/* The grid on which figures stand: what is in the table does not depend on a quantile's last digits. */
static void figures_stand_on_a_grid(void **state)
{
    struct base_arena arena = { .last = NULL };
    (void)state;
    const struct chance_table *table =
        chance_table_make(&arena, made_of(&arena, SCENARIO_GAMMA, SCENARIO_POSITIVE, 2, 1, 0));
    assert_int_equal(table->kind, CHANCE_CURVE);
    for (int cell = 0; cell < CHANCE_CELLS_N; cell++)
        for (int k = 0; k < 4; k++)
            assert_true(fabs(table->cubic[cell][k]) < 0x1p-23 || table->cubic[cell][k] * 0x1p24
                        == floor(table->cubic[cell][k] * 0x1p24));
    base_arena_free(&arena);
}

static void exact_kinds_are_exact(void **state)
{
    struct base_arena arena = { .last = NULL };
    (void)state;
    const struct scenario_distribution as_they_are = { PLAIN, .shape = SCENARIO_RECORDS, .n = 12,
                                                       .list = figures };
    const struct chance_table *table = chance_table_make(&arena, made(&arena, &as_they_are));
    assert_int_equal(table->kind, CHANCE_POINTS);
    for (uint64_t k = 1; k < 12;
         k++) { /* each has its twelfth of the words: 2^64 = 12 * (UINT64_MAX / 12) + 4 */
        uint64_t first = UINT64_MAX / 12 * k + (k + 2) / 3;
        assert_true(chance_draw(table, first) > chance_draw(table, first - 1));
        assert_true(chance_draw(table, first) == chance_draw(table, first + UINT64_MAX / 12 - 1));
    }
    table = chance_table_make(&arena, made_of(&arena, SCENARIO_POISSON, SCENARIO_COUNT, 3, 0, 0));
    assert_int_equal(table->kind, CHANCE_STEPS);
    double mass = exp(-3.0), sum = mass; /* P(0), P(0 or 1), ... */
    for (size_t k = 0; k < 12; k++, mass *= 3.0 / (double)k, sum += mass)
        check_near((double)table->cumulative[k] * 0x1p-64, sum, 1e-14);
    const struct chance_distribution *plain = made_of(&arena, SCENARIO_CERTAIN, SCENARIO_POSITIVE, 2.5, 0, 0);
    table = chance_table_make(&arena, plain);
    assert_true(table->kind == CHANCE_CONSTANT && chance_draw(table, 17) == 2.5 && chance_sd(plain) == 0.0);
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_are_near),         cmocka_unit_test(tables_are_monotone),
        cmocka_unit_test(tables_stay_inside),      cmocka_unit_test(moments_survive_the_table),
        cmocka_unit_test(figures_stand_on_a_grid), cmocka_unit_test(exact_kinds_are_exact)
    };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
