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

static void eke_out(const struct plan *plan, const struct store *store, int week_of_year, double drying_kg,
                    struct plate *plate)
{
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        if (!plan->ekes[food][week_of_year] || plate->aim[food] <= 0)
            continue;
        double stock = food == SCENARIO_BEANS ? store->beans.kg + drying_kg : store_flesh_kg(plan, store);
        plate->aim[food] *= eke_scale(plan, food, week_of_year, stock);
    }
}

/* Serves up to `portions` of a food; returns the portions got. */
static double serve(const struct plan *plan, struct store *store, int food, int week, double portions,
                    struct store_books *books, struct kitchen_week *out)
{
    double portion_kg = plan->scenario->household.meal[food].portion_kg, want = portions * portion_kg;
    if (!(want > 0))
        return 0.0;
    double got = food == SCENARIO_BEANS ? store_take_beans(plan, store, want, books)
                                        : store_take_squash(plan, store, week, want, books);
    out->eaten_kg[food] += got;
    return got >= want ? portions : got / portion_kg;
}

/* Each food's gap is filled from the other: beans for squash first. */
static void stand_in(const struct plan *plan, struct store *store, int week, struct store_books books[SCENARIO_FOODS],
                     struct plate *plate, struct kitchen_week *out)
{
    const struct scenario_household *household = &plan->scenario->household;
    double squash_gap = plate->aim[SCENARIO_SQUASH] - plate->served[SCENARIO_SQUASH];
    double beans_gap = plate->aim[SCENARIO_BEANS] - plate->served[SCENARIO_BEANS];
    if (household->beans_stand_in && squash_gap > 0)
        plate->served[SCENARIO_SQUASH] += serve(plan, store, SCENARIO_BEANS, week, squash_gap, &books[SCENARIO_BEANS], out);
    if (household->squash_stands_in && beans_gap > 0)
        plate->served[SCENARIO_BEANS] += serve(plan, store, SCENARIO_SQUASH, week, beans_gap, &books[SCENARIO_SQUASH], out);
}

static bool book_short(const struct plan *plan, const struct plate *plate, struct kitchen_week *out)
{
    const struct scenario_household *household = &plan->scenario->household;
    bool any = false;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double wanted = out->wanted_portions[food], served = plate->served[food];
        if (!(served < wanted))
            continue;
        any = true;
        out->is_short[food] = served < (household->enough - 1e-9) * wanted;
        out->meals_short[food] = (1 - served / wanted) * household->meal[food].meals_per_week;
    }
    return any;
}

bool kitchen_serve(const struct plan *plan, struct store *store, int week, int of_year, bool guests, double drying_kg,
                   struct store_books books[SCENARIO_FOODS], struct kitchen_week *out)
{
    struct plate plate;
    bool met = true;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double portions = plan->portions[food][of_year];
        if (guests)
            portions += plan->guest_portions[food][of_year];
        plate.aim[food] = out->wanted_portions[food] = portions;
        out->wanted_kg[food] = portions * plan->scenario->household.meal[food].portion_kg;
        out->eaten_kg[food] = out->meals_short[food] = 0;
        out->is_short[food] = false;
    }
    if (plan->scenario->household.ekes_out)
        eke_out(plan, store, of_year, drying_kg, &plate);
    for (int food = SCENARIO_FOODS - 1; food >= 0; food--) {      /* squash, then beans */
        plate.served[food] = serve(plan, store, food, week, plate.aim[food], &books[food], out);
        met &= !(plate.served[food] < plate.aim[food]);
    }
    if (!met)
        stand_in(plan, store, week, books, &plate, out);
    return book_short(plan, &plate, out);
}
