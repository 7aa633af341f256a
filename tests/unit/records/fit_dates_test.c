/* fit_dates_test.c: shapes of dates and departures: the normal with records known only to lie beyond an end, and the triplet. */
#include "records/records.h"

#include "records/fit.h"
#include "unit/check.h"

static struct records_observation exact(double x) { return (struct records_observation){ x, x }; }
static const double LIMIT = 3.841459; /* chi-squared, 1 d.f., 0.95 */

static double density(double z) { return exp(-z * z / 2) / 2.50662827463100050242; }
static double mass(double z) { return erfc(-z / 1.41421356237309504880) / 2; }

/* Closed forms of the normal: mean and root of the mean square; errors s/sqrt(n), s/sqrt(2n); the profile of the mean loses
 * n log(1 + (m - mean)^2/s^2), that of the sd n (s^2/v^2 - 1 - log(s^2/v^2)). Days of the year, some before it. */
static void normal_dates(void **state)
{
    (void)state;
    static const double days[] = { 31, 52, 44, 61, -3, 70, 49, 38, 77, 55, 40, 12 };
    enum { N = sizeof days / sizeof days[0] };
    struct records_observation seen[N];
    struct records_fit fit;
    double sum = 0, squares = 0, low, high;
    for (int i = 0; i < N; i++) {
        seen[i] = exact(days[i]);
        sum += days[i] / N;
    }
    for (int i = 0; i < N; i++)
        squares += (days[i] - sum) * (days[i] - sum) / N;
    double s = sqrt(squares);
    assert_true(records_fit_shape(RECORDS_NORMAL, seen, N, &fit));
    check_within(fit.p[0], sum, 1e-4);
    check_near(fit.p[1], s, 1e-5);
    check_near(fit.std_error[0], s / sqrt(N), 1e-4);
    check_near(fit.std_error[1], s / sqrt(2 * N), 1e-4);
    check_within(records_profile_loss(&fit, seen, N, 0, 40), N * log1p((40 - sum) * (40 - sum) / squares), 1e-6);
    check_within(records_profile_loss(&fit, seen, N, 1, 30), N * (squares / 900 - 1 - log(squares / 900)), 1e-6);
    records_profile_interval(&fit, seen, N, 0, 0.95, &low, &high);
    check_near(high - sum, s * sqrt(expm1(LIMIT / N)), 1e-4);
    check_near(sum - low, s * sqrt(expm1(LIMIT / N)), 1e-4);
}

/* The likelihood of a normal with m figures only known to lie at or below c and k only known to lie above d is greatest where its
 * derivatives are 0: sum (x - mu)/sigma - m f(z)/F(z) + k f(y)/(1 - F(y)) = 0 and
 * sum ((x - mu)^2/sigma^2 - 1) - m z f(z)/F(z) + k y f(y)/(1 - F(y)) = 0, z and y the standardised c and d. */
static void normal_beyond_the_ends(void **state)
{
    (void)state;
    static const double days[] = { 12, 31, 44, 3, 52, 25, 18, 40, 22 };
    enum { EXACT = sizeof days / sizeof days[0], BELOW = 3, ABOVE = 2, N = EXACT + BELOW + ABOVE };
    struct records_observation seen[N];
    struct records_fit fit;
    for (int i = 0; i < N; i++)
        seen[i] = i < EXACT           ? exact(days[i])
                  : i < EXACT + BELOW ? (struct records_observation){ -HUGE_VAL, -0.5 }
                                      : (struct records_observation){ 55.5, HUGE_VAL };
    assert_true(records_fit_shape(RECORDS_NORMAL, seen, N, &fit));
    assert_int_equal(fit.events, EXACT);
    double z = (-0.5 - fit.p[0]) / fit.p[1], y = (55.5 - fit.p[0]) / fit.p[1], first = 0, second = 0;
    double below = BELOW * density(z) / mass(z), above = ABOVE * density(y) / mass(-y);
    for (int i = 0; i < EXACT; i++) {
        double x = (days[i] - fit.p[0]) / fit.p[1];
        first += x;
        second += x * x - 1;
    }
    check_within(first - below + above, 0, 1e-4);
    check_within(second - z * below + y * above, 0, 1e-4);
    assert_true(isfinite(fit.std_error[0]) && isfinite(fit.std_error[1]));
}

/* Masses and moments of the triplet are those of the room "chance", which has its own metalog; the density is the mass's
 * difference; the three figures are the three percentiles, by definition. */
static void triplet_is_the_metalog(void **state)
{
    (void)state;
    static const double triplets[3][3] = { { -20, 4, 38 }, { 20, 40, 60 }, { 250, 262, 310 } };
    for (int k = 0; k < 3; k++) {
        const double *p = triplets[k];
        struct base_arena arena = { 0 };
        struct base_complaints complaints = { 0 };
        struct scenario_distribution spec = { .set = true, .shape = SCENARIO_TRIPLET, .bound = SCENARIO_UNBOUNDED,
                                              .a = { p[0], p[1], p[2] } };
        const struct chance_distribution *d = chance_make(&arena, &spec, &complaints);
        double mean, sd;
        assert_non_null(d);
        records_fit_moments(RECORDS_TRIPLET, p, &mean, &sd);
        check_near(mean, chance_mean(d), 1e-12);
        check_near(sd, chance_sd(d), 1e-12);
        for (int i = 0; i < 3; i++)
            check_within(records_fit_lower(RECORDS_TRIPLET, p, p[i]), 0.1 + 0.4 * i, 1e-12);
        for (double x = p[0] - 60; x < p[2] + 60; x += 7) {
            check_near(records_fit_lower(RECORDS_TRIPLET, p, x), chance_cdf(d, x), 1e-9);
            check_near(records_fit_upper(RECORDS_TRIPLET, p, x), chance_survival(d, x), 1e-9);
            double h = 1e-4, slope = (chance_cdf(d, x + h) - chance_cdf(d, x - h)) / (2 * h);
            check_near(exp(records_fit_log_density(RECORDS_TRIPLET, p, x)), slope, 1e-5);
        }
        base_complaints_free(&complaints);
        base_arena_free(&arena);
    }
    static const double none[3] = { 0, 1, 20 }; /* too lopsided: the quantile function would fall */
    assert_false(isfinite(records_fit_log_density(RECORDS_TRIPLET, none, 5)));
}

/* Fitted to a triplet's own quantiles it finds the three again; without skew the two sides come out alike; the profile of p50 is
 * the limit at its interval's ends; p10 and p90 have none. */
static void triplet_found_again(void **state)
{
    (void)state;
    enum { N = 150 };
    static const double skewed[3] = { 20, 34, 62 }, even[3] = { -12, 10, 32 };
    struct records_observation seen[N];
    struct records_fit fit;
    for (int k = 0; k < 2; k++) {
        const double *p = k ? even : skewed;
        double a2 = (p[2] - p[0]) / (2 * log(9)), a3 = (p[0] + p[2] - 2 * p[1]) / (0.8 * log(9)), low, high;
        for (int i = 0; i < N; i++) {
            double y = (i + 0.5) / N, t = log(y / (1 - y));
            seen[i] = exact(p[1] + (a2 + a3 * (y - 0.5)) * t);
        }
        assert_true(records_fit_shape(RECORDS_TRIPLET, seen, N, &fit));
        for (int i = 0; i < 3; i++) {
            check_within(fit.p[i], p[i], 0.5);      /* the extreme quantiles of 150 are not quite the shape's */
            assert_true(fit.std_error[i] > 0 && fit.std_error[i] < 6);
        }
        if (k)
            check_near(fit.p[2] - fit.p[1], fit.p[1] - fit.p[0], 1e-4);
        records_profile_interval(&fit, seen, N, 1, 0.95, &low, &high);
        check_within(records_profile_loss(&fit, seen, N, 1, low), LIMIT, 1e-3);
        check_within(records_profile_loss(&fit, seen, N, 1, high), LIMIT, 1e-3);
        check_near((high - low) / 2, 1.96 * fit.std_error[1], 0.05);
    }
    assert_true(records_has_profile(RECORDS_TRIPLET, 1));
    assert_false(records_has_profile(RECORDS_TRIPLET, 0) || records_has_profile(RECORDS_TRIPLET, 2));
}

/* Prediction interval of one more by Student's t, on the figures: t(0.9; 3) = 1.637744 (printed tables). All alike: the least. */
static void few_level(void **state)
{
    (void)state;
    const struct records_observation seen[] = { exact(18), exact(3), { -HUGE_VAL, -1 }, exact(8) };
    double triplet[3], mean = 28 / 4.0, squares = 0;
    static const double days[] = { 18, 3, -1, 8 };
    for (int i = 0; i < 4; i++)
        squares += (days[i] - mean) * (days[i] - mean);
    assert_true(records_few_level(seen, 4, 1, triplet));
    double half = 1.637744 * sqrt(squares / 3) * sqrt(1.25);
    check_near(triplet[0], mean - half, 1e-6);
    check_near(triplet[1], mean, 1e-12);
    check_near(triplet[2], mean + half, 1e-6);
    const struct records_observation alike[] = { exact(5), exact(5) };
    assert_true(records_few_level(alike, 2, 1, triplet));
    check_near(triplet[2] - 5, 3.077684 * sqrt(1.5), 1e-6);
    assert_false(records_few_level(seen, 1, 1, triplet));
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = { cmocka_unit_test(normal_dates), cmocka_unit_test(normal_beyond_the_ends),
                                        cmocka_unit_test(triplet_is_the_metalog), cmocka_unit_test(triplet_found_again),
                                        cmocka_unit_test(few_level) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
