/* doubt.c: which part of the spread is doubt about the settings. */
#include "tally/tally.h"

#include <math.h>

void tally_doubt_add(struct tally_doubt *doubt, const struct plan *plan, const struct future_ledger *ledger,
                     uint64_t number)
{
    int reading = plan_reading_of(plan, (uint64_t)plan->scenario->random_seed, number);
    bool is_short = false;
    for (int year = 0; year < ledger->years_n; year++)
        is_short |= ledger->year[year].short_weeks[FUTURE_ANY] > 0;
    doubt->n[reading]++;
    doubt->shorts[reading] += is_short;
}

void tally_doubt_merge(struct tally_doubt *into, const struct tally_doubt *from)
{
    for (int r = 0; r < PLAN_READINGS; r++) {
        into->n[r] += from->n[r];
        into->shorts[r] += from->shorts[r];
    }
}

bool tally_doubt_figures(const struct tally_doubt *doubt, double *sd, double *share)
{
    double n = 0, shorts = 0, squares = 0, between = 0, within = 0;
    for (int r = 0; r < PLAN_READINGS; r++) {
        if (doubt->n[r] < 2)
            return false;
        n += (double)doubt->n[r];
        shorts += (double)doubt->shorts[r];
        squares += (double)doubt->n[r] * (double)doubt->n[r];
    }
    double chance = shorts / n, usual = (n - squares / n) / (PLAN_READINGS - 1);
    for (int r = 0; r < PLAN_READINGS; r++) {
        double its = (double)doubt->shorts[r] / (double)doubt->n[r];
        between += (double)doubt->n[r] * (its - chance) * (its - chance) / (PLAN_READINGS - 1);
        within += (double)doubt->n[r] * its * (1 - its) / (n - PLAN_READINGS);
    }
    double variance = fmax(0, (between - within) / usual);
    *sd = sqrt(variance);
    *share = variance + within > 0 ? variance / (variance + within) : 0;
    return true;
}
