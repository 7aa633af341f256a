/* fit_recovery_test.c: notebooks made up from known settings, most of their fruit eaten before it spoiled: the profile
 * likelihood's 95 % intervals cover the truth in 95 of 100, within two. 4,000 notebooks (94.1 and 94.7 of
 * 100 were covered). */
#include "records/records.h"

#include "unit/check.h"

enum { REPEATS = 4000, FRUITS = 150 };
static const double K = 2.4, SCALE_WEEKS = 23, EATEN_WEEKS = 10.2, LIMIT = 3.841459; /* chi-squared, 1 d.f., 0.95 */

/* One store notebook: each fruit is eaten at an exponential time, 4 of 5 before they spoil; what spoils is found at the weekly
 * look-over. Returns how many spoiled. */
static int made_up(uint64_t repeat, struct records_observation *seen)
{
    struct chance_pcg pcg = chance_stream(chance_season_key(77, repeat, 0), chance_stream_key("store", 1));
    int spoiled = 0;
    for (int i = 0; i < FRUITS; i++) {
        double life = SCALE_WEEKS * pow(-log(chance_uniform(chance_pcg_next(&pcg))), 1 / K);
        double eaten = 1 - EATEN_WEEKS * log(chance_uniform(chance_pcg_next(&pcg)));
        if (eaten < life)
            seen[i] = (struct records_observation){ eaten, HUGE_VAL };
        else
            seen[i] = (struct records_observation){ floor(life), floor(life) + 1 };
        spoiled += eaten >= life;
    }
    return spoiled;
}

static void profile_likelihood_covers(void **state)
{
    (void)state;
    struct records_observation seen[FRUITS];
    struct records_fit fit;
    int64_t spoiled = 0;
    int covered[2] = { 0, 0 }, fitted = 0;
    for (int repeat = 0; repeat < REPEATS; repeat++) {
        spoiled += made_up((uint64_t)repeat, seen);
        if (!records_fit_shape(RECORDS_WEIBULL, seen, FRUITS, &fit))
            continue;
        fitted++;
        covered[0] += records_profile_loss(&fit, seen, FRUITS, 0, K) <= LIMIT;
        covered[1] += records_profile_loss(&fit, seen, FRUITS, 1, SCALE_WEEKS) <= LIMIT;
    }
    double share = (double)spoiled / ((double)REPEATS * FRUITS);
    print_message("%d repeats, %.1f %% spoiled, covered: k %.2f %%, scale %.2f %%\n", REPEATS, 100 * share,
                  100.0 * covered[0] / REPEATS, 100.0 * covered[1] / REPEATS);
    assert_int_equal(fitted, REPEATS);
    check_within(share, 0.2, 0.02);
    check_within((double)covered[0] / REPEATS, 0.95, 0.02);
    check_within((double)covered[1] / REPEATS, 0.95, 0.02);
}

/* The interval's ends are where the loss is the limit. */
static void interval_ends(void **state)
{
    (void)state;
    struct records_observation seen[FRUITS];
    struct records_fit fit;
    made_up(3, seen);
    assert_true(records_fit_shape(RECORDS_WEIBULL, seen, FRUITS, &fit));
    for (int which = 0; which < 2; which++) {
        double low, high;
        records_profile_interval(&fit, seen, FRUITS, which, 0.95, &low, &high);
        assert_true(low < fit.p[which] && fit.p[which] < high);
        check_within(records_profile_loss(&fit, seen, FRUITS, which, low), LIMIT, 1e-4);
        check_within(records_profile_loss(&fit, seen, FRUITS, which, high), LIMIT, 1e-4);
    }
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = { cmocka_unit_test(profile_likelihood_covers), cmocka_unit_test(interval_ends) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
