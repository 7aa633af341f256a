/* histogram.c: cells whose width follows the value. */
#include "tally/tally.h"

#include <math.h>
#include <string.h>

/* 7 bits of the mantissa and the exponent, taken from the number's own bits. */
enum { DROPPED_BITS = 45, SCALED_FIRST = 2, WHOLE_FIRST = TALLY_WHOLE_CELLS };
static const double SCALED_LEAST = 0x1p-10; /* smaller ones share a cell */

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits >> DROPPED_BITS;
}

static double value_of(uint64_t bits)
{
    double value;
    bits <<= DROPPED_BITS;
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
    size_t cell = kind == TALLY_WHOLE ? WHOLE_FIRST + (size_t)(bits_of(value) - bits_of(WHOLE_FIRST))
                                      : SCALED_FIRST + (size_t)(bits_of(value) - bits_of(SCALED_LEAST));
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
    uint64_t bits = kind == TALLY_WHOLE ? bits_of(WHOLE_FIRST) + (cell - WHOLE_FIRST)
                                        : bits_of(SCALED_LEAST) + (cell - SCALED_FIRST);
    return (value_of(bits) + value_of(bits + 1)) / 2;
}

BASE_VECTOR void tally_scaled_cells(const double *restrict value, int n, uint16_t *restrict cell)
{
    const int64_t first = (int64_t)bits_of(SCALED_LEAST) - SCALED_FIRST;
    for (int i = 0; i < n; i++) {
        int64_t bits;
        memcpy(&bits, &value[i], sizeof bits);
        int64_t at = (bits >> DROPPED_BITS) - first;
        at = at < SCALED_FIRST ? value[i] > 0 : at;
        cell[i] = (uint16_t)(at < TALLY_CELLS ? at : TALLY_CELLS - 1);
    }
}

double tally_histogram_at(enum tally_cells kind, const uint32_t *cells, int64_t n, int64_t rank)
{
    int64_t before = n;
    for (size_t cell = 1; cell <= TALLY_CELLS; cell++)
        before -= cells[cell];
    if (before > rank)
        return 0.0;
    for (size_t cell = 1; cell < TALLY_CELLS; cell++) {
        before += cells[cell];
        if (before > rank)
            return tally_cell_value(kind, cell);
    }
    return HUGE_VAL;
}
