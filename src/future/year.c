/* year.c: a food year in the ledger: opened, its frosts, closed with balanced books. */
#include "future/internal.h"

#include <math.h>

double future_imbalance(const struct store_books *books)
{
    double came = books->opening + books->in;
    double went = books->eaten + books->dried_away + books->trimmed + books->lost + books->given_away
                  + books->thrown_out + books->seed + books->left;
    return came > 0 ? fabs(came - went) / came : fabs(went);
}

void future_open_year(struct future_year *year, int week, int jars, int fruits)
{
    *year = (struct future_year){ .first_week = week, .jars_peak = jars, .fruits_peak = fruits,
                                  .first_short = { SCENARIO_NEVER, SCENARIO_NEVER, SCENARIO_NEVER },
                                  .last_frost_week = SCENARIO_NEVER, .first_hard_frost_week = SCENARIO_NEVER };
}

void future_note_frosts(int season, int last_frost, int first_hard_frost, struct future_year *year)
{
    int start = SCENARIO_WEEKS * season;
    year->last_frost_week = start + plan_week(last_frost);
    year->first_hard_frost_week = first_hard_frost < SCENARIO_DAYS ? start + plan_week(first_hard_frost) : SCENARIO_NEVER;
}

void future_close_year(struct future_ledger *ledger, struct future_year *year, int week, double beans_kg, double squash_kg)
{
    year->weeks = week - year->first_week;
    year->days = 7 * year->weeks + plan_season_of(week) - plan_season_of(year->first_week);
    year->books[SCENARIO_BEANS].left = beans_kg;
    year->books[SCENARIO_SQUASH].left = squash_kg;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double imbalance = future_imbalance(&year->books[food]);
        ledger->balanced &= imbalance <= 1e-9;
        ledger->worst_imbalance = imbalance > ledger->worst_imbalance ? imbalance : ledger->worst_imbalance;
    }
}
