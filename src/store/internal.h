/* internal.h: what the files of the room "store" share among themselves. */
#ifndef TIDEOVER_STORE_INTERNAL_H
#define TIDEOVER_STORE_INTERNAL_H

#include "store/store.h"

/* 2^x for x <= 0 with + - * only, so that it is the same on every machine; relative error below 1e-13. */
double store_power_of_2(double x);

/* A fruit leaves the shelf in `week`; returns its mass then. */
static inline double store_leave_shelf(struct store_squash *squash, int f, int week)
{
    int number = squash->lot[f];
    const struct store_lot *lot = &squash->lots[number];
    struct store_planted *planted = &squash->planted[lot->of->among];
    double kg = squash->kg[f] * lot->of->mass_at_age[week - lot->ref_week];
    squash->group[3 * number + squash->cure[f]].left--;
    squash->cure[f] = STORE_GONE;
    squash->place_n[lot->place]--;
    planted->n--;
    planted->kg = planted->n > 0 ? planted->kg - kg : 0.0; /* no dust of rounding on an empty shelf */
    squash->whole_n--;
    squash->whole_kg = squash->whole_n > 0 ? squash->whole_kg - kg : 0.0;
    return kg;
}

/* Flesh of a crop becomes cut flesh of this week. */
static inline void store_cut_up(struct store_squash *squash, const struct scenario_crop *crop, double flesh_kg)
{
    struct store_cut *cut = &squash->cut[squash->cut_now];
    double share = cut->kg > 0 ? flesh_kg / (cut->kg + flesh_kg) : 1.0;
    squash->cut_weeks = squash->cut_slots;
    cut->kg += flesh_kg;
    cut->kcal_per_kg += share * (crop->kcal_per_kg - cut->kcal_per_kg);
    cut->protein_g_per_kg += share * (crop->protein_g_per_kg - cut->protein_g_per_kg);
}

/* A dead fruit is opened in `week`: what flesh is kept becomes cut flesh, the rest is booked as lost. */
static inline void store_open_dead(const struct plan *plan, struct store_squash *squash, int f, int week,
                                   struct store_books *books)
{
    const struct scenario_crop *crop = squash->lots[squash->lot[f]].of->crop;
    double lay = week - squash->end[f], kg = store_leave_shelf(squash, f, week);
    double share = lay <= 1 ? plan->scenario->store.salvage_share : store_power_of_2(lay * squash->salvage_log2);
    double kept = kg * crop->flesh_share * share;
    books->lost += kg - kept;
    store_cut_up(squash, crop, kept);
}

#endif
