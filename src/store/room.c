/* room.c: a store's workspace, taken once and emptied for every trial. */
#include "store/store.h"

#include <math.h>
#include <string.h>

static bool squash_room(struct base_arena *arena, const struct plan *plan, struct store_squash *squash)
{
    int years = plan->scenario->food_years;
    squash->most = plan->most_fruits_a_season * (years + 1) + plan->shelf_fruits_n;
    int groups = 3 * plan->places_n * plan->plantings_n * (years + 2) + plan->shelf_fruits_n;
    squash->fruit = base_arena_array(arena, (size_t)squash->most + 1, sizeof *squash->fruit);
    squash->group = base_arena_array(arena, (size_t)groups + 1, sizeof *squash->group);
    squash->order = base_arena_array(arena, (size_t)groups + 1, sizeof *squash->order);
    squash->found = base_arena_array(arena, (size_t)plan->weeks + 1, sizeof *squash->found);
    squash->planted_n = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *squash->planted_n);
    squash->planted_kg = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *squash->planted_kg);
    squash->place_n = base_arena_array(arena, (size_t)plan->places_n, sizeof *squash->place_n);
    squash->cut_slots = plan->scenario->store.cut_keeps_weeks + 1;
    squash->cut = base_arena_array(arena, (size_t)squash->cut_slots, sizeof *squash->cut);
    double salvage = plan->scenario->store.salvage_share;
    squash->salvage_log2 = salvage > 0 ? log2(salvage) : -HUGE_VAL;
    return squash->fruit && squash->group && squash->order && squash->found && squash->planted_n && squash->planted_kg
           && squash->place_n && squash->cut;
}

bool store_room(struct base_arena *arena, const struct plan *plan, struct store *store)
{
    *store = (struct store){ 0 };
    int years = plan->scenario->food_years;
    struct store_beans *beans = &store->beans;
    beans->most_jars = plan->most_jars_a_season * (years + 1) + plan->shelf_jars_n + 1;
    beans->most_heaps = plan->plantings_n * (years + 2) + plan->shelf_jars_n + 1;
    beans->jar = base_arena_array(arena, (size_t)beans->most_jars, sizeof *beans->jar);
    beans->heap = base_arena_array(arena, (size_t)beans->most_heaps, sizeof *beans->heap);
    return beans->jar && beans->heap && squash_room(arena, plan, &store->squash);
}

void store_clear(const struct plan *plan, struct store *store)
{
    struct store_squash *squash = &store->squash;
    squash->n = squash->groups_n = squash->order_n = squash->order_first = squash->whole_n = squash->cut_n = 0;
    memset(squash->found, -1, ((size_t)plan->weeks + 1) * sizeof *squash->found);
    for (int p = 0; p < plan->plantings_n; p++) {
        squash->planted_n[p] = 0;
        squash->planted_kg[p] = 0;
    }
    for (int i = 0; i < plan->places_n; i++)
        squash->place_n[i] = 0;
    for (int age = 0; age < squash->cut_slots; age++)
        squash->cut[age] = (struct store_cut){ 0 };
    struct store_beans *beans = &store->beans;
    beans->jars_n = beans->heaps_n = 0;
    beans->kg = 0;
    beans->next_failure = SCENARIO_NEVER;
    beans->touched = 0;
    beans->unused = -1;
}
