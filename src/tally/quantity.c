/* quantity.c: a quantity's distribution over trials: cells, or all values in small runs. */
#include "tally/internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The next row of the values that all threads share; NULL when this run has none. */
static double *next_values(struct tally_shared *shared, size_t *next)
{
    return shared && shared->trials > 0 ? shared->values + (*next)++ * (size_t)shared->trials : NULL;
}

bool tally_make_quantity(struct base_arena *arena, struct tally_shared *shared, size_t *next, enum tally_cells kind,
                         struct tally_quantity *quantity)
{
    *quantity = (struct tally_quantity){ .kind = kind, .stride = 1, .values = next_values(shared, next) };
    if (!quantity->values)
        quantity->cells = base_arena_array(arena, TALLY_ROW, sizeof *quantity->cells);
    return quantity->values || quantity->cells;
}

bool tally_make_quantities(struct base_arena *arena, struct tally_shared *shared, size_t *next, enum tally_cells kind,
                           size_t n, struct tally_quantity *quantities)
{
    bool keeps = shared && shared->trials > 0;
    uint32_t *cells = keeps ? NULL : base_arena_array(arena, tally_cells_of(n), sizeof *cells);
    for (size_t i = 0; i < n; i++)
        quantities[i] = (struct tally_quantity){ .kind = kind, .stride = TALLY_TILE, .values = next_values(shared, next),
                                                 .cells = cells ? cells + tally_tiled(i, 0) : NULL };
    return keeps || cells;
}

void tally_add_quantity(struct tally_quantity *quantity, double value, int64_t place)
{
    if (quantity->values)
        quantity->values[place] = value;
    else if (value != 0)
        quantity->cells[tally_cell(quantity->kind, value) * (size_t)quantity->stride]++;
}

void tally_merge_cells(uint32_t *restrict into, const uint32_t *restrict from, size_t n)
{
    for (size_t i = 0; into && i < n; i++)
        into[i] += from[i];
}

/* Value at a rank of a histogram. */
static double at_cells(const struct tally_quantity *quantity, int64_t n, int64_t rank)
{
    uint32_t row[TALLY_ROW];
    for (size_t cell = 0; cell < TALLY_ROW; cell++)
        row[cell] = quantity->cells[cell * (size_t)quantity->stride];
    return tally_histogram_at(quantity->kind, row, n, rank);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double tally_quantity_at(const struct tally *tally, const struct tally_quantity *quantity, int64_t n, int64_t rank)
{
    if (quantity->cells)
        return at_cells(quantity, n, rank);
    size_t all = (size_t)tally->trials;
    double sorted[TALLY_EXACT_TRIALS];       /* no allocation here could fail without a word */
    memcpy(sorted, quantity->values, all * sizeof *sorted);
    qsort(sorted, all, sizeof *sorted, by_value);
    return sorted[(int64_t)all - n + rank];
}

double tally_quantity_quantile(const struct tally *tally, const struct tally_quantity *quantity, int64_t n, double p)
{
    return tally_quantity_at(tally, quantity, n, (int64_t)floor((double)(n - 1) * p + 1e-9));
}
