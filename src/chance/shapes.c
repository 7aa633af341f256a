/* shapes.c: families whose quantiles are a formula: normal, lognormal, Weibull (exponential), triangular. */
#include "chance/inside.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

/* ---- normal ------------------------------------------------------------------------------------- */

enum { CENTRE, SPREAD };

static double score(double p, double s)
{
    return p <= s ? gsl_cdf_ugaussian_Pinv(p) : gsl_cdf_ugaussian_Qinv(s);
}

static double score_slope(double p, double s)
{
    double z = score(p, s);
    return 2.5066282746310005024 * exp(0.5 * z * z);   /* sqrt(2 pi) e^(z^2/2) */
}

static double normal_lower(const struct chance_distribution *d, double x)
{
    return gsl_cdf_ugaussian_P((x - d->a[CENTRE]) / d->a[SPREAD]);
}

static double normal_upper(const struct chance_distribution *d, double x)
{
    return gsl_cdf_ugaussian_Q((x - d->a[CENTRE]) / d->a[SPREAD]);
}

static double normal_quantile(const struct chance_distribution *d, double p, double s)
{
    return d->a[CENTRE] + d->a[SPREAD] * score(p, s);
}

static double normal_slope(const struct chance_distribution *d, double p, double s, double x)
{
    (void)x;
    return d->a[SPREAD] * score_slope(p, s);
}

static void normal_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    *mean = d->a[CENTRE];
    *variance = d->a[SPREAD] * d->a[SPREAD];
}

static const struct chance_family normal = {
    .lower = normal_lower, .upper = normal_upper, .quantile = normal_quantile, .slope = normal_slope,
    .moments = normal_moments
};

bool chance_prepare_normal(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[1] > 0.0))
        return chance_wrong(judge,
                            "sd is %g, but must be greater than 0 (give a plain %s for what is certain)",
                            a[1], judge->spec->is_date ? "date" : "number");
    d->family = &normal;
    d->a[CENTRE] = a[0];
    d->a[SPREAD] = a[1];
    d->least = -HUGE_VAL;
    d->most = HUGE_VAL;
    return true;
}

/* ---- lognormal ---------------------------------------------------------------------------------- */

static double lognormal_lower(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? normal_lower(d, log(x)) : 0.0;
}

static double lognormal_upper(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? normal_upper(d, log(x)) : 1.0;
}

static double lognormal_quantile(const struct chance_distribution *d, double p, double s)
{
    return exp(normal_quantile(d, p, s));
}

static double lognormal_slope(const struct chance_distribution *d, double p, double s, double x)
{
    return x * normal_slope(d, p, s, x);
}

static void lognormal_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    double square = d->a[SPREAD] * d->a[SPREAD];
    *mean = exp(d->a[CENTRE] + 0.5 * square);
    *variance = *mean * *mean * expm1(square);
}

static const struct chance_family lognormal = {
    .lower = lognormal_lower, .upper = lognormal_upper, .quantile = lognormal_quantile,
    .slope = lognormal_slope, .moments = lognormal_moments
};

static bool lognormal_of(struct chance_distribution *d, double mu, double sigma)
{
    d->family = &lognormal;
    d->a[CENTRE] = mu;
    d->a[SPREAD] = sigma;
    d->least = 0.0;
    d->most = HUGE_VAL;
    return true;
}

/* sigma^2 = ln(1 + (sd/mean)^2), mu = ln mean - sigma^2/2. */
bool chance_prepare_lognormal(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!chance_positive_mean_sd(judge))
        return false;
    double square = log1p(a[1] / a[0] * (a[1] / a[0]));
    if (!(square > 0.0 && isfinite(square)))
        return chance_wrong(judge, "sd and mean differ too much in size for a lognormal");
    return lognormal_of(d, log(a[0]) - 0.5 * square, sqrt(square));
}

bool chance_prepare_lognormal_log(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[1] > 0.0))
        return chance_wrong(judge, "sigma is %g, but must be greater than 0", a[1]);
    if (fabs(a[0]) > 300.0 || a[1] > 10.0)
        return chance_wrong(
            judge, "mu and sigma are of the natural logarithm: mu must lie within 300 of 0 and sigma be "
                   "at most 10");
    return lognormal_of(d, a[0], a[1]);
}

/* ---- Weibull ------------------------------------------------------------------------------------ */

enum { SHAPE, LENGTH };
#define LEAST_SHAPE 0.05
#define MOST_SHAPE 1e4

static double weibull_hazard(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? pow(x / d->a[LENGTH], d->a[SHAPE]) : 0.0;
}

static double weibull_lower(const struct chance_distribution *d, double x)
{
    return -expm1(-weibull_hazard(d, x));
}
static double weibull_upper(const struct chance_distribution *d, double x)
{
    return exp(-weibull_hazard(d, x));
}

static double minus_log(double p, double s)
{
    return p <= s ? -log1p(-p) : -log(s);
}

static double weibull_quantile(const struct chance_distribution *d, double p, double s)
{
    return d->a[LENGTH] * pow(minus_log(p, s), 1.0 / d->a[SHAPE]);
}

static double weibull_slope(const struct chance_distribution *d, double p, double s, double x)
{
    return x / (d->a[SHAPE] * minus_log(p, s) * s);
}

static void weibull_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    double k = d->a[SHAPE], one = gsl_sf_lngamma(1.0 + 1.0 / k), two = gsl_sf_lngamma(1.0 + 2.0 / k);
    *mean = d->a[LENGTH] * exp(one);
    *variance = *mean * *mean * expm1(two - 2.0 * one);
}

static const struct chance_family weibull = {
    .lower = weibull_lower, .upper = weibull_upper, .quantile = weibull_quantile, .slope = weibull_slope,
    .moments = weibull_moments
};

static bool weibull_of(struct chance_distribution *d, double shape, double length)
{
    d->family = &weibull;
    d->a[SHAPE] = shape;
    d->a[LENGTH] = length;
    d->least = 0.0;
    d->most = HUGE_VAL;
    return true;
}

bool chance_prepare_weibull_shape(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[0] >= LEAST_SHAPE && a[0] <= MOST_SHAPE))
        return chance_wrong(judge, "k is %g, but must be from %g to %g", a[0], LEAST_SHAPE, MOST_SHAPE);
    if (!(a[1] > 0.0))
        return chance_wrong(judge, "scale is %g, but must be greater than 0", a[1]);
    return weibull_of(d, a[0], a[1]);
}

bool chance_prepare_exponential(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[0] > 0.0))
        return chance_wrong(judge, "mean is %g, but must be greater than 0", a[0]);
    return weibull_of(d, 1.0, a[0]);
}

/* ln(1 + (sd/mean)^2) as a function of ln k, less its wanted value. */
static double variation_less(double log_k, double wanted)
{
    double inverse = exp(-log_k);
    return gsl_sf_lngamma(1.0 + 2.0 * inverse) - 2.0 * gsl_sf_lngamma(1.0 + inverse) - wanted;
}

/* The shape k of a Weibull whose ln(1 + (sd/mean)^2) is `wanted`, by bisection on ln k, of which that is
 * a falling function; NaN: none in bounds. (GSL's root finders allocate memory past this program's one
 * gate.) */
static double weibull_shape_of(double wanted)
{
    double low = log(LEAST_SHAPE), high = log(MOST_SHAPE);
    if (!(variation_less(low, wanted) > 0.0 && variation_less(high, wanted) < 0.0))
        return NAN;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        *(variation_less(middle, wanted) > 0.0 ? &low : &high) = middle;
    }
    return exp(0.5 * (low + high));
}

bool chance_prepare_weibull(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!chance_positive_mean_sd(judge))
        return false;
    double k = weibull_shape_of(log1p(a[1] / a[0] * (a[1] / a[0])));
    if (isnan(k))
        return chance_wrong(judge, "sd = %g is too %s beside mean = %g for a Weibull", a[1],
                            a[1] > a[0] ? "great" : "small", a[0]);
    return weibull_of(d, k, a[0] / exp(gsl_sf_lngamma(1.0 + 1.0 / k)));
}

/* ---- triangular --------------------------------------------------------------------------------- */

enum { LOW, MODE, HIGH };

/* Mass below the mode is (mode - low)/(high - low). */
static double triangular_lower(const struct chance_distribution *d, double x)
{
    double low = d->a[LOW], mode = d->a[MODE], high = d->a[HIGH];
    if (x <= low || x >= high)
        return x >= high ? 1.0 : 0.0;
    if (x <= mode)
        return (x - low) * (x - low) / ((high - low) * (mode - low));
    return 1.0 - (high - x) * (high - x) / ((high - low) * (high - mode));
}

static double triangular_upper(const struct chance_distribution *d, double x)
{
    double low = d->a[LOW], mode = d->a[MODE], high = d->a[HIGH];
    if (x <= low || x >= high)
        return x >= high ? 0.0 : 1.0;
    if (x > mode)
        return (high - x) * (high - x) / ((high - low) * (high - mode));
    return 1.0 - (x - low) * (x - low) / ((high - low) * (mode - low));
}

static bool below_mode(const struct chance_distribution *d, double p)
{
    return p * (d->a[HIGH] - d->a[LOW]) < d->a[MODE] - d->a[LOW];
}

static double triangular_quantile(const struct chance_distribution *d, double p, double s)
{
    double low = d->a[LOW], mode = d->a[MODE], high = d->a[HIGH];
    if (below_mode(d, p))
        return low + sqrt(p * (high - low) * (mode - low));
    return high - sqrt(s * (high - low) * (high - mode));
}

static double triangular_slope(const struct chance_distribution *d, double p, double s, double x)
{
    double low = d->a[LOW], mode = d->a[MODE], high = d->a[HIGH];
    (void)x;
    return 0.5
           * (below_mode(d, p) ? sqrt((high - low) * (mode - low) / p)
                               : sqrt((high - low) * (high - mode) / s));
}

static void triangular_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    double left = d->a[MODE] - d->a[LOW], right = d->a[HIGH] - d->a[MODE];
    *mean = (d->a[LOW] + d->a[MODE] + d->a[HIGH]) / 3.0;
    *variance = (left * left + left * right + right * right) / 18.0;
}

static const struct chance_family triangular = {
    .lower = triangular_lower, .upper = triangular_upper, .quantile = triangular_quantile,
    .slope = triangular_slope, .moments = triangular_moments
};

bool chance_prepare_triangular(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!chance_three_in_order(judge))
        return false;
    d->family = &triangular;
    for (int i = LOW; i <= HIGH; i++)
        d->a[i] = a[i];
    d->least = a[LOW];
    d->most = a[HIGH];
    return true;
}
