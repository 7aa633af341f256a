/* internal.h: what the files of the room "store" share among themselves. */
#ifndef TIDEOVER_STORE_INTERNAL_H
#define TIDEOVER_STORE_INTERNAL_H

#include "store/store.h"

/* 2^x for x <= 0 with + - * only, so that it is the same on every machine; relative error below 1e-13. */
double store_power_of_2(double x);

/* The order of eating as one number: unripe, poorly cured, cured; eat_rank; worst place; earliest cut; planting. */
uint64_t store_order_key(const struct plan *plan, const struct plan_planting *of, int place, int cure, int cut_day);

/* A fruit leaves the shelf in the week that the store has come to; returns its mass then. */
static inline double store_leave_shelf(struct store_squash *squash, int f, struct store_books *books)
{
    struct store_batch *batch = &squash->batch[squash->batch_of[f]];
    double kg = squash->kg[f] * batch->now;
    squash->gone[f] = 1;
    books->dried_away += squash->kg[f] * (batch->since - batch->now);
    batch->n--;
    batch->kg = batch->n > 0 ? batch->kg - squash->kg[f] : 0.0; /* no dust of rounding on an empty shelf */
    squash->whole_n--;
    squash->whole_kg = squash->whole_n > 0 ? squash->whole_kg - kg : 0.0;
    return kg;
}

/* A dead fruit is opened in `week`: what flesh is kept becomes cut flesh, the rest is booked as lost. */
void store_open_dead(const struct plan *plan, struct store_squash *squash, int f, int week, struct store_books *books);

#endif
