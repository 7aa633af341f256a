/* decide.h: paired differences, told apart or not, when to stop, which is enough. Knows measures, not the model. */
#ifndef TIDEOVER_DECIDE_H
#define TIDEOVER_DECIDE_H

#include "tally/tally.h"

/* ---- what is compared ------------------------------------------------------------------------------- */

/* A figure that has one value a trial: a measure of a food in a food year (TALLY_ALL_YEARS: short in any of them). */
struct decide_item { int year, measure, food; };
struct decide_list { int n; struct decide_item *item; };

/* Every mean and chance of `years` food years. False when memory runs out. */
bool decide_list_make(struct base_arena *arena, int years, struct decide_list *list);
bool decide_is_chance(const struct decide_item *item);
/* +1: more is better, -1: less is better, 0: neither. */
int decide_better(const struct decide_item *item);
/* Index of a measure of a food in a year, -1 when there is none. */
int decide_find(const struct decide_list *list, int year, int measure, int food);
/* Values of all items of a block's trials, [item * PLAN_ABREAST + trial], 0 where there is no trial; chances are 0 or 1. */
void decide_values(const struct decide_list *list, const struct plan *plan, const struct future_block *block, double *value);

/* ---- sums over trials ---------------------------------------------------------------------------------- */

struct decide_sums { struct tally_sum *sum; };                  /* [list.n]; for chances the sum of zeros and ones */
/* Of the differences other - base, trial by trial: sums, and how many turned up (0 to 1) and down (1 to 0). */
struct decide_pairs { struct tally_sum *difference; int64_t *up, *down; };

bool decide_sums_make(struct base_arena *arena, const struct decide_list *list, struct decide_sums *sums);
bool decide_pairs_make(struct base_arena *arena, const struct decide_list *list, struct decide_pairs *pairs);
/* Values as decide_values gives them. */
void decide_add(const struct decide_list *list, struct decide_sums *sums, const double *value);
void decide_add_pair(const struct decide_list *list, struct decide_pairs *pairs, const double *base, const double *other);
void decide_sums_merge(const struct decide_list *list, struct decide_sums *into, const struct decide_sums *from);
void decide_pairs_merge(const struct decide_list *list, struct decide_pairs *into, const struct decide_pairs *from);

/* ---- figures --------------------------------------------------------------------------------------------- */

struct decide_figure { double value, std_error, low, high; };
/* Value of item i over n trials; interval at confidence 1 - alpha (chances: Wilson). */
struct decide_figure decide_value(const struct decide_list *list, const struct decide_sums *sums, int i, int64_t n,
                                  double alpha);

struct decide_difference {
    double value, std_error, low, high;
    int64_t up, down;
    double correlation;                 /* of the two scenarios' values over trials; NAN when one does not vary */
    double variance_ratio;              /* variance of an independent comparison / of this one; infinite: no difference */
    double p;                           /* of "no difference": exact and conditional for chances, normal for means */
};
/* Difference other - base of item i over n trials, at confidence 1 - alpha. Chances: Agresti & Min 2005 (Statistics in
 * Medicine 24:729-740), means: normal. */
struct decide_difference decide_difference(const struct decide_list *list, const struct decide_sums *base,
                                           const struct decide_sums *other, const struct decide_pairs *pairs, int i,
                                           int64_t n, double alpha);

/* ---- verdicts --------------------------------------------------------------------------------------------- */

enum decide_verdict { DECIDE_SAME, DECIDE_BETTER, DECIDE_WORSE, DECIDE_MORE, DECIDE_LESS, DECIDE_NOT_WORTH, DECIDE_OPEN };
const char *decide_words(enum decide_verdict verdict);

/* Exact conditional test of zeros and ones: of up + down trials that turned, each turned either way with chance 1/2
 * (McNemar's test, exact). Two-sided p. */
double decide_turned_p(int64_t up, int64_t down);
/* Verdict on a difference at level alpha: told apart, or within `worth` on both sides, or open. */
enum decide_verdict decide_judge(const struct decide_list *list, int i, const struct decide_difference *difference,
                                 int64_t n, double worth, double alpha);
/* What a difference must be to be worth telling, when nothing is said: 1 point of chance, a tenth of a week, ... */
double decide_default_worth(const struct decide_item *item);
/* Level of look number `look` (from 1), so that any number of looks spends at most alpha: alpha / (look (look + 1)). */
double decide_spend(double alpha, int look);

/* Ranking and selection under common random numbers for one pair: Kim & Nelson 2001 (ACM TOMACS 11:251-273), fully
 * sequential, on batch means. First stage: the differences' batch means; then the sum so far. */
struct decide_kn { double h2_s2, worth; int first; };
struct decide_kn decide_kn_begin(const double *batch_mean, int batches, double worth, double alpha);
/* Verdict after r batches with the mean difference so far. +1 or -1: told apart in that direction; 0: go on; 2: the
 * procedure has ended within worth. */
int decide_kn_look(const struct decide_kn *kn, double mean, int r);

/* ---- sizing --------------------------------------------------------------------------------------------------- */

enum decide_size { DECIDE_MEETS, DECIDE_FAILS, DECIDE_UNDECIDED };
/* Exact one-sided bounds of a chance (Clopper & Pearson 1934, Biometrika 26:404-413). */
double decide_upper_bound(int64_t k, int64_t n, double alpha);
double decide_lower_bound(int64_t k, int64_t n, double alpha);
/* Is a chance seen k times in n at or under the risk? Each of the two answers is wrong with a chance of at most alpha. */
enum decide_size decide_size(int64_t k, int64_t n, double risk, double alpha);

/* ---- precision --------------------------------------------------------------------------------------------------- */

/* Trials to have run before the next look, given those run so far and the half width that they gave; never less than
 * a tenth more, never more than `most`. */
int64_t decide_next_trials(int64_t so_far, double half_width, double wanted, int64_t most);

#endif
