/* block.c: a block of trials: its room, and its trials side by side where that may be, else one after the other. */
#include "future/internal.h"

#include <string.h>

static bool columns_room(struct base_arena *arena, const struct plan *plan, struct future_columns *columns)
{
    size_t n = (size_t)plan->weeks * PLAN_ABREAST;
    bool good = true;
    for (int food = 0; food < FUTURE_FOODS; food++)
        good &= (columns->is_short[food] = base_arena_array(arena, n, 1)) != NULL;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        good &= (columns->stock_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->wanted_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->eaten_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->lost_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->count[food] = base_arena_array(arena, n, sizeof(int32_t))) != NULL;
    }
    return good;
}

/* The columns from a place on. */
static struct future_columns columns_at(const struct future_columns *columns, int place)
{
    struct future_columns at = *columns;
    for (int food = 0; food < FUTURE_FOODS; food++)
        at.is_short[food] += place;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        at.stock_kg[food] += place;
        at.wanted_kg[food] += place;
        at.eaten_kg[food] += place;
        at.lost_kg[food] += place;
        at.count[food] += place;
    }
    return at;
}

static bool block_room(struct base_arena *arena, const struct plan *plan, struct future_block *block)
{
    int years = plan->scenario->food_years;
    struct future_year *year = base_arena_array(arena, (size_t)years * PLAN_ABREAST, sizeof *year);
    if (!year || !columns_room(arena, plan, &block->columns))
        return false;
    for (int place = 0; place < PLAN_ABREAST; place++)
        block->ledger[place] = (struct future_ledger){ .years_n = years, .year = year + place * years,
                                                       .at = columns_at(&block->columns, place) };
    return true;
}

static bool points_room(struct base_arena *arena, const struct plan *plan, struct future_trial *trial)
{
    if (!plan->points)
        return true;
    size_t n = (size_t)plan->points->n * PLAN_ABREAST;
    trial->point = base_arena_array(arena, n, sizeof *trial->point);
    trial->score = base_arena_array(arena, n, sizeof *trial->score);
    return trial->point && trial->score;
}

struct future_trial *future_room(struct base_arena *arena, const struct plan *plan)
{
    struct future_trial *trial = base_arena_take(arena, sizeof *trial);
    if (!trial)
        return NULL;
    trial->year_factor = base_arena_array(arena, (size_t)plan->crops_n + 1, sizeof *trial->year_factor);
    trial->next_count = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *trial->next_count);
    trial->guests = base_arena_array(arena, (size_t)plan->weeks + SCENARIO_WEEKS, sizeof *trial->guests);
    bool good = points_room(arena, plan, trial) && trial->guests && trial->year_factor && trial->next_count
                && store_room(arena, plan, &trial->store) && block_room(arena, plan, &trial->block)
                && future_season_room(arena, plan, &trial->crop_year[0]) && future_season_room(arena, plan, &trial->crop_year[1]);
    if (good && future_abreast_fits(plan))
        good = (trial->abreast = future_abreast_room(arena, plan)) != NULL;
    return good ? trial : NULL;
}

void future_set_watch(struct future_trial *trial, future_watch *watch, void *context)
{
    trial->watch = watch;
    trial->watch_context = context;
}

int future_stocked_end(const struct future_block *block, int food)
{
    int end = block->first_week;
    for (int place = 0; place < block->n; place++)
        end = block->ledger[place].stocked_end[food] > end ? block->ledger[place].stocked_end[food] : end;
    return end;
}

/* Clears the columns of the block that was run last. */
static void clear_columns(struct future_block *block)
{
    const struct future_columns *columns = &block->columns;
    size_t from = (size_t)block->first_week * PLAN_ABREAST;
    size_t n = (size_t)(block->end_week - block->first_week) * PLAN_ABREAST;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        size_t stocked = (size_t)(future_stocked_end(block, food) - block->first_week) * PLAN_ABREAST;
        memset(columns->stock_kg[food] + from, 0, stocked * sizeof(double));
        memset(columns->eaten_kg[food] + from, 0, stocked * sizeof(double));
        memset(columns->lost_kg[food] + from, 0, stocked * sizeof(double));
        memset(columns->count[food] + from, 0, stocked * sizeof(int32_t));
        memset(columns->wanted_kg[food] + from, 0, n * sizeof(double));
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        memset(columns->is_short[food] + from, 0, n);
}

/* Clears one trial's place in the columns. */
static void clear_place(const struct plan *plan, struct future_ledger *ledger)
{
    for (size_t i = 0; i < (size_t)plan->weeks * PLAN_ABREAST; i += PLAN_ABREAST) {
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            ledger->at.stock_kg[food][i] = ledger->at.wanted_kg[food][i] = 0;
            ledger->at.eaten_kg[food][i] = ledger->at.lost_kg[food][i] = 0;
            ledger->at.count[food][i] = 0;
        }
        for (int food = 0; food < FUTURE_FOODS; food++)
            ledger->at.is_short[food][i] = 0;
    }
}

/* Runs a block, side by side where that may be. */
static const struct future_block *run_block(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                            uint64_t first, int n, bool abreast)
{
    struct future_block *block = &trial->block;
    clear_columns(block);
    block->n = n;
    unsigned alone = abreast ? future_run_abreast(plan, trial, random_seed, first, n) : ~0u;
    for (int place = 0; place < n; place++) {
        if (!(alone >> place & 1))
            continue;
        trial->ledger = &block->ledger[place];
        if (abreast)
            clear_place(plan, trial->ledger);
        future_run_one(plan_of_trial(plan, random_seed, first + (uint64_t)place), trial, random_seed, first + (uint64_t)place);
    }
    block->first_week = block->ledger[0].first_week;
    block->end_week = block->ledger[0].end_week;
    for (int place = 1; place < n; place++) {
        block->first_week = future_earlier(block->first_week, block->ledger[place].first_week);
        block->end_week = future_later(block->end_week, block->ledger[place].end_week);
    }
    return block;
}

const struct future_block *future_run_block(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                            uint64_t first, int n)
{
    return run_block(plan, trial, random_seed, first, n, trial->abreast && !trial->watch);
}

const struct future_ledger *future_run(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                       uint64_t number)
{
    return run_block(plan, trial, random_seed, number, 1, false)->ledger;
}
