/* future.h: one trial: the week loop over its food years, and the ledger that must balance.
 * A trial is a pure function of (plan, random seed, trial number); nothing here knows of other trials. */
#ifndef TIDEOVER_FUTURE_H
#define TIDEOVER_FUTURE_H

#include "harvest/harvest.h"
#include "kitchen/kitchen.h"

enum { FUTURE_ANY = SCENARIO_FOODS, FUTURE_FOODS = SCENARIO_FOODS + 1 }; /* beans, squash, either of them */

/* What one food year came to. */
struct future_year {
    int first_week, weeks;                  /* absolute week in which it begins, and how many it has */
    int days;
    struct store_books books[SCENARIO_FOODS];
    int short_weeks[FUTURE_FOODS];
    double meals_short[FUTURE_FOODS];
    int first_short[FUTURE_FOODS];          /* absolute week; SCENARIO_NEVER */
    int jars_peak, fruits_peak;
    int last_frost_week, first_hard_frost_week; /* absolute, of the season that begins it; SCENARIO_NEVER: none */
};

/* Columns of weeks by food, a row for each absolute week with a place for each of the trials run side by side:
 * [week * PLAN_ABREAST + place]. A trial's weeks before its first and from its end on are 0. */
struct future_columns {
    double *stock_kg[SCENARIO_FOODS];       /* after meals */
    double *wanted_kg[SCENARIO_FOODS], *eaten_kg[SCENARIO_FOODS], *lost_kg[SCENARIO_FOODS];
    int32_t *count[SCENARIO_FOODS];         /* jars with something in them; whole fruits */
    uint8_t *is_short[FUTURE_FOODS];
};

/* A trial's ledger: years, and its place in the columns. */
struct future_ledger {
    int years_n, first_week, end_week;      /* weeks first_week .. end_week - 1 are of this trial */
    struct future_year *year;
    int stocked_end[SCENARIO_FOODS];        /* from here on all columns of the food but wanted_kg and is_short are 0 */
    struct future_columns at;               /* from its place on: week w stands at w * PLAN_ABREAST */
    bool balanced;                          /* every food year's books, to 1e-9 of what came in */
    double worst_imbalance;                 /* share of what came in */
};

/* Trials run abreast; all of their weeks are in first_week .. end_week - 1. */
struct future_block {
    int n, first_week, end_week;
    struct future_ledger ledger[PLAN_ABREAST];
    struct future_columns columns;
};

/* The week from which on no trial of a block has any of a food. */
int future_stocked_end(const struct future_block *block, int food);

/* A thread's workspace for trials of one plan. */
struct future_trial;

/* NULL when memory runs out. */
struct future_trial *future_room(struct base_arena *arena, const struct plan *plan);
/* Does a block's squash go side by side? Else trials are run one after the other. */
bool future_abreast_fits(const struct plan *plan);
/* Lets a workspace copy weather and harvests from another's where their plans (as plan_make made them, with as many plantings)
 * say the same of them, in blocks that the other has run just before. False when memory runs out. */
bool future_share(struct base_arena *arena, const struct plan *from_plan, struct future_trial *from, const struct plan *plan,
                  struct future_trial *trial);
/* Runs a trial on its own, or trials first .. first + n - 1 side by side (1 <= n <= PLAN_ABREAST): the same figures but for
 * last digits. Ledgers are the workspace's and last until the next run. */
const struct future_ledger *future_run(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                       uint64_t number);
const struct future_block *future_run_block(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                            uint64_t first, int n);

/* Turns the words that a plan's trials share out by the Sobol sequence towards the meals that each food is short of, by a pilot on
 * luck of its own. BASE_FAILED when memory runs out; nothing to do without such words. */
enum base_result future_turn_points(struct base_arena *arena, struct plan *plan);

struct future_season;
typedef void future_watch(void *context, const struct plan *plan, const struct future_season *season);

/* The usual weeks: medians over a pilot of 1,024 seasons on luck of its own that no random seed changes, without eking
 * out and replanting. BASE_FAILED when memory runs out. */
enum base_result future_pilot(const struct plan *plan, struct plan_usual *usual);

/* For the diary: what a trial's seasons were like. Called as each season is drawn; may be NULL. */
struct future_season {
    int season;
    const struct season *weather;
    const struct harvest *harvest;          /* [plantings], see harvest.h */
    const double *count;                    /* [plantings] units put out */
};
void future_set_watch(struct future_trial *trial, future_watch *watch, void *context);

/* Grows season 0 of trials 0 .. n-1, no more, and shows each to `watch`. */
void future_sample_seasons(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, int n,
                           future_watch *watch, void *context);

#endif
