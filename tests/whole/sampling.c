/* sampling.c: gain and bound of trials that share words out, measured over many scramblings, so that noise does not decide.
 * Arguments: scenario, library, trials, scramblings, pairs. Prints a line for each measure and food: gain, its relative standard
 * error, bound, its relative standard error, the bound if weather and years alone were shared out. */
#include "future/future.h"
#include "tally/tally.h"

#include <math.h>
#include <stdlib.h>

enum { MEASURES = 2 * FUTURE_FOODS, R = CHANCE_REPLICATES };

/* Sums over trials: values, squares; by replicate. */
struct sums { double value[MEASURES], square[MEASURES], replicate[MEASURES][R]; };

static void values_of(const struct future_year *year, double value[MEASURES])
{
    for (int food = 0; food < FUTURE_FOODS; food++) {
        value[food] = year->short_weeks[food] > 0;
        value[FUTURE_FOODS + food] = year->meals_short[food];
    }
}

static void run(const struct plan *plan, struct future_trial *trial, uint64_t seed, uint64_t trials, struct sums *sums)
{
    *sums = (struct sums){ .value = { 0 } };
    for (uint64_t t = 0; t < trials; t += PLAN_ABREAST) {
        const struct future_block *block = future_run_block(plan, trial, seed, t, PLAN_ABREAST);
        for (uint64_t i = 0; i < PLAN_ABREAST; i++) {
            double value[MEASURES];
            int replicate = plan_replicate(plan->points->sampling, t + i);
            values_of(&block->ledger[i].year[0], value);
            for (int m = 0; m < MEASURES; m++) {
                sums->value[m] += value[m];
                sums->square[m] += value[m] * value[m];
                sums->replicate[m][replicate] += value[m];
            }
        }
    }
}

/* Variance of the mean: of independent trials, and by the replicates. */
static void add_variances(const struct sums *sums, double n, double *independent, double *shared)
{
    for (int m = 0; m < MEASURES; m++) {
        double mean = sums->value[m] / n, spread = 0;
        for (int r = 0; r < R; r++)
            spread += pow(sums->replicate[m][r] * R / n - mean, 2);
        independent[m] += (sums->square[m] / n - mean * mean) / n;
        shared[m] += spread / (R - 1) / R;
    }
}

/* Twice the variance over the mean squared difference of pairs of trials, one by each plan: 1 / (1 - the closed index) of what they
 * have in common. */
static void find_bound(struct base_arena *arena, const struct plan *one, const struct plan *other, uint64_t pairs, double *bound,
                       double *error)
{
    struct future_trial *trial = future_room(arena, one);
    double sum[MEASURES] = { 0 }, square[MEASURES] = { 0 }, apart[MEASURES] = { 0 }, apart2[MEASURES] = { 0 };
    for (uint64_t t = 0; t < pairs; t += PLAN_ABREAST) {
        double a[PLAN_ABREAST][MEASURES], b[MEASURES];
        const struct future_block *block = future_run_block(one, trial, 5, t, PLAN_ABREAST);
        for (int i = 0; i < PLAN_ABREAST; i++)
            values_of(&block->ledger[i].year[0], a[i]);
        block = future_run_block(other, trial, 5, t, PLAN_ABREAST);
        for (int i = 0; i < PLAN_ABREAST; i++) {
            values_of(&block->ledger[i].year[0], b);
            for (int m = 0; m < MEASURES; m++) {
                double d2 = pow(a[i][m] - b[m], 2);
                sum[m] += a[i][m] + b[m];
                square[m] += a[i][m] * a[i][m] + b[m] * b[m];
                apart[m] += d2;
                apart2[m] += d2 * d2;
            }
        }
    }
    for (int m = 0; m < MEASURES; m++) {
        double n = (double)pairs, mean = sum[m] / (2 * n), variance = square[m] / (2 * n) - mean * mean;
        bound[m] = 2 * variance * n / apart[m];
        error[m] = sqrt(apart2[m] - apart[m] * apart[m] / n) / apart[m];
    }
}

/* The bound of what is shared out, and of weather and years alone. */
static void find_bounds(struct base_arena *arena, const struct plan *plan, uint64_t pairs, double *bound, double *error, double *alone)
{
    struct plan_points points = *plan->points;
    struct plan own = *plan;
    double ignored[MEASURES];
    points.sampling = SCENARIO_INDEPENDENT;
    own.points = &points;
    find_bound(arena, plan_salted(arena, &own, 0, -1, 1), plan_salted(arena, &own, ~0u, -1, 1), pairs, bound, error);
    own.points = NULL;
    find_bound(arena, &own, plan_salted(arena, &own, ~(1u << PLAN_WEATHER | 1u << PLAN_YEAR), -1, 1), pairs, alone, ignored);
}

static struct plan *made(struct base_arena *arena, const char *path, const char *library, const char *sampling)
{
    struct base_complaints complaints = { 0 };
    struct scenario_request request = { .path = path, .configs_dir = library, .sets_n = 1, .sets = &sampling };
    const struct scenario *scenario;
    struct plan_usual usual;
    struct plan *plan = NULL;
    chance_start();
    if (scenario_load(arena, &request, &scenario, &complaints) == BASE_OK)
        plan = plan_make(arena, scenario, NULL, NULL, &complaints);
    if (!plan || future_pilot(plan, &usual) != BASE_OK || plan_settle(arena, plan, &usual, &complaints) != BASE_OK
        || future_turn_points(arena, plan) != BASE_OK)
        plan = NULL;
    base_complaints_print(&complaints, stderr);
    base_complaints_free(&complaints);
    return plan;
}

int main(int argc, char **argv)
{
    static const char *const names[MEASURES] = { "chance_short beans", "chance_short squash", "chance_short any", "meals_short beans",
                                                 "meals_short squash", "meals_short any" };
    if (argc != 6)
        return 2;
    struct base_arena arena = { 0 };
    struct plan *plan = made(&arena, argv[1], argv[2], "sampling=sobol");
    struct future_trial *trial = plan ? future_room(&arena, plan) : NULL;
    uint64_t trials = strtoull(argv[3], NULL, 10), scramblings = strtoull(argv[4], NULL, 10);
    double independent[MEASURES] = { 0 }, shared[MEASURES] = { 0 }, bound[MEASURES], error[MEASURES], alone[MEASURES];
    if (!trial || trials % PLAN_ABREAST != 0)
        return 2;
    for (uint64_t seed = 1; seed <= scramblings; seed++) {
        struct base_arena own = { 0 };
        struct sums sums;
        if (!chance_sobol_make(&own, seed, plan->points->key, plan->points->sobol.dimensions, &plan->points->sobol))
            return 2;
        plan->points->random_seed = seed;
        run(plan, trial, seed, trials, &sums);
        add_variances(&sums, (double)trials, independent, shared);
        base_arena_free(&own);
    }
    find_bounds(&arena, plan, strtoull(argv[5], NULL, 10), bound, error, alone);
    for (int m = 0; m < MEASURES; m++)
        printf("%s %.3f %.3f %.3f %.3f %.3f\n", names[m], independent[m] / shared[m], sqrt(2 / ((R - 1) * (double)scramblings)), bound[m],
               error[m], alone[m]);
    base_arena_free(&arena);
    return 0;
}
