/* line.c: gamma, beta and pert. Their quantiles have no formula: Newton's and Halley's steps on the
 * logarithm of the nearer tail's mass, as a function of ln x or of the logit of x, where both tails are
 * concave, so that the steps converge from anywhere; and from a neighbouring quantile in one step. */
#include "chance/inside.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>

/* Bounds of shape parameters. Beyond the greatest, GSL's incomplete functions lose digits (compared with
 * SciPy's: gamma 1e-11 at k = 1e4, but 4e-5 at 8e5; beta's far tails past 1e5), and a normal or a plain
 * number says as much; below the least, all but everything lies at the bounds. */
#define LEAST_SHAPE 0.01
#define MOST_GAMMA 1e4
#define MOST_BETA 1e5

/* Beyond this many units of t from 0 only the first term of a tail's series is left in a double. */
#define FAR 40.0

/* ---- quantiles on any line ---------------------------------------------------------------------- */

/* One step from t towards mass p below (s above). With r the density over the tail's mass, g the excess
 * of its logarithm and D the log density's derivative, g' = +-r and g'' = r (D - r) or -r (D + r);
 * Halley's step is Newton's divided by 1 - g g''/(2 g'^2). Gives |g| before the step; after it it is of
 * the order of |g|^3. */
static double step(const struct chance_distribution *d, double p, double s, double *t)
{
    const struct chance_line *line = d->family->line;
    const bool low = p <= s;
    double mass = low ? line->log_lower(d, *t) : line->log_upper(d, *t);
    double excess = mass - log(low ? p : s);
    double r = exp(line->log_density(d, *t) - mass), drift = line->drift(d, *t);
    double newton = low ? -excess / r : excess / r;
    double bend = low ? excess * (drift - r) / (2.0 * r) : -excess * (drift + r) / (2.0 * r);
    double move = fabs(bend) < 0.5 ? newton / (1.0 - bend) : newton;
    if (!isfinite(move))
        return 0.0;
    *t += move;
    return fabs(bend) < 0.5 ? fabs(excess) : HUGE_VAL;
}

static double settle(const struct chance_distribution *d, double p, double s, double t, double enough)
{
    for (int i = 0; i < 500; i++)
        if (step(d, p, s, &t) < enough)
            break;
    return t;
}

static double place_of(const struct chance_distribution *d, double p, double s)
{
    return settle(d, p, s, d->family->line->start(d, p, s), 1e-5);
}

double chance_line_quantile(const struct chance_distribution *d, double p, double s)
{
    return d->family->line->value(d, place_of(d, p, s));
}

static double slope_at(const struct chance_distribution *d, double t)
{
    const struct chance_line *line = d->family->line;
    return line->stretch(d, t) * exp(-line->log_density(d, t));
}

double chance_line_slope(const struct chance_distribution *d, double p, double s, double x)
{
    (void)p;
    (void)s;
    return slope_at(d, d->family->line->place(d, x));
}

/* From one quantile to the next: with L the logarithm of the nearer tail's mass m and w = m/f = |dt/dL|,
 * dw/dL = w (1 -+ D w): two terms of the series, then steps until the rest is below the rounding of
 * tables. */
void chance_line_march(const struct chance_distribution *d, size_t n, const struct chance_mass *at, double *x,
                       double *slope)
{
    const struct chance_line *line = d->family->line;
    double t = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double p = at[i].p, s = at[i].s;
        if (i == 0) {
            t = place_of(d, p, s);
        } else {
            bool low = p <= s;
            double was = low ? at[i - 1].p : at[i - 1].s, change = log((low ? p : s) / was);
            double w = was * exp(-line->log_density(d, t)), drift = line->drift(d, t);
            double bend = low ? 1.0 - drift * w : 1.0 + drift * w;
            double move = w * change * (1.0 + 0.5 * bend * change);
            t = settle(d, p, s, isfinite(move) ? t + (low ? move : -move) : t, 2e-4);
        }
        x[i] = line->value(d, t);
        slope[i] = slope_at(d, t);
    }
}

/* Logarithm of a tail's mass where the library underflows: a log-concave density's tail is just under
 * f/|D|. */
static double log_mass(double mass, double log_density, double drift)
{
    return mass > 1e-290 ? log(mass) : log_density - log(fabs(drift));
}

/* ---- gamma: t = ln(x / theta) ------------------------------------------------------------------- */

enum { K, THETA, LOG_GAMMA };

static double gamma_log_density(const struct chance_distribution *d, double t)
{
    return d->a[K] * t - exp(t) - d->a[LOG_GAMMA];
}

static double gamma_drift(const struct chance_distribution *d, double t)
{
    return d->a[K] - exp(t);
}

static double gamma_log_lower(const struct chance_distribution *d, double t)
{
    if (t < -FAR)
        return d->a[K] * t - d->a[LOG_GAMMA] - log(d->a[K]);
    return log_mass(gsl_cdf_gamma_P(exp(t), d->a[K], 1.0), gamma_log_density(d, t), gamma_drift(d, t));
}

static double gamma_log_upper(const struct chance_distribution *d, double t)
{
    return log_mass(gsl_cdf_gamma_Q(exp(t), d->a[K], 1.0), gamma_log_density(d, t), gamma_drift(d, t));
}

/* Bounds from which the steps converge without leaving: P(X <= x) <= x^k / Gamma(k+1), and with L = -ln
 * of the mass P(X < k - sqrt(2kL)) <= e^-L, P(X > k + sqrt(2kL) + L) <= e^-L (Boucheron, Lugosi & Massart
 * 2013, "Concentration Inequalities", section 2.4, from memory). */
static double gamma_start(const struct chance_distribution *d, double p, double s)
{
    double k = d->a[K], far = -log(p <= s ? p : s), root = sqrt(2.0 * k * far);
    if (p > s)
        return log(k + root + far);
    double near_zero = (log(k) + d->a[LOG_GAMMA] - far) / k;
    return k > root && log(k - root) > near_zero ? log(k - root) : near_zero;
}

static double gamma_value(const struct chance_distribution *d, double t) { return d->a[THETA] * exp(t); }
static double gamma_place(const struct chance_distribution *d, double x) { return log(x / d->a[THETA]); }

static double gamma_lower(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? gsl_cdf_gamma_P(x / d->a[THETA], d->a[K], 1.0) : 0.0;
}

static double gamma_upper(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? gsl_cdf_gamma_Q(x / d->a[THETA], d->a[K], 1.0) : 1.0;
}

static void gamma_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    *mean = d->a[K] * d->a[THETA];
    *variance = *mean * d->a[THETA];
}

static const struct chance_line gamma_line = {
    .log_lower = gamma_log_lower, .log_upper = gamma_log_upper, .log_density = gamma_log_density,
    .drift = gamma_drift, .start = gamma_start, .value = gamma_value, .stretch = gamma_value,
    .place = gamma_place
};
static const struct chance_family gamma_family = {
    .lower = gamma_lower, .upper = gamma_upper, .quantile = chance_line_quantile, .slope = chance_line_slope,
    .moments = gamma_moments, .line = &gamma_line
};

static bool gamma_of(struct chance_judge *judge, struct chance_distribution *d, double k, double theta)
{
    if (!(k >= LEAST_SHAPE && k <= MOST_GAMMA))
        return chance_wrong(judge, "this gamma's k = (mean/sd)^2 is %.3g, but must be from %g to %g: %s", k,
                            LEAST_SHAPE, MOST_GAMMA,
                            k > 1.0 ? "so narrow a one is a normal" : "give a smaller sd");
    d->family = &gamma_family;
    d->a[K] = k;
    d->a[THETA] = theta;
    d->a[LOG_GAMMA] = gsl_sf_lngamma(k);
    d->least = 0.0;
    d->most = HUGE_VAL;
    return true;
}

bool chance_prepare_gamma(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    return chance_positive_mean_sd(judge)
           && gamma_of(judge, d, a[0] / a[1] * (a[0] / a[1]), a[1] / a[0] * a[1]);
}

bool chance_prepare_gamma_shape(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[0] > 0.0 && a[1] > 0.0))
        return chance_wrong(judge, "k and theta must be greater than 0");
    return gamma_of(judge, d, a[0], a[1]);
}

/* ---- beta, from low to low + width: t = ln(y / (1 - y)) ----------------------------------------- */

enum { ALPHA, BETA, LOG_BETA, LOW, WIDTH };

static double beta_log_density(const struct chance_distribution *d, double t)
{
    double sum = d->a[ALPHA] + d->a[BETA];
    double kernel = t < 0.0 ? d->a[ALPHA] * t - sum * log1p(exp(t)) : -d->a[BETA] * t - sum * log1p(exp(-t));
    return kernel - d->a[LOG_BETA];
}

static double beta_drift(const struct chance_distribution *d, double t)
{
    double y = 1.0 / (1.0 + exp(-t)), rest = 1.0 / (1.0 + exp(t));
    return d->a[ALPHA] * rest - d->a[BETA] * y;
}

/* P(Y <= y) and P(Y > y) from whichever of y and 1 - y is small, so that both keep their digits. */
static double beta_mass(const struct chance_distribution *d, double y, double rest, bool upper)
{
    if (y < rest)
        return upper ? gsl_cdf_beta_Q(y, d->a[ALPHA], d->a[BETA])
                     : gsl_cdf_beta_P(y, d->a[ALPHA], d->a[BETA]);
    return upper ? gsl_cdf_beta_P(rest, d->a[BETA], d->a[ALPHA])
                 : gsl_cdf_beta_Q(rest, d->a[BETA], d->a[ALPHA]);
}

static double beta_log_mass(const struct chance_distribution *d, double t, bool upper)
{
    double mass = beta_mass(d, 1.0 / (1.0 + exp(-t)), 1.0 / (1.0 + exp(t)), upper);
    return log_mass(mass, beta_log_density(d, t), beta_drift(d, t));
}

static double beta_log_lower(const struct chance_distribution *d, double t)
{
    if (t < -FAR)
        return d->a[ALPHA] * t - d->a[LOG_BETA] - log(d->a[ALPHA]);
    return t > FAR ? log1p(-exp(-d->a[BETA] * t - d->a[LOG_BETA]) / d->a[BETA]) : beta_log_mass(d, t, false);
}

static double beta_log_upper(const struct chance_distribution *d, double t)
{
    if (t > FAR)
        return -d->a[BETA] * t - d->a[LOG_BETA] - log(d->a[BETA]);
    return t < -FAR ? log1p(-exp(d->a[ALPHA] * t - d->a[LOG_BETA]) / d->a[ALPHA]) : beta_log_mass(d, t, true);
}

/* The mean's place. */
static double beta_start(const struct chance_distribution *d, double p, double s)
{
    (void)p;
    (void)s;
    return log(d->a[ALPHA] / d->a[BETA]);
}

static double beta_value(const struct chance_distribution *d, double t)
{
    if (t < 0.0)
        return d->a[LOW] + d->a[WIDTH] / (1.0 + exp(-t));
    return d->a[LOW] + d->a[WIDTH] - d->a[WIDTH] / (1.0 + exp(t));
}

static double beta_stretch(const struct chance_distribution *d, double t)
{
    return d->a[WIDTH] / (1.0 + exp(-t)) / (1.0 + exp(t));
}

static double beta_place(const struct chance_distribution *d, double x)
{
    return log((x - d->a[LOW]) / (d->a[LOW] + d->a[WIDTH] - x));
}

static double beta_between(const struct chance_distribution *d, double x, bool upper)
{
    double y = (x - d->a[LOW]) / d->a[WIDTH], rest = (d->a[LOW] + d->a[WIDTH] - x) / d->a[WIDTH];
    if (y <= 0.0 || rest <= 0.0)
        return (y <= 0.0) == upper ? 1.0 : 0.0;
    return beta_mass(d, y, rest, upper);
}

static double beta_lower(const struct chance_distribution *d, double x) { return beta_between(d, x, false); }
static double beta_upper(const struct chance_distribution *d, double x) { return beta_between(d, x, true); }

static void beta_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    double a = d->a[ALPHA], b = d->a[BETA], sum = a + b;
    *mean = d->a[LOW] + d->a[WIDTH] * a / sum;
    *variance = d->a[WIDTH] * d->a[WIDTH] * (a / sum) * (b / sum) / (sum + 1.0);
}

static const struct chance_line beta_line = {
    .log_lower = beta_log_lower, .log_upper = beta_log_upper, .log_density = beta_log_density,
    .drift = beta_drift, .start = beta_start, .value = beta_value, .stretch = beta_stretch,
    .place = beta_place
};
static const struct chance_family beta_family = {
    .lower = beta_lower, .upper = beta_upper, .quantile = chance_line_quantile, .slope = chance_line_slope,
    .moments = beta_moments, .line = &beta_line
};

static bool beta_of(struct chance_judge *judge, struct chance_distribution *d, double alpha, double beta)
{
    if (!(alpha >= LEAST_SHAPE && beta >= LEAST_SHAPE && alpha + beta <= MOST_BETA))
        return chance_wrong(
            judge,
            "this beta's alpha = %.3g and beta = %.3g must be at least %g and together at most %g: "
            "choose another sd",
            alpha, beta, LEAST_SHAPE, MOST_BETA);
    d->family = &beta_family;
    d->a[ALPHA] = alpha;
    d->a[BETA] = beta;
    d->a[LOG_BETA] = gsl_sf_lnbeta(alpha, beta);
    d->a[LOW] = 0.0;
    d->a[WIDTH] = 1.0;
    d->least = 0.0;
    d->most = 1.0;
    return true;
}

/* alpha + beta = mean (1 - mean) / sd^2 - 1. */
bool chance_prepare_beta(struct chance_judge *judge, struct chance_distribution *d)
{
    const double mean = judge->spec->a[0], sd = judge->spec->a[1];
    if (!(mean > 0.0 && mean < 1.0))
        return chance_wrong(judge, "a beta's mean is %g, but must lie between 0 and 1", mean);
    if (!(sd > 0.0))
        return chance_wrong(judge, "sd is %g, but must be greater than 0", sd);
    double sum = mean * (1.0 - mean) / (sd * sd) - 1.0;
    if (!(sum > 0.0))
        return chance_wrong(judge,
                            "sd is %g, but with this mean must be less than sqrt(mean (1 - mean)) = %.4g", sd,
                            floor(sqrt(mean * (1.0 - mean)) * 1e4) / 1e4);
    return beta_of(judge, d, mean * sum, (1.0 - mean) * sum);
}

bool chance_prepare_beta_shape(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!(a[0] > 0.0 && a[1] > 0.0))
        return chance_wrong(judge, "alpha and beta must be greater than 0");
    return beta_of(judge, d, a[0], a[1]);
}

/* A beta from low to high with mean (low + 4 mode + high)/6 (Malcolm et al. 1959, "Application of a
 * technique for research and development program evaluation", Operations Research 7(5):646-669, from
 * memory). */
bool chance_prepare_pert(struct chance_judge *judge, struct chance_distribution *d)
{
    const double *a = judge->spec->a;
    if (!chance_three_in_order(judge))
        return false;
    double width = a[2] - a[0];
    if (!beta_of(judge, d, 1.0 + 4.0 * (a[1] - a[0]) / width, 1.0 + 4.0 * (a[2] - a[1]) / width))
        return false;
    d->a[LOW] = a[0];
    d->a[WIDTH] = width;
    d->least = a[0];
    d->most = a[2];
    return true;
}
