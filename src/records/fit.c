/* fit.c: the shape's parameters by maximum likelihood, their curvature, profile intervals. */
#include "records/fit.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_multimin.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>

/* ---- the likelihood ------------------------------------------------------------------------------------ */

/* Log of the chance of lying in (low, high], from the nearer tail. */
static double log_between(enum records_shape shape, const double p[2], double low, double high)
{
    if (isinf(high))
        return log(records_fit_upper(shape, p, low));
    double lower = records_fit_lower(shape, p, low);
    double chance = lower < 0.5 ? records_fit_lower(shape, p, high) - lower
                                : records_fit_upper(shape, p, low) - records_fit_upper(shape, p, high);
    return log(chance);
}

double records_log_likelihood(enum records_shape shape, const double p[2], const struct records_observation *seen, int n)
{
    double at[2], sum = 0;
    if (!records_fit_coordinates(shape, p, at))
        return -HUGE_VAL;
    for (int i = 0; i < n; i++)
        sum += seen[i].low == seen[i].high ? records_fit_log_density(shape, p, seen[i].low)
                                           : log_between(shape, p, seen[i].low, seen[i].high);
    return isnan(sum) ? -HUGE_VAL : sum;
}

struct search {
    enum records_shape shape;
    const struct records_observation *seen;
    int n;
    int held;                       /* the coordinate held, -1: none */
    double held_at;
};

/* Minus the log-likelihood, kept finite for the searches. */
static double loss_at(const struct search *search, const double at[2])
{
    double p[2];
    records_fit_parameters(search->shape, at, p);
    double value = -records_log_likelihood(search->shape, p, search->seen, search->n);
    return isfinite(value) && value < 1e30 ? value : 1e30;
}

static double loss(const gsl_vector *where, void *context)
{
    const struct search *search = context;
    double at[2] = { gsl_vector_get(where, 0), where->size > 1 ? gsl_vector_get(where, 1) : 0 };
    return loss_at(search, at);
}

/* The likelihood's own rounding hides steps below some 3e-8 of the spread. */
static const double LEAST_SIZE = 2e-7;

/* The simplex of Nelder and Mead, begun anew once where it ended: it then cannot have stopped short. */
static bool simplex(struct search *search, double at[2], const double step[2], size_t dimensions)
{
    enum { MOST_STEPS = 2000, ROUNDS = 2 };
    gsl_multimin_function function = { loss, dimensions, search };
    gsl_multimin_fminimizer *minimizer = gsl_multimin_fminimizer_alloc(gsl_multimin_fminimizer_nmsimplex2, dimensions);
    gsl_vector *where = gsl_vector_alloc(dimensions), *steps = gsl_vector_alloc(dimensions);
    bool settled = minimizer && where && steps;
    for (int round = 0; round < ROUNDS && settled; round++) {
        for (size_t i = 0; i < dimensions; i++) {
            gsl_vector_set(where, i, at[i]);
            gsl_vector_set(steps, i, round == 0 ? step[i] : step[i] / 16);
        }
        gsl_multimin_fminimizer_set(minimizer, &function, where, steps);
        settled = false;
        for (int i = 0; i < MOST_STEPS && !settled; i++) {
            if (gsl_multimin_fminimizer_iterate(minimizer) != GSL_SUCCESS)
                break;
            settled = gsl_multimin_fminimizer_size(minimizer) < LEAST_SIZE * fmin(1, step[0] / 0.1);
        }
        for (size_t i = 0; i < dimensions; i++)
            at[i] = gsl_vector_get(gsl_multimin_fminimizer_x(minimizer), i);
    }
    gsl_multimin_fminimizer_free(minimizer);
    gsl_vector_free(where);
    gsl_vector_free(steps);
    return settled;
}

/* ---- beginnings -------------------------------------------------------------------------------------------- */

/* A figure that stands for what was seen: the middle of an interval. */
static double middle(const struct records_observation *seen)
{
    return isinf(seen->high) ? seen->low : (seen->low + seen->high) / 2;
}

static bool begin(enum records_shape shape, const struct records_observation *seen, int n, double at[2])
{
    double sum = 0, squares = 0;
    for (int i = 0; i < n; i++)
        sum += middle(&seen[i]);
    double mean = sum / n;
    for (int i = 0; i < n; i++)
        squares += (middle(&seen[i]) - mean) * (middle(&seen[i]) - mean);
    double sd = sqrt(squares / fmax(1, n - 1));
    if (!(sd > 0) && shape != RECORDS_POISSON)
        return false;
    double cv = sd / mean, p[2] = { mean, sd };
    if (shape == RECORDS_LOGNORMAL) {
        p[1] = sqrt(log1p(cv * cv));
        p[0] = log(mean) - p[1] * p[1] / 2;
    } else if (shape == RECORDS_WEIBULL) {
        p[0] = fmin(50, fmax(0.3, pow(cv, -1.086))); /* a usual approximation, good enough to begin with */
        p[1] = mean;
    }
    return records_fit_coordinates(shape, p, at);
}

/* ---- curvature --------------------------------------------------------------------------------------------- */

static void step_sizes(enum records_shape shape, const double at[2], double size, double step[2])
{
    step[0] = records_fit_is_log(shape, 0) ? size : size * exp(at[1]);
    step[1] = size;
}

/* Covariance as the inverse of the log-likelihood's curvature, by central differences; false when it has none. */
static bool curvature(const struct search *search, struct records_fit *fit)
{
    double h[2], c[2][2];
    step_sizes(fit->shape, fit->at, 1e-3, h);
    for (int i = 0; i < fit->parameters; i++)
        for (int j = 0; j < fit->parameters; j++) {
            double sum = 0;
            for (int corner = 0; corner < 4; corner++) {
                double at[2] = { fit->at[0], fit->at[1] };
                at[i] += corner & 1 ? h[i] : -h[i];
                at[j] += corner & 2 ? h[j] : -h[j];
                sum += ((corner & 1) == (corner >> 1) ? 1 : -1) * loss_at(search, at);
            }
            c[i][j] = sum / (4 * h[i] * h[j]);
        }
    if (fit->parameters == 1) {
        fit->covariance[0][0] = 1 / c[0][0];
        return c[0][0] > 0;
    }
    double determinant = c[0][0] * c[1][1] - c[0][1] * c[1][0];
    fit->covariance[0][0] = c[1][1] / determinant;
    fit->covariance[1][1] = c[0][0] / determinant;
    fit->covariance[0][1] = fit->covariance[1][0] = -c[0][1] / determinant;
    return c[0][0] > 0 && c[1][1] > 0 && determinant > 0;
}

/* Standard error of a figure of the coordinates, by the delta method: `which` 0 and 1 the parameters, 2 the mean. */
static double delta_error(const struct records_fit *fit, int which)
{
    double h[2], slope[2] = { 0, 0 };
    step_sizes(fit->shape, fit->at, 1e-4, h);
    for (int i = 0; i < fit->parameters; i++) {
        double figure[2];
        for (int side = 0; side < 2; side++) {
            double at[2] = { fit->at[0], fit->at[1] }, p[2], mean, sd;
            at[i] += side ? h[i] : -h[i];
            records_fit_parameters(fit->shape, at, p);
            records_fit_moments(fit->shape, p, &mean, &sd);
            figure[side] = which == 2 ? mean : p[which];
        }
        slope[i] = (figure[1] - figure[0]) / (2 * h[i]);
    }
    double variance = 0;
    for (int i = 0; i < fit->parameters; i++)
        for (int j = 0; j < fit->parameters; j++)
            variance += slope[i] * slope[j] * fit->covariance[i][j];
    return sqrt(variance);
}

/* ---- the fit ------------------------------------------------------------------------------------------------- */

static bool can_be_fitted(enum records_shape shape, const struct records_observation *seen, int n, int *events)
{
    double values = 0, squares = 0;
    *events = 0;
    for (int i = 0; i < n; i++) {
        bool exact = seen[i].low == seen[i].high;
        if (exact && !isfinite(records_fit_log_density(shape, (double[]){ 1, 1.5 }, seen[i].low)))
            return false;
        *events += !isinf(seen[i].high);
        values += middle(&seen[i]);
        squares += middle(&seen[i]) * middle(&seen[i]);
    }
    if (*events < records_fit_count(shape) || !(values > 0))
        return false;
    double mean = values / n;
    return shape != RECORDS_NEGATIVE_BINOMIAL || squares / n - mean * mean > mean;
}

bool records_fit_shape(enum records_shape shape, const struct records_observation *seen, int n, struct records_fit *fit)
{
    *fit = (struct records_fit){ .shape = shape, .parameters = records_fit_count(shape), .n = n,
                                 .std_error = { NAN, NAN }, .mean_std_error = NAN };
    struct search search = { shape, seen, n, -1, 0 };
    double step[2];
    if (!can_be_fitted(shape, seen, n, &fit->events) || !begin(shape, seen, n, fit->at))
        return false;
    step_sizes(shape, fit->at, 0.1, step);
    if (!simplex(&search, fit->at, step, (size_t)fit->parameters))
        return false;
    records_fit_parameters(shape, fit->at, fit->p);
    fit->log_likelihood = -loss_at(&search, fit->at);
    if (!(fit->log_likelihood > -1e29))
        return false;
    int k = fit->parameters;
    fit->aicc = 2 * k - 2 * fit->log_likelihood + (n > k + 1 ? 2.0 * k * (k + 1) / (n - k - 1) : HUGE_VAL);
    records_fit_moments(shape, fit->p, &fit->mean, &fit->sd);
    if (curvature(&search, fit)) {
        for (int i = 0; i < k; i++)
            fit->std_error[i] = delta_error(fit, i);
        fit->mean_std_error = delta_error(fit, 2);
    }
    return true;
}

double records_survival(const struct records_fit *fit, double x) { return records_fit_upper(fit->shape, fit->p, x); }

/* ---- profiles -------------------------------------------------------------------------------------------------- */

static double held_loss(double other, void *context)
{
    const struct search *search = context;
    double at[2];
    at[search->held] = search->held_at;
    at[1 - search->held] = other;
    return loss_at(search, at);
}

/* Least loss over the other coordinate: the golden section between ends that bracket it. */
static double best_other(struct search *search, double start, double step)
{
    const double golden = 0.61803398874989485;
    double low = start - step, high = start + step, middle_loss = held_loss(start, search);
    for (int i = 0; i < 60 && held_loss(low, search) < middle_loss; i++)
        low -= step * (1 << (i < 20 ? i : 20));
    for (int i = 0; i < 60 && held_loss(high, search) < middle_loss; i++)
        high += step * (1 << (i < 20 ? i : 20));
    double a = high - golden * (high - low), b = low + golden * (high - low);
    double at_a = held_loss(a, search), at_b = held_loss(b, search);
    while (high - low > 1e-5 * (fabs(step) + 1e-9)) { /* the loss is then off by its square */
        if (at_a < at_b) {
            high = b;
            b = a;
            at_b = at_a;
            a = high - golden * (high - low);
            at_a = held_loss(a, search);
        } else {
            low = a;
            a = b;
            at_a = at_b;
            b = low + golden * (high - low);
            at_b = held_loss(b, search);
        }
    }
    return fmin(fmin(at_a, at_b), middle_loss);
}

static double loss_held_at(const struct records_fit *fit, const struct records_observation *seen, int n, int which, double at)
{
    struct search search = { fit->shape, seen, n, which, at };
    double step[2], one[2] = { at, 0 };
    if (fit->parameters == 1)
        return 2 * (loss_at(&search, one) + fit->log_likelihood);
    step_sizes(fit->shape, fit->at, 0.1, step);
    return 2 * (best_other(&search, fit->at[1 - which], step[1 - which]) + fit->log_likelihood);
}

double records_profile_loss(const struct records_fit *fit, const struct records_observation *seen, int n, int which,
                            double value)
{
    double at = records_fit_is_log(fit->shape, which) ? log(value) : value;
    return loss_held_at(fit, seen, n, which, at);
}

/* One end: outward until the loss is passed, then the bisection. */
static double end_of(const struct records_fit *fit, const struct records_observation *seen, int n, int which, double limit,
                     double step)
{
    double inside = fit->at[which], outside = inside + step;
    for (int i = 0; loss_held_at(fit, seen, n, which, outside) < limit; i++) {
        inside = outside;
        outside += step * (1 << (i < 10 ? i : 10));
        if (fabs(outside - fit->at[which]) > 14 * fmax(1, fabs(step)))
            return NAN;
    }
    for (int i = 0; i < 26; i++) {
        double half = (inside + outside) / 2;
        if (loss_held_at(fit, seen, n, which, half) < limit)
            inside = half;
        else
            outside = half;
    }
    return (inside + outside) / 2;
}

void records_profile_interval(const struct records_fit *fit, const struct records_observation *seen, int n, int which,
                              double confidence, double *low, double *high)
{
    double limit = gsl_cdf_chisq_Pinv(confidence, 1), step[2];
    step_sizes(fit->shape, fit->at, 0.2, step);
    *low = end_of(fit, seen, n, which, limit, -step[which]);
    *high = end_of(fit, seen, n, which, limit, step[which]);
    if (records_fit_is_log(fit->shape, which)) {
        *low = exp(*low);
        *high = exp(*high);
    }
}

/* ---- few records -------------------------------------------------------------------------------------------------- */

bool records_few(const struct records_observation *seen, int n, double triplet[3])
{
    double sum = 0, squares = 0;
    if (n < 2)
        return false;
    for (int i = 0; i < n; i++)
        sum += log(fmax(middle(&seen[i]), seen[i].low == floor(seen[i].low) && seen[i].low < 1 ? 0.5 : 0));
    double mean = sum / n;
    for (int i = 0; i < n; i++) {
        double off = log(fmax(middle(&seen[i]), seen[i].low == floor(seen[i].low) && seen[i].low < 1 ? 0.5 : 0)) - mean;
        squares += off * off;
    }
    /* All alike: the weights were rounded; a twentieth is as near as a kitchen scale and an eye come. */
    double sd = fmax(sqrt(squares / (n - 1)), 0.05);
    double half = gsl_cdf_tdist_Pinv(0.9, n - 1) * sd * sqrt(1 + 1.0 / n);
    triplet[0] = exp(mean - half);
    triplet[1] = exp(mean);
    triplet[2] = exp(mean + half);
    return isfinite(mean) && triplet[0] > 0;
}
