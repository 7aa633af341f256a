/* fit_published_test.c: fits and curves against published figures. */
#include "records/records.h"

#include "unit/check.h"

static struct records_observation exact(double x) { return (struct records_observation){ x, x }; }
static struct records_observation more_than(double x) { return (struct records_observation){ x, HUGE_VAL }; }

/* Times to failure of 20 units, 10 of them stopped at 500 h: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3,
 * Weibull by maximum likelihood: shape 1.7208, scale 606.5280, log-likelihood -75.135, mean 540.737, sd 323.806; AIC
 * 154.27, and 154.39 of the lognormal. */
static void nist_weibull_right_censored(void **state)
{
    (void)state;
    static const double hours[] = { 54, 187, 216, 240, 244, 335, 361, 373, 375, 386 };
    struct records_observation seen[20];
    for (int i = 0; i < 20; i++)
        seen[i] = i < 10 ? exact(hours[i]) : more_than(500);
    struct records_fit fit;
    assert_true(records_fit_shape(RECORDS_WEIBULL, seen, 20, &fit));
    check_within(fit.p[0], 1.7208, 0.00005);
    check_within(fit.p[1], 606.5280, 0.001); /* the page rounds within its search: six figures agree */
    check_within(fit.log_likelihood, -75.135, 0.0005);
    check_within(fit.mean, 540.737, 0.001);
    check_within(fit.sd, 323.806, 0.001);
    assert_int_equal(fit.n, 20);
    assert_int_equal(fit.events, 10);
    check_within(4 - 2 * fit.log_likelihood, 154.27, 0.005);
    check_within(fit.aicc, 4 - 2 * fit.log_likelihood + 12.0 / 17, 1e-9);
    struct records_fit lognormal;
    assert_true(records_fit_shape(RECORDS_LOGNORMAL, seen, 20, &lognormal));
    check_within(4 - 2 * lognormal.log_likelihood, 154.39, 0.005);
}

/* Weeks in remission of 21 patients given 6-MP (Freireich et al. 1963, Blood 21:699-716; as in R's MASS::gehan); the curve and
 * Greenwood's standard errors are those of R's package survival. */
static void freireich_kaplan_meier(void **state)
{
    (void)state;
    static const double weeks[] = { 6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35 };
    static const double expected[7][3] = { { 6, .857143, .076360 },  { 7, .806723, .086935 },  { 10, .752941, .096350 },
                                           { 13, .690196, .106815 }, { 16, .627451, .114054 }, { 22, .537815, .128234 },
                                           { 23, .448179, .134591 } };
    struct records_observation seen[21];
    for (int i = 0; i < 21; i++)
        seen[i] = weeks[i] > 0 ? exact(weeks[i]) : more_than(-weeks[i]);
    struct base_arena arena = { 0 };
    struct records_curve curve;
    assert_true(records_curve_of(&arena, seen, 21, &curve));
    assert_false(curve.has_intervals);
    assert_int_equal(curve.n, 7);
    assert_int_equal(curve.at_risk[0], 21);
    assert_int_equal(curve.at_risk[6], 6);
    for (int s = 0; s < 7; s++) {
        check_within(curve.until[s], expected[s][0], 0);
        check_within(curve.sound[s], expected[s][1], 5e-7);
        check_within(curve.std_error[s], expected[s][2], 5e-7);
    }
    base_arena_free(&arena);
}

/* Turnbull's curve is Kaplan and Meier's where the intervals are so narrow that none overlaps another: by definition. */
static void turnbull_of_narrow_intervals(void **state)
{
    (void)state;
    static const double weeks[] = { 3, 5, -6, 8, -8, 9, 11, -12 };
    struct records_observation narrow[8], sharp[8];
    for (int i = 0; i < 8; i++) {
        sharp[i] = weeks[i] > 0 ? exact(weeks[i]) : more_than(-weeks[i]);
        narrow[i] = weeks[i] > 0 ? (struct records_observation){ weeks[i] - 1e-6, weeks[i] } : more_than(-weeks[i]);
    }
    struct base_arena arena = { 0 };
    struct records_curve turnbull, product;
    assert_true(records_curve_of(&arena, narrow, 8, &turnbull));
    assert_true(records_curve_of(&arena, sharp, 8, &product));
    assert_true(turnbull.has_intervals && !product.has_intervals);
    assert_int_equal(turnbull.n, product.n);
    for (int s = 0; s < product.n; s++) {
        check_within(turnbull.sound[s], product.sound[s], 1e-7);
        assert_true(isnan(turnbull.std_error[s]));
    }
    base_arena_free(&arena);
}

/* Three overlapping intervals, (0,1], (0,2], (1,3]: the likelihood is a (a + b)(b + c') with mass at (0,1] and (1,2] only
 * (innermost: (0,1], (1,2]); p (1) (1 - p) is greatest at p = 1/2. By hand. */
static void turnbull_by_hand(void **state)
{
    (void)state;
    const struct records_observation seen[] = { { 0, 1 }, { 0, 2 }, { 1, 3 } };
    struct base_arena arena = { 0 };
    struct records_curve curve;
    assert_true(records_curve_of(&arena, seen, 3, &curve));
    assert_int_equal(curve.n, 2);
    check_within(curve.sound[0], 0.5, 1e-6);
    check_within(curve.sound[1], 0.0, 1e-6);
    base_arena_free(&arena);
}

/* Closed forms of maximum likelihood: Poisson mean and its error, lognormal mu and sigma with their errors. */
static void closed_forms(void **state)
{
    (void)state;
    static const double counts[] = { 0, 2, 3, 3, 4, 1, 5, 2 };
    static const double kg[] = { 0.52, 0.71, 0.44, 0.93, 0.66, 0.58 };
    struct records_observation seen[8];
    struct records_fit fit;
    for (int i = 0; i < 8; i++)
        seen[i] = exact(counts[i]);
    assert_true(records_fit_shape(RECORDS_POISSON, seen, 8, &fit));
    check_near(fit.p[0], 2.5, 1e-5);
    check_near(fit.std_error[0], sqrt(2.5 / 8), 1e-4);
    assert_false(records_fit_shape(RECORDS_NEGATIVE_BINOMIAL, seen, 8, &fit)); /* variance 2.25 is under the mean */
    double sum = 0, squares = 0;
    for (int i = 0; i < 6; i++) {
        seen[i] = exact(kg[i]);
        sum += log(kg[i]) / 6;
    }
    for (int i = 0; i < 6; i++)
        squares += (log(kg[i]) - sum) * (log(kg[i]) - sum) / 6;
    assert_true(records_fit_shape(RECORDS_LOGNORMAL, seen, 6, &fit));
    check_within(fit.p[0], sum, 1e-6);
    check_near(fit.p[1], sqrt(squares), 1e-5);
    check_near(fit.std_error[0], sqrt(squares / 6), 1e-4);
    check_near(fit.std_error[1], sqrt(squares / 12), 1e-4);
}

/* Prediction interval of one more record by Student's t: t(0.9; 2) = 1.885618 (printed tables). */
static void few_records(void **state)
{
    (void)state;
    const struct records_observation seen[] = { exact(0.5), exact(0.6), exact(0.9) };
    double triplet[3], mean = (log(0.5) + log(0.6) + log(0.9)) / 3, squares = 0;
    for (int i = 0; i < 3; i++)
        squares += (log(seen[i].low) - mean) * (log(seen[i].low) - mean);
    double half = 1.885618 * sqrt(squares / 2) * sqrt(4.0 / 3);
    assert_true(records_few(seen, 3, triplet));
    check_near(triplet[0], exp(mean - half), 1e-6);
    check_near(triplet[1], exp(mean), 1e-12);
    check_near(triplet[2], exp(mean + half), 1e-6);
    assert_false(records_few(seen, 1, triplet));
}

/* What the doubt of a Weibull is drawn with, src/plan/doubt.c: n times the covariance of log k and log scale is 0.608, 1.109 / k^2
 * and 0.257 / k, against the curvature at a sample that is the distribution's own quantiles. */
static void weibull_scatter(void **state)
{
    (void)state;
    enum { N = 4000 };
    static struct records_observation seen[N];
    const double k = 2.4, scale = 23;
    struct records_fit fit;
    for (int i = 0; i < N; i++)
        seen[i] = exact(scale * pow(-log((i + 0.5) / N), 1 / k));
    assert_true(records_fit_shape(RECORDS_WEIBULL, seen, N, &fit));
    check_near(N * fit.covariance[0][0], 0.6079, 0.01);
    check_near(N * fit.covariance[1][1], 1.1087 / (k * k), 0.01);
    check_near(N * fit.covariance[0][1], 0.2570 / k, 0.01);
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nist_weibull_right_censored), cmocka_unit_test(freireich_kaplan_meier),
        cmocka_unit_test(turnbull_of_narrow_intervals), cmocka_unit_test(turnbull_by_hand),
        cmocka_unit_test(closed_forms), cmocka_unit_test(few_records), cmocka_unit_test(weibull_scatter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
