/* tally.c: a run's accumulators: made, added to, merged. */
#include "tally/internal.h"

enum { EXACT_VALUES = 4 << 20 }; /* small runs keep every value, at most 32 MiB of them */

static size_t quantities_of(const struct plan *plan)
{
    size_t n = 0;
    for (int m = 0; m < tally_measures_n; m++)
        if (tally_measures[m].quantiles != TALLY_NO_QUANTILES)
            n += FUTURE_FOODS;
    return n * (size_t)plan->scenario->food_years + 4 * (size_t)plan->weeks;
}

struct tally_shared *tally_share(struct base_arena *arena, const struct plan *plan, int64_t trials)
{
    struct tally_shared *shared = base_arena_take(arena, sizeof *shared);
    if (!shared)
        return NULL;
    size_t n = quantities_of(plan);
    if (trials > TALLY_EXACT_TRIALS || (uint64_t)trials * n > EXACT_VALUES) /* also when their number is not known */
        return shared;
    shared->trials = trials;
    shared->values = base_arena_array(arena, n * (size_t)trials, sizeof *shared->values);
    return shared->values ? shared : NULL;
}

struct tally *tally_make(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared)
{
    struct tally *tally = base_arena_take(arena, sizeof *tally);
    if (!tally)
        return NULL;
    size_t next = 0;
    tally->years_n = plan->scenario->food_years;
    tally->exact = shared ? shared->trials : 0;
    bool good = tally_make_years(arena, plan, shared, &next, tally) && tally_make_replicates(arena, plan, tally);
    return good && tally_make_weeks(arena, plan, shared, &next, &tally->weeks) ? tally : NULL;
}

/* Of which foods a trial ever ran short. */
static void add_ever(struct tally *tally, const struct future_ledger *ledger, uint64_t number)
{
    int replicate = plan_replicate(tally->sampling, number);
    tally->replicate_trials[replicate]++;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        bool ever = false;
        for (int y = 0; y < ledger->years_n; y++)
            ever |= ledger->year[y].short_weeks[food] > 0;
        tally->short_ever[food] += ever;
        tally->replicate_ever[food * CHANCE_REPLICATES + replicate] += ever;
    }
}

void tally_add(struct tally *tally, const struct plan *plan, const struct future_block *block, uint64_t number)
{
    tally->trials += block->n;
    for (int t = 0; t < block->n; t++) {
        tally->unbalanced += !block->ledger[t].balanced;
        add_ever(tally, &block->ledger[t], number + (uint64_t)t);
    }
    for (int y = 0; y < tally->years_n; y++)
        tally_add_years(tally, plan, y, block, (int64_t)number);
    tally_add_weeks(&tally->weeks, block, (int64_t)number, tally->exact > 0);
}

void tally_merge(struct tally *into, struct tally *from)
{
    into->trials += from->trials;
    into->unbalanced += from->unbalanced;
    for (int food = 0; food < FUTURE_FOODS; food++)
        into->short_ever[food] += from->short_ever[food];
    for (int y = 0; y < into->years_n; y++)
        tally_merge_year(into, from, y);
    tally_merge_replicates(into, from);
    tally_merge_weeks(&into->weeks, &from->weeks);
}
