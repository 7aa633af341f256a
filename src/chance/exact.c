/* exact.c: the questions that a distribution answers, whatever its family: cut-off and rounding are put
 * in here. */
#include "chance/inside.h"

#include <math.h>

/* ---- points with masses ------------------------------------------------------------------------- */

/* Number of points that are at most x, or, with `strictly`, less. */
static size_t points_to(const struct chance_distribution *d, double x, bool strictly)
{
    size_t low = 0, high = d->n;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (d->values[middle] < x || (!strictly && d->values[middle] == x))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Records as they are: x[floor(n p)]; else the smallest value with F >= p, told by the nearer tail's mass. */
static double point_quantile(const struct chance_distribution *d, double p, double s)
{
    size_t low = 0, high = d->n - 1;
    if (d->as_they_are) {
        double n = (double)d->n, at = floor(p <= s ? n * p : n - n * s);
        return d->values[at < n - 1.0 ? (size_t)at : d->n - 1];
    }
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (p <= s ? d->lower[middle] >= p : d->upper[middle] <= s)
            high = middle;
        else
            low = middle + 1;
    }
    return d->values[low];
}

static double point_cdf(const struct chance_distribution *d, double x, bool strictly)
{
    size_t n = points_to(d, x, strictly);
    return n > 0 ? d->lower[n - 1] : 0.0;
}

/* ---- continuous, before rounding ---------------------------------------------------------------- */

struct chance_mass chance_uncut(const struct chance_distribution *d, double p, double s)
{
    return (struct chance_mass){ d->cut_below + d->kept * p, d->cut_above + d->kept * s };
}

static double within(const struct chance_distribution *d, double x)
{
    return x < d->least ? d->least : x > d->most ? d->most : x;
}

double chance_smooth_quantile(const struct chance_distribution *d, double p, double s)
{
    struct chance_mass at = chance_uncut(d, p, s);
    return within(d, d->family->quantile(d, at.p, at.s));
}

static double share_of(double mass, double kept)
{
    double share = mass / kept;
    return share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
}

double chance_smooth_share(const struct chance_distribution *d, double x, double lower)
{
    if (x < d->least || x >= d->most)
        return x < d->least ? 0.0 : 1.0;
    return share_of(lower - d->cut_below, d->kept);
}

double chance_smooth_cdf(const struct chance_distribution *d, double x)
{
    return chance_smooth_share(d, x, d->family->lower(d, x));
}

static double smooth_below(const struct chance_distribution *d, double x)
{
    if (x <= d->least || x > d->most)
        return x <= d->least ? 0.0 : 1.0;
    return share_of((d->family->below ? d->family->below : d->family->lower)(d, x) - d->cut_below, d->kept);
}

static double smooth_survival(const struct chance_distribution *d, double x)
{
    if (x < d->least || x >= d->most)
        return x < d->least ? 1.0 : 0.0;
    return share_of(d->family->upper(d, x) - d->cut_above, d->kept);
}

/* ---- the questions ------------------------------------------------------------------------------ */

static double quantile_of(const struct chance_distribution *d, double p, double s)
{
    if (d->listed)
        return point_quantile(d, p, s);
    double x = chance_smooth_quantile(d, p, s);
    return d->whole ? floor(x + 0.5) : x;
}

double chance_quantile(const struct chance_distribution *d, double u)
{
    return quantile_of(d, u, 1.0 - u);
}

double chance_upper_quantile(const struct chance_distribution *d, double s)
{
    return quantile_of(d, 1.0 - s, s);
}

/* A whole number k is drawn for k - 1/2 <= x < k + 1/2. */
double chance_cdf(const struct chance_distribution *d, double x)
{
    if (d->listed)
        return point_cdf(d, x, false);
    return d->whole ? smooth_below(d, floor(x) + 0.5) : chance_smooth_cdf(d, x);
}

double chance_below(const struct chance_distribution *d, double x)
{
    if (d->listed)
        return point_cdf(d, x, true);
    return smooth_below(d, d->whole ? ceil(x) - 0.5 : x);
}

double chance_survival(const struct chance_distribution *d, double x)
{
    if (d->listed) {
        size_t n = points_to(d, x, false);
        return n > 0 ? d->upper[n - 1] : 1.0;
    }
    return smooth_survival(d, d->whole ? floor(x) + 0.5 : x);
}

void chance_support(const struct chance_distribution *d, double *least, double *most)
{
    *least = d->whole ? floor(d->least + 0.5) : d->least;
    *most = d->whole ? floor(d->most + 0.5) : d->most;
}

double chance_round_bits(double x, int bits)
{
    int exponent;
    double fraction = frexp(x, &exponent);
    return ldexp(floor(ldexp(fraction, bits) + 0.5), exponent - bits);
}

double chance_quantile_given(const struct chance_distribution *d, double age, double v)
{
    double older = chance_survival(d, age);
    if (!(older > 0.0))
        return NAN;
    double x = chance_round_bits(chance_upper_quantile(d, v * older), 26);
    return x > age ? x : age;
}
