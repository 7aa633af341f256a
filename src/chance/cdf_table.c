/* cdf_table.c: distribution functions as tables. */
#include "chance/inside.h"

#include <math.h>
#include <string.h>

/* Mass left out at either end, error aimed at, and the grid of the table's figures. */
#define ENDS 2e-8
#define AIM 3e-8
#define GRID 0x1p-28

enum { LEAST_HALVINGS = 4, MOST_EVEN_HALVINGS = 12, MOST_WHOLES = 1 << 16 };

/* ---- looking up --------------------------------------------------------------------------------- */

/* Number of the n ascending values that are at most x. */
static size_t values_to(const double *values, size_t n, double x)
{
    size_t low = 0, high = n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (values[middle] <= x)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static double in_cells(const struct chance_cdf_table *table, double x)
{
    if (!(x > table->least) || x >= table->most)
        return x >= table->most ? 1.0 : 0.0;
    size_t i = values_to(table->values, table->n, x) - 1;
    double t = (x - table->values[i]) / (table->values[i + 1] - table->values[i]);
    return chance_cubic_at(table->cubic[i], t < 1.0 ? t : 1.0);
}

double chance_cdf_steps(const struct chance_cdf_table *table, double x)
{
    if (table->kind == CHANCE_CELLS)
        return in_cells(table, x);
    size_t n = values_to(table->values, table->n, x);
    if (n == 0)
        return 0.0;
    double from = table->cumulative[n - 1];
    if (table->kind == CHANCE_STEPS || n == table->n)
        return from;
    double share = (x - table->values[n - 1]) / (table->values[n] - table->values[n - 1]);
    double at = from + share * (table->cumulative[n] - from);
    return at < table->cumulative[n] ? at : table->cumulative[n];
}

/* ---- points and lines --------------------------------------------------------------------------- */

static bool fill_points(struct chance_cdf_table *table, const struct chance_distribution *d)
{
    table->kind = CHANCE_STEPS;
    table->n = d->n;
    table->values = d->values;
    table->cumulative = d->lower;
    return true;
}

static double snapped(double f) { return floor(f / GRID + 0.5) * GRID; }

/* A rounded shape's whole numbers. */
static bool fill_whole(struct base_arena *arena, struct chance_cdf_table *table,
                       const struct chance_distribution *d, double low, size_t n)
{
    double *values = base_arena_array(arena, n, sizeof *values),
           *cumulative = base_arena_array(arena, n, sizeof *values);
    if (!values || !cumulative)
        return false;
    for (size_t i = 0; i < n; i++) {
        values[i] = low + (double)i;
        cumulative[i] = i + 1 < n ? snapped(chance_cdf(d, values[i])) : 1.0;
    }
    table->kind = CHANCE_STEPS;
    table->n = n;
    table->values = values;
    table->cumulative = cumulative;
    return true;
}

/* Knots at the ends and at every figure between; two where equal figures make a step. */
static bool fill_lines(struct base_arena *arena, struct chance_cdf_table *table,
                       const struct chance_distribution *d)
{
    size_t most = 2 * d->n + 4, n = 0;
    double *values = base_arena_array(arena, most, sizeof *values);
    double *cumulative = base_arena_array(arena, most, sizeof *cumulative);
    if (!values || !cumulative)
        return false;
    for (size_t i = 0; i < d->n + 2; i++) {
        double x = i == 0 ? d->least : i == d->n + 1 ? d->most : d->values[i - 1];
        if (x < d->least || x > d->most || (n > 0 && x <= values[n - 1]))
            continue;
        const double masses[2] = { chance_below(d, x), chance_cdf(d, x) };
        for (int side = masses[0] < masses[1] ? 0 : 1; side < 2; side++) {
            values[n] = x;
            cumulative[n++] = masses[side];
        }
    }
    table->kind = CHANCE_LINES;
    table->n = n;
    table->values = values;
    table->cumulative = cumulative;
    return true;
}

/* ---- curves ------------------------------------------------------------------------------------- */

struct point { double x, f, density; };

struct draft {
    const struct chance_distribution *d;
    double *begins;                 /* where the cells begin */
    double (*cubic)[4];
    size_t n, room;
    int deepest;
    bool no_memory;
};

static struct point point_at(const struct chance_distribution *d, double x)
{
    double p = d->family->lower(d, x), s = p < 0.999 ? 1.0 - p : d->family->upper(d, x);
    return (struct point){ x, chance_smooth_share(d, x, p), 1.0 / (d->kept * d->family->slope(d, p, s, x)) };
}

static void cubic_between(const struct point *a, const struct point *b, double c[4])
{
    double h = b->x - a->x;
    chance_cubic(snapped(a->f), snapped(b->f), snapped(h * a->density), snapped(h * b->density), c);
}

static bool close_enough(const struct draft *draft, const struct point *a, const struct point *b,
                         const double c[4])
{
    if (b->f - a->f < AIM)
        return true;
    for (int i = 1; i < 4; i++) {
        double t = 0.25 * i;
        if (!(fabs(chance_cubic_at(c, t) - chance_smooth_cdf(draft->d, a->x + t * (b->x - a->x))) < AIM))
            return false;
    }
    return true;
}

static bool grow(struct draft *draft)
{
    size_t room = draft->room ? 2 * draft->room : 256;
    double *begins = base_realloc(draft->begins, room * sizeof *begins);
    draft->begins = begins ? begins : draft->begins;
    double (*cubic)[4] = begins ? base_realloc(draft->cubic, room * sizeof *cubic) : NULL;
    draft->cubic = cubic ? cubic : draft->cubic;
    draft->room = cubic ? room : draft->room;
    draft->no_memory = !cubic;
    return !draft->no_memory;
}

static void divide(struct draft *draft, const struct point *a, const struct point *b, int depth)
{
    double c[4], x = 0.5 * (a->x + b->x);
    if (draft->no_memory)
        return;
    cubic_between(a, b, c);
    bool whole = !(x > a->x && x < b->x);
    if (whole || (depth >= LEAST_HALVINGS && close_enough(draft, a, b, c))) {
        if (draft->n == draft->room && !grow(draft))
            return;
        draft->begins[draft->n] = a->x;
        memcpy(draft->cubic[draft->n++], c, sizeof c);
        draft->deepest = depth > draft->deepest ? depth : draft->deepest;
        return;
    }
    struct point middle = point_at(draft->d, x);
    divide(draft, a, &middle, depth + 1);
    divide(draft, &middle, b, depth + 1);
}

static bool fill_even(struct base_arena *arena, struct chance_cdf_table *table,
                      const struct chance_distribution *d, int halvings)
{
    size_t n = (size_t)1 << halvings;
    double width = (table->most - table->least) / (double)n;
    double (*cubic)[4] = base_arena_array(arena, n, sizeof *cubic);
    if (!cubic)
        return false;
    struct point a = point_at(d, table->least);
    for (size_t i = 0; i < n; i++) {
        struct point b = point_at(d, i + 1 < n ? table->least + width * (double)(i + 1) : table->most);
        cubic_between(&a, &b, cubic[i]);
        a = b;
    }
    table->kind = CHANCE_CURVE;
    table->n = n;
    table->per_cell = 1.0 / width;
    table->cubic = (const double (*)[4])cubic;
    return true;
}

static bool fill_uneven(struct base_arena *arena, struct chance_cdf_table *table, const struct draft *draft)
{
    double *values = base_arena_array(arena, draft->n + 1, sizeof *values);
    double (*cubic)[4] = base_arena_array(arena, draft->n, sizeof *cubic);
    if (!values || !cubic)
        return false;
    memcpy(values, draft->begins, draft->n * sizeof *values);
    values[draft->n] = table->most;
    memcpy(cubic, draft->cubic, draft->n * sizeof *cubic);
    table->kind = CHANCE_CELLS;
    table->n = draft->n;
    table->values = values;
    table->cubic = (const double (*)[4])cubic;
    return true;
}

static bool fill_curve(struct base_arena *arena, struct chance_cdf_table *table,
                       const struct chance_distribution *d)
{
    struct draft draft = { .d = d };
    table->least = fmax(d->least, chance_round_bits(chance_smooth_quantile(d, ENDS, 1.0 - ENDS), 26));
    table->most = fmin(d->most, chance_round_bits(chance_smooth_quantile(d, 1.0 - ENDS, ENDS), 26));
    struct point a = point_at(d, table->least), b = point_at(d, table->most);
    divide(&draft, &a, &b, 0);
    bool filled = !draft.no_memory && (draft.deepest <= MOST_EVEN_HALVINGS
                                           ? fill_even(arena, table, d, draft.deepest)
                                           : fill_uneven(arena, table, &draft));
    base_free(draft.begins);
    base_free(draft.cubic);
    return filled;
}

static bool fill(struct base_arena *arena, struct chance_cdf_table *table,
                 const struct chance_distribution *d)
{
    if (d->listed)
        return fill_points(table, d);
    if (d->whole) {
        double low = chance_quantile(d, ENDS), high = chance_upper_quantile(d, ENDS);
        if (high - low < MOST_WHOLES)
            return fill_whole(arena, table, d, low, (size_t)(high - low) + 1);
    }
    return d->family->slope ? fill_curve(arena, table, d) : fill_lines(arena, table, d);
}

const struct chance_cdf_table *chance_cdf_table_make(struct base_arena *arena,
                                                     const struct chance_distribution *d)
{
    struct chance_cdf_table *table = base_arena_take(arena, sizeof *table);
    return table && fill(arena, table, d) ? table : NULL;
}
