/* kitchen.h: what the household wants in a week, and what it gets from the store. */
#ifndef TIDEOVER_KITCHEN_H
#define TIDEOVER_KITCHEN_H

#include "store/store.h"

/* One week at the table, by food. */
struct kitchen_week {
    double wanted_portions[SCENARIO_FOODS];  /* unscaled, guests included */
    double wanted_kg[SCENARIO_FOODS], eaten_kg[SCENARIO_FOODS]; /* eaten: also in the other's stead */
    double meals_short[SCENARIO_FOODS];      /* household meals */
    bool is_short[SCENARIO_FOODS];
};

/* Serves week `week`, in which `want` is wanted: squash, then beans, then one in the other's stead.
 * `drying_kg` is what has been picked and sorted but not yet put up: eking out counts it. True if any meal was short. */
bool kitchen_serve(const struct plan *plan, struct store *store, int week, const struct plan_want *want, double drying_kg,
                   struct store_books books[SCENARIO_FOODS], struct kitchen_week *table);

/* The end of a week in which the foods have been taken already, `eaten_kg` of them where `aim` was aimed at: one stands in
 * for the other, beans for squash first, and what is short then is booked. True if any meal was. */
bool kitchen_make_do(const struct plan *plan, struct store *store, int week, const struct plan_want *aim,
                     struct store_books books[SCENARIO_FOODS], struct kitchen_week *table);

#endif
