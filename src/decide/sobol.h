/* sobol.h: what decides an outcome: Sobol indices of groups of draws, by the estimators of Jansen 1999 (Computer Physics
 * Communications 117:35-43) in the scheme of Saltelli et al. 2010 (Computer Physics Communications 181:259-270).
 * For each trial: the outcome under luck A, under luck B, and under A with group i's luck from B. */
#ifndef TIDEOVER_DECIDE_SOBOL_H
#define TIDEOVER_DECIDE_SOBOL_H

#include "tally/tally.h"

enum { DECIDE_BATCHES = 64 };           /* by trial number; their spread gives the intervals */

/* Sums that merge exactly. */
struct decide_sobol {
    int groups;
    int64_t trials[DECIDE_BATCHES];
    struct tally_sum a[DECIDE_BATCHES], b[DECIDE_BATCHES];
    struct tally_sum *first, *total;    /* [group * DECIDE_BATCHES + batch]: (f(B) - f(ABi))^2, (f(A) - f(ABi))^2 */
};

bool decide_sobol_make(struct base_arena *arena, int groups, struct decide_sobol *sobol);
/* Adds trial `number` of `trials`: f(A), f(B), f(ABi) for each group. */
void decide_sobol_add(struct decide_sobol *sobol, uint64_t number, uint64_t trials, double a, double b, const double *ab);
void decide_sobol_merge(struct decide_sobol *into, const struct decide_sobol *from);

struct decide_index { double value, low, high; }; /* 95 %, by the jackknife over batches */
/* Variance of the outcome; 0: nothing varies. */
double decide_sobol_variance(const struct decide_sobol *sobol);
/* First-order index of a group: the share of the variance that it decides alone. */
struct decide_index decide_sobol_first(const struct decide_sobol *sobol, int group);
/* Total index: the share that would remain if only it were not known. */
struct decide_index decide_sobol_total(const struct decide_sobol *sobol, int group);

#endif
