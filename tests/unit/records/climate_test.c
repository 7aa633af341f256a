/* climate_test.c: what a daily record says of a climate, of seasons made up so that the answers can be seen by hand. */
#include "records/records.h"

#include "unit/check.h"

#include <string.h>

enum { SEASONS = 12, YEAR_STARTS = 59 }; /* 1 March */

static const double warmth_c[SEASONS] = { 0.5, -0.3, 1.1, -0.9, 0.2, -0.6, 0.0, 0.8, -1.2, 0.3, -0.4, 0.5 };
static const int last[SEASONS] = { 10, 25, 4, 28, 12, -1, 9, 7, 29, 14, 17, 8 };
static const int hard[SEASONS] = { 310, 290, 322, 281, 365, 299, 303, 318, 277, 365, 296, 309 };

/* Every day of a season alike, 5 to 25 degrees and the season's warmth, but for one frost in March and one after November:
 * the days that count for warmth, and the months from April to October, know nothing of them. */
static struct plan_records made_up(struct plan_recorded_season *season)
{
    for (int s = 0; s < SEASONS; s++) {
        season[s].label_year = 2001 + s;
        season[s].known_days = SCENARIO_DAYS;
        for (int day = 0; day < SCENARIO_DAYS; day++) {
            season[s].tmin_c[day] = day == last[s] ? 0 : day == hard[s] ? -2 : 5 + warmth_c[s];
            season[s].tmax_c[day] = 25 + warmth_c[s];
        }
    }
    return (struct plan_records){ .n = SEASONS, .season = season };
}

static void figures_of_seasons(void **state)
{
    (void)state;
    static struct plan_recorded_season season[SEASONS];
    struct plan_records records = made_up(season);
    struct base_arena arena = { 0 };
    const struct records_climate *climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    double mean = 0;
    assert_non_null(climate);
    for (int s = 0; s < SEASONS; s++)
        mean += warmth_c[s] / SEASONS;
    double written = floor(100 * (25 + mean) + 0.5) / 100 - 25; /* normals are written to a hundredth */
    for (int s = 0; s < SEASONS; s++) {
        const struct records_observation *frost = &climate->sample[RECORDS_AT_LAST_FROST].seen[s];
        check_within(frost->low, last[s] < 0 ? -HUGE_VAL : last[s], 0);
        check_within(frost->high, last[s] < 0 ? -0.5 : last[s], 0);
        frost = &climate->sample[RECORDS_AT_HARD_FROST].seen[s];
        check_within(frost->low, hard[s] == 365 ? 364.5 : hard[s], 0);
        check_within(frost->high, hard[s] == 365 ? HUGE_VAL : hard[s], 0);
        check_within(climate->sample[RECORDS_AT_WARMTH].seen[s].low, warmth_c[s] - written, 1e-9);
    }
    assert_int_equal(climate->seasons, SEASONS);
    assert_int_equal(climate->first_year, 2001);
    assert_int_equal(climate->last_year, 2012);
    assert_int_equal(climate->lacking[0], 1);
    assert_int_equal(climate->lacking_year[0][0], 2006);
    assert_int_equal(climate->lacking[1], 2);
    assert_int_equal(climate->lacking_year[1][1], 2010);
    assert_int_equal(climate->cut_short, 0);
    assert_int_equal(climate->sample[RECORDS_AT_LAST_FROST].events, 11);
    assert_int_equal(climate->sample[RECORDS_AT_HARD_FROST].events, 10);
    assert_int_equal(climate->sample[RECORDS_AT_WARMTH].events, 12);
    base_arena_free(&arena);
}

/* July is 5 and 25 and the mean warmth; March has 31 days a season, of which 11 seasons' one has 0 instead. */
static void normals(void **state)
{
    (void)state;
    static struct plan_recorded_season season[SEASONS];
    struct plan_records records = made_up(season);
    struct base_arena arena = { 0 };
    double mean = 0, frosty = 0;
    for (int s = 0; s < SEASONS; s++) {
        mean += warmth_c[s] / SEASONS;
        frosty += last[s] >= 0 ? (5 + warmth_c[s]) / (31.0 * SEASONS) : 0;
    }
    season[SEASONS - 1].known_days = 310; /* of 5 January: the rest of that winter counts nowhere */
    for (int day = 310; day < SCENARIO_DAYS; day++)
        season[SEASONS - 1].tmin_c[day] = season[SEASONS - 1].tmax_c[day] = -40;
    const struct records_climate *climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    check_within(climate->normal_c[0][6], 5 + mean, 0.00501);
    check_within(climate->normal_c[1][6], 25 + mean, 0.00501);
    check_within(climate->normal_c[0][2], 5 + mean - frosty, 0.00501);
    check_within(climate->normal_c[1][1], 25 + (SEASONS * mean - warmth_c[SEASONS - 1]) / (SEASONS - 1), 0.00501);
    assert_int_equal(climate->normal_seasons[0], SEASONS);
    assert_int_equal(climate->normal_seasons[1], SEASONS - 1);
    base_arena_free(&arena);
}

/* A record that ends on day 300: a frost before is known, none before means some day after; and a frost that gaps were filled
 * with is none. */
static void record_ends(void **state)
{
    (void)state;
    static struct plan_recorded_season season[SEASONS];
    struct plan_records records = made_up(season);
    struct base_arena arena = { 0 };
    season[1].known_days = season[2].known_days = season[4].known_days = 300;
    const struct records_climate *climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    const struct records_observation *seen = climate->sample[RECORDS_AT_HARD_FROST].seen;
    check_within(seen[1].high, 290, 0);
    check_within(seen[2].low, 299.5, 0);
    check_within(seen[2].high, HUGE_VAL, 0);
    check_within(seen[4].low, 299.5, 0);
    assert_int_equal(climate->cut_short, 2);
    assert_int_equal(climate->lacking[1], 1);
    assert_int_equal(climate->correlated, SEASONS - 2);
    base_arena_free(&arena);
}

/* Ranks alone decide: warm seasons with early last and late hard frosts, in the same order, give the scores' correlation of 1 where
 * nothing ties; with a figure that is always the same there is none. */
static void together(void **state)
{
    (void)state;
    static struct plan_recorded_season season[SEASONS];
    struct plan_records records = made_up(season);
    struct base_arena arena = { 0 };
    for (int s = 0; s < SEASONS; s++)
        for (int day = 0; day < SCENARIO_DAYS; day++) {
            season[s].tmin_c[day] = day == 25 - 2 * s ? 0 : day == 280 + s ? -2 : 5 + 0.1 * s;
            season[s].tmax_c[day] = 25 + 0.1 * s;
        }
    const struct records_climate *climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    check_within(climate->correlation[0][2], -1, 1e-9);
    check_within(climate->correlation[2][1], 1, 1e-9);
    check_within(climate->correlation[1][1], 1, 0);
    for (int s = 0; s < SEASONS; s++)
        season[s].tmin_c[280 + s] = 5;
    climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    assert_true(isnan(climate->correlation[0][1]));
    assert_int_equal(climate->lacking[1], SEASONS);
    records.n = RECORDS_WARMTH_YEARS - 1;
    climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    assert_true(isnan(climate->correlation[0][2]));
    base_arena_free(&arena);
}

/* What the judge makes of them: a fit from the years with a frost and those without; too few of them, and most years without, is
 * nothing; four seasons are a triplet. */
static void judged(void **state)
{
    (void)state;
    static struct plan_recorded_season season[SEASONS];
    struct plan_records records = made_up(season);
    struct base_arena arena = { 0 };
    struct records_verdict verdict;
    const struct records_climate *climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    assert_true(records_judge(&arena, &climate->sample[RECORDS_AT_WARMTH], &verdict));
    assert_true(verdict.chosen >= 0 && verdict.fitted[RECORDS_NORMAL]);
    assert_string_equal(verdict.statistic_name, "Anderson-Darling A2");
    assert_false(verdict.fitted[RECORDS_GAMMA] || verdict.fitted[RECORDS_LOGNORMAL] || verdict.fitted[RECORDS_WEIBULL]);
    assert_true(records_judge(&arena, &climate->sample[RECORDS_AT_HARD_FROST], &verdict));
    assert_true(verdict.chosen >= 0);
    assert_string_equal(verdict.statistic_name, "Kolmogorov distance");
    assert_true(verdict.statistic[verdict.chosen] > 0 && verdict.statistic[verdict.chosen] < 0.3);
    for (int s = 0; s < SEASONS - 4; s++)
        season[s].tmin_c[last[s] < 0 ? 0 : last[s]] = 5; /* four frosts are left */
    climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    assert_true(records_judge(&arena, &climate->sample[RECORDS_AT_LAST_FROST], &verdict));
    assert_true(verdict.chosen < 0 && !verdict.has_triplet);
    records = (struct plan_records){ .n = 4, .season = season + SEASONS - 4 };
    climate = records_climate_of(&arena, &records, -2, YEAR_STARTS);
    assert_true(records_judge(&arena, &climate->sample[RECORDS_AT_LAST_FROST], &verdict));
    assert_true(verdict.chosen < 0 && verdict.has_triplet);
    check_within(verdict.triplet[1], (29 + 14 + 17 + 8) / 4.0, 1e-9);
    base_arena_free(&arena);
}

static void sayable(void **state)
{
    (void)state;
    static const double june[] = { 100, 12 }, beyond[] = { 380, 12 }, before[] = { -30, 12 };
    static const double fine[] = { 20, 31, 50 }, one_day[] = { 20.2, 20.3, 24 }, edge[] = { 10, 18.6, 60.4 };
    assert_true(records_can_be_said(RECORDS_LAST_FROST, RECORDS_NORMAL, june));
    assert_true(records_can_be_said(RECORDS_LAST_FROST, RECORDS_NORMAL, before));
    assert_false(records_can_be_said(RECORDS_FIRST_HARD_FROST, RECORDS_NORMAL, before));
    assert_false(records_can_be_said(RECORDS_FIRST_HARD_FROST, RECORDS_NORMAL, beyond));
    assert_true(records_can_be_said(RECORDS_LAST_FROST, RECORDS_TRIPLET, fine));
    assert_false(records_can_be_said(RECORDS_LAST_FROST, RECORDS_TRIPLET, one_day));
    assert_true(records_can_be_said(RECORDS_LAST_FROST, RECORDS_TRIPLET, edge));
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = { cmocka_unit_test(figures_of_seasons), cmocka_unit_test(normals), cmocka_unit_test(record_ends),
                                        cmocka_unit_test(together), cmocka_unit_test(judged), cmocka_unit_test(sayable) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
