/* turn.c: which of the words that trials share out move the meals short, from a pilot on luck of its own. */
#include "future/internal.h"

enum { PILOT_TRIALS = 4096, SIDE = PLAN_ABREAST };
static const uint64_t PILOT_SEED = 0x7475726eu; /* fixed, so that no random seed turns the words otherwise */
static const double SURE = 5;   /* standard errors: a slope within so many of 0 is none, since noise would mix up all words */

/* Of one food in one food year: sums of meals short and their squares, and of their products with each word's score. */
struct slopes { double meals, squares, *product; };

static void add_block(const struct plan *plan, struct future_trial *trial, const struct future_block *block, int year,
                      uint64_t first, struct slopes *slopes)
{
    const int n = plan->points->n;
    plan_draw_points(plan, year, first, SIDE, trial->point, trial->score);
    chance_curve_row(plan->normal->score, trial->point, n * SIDE, trial->score);
    for (int food = 0; food < SCENARIO_FOODS; food++, slopes++) {
        double about = first > 0 ? slopes->meals / (double)first : 0.0; /* nearly the mean: products vary less */
        for (int t = 0; t < SIDE; t++) {
            double meals = block->ledger[t].year[year].meals_short[food];
            for (int w = 0; w < n; w++)
                slopes->product[w] += trial->score[w * SIDE + t] * (meals - about);
            slopes->meals += meals;
            slopes->squares += meals * meals;
        }
    }
}

/* Scores being normal, the mean product with one is the mean slope along it (Stein 1981, Annals of Statistics 9:1135-1151). */
static void keep_sure(struct slopes *slopes, int n)
{
    double variance = slopes->squares - slopes->meals * slopes->meals / PILOT_TRIALS;
    for (int w = 0; w < n; w++)
        if (slopes->product[w] * slopes->product[w] <= SURE * SURE * variance)
            slopes->product[w] = 0;
}

/* The plan as the pilot has it: words of each trial's own, no doubt about the settings. */
static struct plan pilot_of(const struct plan *plan, struct plan_points *points)
{
    struct plan pilot = *plan;
    *points = *plan->points;
    points->sampling = SCENARIO_INDEPENDENT;
    points->random_seed = PILOT_SEED;
    pilot.points = points;
    pilot.reading = NULL;
    return pilot;
}

static bool find_slopes(struct base_arena *arena, const struct plan *plan, struct slopes *slopes, int years)
{
    struct plan_points points;
    struct plan pilot = pilot_of(plan, &points);
    struct future_trial *trial = future_room(arena, &pilot);
    bool good = trial != NULL;
    for (int i = 0; i < years * SCENARIO_FOODS; i++)
        good &= (slopes[i].product = base_arena_array(arena, (size_t)points.n, sizeof *slopes->product)) != NULL;
    for (uint64_t first = 0; good && first < PILOT_TRIALS; first += SIDE) {
        const struct future_block *block = future_run_block(&pilot, trial, PILOT_SEED, first, SIDE);
        for (int year = 0; year < years; year++)
            add_block(&pilot, trial, block, year, first, slopes + year * SCENARIO_FOODS);
    }
    return good;
}

enum base_result future_turn_points(struct base_arena *arena, struct plan *plan)
{
    if (!plan->points || plan->points->sampling != SCENARIO_SOBOL)
        return BASE_OK;
    struct base_arena own = { 0 };
    int years = plan->scenario->food_years, n = years * SCENARIO_FOODS;
    struct slopes *slopes = base_arena_array(&own, (size_t)n, sizeof *slopes);
    double **along = base_arena_array(&own, (size_t)n, sizeof *along);
    bool good = slopes && along && find_slopes(&own, plan, slopes, years);
    for (int i = 0; good && i < n; i++) {
        keep_sure(&slopes[i], plan->points->n);
        along[i] = slopes[i].product;
    }
    good = good && plan_turn_points(arena, plan->points, along);
    base_arena_free(&own);
    return good ? BASE_OK : BASE_FAILED;
}
