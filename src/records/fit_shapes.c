/* fit_shapes.c: what each shape that can be fitted is: density, tails, moments, and the search's coordinates. */
#include "records/fit.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>
#include <gsl/gsl_sf_psi.h>
#include <math.h>

static const double HALF_LOG_2PI = 0.91893853320467274178;

/* Coordinates: normal mean, log sd; lognormal mu, log sigma; gamma log mean, log sd; weibull log k, log scale; poisson log
 * mean; negative binomial log mean, log size, where size = mean^2 / (sd^2 - mean); triplet's fit_triplet.c has. */
bool records_fit_is_log(enum records_shape shape, int parameter)
{
    if (shape == RECORDS_TRIPLET)
        return false;
    return parameter == 1 || (shape != RECORDS_NORMAL && shape != RECORDS_LOGNORMAL);
}

bool records_fit_is_count(enum records_shape shape) { return shape == RECORDS_POISSON || shape == RECORDS_NEGATIVE_BINOMIAL; }

bool records_fit_is_positive(enum records_shape shape)
{
    return shape == RECORDS_LOGNORMAL || shape == RECORDS_GAMMA || shape == RECORDS_WEIBULL;
}

bool records_has_profile(enum records_shape shape, int which)
{
    return shape == RECORDS_TRIPLET ? which == 1 : !(shape == RECORDS_NEGATIVE_BINOMIAL && which == 1);
}

void records_fit_parameters(enum records_shape shape, const double at[], double p[])
{
    if (shape == RECORDS_TRIPLET) {
        records_triplet_parameters(at, p);
        return;
    }
    for (int i = 0; i < 2; i++)
        p[i] = records_fit_is_log(shape, i) ? exp(at[i]) : at[i];
    if (shape == RECORDS_NEGATIVE_BINOMIAL)
        p[1] = sqrt(p[0] + p[0] * p[0] / p[1]);
}

bool records_fit_coordinates(enum records_shape shape, const double p[], double at[])
{
    double second = p[1];
    if (shape == RECORDS_TRIPLET)
        return records_triplet_coordinates(p, at);
    if (shape == RECORDS_NEGATIVE_BINOMIAL)
        second = p[1] * p[1] > p[0] ? p[0] * p[0] / (p[1] * p[1] - p[0]) : -1;
    if (shape == RECORDS_POISSON)
        second = 1;
    if (!(second > 0) || (records_fit_is_log(shape, 0) && !(p[0] > 0)))
        return false;
    at[0] = records_fit_is_log(shape, 0) ? log(p[0]) : p[0];
    at[1] = log(second);
    return true;
}

static double gamma_shape(const double p[]) { return p[0] * p[0] / (p[1] * p[1]); }
static double gamma_scale(const double p[]) { return p[1] * p[1] / p[0]; }
static double size_of(const double p[]) { return p[0] * p[0] / (p[1] * p[1] - p[0]); }

/* Density or chance, as a logarithm. */
double records_fit_log_density(enum records_shape shape, const double p[], double x)
{
    if (records_fit_is_positive(shape) ? x <= 0 : records_fit_is_count(shape) && x < 0)
        return -HUGE_VAL;
    double z, k, r;
    switch (shape) {
    case RECORDS_NORMAL:
        z = (x - p[0]) / p[1];
        return -z * z / 2 - log(p[1]) - HALF_LOG_2PI;
    case RECORDS_LOGNORMAL:
        z = (log(x) - p[0]) / p[1];
        return -z * z / 2 - log(p[1]) - log(x) - HALF_LOG_2PI;
    case RECORDS_GAMMA:
        k = gamma_shape(p);
        return (k - 1) * log(x) - x / gamma_scale(p) - gsl_sf_lngamma(k) - k * log(gamma_scale(p));
    case RECORDS_WEIBULL:
        return log(p[0] / p[1]) + (p[0] - 1) * log(x / p[1]) - pow(x / p[1], p[0]);
    case RECORDS_POISSON:
        return x * log(p[0]) - p[0] - gsl_sf_lngamma(x + 1);
    case RECORDS_NEGATIVE_BINOMIAL:
        r = size_of(p);
        return gsl_sf_lngamma(x + r) - gsl_sf_lngamma(r) - gsl_sf_lngamma(x + 1) + r * log(r / (r + p[0]))
               + x * log(p[0] / (r + p[0]));
    case RECORDS_TRIPLET: return records_triplet_log_density(p, x);
    default: return -HUGE_VAL;
    }
}

double records_fit_lower(enum records_shape shape, const double p[], double x)
{
    if (records_fit_is_positive(shape) && x <= 0)
        return 0;
    switch (shape) {
    case RECORDS_NORMAL: return gsl_cdf_gaussian_P(x - p[0], p[1]);
    case RECORDS_LOGNORMAL: return gsl_cdf_gaussian_P(log(x) - p[0], p[1]);
    case RECORDS_GAMMA: return gsl_cdf_gamma_P(x, gamma_shape(p), gamma_scale(p));
    case RECORDS_WEIBULL: return -expm1(-pow(x / p[1], p[0]));
    case RECORDS_POISSON: return x < 0 ? 0 : gsl_cdf_poisson_P((unsigned)x, p[0]);
    case RECORDS_NEGATIVE_BINOMIAL:
        return x < 0 ? 0 : gsl_cdf_negative_binomial_P((unsigned)x, size_of(p) / (size_of(p) + p[0]), size_of(p));
    case RECORDS_TRIPLET: return records_triplet_mass(p, x, false);
    default: return NAN;
    }
}

double records_fit_upper(enum records_shape shape, const double p[], double x)
{
    if (records_fit_is_positive(shape) && x <= 0)
        return 1;
    switch (shape) {
    case RECORDS_NORMAL: return gsl_cdf_gaussian_Q(x - p[0], p[1]);
    case RECORDS_LOGNORMAL: return gsl_cdf_gaussian_Q(log(x) - p[0], p[1]);
    case RECORDS_GAMMA: return gsl_cdf_gamma_Q(x, gamma_shape(p), gamma_scale(p));
    case RECORDS_WEIBULL: return exp(-pow(x / p[1], p[0]));
    case RECORDS_TRIPLET: return records_triplet_mass(p, x, true);
    default: return 1 - records_fit_lower(shape, p, x);
    }
}

void records_fit_moments(enum records_shape shape, const double p[], double *mean, double *sd)
{
    if (shape == RECORDS_TRIPLET) {
        records_triplet_moments(p, mean, sd);
        return;
    }
    *mean = p[0];
    *sd = p[1];
    if (shape == RECORDS_LOGNORMAL) {
        *mean = exp(p[0] + p[1] * p[1] / 2);
        *sd = *mean * sqrt(expm1(p[1] * p[1]));
    } else if (shape == RECORDS_WEIBULL) {
        double first = gsl_sf_gamma(1 + 1 / p[0]), second = gsl_sf_gamma(1 + 2 / p[0]);
        *mean = p[1] * first;
        *sd = p[1] * sqrt(fmax(0, second - first * first));
    } else if (shape == RECORDS_POISSON) {
        *sd = sqrt(p[0]);
    }
}

const char *records_shape_name(enum records_shape shape)
{
    static const char *const names[RECORDS_SHAPES] = { "normal", "lognormal", "gamma", "weibull", "poisson",
                                                       "negative_binomial", "triplet" };
    return names[shape];
}

const char *records_parameter_name(enum records_shape shape, int parameter)
{
    static const char *const names[RECORDS_SHAPES][RECORDS_MOST_PARAMETERS] = {
        { "mean", "sd", "" }, { "mu", "sigma", "" }, { "mean", "sd", "" }, { "k", "scale", "" }, { "mean", "", "" },
        { "mean", "sd", "" }, { "p10", "p50", "p90" } };
    return names[shape][parameter];
}

int records_fit_count(enum records_shape shape)
{
    return shape == RECORDS_POISSON ? 1 : shape == RECORDS_TRIPLET ? 3 : 2;
}
