/* internal.h: what the files of the room "store" share among themselves. */
#ifndef TIDEOVER_STORE_INTERNAL_H
#define TIDEOVER_STORE_INTERNAL_H

#include "store/store.h"

/* A fruit leaves the shelf in `week`; returns its mass then. */
double store_leave_shelf(const struct plan *plan, struct store_squash *squash, int f, int week);
/* A dead fruit is opened in `week`: returns the flesh that is kept, books the rest as lost. */
double store_salvage(const struct plan *plan, struct store_squash *squash, int f, int week, struct store_books *books);
/* A fruit's flesh becomes cut flesh of this week. */
void store_cut_up(const struct plan *plan, struct store_squash *squash, int f, double flesh_kg);
/* 2^x for x <= 0 with + - * only, so that it is the same on every machine; relative error below 1e-13. */
double store_power_of_2(double x);

#endif
