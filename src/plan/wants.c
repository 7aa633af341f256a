/* wants.c: what the household wants of its stores, by week of the year. */
#include "plan/internal.h"

static bool away(const struct scenario_household *household, int day)
{
    for (int i = 0; i < household->away_n; i++)
        if (scenario_in_window(&household->away[i], day))
            return true;
    return false;
}

static void find_runs(struct plan *plan)
{
    for (int week = 0; week < SCENARIO_WEEKS; week++) {
        int ahead = 0;
        while (ahead < SCENARIO_WEEKS && !plan->wanted[(week + ahead) % SCENARIO_WEEKS])
            ahead++;
        plan->weeks_to_want[week] = ahead;
    }
    plan->wanted_runs_n = 0;
    for (int week = 0; week < SCENARIO_WEEKS; week++) {
        plan->to_week[week] = chance_jump((uint64_t)week);
        if (!plan->wanted[week])
            continue;
        if (week == 0 || !plan->wanted[week - 1])
            plan->wanted_run[plan->wanted_runs_n++] = (struct plan_run){ .week = week };
        struct plan_run *run = &plan->wanted_run[plan->wanted_runs_n - 1];
        plan->run_of_week[week] = plan->wanted_runs_n - 1;
        run->n++;
    }
}

/* One week's, by absolute week. */
static struct plan_want want_of(const struct plan *plan, int week, bool guests)
{
    struct plan_want want = { .any = plan->wanted[week % SCENARIO_WEEKS] };
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        int of_year = week % SCENARIO_WEEKS;
        want.portions[food] = plan->portions[food][of_year] + (guests ? plan->guest_portions[food][of_year] : 0.0);
        want.kg[food] = want.portions[food] * plan->scenario->household.meal[food].portion_kg;
    }
    return want;
}

bool plan_make_wants(struct base_arena *arena, struct plan *plan)
{
    const struct scenario_household *household = &plan->scenario->household;
    plan->foods_apart = !household->ekes_out && !household->squash_stands_in;
    for (int week = 0; week < SCENARIO_WEEKS; week++) {
        plan->wanted[week] = false;
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            const struct scenario_meal *meal = &household->meal[food];
            bool open = !away(household, 7 * week) && (!meal->has_window || scenario_in_window(&meal->window, 7 * week));
            double meals = open ? meal->meals_per_week : 0.0;
            plan->portions[food][week] = household->eaters_portions * meals;
            plan->guest_portions[food][week] = household->guests_portions * meals;
            plan->wanted[week] |= plan->portions[food][week] > 0;
        }
    }
    find_runs(plan);
    for (int guests = 0; guests < 2; guests++) {
        struct plan_want *want = base_arena_array(arena, (size_t)plan->weeks, sizeof *want);
        for (int week = 0; want && week < plan->weeks; week++)
            want[week] = want_of(plan, week, guests);
        plan->want[guests] = want;
    }
    return plan->want[0] && plan->want[1];
}

double plan_expected_want_kg(const struct plan *plan, int food, int week)
{
    const struct scenario_household *household = &plan->scenario->household;
    return (plan->portions[food][week] + household->guests_chance * plan->guest_portions[food][week])
           * household->meal[food].portion_kg;
}
