/* wants_test.c: weeks and seasons, and what is wanted in which week of the year. */
#include "unit/plan/planned.h"

#define ONE_BEAN PLANNED_CLIMATE \
    "crops = { bean = { kind = \"beans\"; unit_kg = 1.0; base_c = 8.0; heat_to_dry = 900.0; }; };" \
    "plantings = { row = { crop = \"bean\"; count = 1; plant_out = \"05-20\"; pick_until = \"10-20\"; }; };"

static void weeks_of_days(void **state)
{
    (void)state;
    for (int day = 0; day < 365; day++) {
        int week = plan_week(day);
        assert_true(week >= 0 && week < 52);
        assert_true(day < plan_week_end(week) && day >= 7 * week);
    }
    assert_int_equal(plan_week(364), 51);
    assert_int_equal(plan_week_end(51), 365);
    assert_int_equal(plan_week_end(0), 7);
    for (int week = -200; week < 200; week++) {
        assert_int_equal(52 * plan_season_of(week) + plan_week_of(week), week);
        assert_true(plan_week_of(week) >= 0 && plan_week_of(week) < 52);
    }
}

/* A window holds the weeks whose first day lies in it, both ends included, over the turn of the year too. */
static void windows(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    /* 1 March is day 0. Week 35 begins on 1 November (day 245), week 8 on 26 April (day 56), week 9 on 3
     * May. */
    struct plan *plan = planned(&arena,
        "household = { eaters = ( { count = 2; }, { count = 1; portion = 0.5; } ); guests = {"
        " chance = 0.25; portions = 4.0; };"
        " meals = { beans = { meals_per_week = 2.0; portion_kg = 0.1; from = \"11-01\"; until = \"04-26\"; };"
        "           squash = { meals_per_week = 3.0; portion_kg = 0.5; from = \"05-03\"; until = \"10-31\";"
        " }; };"
        " away = ( { from = \"12-25\"; until = \"01-02\"; }, { from = \"08-02\"; until = \"08-02\"; } );"
        " };" ONE_BEAN);
    for (int week = 0; week < 52; week++) {
        int day = 7 * week;
        bool away = (day >= 299 && day <= 307) || day == 154;   /* 25 December to 2 January; 2 August */
        bool beans = (day >= 245 || day <= 56) && !away, squash = day >= 63 && day <= 244 && !away;
        check_within(plan->portions[SCENARIO_BEANS][week], beans ? 5.0 : 0.0, 1e-15);
        check_within(plan->guest_portions[SCENARIO_BEANS][week], beans ? 8.0 : 0.0, 1e-15);
        check_within(plan->portions[SCENARIO_SQUASH][week], squash ? 7.5 : 0.0, 1e-15);
        assert_int_equal(plan->wanted[week], beans || squash);
    }
    assert_false(plan->wanted[154 / 7]);
    base_arena_free(&arena);
}

static void runs_of_weeks(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena,
        "household = { eaters = ( { count = 1; } ); meals = { beans = { meals_per_week = 1.0;"
        " portion_kg = 0.1;"
        " from = \"11-01\"; until = \"03-15\"; }; }; };" ONE_BEAN);
    for (int week = 0; week < 52; week++) {     /* weeks 35 to 51, and 0 to 2 */
        bool wanted = week >= 35 || week <= 2;
        assert_int_equal(plan->wanted[week], wanted);
        assert_int_equal(plan->weeks_to_want[week], wanted ? 0 : 35 - week);
        if (wanted) {
            const struct plan_run *run = &plan->wanted_run[plan->run_of_week[week]];
            assert_true(week >= run->week && week < run->week + run->n);
        }
    }
    assert_int_equal(plan->wanted_runs_n, 2);
    base_arena_free(&arena);
}

static void nothing_is_wanted_while_away(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena,
        "household = { eaters = ( { count = 1; } ); meals = { beans = { meals_per_week = 1.0;"
        " portion_kg = 0.1; }; };"
        " away = ( { from = \"01-01\"; until = \"12-31\"; } ); };" ONE_BEAN);
    for (int week = 0; week < 52; week++) {
        assert_false(plan->wanted[week]);
        assert_int_equal(plan->weeks_to_want[week], 52);
    }
    assert_int_equal(plan->wanted_runs_n, 0);
    base_arena_free(&arena);
}

/* A salted plan draws other luck for the purposes named, the same for the rest; salt 0 is the plan itself. */
static void salted(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS ONE_BEAN);
    struct plan *same = plan_salted(&arena, plan, 1u << PLAN_YIELD, 0, 0);
    struct plan *other = plan_salted(&arena, plan, 1u << PLAN_YIELD, 0, 1),
        *third = plan_salted(&arena, plan, 1u << PLAN_YIELD, 0, 2);
    assert_non_null(same);
    assert_non_null(other);
    assert_non_null(third);
    assert_true(same->plantings[0].yield_key == plan->plantings[0].yield_key);
    assert_true(other->plantings[0].yield_key != plan->plantings[0].yield_key);
    assert_true(third->plantings[0].yield_key != other->plantings[0].yield_key);
    assert_true(other->plantings[0].sorting_key == plan->plantings[0].sorting_key);
    assert_true(other->weather.key == plan->weather.key);
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(weeks_of_days), cmocka_unit_test(windows), cmocka_unit_test(runs_of_weeks),
        cmocka_unit_test(nothing_is_wanted_while_away), cmocka_unit_test(salted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
