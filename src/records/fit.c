/* fit.c: the shape's parameters by maximum likelihood, their curvature, profile intervals. */
#include "records/fit.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_multimin.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

/* ---- the likelihood ------------------------------------------------------------------------------------ */

/* Log of the chance of lying in (low, high], from the nearer tail. */
static double log_between(enum records_shape shape, const double p[], double low, double high)
{
    if (isinf(high))
        return log(records_fit_upper(shape, p, low));
    double lower = records_fit_lower(shape, p, low);
    double chance = lower < 0.5 ? records_fit_lower(shape, p, high) - lower
                                : records_fit_upper(shape, p, low) - records_fit_upper(shape, p, high);
    return log(chance);
}

double records_log_likelihood(enum records_shape shape, const double p[], const struct records_observation *seen, int n)
{
    double at[RECORDS_MOST_PARAMETERS], sum = 0;
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
    double origin[RECORDS_MOST_PARAMETERS], unit[RECORDS_MOST_PARAMETERS]; /* the simplex walks in units of the first step */
};

/* Minus the log-likelihood, kept finite for the searches. */
static double loss_at(const struct search *search, const double at[])
{
    double p[RECORDS_MOST_PARAMETERS];
    records_fit_parameters(search->shape, at, p);
    double value = -records_log_likelihood(search->shape, p, search->seen, search->n);
    return isfinite(value) && value < 1e30 ? value : 1e30;
}

/* The search's coordinates from those that are free, the held one between them. */
static void place(const struct search *search, const gsl_vector *where, double at[])
{
    size_t free = 0;
    for (int i = 0; i < records_fit_count(search->shape); i++)
        at[i] = i == search->held ? search->held_at : search->origin[i] + search->unit[i] * gsl_vector_get(where, free++);
}

static double loss(const gsl_vector *where, void *context)
{
    double at[RECORDS_MOST_PARAMETERS] = { 0 };
    place(context, where, at);
    return loss_at(context, at);
}

/* In first steps, which are a tenth of the spread: the likelihood's own rounding hides steps below some 3e-8 of that. */
static const double LEAST_SIZE = 2e-6;

/* The simplex of Nelder and Mead over the free coordinates, begun anew once where it ended: it then cannot have stopped short. */
static bool simplex(struct search *search, double at[], const double step[])
{
    enum { MOST_STEPS = 2000, ROUNDS = 2 };
    size_t dimensions = (size_t)(records_fit_count(search->shape) - (search->held >= 0));
    gsl_multimin_function function = { loss, dimensions, search };
    gsl_multimin_fminimizer *minimizer = gsl_multimin_fminimizer_alloc(gsl_multimin_fminimizer_nmsimplex2, dimensions);
    gsl_vector *where = gsl_vector_alloc(dimensions), *steps = gsl_vector_alloc(dimensions);
    bool settled = minimizer && where && steps;
    memcpy(search->unit, step, sizeof search->unit);
    for (int round = 0; round < ROUNDS && settled; round++) {
        memcpy(search->origin, at, sizeof search->origin);
        gsl_vector_set_zero(where);
        gsl_vector_set_all(steps, round == 0 ? 1 : 1.0 / 16);
        gsl_multimin_fminimizer_set(minimizer, &function, where, steps);
        settled = false;
        for (int i = 0; i < MOST_STEPS && !settled; i++) {
            if (gsl_multimin_fminimizer_iterate(minimizer) != GSL_SUCCESS)
                break;
            settled = gsl_multimin_fminimizer_size(minimizer) < LEAST_SIZE;
        }
        place(search, gsl_multimin_fminimizer_x(minimizer), at);
    }
    gsl_multimin_fminimizer_free(minimizer);
    gsl_vector_free(where);
    gsl_vector_free(steps);
    return settled;
}

/* ---- beginnings -------------------------------------------------------------------------------------------- */

/* A figure that stands for what was seen: the middle of an interval, the end of one that has only one. */
static double middle(const struct records_observation *seen)
{
    return isinf(seen->high) ? seen->low : isinf(seen->low) ? seen->high : (seen->low + seen->high) / 2;
}

static bool begin(enum records_shape shape, const struct records_observation *seen, int n, double at[])
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
    double cv = sd / mean, p[RECORDS_MOST_PARAMETERS] = { mean, sd };
    if (shape == RECORDS_LOGNORMAL) {
        p[1] = sqrt(log1p(cv * cv));
        p[0] = log(mean) - p[1] * p[1] / 2;
    } else if (shape == RECORDS_WEIBULL) {
        p[0] = fmin(50, fmax(0.3, pow(cv, -1.086))); /* a usual approximation, good enough to begin with */
        p[1] = mean;
    } else if (shape == RECORDS_TRIPLET) {
        p[0] = mean - 1.28 * sd;
        p[1] = mean;
        p[2] = mean + 1.28 * sd;
    }
    return records_fit_coordinates(shape, p, at);
}

/* ---- curvature --------------------------------------------------------------------------------------------- */

static void step_sizes(enum records_shape shape, const double at[], double size, double step[])
{
    double spread = shape == RECORDS_TRIPLET ? exp(at[0]) / 2.56 : exp(at[1]); /* of what is no logarithm */
    bool level = shape == RECORDS_TRIPLET || !records_fit_is_log(shape, 0);
    for (int i = 0; i < RECORDS_MOST_PARAMETERS; i++)
        step[i] = level && i == (shape == RECORDS_TRIPLET) ? size * spread : size;
}

/* Inverse of a symmetric positive definite matrix by Gauss and Jordan; false when it is none. */
static bool invert(int k, double a[][RECORDS_MOST_PARAMETERS], double inverse[][RECORDS_MOST_PARAMETERS])
{
    for (int i = 0; i < k; i++)
        for (int j = 0; j < k; j++)
            inverse[i][j] = i == j;
    for (int i = 0; i < k; i++) {
        double pivot = a[i][i];
        if (!(pivot > 0))
            return false;
        for (int j = 0; j < k; j++) {
            a[i][j] /= pivot;
            inverse[i][j] /= pivot;
        }
        for (int row = 0; row < k; row++) {
            double factor = a[row][i];
            for (int j = 0; j < k && row != i; j++) {
                a[row][j] -= factor * a[i][j];
                inverse[row][j] -= factor * inverse[i][j];
            }
        }
    }
    return true;
}

/* Covariance as the inverse of the log-likelihood's curvature, by central differences; false when it has none. */
static bool curvature(const struct search *search, struct records_fit *fit)
{
    double h[RECORDS_MOST_PARAMETERS], c[RECORDS_MOST_PARAMETERS][RECORDS_MOST_PARAMETERS];
    step_sizes(fit->shape, fit->at, 1e-3, h);
    for (int i = 0; i < fit->parameters; i++)
        for (int j = 0; j < fit->parameters; j++) {
            double sum = 0;
            for (int corner = 0; corner < 4; corner++) {
                double at[RECORDS_MOST_PARAMETERS];
                memcpy(at, fit->at, sizeof at);
                at[i] += corner & 1 ? h[i] : -h[i];
                at[j] += corner & 2 ? h[j] : -h[j];
                sum += ((corner & 1) == (corner >> 1) ? 1 : -1) * loss_at(search, at);
            }
            c[i][j] = sum / (4 * h[i] * h[j]);
        }
    return invert(fit->parameters, c, fit->covariance);
}

enum { THE_MEAN = RECORDS_MOST_PARAMETERS };

/* Standard error of a figure of the coordinates, by the delta method: a parameter, or THE_MEAN. */
static double delta_error(const struct records_fit *fit, int which)
{
    double h[RECORDS_MOST_PARAMETERS], slope[RECORDS_MOST_PARAMETERS] = { 0 };
    step_sizes(fit->shape, fit->at, 1e-4, h);
    for (int i = 0; i < fit->parameters; i++) {
        double figure[2];
        for (int side = 0; side < 2; side++) {
            double at[RECORDS_MOST_PARAMETERS], p[RECORDS_MOST_PARAMETERS], mean, sd;
            memcpy(at, fit->at, sizeof at);
            at[i] += side ? h[i] : -h[i];
            records_fit_parameters(fit->shape, at, p);
            records_fit_moments(fit->shape, p, &mean, &sd);
            figure[side] = which == THE_MEAN ? mean : p[which];
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
        if (exact && !isfinite(records_fit_log_density(shape, (double[]){ 1, 1.5, 2 }, seen[i].low)))
            return false;
        *events += !isinf(seen[i].high) && !isinf(seen[i].low);
        values += middle(&seen[i]);
        squares += middle(&seen[i]) * middle(&seen[i]);
    }
    bool any_sign = shape == RECORDS_NORMAL || shape == RECORDS_TRIPLET;
    if (*events < records_fit_count(shape) || (!any_sign && !(values > 0)))
        return false;
    double mean = values / n;
    return shape != RECORDS_NEGATIVE_BINOMIAL || squares / n - mean * mean > mean;
}

bool records_fit_shape(enum records_shape shape, const struct records_observation *seen, int n, struct records_fit *fit)
{
    *fit = (struct records_fit){ .shape = shape, .parameters = records_fit_count(shape), .n = n,
                                 .std_error = { NAN, NAN, NAN }, .mean_std_error = NAN };
    struct search search = { .shape = shape, .seen = seen, .n = n, .held = -1 };
    double step[RECORDS_MOST_PARAMETERS];
    if (!can_be_fitted(shape, seen, n, &fit->events) || !begin(shape, seen, n, fit->at))
        return false;
    step_sizes(shape, fit->at, 0.1, step);
    if (!simplex(&search, fit->at, step))
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
        fit->mean_std_error = delta_error(fit, THE_MEAN);
    }
    return true;
}

double records_survival(const struct records_fit *fit, double x) { return records_fit_upper(fit->shape, fit->p, x); }

/* ---- profiles -------------------------------------------------------------------------------------------------- */

static double held_loss(double other, void *context)
{
    const struct search *search = context;
    double at[RECORDS_MOST_PARAMETERS];
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
    struct search search = { .shape = fit->shape, .seen = seen, .n = n, .held = which, .held_at = at };
    double step[RECORDS_MOST_PARAMETERS], one[RECORDS_MOST_PARAMETERS] = { at };
    if (fit->parameters == 1)
        return 2 * (loss_at(&search, one) + fit->log_likelihood);
    step_sizes(fit->shape, fit->at, 0.1, step);
    if (fit->parameters == 3) {
        memcpy(one, fit->at, sizeof one);
        one[which] = at;
        simplex(&search, one, step); /* where it has not settled, what it found is near enough for an end */
        return 2 * (loss_at(&search, one) + fit->log_likelihood);
    }
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
    double limit = gsl_cdf_chisq_Pinv(confidence, 1), step[RECORDS_MOST_PARAMETERS];
    step_sizes(fit->shape, fit->at, 0.2, step);
    *low = end_of(fit, seen, n, which, limit, -step[which]);
    *high = end_of(fit, seen, n, which, limit, step[which]);
    if (records_fit_is_log(fit->shape, which)) {
        *low = exp(*low);
        *high = exp(*high);
    }
}

/* ---- few records -------------------------------------------------------------------------------------------------- */

/* What stands for a record: itself, or its log. */
static double stands_for(const struct records_observation *seen, bool logs)
{
    double figure = middle(seen);
    bool small_count = seen->low == floor(seen->low) && seen->low < 1;
    return logs ? log(fmax(figure, small_count ? 0.5 : 0)) : figure;
}

/* Where one more would lie in eight of ten cases, by Student's t; the spread at `least_sd` or more. */
static void predict(const struct records_observation *seen, int n, bool logs, double least_sd, double triplet[3])
{
    double sum = 0, squares = 0;
    for (int i = 0; i < n; i++)
        sum += stands_for(&seen[i], logs);
    double mean = sum / n;
    for (int i = 0; i < n; i++)
        squares += (stands_for(&seen[i], logs) - mean) * (stands_for(&seen[i], logs) - mean);
    double sd = fmax(sqrt(squares / (n - 1)), least_sd);
    double half = gsl_cdf_tdist_Pinv(0.9, n - 1) * sd * sqrt(1 + 1.0 / n);
    triplet[0] = mean - half;
    triplet[1] = mean;
    triplet[2] = mean + half;
}

bool records_few(const struct records_observation *seen, int n, double triplet[3])
{
    if (n < 2)
        return false;
    /* All alike: the weights were rounded; a twentieth is as near as a kitchen scale and an eye come. */
    predict(seen, n, true, 0.05, triplet);
    for (int i = 0; i < 3; i++)
        triplet[i] = exp(triplet[i]);
    return isfinite(triplet[1]) && triplet[0] > 0;
}

bool records_few_level(const struct records_observation *seen, int n, double least_sd, double triplet[3])
{
    if (n < 2)
        return false;
    predict(seen, n, false, least_sd, triplet);
    return isfinite(triplet[1]);
}
