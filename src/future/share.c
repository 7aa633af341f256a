/* share.c: plans that say the same of the weather and of plantings have the same seasons and harvests where their luck is the
 * same: one workspace makes them, others copy them. */
#include "future/internal.h"

#include <string.h>

static bool same_text(const char *a, const char *b) { return (!a && !b) || (a && b && strcmp(a, b) == 0); }

static bool same_weather(const struct scenario *a, const struct scenario *b)
{
    return a->random_seed == b->random_seed && a->year_starts == b->year_starts && scenario_same(a, b, "climate", NULL)
           && same_text(a->climate.records_file, b->climate.records_file);
}

/* Does planting number p of either plan bring the same in the same season? */
static bool same_planting(const struct plan *a, const struct plan *b, int p)
{
    const struct scenario_planting *of_a = a->plantings[p].planting, *of_b = b->plantings[p].planting;
    return a->plantings[p].among == b->plantings[p].among && same_text(of_a->name, of_b->name)
           && same_text(of_a->crop.name, of_b->crop.name)
           && scenario_same(a->scenario, b->scenario, "plantings", of_a->name)
           && scenario_same(a->scenario, b->scenario, "crops", of_a->crop.name);
}

/* Which plantings all have that take from a workspace; all of its own to begin with. */
static bool *begin_common(struct base_arena *arena, const struct plan *plan)
{
    bool *common = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *common);
    for (int p = 0; common && p < plan->plantings_n; p++)
        common[p] = true;
    return common;
}

bool future_share(struct base_arena *arena, const struct plan *from_plan, struct future_trial *from, const struct plan *plan,
                  struct future_trial *trial)
{
    if (!from->abreast || !trial->abreast || from_plan->points || plan->points || from_plan->plantings_n != plan->plantings_n
        || !same_weather(from_plan->scenario, plan->scenario))
        return true;
    bool *same = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *same);
    if (!from->share.common)
        from->share.common = begin_common(arena, from_plan);
    if (!same || !from->share.common)
        return false;
    for (int p = 0; p < plan->plantings_n; p++) {
        same[p] = same_planting(from_plan, plan, p);
        from->share.common[p] &= same[p];
    }
    trial->share = (struct future_share){ .from = from, .crops = scenario_same(from_plan->scenario, plan->scenario, "crops", NULL),
                                          .planting = same, .common = from->share.common };
    return true;
}
