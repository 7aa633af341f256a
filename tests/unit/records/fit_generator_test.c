/* fit_generator_test.c: made-up seasons have the figures that they are made of, and a fit to them finds those again. */
#include "records/records.h"

#include "unit/check.h"

#include <string.h>

enum { SEASONS = 1000 };
static const double LAG_ONE = 0.6, SAME_DAY = 0.5, YEAR_SD_C = 0.8, SD_C = 3.0;

/* A flat climate: the same normals and spreads all the year. */
static void flat_climate(struct scenario *scenario)
{
    *scenario = (struct scenario){ .year_starts = 59 };
    scenario->climate.generator = (struct scenario_generator){ .is_set = true, .seasons = SEASONS, .lag_one = LAG_ONE,
                                                               .same_day = SAME_DAY, .year_sd_c = YEAR_SD_C };
    for (int month = 0; month < 12; month++) {
        scenario->climate.tmin_c[month] = 5;
        scenario->climate.tmax_c[month] = 25; /* so far apart that they never change places */
        scenario->climate.generator.tmin_sd_c[month] = scenario->climate.generator.tmax_sd_c[month] = SD_C;
    }
}

/* Mean product of departures: tmin or tmax of a day, and of `lag` days later. */
static double moment(const struct plan_records *made, bool tmax, bool later_tmax, int lag)
{
    double sum = 0;
    int64_t n = 0;
    for (int s = 0; s < made->n; s++)
        for (int day = 0; day + lag < SCENARIO_DAYS; day++, n++) {
            const struct plan_recorded_season *season = &made->season[s];
            double x = tmax ? season->tmax_c[day] - 25 : season->tmin_c[day] - 5;
            double y = later_tmax ? season->tmax_c[day + lag] - 25 : season->tmin_c[day + lag] - 5;
            sum += x * y;
        }
    return sum / (double)n;
}

/* Covariances of an autoregression with a year's departure added, by hand: sd^2 r^lag + year_sd^2. Standard errors: 365,000
 * days of which every fourth is new, 0.5 %; and 1,000 years, 4.5 % of year_sd^2. */
static void given_figures(void **state)
{
    (void)state;
    struct scenario scenario;
    struct plan_generator generator;
    struct base_arena arena = { 0 };
    flat_climate(&scenario);
    plan_given_generator(&scenario, &generator);
    const struct plan_records *made = plan_generate(&arena, chance_normal_make(&arena), &generator, SEASONS);
    double year = YEAR_SD_C * YEAR_SD_C, day = SD_C * SD_C;
    assert_non_null(made);
    check_within(moment(made, false, false, 0), day + year, 0.2);
    check_within(moment(made, true, true, 0), day + year, 0.2);
    check_within(moment(made, false, true, 0), SAME_DAY * day + year, 0.2);
    check_within(moment(made, false, false, 1), LAG_ONE * day + year, 0.2);
    check_within(moment(made, true, false, 1), LAG_ONE * SAME_DAY * day + year, 0.2);
    check_within(moment(made, false, false, 10), pow(LAG_ONE, 10) * day + year, 0.15);
    base_arena_free(&arena);
}

/* Fitted to 60 seasons made by the given figures, it finds the autoregression again. */
static void fitted_figures(void **state)
{
    (void)state;
    struct scenario scenario;
    struct plan_generator given, fitted;
    struct base_arena arena = { 0 };
    flat_climate(&scenario);
    plan_given_generator(&scenario, &given);
    const struct chance_normal *normal = chance_normal_make(&arena);
    const struct plan_records *made = plan_generate(&arena, normal, &given, 60);
    assert_true(plan_fit_generator(&arena, made, &fitted));
    check_within(fitted.follows[0][0], LAG_ONE, 0.03);
    check_within(fitted.follows[1][1], LAG_ONE, 0.03);
    check_within(fitted.follows[0][1], 0, 0.03);
    check_within(fitted.normal_c[0][100], 5, 0.5);
    check_within(fitted.normal_c[1][300], 25, 0.5);
    /* 1,000 made up again: day and year moments of the 60, whose own year's variance is known to 18 % only */
    const struct plan_records *again = plan_generate(&arena, normal, &fitted, SEASONS);
    check_near(moment(again, false, false, 0), moment(made, false, false, 0), 0.04);
    check_near(moment(again, false, true, 0), moment(made, false, true, 0), 0.06);
    check_near(moment(again, false, false, 1), moment(made, false, false, 1), 0.06);
    base_arena_free(&arena);
}

/* Sums of a season's days: the sd of made-up seasons is the record's, which days alone (no yearly effect) would not reach. */
static double season_sd(const struct plan_records *made)
{
    double sum = 0, squares = 0;
    for (int s = 0; s < made->n; s++) {
        double mean = 0;
        for (int day = 61; day <= 213; day++)
            mean += (made->season[s].tmin_c[day] + made->season[s].tmax_c[day]) / 2 / 153;
        sum += mean;
        squares += mean * mean;
    }
    return sqrt((squares - sum * sum / made->n) / (made->n - 1));
}

static void years_differ(void **state)
{
    (void)state;
    struct scenario scenario;
    struct plan_generator given, fitted;
    struct base_arena arena = { 0 };
    flat_climate(&scenario);
    const struct chance_normal *normal = chance_normal_make(&arena);
    plan_given_generator(&scenario, &given);
    const struct plan_records *record = plan_generate(&arena, normal, &given, 60);
    assert_true(plan_fit_generator(&arena, record, &fitted));
    given.year_sd_c = 0;
    double of_record = season_sd(record), of_fit = season_sd(plan_generate(&arena, normal, &fitted, SEASONS));
    double of_days = season_sd(plan_generate(&arena, normal, &given, SEASONS));
    check_near(of_fit, of_record, 0.07); /* 1,000 seasons: standard error 2.2 % */
    assert_true(of_days < 0.75 * of_record);
    base_arena_free(&arena);
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = { cmocka_unit_test(given_figures), cmocka_unit_test(fitted_figures),
                                        cmocka_unit_test(years_differ) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
