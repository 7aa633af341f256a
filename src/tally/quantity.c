/* quantity.c: a quantity's distribution over trials: cells, or all values in small runs. */
#include "tally/internal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool tally_make_quantities(struct base_arena *arena, struct tally_shared *shared, size_t *next, enum tally_cells kind,
                           size_t n, struct tally_quantity *quantities)
{
    bool keeps = shared && shared->trials > 0;
    uint32_t *cells = keeps ? NULL : base_arena_array(arena, n * TALLY_ROW, sizeof *cells);
    for (size_t i = 0; i < n; i++) {
        quantities[i].kind = kind;
        if (keeps)
            quantities[i].values = shared->values + (*next)++ * (size_t)shared->trials;
        else if (cells)
            quantities[i].cells = cells + i * TALLY_ROW;
    }
    return keeps || cells;
}

void tally_add_quantity(struct tally_quantity *quantity, double value, int64_t place)
{
    if (quantity->values)
        quantity->values[place] = value;
    else if (value != 0)
        quantity->cells[tally_cell(quantity->kind, value)]++;
}

void tally_merge_quantity(struct tally_quantity *into, const struct tally_quantity *from)
{
    for (size_t cell = 0; into->cells && cell <= TALLY_CELLS; cell++)
        into->cells[cell] += from->cells[cell];
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double tally_quantity_at(const struct tally *tally, const struct tally_quantity *quantity, int64_t n, int64_t rank)
{
    if (quantity->cells)
        return tally_histogram_at(quantity->kind, quantity->cells, n, rank);
    size_t all = (size_t)tally->trials;
    double *sorted = base_alloc((all + 1) * sizeof *sorted);
    if (!sorted)
        return NAN;
    memcpy(sorted, quantity->values, all * sizeof *sorted);
    qsort(sorted, all, sizeof *sorted, by_value);
    double value = sorted[(int64_t)all - n + rank];
    base_free(sorted);
    return value;
}

double tally_quantity_quantile(const struct tally *tally, const struct tally_quantity *quantity, int64_t n, double p)
{
    return tally_quantity_at(tally, quantity, n, (int64_t)floor((double)(n - 1) * p + 1e-9));
}
