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
                           size_t n, int32_t *highest, struct tally_quantity *quantities)
{
    bool keeps = shared && shared->trials > 0;
    uint32_t *cells = keeps ? NULL : base_arena_array(arena, tally_cells_of(n), sizeof *cells);
    for (size_t i = 0; i < n; i++)
        quantities[i] = (struct tally_quantity){ .kind = kind, .stride = TALLY_TILE, .values = next_values(shared, next),
                                                 .cells = cells ? cells + tally_tiled(i, 0) : NULL, .highest = highest };
    return keeps || cells;
}

void tally_add_quantity(struct tally_quantity *quantity, double value, int64_t place)
{
    if (quantity->values)
        quantity->values[place] = value;
    else if (value != 0)
        quantity->cells[tally_cell(quantity->kind, value) * (size_t)quantity->stride]++;
}

/* Cells are mostly empty, and memory that was never written to is dear to touch: none is written to for nothing. */
void tally_merge_cells(uint32_t *restrict into, const uint32_t *restrict from, size_t n)
{
    for (size_t i = 0; into && i < n; i += TALLY_TILE) {
        size_t end = i + TALLY_TILE < n ? i + TALLY_TILE : n;
        uint32_t any = 0;
        for (size_t k = i; k < end; k++)
            any |= from[k];
        for (size_t k = i; any && k < end; k++)
            into[k] += from[k];
    }
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

void tally_rank(const struct tally *tally, const struct tally_quantity *quantity, int64_t n, struct tally_ranked *ranked)
{
    ranked->kind = quantity->kind;
    ranked->n = n;
    ranked->values = quantity->values ? tally->trials : 0;
    if (quantity->cells) {
        size_t highest = quantity->highest ? (size_t)*quantity->highest : TALLY_CELLS;
        tally_histogram_sum(quantity->cells, quantity->stride, highest, n, ranked->up_to);
        return;
    }
    memcpy(ranked->sorted, quantity->values, (size_t)ranked->values * sizeof *ranked->sorted);
    qsort(ranked->sorted, (size_t)ranked->values, sizeof *ranked->sorted, by_value);
}

double tally_ranked_at(const struct tally_ranked *ranked, int64_t rank)
{
    return ranked->values > 0 ? ranked->sorted[ranked->values - ranked->n + rank]
                              : tally_histogram_at(ranked->kind, ranked->up_to, rank);
}

double tally_ranked_quantile(const struct tally_ranked *ranked, double p)
{
    return tally_ranked_at(ranked, (int64_t)floor((double)(ranked->n - 1) * p + 1e-9));
}
