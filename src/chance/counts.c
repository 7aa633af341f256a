/* counts.c: distributions on whole numbers, kept as lists of points with masses. Their weights follow
 * from the mode's by ratios, with * and / only, so that they are the same on every machine. */
#include "chance/inside.h"

#include <math.h>
#include <stdlib.h>

enum { MOST_POINTS = 1 << 20 };
/* Weights this far below the mode's are left out. */
#define LEAST_WEIGHT 1e-40

/* Weight of k + 1 over weight of k is (k + r) q / (k + 1); a Poisson's is mean / (k + 1). */
struct ratio { bool poisson; double mean, r, q; };

static double upwards(const struct ratio *ratio, double k)
{
    return (ratio->poisson ? ratio->mean : (k + ratio->r) * ratio->q) / (k + 1.0);
}

/* How many points the weights need upwards (or downwards) of the mode. */
static size_t points_from(const struct ratio *ratio, double mode, bool up)
{
    size_t n = 0;
    double weight = 1.0;
    for (double k = mode; n <= MOST_POINTS && weight > LEAST_WEIGHT && (up || k >= 1.0); n++) {
        weight = up ? weight * upwards(ratio, k) : weight / upwards(ratio, k - 1.0);
        k += up ? 1.0 : -1.0;
    }
    return n;
}

static bool whole_numbers(struct chance_judge *judge, struct chance_distribution *d,
                          const struct ratio *ratio, double mode)
{
    size_t down = points_from(ratio, mode, false), up = points_from(ratio, mode, true), n = down + 1 + up;
    if (n > MOST_POINTS)
        return chance_wrong(judge,
                            "this spreads over more than a million whole numbers: give a smaller sd, or a "
                            "continuous shape");
    double *values = base_arena_array(judge->arena, n, sizeof *values);
    double *weights = base_arena_array(judge->arena, n, sizeof *weights);
    if (!values || !weights)
        return chance_no_memory(judge);
    weights[down] = 1.0;
    for (size_t i = 0; i < n; i++)
        values[i] = mode - (double)down + (double)i;
    for (size_t i = down; i > 0; i--)
        weights[i - 1] = weights[i] / upwards(ratio, values[i - 1]);
    for (size_t i = down; i + 1 < n; i++)
        weights[i + 1] = weights[i] * upwards(ratio, values[i]);
    return chance_cut_list(judge, d, n, values, weights);
}

bool chance_prepare_poisson(struct chance_judge *judge, struct chance_distribution *d)
{
    const double mean = judge->spec->a[0];
    if (!(mean > 0.0 && mean <= 1e6))
        return chance_wrong(judge, "mean is %g, but a Poisson's must be greater than 0 and at most 1,000,000",
                            mean);
    const struct ratio ratio = { .poisson = true, .mean = mean };
    return whole_numbers(judge, d, &ratio, floor(mean));
}

/* With m the mean: r = m^2/(sd^2 - m), q = 1 - m/sd^2; weights rise while k < (r - 1) q/(1 - q). */
bool chance_prepare_negative_binomial(struct chance_judge *judge, struct chance_distribution *d)
{
    const double mean = judge->spec->a[0], square = judge->spec->a[1] * judge->spec->a[1];
    if (!chance_positive_mean_sd(judge))
        return false;
    if (mean > 1e6)
        return chance_wrong(judge, "mean is %g, but a negative binomial's must be at most 1,000,000", mean);
    if (!(square > mean * (1.0 + 1e-9)))
        return chance_wrong(
            judge,
            "sd = %g is too small for a negative binomial: sd^2 must be greater than the mean, so "
            "give an sd above %.4g, or use `poisson`",
            judge->spec->a[1], ceil(sqrt(mean) * 1e3) / 1e3);
    const struct ratio ratio = { .r = mean * mean / (square - mean), .q = (square - mean) / square };
    double mode = floor((ratio.r - 1.0) * (square - mean) / mean);
    return whole_numbers(judge, d, &ratio, mode > 0.0 ? mode : 0.0);
}

/* ---- values and weights as given ---------------------------------------------------------------- */

struct pair { double value, weight; };

static int by_value(const void *a, const void *b)
{
    const struct pair *x = a, *y = b;
    return (x->value > y->value) - (x->value < y->value);
}

static bool judge_counts(struct chance_judge *judge)
{
    const struct scenario_distribution *spec = judge->spec;
    double all = 0.0;
    if (spec->n == 0)
        return chance_wrong(judge, "values is empty: give at least one whole number");
    for (size_t i = 0; i < spec->n; i++) {
        if (spec->list[i] < 0.0 || spec->list[i] != floor(spec->list[i]))
            return chance_wrong(judge, "values holds %g, but counts are whole numbers from 0", spec->list[i]);
        if (spec->weights && spec->weights[i] < 0.0)
            return chance_wrong(judge, "weights holds %g, but a weight cannot be below 0", spec->weights[i]);
        all += spec->weights ? spec->weights[i] : 1.0;
    }
    if (!(all > 0.0 && isfinite(all)))
        return chance_wrong(judge, "weights must not all be 0");
    return true;
}

/* Sorts in the arena, adds up the weights of equal values and drops those without weight. Returns how
 * many are left; 0: no memory. */
static size_t sorted_pairs(struct chance_judge *judge, double **values, double **weights)
{
    const struct scenario_distribution *spec = judge->spec;
    struct pair *pairs = base_arena_array(judge->arena, spec->n, sizeof *pairs);
    size_t n = 0;
    *values = base_arena_array(judge->arena, spec->n, sizeof **values);
    *weights = base_arena_array(judge->arena, spec->n, sizeof **weights);
    if (!pairs || !*values || !*weights)
        return 0;
    for (size_t i = 0; i < spec->n; i++)
        pairs[i] = (struct pair){ spec->list[i], spec->weights ? spec->weights[i] : 1.0 };
    qsort(pairs, spec->n, sizeof *pairs, by_value);
    for (size_t i = 0; i < spec->n; i++) {
        if (pairs[i].weight == 0.0)
            continue;
        if (n == 0 || (*values)[n - 1] != pairs[i].value)
            (*values)[n++] = pairs[i].value;
        (*weights)[n - 1] += pairs[i].weight;
    }
    return n;
}

bool chance_prepare_counts(struct chance_judge *judge, struct chance_distribution *d)
{
    double *values, *weights;
    if (!judge_counts(judge))
        return false;
    size_t n = sorted_pairs(judge, &values, &weights);
    return n > 0 ? chance_cut_list(judge, d, n, values, weights) : chance_no_memory(judge);
}
