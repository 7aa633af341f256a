/* beans_abreast.h: beans of trials side by side, once their squash has been eaten. */
#ifndef TIDEOVER_FUTURE_BEANS_ABREAST_H
#define TIDEOVER_FUTURE_BEANS_ABREAST_H

#include "future/internal.h"
#include "store/beans_abreast.h"

/* Pickings of a planting. */
struct future_pickings {
    const struct harvest_picked *of;
    struct store_side seed_due_kg;
    int first, last;                        /* weeks in which something may come: none if first is after last */
};

/* A week at the table. */
struct future_table { struct store_side wanted[SCENARIO_FOODS], served[SCENARIO_FOODS], gap_kg; };

struct future_beans {
    struct store_beans_abreast store;
    struct store_side first, end;           /* weeks of the trials */
    struct store_side in, seed, sorted_out, lost_while_wanted; /* books */
    struct store_side stocked_end, jars_peak;
    struct store_side short_weeks[FUTURE_FOODS], meals_short[FUTURE_FOODS], first_short[FUTURE_FOODS];
    struct future_pickings *pickings;       /* [plan->beans_n] */
    const double *guests;                   /* [week * PLAN_ABREAST + trial] 1 if there are any; 0 where nothing is wanted */
};

/* Weeks of n trials' food years, [n] each; all are in from .. until - 1. */
struct future_span { const int *first, *spring, *end; int n, from, until; };

/* What each trial wants in a week that is in its food year, without guests or with some: a sum instead of a choice, which GCC
 * makes one after the other (x * 1 + y * 0 is x). */
BASE_PART void future_want_in_week(const double *first, const double *end, double week, const double *guests, double alone,
                                   double together, double *want)
{
    BASE_SIDE_BY_SIDE(i)
        want[i] = alone * (1 - guests[i]) + together * guests[i];
    BASE_SIDE_BY_SIDE(i)
        want[i] = ((week >= first[i]) & (week < end[i])) ? want[i] : 0.0;
}

/* Workspace; false when memory runs out. */
bool future_beans_room(struct base_arena *arena, const struct plan *plan, struct future_beans *beans);
/* Lives the beans of the trials' food years; the columns hold what squash was wanted and eaten. Returns bits of the trials
 * that must be run on their own: seed was still due when it was settled, and that changes what is in the jars or put out. */
unsigned future_live_beans_abreast(const struct plan *plan, struct future_beans *beans, const struct harvest_picked *picked,
                                   const uint64_t *season_key, const double *guests, const struct future_span *span,
                                   const struct future_columns *columns);
/* What one trial's year came to; the field is not of it, nor what is left. */
void future_book_beans(const struct future_beans *beans, int trial, struct future_year *year);

#endif
