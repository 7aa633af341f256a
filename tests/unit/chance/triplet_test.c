/* The three-term metalog against Keelin 2016 ("The Metalog Distributions", Decision Analysis
 * 13(4):243-277): figures worked out from the paper's formulas, separately from the code; and which
 * triplets are taken, and what is said of the others. */
#include "unit/chance/made.h"

static void quantiles_are_keelins(void **state)
{
    static const struct { enum scenario_bound bound; double a[3], u, x;
    } rows[] = { { SCENARIO_UNBOUNDED, { 2, 5, 10 }, 0.05, 1.147293 },
                 { SCENARIO_UNBOUNDED, { 2, 5, 10 }, 0.25, 3.3125 },
                 { SCENARIO_UNBOUNDED, { 2, 5, 10 }, 0.75, 7.3125 },
                 { SCENARIO_UNBOUNDED, { 2, 5, 10 }, 0.95, 11.867869 },
                 { SCENARIO_POSITIVE, { 2, 5, 10 }, 0.05, 1.43742475 },
                 { SCENARIO_POSITIVE, { 2, 5, 10 }, 0.95, 12.42382148 },
                 { SCENARIO_SHARE, { 0.5, 0.7, 0.9 }, 0.05, 0.43879725 },
                 { SCENARIO_SHARE, { 0.5, 0.7, 0.9 }, 0.95, 0.93693182 } };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct base_arena arena = { .last = NULL };
        const double *a = rows[i].a;
        const struct chance_distribution *d = made_of(&arena, SCENARIO_TRIPLET, rows[i].bound, a[0], a[1],
                                                      a[2]);
        check_near(chance_quantile(d, rows[i].u), rows[i].x, 5e-7);
        check_near(chance_quantile(d, 0.1), a[0], 1e-14);
        check_near(chance_quantile(d, 0.5), a[1], 1e-14);
        check_near(chance_quantile(d, 0.9), a[2], 1e-14);
        check_near(chance_cdf(d, a[0]), 0.1, 1e-13);
        check_near(chance_survival(d, a[2]), 0.1, 1e-13);
        base_arena_free(&arena);
    }
}

/* Closed form of the unbounded one's moments against a plain sum over a million equal slices. */
static void moments_are_the_integrals(void **state)
{
    struct base_arena arena = { .last = NULL };
    double first = 0.0, second = 0.0;
    (void)state;
    const struct chance_distribution *d = made_of(&arena, SCENARIO_TRIPLET, SCENARIO_UNBOUNDED, 2, 5, 10);
    for (int i = 0; i < 1000000; i++) {
        double x = chance_quantile(d, (i + 0.5) * 1e-6);
        first += x * 1e-6;
        second += x * x * 1e-6;
    }
    check_near(chance_mean(d), first, 1e-5);
    check_near(chance_sd(d), sqrt(second - first * first), 1e-4);
    check_near(chance_mean(d), 5.0 + 0.5 * 1.13779903, 1e-8);
    base_arena_free(&arena);
}

static bool taken(enum scenario_bound bound, double p10, double p50, double p90)
{
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    struct scenario_distribution spec = made_spec(SCENARIO_TRIPLET, bound, p10, p50, p90);
    spec.has_most = bound == SCENARIO_POSITIVE;
    spec.at_most = 1e6;
    bool is = chance_make(&arena, &spec, &complaints) != NULL;
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return is;
}

static double logistic(double m) { return 1.0 / (1.0 + exp(-m)); }

/* The share (p50 - p10)/(p90 - p10) must lie between .166578 and one less it (the paper's |a3/a2| <
 * 1.66711), after the logarithm or logit. */
static void feasibility_is_keelins(void **state)
{
    static const struct { double share; bool fine; } rows[] = {
        { 0.16655, false }, { 0.16660, true }, { 0.5, true }, { 0.83340, true }, { 0.83345, false }
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double r = rows[i].share;
        assert_int_equal(taken(SCENARIO_UNBOUNDED, -3, -3 + 7 * r, 4), rows[i].fine);
        assert_int_equal(taken(SCENARIO_POSITIVE, exp(-1), exp(-1 + 3 * r), exp(2)), rows[i].fine);
        assert_int_equal(taken(SCENARIO_SHARE, logistic(-1), logistic(-1 + 3 * r), logistic(2)),
                         rows[i].fine);
    }
}

/* What is taken rises everywhere: from the least share to the greatest. */
static void taken_ones_rise(void **state)
{
    (void)state;
    for (double r = 0.16658; r < 0.8335; r += 0.03334) {
        struct base_arena arena = { .last = NULL };
        const struct chance_distribution *d = made_of(&arena, SCENARIO_TRIPLET, SCENARIO_UNBOUNDED, 0, r, 1);
        double last = -HUGE_VAL;
        for (int i = 1; i < 2000; i++) {
            double x = chance_quantile(d, i / 2000.0);
            assert_true(x > last);
            last = x;
        }
        base_arena_free(&arena);
    }
}

static void refuse(enum scenario_bound bound, double p10, double p50, double p90, const char *words)
{
    struct scenario_distribution spec = made_spec(SCENARIO_TRIPLET, bound, p10, p50, p90);
    made_refused(&spec, words);
}

static void refusals_say_what_would_do(void **state)
{
    struct scenario_distribution spec;
    (void)state;
    refuse(SCENARIO_UNBOUNDED, 0, 0.1, 1, "p50 = 0.1 is too near p10");
    refuse(SCENARIO_UNBOUNDED, 0, 0.1, 1, "move p50 into 0.167..0.833");
    refuse(SCENARIO_UNBOUNDED, 0, 0.9, 1, "too near p90");
    refuse(SCENARIO_POSITIVE, 0.4, 0.41, 0.9, "move p50 into 0.458..0.786");
    refuse(SCENARIO_SHARE, 0.1, 0.85, 0.9, "move p50 into 0.188..0.812");
    refuse(SCENARIO_UNBOUNDED, 5, 2, 10, "p10 must be less than p50");
    refuse(SCENARIO_POSITIVE, 0, 2, 10, "`records`, or a small number instead of 0, such as 0.4");
    refuse(SCENARIO_COUNT, 0, 2, 5, "`counts` with weights, `records`, or a small number");
    refuse(SCENARIO_SHARE, 0, 0.2, 0.5, "p10 is 0");
    refuse(SCENARIO_SHARE, 0.5, 0.9, 1, "p90 is 1");
    refuse(SCENARIO_SHARE, 0.5, 0.9, 1.2, "lies between 0 and 1");
    refuse(SCENARIO_POSITIVE, -1, 2, 5, "cannot be below 0");
    refuse(SCENARIO_POSITIVE, 1, 3, 9.1, "at_most");
    refuse(SCENARIO_POSITIVE, 1, 3, 30, "no variance");
    assert_true(taken(SCENARIO_POSITIVE, 1, 3, 9.1));
    /* dates: what is offered is later or earlier by whole days, as the user wrote a date */
    spec = made_spec(SCENARIO_TRIPLET, SCENARIO_UNBOUNDED, 60, 61, 90);
    spec.is_date = true;
    made_refused(&spec, "p50 is too near p10 for a smooth curve: move it 4 to 24 days later");
    spec.a[1] = 88;
    made_refused(&spec, "p50 is too near p90 for a smooth curve: move it 3 to 23 days earlier");
}

/* What a refusal offers is taken, at both of its ends. */
static void offers_are_taken(void **state)
{
    static const struct { enum scenario_bound bound; double p10, p90, low, high; } rows[] = {
        { SCENARIO_UNBOUNDED, 0, 1, 0.167, 0.833 }, { SCENARIO_POSITIVE, 0.4, 0.9, 0.458, 0.786 },
        { SCENARIO_SHARE, 0.1, 0.9, 0.188, 0.812 }, { SCENARIO_UNBOUNDED, 60, 90, 65, 85 }
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_true(taken(rows[i].bound, rows[i].p10, rows[i].low, rows[i].p90));
        assert_true(taken(rows[i].bound, rows[i].p10, rows[i].high, rows[i].p90));
    }
}

/* The tail's exponent a2 + a3/2 is a half where p90/p50 is 3 of a geometric-mean p50. */
static void tails_without_variance_ask(void **state)
{
    struct base_arena arena = { .last = NULL };
    (void)state;
    assert_true(chance_sd(made_of(&arena, SCENARIO_TRIPLET, SCENARIO_POSITIVE, 1, 2.98, 2.98 * 2.98)) > 0.0);
    refuse(SCENARIO_POSITIVE, 1, 3.01, 3.01 * 3.01, "give at_most");
    refuse(SCENARIO_COUNT, 1, 3.01, 3.01 * 3.01, "give at_most");
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantiles_are_keelins), cmocka_unit_test(moments_are_the_integrals),
        cmocka_unit_test(feasibility_is_keelins), cmocka_unit_test(taken_ones_rise),
        cmocka_unit_test(refusals_say_what_would_do), cmocka_unit_test(offers_are_taken),
        cmocka_unit_test(tails_without_variance_ask)
    };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
