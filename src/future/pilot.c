/* pilot.c: the usual weeks, from seasons on luck of their own. */
#include "future/internal.h"

enum { PILOT_TRIALS = 1024, WEEK_SLOTS = PLAN_SEASON_SLOTS };
static const uint64_t PILOT_SEED = 0x70696c6f74u; /* fixed, so that no random seed moves the usual weeks */

/* How many pilot seasons had their first (last) arrival in each week. */
struct pilot { int first[FUTURE_FOODS][WEEK_SLOTS], last[SCENARIO_FOODS][WEEK_SLOTS], n[FUTURE_FOODS]; };

static void note(void *context, const struct plan *plan, const struct future_season *season)
{
    struct pilot *pilot = context;
    int first[FUTURE_FOODS] = { SCENARIO_NEVER, SCENARIO_NEVER, SCENARIO_NEVER }, last[SCENARIO_FOODS] = { -1, -1 };
    for (int p = 0; p < plan->plantings_n; p++) {
        const struct harvest *harvest = &season->harvest[p];
        bool beans = plan->plantings[p].crop->kind == SCENARIO_KIND_BEANS;
        int food = beans ? SCENARIO_BEANS : SCENARIO_SQUASH;
        if (beans ? harvest->first_week >= SCENARIO_NEVER : harvest->n == 0)
            continue;
        int from = beans ? harvest->first_week : harvest->cut_week, until = beans ? harvest->last_week : harvest->cut_week;
        first[food] = from < first[food] ? from : first[food];
        first[FUTURE_ANY] = from < first[FUTURE_ANY] ? from : first[FUTURE_ANY];
        last[food] = until > last[food] ? until : last[food];
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        if (first[food] < WEEK_SLOTS) {
            pilot->first[food][first[food]]++;
            pilot->n[food]++;
            if (food < SCENARIO_FOODS)
                pilot->last[food][last[food]]++;
        }
}

/* Lower order statistic of the counted weeks. */
static int median(const int count[WEEK_SLOTS], int n, int if_none)
{
    int before = 0;
    if (n == 0)
        return if_none;
    for (int week = 0; week < WEEK_SLOTS; week++) {
        before += count[week];
        if (before > (n - 1) / 2)
            return week;
    }
    return if_none;
}

void future_sample_seasons(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, int n,
                           future_watch *watch, void *context)
{
    future_set_watch(trial, watch, context);
    trial->random_seed = random_seed;
    for (int t = 0; t < n; t++) {
        trial->number = (uint64_t)t;
        for (int p = 0; p < plan->plantings_n; p++)
            trial->next_count[p] = plan->plantings[p].planting->count;
        future_grow(plan_of_trial(plan, random_seed, (uint64_t)t), trial, 0);
    }
    future_set_watch(trial, NULL, NULL);
}

enum base_result future_pilot(const struct plan *plan, struct plan_usual *usual)
{
    struct base_arena arena = { 0 };
    struct future_trial *trial = future_room(&arena, plan);
    struct pilot *pilot = base_arena_take(&arena, sizeof *pilot);
    if (!trial || !pilot) {
        base_arena_free(&arena);
        return BASE_FAILED;
    }
    future_sample_seasons(plan, trial, PILOT_SEED, PILOT_TRIALS, note, pilot);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        usual->first[food] = median(pilot->first[food], pilot->n[food], plan->no_produce_week);
        usual->last[food] = median(pilot->last[food], pilot->n[food], plan->no_produce_week);
    }
    usual->first_any = median(pilot->first[FUTURE_ANY], pilot->n[FUTURE_ANY], plan->no_produce_week);
    base_arena_free(&arena);
    return BASE_OK;
}
