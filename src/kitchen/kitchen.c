/* kitchen.c: eking out, stand-ins, what is short. */
#include "kitchen/kitchen.h"

static double eke_scale(const struct plan *plan, int food, int week_of_year, double stock_kg)
{
    double least = plan->scenario->household.eke_least, need = plan->eke_need_kg[food][week_of_year];
    double scale = need > 0 ? stock_kg / need : 1.0;
    scale = scale < 1 ? scale : 1.0;
    return scale > least ? scale : least;
}

/* What is aimed at when eking out. */
static struct plan_want eke_out(const struct plan *plan, const struct store *store, const struct plan_want *want,
                                int week_of_year, double drying_kg)
{
    struct plan_want aim = *want;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        if (!plan->ekes[food][week_of_year] || aim.portions[food] <= 0)
            continue;
        double stock = food == SCENARIO_BEANS ? store->beans.kg + drying_kg : store_flesh_kg(store);
        aim.portions[food] *= eke_scale(plan, food, week_of_year, stock);
        aim.kg[food] = aim.portions[food] * plan->scenario->household.meal[food].portion_kg;
    }
    return aim;
}

/* Portions that `got` makes of those wanted. */
static double portions_of(const struct plan *plan, int food, double got_kg, double want_kg, double portions)
{
    return got_kg >= want_kg ? portions : got_kg / plan->scenario->household.meal[food].portion_kg;
}

static double take(const struct plan *plan, struct store *store, int food, int week, double want_kg,
                   struct store_books books[SCENARIO_FOODS])
{
    if (!(want_kg > 0))
        return 0.0;
    return food == SCENARIO_BEANS ? store_take_beans(plan, store, want_kg, &books[food])
                                  : store_take_squash(plan, store, week, want_kg, &books[food]);
}

/* Fills another food's gap of so many portions; returns the portions got. */
static double fill_gap(const struct plan *plan, struct store *store, int food, int week, double portions,
                       struct store_books books[SCENARIO_FOODS], struct kitchen_week *table)
{
    double want_kg = portions * plan->scenario->household.meal[food].portion_kg;
    double got_kg = take(plan, store, food, week, want_kg, books);
    table->eaten_kg[food] += got_kg;
    return portions_of(plan, food, got_kg, want_kg, portions);
}

static bool book_short(const struct plan *plan, const double served[SCENARIO_FOODS], struct kitchen_week *table)
{
    const struct scenario_household *household = &plan->scenario->household;
    bool any = false;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double wanted = table->wanted_portions[food];
        bool falls_short = served[food] < wanted;
        table->is_short[food] = falls_short && served[food] < (household->enough - 1e-9) * wanted;
        table->meals_short[food] = falls_short ? (1 - served[food] / wanted) * household->meal[food].meals_per_week : 0.0;
        any |= falls_short;
    }
    return any;
}

bool kitchen_make_do(const struct plan *plan, struct store *store, int week, const struct plan_want *aim,
                     struct store_books books[SCENARIO_FOODS], struct kitchen_week *table)
{
    const struct scenario_household *household = &plan->scenario->household;
    double served[SCENARIO_FOODS], gap[SCENARIO_FOODS];
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        served[food] = portions_of(plan, food, table->eaten_kg[food], aim->kg[food], aim->portions[food]);
        gap[food] = aim->portions[food] - served[food];
    }
    if (household->beans_stand_in && gap[SCENARIO_SQUASH] > 0)
        served[SCENARIO_SQUASH] += fill_gap(plan, store, SCENARIO_BEANS, week, gap[SCENARIO_SQUASH], books, table);
    if (household->squash_stands_in && gap[SCENARIO_BEANS] > 0)
        served[SCENARIO_BEANS] += fill_gap(plan, store, SCENARIO_SQUASH, week, gap[SCENARIO_BEANS], books, table);
    return book_short(plan, served, table);
}

bool kitchen_serve(const struct plan *plan, struct store *store, int week, const struct plan_want *want, double drying_kg,
                   struct store_books books[SCENARIO_FOODS], struct kitchen_week *table)
{
    struct plan_want aim = *want;
    if (plan->scenario->household.ekes_out)
        aim = eke_out(plan, store, want, plan_week_of(week), drying_kg);
    for (int food = SCENARIO_FOODS - 1; food >= 0; food--) {      /* squash, then beans */
        table->wanted_portions[food] = want->portions[food];
        table->wanted_kg[food] = want->kg[food];
        table->eaten_kg[food] = take(plan, store, food, week, aim.kg[food], books);
    }
    return kitchen_make_do(plan, store, week, &aim, books, table);
}
