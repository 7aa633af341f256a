/* table.c: quantile tables by kind, and drawing from the kinds that are not on the hot path. */
#include "chance/inside.h"

#include <math.h>

/* ---- drawing ------------------------------------------------------------------------------------ */

/* word * n / 2^64 rounded down, n < 2^32, without a wider type. */
static size_t share_of(uint64_t word, size_t n)
{
    uint64_t high = (word >> 32) * n, low = ((word & 0xffffffffu) * n) >> 32;
    return (size_t)((high + low) >> 32);
}

static double draw_cells(const struct chance_table *table, uint64_t word)
{
    double t;
    size_t cell = chance_cell(word, &t);
    if (!table->divided || table->divided[cell] == table->divided[cell + 1])
        return chance_cubic_at(table->cubic[cell], t);
    size_t low = table->divided[cell], end = table->divided[cell + 1], high = end;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (table->part[middle][0] <= t)
            low = middle;
        else
            high = middle;
    }
    double from = table->part[low][0], until = low + 1 < end ? table->part[low + 1][0] : 1.0;
    return chance_cubic_at(table->part[low] + 1, (t - from) / (until - from));
}

static double draw_steps(const struct chance_table *table, uint64_t word)
{
    size_t top = (size_t)(word >> 56), low = table->guide[top], high = table->guide[top + 1];
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (word < table->cumulative[middle])
            high = middle;
        else
            low = middle + 1;
    }
    return table->values[low];
}

static double draw_lines(const struct chance_table *table, uint64_t word)
{
    double last = (double)(table->n - 1), at = table->from + table->width * chance_uniform(word);
    size_t i = at < last ? (size_t)at : table->n - 2;
    double x = table->values[i] + (at - (double)i) * (table->values[i + 1] - table->values[i]);
    x = x > table->values[i + 1] ? table->values[i + 1] : x;
    return x < table->least ? table->least : x > table->most ? table->most : x;
}

double chance_draw_other(const struct chance_table *table, uint64_t word)
{
    double x;
    switch (table->kind) {
    case CHANCE_CELLS:
        x = draw_cells(table, word);
        break;
    case CHANCE_LINES:
        x = draw_lines(table, word);
        break;
    case CHANCE_STEPS:
        return draw_steps(table, word);
    case CHANCE_POINTS:
        return table->values[share_of(word, table->n)];
    case CHANCE_CURVE:
        return chance_curve(table->cubic, word);
    default:
        return table->constant;
    }
    return table->whole ? floor(x + 0.5) : x;
}

/* ---- building ----------------------------------------------------------------------------------- */

/* Mass up to point i as a word: 0 for none, all ones for all that words can tell apart. */
static uint64_t word_to(const struct chance_distribution *d, size_t i)
{
    if (d->lower[i] < 0.5)
        return (uint64_t)(d->lower[i] * 0x1p64);
    uint64_t above = d->upper[i] < 1.0 ? (uint64_t)(d->upper[i] * 0x1p64) : UINT64_MAX;
    return above > 0 ? 0 - above : UINT64_MAX;
}

/* guide[top]: first point that a word with these top 8 bits may draw; guide[top + 1]: the last. */
static void fill_guide(uint32_t *guide, const uint64_t *cumulative, size_t n)
{
    size_t k = 0;
    for (size_t top = 0; top < CHANCE_GUIDES; top++) {
        while (k + 1 < n && cumulative[k] <= (uint64_t)top << 56)
            k++;
        guide[top] = (uint32_t)k;
    }
    guide[CHANCE_GUIDES] = (uint32_t)(n - 1);
}

/* Points that no word can draw are left out. */
static bool fill_steps(struct base_arena *arena, const struct chance_distribution *d,
                       struct chance_table *table)
{
    size_t from = 0, until = d->n;
    while (from + 1 < d->n && word_to(d, from) == 0)
        from++;
    while (until > from + 1 && word_to(d, until - 2) == UINT64_MAX)
        until--;
    size_t n = until - from;
    uint64_t *cumulative = base_arena_array(arena, n, sizeof *cumulative);
    uint32_t *guide = base_arena_array(arena, CHANCE_GUIDES + 1, sizeof *guide);
    if (!cumulative || !guide)
        return false;
    for (size_t i = 0; i < n; i++)
        cumulative[i] = word_to(d, from + i);
    fill_guide(guide, cumulative, n);
    table->n = n;
    table->values = d->values + from;
    table->cumulative = cumulative;
    table->guide = guide;
    return true;
}

static void fill_lines(const struct chance_distribution *d, struct chance_table *table)
{
    double last = (double)(d->n - 1);
    table->kind = CHANCE_LINES;
    table->n = d->n;
    table->values = d->values;
    table->from = last * d->cut_below;
    table->width = last * d->kept;
    table->least = d->least;
    table->most = d->most;
    table->whole = d->whole;
}

static bool fill(struct base_arena *arena, const struct chance_distribution *d, struct chance_table *table)
{
    if (d->listed && d->n == 1) {
        table->kind = CHANCE_CONSTANT;
        table->constant = d->values[0];
        return true;
    }
    if (d->listed) {
        table->kind = d->as_they_are ? CHANCE_POINTS : CHANCE_STEPS;
        table->n = d->n;
        table->values = d->values;
        return d->as_they_are || fill_steps(arena, d, table);
    }
    if (!d->family->slope) {
        fill_lines(d, table);
        return true;
    }
    table->whole = d->whole;
    if (!chance_curve_fill(arena, d, table))
        return false;
    table->kind = table->whole || table->divided ? CHANCE_CELLS : CHANCE_CURVE;
    return true;
}

const struct chance_table *chance_table_make(struct base_arena *arena, const struct chance_distribution *d)
{
    struct chance_table *table = base_arena_take(arena, sizeof *table);
    return table && fill(arena, d, table) ? table : NULL;
}
