/* internal.h: what the files of the room "tally" share among themselves. */
#ifndef TIDEOVER_TALLY_INTERNAL_H
#define TIDEOVER_TALLY_INTERNAL_H

#include "tally/tally.h"

/* A quantity whose quantiles are wanted: a histogram, or in small runs every trial's value. Cell 0 (zero) is not
 * counted: it is what is left of the trials. No cell beyond the highest counts anything (NULL: any may). */
enum { TALLY_ROW = TALLY_CELLS + 1,     /* cells of a histogram, never's included */
       TALLY_EXACT_TRIALS = 2048 };     /* runs of at most so many keep every value */
struct tally_quantity { enum tally_cells kind; int stride; uint32_t *cells; double *values; int32_t *highest; };
/* Many quantities' cells stand in tiles of 16, cell by cell: in weeks in which little changes neighbours are counted in one
 * line of the cache. */
enum { TALLY_TILE = 16 };
static inline size_t tally_tiled(size_t quantity, size_t cell)
{
    return (quantity / TALLY_TILE * TALLY_ROW + cell) * TALLY_TILE + quantity % TALLY_TILE;
}
static inline size_t tally_cells_of(size_t quantities)
{
    return (quantities + TALLY_TILE - 1) / TALLY_TILE * TALLY_TILE * TALLY_ROW;
}

struct tally_of_measure { struct tally_sum sum; int64_t happened; struct tally_quantity quantity; };

/* A figure of a food year that is kept: which one, of which food, and where it stands in struct future_year. */
struct tally_line { const struct tally_measure *measure; int food; enum tally_where where; int at; };

/* What is kept of every food year, in the order in which it is read: kilograms and the like with quantiles, those with a
 * mean only, the rest. */
struct tally_lines { int n, cells_n, means_n; struct tally_line *line; int *of; /* [measure * FUTURE_FOODS + food] */ };

struct tally_of_year {
    struct tally_of_measure *line;      /* as tally_lines */
    int64_t *begins;                    /* [weeks] trials in which it begins there */
    tally_wide *replicate;              /* [line * CHANCE_REPLICATES + replicate] sums of quanta, or counts; NULL: trials are
                                           independent */
};

/* Columns of the weekly table that have means. */
enum tally_column { TALLY_STOCK, TALLY_WANTED, TALLY_EATEN, TALLY_LOST, TALLY_COLUMNS };

/* Weeks as columns. Recent trials are summed in narrow integers, each place of a block on its own, which vector instructions
 * add; now and then they are poured into wide ones. */
struct tally_weeks {
    int n, recent_blocks;
    int64_t *recent[SCENARIO_FOODS][TALLY_COLUMNS]; /* [week * PLAN_ABREAST + place] */
    uint16_t *recent_shorts[FUTURE_FOODS];
    tally_wide *sum[SCENARIO_FOODS][TALLY_COLUMNS];
    int64_t *shorts[FUTURE_FOODS];
    /* steps up and down, whose running sums are the trials that cover a week, and those short by then */
    int64_t *cover_step, *by_now_step[FUTURE_FOODS];
    struct tally_quantity *stock_kg[SCENARIO_FOODS], *count[SCENARIO_FOODS];
    uint32_t *stock_cells[SCENARIO_FOODS], *count_cells[SCENARIO_FOODS]; /* the same cells, [tally_tiled(week, cell)] */
    int32_t stock_highest[SCENARIO_FOODS], count_highest[SCENARIO_FOODS]; /* no cell beyond counts anything */
    size_t *row;                        /* [n] tally_tiled(week, 0) */
    int32_t *cell;                      /* [n * PLAN_ABREAST] scratch */
};

struct tally_shared { int64_t trials; double *values; };

struct tally {
    int64_t trials, unbalanced, short_ever[FUTURE_FOODS];
    enum scenario_sampling sampling;
    int64_t replicate_trials[CHANCE_REPLICATES];               /* unless independent */
    tally_wide replicate_ever[FUTURE_FOODS * CHANCE_REPLICATES];
    int years_n;
    int64_t exact;                      /* trials whose values are kept; 0: histograms */
    struct tally_lines lines;
    struct tally_of_year *year;
    double *value;                      /* [lines * PLAN_ABREAST] scratch */
    int64_t *quanta;
    int32_t *cell;
    struct tally_weeks weeks;
};

/* Room for a quantity, or for n of a kind in tiles: cells of their own, or the next rows of the values that all threads
 * share. */
bool tally_make_quantity(struct base_arena *arena, struct tally_shared *shared, size_t *next, enum tally_cells kind,
                         struct tally_quantity *quantity);
bool tally_make_quantities(struct base_arena *arena, struct tally_shared *shared, size_t *next, enum tally_cells kind,
                           size_t n, int32_t *highest, struct tally_quantity *quantities);
void tally_add_quantity(struct tally_quantity *quantity, double value, int64_t place);
void tally_merge_cells(uint32_t *restrict into, const uint32_t *restrict from, size_t n);

/* n trials' values in their order (small runs: those without one are below all others and left out). No allocation here could
 * fail without a word. */
struct tally_ranked {
    enum tally_cells kind;
    int64_t n, values;                  /* values: of `sorted`; 0: histogram */
    union { int64_t up_to[TALLY_ROW]; double sorted[TALLY_EXACT_TRIALS]; };
};
void tally_rank(const struct tally *tally, const struct tally_quantity *quantity, int64_t n, struct tally_ranked *ranked);
double tally_ranked_at(const struct tally_ranked *ranked, int64_t rank);
double tally_ranked_quantile(const struct tally_ranked *ranked, double p);

bool tally_make_years(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      struct tally *tally);
void tally_add_years(struct tally *tally, const struct plan *plan, int y, const struct future_block *block, int64_t place);
void tally_merge_year(struct tally *into, const struct tally *from, int y);

/* Room for what replicates come to, where trials share words out; the years are made. */
bool tally_make_replicates(struct base_arena *arena, const struct plan *plan, struct tally *tally);
/* Adds a food year of a block, whose first trial's number is given; the year's figures have just been added. */
void tally_add_replicates(struct tally *tally, int y, const struct future_block *block, uint64_t number);
void tally_merge_replicates(struct tally *into, const struct tally *from);
/* Turns the figure of independent trials into that of the replicates: a mean's, a chance's that `happened` so often. */
void tally_replicates_mean(const struct tally *tally, const tally_wide *replicate, struct tally_figure *figure);
void tally_replicates_chance(const struct tally *tally, int64_t happened, const tally_wide *replicate, struct tally_figure *figure);

bool tally_make_weeks(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      struct tally_weeks *weeks);
void tally_add_weeks(struct tally_weeks *weeks, const struct future_block *block, int64_t place, bool exact);
/* Pours what is recent; needed before reading and merging. */
void tally_pour_weeks(struct tally_weeks *weeks);
void tally_merge_weeks(struct tally_weeks *into, struct tally_weeks *from);

#endif
