/* variants.c: several scenarios that share their luck. */
#include "command/command.h"

#include <string.h>

static enum base_result judge_alike(const struct command_variant *base, const struct command_variant *other)
{
    const struct scenario *a = base->loaded.scenario, *b = other->loaded.scenario;
    if (a->random_seed != b->random_seed)
        return command_refuse("%s and %s differ in random_seed: they would not share their luck", base->label, other->label);
    if (a->year_starts != b->year_starts)
        return command_refuse("%s and %s differ in year_starts: their weeks are not the same weeks", base->label, other->label);
    if (a->food_years != b->food_years)
        return command_refuse("%s and %s differ in food_years: there is no year to compare with each other", base->label,
                              other->label);
    return BASE_OK;
}

enum base_result command_load_variants(struct base_arena *arena, const struct command_options *options,
                                       const struct command_change *change, int n, struct command_variant **variants)
{
    struct command_variant *made = base_arena_array(arena, (size_t)n, sizeof *made);
    struct plan_share *share = base_arena_take(arena, sizeof *share);
    if (!made || !share)
        return BASE_FAILED;
    for (int v = 0; v < n; v++) {
        made[v].label = change[v].label;
        enum base_result result = command_load_sharing(arena, options, change[v].path, change[v].sets, change[v].sets_n,
                                                       share, &made[v].loaded);
        if (result == BASE_OK)
            result = command_wants_independent(made[v].loaded.scenario);
        if (result == BASE_OK && v > 0)
            result = judge_alike(&made[0], &made[v]);
        if (result != BASE_OK)
            return result;
    }
    *variants = made;
    return BASE_OK;
}
