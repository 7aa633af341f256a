/* tally.h: accumulators over trials that merge exactly: any split over threads, parts or time gives the same bytes.
 * Sums are of values quantised to 2^-20 in 128-bit integers; quantiles are of histograms, or of the values
 * themselves in small runs. */
#ifndef TIDEOVER_TALLY_H
#define TIDEOVER_TALLY_H

#include "future/future.h"

__extension__ typedef __int128 tally_wide;
__extension__ typedef unsigned __int128 tally_wide_positive;

/* ---- sums ------------------------------------------------------------------------------------ */

struct tally_sum { tally_wide sum; tally_wide_positive square; };
void tally_sum_add(struct tally_sum *sum, double value);
/* Whole multiples of 2^-20 that stand for n values, to nearest (halves to even), cut off at 2^28 kg. And adds one. */
void tally_quanta(const double *restrict value, int n, int64_t *restrict quanta);
static inline void tally_sum_add_quanta(struct tally_sum *sum, int64_t quanta)
{
    sum->sum += quanta;
    sum->square += (tally_wide_positive)((tally_wide)quanta * quanta);
}
/* The same for a block of trials: their values' quanta; their values (0 where there is no trial). */
void tally_sum_add_row(struct tally_sum *sum, const int64_t quanta[PLAN_ABREAST]);
void tally_sum_add_block(struct tally_sum *sum, const double value[PLAN_ABREAST]);
void tally_sum_merge(struct tally_sum *into, const struct tally_sum *from);
/* Mean and standard error of the mean over n values (n >= 2 for the error, else 0). */
double tally_sum_mean(const struct tally_sum *sum, int64_t n);
double tally_sum_error(const struct tally_sum *sum, int64_t n);
double tally_sum_sd(const struct tally_sum *sum, int64_t n);

/* ---- intervals -------------------------------------------------------------------------------- */

/* Wilson's score interval for k of n at two-sided confidence 1 - alpha (Wilson 1927, JASA 22:209-212). */
void tally_wilson(int64_t k, int64_t n, double alpha, double *low, double *high);
/* Two-sided normal quantile: z with P(|Z| > z) = alpha. */
double tally_z(double alpha);

/* ---- doubt about the settings ------------------------------------------------------------------ */

/* Trials by the reading of the settings that they had (plan_reading_of), and how many of them ran short of either food in any
 * of their food years. Zero-initialise. */
struct tally_doubt { int64_t n[PLAN_READINGS], shorts[PLAN_READINGS]; };
void tally_doubt_add(struct tally_doubt *doubt, const struct plan *plan, const struct future_ledger *ledger,
                     uint64_t number);
void tally_doubt_merge(struct tally_doubt *into, const struct tally_doubt *from);
/* Standard deviation of the chance of running short over the readings, and its variance's share of that of whether a trial
 * runs short: components of variance of a one-way layout (Searle, Casella & McCulloch 1992, "Variance Components", ch. 3),
 * not below 0. False when there are fewer than two trials a reading. */
bool tally_doubt_figures(const struct tally_doubt *doubt, double *sd, double *share);

/* ---- histograms --------------------------------------------------------------------------------
 * Cells: whole numbers below 1,024 each have their own (TALLY_WHOLE); kilograms and the like have a cell for zero
 * and 128 a factor of two (TALLY_SCALED), at most 0.8 % wide. "Never" is counted apart, later than any. */

enum tally_cells { TALLY_SCALED, TALLY_WHOLE };
enum { TALLY_CELLS = 4096, TALLY_NEVER_CELL = TALLY_CELLS, TALLY_WHOLE_CELLS = 1024 };

size_t tally_cell(enum tally_cells kind, double value);
/* The value that stands for a cell: its middle. */
double tally_cell_value(enum tally_cells kind, size_t cell);
/* How many of n values lie in each cell or below. Cells are `stride` apart, and empty beyond the highest. Cell 0 is not read:
 * the zeros are those of the n that no other cell has. */
void tally_histogram_sum(const uint32_t *cells, int stride, size_t highest, int64_t n, int64_t up_to[TALLY_CELLS + 1]);
/* The value at a rank (0 the lowest); HUGE_VAL when it is never. */
double tally_histogram_at(enum tally_cells kind, const int64_t *up_to, int64_t rank);
/* Cells of n values of kind TALLY_SCALED, none of them negative. */
void tally_scaled_cells(const double *restrict value, int n, int32_t *restrict cell);

/* ---- measures ----------------------------------------------------------------------------------- */

enum tally_quantiles { TALLY_NO_QUANTILES, TALLY_10_50_90, TALLY_50_90_95, TALLY_50_95 };

/* Where a trial's food year has a figure, so that whole blocks of them are read without a call: by the measure's function only;
 * in a food's books; an array of numbers, of whole numbers or of weeks (SCENARIO_NEVER: never) by food; one whole number or
 * week; whether so many weeks were short: more than `at`, or none where `at` is negative. */
enum tally_where { TALLY_BY_FUNCTION, TALLY_IN_BOOKS, TALLY_BY_FOOD, TALLY_WHOLE_BY_FOOD, TALLY_WEEK_BY_FOOD, TALLY_WHOLE_ONE,
                   TALLY_WEEK_ONE, TALLY_SHORT_WEEKS };

/* One line of the table of measures: what it is called, and how a trial's food year gives it. */
struct tally_measure {
    const char *name, *unit, *meaning;
    int better;                         /* +1: more is better for the household, -1: less is, 0: neither */
    unsigned foods;                     /* bits of SCENARIO_BEANS, SCENARIO_SQUASH, FUTURE_ANY */
    bool is_chance, has_mean, is_date;
    enum tally_quantiles quantiles;
    enum tally_cells cells;
    double (*value)(const struct plan *plan, const struct future_year *year, int food); /* HUGE_VAL: never */
    enum tally_where where;
    int at;                             /* offset: in struct store_books for lines of the books, else in struct future_year */
};
extern const struct tally_measure tally_measures[];
extern const int tally_measures_n;
/* A measure of every trial of a block in food year number `year`; 0 at places without a trial. */
void tally_values(const struct tally_measure *measure, int food, const struct plan *plan, int year,
                  const struct future_block *block, double value[PLAN_ABREAST]);
/* Index of a measure by name, -1 when there is none. */
int tally_find_measure(const char *name);
/* Probabilities of a set of quantiles; returns their number (at most 3). */
int tally_quantile_set(enum tally_quantiles set, const double **p);

/* ---- the tally ----------------------------------------------------------------------------------- */

struct tally;

enum { TALLY_ALL_YEARS = -1 };

/* For a run of `trials` in all; small runs keep every value (shared: all threads' tallies of one run must be given the
 * same `shared` from tally_share, or NULL to make histograms whatever the size). NULL when memory runs out. */
struct tally_shared;
struct tally_shared *tally_share(struct base_arena *arena, const struct plan *plan, int64_t trials);
struct tally *tally_make(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared);
/* Adds a block of trials; `number` is the first one's place in the run (used by small runs only). */
void tally_add(struct tally *tally, const struct plan *plan, const struct future_block *block, uint64_t number);
void tally_merge(struct tally *into, struct tally *from);

/* ---- tallies as bytes ------------------------------------------------------------------------------ */

/* Packs a tally of the run's trials first, first + 1 ... */
void tally_pack(struct tally *tally, int64_t first, struct base_packed *to);
/* Adds what was packed, at most `most_trials` trials from `first` on, to a tally of the same plan and run. False when the
 * bytes are no such tally, whatever they claim: then the tally is of no more use. */
bool tally_unpack(struct tally *tally, int64_t first, int64_t most_trials, struct base_unpacking *from);
void tally_doubt_pack(const struct tally_doubt *doubt, struct base_packed *to);
bool tally_doubt_unpack(struct tally_doubt *doubt, int64_t most_trials, struct base_unpacking *from);

/* One figure of the summary. Intervals of means and chances are those of independent trials (chances: Wilson), or where trials
 * share words out Student's over the means of CHANCE_REPLICATES replicates. */
struct tally_figure {
    double value, std_error, low, high; /* interval: 95 % */
    bool has_error, has_interval, never, is_week;
    int64_t trials;
    /* Where trials share words out: variance of as many independent trials over that of the replicates (95 % interval: that of
     * a variance of normal values). */
    bool has_gain;
    double gain, gain_low, gain_high;
};
int64_t tally_trials(const struct tally *tally);
int64_t tally_unbalanced(const struct tally *tally);
/* Figure of a measure: `which` is -1 for its mean (or chance), else the index into its quantile set. `year` may be
 * TALLY_ALL_YEARS for chances of being short. False when there is no such figure. */
bool tally_figure(const struct tally *tally, int year, int food, int measure, int which, struct tally_figure *figure);
/* Median over trials of the week in which a food year begins, absolute; what weeks of the food year count from. */
int tally_first_week(const struct tally *tally, int year);

/* One row of the weekly table. */
struct tally_week {
    int64_t trials;
    double stock_kg_mean, stock_kg_quantile[5]; /* 5, 25, 50, 75, 95 % */
    double count_p50, chance_short, chance_short_by_now, wanted_kg, eaten_kg, lost_kg;
};
/* First and one past the last absolute week that any trial's food years cover. */
void tally_weeks_range(const struct tally *tally, int *first, int *end);
/* Week's row for a food (FUTURE_ANY has the chances only); false when no trial covers it. */
bool tally_week(const struct tally *tally, int week, int food, struct tally_week *row);

#endif
