/* heat_test.c: degree-days of a day, daily normals, and the table of heat by warmth against the exact sum. */
#include "unit/plan/planned.h"

static const double PI = 3.14159265358979323846;

/* Single sine without upper cut-off: Baskerville & Emin 1969, Ecology 50:514-517. The first three rows are
 * also in the
 * tests of the R package TrenchR (0.47, 0, 1.5); the rest were computed apart from this program, by their
 * formula and
 * by numerical integration. */
static void published_days(void **state)
{
    static const double row[][4] = {
        { 7, 14, 12, 0.468058688 }, { 7, 10, 12, 0 }, { 13, 14, 12, 1.5 }, { 5, 18, 10, 2.874354849 },
        { 10, 15, 11, 1.693868919 }, { 2, 11, 8, 0.762734646 },
    };
    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
        check_within(plan_degree_days(row[i][0], row[i][1], row[i][2]), row[i][3], 1e-9);
}

/* Mean over a day of what a sine between the two temperatures has above the base, by the midpoint rule. */
static double by_quadrature(double tmin, double tmax, double base)
{
    enum { STEPS = 200000 };
    double sum = 0;
    for (int i = 0; i < STEPS; i++)
        sum += fmax(0, (tmin + tmax) / 2 + (tmax - tmin) / 2 * sin(2 * PI * (i + 0.5) / STEPS) - base);
    return sum / STEPS;
}

static void integral_of_the_sine(void **state)
{
    (void)state;
    for (int i = 0; i < 40; i++) {
        double tmin = -6 + 0.7 * i, tmax = tmin + 0.5 + i % 7 * 2.5, base = 8.0;
        check_within(plan_degree_days(tmin, tmax, base), by_quadrature(tmin, tmax, base), 1e-8);
    }
}

static void edges(void **state)
{
    (void)state;
    check_within(plan_degree_days(10, 10, 10), 0, 0);
    check_within(plan_degree_days(9, 10, 10), 0, 0);
    check_within(plan_degree_days(10, 12, 10), 1, 1e-15);
    check_within(plan_degree_days(5, 5, 4), 1, 0);
    check_within(plan_day_heat(9, 10, 10).slope, 0, 0);
    check_within(plan_day_heat(10, 12, 10).slope, 1, 0);
    check_within(plan_day_heat(8, 12, 10).slope, 0.5, 1e-15);
    for (double base = 5.5; base < 15; base += 0.25) {
        double h = 1e-5, up = plan_degree_days(5 + h, 15 + h, base),
            down = plan_degree_days(5 - h, 15 - h, base);
        check_within(plan_day_heat(5, 15, base).slope, (up - down) / (2 * h), 1e-6);
    }
}

static void daily_normals(void **state)
{
    /* each month's 15th */
    static const int middle[12] = { 14, 45, 73, 104, 134, 165, 195, 226, 257, 287, 318, 348 };
    static const double month[12] = { 2, 3, 6, 9, 13, 16, 18, 17, 14, 10, 5, 1 };
    (void)state;
    for (int starts = 0; starts < 365; starts += 52) {
        double daily[SCENARIO_DAYS];
        plan_daily_normals(month, starts, daily);
        for (int m = 0; m < 12; m++) {
            int next = (m + 1) % 12, apart = (middle[next] - middle[m] + 365) % 365;
            check_within(daily[(middle[m] - starts + 365) % 365], month[m], 1e-12);
            for (int d = 0; d < apart; d++)
                check_within(daily[(middle[m] + d - starts + 365) % 365],
                             month[m] + (month[next] - month[m]) * d / apart, 1e-12);
        }
    }
}

/* The greatest error of a season's heat as a share of it, over many warmths, once it comes to what dries or
 * ripens
 * anything at all. */
static const double LEAST_HEAT = 300;

static double worst_heat(const struct plan *plan, double *lowest, double *highest)
{
    const struct scenario_climate *climate = &plan->scenario->climate;
    double tmin[SCENARIO_DAYS], tmax[SCENARIO_DAYS], worst = 0;
    plan_daily_normals(climate->tmin_c, plan->scenario->year_starts, tmin);
    plan_daily_normals(climate->tmax_c, plan->scenario->year_starts, tmax);
    for (uint64_t trial = 0; trial < 2000; trial++) {
        uint64_t key = chance_season_key(3, trial, 0);
        struct chance_pcg pcg = chance_stream(key, plan->weather.key);
        chance_pcg_advance(&pcg, 2);            /* last frost, first hard frost, warmth */
        double warmth = chance_draw(plan->weather.warmth, chance_pcg_next(&pcg));
        struct season season;
        season_draw(plan, key, NULL, &season);
        *lowest = fmin(*lowest, warmth);
        *highest = fmax(*highest, warmth);
        for (int b = 0; b < plan->weather.bases; b++) {
            double exact = 0;
            for (int day = 0; day < SCENARIO_DAYS; day++) {
                exact += plan_degree_days(tmin[day] + warmth, tmax[day] + warmth, plan->weather.base_c[b]);
                if (exact >= LEAST_HEAT)
                    worst = fmax(worst, fabs(season_heat(plan, &season, b, day + 1) / exact - 1));
            }
        }
    }
    return worst;
}

static void heat_by_warmth(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS
        "climate = { last_frost = \"05-01\"; first_hard_frost = \"11-10\"; " PLANNED_NORMALS
        " warmth = { shape = \"uniform\"; low = -5.0; high = 5.0; }; };"
        "crops = { bean = { kind = \"beans\"; unit_kg = 1.0; base_c = 8.0; heat_to_dry = 900.0; };"
        " gourd = { kind = \"squash\"; fruits = 4; fruit_kg = 1.0; base_c = 10.0; heat_to_ripen = 600.0;"
        " keeps_weeks = 20.0; }; };"
        "plantings = { row = { crop = \"bean\"; count = 1; plant_out = \"05-20\"; pick_until = \"10-20\"; };"
        " hill = { crop = \"gourd\"; count = 1; plant_out = \"05-20\"; cut_by = \"10-01\"; }; };");
    double low = 0, high = 0, worst = worst_heat(plan, &low, &high);
    print_message("heat by table, warmth %.2f to %.2f: worst relative error %.2g (at %g degree-days or more)\n",
                  low, high,
                  worst, LEAST_HEAT);
    base_arena_free(&arena);
    assert_true(low < -4.9 && high > 4.9);
    assert_true(worst <= 2e-5); /* 0.004 degree-days: the sine's edges are sharp, and rows half as far apart cost twice the start */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_days), cmocka_unit_test(integral_of_the_sine), cmocka_unit_test(edges),
        cmocka_unit_test(daily_normals), cmocka_unit_test(heat_by_warmth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
