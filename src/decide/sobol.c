/* sobol.c: Sobol indices from exact sums, with jackknife intervals. */
#include "decide/sobol.h"

#include <math.h>

bool decide_sobol_make(struct base_arena *arena, int groups, struct decide_sobol *sobol)
{
    size_t n = (size_t)groups * DECIDE_BATCHES;
    *sobol = (struct decide_sobol){ .groups = groups };
    sobol->first = base_arena_array(arena, n, sizeof *sobol->first);
    sobol->total = base_arena_array(arena, n, sizeof *sobol->total);
    return sobol->first && sobol->total;
}

void decide_sobol_add(struct decide_sobol *sobol, uint64_t number, uint64_t trials, double a, double b, const double *ab)
{
    int batch = (int)(number * DECIDE_BATCHES / trials);
    sobol->trials[batch]++;
    tally_sum_add(&sobol->a[batch], a);
    tally_sum_add(&sobol->b[batch], b);
    for (int g = 0; g < sobol->groups; g++) {
        if (ab[g] != b)
            tally_sum_add(&sobol->first[g * DECIDE_BATCHES + batch], (b - ab[g]) * (b - ab[g]));
        if (ab[g] != a)
            tally_sum_add(&sobol->total[g * DECIDE_BATCHES + batch], (a - ab[g]) * (a - ab[g]));
    }
}

void decide_sobol_merge(struct decide_sobol *into, const struct decide_sobol *from)
{
    for (int batch = 0; batch < DECIDE_BATCHES; batch++) {
        into->trials[batch] += from->trials[batch];
        tally_sum_merge(&into->a[batch], &from->a[batch]);
        tally_sum_merge(&into->b[batch], &from->b[batch]);
    }
    for (int i = 0; i < into->groups * DECIDE_BATCHES; i++) {
        tally_sum_merge(&into->first[i], &from->first[i]);
        tally_sum_merge(&into->total[i], &from->total[i]);
    }
}

/* Variance over A and B together of all batches but one (-1: of all). */
static double variance_without(const struct decide_sobol *sobol, int left_out, int64_t *n)
{
    struct tally_sum both = { 0, 0 };
    *n = 0;
    for (int batch = 0; batch < DECIDE_BATCHES; batch++) {
        if (batch == left_out)
            continue;
        tally_sum_merge(&both, &sobol->a[batch]);
        tally_sum_merge(&both, &sobol->b[batch]);
        *n += sobol->trials[batch];
    }
    double sd = tally_sum_sd(&both, 2 * *n);
    return sd * sd;
}

double decide_sobol_variance(const struct decide_sobol *sobol)
{
    int64_t n;
    return variance_without(sobol, -1, &n);
}

/* Half the mean squared difference over the variance. */
static double ratio_without(const struct decide_sobol *sobol, const struct tally_sum *squares, int left_out)
{
    struct tally_sum sum = { 0, 0 };
    int64_t n;
    double variance = variance_without(sobol, left_out, &n);
    for (int batch = 0; batch < DECIDE_BATCHES; batch++)
        if (batch != left_out)
            tally_sum_merge(&sum, &squares[batch]);
    return variance > 0 ? tally_sum_mean(&sum, n) / (2 * variance) : 0.0;
}

static struct decide_index index_of(const struct decide_sobol *sobol, const struct tally_sum *squares, double sign, double offset)
{
    double all = ratio_without(sobol, squares, -1), without[DECIDE_BATCHES], mean = 0, spread = 0;
    for (int batch = 0; batch < DECIDE_BATCHES; batch++)
        mean += (without[batch] = ratio_without(sobol, squares, batch)) / DECIDE_BATCHES;
    for (int batch = 0; batch < DECIDE_BATCHES; batch++)
        spread += (without[batch] - mean) * (without[batch] - mean);
    double half = tally_z(0.05) * sqrt(spread * (DECIDE_BATCHES - 1) / DECIDE_BATCHES), value = offset + sign * all;
    return (struct decide_index){ value, value - half, value + half };
}

struct decide_index decide_sobol_first(const struct decide_sobol *sobol, int group)
{
    return index_of(sobol, &sobol->first[group * DECIDE_BATCHES], -1.0, 1.0);
}

struct decide_index decide_sobol_total(const struct decide_sobol *sobol, int group)
{
    return index_of(sobol, &sobol->total[group * DECIDE_BATCHES], 1.0, 0.0);
}
