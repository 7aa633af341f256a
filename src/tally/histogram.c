/* histogram.c: cells whose width follows the value. */
#include "tally/tally.h"

#include <math.h>
#include <string.h>

/* 7 bits of the mantissa and the exponent, taken from the number's own bits as a float. */
enum { DROPPED_BITS = 16, SCALED_FIRST = 2, WHOLE_FIRST = TALLY_WHOLE_CELLS };
static const float SCALED_LEAST = 0x1p-10f; /* smaller ones share a cell */

static int32_t bits_of(float value)
{
    int32_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits >> DROPPED_BITS;
}

static double value_of(int32_t bits)
{
    float value;
    bits *= 1 << DROPPED_BITS;
    memcpy(&value, &bits, sizeof value);
    return value;
}

size_t tally_cell(enum tally_cells kind, double value)
{
    if (!(value > 0))
        return 0;
    if (kind == TALLY_WHOLE && value < WHOLE_FIRST)
        return (size_t)(value + 0.5);
    if (kind == TALLY_SCALED && value < SCALED_LEAST)
        return 1;
    if (value == HUGE_VAL)
        return TALLY_NEVER_CELL;
    int32_t bits = bits_of((float)value);
    size_t cell = kind == TALLY_WHOLE ? (size_t)(WHOLE_FIRST + bits - bits_of(WHOLE_FIRST))
                                      : (size_t)(SCALED_FIRST + bits - bits_of(SCALED_LEAST));
    return cell < TALLY_CELLS ? cell : TALLY_CELLS - 1;
}

double tally_cell_value(enum tally_cells kind, size_t cell)
{
    if (cell == 0)
        return 0.0;
    if (kind == TALLY_WHOLE && cell < WHOLE_FIRST)
        return (double)cell;
    if (kind == TALLY_SCALED && cell < SCALED_FIRST)
        return SCALED_LEAST / 2;
    int32_t bits = kind == TALLY_WHOLE ? bits_of(WHOLE_FIRST) + (int32_t)cell - WHOLE_FIRST
                                       : bits_of(SCALED_LEAST) + (int32_t)cell - SCALED_FIRST;
    return (value_of(bits) + value_of(bits + 1)) / 2;
}

BASE_VECTOR void tally_scaled_cells(const double *restrict value, int n, int32_t *restrict cell)
{
    const int32_t first = 0x3a80 - SCALED_FIRST; /* bits_of(SCALED_LEAST) */
    for (int i = 0; i < n; i++) {
        float narrow = (float)value[i];
        int32_t bits;
        memcpy(&bits, &narrow, sizeof bits);
        int32_t at = (bits >> DROPPED_BITS) - first, small = bits > 0;
        at = at < SCALED_FIRST ? small : at;
        cell[i] = at < TALLY_CELLS ? at : TALLY_CELLS - 1;
    }
}

void tally_histogram_sum(const uint32_t *cells, int stride, size_t highest, int64_t n, int64_t up_to[TALLY_CELLS + 1])
{
    for (size_t cell = highest; cell <= TALLY_CELLS; cell++)
        up_to[cell] = n;
    for (size_t cell = highest; cell > 0; cell--)
        up_to[cell - 1] = n -= cells[cell * (size_t)stride];
}

double tally_histogram_at(enum tally_cells kind, const int64_t *up_to, int64_t rank)
{
    size_t low = 0, high = TALLY_NEVER_CELL;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (up_to[middle] > rank)
            high = middle;
        else
            low = middle + 1;
    }
    return low == TALLY_NEVER_CELL ? HUGE_VAL : tally_cell_value(kind, low);
}
