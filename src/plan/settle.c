/* settle.c: what the usual weeks decide: eking out's tables, and what a stock-take means. */
#include "plan/internal.h"

/* From the week of the usual last arrival to the week before the next usual first one the want is scaled; need is
 * what is expected to be wanted from a week to the end of that stretch. */
static void settle_eking(struct plan *plan, int food)
{
    int first = plan->usual.first[food], last = plan->usual.last[food];
    int stretch = SCENARIO_WEEKS - (last - first);
    double need = 0;
    for (int week = 0; week < SCENARIO_WEEKS; week++)
        plan->ekes[food][week] = false;
    for (int back = 1; back <= stretch; back++) {
        int week = plan_week_of(first - back);
        need += plan_expected_want_kg(plan, food, week);
        plan->ekes[food][week] = true;
        plan->eke_need_kg[food][week] = need;
    }
}

static bool is_grown(const struct plan *plan, int food)
{
    bool grown = false;
    for (int p = 0; p < plan->plantings_n; p++)
        grown |= (plan->plantings[p].crop->kind == SCENARIO_KIND_BEANS) == (food == SCENARIO_BEANS);
    return grown;
}

enum base_result plan_settle(struct base_arena *arena, struct plan *plan, const struct plan_usual *usual,
                             struct base_complaints *complaints)
{
    const struct scenario_shelf *shelf = &plan->scenario->shelf;
    plan->usual = *usual;
    for (int food = 0; food < SCENARIO_FOODS; food++)
        if (plan->scenario->household.ekes_out && is_grown(plan, food))
            settle_eking(plan, food);
    if (shelf->has_as_of) {
        plan->stock_take = true;
        plan->count_week = plan_week(shelf->as_of);
        plan->season_under_way = plan->count_week >= usual->first_any;
    }
    int errors = complaints->errors;
    if (plan_make_shelf(arena, plan, complaints))
        return plan_make_points(arena, plan) && plan_make_readings(arena, plan) ? BASE_OK : BASE_FAILED;
    if (complaints->errors == errors)
        return BASE_FAILED;
    return BASE_WRONG;
}
