/* judge.c: which shape a sample has, by Akaike's criterion for few records, and how near it is. */
#include "records/fit.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* Shapes that the model has for the kind's figures. */
static bool is_candidate(enum records_kind kind, enum records_shape shape)
{
    switch (kind) {
    case RECORDS_FRUITS: return shape >= RECORDS_POISSON;
    case RECORDS_KEPT: return shape == RECORDS_WEIBULL || shape == RECORDS_LOGNORMAL;
    default: return shape < RECORDS_POISSON;
    }
}

/* A normal that goes below 0 is no weight: the settings allow a millionth. */
static bool goes_below_0(const struct records_fit *fit)
{
    return fit->shape == RECORDS_NORMAL && records_fit_lower(fit->shape, fit->p, 0) > 1e-6;
}

/* False when memory runs out. */
static bool fit_one(const struct records_sample *sample, enum records_shape shape, struct records_verdict *verdict)
{
    int n = sample->n + sample->prior_n;
    struct records_fit *fit = &verdict->fit[shape];
    verdict->fitted[shape] = records_fit_shape(shape, sample->seen, n, fit) && !goes_below_0(fit);
    if (!verdict->fitted[shape])
        return true;
    for (int i = 0; i < 2; i++) {
        verdict->low[shape][i] = verdict->high[shape][i] = NAN;
        if (i < fit->parameters && !(shape == RECORDS_NEGATIVE_BINOMIAL && i == 1))
            records_profile_interval(fit, sample->seen, n, i, 0.95, &verdict->low[shape][i], &verdict->high[shape][i]);
    }
    bool weights = sample->kind == RECORDS_UNIT_KG || sample->kind == RECORDS_FRUIT_KG;
    verdict->statistic[shape] = weights ? records_anderson_darling(fit, sample->seen, sample->n)
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
    if (sample->kind == RECORDS_KEPT) {
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

bool records_judge(struct base_arena *arena, const struct records_sample *sample, struct records_verdict *verdict)
{
    *verdict = (struct records_verdict){ .chosen = -1 };
    bool weights = sample->kind == RECORDS_UNIT_KG || sample->kind == RECORDS_FRUIT_KG;
    verdict->statistic_name = weights ? "Anderson-Darling A2" : "Kolmogorov distance";
    if (!records_curve_of(arena, sample->seen, sample->n, &verdict->curve))
        return false;
    int enough = sample->events + sample->prior_n;
    for (int shape = 0; shape < RECORDS_SHAPES && enough >= RECORDS_FEWEST; shape++)
        if (is_candidate(sample->kind, shape) && !fit_one(sample, shape, verdict))
            return false;
    if (verdict->chosen < 0 && sample->kind != RECORDS_KEPT)
        verdict->has_triplet = records_few(sample->seen, sample->n, verdict->triplet);
    own_mean(sample, verdict->chosen, verdict);
    return true;
}
