/* stop.c: when enough trials have been run. */
#include "decide/decide.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

double decide_spend(double alpha, int look) { return alpha / ((double)look * (look + 1)); }

struct decide_kn decide_kn_begin(const double *batch_mean, int batches, double worth, double alpha)
{
    double mean = 0, square = 0;
    for (int b = 0; b < batches; b++)
        mean += batch_mean[b] / batches;
    for (int b = 0; b < batches; b++)
        square += (batch_mean[b] - mean) * (batch_mean[b] - mean) / (batches - 1);
    /* Two systems, c = 1: eta = ((2 alpha)^(-2/(n0-1)) - 1) / 2, h^2 = 2 eta (n0 - 1). Two-sided here: alpha on each side. */
    double eta = (pow(alpha, -2.0 / (batches - 1)) - 1) / 2;
    return (struct decide_kn){ .h2_s2 = 2 * eta * (batches - 1) * square, .worth = worth, .first = batches };
}

int decide_kn_look(const struct decide_kn *kn, double mean, int r)
{
    double w = kn->worth / (2.0 * r) * (kn->h2_s2 / (kn->worth * kn->worth) - r);
    if (w <= 0)
        return fabs(mean) <= kn->worth ? 2 : mean > 0 ? 1 : -1;
    return mean > w ? 1 : mean < -w ? -1 : 0;
}

/* The chance at which `tail` of a beta distribution falls to alpha, by halving: GSL's own inverse fails for counts in the
 * thousands. `rises`: the tail rises with x. */
static double halve(double a, double b, double alpha, double (*tail)(double, double, double), bool rises)
{
    double low = 0, high = 1;
    for (int step = 0; step < 60; step++) {
        double middle = (low + high) / 2;
        if ((tail(middle, a, b) < alpha) == rises)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

double decide_upper_bound(int64_t k, int64_t n, double alpha)
{
    return k >= n ? 1.0 : halve((double)k + 1, (double)(n - k), alpha, gsl_cdf_beta_Q, false);
}

double decide_lower_bound(int64_t k, int64_t n, double alpha)
{
    return k <= 0 ? 0.0 : halve((double)k, (double)(n - k) + 1, alpha, gsl_cdf_beta_P, true);
}

/* P(beta <= risk) answers without inverting: the upper bound is at most the risk when at most alpha lies beyond it. */
enum decide_size decide_size(int64_t k, int64_t n, double risk, double alpha)
{
    if (k < n && gsl_cdf_beta_Q(risk, (double)k + 1, (double)(n - k)) <= alpha)
        return DECIDE_MEETS;
    if (k > 0 && gsl_cdf_beta_P(risk, (double)k, (double)(n - k) + 1) <= alpha)
        return DECIDE_FAILS;
    return DECIDE_UNDECIDED;
}

int64_t decide_next_trials(int64_t so_far, double half_width, double wanted, int64_t most)
{
    double ratio = half_width / wanted, need = (double)so_far * ratio * ratio;
    double least = 1.1 * (double)so_far, next = need > least ? need : least;
    next = next > 4.0 * (double)so_far ? 4.0 * (double)so_far : next;
    return next >= (double)most ? most : (int64_t)next + 1;
}
