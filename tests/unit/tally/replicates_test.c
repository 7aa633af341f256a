/* replicates_test.c: intervals from replicates of trials that share words out: by hand, and whether they hold what they should. */
#include "unit/plan/planned.h"

#include "tally/tally.h"

#include <gsl/gsl_cdf.h>

enum { R = CHANCE_REPLICATES, MEASURES = 2 };
static const char SCENARIO[] = "tests/unit/future/household.cfg";
static const char *const measures[MEASURES] = { "chance_short", "meals_short" };

struct tallied { struct base_arena arena; struct plan *plan; struct future_trial *trial; };

static void begin(struct tallied *run, const char *sampling)
{
    memset(run, 0, sizeof *run);
    run->plan = planned_file(&run->arena, SCENARIO, &sampling, 1);
    run->trial = future_room(&run->arena, run->plan);
    assert_non_null(run->trial);
}

static struct tally *tallied(struct tallied *run, struct base_arena *arena, uint64_t seed, int64_t trials)
{
    struct tally *tally = tally_make(arena, run->plan, NULL);
    assert_non_null(tally);
    for (int64_t first = 0; first < trials; first += PLAN_ABREAST) {
        int n = trials - first < PLAN_ABREAST ? (int)(trials - first) : PLAN_ABREAST;
        tally_add(tally, run->plan, future_run_block(run->plan, run->trial, seed, (uint64_t)first, n), (uint64_t)first);
    }
    return tally;
}

static double value_of(const struct future_year *year, int measure, int food)
{
    return measure == 0 ? year->short_weeks[food] > 0 : year->meals_short[food];
}

/* One figure, worked out here from the trials one by one; replicates of 63 or 62 trials each. Student's t with 15 degrees of
 * freedom and chi-squared from printed tables. */
static void check_by_hand(struct tallied *run, const struct tally *tally, int64_t trials, int measure, int food)
{
    double sum[R] = { 0 }, n[R] = { 0 }, all = 0, square = 0, spread = 0;
    struct tally_figure figure;
    for (int64_t t = 0; t < trials; t++) {
        double value = value_of(&future_run(run->plan, run->trial, 3, (uint64_t)t)->year[0], measure, food);
        int r = (int)(run->plan->points->sampling == SCENARIO_ANTITHETIC ? t / 2 % 16 : t % 16);
        sum[r] += value;
        n[r]++;
        all += value;
        square += value * value;
    }
    double mean = all / (double)trials;
    for (int r = 0; r < R; r++)
        spread += pow(n[r] / (double)trials * (sum[r] / n[r] - mean), 2) * 16 / 15;
    double independent = (square / (double)trials - mean * mean) / (double)trials;
    assert_true(tally_figure(tally, 0, food, tally_find_measure(measures[measure]), -1, &figure));
    check_near(figure.value, mean, 1e-6);
    check_near(figure.std_error, sqrt(spread), 1e-4);
    check_within(figure.high - figure.value, 2.131 * sqrt(spread), 0.001 * sqrt(spread));
    check_within(figure.value - figure.low, 2.131 * sqrt(spread), 0.001 * sqrt(spread));
    assert_true(figure.has_gain);
    check_near(figure.gain, independent / spread, 2e-3);
    check_near(figure.gain_low, figure.gain * 6.262 / 15, 1e-3);
    check_near(figure.gain_high, figure.gain * 27.488 / 15, 1e-3);
}

static void by_hand(void **state)
{
    (void)state;
    static const char *const samplings[2] = { "sampling=sobol", "sampling=antithetic" };
    for (int s = 0; s < 2; s++) {
        struct tallied run;
        begin(&run, samplings[s]);
        const struct tally *tally = tallied(&run, &run.arena, 3, 1003);
        for (int measure = 0; measure < MEASURES; measure++)
            for (int food = 0; food < FUTURE_FOODS; food++)
                check_by_hand(&run, tally, 1003, measure, food);
        base_arena_free(&run.arena);
    }
}

/* What happens in fewer than 80 trials, or in all but so few, has the interval of independent trials: spread says nothing. */
static void rare(void **state)
{
    (void)state;
    struct tallied run;
    struct tally_figure figure;
    begin(&run, "sampling=sobol");
    const struct tally *tally = tallied(&run, &run.arena, 3, 160);
    int seldom = 0;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        double low, high;
        assert_true(tally_figure(tally, 0, food, tally_find_measure("chance_short"), -1, &figure));
        int64_t happened = (int64_t)floor(figure.value * 160 + 0.5);
        tally_wilson(happened, 160, 0.05, &low, &high);
        seldom += happened < 80;
        if (happened < 80) {
            assert_false(figure.has_gain);
            assert_true(figure.low == low && figure.high == high);
        }
    }
    assert_true(seldom > 0);
    base_arena_free(&run.arena);
}

enum { RUNS = 400, TRIALS = 1024, LONG = 150000, FIGURES = 8 };

/* Chances, means and medians (of what is brought in) by food. */
static bool figure_of(const struct tally *tally, int i, struct tally_figure *figure)
{
    bool is_median = i >= MEASURES * FUTURE_FOODS;
    const char *measure = is_median ? "kg_in" : measures[i / FUTURE_FOODS];
    return tally_figure(tally, 0, i % FUTURE_FOODS, tally_find_measure(measure), is_median ? 1 : -1, figure);
}

/* In how many of the runs, on scramblings or pairs of their own, each figure's interval holds that of the long run. */
static void count_held(const char *sampling, const struct tally *truth, int held[FIGURES])
{
    struct tallied run;
    begin(&run, sampling);
    for (uint64_t seed = 1; seed <= RUNS; seed++) {
        struct base_arena arena = { .last = NULL };
        struct plan_points *points = run.plan->points;
        points->random_seed = seed;
        if (points->sampling == SCENARIO_SOBOL)
            assert_true(chance_sobol_make(&arena, seed, points->key, points->sobol.dimensions, &points->sobol));
        const struct tally *tally = tallied(&run, &arena, seed, TRIALS);
        for (int i = 0; i < FIGURES; i++) {
            struct tally_figure figure, true_one;
            assert_true(figure_of(tally, i, &figure) && figure_of(truth, i, &true_one));
            held[i] += figure.low <= true_one.value && true_one.value <= figure.high;
        }
        base_arena_free(&arena);
    }
    base_arena_free(&run.arena);
}

/* Of 400 runs the 95 % intervals of so many hold the figure of a long run of independent trials as a binomial count of 400 at 0.95
 * lets expect, at a level of one false alarm in a thousand over all figures (the long run's own error is a sixth of an interval's at
 * the most). Intervals of independent trials would be too wide, and hold it in nearly all runs, as medians' do by the Sobol
 * sequence: these must hold it often enough. */
static void coverage(void **state)
{
    (void)state;
    static const char *const samplings[2] = { "sampling=sobol", "sampling=antithetic" };
    struct tallied free_run;
    begin(&free_run, "sampling=independent");
    const struct tally *truth = tallied(&free_run, &free_run.arena, 1, LONG);
    const double level = 0.001 / (2 * 2 * FIGURES);
    int least = 0, most = RUNS;
    while (gsl_cdf_binomial_P((unsigned)least, 0.95, RUNS) < level)
        least++;
    while (gsl_cdf_binomial_Q((unsigned)most - 1, 0.95, RUNS) < level)
        most--;
    for (int s = 0; s < 2; s++) {
        int held[FIGURES] = { 0 };
        count_held(samplings[s], truth, held);
        for (int i = 0; i < FIGURES; i++) {
            print_message("%s, figure %d: %d of %d (%d to %d)\n", samplings[s], i, held[i], (int)RUNS, least, most);
            assert_true(held[i] >= least && (held[i] <= most || i >= MEASURES * FUTURE_FOODS));
        }
    }
    base_arena_free(&free_run.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(by_hand), cmocka_unit_test(rare), cmocka_unit_test(coverage) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
