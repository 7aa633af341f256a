/* internal.h: what the files of the room "future" share among themselves. */
#ifndef TIDEOVER_FUTURE_INTERNAL_H
#define TIDEOVER_FUTURE_INTERNAL_H

#include "future/future.h"
#include "harvest/harvest.h"

/* Pickings of a planting in one season as they reach the jars, week by week. */
struct future_picking {
    int first, last;                        /* absolute weeks; first after last: nothing (more) comes */
    int start, heap, planting;              /* start: absolute week of arrives_kg[0] */
    const double *arrives_kg;
    double sorted_out;
};

/* A season of all plantings, from planting out until its last beans are dry. */
struct future_crop_year {
    int number;                             /* season; its weeks count from 52 * number */
    uint64_t key;
    struct season weather;
    struct harvest *harvest;                /* [plantings] */
    struct future_picking *picking;         /* [plan->beans_n] */
    double *count;                          /* [plantings] units put out */
    double *seed_due_kg;                    /* [plantings] still to be set aside */
    bool *seed_settled;
    int unsettled, settle_week;             /* plantings whose seed is not settled; no settling before this week */
    int first_week;                         /* absolute: first produce */
    int due[SCENARIO_FOODS], due_end[SCENARIO_FOODS]; /* absolute weeks between which something arrives or is settled */
};

/* What a workspace copies from another one's last block, whose plan has the same weather: year factors where all crops are the
 * same, harvests of the same plantings; and of first weeks those of the plantings that are common to all who copy from it, which
 * it keeps. `from` is NULL for one that copies nothing. */
struct future_share { struct future_trial *from; bool crops; const bool *planting; bool *common; };

struct future_trial {
    struct store store;
    struct future_block block;
    struct future_ledger *ledger;           /* this trial's, in the block */
    struct future_crop_year crop_year[2];   /* by parity of the season: a late one may reach into the next */
    double *year_factor;                    /* [crops] */
    double *next_count;                     /* [plantings] units that can be put out next season */
    uint64_t *point;                        /* [plan->points->n * PLAN_ABREAST] words of the season being drawn; NULL: none */
    double *score;                          /* [as many] scratch */
    struct future_abreast *abreast;         /* NULL: one trial after the other */
    struct future_share share;
    uint64_t random_seed, number;
    int next_due[SCENARIO_FOODS];           /* nothing of the food arrives before this week */
    int guests_until;                       /* absolute week before which `guests` is filled in */
    uint8_t *guests;                        /* [weeks] in weeks in which something is wanted: are there any? else 0 */
    future_watch *watch;
    void *watch_context;
};

/* The words of a season that n trials from `first` on share out, until the next are asked for; NULL: none. */
const uint64_t *future_points(const struct plan *plan, const struct future_trial *trial, int season, uint64_t first, int n);
/* Draws a season: weather, harvests, first and last weeks. */
void future_grow(const struct plan *plan, struct future_trial *trial, int season);
/* Begins a season that is drawn elsewhere: what is put out, its seed due. future_note_weeks is to follow once it is grown. */
void future_sow(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int number);
void future_note_weeks(const struct plan *plan, struct future_crop_year *season);
/* First week, absolute, in which a season brings produce (or would have), without growing it. */
int future_first_week(const struct plan *plan, const struct future_trial *trial, int season);
/* Brings in what arrives of a food in `week` of one season. */
void future_bring_squash(const struct plan *plan, struct future_trial *trial, const struct future_crop_year *season,
                         int week, struct store_books *books);
void future_bring_beans(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int week,
                        struct store_books *books);
/* Notes the first week from `week` in which something of a food may arrive. */
void future_note_due(struct future_trial *trial, int food, int week);
/* Lives the weeks from `week` to `until` of one food year. */
void future_live(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until);
/* Makes sure that the guests of all weeks before `until` are known. */
void future_expect_guests(const struct plan *plan, struct future_trial *trial, int until);
/* kg of beans picked by `week` that are still drying, after sorting. */
double future_drying_kg(const struct plan *plan, const struct future_trial *trial, int week);
/* Settles what seed is still due: from the jars, then bought or done without. */
void future_settle_seed(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int planting,
                        struct store_books *books);
/* How many of a planting's units the seed in hand covers: all of them without the spare, else whole units. */
double future_units_covered(const struct plan_planting *p, double missing_kg);
/* The same as future_settle_seed for every planting whose last picking has reached the jars by `week`, or would have. */
void future_settle_due(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int week,
                       struct store_books *books);
/* A stock-take: seed that earlier pickings gave is put by already; what came before the count is counted. */
void future_begin_under_way(const struct plan *plan, struct future_crop_year *season, int count_week);
/* A stock-take before the usual first produce: what a trial's season would have brought by then comes the week after. */
void future_put_off(const struct plan *plan, struct future_crop_year *season, int count_week);
/* What the field gave and lost, before the store. */
void future_book_field(const struct plan *plan, const struct future_crop_year *season, struct store_books *books);
/* Puts what the shelf holds into the store in `week`. */
void future_fill_shelf(const struct plan *plan, struct future_trial *trial, int week, struct store_books *books);
/* Of two weeks. */
static inline int future_earlier(int a, int b) { return a < b ? a : b; }
static inline int future_later(int a, int b) { return a > b ? a : b; }
/* Opens a food year in a week with so much in store; closes it, so much being left. */
void future_open_year(struct future_year *year, int week, int jars, int fruits);
void future_close_year(struct future_ledger *ledger, struct future_year *year, int week, double beans_kg, double squash_kg);
/* The frosts, by days, of the season whose produce begins a food year. */
void future_note_frosts(int season, int last_frost, int first_hard_frost, struct future_year *year);
/* Workspace for a season. */
bool future_season_room(struct base_arena *arena, const struct plan *plan, struct future_crop_year *season);
/* Runs the trial whose ledger is trial->ledger, on its own. */
void future_run_one(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t number);
/* Trials side by side (abreast.c), where future_abreast_fits. */
struct future_abreast *future_abreast_room(struct base_arena *arena, const struct plan *plan);
/* Runs n trials; returns bits of those that must be run on their own. */
unsigned future_run_abreast(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t first, int n);
/* Do the books of a year balance? Returns the imbalance as a share of what came in. */
double future_imbalance(const struct store_books *books);

#endif
