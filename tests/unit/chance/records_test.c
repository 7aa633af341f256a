/* Records, counts and cut-offs by figures worked out by hand. */
#include "unit/chance/made.h"

static const double harvests[] = { 0.83, 0.61, 0.48, 0.61, 0.9 };   /* sorted: .48 .61 .61 .83 .9 */

static struct scenario_distribution records(bool smooth)
{
    struct scenario_distribution spec = made_spec(SCENARIO_RECORDS, SCENARIO_POSITIVE, 0, 0, 0);
    spec.n = sizeof harvests / sizeof *harvests;
    spec.list = harvests;
    spec.smooth = smooth;
    return spec;
}

static void records_as_they_are(void **state)
{
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = records(false);
    const struct chance_distribution *d = made(&arena, &spec);
    (void)state;
    /* Q(u) = x[floor(5 u)] */
    static const double us[] = { 0.01, 0.19, 0.2, 0.5, 0.59, 0.6, 0.79, 0.8, 0.999 };
    static const double xs[] = { 0.48, 0.48, 0.61, 0.61, 0.61, 0.83, 0.83, 0.9, 0.9 };
    for (size_t i = 0; i < sizeof us / sizeof *us; i++)
        assert_true(chance_quantile(d, us[i]) == xs[i]);
    assert_true(chance_upper_quantile(d, 0.1) == 0.9 && chance_upper_quantile(d, 0.25) == 0.83);
    check_near(chance_cdf(d, 0.61), 0.6, 1e-15);
    check_near(chance_below(d, 0.61), 0.2, 1e-15);
    check_near(chance_survival(d, 0.61), 0.4, 1e-15);
    assert_true(chance_cdf(d, 0.47) == 0.0 && chance_survival(d, 0.9) == 0.0 && chance_cdf(d, 0.95) == 1.0);
    check_near(chance_mean(d), 0.686, 1e-14);
    check_near(chance_sd(d), sqrt((0.83 * 0.83 + 2 * 0.61 * 0.61 + 0.48 * 0.48 + 0.81) / 5 - 0.686 * 0.686),
               1e-13);
    base_arena_free(&arena);
}

static void records_cut_off_leave_the_others(void **state)
{
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = records(false);
    (void)state;
    spec.has_least = spec.has_most = true;
    spec.at_least = 0.61;  /* inclusive */
    spec.at_most = 0.83;
    const struct chance_distribution *d = made(&arena, &spec);
    check_near(chance_mean(d), (0.61 + 0.61 + 0.83) / 3, 1e-14);
    assert_true(chance_quantile(d, 0.66) == 0.61 && chance_quantile(d, 0.67) == 0.83);
    base_arena_free(&arena);
}

static void smooth_records_are_straight_lines(void **state)
{
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = records(true);
    const struct chance_distribution *d = made(&arena, &spec);
    (void)state;
    /* Q(u) at 4u among .48 .61 .61 .83 .9 */
    check_near(chance_quantile(d, 0.125), 0.545, 1e-14);
    check_near(chance_quantile(d, 0.4), 0.61, 1e-14);
    check_near(chance_quantile(d, 0.625), 0.72, 1e-14);
    check_near(chance_upper_quantile(d, 0.125), 0.865, 1e-14);
    check_near(chance_below(d, 0.61), 0.25, 1e-14);
    check_near(chance_cdf(d, 0.61), 0.5, 1e-14);
    check_near(chance_survival(d, 0.72), 0.375, 1e-14);
    check_near(chance_mean(d), (0.545 + 0.61 + 0.72 + 0.865) / 4, 1e-14);
    spec.has_least = spec.has_most = true;
    spec.at_least = 0.61;  /* keeps u from 1/4 (the step of .61 is kept whole) to 5/8 */
    spec.at_most = 0.72;
    d = made(&arena, &spec);
    check_near(chance_quantile(d, 0.5), 0.61, 1e-14);
    check_near(chance_quantile(d, 5.0 / 6.0), 0.665, 1e-14);
    check_near(chance_cdf(d, 0.61), 2.0 / 3.0, 1e-14);
    check_near(chance_mean(d), (2 * 0.61 + 0.665) / 3, 1e-13);
    assert_true(chance_below(d, 0.61) == 0.0 && chance_survival(d, 0.72) == 0.0);
    base_arena_free(&arena);
}

static void one_record_is_certain(void **state)
{
    struct base_arena arena = { .last = NULL };
    (void)state;
    for (int smooth = 0; smooth < 2; smooth++) {
        struct scenario_distribution spec = records(smooth != 0);
        spec.n = 1;
        const struct chance_distribution *d = made(&arena, &spec);
        const struct chance_table *table = chance_table_make(&arena, d);
        assert_true(chance_quantile(d, 0.01) == 0.83 && chance_quantile(d, 0.99) == 0.83
                    && chance_sd(d) == 0.0);
        assert_true(table->kind == CHANCE_CONSTANT && chance_draw(table, 1) == 0.83);
    }
    base_arena_free(&arena);
}

static void counts_are_weighted(void **state)
{
    static const double values[] = { 2, 0, 3, 2, 9 }, weights[] = { 1, 2, 4, 3, 0 }; /* 0: .2, 2: .4, 3: .4 */
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = made_spec(SCENARIO_COUNTS, SCENARIO_COUNT, 0, 0, 0);
    double least, most;
    (void)state;
    spec.n = 5;
    spec.list = values;
    spec.weights = weights;
    const struct chance_distribution *d = made(&arena, &spec);
    assert_true(chance_quantile(d, 0.19) == 0 && chance_quantile(d, 0.21) == 2
                && chance_quantile(d, 0.59) == 2);
    assert_true(chance_quantile(d, 0.61) == 3 && chance_upper_quantile(d, 1e-12) == 3);
    check_near(chance_mean(d), 2.0, 1e-14);
    check_near(chance_sd(d), sqrt(0.4 * 4 + 0.4 * 9 - 4.0), 1e-13);
    chance_support(d, &least, &most);
    assert_true(least == 0 && most == 3);
    spec.has_least = true;
    spec.at_least = 1;
    check_near(chance_mean(made(&arena, &spec)), 2.5, 1e-14);
    base_arena_free(&arena);
}

/* Cut-offs are inclusive for counts: a Poisson of 1 without its 0. */
static void counts_cut_off_inclusively(void **state)
{
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = made_spec(SCENARIO_POISSON, SCENARIO_COUNT, 1, 0, 0);
    (void)state;
    spec.has_least = spec.has_most = true;
    spec.at_least = 1;
    spec.at_most = 3;
    const struct chance_distribution *d = made(&arena, &spec); /* 1, 1/2, 1/6 */
    check_near(chance_cdf(d, 1), 0.6, 1e-14);
    check_near(chance_cdf(d, 2), 0.9, 1e-14);
    assert_true(chance_below(d, 1) == 0.0 && chance_survival(d, 3) == 0.0);
    base_arena_free(&arena);
}

/* A continuous shape is cut off first and rounded after: of a uniform from 0 to 4 cut to 0.75 .. 3.25, 1
 * gets what lies below 1.5. */
static void rounding_follows_the_cut(void **state)
{
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = made_spec(SCENARIO_UNIFORM, SCENARIO_COUNT, 0, 4, 0);
    double least, most;
    (void)state;
    spec.has_least = spec.has_most = true;
    spec.at_least = 0.75;
    spec.at_most = 3.25;
    const struct chance_distribution *d = made(&arena, &spec);
    const struct chance_table *table = chance_table_make(&arena, d);
    check_near(chance_cdf(d, 1), 0.3, 1e-14);
    check_near(chance_below(d, 3), 0.7, 1e-14);
    check_near(chance_survival(d, 2), 0.3, 1e-14);
    check_near(chance_mean(d), 2.0, 1e-13);
    check_near(chance_sd(d), sqrt(0.6), 1e-13);
    chance_support(d, &least, &most);
    assert_true(least == 1 && most == 3);
    assert_true(chance_quantile(d, 0.299) == 1 && chance_quantile(d, 0.301) == 2);
    assert_true(chance_draw(table, chance_word(0.299)) == 1 && chance_draw(table, chance_word(0.301)) == 2);
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(records_as_they_are), cmocka_unit_test(records_cut_off_leave_the_others),
        cmocka_unit_test(smooth_records_are_straight_lines), cmocka_unit_test(one_record_is_certain),
        cmocka_unit_test(counts_are_weighted), cmocka_unit_test(counts_cut_off_inclusively),
        cmocka_unit_test(rounding_follows_the_cut)
    };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
