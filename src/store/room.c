/* room.c: a store's workspace, taken once and emptied for every trial. */
#include "store/store.h"

#include <math.h>
#include <string.h>

static bool squash_room(struct base_arena *arena, const struct plan *plan, struct store_squash *squash)
{
    size_t years = (size_t)plan->scenario->food_years, plantings = (size_t)plan->plantings_n + 1;
    size_t most = (size_t)plan->most_fruits_a_season * (years + 1) + (size_t)plan->shelf_fruits_n + 1;
    size_t batches = plantings * (years + 2) + (size_t)plan->shelf_fruits_n;
    size_t groups = 3 * (size_t)plan->places_n * plantings * (years + 2) + (size_t)plan->shelf_fruits_n;
    double salvage = plan->scenario->store.salvage_share;
    squash->cut_slots = plan->scenario->store.cut_keeps_weeks + 1;
    squash->salvage_log2 = salvage > 0 ? log2(salvage) : -HUGE_VAL;
    squash->kg = base_arena_array(arena, most, sizeof *squash->kg);
    squash->end = base_arena_array(arena, most, sizeof *squash->end);
    squash->gone = base_arena_array(arena, most, sizeof *squash->gone);
    squash->batch_of = base_arena_array(arena, most, sizeof *squash->batch_of);
    squash->next_found = base_arena_array(arena, most, sizeof *squash->next_found);
    squash->row_now = base_arena_array(arena, most + 1, sizeof *squash->row_now);
    squash->found = base_arena_array(arena, (size_t)plan->weeks + 1, sizeof *squash->found);
    squash->batch = base_arena_array(arena, batches, sizeof *squash->batch);
    squash->group = base_arena_array(arena, groups, sizeof *squash->group);
    squash->cut = base_arena_array(arena, (size_t)squash->cut_slots, sizeof *squash->cut);
    return squash->kg && squash->end && squash->gone && squash->batch_of && squash->next_found && squash->row_now
           && squash->found && squash->batch && squash->group && squash->cut;
}

bool store_room(struct base_arena *arena, const struct plan *plan, struct store *store)
{
    *store = (struct store){ 0 };
    int years = plan->scenario->food_years;
    struct store_beans *beans = &store->beans;
    beans->most_jars = plan->most_jars_a_season * (years + 1) + plan->shelf_jars_n + 1;
    beans->jar_kg = plan->scenario->store.jar_kg;
    beans->heaps_n = plan->beans_n * (years + 1 - plan->oldest_season);
    beans->jar = base_arena_array(arena, (size_t)beans->most_jars + 1, sizeof *beans->jar);
    beans->heap = base_arena_array(arena, (size_t)beans->heaps_n + 1, sizeof *beans->heap);
    for (int h = 0; beans->heap && h < beans->heaps_n; h++)
        beans->heap[h] = (struct store_heap){ .planting = plan->beans[h % plan->beans_n],
                                              .season = plan->oldest_season + h / plan->beans_n };
    return beans->jar && beans->heap && squash_room(arena, plan, &store->squash);
}

static void clear_squash(const struct plan *plan, struct store_squash *squash)
{
    squash->n = squash->whole_n = 0;
    squash->batches_first = squash->batches_n = squash->groups_first = squash->groups_n = 0;
    squash->cut_now = squash->cut_weeks = 0;
    squash->whole_kg = 0;
    memset(squash->found, -1, ((size_t)plan->weeks + 1) * sizeof *squash->found);
    for (int slot = 0; slot < squash->cut_slots; slot++)
        squash->cut[slot] = (struct store_cut){ 0 };
}

void store_clear(const struct plan *plan, struct store *store)
{
    struct store_beans *beans = &store->beans;
    clear_squash(plan, &store->squash);
    beans->jars_n = beans->first_heap = beans->unused = 0;
    beans->touched = 1;
    beans->kg = 0;
    beans->next_failure = SCENARIO_NEVER;
    for (int h = 0; h < beans->heaps_n; h++) {
        beans->heap[h].head = beans->heap[h].tail = 0;
        beans->heap[h].jars.inc = 0;
    }
}
