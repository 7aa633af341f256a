/* cut.c: cutting off at at_least and at_most, and judging what lies beyond the natural bounds. */
#include "chance/inside.h"

#include <math.h>

/* Mass beyond a natural bound that is cut off without a word. */
#define MOST_BEYOND 1e-6
/* A cut-off that leaves less than this of a distribution was hardly meant. */
#define LEAST_KEPT 1e-6

void chance_natural_bounds(enum scenario_bound bound, double *least, double *most)
{
    *least = bound == SCENARIO_UNBOUNDED ? -HUGE_VAL : bound == SCENARIO_COUNT ? -0.5 : 0.0;
    *most = bound == SCENARIO_SHARE ? 1.0 : HUGE_VAL;
}

static double mass_below(const struct chance_distribution *d, double x)
{
    return d->family->below ? d->family->below(d, x) : d->family->lower(d, x);
}

/* Mass from `least` to `most`, from whichever side keeps the digits. */
static double mass_between(const struct chance_distribution *d, double least)
{
    if (d->cut_below < 0.5)
        return 1.0 - d->cut_below - d->cut_above;
    double from_least = d->family->below ? 1.0 - d->cut_below : d->family->upper(d, least);
    return from_least - d->cut_above;
}

static bool nothing_left(struct chance_judge *judge, double kept)
{
    return chance_wrong(judge,
                        "at_least and at_most leave only %.2g of the distribution: widen them or move it",
                        kept > 0.0 ? kept : 0.0);
}

static bool beyond(struct chance_judge *judge, double mass, bool low)
{
    const enum scenario_bound bound = judge->spec->bound;
    const char *than = low ? "below 0" : "above 1";
    return chance_wrong(judge, "%.3g %% of this distribution lies %s%s, where this quantity cannot be: "
                        "cut it off with %s, or choose other figures", mass * 100.0, than,
                        bound == SCENARIO_COUNT ? " once rounded" : "", low ? "at_least = 0" : "at_most = 1");
}

static bool cut_naturally(struct chance_judge *judge, struct chance_distribution *d)
{
    double least, most;
    chance_natural_bounds(judge->spec->bound, &least, &most);
    if (least > d->least) {
        double mass = mass_below(d, least);
        double share = (mass - d->cut_below) / d->kept;
        if (share > MOST_BEYOND)
            return beyond(judge, share, true);
        d->cut_below = mass > d->cut_below ? mass : d->cut_below;
        d->least = least;
    }
    if (most < d->most) {
        double mass = d->family->upper(d, most);
        double share = (mass - d->cut_above) / d->kept;
        if (share > MOST_BEYOND)
            return beyond(judge, share, false);
        d->cut_above = mass > d->cut_above ? mass : d->cut_above;
        d->most = most;
    }
    d->kept = mass_between(d, d->least);
    return true;
}

bool chance_cut(struct chance_judge *judge, struct chance_distribution *d)
{
    const struct scenario_distribution *spec = judge->spec;
    if (spec->has_least && spec->at_least > d->least) {
        d->cut_below = mass_below(d, spec->at_least);
        d->least = spec->at_least;
    }
    if (spec->has_most && spec->at_most < d->most) {
        d->cut_above = d->family->upper(d, spec->at_most);
        d->most = spec->at_most;
    }
    d->kept = mass_between(d, d->least);
    if (!(d->kept >= LEAST_KEPT) || !(d->least < d->most))
        return nothing_left(judge, d->least < d->most ? d->kept : 0.0);
    return cut_naturally(judge, d);
}

static double weight_of(const double *weights, size_t from, size_t until)
{
    double sum = 0.0;
    for (size_t i = from; i < until; i++)
        sum += weights[i];
    return sum;
}

/* P(X <= values[i]) summed from below, P(X > values[i]) from above, so that each tail keeps its digits. */
static bool fill_list(struct chance_judge *judge, struct chance_distribution *d, size_t n,
                      const double *values, const double *weights)
{
    double *lower = base_arena_array(judge->arena, n, sizeof *lower);
    double *upper = base_arena_array(judge->arena, n, sizeof *upper);
    if (!lower || !upper)
        return chance_no_memory(judge);
    double all = weight_of(weights, 0, n), sum = 0.0;
    for (size_t i = 0; i + 1 < n; i++) {
        sum += weights[i];
        lower[i] = sum / all < 1.0 ? sum / all : 1.0;
    }
    lower[n - 1] = 1.0;
    sum = 0.0;
    for (size_t i = n - 1; i > 0; i--) {
        sum += weights[i];
        upper[i - 1] = sum / all < 1.0 ? sum / all : 1.0;
    }
    d->listed = true;
    d->n = n;
    d->values = values;
    d->lower = lower;
    d->upper = upper;
    d->least = values[0];
    d->most = values[n - 1];
    return true;
}

/* Index of the first value that is at least x, or, with `past`, greater. */
static size_t first_from(size_t n, const double *values, double x, bool past)
{
    size_t low = 0, high = n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (values[middle] < x || (past && values[middle] == x))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* A single figure beyond the bound is an error however little it weighs, where the user wrote it himself. */
static bool figure_beyond(struct chance_judge *judge, const double *values, const double *weights,
                          size_t from, size_t until)
{
    const enum scenario_shape shape = judge->spec->shape;
    if (shape != SCENARIO_CERTAIN && shape != SCENARIO_COUNTS && shape != SCENARIO_RECORDS)
        return false;
    for (size_t i = from; i < until; i++)
        if (weights[i] > 0.0)
            return !chance_wrong(judge, "%g is out of bounds: this quantity %s", values[i],
                                 judge->spec->bound == SCENARIO_SHARE ? "lies from 0 to 1"
                                                                      : "cannot be below 0");
    return false;
}

bool chance_cut_list(struct chance_judge *judge, struct chance_distribution *d, size_t n,
                     const double *values, const double *weights)
{
    const struct scenario_distribution *spec = judge->spec;
    double least, most;
    size_t from = spec->has_least ? first_from(n, values, spec->at_least, false) : 0;
    size_t until = spec->has_most ? first_from(n, values, spec->at_most, true) : n;
    double all = weight_of(weights, 0, n), kept = from < until ? weight_of(weights, from, until) : 0.0;
    if (!(kept >= LEAST_KEPT * all) || kept <= 0.0)
        return nothing_left(judge, kept / all);
    chance_natural_bounds(spec->bound, &least, &most);
    size_t low = first_from(n, values, least, false), high = first_from(n, values, most, true);
    low = low > from ? low : from;
    high = high < until ? high : until;
    if (figure_beyond(judge, values, weights, from, low)
        || figure_beyond(judge, values, weights, high, until))
        return false;
    double under = weight_of(weights, from, low) / kept, over = weight_of(weights, high, until) / kept;
    if (under > MOST_BEYOND || over > MOST_BEYOND)
        return beyond(judge, under > MOST_BEYOND ? under : over, under > MOST_BEYOND);
    return fill_list(judge, d, high - low, values + low, weights + low);
}
