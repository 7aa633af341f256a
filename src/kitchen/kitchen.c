/* kitchen.c: wants, eking out, serving, stand-ins. */
#include "kitchen/kitchen.h"

/* A week's plate: portions aimed at (scaled when eking out), and portions served of the food itself and in its stead. */
struct plate { double aim[SCENARIO_FOODS], served[SCENARIO_FOODS]; };

static double eke_scale(const struct plan *plan, int food, int week_of_year, double stock_kg)
{
    double least = plan->scenario->household.eke_least, need = plan->eke_need_kg[food][week_of_year];
    double scale = need > 0 ? stock_kg / need : 1.0;
    scale = scale < 1 ? scale : 1.0;
    return scale > least ? scale : least;
}

static void set_aims(const struct plan *plan, const struct store *store, int week_of_year, double drying_kg,
                     const struct kitchen_week *week, struct plate *plate)
{
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        plate->aim[food] = week->wanted_portions[food];
        plate->served[food] = 0;
        if (!plan->ekes[food][week_of_year] || plate->aim[food] <= 0)
            continue;
        double stock = food == SCENARIO_BEANS ? store->beans.kg + drying_kg : store_flesh_kg(plan, store);
        plate->aim[food] *= eke_scale(plan, food, week_of_year, stock);
    }
}

/* Serves up to `portions` of a food; returns the portions got. */
static double serve(const struct plan *plan, struct store *store, int food, int week, double portions,
                    struct store_books books[SCENARIO_FOODS])
{
    double portion_kg = plan->scenario->household.meal[food].portion_kg, want = portions * portion_kg;
    if (!(want > 0))
        return 0.0;
    double got = food == SCENARIO_BEANS ? store_take_beans(plan, store, want, &books[food])
                                        : store_take_squash(plan, store, week, want, &books[food]);
    return got >= want ? portions : got / portion_kg;
}

static void stand_in(const struct plan *plan, struct store *store, int stead, int week, const double gap[SCENARIO_FOODS],
                     struct store_books books[SCENARIO_FOODS], struct plate *plate)
{
    int other = stead == SCENARIO_BEANS ? SCENARIO_SQUASH : SCENARIO_BEANS;
    plate->served[other] += serve(plan, store, stead, week, gap[other], books);
}

static void book_week(const struct plan *plan, const struct plate *plate, struct kitchen_week *week)
{
    const struct scenario_household *household = &plan->scenario->household;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double wanted = week->wanted_portions[food], served = plate->served[food];
        if (!(wanted > 0))
            continue;
        week->is_short[food] = served < (household->enough - 1e-9) * wanted;
        double unmet = 1 - served / wanted;
        week->meals_short[food] = unmet > 0 ? unmet * household->meal[food].meals_per_week : 0.0;
    }
}

void kitchen_serve(const struct plan *plan, struct store *store, int week, int of_year, bool guests, double drying_kg,
                   struct store_books books[SCENARIO_FOODS], struct kitchen_week *out)
{
    const struct scenario_household *household = &plan->scenario->household;
    *out = (struct kitchen_week){ 0 };
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        out->wanted_portions[food] = plan->portions[food][of_year] + (guests ? plan->guest_portions[food][of_year] : 0);
        out->wanted_kg[food] = out->wanted_portions[food] * household->meal[food].portion_kg;
    }
    struct plate plate;
    set_aims(plan, store, of_year, drying_kg, out, &plate);
    plate.served[SCENARIO_SQUASH] = serve(plan, store, SCENARIO_SQUASH, week, plate.aim[SCENARIO_SQUASH], books);
    plate.served[SCENARIO_BEANS] = serve(plan, store, SCENARIO_BEANS, week, plate.aim[SCENARIO_BEANS], books);
    const double gap[SCENARIO_FOODS] = {
        [SCENARIO_BEANS] = plate.aim[SCENARIO_BEANS] - plate.served[SCENARIO_BEANS],
        [SCENARIO_SQUASH] = plate.aim[SCENARIO_SQUASH] - plate.served[SCENARIO_SQUASH],
    };
    if (household->beans_stand_in)
        stand_in(plan, store, SCENARIO_BEANS, week, gap, books, &plate);
    if (household->squash_stands_in)
        stand_in(plan, store, SCENARIO_SQUASH, week, gap, books, &plate);
    book_week(plan, &plate, out);
}
