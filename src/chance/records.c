/* records.c: the grower's own figures, as they are or joined by straight lines; and the uniform, which is the
 * straight line between two figures. */
#include "chance/inside.h"

#include <math.h>
#include <stdlib.h>

/* ---- straight lines between order statistics: Q(u) at (n-1) u ----------------------------------- */

/* Index of the first knot that is at least x, or, with `past`, greater. */
static size_t knot_from(const struct chance_distribution *d, double x, bool past)
{
    size_t low = 0, high = d->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (d->values[middle] < x || (past && d->values[middle] == x))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Place of x among the knots, 0 .. n-1: where several knots are equal, of the last (or first) of them. */
static double place_of(const struct chance_distribution *d, double x, bool past)
{
    size_t next = knot_from(d, x, past);
    if (next == 0)
        return 0.0;
    if (next == d->n)
        return (double)(d->n - 1);
    double from = d->values[next - 1];
    return (double)(next - 1) + (x - from) / (d->values[next] - from);
}

static double lines_lower(const struct chance_distribution *d, double x)
{
    return x < d->values[0] ? 0.0 : place_of(d, x, true) / (double)(d->n - 1);
}

static double lines_below(const struct chance_distribution *d, double x)
{
    return x > d->values[d->n - 1] ? 1.0 : place_of(d, x, false) / (double)(d->n - 1);
}

static double lines_upper(const struct chance_distribution *d, double x)
{
    return x < d->values[0] ? 1.0 : ((double)(d->n - 1) - place_of(d, x, true)) / (double)(d->n - 1);
}

static double lines_quantile(const struct chance_distribution *d, double p, double s)
{
    const double last = (double)(d->n - 1);
    double at = p <= s ? last * p : last - last * s;
    size_t i = at < last ? (size_t)at : d->n - 2;
    return d->values[i] + (at - (double)i) * (d->values[i + 1] - d->values[i]);
}

/* Integral of x - about and of its square over the straight line from (a, xa) to (b, xb), about some
 * value. */
static void add_piece(double width, double xa, double xb, double *first, double *second)
{
    *first += width * 0.5 * (xa + xb);
    *second += width * (xa * xa + xa * xb + xb * xb) / 3.0;
}

static void lines_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    const double last = (double)(d->n - 1), about = lines_quantile(d, 0.5, 0.5);
    double from = last * d->cut_below, until = last - last * d->cut_above, first = 0.0, second = 0.0;
    for (size_t i = 0; i + 1 < d->n; i++) {
        double a = from > (double)i ? from : (double)i, b = until < (double)i + 1.0 ? until : (double)i + 1.0;
        double slope = d->values[i + 1] - d->values[i], base = d->values[i] - about;
        if (a < b)
            add_piece(b - a, base + (a - (double)i) * slope, base + (b - (double)i) * slope, &first, &second);
    }
    first /= until - from;
    *mean = about + first;
    *variance = second / (until - from) - first * first;
}

static const struct chance_family lines = {
    .lower = lines_lower, .below = lines_below, .upper = lines_upper, .quantile = lines_quantile,
    .moments = lines_moments
};

static bool lines_of(struct chance_distribution *d, size_t n, const double *values)
{
    d->family = &lines;
    d->n = n;
    d->values = values;
    d->least = values[0];
    d->most = values[n - 1];
    return true;
}

bool chance_prepare_uniform(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[0] < a[1]))
        return chance_wrong(judge, "low must be less than high");
    double *ends = base_arena_array(judge->arena, 2, sizeof *ends);
    if (!ends)
        return chance_no_memory(judge);
    ends[0] = a[0];
    ends[1] = a[1];
    return lines_of(d, 2, ends);
}

/* ---- records ------------------------------------------------------------------------------------ */

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static bool judge_records(struct chance_judge *judge)
{
    const struct scenario_distribution *spec = judge->spec;
    if (spec->n == 0)
        return chance_wrong(judge, "records is empty: give at least one figure");
    for (size_t i = 0; i < spec->n && !spec->smooth && spec->bound == SCENARIO_COUNT; i++)
        if (spec->list[i] != floor(spec->list[i]))
            return chance_wrong(judge, "records holds %g, but what is counted is a whole number",
                                spec->list[i]);
    return true;
}

/* As with figures as they are, one beyond the bounds and not cut off is an error, however many there are. */
static bool within_bounds(struct chance_judge *judge, size_t n, const double *sorted)
{
    const struct scenario_distribution *spec = judge->spec;
    const bool below = spec->bound != SCENARIO_UNBOUNDED && sorted[0] < 0.0
                       && !(spec->has_least && spec->at_least >= 0.0);
    const bool above = spec->bound == SCENARIO_SHARE && sorted[n - 1] > 1.0
                       && !(spec->has_most && spec->at_most <= 1.0);
    if (below || above)
        return chance_wrong(judge, "%g is out of bounds: this quantity %s", below ? sorted[0] : sorted[n - 1],
                            spec->bound == SCENARIO_SHARE ? "lies from 0 to 1" : "cannot be below 0");
    return true;
}

bool chance_prepare_records(struct chance_judge *judge, struct chance_distribution *d)
{
    const struct scenario_distribution *spec = judge->spec;
    if (!judge_records(judge))
        return false;
    double *sorted = base_arena_array(judge->arena, spec->n, sizeof *sorted);
    double *weights = base_arena_array(judge->arena, spec->n, sizeof *weights);
    if (!sorted || !weights)
        return chance_no_memory(judge);
    for (size_t i = 0; i < spec->n; i++) {
        sorted[i] = spec->is_date ? floor(spec->list[i] + 0.5) : spec->list[i];
        weights[i] = 1.0;
    }
    qsort(sorted, spec->n, sizeof *sorted, ascending);
    if (spec->smooth && sorted[0] < sorted[spec->n - 1])
        return within_bounds(judge, spec->n, sorted) && lines_of(d, spec->n, sorted);
    d->as_they_are = true;
    return chance_cut_list(judge, d, spec->n, sorted, weights);
}
