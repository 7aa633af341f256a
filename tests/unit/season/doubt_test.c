/* doubt_test.c: frost dates and warmth that come from so many records differ from reading to reading as so many records leave them
 * in doubt. Closed forms of a normal's mean and variance from n records: the mean scatters by sd^2/n, the variance keeps its own
 * mean, so that a season's date has the variance sd^2 (1 + 1/n). */
#include "unit/plan/planned.h"

enum { N = 64000, RECORDS = 8 };

#define CROPS \
    "crops = { bean = { kind = \"beans\"; unit_kg = 1.0; base_c = 8.0; heat_to_dry = 900.0; }; };" \
    "plantings = { row = { crop = \"bean\"; count = 1; plant_out = \"05-20\"; pick_until = \"10-20\"; }; };"
#define CLIMATE(records, more) \
    PLANNED_EATERS CROPS "climate = { last_frost = { shape = \"normal\"; mean = \"05-10\"; sd = 40.0;" records " };" \
    " first_hard_frost = { p10 = \"09-25\"; p50 = \"10-10\"; p90 = \"11-02\";" records " };" \
    " warmth = { shape = \"normal\"; mean = 0.5; sd = 1.0;" records " };" more PLANNED_NORMALS " };"
#define DOUBT " from_records = 8;"

/* Sums over seasons: last frost, hard frost, warmth as its heat tells it (kelvin days over days 130-160, all above the base). */
struct moments { double mean[3], variance[3]; };

static double warmth_of(const struct plan *plan, const struct season *season)
{
    return season_heat(plan, season, 0, 160) - season_heat(plan, season, 0, 130);
}

static struct moments drawn(const struct plan *plan, bool known)
{
    struct moments m = { { 0 }, { 0 } };
    for (uint64_t trial = 0; trial < N; trial++) {
        struct season season;
        const struct plan *as_read = plan_of_trial(plan, 3, trial);
        uint64_t key = chance_season_key(3, trial, 0);
        if (known)
            season_draw_known(as_read, key, NULL, &season);
        else
            season_draw(as_read, key, NULL, &season);
        const double x[3] = { season.last_frost, season.first_hard_frost, warmth_of(as_read, &season) / 30 };
        for (int i = 0; i < 3; i++) {
            m.mean[i] += x[i] / N;
            m.variance[i] += x[i] * x[i] / N;
        }
    }
    for (int i = 0; i < 3; i++)
        m.variance[i] -= m.mean[i] * m.mean[i];
    return m;
}

/* 32 evenly spread readings hold 31/32 or so of the normal's own spread; a variance of 64,000 is known to 0.6 %. */
static void wider_by_so_many_records(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *sharp = planned(&arena, CLIMATE("", "")), *doubtful = planned(&arena, CLIMATE(DOUBT, ""));
    assert_null(sharp->reading);
    assert_non_null(doubtful->reading);
    struct moments s = drawn(sharp, false), d = drawn(doubtful, false);
    for (int i = 0; i < 3; i += 2) {        /* the two normals; the triplet below */
        check_near(d.variance[i] / s.variance[i], 1 + 1.0 / RECORDS, 0.025);
        check_within(d.mean[i], s.mean[i], 4.5 * sqrt(d.variance[i] / N));
    }
    assert_true(d.variance[1] > 1.06 * s.variance[1] && d.variance[1] < 1.3 * s.variance[1]);
    base_arena_free(&arena);
}

/* Readings differ by mean: that of a reading's last frosts has the variance sd^2/n over the readings; and each reading's rows
 * of heat hold what it can draw. */
static void readings_differ(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, CLIMATE(DOUBT, ""));
    double sum = 0, squares = 0;
    for (int r = 0; r < PLAN_READINGS; r++) {
        const struct plan_weather *weather = &plan->reading[r]->weather;
        double middle = chance_draw(weather->last_frost, UINT64_C(1) << 63) - 70;
        double top = weather->first_warmth + weather->warmth_step * (weather->rows - 1);
        assert_true(chance_draw(weather->warmth, 0) >= weather->first_warmth - 1e-6);
        assert_true(chance_draw(weather->warmth, UINT64_MAX) <= top + 1e-6);
        sum += middle;
        squares += middle * middle;
    }
    check_within(sum / PLAN_READINGS, 0, 0.5);
    check_near(squares / PLAN_READINGS, 1600.0 / RECORDS, 0.06);
    base_arena_free(&arena);
}

/* A known last frost is the same in every reading, but how late it is is another: the score follows the reading's table. */
static void known_in_every_reading(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, CLIMATE(DOUBT, "this_season = { last_frost = \"06-19\"; };"
                                                " correlation = ( [ 1.0, 0.0, -0.5 ], [ 0.0, 1.0, 0.0 ], [ -0.5, 0.0, 1.0 ] );"));
    for (int r = 0; r < PLAN_READINGS; r++) {
        const struct plan_weather *weather = &plan->reading[r]->weather;
        double z = weather->this_season.part[0];
        check_within(chance_draw(weather->last_frost, chance_normal_word(plan->normal, z)), 110, 1);
    }
    struct moments m = drawn(plan, true);
    check_within(m.mean[0], 110, 1e-6);
    check_within(m.variance[0], 0, 1e-4);
    assert_true(m.mean[2] < drawn(plan, false).mean[2] - 0.3);
    base_arena_free(&arena);
}

/* Other luck for the weather leaves the readings as they are, and moves the draws. */
static void salted(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, CLIMATE(DOUBT, ""));
    struct plan *copy = plan_salted(&arena, plan, 1u << PLAN_WEATHER, -1, 5);
    struct season one, other;
    int alike = 0;
    assert_non_null(copy);
    for (uint64_t trial = 0; trial < 200; trial++) {
        const struct plan *a = plan_of_trial(plan, 3, trial), *b = plan_of_trial(copy, 3, trial);
        assert_ptr_equal(a->weather.last_frost, b->weather.last_frost);
        season_draw(a, chance_season_key(3, trial, 0), NULL, &one);
        season_draw(b, chance_season_key(3, trial, 0), NULL, &other);
        alike += one.last_frost == other.last_frost;
    }
    assert_true(alike < 20);
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(wider_by_so_many_records), cmocka_unit_test(readings_differ),
                                        cmocka_unit_test(known_in_every_reading), cmocka_unit_test(salted) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
