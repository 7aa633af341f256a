/* Distribution functions as tables against the exact ones, and the tables of normal scores. */
#include "unit/chance/made.h"

static const double figures[] = { 3.5, 1.0, 4.0, 1.5, 9.0, 2.6, 5.3, 5.3, 9.7, 9.3, 2.3, 8.4 };

#define PLAIN .set = true, .origin = { "scenario.cfg", 7, "crops.bean.unit_kg" }
#define SHAPE(kind, limits, ...) \
    { PLAIN, .shape = SCENARIO_##kind, .bound = SCENARIO_##limits, .a = { __VA_ARGS__ } }

static const struct scenario_distribution specs[] = {
    SHAPE(NORMAL, UNBOUNDED, 0, 1),
    SHAPE(TRIPLET, POSITIVE, 900, 1100, 1400),
    SHAPE(LOGNORMAL, POSITIVE, 1000, 200),
    SHAPE(LOGNORMAL_LOG, POSITIVE, 0, 2),
    SHAPE(TRIPLET, POSITIVE, 1, 3, 8.9),
    SHAPE(GAMMA, POSITIVE, 1000, 100),
    SHAPE(GAMMA_SHAPE, POSITIVE, 0.01, 3), SHAPE(GAMMA_SHAPE, POSITIVE, 0.05, 3),
    SHAPE(GAMMA_SHAPE, POSITIVE, 1, 3),
    SHAPE(BETA, SHARE, 0.9, 0.05),
    SHAPE(BETA_SHAPE, SHARE, 0.05, 0.05),
    SHAPE(WEIBULL, POSITIVE, 20, 6),
    SHAPE(UNIFORM, POSITIVE, 2, 7),
    SHAPE(TRIANGULAR, UNBOUNDED, -1, 2, 4),
    SHAPE(TRIANGULAR, POSITIVE, 0, 0, 1),
    SHAPE(PERT, POSITIVE, 1, 2, 6),
    SHAPE(TRIPLET, SHARE, 0.5, 0.7, 0.9),
    SHAPE(POISSON, COUNT, 3),
    SHAPE(GAMMA, COUNT, 3, 2),
    SHAPE(LOGNORMAL, COUNT, 1e6, 1e6),
    SHAPE(CERTAIN, POSITIVE, 1200),
    { PLAIN, .shape = SCENARIO_GAMMA, .bound = SCENARIO_POSITIVE, .a = { 20, 9 }, .has_least = true,
      .at_least = 18, .has_most = true, .at_most = 40 },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures, .smooth = true },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures, .smooth = true, .has_least = true,
      .at_least = 2, .has_most = true, .at_most = 9.2 }
};
enum { SPECS = sizeof specs / sizeof *specs };

static void check_at(const struct chance_cdf_table *table, const struct chance_distribution *d, int i,
                     double x)
{
    double f = chance_cdf_at(table, x), exact = chance_cdf(d, x);
    if (!check_is_near(f, exact, 0.0, 1e-7)) {
        /* of very wide rounded shapes the unrounded function is taken: up to a half beside */
        const bool wide = specs[i].bound == SCENARIO_COUNT && table->kind != CHANCE_STEPS;
        if (wide && f >= chance_cdf(d, x - 1.0) - 1e-7 && f <= chance_cdf(d, x + 1.0) + 1e-7)
            return;
        print_error("shape %d (kind %d) at %.17g: %.17g, exact %.17g\n", i, (int)table->kind, x, f, exact);
        fail();
    }
}

static void tables_are_near_and_monotone(void **state)
{
    (void)state;
    for (int i = 0; i < SPECS; i++) {
        struct base_arena arena = { .last = NULL };
        const struct chance_distribution *d = made(&arena, &specs[i]);
        const struct chance_cdf_table *table = chance_cdf_table_make(&arena, d);
        assert_non_null(table);
        double low = chance_quantile(d, 1e-10), high = chance_upper_quantile(d, 1e-10), last = -1.0;
        for (int k = -100; k <= 5100; k++) {
            double x = low + (high - low) * k / 5000.0, f = chance_cdf_at(table, x);
            assert_true(f >= last && f >= 0.0 && f <= 1.0);
            last = f;
            check_at(table, d, i, x);
        }
        for (uint64_t k = 0; k < 3000; k++)
            check_at(table, d, i, chance_quantile(d, chance_uniform(made_word(k))));
        base_arena_free(&arena);
    }
}

static void nothing_lies_outside(void **state)
{
    (void)state;
    for (int i = 0; i < SPECS; i++) {
        struct base_arena arena = { .last = NULL };
        double least, most;
        const struct chance_distribution *d = made(&arena, &specs[i]);
        const struct chance_cdf_table *table = chance_cdf_table_make(&arena, d);
        chance_support(d, &least, &most);
        assert_true(chance_cdf_at(table, -1e300) == 0.0 && chance_cdf_at(table, 1e300) == 1.0);
        if (isfinite(least))
            assert_true(chance_cdf_at(table, least - 1e-9) == 0.0
                        && chance_cdf_at(table, least - 3.0) == 0.0);
        if (isfinite(most))
            assert_true(chance_cdf_at(table, most) == 1.0 && chance_cdf_at(table, most + 3.0) == 1.0);
        base_arena_free(&arena);
    }
}

/* Steps: of records exactly at and just below a figure; of a certain heat all at once. */
static void steps_are_exact(void **state)
{
    struct base_arena arena = { .last = NULL };
    (void)state;
    const struct chance_cdf_table *table = chance_cdf_table_make(&arena, made(&arena, &specs[22]));
    check_near(chance_cdf_at(table, 5.3), 8.0 / 12.0, 1e-15);
    check_near(chance_cdf_at(table, 5.2999), 6.0 / 12.0, 1e-15);
    table = chance_cdf_table_make(&arena, made(&arena, &specs[23]));
    check_near(chance_cdf_at(table, 5.3), 7.0 / 11.0, 1e-15);
    check_within(chance_cdf_at(table, 5.3 - 1e-9), 6.0 / 11.0, 1e-9);
    table = chance_cdf_table_make(&arena, made(&arena, &specs[20]));
    assert_true(chance_cdf_at(table, 1199.999) == 0.0 && chance_cdf_at(table, 1200.0) == 1.0);
    base_arena_free(&arena);
}

/* ---- normal scores ------------------------------------------------------------------------------ */

/* The C library's erfc is the reference: Phi(z) = erfc(-z/sqrt 2)/2. */
static void normal_words_are_phi(void **state)
{
    struct base_arena arena = { .last = NULL };
    const struct chance_normal *normal = chance_normal_make(&arena);
    uint64_t last = 0;
    (void)state;
    assert_non_null(normal);
    for (double z = -12.0; z <= 12.0; z += 0.00317) {
        uint64_t word = chance_normal_word(normal, z);
        double phi = 0.5 * erfc(fabs(z) / sqrt(2.0)),
               nearer = ((double)(z > 0.0 ? ~word : word) + 0.5) * 0x1p-64;
        if (phi > 1e-9)
            check_near(nearer, phi, 1e-6);
        assert_true(word >= last);
        last = word;
    }
    assert_true(chance_normal_word(normal, 0.0) == UINT64_C(1) << 63);
    assert_true(chance_normal_word(normal, -50.0) == 0 && chance_normal_word(normal, 50.0) == UINT64_MAX);
    base_arena_free(&arena);
}

static void scores_and_words_are_inverse(void **state)
{
    struct base_arena arena = { .last = NULL };
    const struct chance_normal *normal = chance_normal_make(&arena);
    (void)state;
    for (uint64_t k = 0; k < 20000; k++) {
        uint64_t word = made_word(k);
        double z = chance_curve(normal->score, word),
               back = chance_curve(normal->score, chance_normal_word(normal, z));
        check_within(back, z, 3e-6);
    }
    check_within(chance_curve(normal->score, chance_word(0.975)), 1.959963984540054,
                 1e-6); /* tables of the normal */
    base_arena_free(&arena);
}

static void cholesky_gives_the_matrix_back(void **state)
{
    static const double r[3][3] = { { 1, 0.3, -0.5 }, { 0.3, 1, 0.2 }, { -0.5, 0.2, 1 } };
    static const double broken[3][3] = { { 1, 0.9, -0.9 }, { 0.9, 1, 0.9 }, { -0.9, 0.9, 1 } };
    static const double flat[3][3] = { { 1, 1, 0 }, { 1, 1, 0 }, { 0, 0, 1 } };
    double l[3][3];
    (void)state;
    assert_true(chance_cholesky(r, l));
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = l[i][0] * l[j][0] + l[i][1] * l[j][1] + l[i][2] * l[j][2];
            check_within(sum, r[i][j], 1e-15);
            assert_true(j <= i || l[i][j] == 0.0);
        }
    assert_false(chance_cholesky(broken, l));
    assert_false(chance_cholesky(flat, l));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tables_are_near_and_monotone), cmocka_unit_test(nothing_lies_outside),
        cmocka_unit_test(steps_are_exact), cmocka_unit_test(normal_words_are_phi),
        cmocka_unit_test(scores_and_words_are_inverse), cmocka_unit_test(cholesky_gives_the_matrix_back)
    };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
