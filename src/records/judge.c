/* judge.c: which shape a sample has, by Akaike's criterion for few records, and how near it is. */
#include "records/fit.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* Shapes that the model has for the kind's figures. */
static bool is_candidate(enum records_kind kind, enum records_shape shape)
{
    switch (kind) {
    case RECORDS_LAST_FROST:
    case RECORDS_FIRST_HARD_FROST:
    case RECORDS_SEASON_WARMTH: return shape == RECORDS_NORMAL || shape == RECORDS_TRIPLET;
    case RECORDS_FRUITS: return records_fit_is_count(shape);
    case RECORDS_KEPT: return shape == RECORDS_WEIBULL || shape == RECORDS_LOGNORMAL;
    default: return shape == RECORDS_NORMAL || records_fit_is_positive(shape);
    }
}

static bool is_climate(enum records_kind kind) { return kind >= RECORDS_KINDS; }

/* Anderson and Darling's statistic wants every figure exact. */
static bool all_exact(const struct records_sample *sample)
{
    return sample->kind != RECORDS_FRUITS && sample->kind != RECORDS_KEPT && sample->events == sample->n;
}

/* A normal that goes below 0 is no weight: the settings allow a millionth. */
static bool goes_below_0(const struct records_fit *fit)
{
    return fit->shape == RECORDS_NORMAL && records_fit_lower(fit->shape, fit->p, 0) > 1e-6;
}

static bool can_be_used(const struct records_sample *sample, const struct records_fit *fit)
{
    return is_climate(sample->kind) ? records_can_be_said(sample->kind, fit->shape, fit->p) : !goes_below_0(fit);
}

/* False when memory runs out. */
static bool fit_one(const struct records_sample *sample, enum records_shape shape, struct records_verdict *verdict)
{
    int n = sample->n + sample->prior_n;
    struct records_fit *fit = &verdict->fit[shape];
    verdict->fitted[shape] = records_fit_shape(shape, sample->seen, n, fit) && can_be_used(sample, fit);
    if (!verdict->fitted[shape])
        return true;
    for (int i = 0; i < RECORDS_MOST_PARAMETERS; i++) {
        verdict->low[shape][i] = verdict->high[shape][i] = NAN;
        if (i < fit->parameters && records_has_profile(shape, i))
            records_profile_interval(fit, sample->seen, n, i, 0.95, &verdict->low[shape][i], &verdict->high[shape][i]);
    }
    verdict->statistic[shape] = all_exact(sample) ? records_anderson_darling(fit, sample->seen, sample->n)
                                                  : records_kolmogorov(fit, &verdict->curve);
    if (verdict->chosen < 0 || fit->aicc < verdict->fit[verdict->chosen].aicc)
        verdict->chosen = (int)shape;
    return !isnan(verdict->statistic[shape]);
}

/* What the own records say of the mean, the prior aside. */
static void own_mean(const struct records_sample *sample, int shape, struct records_verdict *verdict)
{
    struct records_fit own;
    double sum = 0, squares = 0;
    verdict->own_mean = verdict->own_mean_error = NAN;
    if (sample->kind == RECORDS_KEPT || (is_climate(sample->kind) && !all_exact(sample))) {
        if (shape >= 0 && records_fit_shape(shape, sample->seen, sample->n, &own)) {
            verdict->own_mean = own.mean;
            verdict->own_mean_error = own.mean_std_error;
        }
        return;
    }
    for (int i = 0; i < sample->n; i++) {
        sum += sample->seen[i].low;
        squares += sample->seen[i].low * sample->seen[i].low;
    }
    verdict->own_mean = sum / sample->n;
    if (sample->n > 1)
        verdict->own_mean_error = sqrt(fmax(0, squares - sum * sum / sample->n) / (sample->n - 1) / sample->n);
}

/* What stands for a shape where records are few: of frosts only where no more than these are few, not where most years had none. */
static bool has_triplet(const struct records_sample *sample, double triplet[3])
{
    const double a_day = 1, a_tenth_c = 0.1; /* the least spread: as near as a record is read */
    if (sample->kind == RECORDS_KEPT)
        return false;
    if (!is_climate(sample->kind))
        return records_few(sample->seen, sample->n, triplet);
    double least_sd = sample->kind == RECORDS_SEASON_WARMTH ? a_tenth_c : a_day;
    return sample->n < RECORDS_FEWEST && sample->events > 1 && records_few_level(sample->seen, sample->n, least_sd, triplet);
}

bool records_judge(struct base_arena *arena, const struct records_sample *sample, struct records_verdict *verdict)
{
    *verdict = (struct records_verdict){ .chosen = -1 };
    verdict->statistic_name = all_exact(sample) ? "Anderson-Darling A2" : "Kolmogorov distance";
    if (!records_curve_of(arena, sample->seen, sample->n, &verdict->curve))
        return false;
    int enough = sample->events + sample->prior_n;
    for (int shape = 0; shape < RECORDS_SHAPES && enough >= RECORDS_FEWEST; shape++)
        if (is_candidate(sample->kind, shape) && !fit_one(sample, shape, verdict))
            return false;
    if (verdict->chosen < 0)
        verdict->has_triplet = has_triplet(sample, verdict->triplet);
    own_mean(sample, verdict->chosen, verdict);
    return true;
}
