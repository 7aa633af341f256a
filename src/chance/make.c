/* make.c: from a distribution as written to one that is judged and ready. */
#include "chance/inside.h"

#include <math.h>

/* One line a shape. */
static const struct {
    int figures;                    /* of a[] */
    bool (*prepare)(struct chance_judge *judge, struct chance_distribution *d);
} shapes[] = {
    [SCENARIO_CERTAIN] = { 1, chance_prepare_certain },
    [SCENARIO_TRIPLET] = { 3, chance_prepare_triplet },
    [SCENARIO_NORMAL] = { 2, chance_prepare_normal },
    [SCENARIO_LOGNORMAL] = { 2, chance_prepare_lognormal },
    [SCENARIO_LOGNORMAL_LOG] = { 2, chance_prepare_lognormal_log },
    [SCENARIO_GAMMA] = { 2, chance_prepare_gamma },
    [SCENARIO_GAMMA_SHAPE] = { 2, chance_prepare_gamma_shape },
    [SCENARIO_BETA] = { 2, chance_prepare_beta },
    [SCENARIO_BETA_SHAPE] = { 2, chance_prepare_beta_shape },
    [SCENARIO_WEIBULL] = { 2, chance_prepare_weibull },
    [SCENARIO_WEIBULL_SHAPE] = { 2, chance_prepare_weibull_shape },
    [SCENARIO_EXPONENTIAL] = { 1, chance_prepare_exponential },
    [SCENARIO_UNIFORM] = { 2, chance_prepare_uniform },
    [SCENARIO_TRIANGULAR] = { 3, chance_prepare_triangular },
    [SCENARIO_PERT] = { 3, chance_prepare_pert },
    [SCENARIO_POISSON] = { 1, chance_prepare_poisson },
    [SCENARIO_NEGATIVE_BINOMIAL] = { 2, chance_prepare_negative_binomial },
    [SCENARIO_COUNTS] = { 0, chance_prepare_counts },
    [SCENARIO_RECORDS] = { 0, chance_prepare_records },
};

static bool figures_are_numbers(struct chance_judge *judge)
{
    const struct scenario_distribution *spec = judge->spec;
    bool fine = true;
    for (int i = 0; i < shapes[spec->shape].figures; i++)
        fine = fine && isfinite(spec->a[i]);
    for (size_t i = 0; i < spec->n && (spec->shape == SCENARIO_COUNTS || spec->shape == SCENARIO_RECORDS);
         i++)
        fine = fine && isfinite(spec->list[i]) && (!spec->weights || isfinite(spec->weights[i]));
    fine = fine && (!spec->has_least || isfinite(spec->at_least))
           && (!spec->has_most || isfinite(spec->at_most));
    return fine ? true : chance_wrong(judge, "every figure must be a finite number");
}

static bool cut_off_in_order(struct chance_judge *judge)
{
    const struct scenario_distribution *spec = judge->spec;
    if (!spec->has_least || !spec->has_most || spec->at_least <= spec->at_most)
        return true;
    return chance_wrong(judge, "at_least must not be greater than at_most%s", spec->is_date ? " (as days of "
                        "the simulation year)" : "");
}

const struct chance_distribution *chance_make(struct base_arena *arena,
                                              const struct scenario_distribution *spec,
                                              struct base_complaints *complaints)
{
    struct chance_judge judge = { arena, spec, complaints, false };
    if (!figures_are_numbers(&judge) || !cut_off_in_order(&judge))
        return NULL;
    struct chance_distribution *d = base_arena_take(arena, sizeof *d);
    if (!d) {
        chance_no_memory(&judge);
        return NULL;
    }
    d->kept = 1.0;
    if (!shapes[spec->shape].prepare(&judge, d))
        return NULL;
    if (d->listed)
        return d;
    d->whole = spec->bound == SCENARIO_COUNT || spec->is_date;
    return chance_cut(&judge, d) ? d : NULL;
}

bool chance_prepare_certain(struct chance_judge *judge, struct chance_distribution *d)
{
    const double x = judge->spec->a[0];
    if (judge->spec->bound == SCENARIO_COUNT && x != floor(x))
        return chance_wrong(judge, "%g is no whole number; give a whole number, or `counts` with weights", x);
    double *point = base_arena_array(judge->arena, 2, sizeof *point);
    if (!point)
        return chance_no_memory(judge);
    point[0] = x;
    point[1] = 1.0;
    return chance_cut_list(judge, d, 1, point, point + 1);
}
