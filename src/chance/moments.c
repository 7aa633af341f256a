/* moments.c: mean and standard deviation, by formula where there is one, else by sums or quadrature. */
#include "chance/inside.h"

#include <math.h>

/* Sums of (x - about) and its square, weighted. */
struct sums { double about, first, second; };

static void add(struct sums *sums, double weight, double x)
{
    double from = x - sums->about;
    sums->first += weight * from;
    sums->second += weight * from * from;
}

static void settle(const struct sums *sums, double *mean, double *variance)
{
    *mean = sums->about + sums->first;
    *variance = sums->second - sums->first * sums->first;
}

/* ---- points ------------------------------------------------------------------------------------- */

static void of_points(const struct chance_distribution *d, double *mean, double *variance)
{
    struct sums sums = { .about = chance_quantile(d, 0.5) };
    for (size_t i = 0; i < d->n; i++) {
        double lower = i > 0 ? d->lower[i - 1] : 0.0, upper = i > 0 ? d->upper[i - 1] : 1.0;
        add(&sums, d->lower[i] < 0.5 ? d->lower[i] - lower : upper - d->upper[i], d->values[i]);
    }
    settle(&sums, mean, variance);
}

/* ---- quadrature of Q and its square over u, octave by octave towards both ends ------------------ */

/* Gauss-Legendre, 10 points on (-1, 1) (Abramowitz & Stegun 1964, table 25.4). */
static const double node[5] = { 0.1488743389816312, 0.4333953941292472, 0.6794095682990244,
                                0.8650633666889845, 0.9739065285171717 };
static const double weight[5] = { 0.2955242247147529, 0.2692667193099963, 0.2190863625159820,
                                  0.1494513491505806, 0.0666713443086881 };

struct tail { const struct chance_distribution *d; bool upper; };

static double quantile_in(const struct tail *tail, double p)
{
    return tail->upper ? chance_smooth_quantile(tail->d, 1.0 - p, p)
                       : chance_smooth_quantile(tail->d, p, 1.0 - p);
}

static struct sums over(const struct tail *tail, double from, double until, double about)
{
    struct sums sums = { .about = about };
    double middle = 0.5 * (from + until), half = 0.5 * (until - from);
    for (int i = 0; i < 5; i++) {
        add(&sums, half * weight[i], quantile_in(tail, middle - half * node[i]));
        add(&sums, half * weight[i], quantile_in(tail, middle + half * node[i]));
    }
    return sums;
}

/* Halves until the halves agree with the whole: kinks are found so. `scale` is that of the second sum. */
static void add_between(const struct tail *tail, double from, double until, const struct sums *whole,
                        double scale, int depth, struct sums *to)
{
    double middle = 0.5 * (from + until);
    struct sums low = over(tail, from, middle, whole->about), high = over(tail, middle, until, whole->about);
    double gap = fabs(low.second + high.second - whole->second);
    double slip = fabs(low.first + high.first - whole->first) * sqrt(scale);
    if (depth > 0 && (gap > 1e-13 * scale || slip > 1e-13 * scale)) {
        add_between(tail, from, middle, &low, scale, depth - 1, to);
        add_between(tail, middle, until, &high, scale, depth - 1, to);
        return;
    }
    to->first += low.first + high.first;
    to->second += low.second + high.second;
}

static void by_quadrature(const struct chance_distribution *d, double *mean, double *variance)
{
    struct sums sums = { .about = chance_smooth_quantile(d, 0.5, 0.5) };
    const struct tail tails[2] = { { d, false }, { d, true } };
    for (int side = 0; side < 2; side++) {
        double width = 0.25;
        for (int octave = 0; octave < 1000; octave++, width *= 0.5) {
            struct sums whole = over(&tails[side], width, 2.0 * width, sums.about);
            double scale = sums.second > whole.second ? sums.second : whole.second, was = sums.second;
            add_between(&tails[side], width, 2.0 * width, &whole, scale, 30, &sums);
            if (octave > 50 && sums.second - was <= 1e-16 * sums.second)
                break;
        }
    }
    settle(&sums, mean, variance);
}

/* ---- rounded to whole numbers ------------------------------------------------------------------- */

/* Sums over the whole numbers between far quantiles; where there are too many, rounding adds 1/12 to the
 * variance. */
static void of_whole(const struct chance_distribution *d, double *mean, double *variance)
{
    double low = chance_quantile(d, 1e-16), high = chance_upper_quantile(d, 1e-16);
    struct sums sums = { .about = chance_quantile(d, 0.5) };
    if (high - low > 1e5) {
        by_quadrature(d, mean, variance);
        *variance += 1.0 / 12.0;
        return;
    }
    for (double k = low; k <= high; k += 1.0) {
        double lower = chance_cdf(d, k);
        add(&sums,
            lower < 0.5 ? lower - chance_below(d, k) : chance_survival(d, k - 1.0) - chance_survival(d, k),
            k);
    }
    settle(&sums, mean, variance);
}

static void moments(const struct chance_distribution *d, double *mean, double *variance)
{
    const bool uncut = d->cut_below == 0.0 && d->cut_above == 0.0;
    if (d->listed)
        of_points(d, mean, variance);
    else if (d->whole)
        of_whole(d, mean, variance);
    else if (d->family->moments && (uncut || !d->family->slope))
        d->family->moments(d, mean, variance);
    else
        by_quadrature(d, mean, variance);
    *variance = *variance > 0.0 ? *variance : 0.0;
}

double chance_mean(const struct chance_distribution *d)
{
    double mean, variance;
    moments(d, &mean, &variance);
    return mean;
}

double chance_sd(const struct chance_distribution *d)
{
    double mean, variance;
    moments(d, &mean, &variance);
    return sqrt(variance);
}
