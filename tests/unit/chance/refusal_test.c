/* Every wrong parameter is refused, once, at its setting, with words that say what would do. */
#include "unit/chance/made.h"

static const double mixed[] = { 0, 2, 1.5 }, negative[] = { 1, -1 }, whole[] = { 0, 1, 2 },
                    shares[] = { 0.2, 1.2 };
static const double minus[] = { 1, 1, -1 }, nothing[] = { 0, 0, 0 }, not_finite[] = { 1, HUGE_VAL };

static const struct {
    enum scenario_shape shape;
    enum scenario_bound bound;
    double a[3];
    const char *words;
} rows[] = {
    { SCENARIO_CERTAIN, SCENARIO_POSITIVE, { -1 }, "-1 is out of bounds: this quantity cannot be below 0" },
    { SCENARIO_CERTAIN, SCENARIO_SHARE, { 1.5 }, "lies from 0 to 1" },
    { SCENARIO_CERTAIN, SCENARIO_COUNT, { 2.5 }, "no whole number" },
    { SCENARIO_CERTAIN, SCENARIO_POSITIVE, { NAN }, "finite" },
    { SCENARIO_NORMAL, SCENARIO_UNBOUNDED, { 1, 0 }, "sd is 0" },
    { SCENARIO_NORMAL, SCENARIO_UNBOUNDED, { 1, -2 }, "greater than 0" },
    { SCENARIO_NORMAL, SCENARIO_UNBOUNDED, { HUGE_VAL, 2 }, "finite" },
    { SCENARIO_LOGNORMAL, SCENARIO_POSITIVE, { 0, 1 }, "mean is 0" },
    { SCENARIO_LOGNORMAL, SCENARIO_POSITIVE, { 1, 0 }, "sd is 0" },
    { SCENARIO_LOGNORMAL_LOG, SCENARIO_POSITIVE, { 0, 0 }, "sigma is 0" },
    { SCENARIO_LOGNORMAL_LOG, SCENARIO_POSITIVE, { 1000, 1 }, "mu must lie within 300" },
    { SCENARIO_GAMMA, SCENARIO_POSITIVE, { -1, 1 }, "mean is -1" },
    { SCENARIO_GAMMA, SCENARIO_POSITIVE, { 1, 0 }, "sd is 0" },
    { SCENARIO_GAMMA, SCENARIO_POSITIVE, { 1, 1e-5 }, "k = (mean/sd)^2" },
    { SCENARIO_GAMMA, SCENARIO_POSITIVE, { 1, 100 }, "give a smaller sd" },
    { SCENARIO_GAMMA_SHAPE, SCENARIO_POSITIVE, { 0, 1 }, "k and theta" },
    { SCENARIO_GAMMA_SHAPE, SCENARIO_POSITIVE, { 1, 0 }, "k and theta" },
    { SCENARIO_BETA, SCENARIO_SHARE, { 0, 0.1 }, "must lie between 0 and 1" },
    { SCENARIO_BETA, SCENARIO_SHARE, { 1, 0.1 }, "must lie between 0 and 1" },
    { SCENARIO_BETA, SCENARIO_SHARE, { 0.5, 0 }, "sd is 0" },
    { SCENARIO_BETA, SCENARIO_SHARE, { 0.2, 0.4 }, "less than sqrt(mean (1 - mean)) = 0.4" },
    { SCENARIO_BETA, SCENARIO_SHARE, { 0.5, 1e-5 }, "choose another sd" },
    { SCENARIO_BETA_SHAPE, SCENARIO_SHARE, { 0, 1 }, "alpha and beta must be greater than 0" },
    { SCENARIO_BETA_SHAPE, SCENARIO_SHARE, { 1, -1 }, "alpha and beta must be greater than 0" },
    { SCENARIO_WEIBULL, SCENARIO_POSITIVE, { 0, 1 }, "mean is 0" },
    { SCENARIO_WEIBULL, SCENARIO_POSITIVE, { 1, 0 }, "sd is 0" },
    { SCENARIO_WEIBULL, SCENARIO_POSITIVE, { 1, 1e-6 }, "too small beside mean" },
    { SCENARIO_WEIBULL, SCENARIO_POSITIVE, { 1e-9, 1 }, "too great beside mean" },
    { SCENARIO_WEIBULL_SHAPE, SCENARIO_POSITIVE, { 0, 1 }, "k is 0" },
    { SCENARIO_WEIBULL_SHAPE, SCENARIO_POSITIVE, { 2, 0 }, "scale is 0" },
    { SCENARIO_EXPONENTIAL, SCENARIO_POSITIVE, { 0 }, "mean is 0" },
    { SCENARIO_UNIFORM, SCENARIO_POSITIVE, { 2, 2 }, "low must be less than high" },
    { SCENARIO_TRIANGULAR, SCENARIO_POSITIVE, { 2, 2, 2 }, "low must be less than high" },
    { SCENARIO_TRIANGULAR, SCENARIO_POSITIVE, { 1, 3, 2 }, "mode must lie from low to high" },
    { SCENARIO_TRIANGULAR, SCENARIO_POSITIVE, { 1, 0, 2 }, "mode must lie from low to high" },
    { SCENARIO_PERT, SCENARIO_POSITIVE, { 3, 3, 2 }, "low must be less than high" },
    { SCENARIO_PERT, SCENARIO_POSITIVE, { 1, 3, 2 }, "mode must lie from low to high" },
    { SCENARIO_POISSON, SCENARIO_COUNT, { 0 }, "mean is 0" },
    { SCENARIO_POISSON, SCENARIO_COUNT, { 2e6 }, "at most 1,000,000" },
    { SCENARIO_NEGATIVE_BINOMIAL, SCENARIO_COUNT, { 4, 2 }, "give an sd above 2, or use `poisson`" },
    { SCENARIO_NEGATIVE_BINOMIAL, SCENARIO_COUNT, { 0, 2 }, "mean is 0" },
    { SCENARIO_NEGATIVE_BINOMIAL, SCENARIO_COUNT, { 1e5, 1e5 }, "more than a million whole numbers" },
    { SCENARIO_NEGATIVE_BINOMIAL, SCENARIO_COUNT, { 2e6, 2e6 }, "at most 1,000,000" },
    /* beyond the natural bound: the share that lies there, and what to do */
    { SCENARIO_NORMAL, SCENARIO_POSITIVE, { 1, 0.5 }, "2.28 % of this distribution lies below 0" },
    { SCENARIO_NORMAL, SCENARIO_POSITIVE, { 1, 0.5 }, "at_least = 0" },
    { SCENARIO_NORMAL, SCENARIO_SHARE, { 0.9, 0.05 }, "2.28 % of this distribution lies above 1" },
    { SCENARIO_NORMAL, SCENARIO_SHARE, { 0.9, 0.05 }, "at_most = 1" },
    { SCENARIO_NORMAL, SCENARIO_COUNT, { 1, 1 }, "below 0 once rounded" },
    { SCENARIO_LOGNORMAL, SCENARIO_SHARE, { 0.8, 0.2 }, "above 1" },
    { SCENARIO_UNIFORM, SCENARIO_POSITIVE, { -1, 4 }, "20 % of this distribution lies below 0" },
    { SCENARIO_POISSON, SCENARIO_SHARE, { 0.1 }, "above 1" }
};

static void wrong_figures_are_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const double *a = rows[i].a;
        struct scenario_distribution spec = made_spec(rows[i].shape, rows[i].bound, a[0], a[1], a[2]);
        made_refused(&spec, rows[i].words);
    }
}

static struct scenario_distribution list(enum scenario_shape shape, enum scenario_bound bound, size_t n,
                                         const double *values, const double *weights)
{
    struct scenario_distribution spec = made_spec(shape, bound, 0, 0, 0);
    spec.n = n;
    spec.list = values;
    spec.weights = weights;
    return spec;
}

static void wrong_lists_are_refused(void **state)
{
    (void)state;
    struct scenario_distribution spec = list(SCENARIO_COUNTS, SCENARIO_COUNT, 0, whole, whole);
    made_refused(&spec, "values is empty");
    spec = list(SCENARIO_COUNTS, SCENARIO_COUNT, 3, mixed, whole);
    made_refused(&spec, "values holds 1.5");
    spec = list(SCENARIO_COUNTS, SCENARIO_COUNT, 2, negative, whole);
    made_refused(&spec, "values holds -1");
    spec = list(SCENARIO_COUNTS, SCENARIO_COUNT, 3, whole, minus);
    made_refused(&spec, "weights holds -1");
    spec = list(SCENARIO_COUNTS, SCENARIO_COUNT, 3, whole, nothing);
    made_refused(&spec, "weights must not all be 0");
    spec = list(SCENARIO_COUNTS, SCENARIO_COUNT, 2, whole, not_finite);
    made_refused(&spec, "finite");
    spec = list(SCENARIO_COUNTS, SCENARIO_SHARE, 3, whole, NULL);
    made_refused(&spec, "2 is out of bounds");
    spec = list(SCENARIO_RECORDS, SCENARIO_POSITIVE, 0, whole, NULL);
    made_refused(&spec, "records is empty");
    spec = list(SCENARIO_RECORDS, SCENARIO_POSITIVE, 2, negative, NULL);
    made_refused(&spec, "-1 is out of bounds");
    spec = list(SCENARIO_RECORDS, SCENARIO_SHARE, 2, shares, NULL);
    made_refused(&spec, "1.2 is out of bounds");
    spec.smooth = true;
    made_refused(&spec, "1.2 is out of bounds");
    spec = list(SCENARIO_RECORDS, SCENARIO_COUNT, 3, mixed, NULL);
    made_refused(&spec, "records holds 1.5");
    spec = list(SCENARIO_RECORDS, SCENARIO_POSITIVE, 2, not_finite, NULL);
    made_refused(&spec, "finite");
}

static void wrong_cuts_are_refused(void **state)
{
    (void)state;
    struct scenario_distribution spec = made_spec(SCENARIO_GAMMA, SCENARIO_POSITIVE, 2, 1, 0);
    spec.has_least = spec.has_most = true;
    spec.at_least = 3;
    spec.at_most = 2;
    made_refused(&spec, "at_least must not be greater than at_most");
    spec.at_most = 3;
    made_refused(&spec, "leave only 0 of the distribution");
    spec.at_least = 60;
    spec.at_most = 70;
    made_refused(&spec, "of the distribution: widen them");
    spec.at_most = NAN;
    made_refused(&spec, "finite");
    spec = list(SCENARIO_RECORDS, SCENARIO_POSITIVE, 3, whole, NULL);
    spec.has_least = true;
    spec.at_least = 2.5;
    made_refused(&spec, "leave only 0 of the distribution");
    spec.smooth = true;
    made_refused(&spec, "leave only 0 of the distribution");
}

/* Cut off first, judged after: what lay beyond is no error then; and a millionth beyond is let go. */
static void cuts_come_before_bounds(void **state)
{
    struct base_arena arena = { .last = NULL };
    double least, most;
    (void)state;
    struct scenario_distribution spec = made_spec(SCENARIO_NORMAL, SCENARIO_POSITIVE, 1, 0.5, 0);
    spec.has_least = true;
    spec.at_least = 0.0;
    const struct chance_distribution *d = made(&arena, &spec);
    check_near(chance_cdf(d, 1.0), (0.5 - 0.022750131948179195) / (1.0 - 0.022750131948179195), 1e-12);
    chance_support(made_of(&arena, SCENARIO_NORMAL, SCENARIO_POSITIVE, 1, 0.2, 0), &least, &most);
    assert_true(least == 0.0 && most == HUGE_VAL);
    spec = list(SCENARIO_RECORDS, SCENARIO_SHARE, 2, shares, NULL);
    spec.has_most = true;
    spec.at_most = 1.0;
    assert_true(chance_quantile(made(&arena, &spec), 0.9) == 0.2);
    base_arena_free(&arena);
}

/* Every shape for every bound that it fits. */
static void every_shape_is_known(void **state)
{
    struct base_arena arena = { .last = NULL };
    static const double a[][3] = { [SCENARIO_CERTAIN] = { 1 },
                                   [SCENARIO_TRIPLET] = { 0.2, 0.5, 0.8 },
                                   [SCENARIO_NORMAL] = { 0.5, 0.01 },
                                   [SCENARIO_LOGNORMAL] = { 0.5, 0.01 },
                                   [SCENARIO_LOGNORMAL_LOG] = { -1, 0.1 },
                                   [SCENARIO_GAMMA] = { 0.5, 0.05 },
                                   [SCENARIO_GAMMA_SHAPE] = { 400, 0.001 },
                                   [SCENARIO_BETA] = { 0.5, 0.1 },
                                   [SCENARIO_BETA_SHAPE] = { 2, 3 },
                                   [SCENARIO_WEIBULL] = { 0.5, 0.05 },
                                   [SCENARIO_WEIBULL_SHAPE] = { 9, 0.5 },
                                   [SCENARIO_EXPONENTIAL] = { 0.05 },
                                   [SCENARIO_UNIFORM] = { 0.1, 0.2 },
                                   [SCENARIO_TRIANGULAR] = { 0, 0.5, 1 },
                                   [SCENARIO_PERT] = { 0, 0.5, 1 },
                                   [SCENARIO_POISSON] = { 3 },
                                   [SCENARIO_NEGATIVE_BINOMIAL] = { 3, 4 } };
    (void)state;
    for (int shape = SCENARIO_CERTAIN; shape <= SCENARIO_NEGATIVE_BINOMIAL; shape++)
        for (int bound = SCENARIO_UNBOUNDED; bound <= SCENARIO_COUNT; bound++) {
            const bool counts = shape == SCENARIO_POISSON || shape == SCENARIO_NEGATIVE_BINOMIAL;
            if (counts && bound == SCENARIO_SHARE)
                continue;
            const struct chance_distribution *d = made_of(&arena, (enum scenario_shape)shape,
                                                          (enum scenario_bound)bound, a[shape][0],
                                                          a[shape][1], a[shape][2]);
            double least, most, median = chance_quantile(d, 0.5);
            chance_support(d, &least, &most);
            assert_true(median >= least && median <= most && chance_mean(d) >= least
                        && chance_mean(d) <= most);
            assert_true(bound != SCENARIO_COUNT || median == floor(median));
            assert_true(chance_cdf(d, median) >= 0.499999999 && chance_below(d, median) <= 0.500000001);
        }
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wrong_figures_are_refused), cmocka_unit_test(wrong_lists_are_refused),
        cmocka_unit_test(wrong_cuts_are_refused), cmocka_unit_test(cuts_come_before_bounds),
        cmocka_unit_test(every_shape_is_known)
    };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
