/* doubt.c: fitted distributions that come from few records: how their parameters could as well have come out.
 *
 * n records leave two things in doubt, where the distribution lies and how wide it is. In normal scores (for a normal or
 * lognormal shape exactly, for others nearly) the estimates of n records scatter by a normal of sd 1/sqrt(n) and by the root of
 * a chi-squared of n - 1 degrees of freedom over n - 1, independent of one another. Each of the PLAN_READINGS readings has one of
 * as many evenly spread quantiles of both, in an order of its own for every distribution. */
#include "plan/internal.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* Where (in standard deviations) and how wide (as a factor). */
struct shift { double by, width; };

/* Place of reading `reading` in a shuffled order of all readings (Fisher & Yates). */
static int shuffled(struct chance_pcg *pcg, int reading)
{
    int order[PLAN_READINGS];
    for (int i = 0; i < PLAN_READINGS; i++)
        order[i] = i;
    for (int i = PLAN_READINGS - 1; i > 0; i--) {
        int other = (int)(chance_uniform(chance_pcg_next(pcg)) * (i + 1)), kept = order[i];
        order[i] = order[other];
        order[other] = kept;
    }
    return order[reading];
}

static struct shift shift_of(const struct plan *plan, const char *entity, int which, double records, int reading)
{
    struct chance_pcg pcg = chance_stream(chance_season_key((uint64_t)which, 0, 0), chance_stream_key(entity, PLAN_DOUBT));
    double lies = (shuffled(&pcg, reading) + 0.5) / PLAN_READINGS, wide = (shuffled(&pcg, reading) + 0.5) / PLAN_READINGS;
    struct shift shift = { chance_curve(plan->normal->score, chance_word(lies)) / sqrt(records), 0 };
    shift.width = plan_round(sqrt(gsl_cdf_chisq_Pinv(wide, records - 1) / (records - 1)));
    return shift;
}

/* Weibull: the asymptotic scatter of maximum likelihood, n var(log k) = 0.608, n k^2 var(log scale) = 1.109, n k cov = 0.257
 * (from memory; the tests hold them against the curvature of a large fit). */
static void shift_weibull(struct shift shift, double *k, double *scale)
{
    const double k_sd = 0.7797, common = 0.257 / 0.7797, apart = sqrt(1.1087 - common * common);
    double wide = -log(shift.width) * sqrt(2); /* the width's log has an sd of 1/sqrt(2 n): now one of 1/sqrt(n) */
    *scale *= exp((common * wide + apart * shift.by) / *k);
    *k *= exp(k_sd * wide);
}

static void shift_triplet(const struct plan *plan, const struct chance_distribution *d, struct shift shift, double a[3])
{
    static const double at[3] = { 0.1, 0.5, 0.9 };
    for (int i = 0; i < 3; i++) {
        double z = shift.by + shift.width * chance_curve(plan->normal->score, chance_word(at[i]));
        a[i] = plan_round(chance_quantile(d, chance_uniform(chance_normal_word(plan->normal, z))));
    }
}

/* A mean and a spread: the mean scatters by its spread, the spread's share of it by the width. */
static void shift_moments(struct shift shift, double *mean, double *sd)
{
    double cv = *sd / *mean;
    *mean *= exp(shift.by * cv);
    *sd = *mean * cv * shift.width;
}

static void vary(const struct plan *plan, const struct chance_distribution *d, struct shift shift,
                 struct scenario_distribution *spec)
{
    double *a = spec->a, k, scale;
    switch (spec->shape) {
    case SCENARIO_TRIPLET: shift_triplet(plan, d, shift, a); break;
    case SCENARIO_NORMAL:
        a[0] += shift.by * a[1];
        a[1] *= shift.width;
        break;
    case SCENARIO_LOGNORMAL:
        k = sqrt(log1p(a[1] / a[0] * (a[1] / a[0])));
        scale = log(a[0]) - k * k / 2;
        a[0] = scale;
        a[1] = k;
        spec->shape = SCENARIO_LOGNORMAL_LOG;
        __attribute__((fallthrough));
    case SCENARIO_LOGNORMAL_LOG:
        a[0] += shift.by * a[1];
        a[1] *= shift.width;
        break;
    case SCENARIO_GAMMA: shift_moments(shift, &a[0], &a[1]); break;
    case SCENARIO_GAMMA_SHAPE:
        k = a[0] * a[1];
        scale = sqrt(a[0]) * a[1];
        shift_moments(shift, &k, &scale);
        a[0] = k;
        a[1] = scale;
        spec->shape = SCENARIO_GAMMA;
        break;
    case SCENARIO_WEIBULL_SHAPE: shift_weibull(shift, &a[0], &a[1]); break;
    case SCENARIO_WEIBULL: shift_moments(shift, &a[0], &a[1]); break;
    case SCENARIO_EXPONENTIAL: a[0] *= exp(shift.by); break;
    case SCENARIO_POISSON: a[0] *= exp(shift.by / sqrt(a[0])); break;
    case SCENARIO_NEGATIVE_BINOMIAL:
        k = (a[1] * a[1] - a[0]) / (a[0] * a[0]);
        a[0] *= exp(shift.by * a[1] / a[0]);
        a[1] = sqrt(a[0] + k * shift.width * shift.width * a[0] * a[0]);
        break;
    default: break;
    }
    for (int i = 0; i < 2; i++)
        a[i] = plan_round(a[i]);
}

/* A shift that the shape cannot follow (a triplet that is none any more) is halved until it can. */
const struct chance_table *plan_reading_table(const struct plan_maker *make, const struct plan *plan, const char *entity,
                                              int which, const struct scenario_distribution *spec, int reading,
                                              struct scenario_distribution *as_read)
{
    enum { MOST_HALVINGS = 6 };
    struct shift shift = shift_of(plan, entity, which, spec->from_records, reading);
    struct scenario_distribution smooth = *spec;
    if (smooth.bound == SCENARIO_COUNT && smooth.shape == SCENARIO_TRIPLET)
        smooth.bound = SCENARIO_POSITIVE; /* its quantiles before they are rounded */
    const struct chance_distribution *d = chance_make(make->arena, &smooth, make->complaints);
    for (int i = 0; d && i < MOST_HALVINGS; i++) {
        struct scenario_distribution varied = *spec;
        struct base_complaints aside = { 0 };
        struct plan_maker quiet = { make->arena, make->share, &aside };
        vary(plan, d, shift, &varied);
        const struct chance_table *table = plan_table(&quiet, &varied);
        bool out_of_memory = !table && (aside.errors == 0 || aside.out_of_memory);
        base_complaints_free(&aside);
        *as_read = varied;
        if (table || out_of_memory)
            return table;
        shift = (struct shift){ shift.by / 2, sqrt(shift.width) };
    }
    *as_read = *spec;
    return d ? plan_table(make, spec) : NULL;
}

static const struct scenario_distribution *spec_of(const struct scenario_crop *crop, enum plan_doubtful which)
{
    const struct scenario_distribution *specs[PLAN_DOUBTFUL] = { &crop->unit_kg, &crop->fruits, &crop->fruit_kg,
                                                                 &crop->keeps_weeks };
    return specs[which];
}

static const struct chance_table **table_of(struct plan_planting *p, enum plan_doubtful which)
{
    const struct chance_table **tables[PLAN_DOUBTFUL] = { &p->unit_kg, &p->fruits, &p->fruit_kg, &p->keeps_weeks };
    return tables[which];
}

static double most_over(const struct plan_planting *p, enum plan_doubtful which, const struct chance_table *table)
{
    double most = table ? chance_draw(table, UINT64_MAX) : 0;
    for (int r = 0; p->readings[which] && r < PLAN_READINGS; r++)
        most = fmax(most, chance_draw(p->readings[which][r], UINT64_MAX));
    return most;
}

bool plan_make_doubt(const struct plan_maker *make, const struct plan *plan, struct plan_planting *p)
{
    for (int which = 0; which < PLAN_DOUBTFUL; which++) {
        const struct scenario_distribution *spec = spec_of(p->crop, which);
        if (!*table_of(p, which) || !(spec->from_records > 0))
            continue;
        const struct chance_table **tables = base_arena_array(make->arena, PLAN_READINGS, sizeof *tables);
        struct scenario_distribution *as_read = base_arena_array(make->arena, PLAN_READINGS, sizeof *as_read);
        if (which == PLAN_KEEPS_WEEKS)
            p->keeps_reading = as_read;
        for (int r = 0; tables && as_read && r < PLAN_READINGS; r++) {
            tables[r] = plan_reading_table(make, plan, p->crop->name, which, spec, r, &as_read[r]);
            if (!tables[r])
                return false;
        }
        p->readings[which] = tables;
        if (!tables || !as_read)
            return false;
    }
    p->most_unit_kg = most_over(p, PLAN_UNIT_KG, p->unit_kg);
    p->most_fruits = (int)fmin(1e9, most_over(p, PLAN_FRUITS, p->fruits));
    return true;
}

static bool is_in_doubt(const struct plan *plan)
{
    if (plan->weather.reading)
        return true;
    for (int p = 0; p < plan->plantings_n; p++)
        for (int which = 0; which < PLAN_DOUBTFUL; which++)
            if (plan->plantings[p].readings[which])
                return true;
    return false;
}

/* What lies on the shelf in one reading: lives as that reading has them, where they can have reached their age at all. */
static bool read_shelf(struct base_arena *arena, const struct plan *plan, int reading, struct plan *as_read)
{
    bool doubtful = false;
    for (int i = 0; i < plan->shelf_fruits_n; i++)
        doubtful |= plan->plantings[plan->shelf_fruits[i].planting].keeps_reading != NULL;
    if (!doubtful)
        return true;
    struct plan_shelf_fruit *fruits = base_arena_array(arena, (size_t)plan->shelf_fruits_n, sizeof *fruits);
    if (!fruits)
        return false;
    for (int i = 0; i < plan->shelf_fruits_n; i++) {
        const struct plan_shelf_fruit *item = &plan->shelf_fruits[i];
        const struct scenario_distribution *keeps = plan->plantings[item->planting].keeps_reading;
        fruits[i] = *item;
        if (i > 0 && plan_same_lot(item, item - 1))
            fruits[i] = fruits[i - 1];
        else if (keeps && !plan_reread_fruit(arena, plan, &keeps[reading], &fruits[i]))
            return false;
    }
    as_read->shelf_fruits = fruits;
    return true;
}

bool plan_make_readings(struct base_arena *arena, struct plan *plan)
{
    plan->reading = NULL;
    if (!is_in_doubt(plan))
        return true;
    const struct plan **reading = base_arena_array(arena, PLAN_READINGS, sizeof *reading);
    struct plan *plans = base_arena_array(arena, PLAN_READINGS, sizeof *plans);
    size_t n = (size_t)plan->plantings_n;
    struct plan_planting *plantings = base_arena_array(arena, PLAN_READINGS * n, sizeof *plantings);
    if (!reading || !plans || !plantings)
        return false;
    for (int r = 0; r < PLAN_READINGS; r++) {
        plans[r] = *plan;
        plans[r].plantings = plantings + (size_t)r * n;
        if (plan->weather.reading) {
            plans[r].weather = plan->weather.reading[r];
            plans[r].weather.key = plan->weather.key; /* which may be another luck's */
        }
        for (size_t p = 0; p < n; p++) {
            plans[r].plantings[p] = plan->plantings[p];
            for (int which = 0; which < PLAN_DOUBTFUL; which++)
                if (plan->plantings[p].readings[which])
                    *table_of(&plans[r].plantings[p], which) = plan->plantings[p].readings[which][r];
        }
        if (!read_shelf(arena, plan, r, &plans[r]))
            return false;
        reading[r] = &plans[r];
    }
    plan->reading = reading;
    return true;
}
