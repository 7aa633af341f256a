/* tally.c: a run's accumulators: made, added to, merged. */
#include "tally/internal.h"

enum { EXACT_TRIALS = 2048, EXACT_VALUES = 4 << 20 }; /* small runs keep every value, at most 32 MiB of them */

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
    if (trials > EXACT_TRIALS || (uint64_t)trials * n > EXACT_VALUES) /* also when their number is not known */
        return shared;
    shared->trials = trials;
    shared->values = base_arena_array(arena, n * (size_t)trials, sizeof *shared->values);
    return shared->values ? shared : NULL;
}

static bool make_year(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      struct tally_of_year *year)
{
    year->measure = base_arena_array(arena, (size_t)tally_measures_n * FUTURE_FOODS, sizeof *year->measure);
    year->begins = base_arena_array(arena, (size_t)plan->weeks + 1, sizeof *year->begins);
    if (!year->measure || !year->begins)
        return false;
    for (int m = 0; m < tally_measures_n; m++)
        for (int food = 0; food < FUTURE_FOODS; food++)
            if (tally_measures[m].quantiles != TALLY_NO_QUANTILES && tally_measures[m].foods >> food & 1
                && !tally_make_quantities(arena, shared, next, tally_measures[m].cells, 1,
                                          &year->measure[m * FUTURE_FOODS + food].quantity))
                return false;
    return true;
}

struct tally *tally_make(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared)
{
    struct tally *tally = base_arena_take(arena, sizeof *tally);
    if (!tally)
        return NULL;
    size_t next = 0;
    tally->years_n = plan->scenario->food_years;
    tally->exact = shared ? shared->trials : 0;
    tally->year = base_arena_array(arena, (size_t)tally->years_n, sizeof *tally->year);
    bool good = tally->year != NULL;
    for (int y = 0; good && y < tally->years_n; y++)
        good = make_year(arena, plan, shared, &next, &tally->year[y]);
    return good && tally_make_weeks(arena, plan, shared, &next, &tally->weeks) ? tally : NULL;
}

/* A value of 0 adds nothing to a sum, and its cell is what is left of the trials: most of the books' lines are 0. */
static void add_value(struct tally_of_measure *into, const struct tally_measure *measure, double value, int64_t place)
{
    if (measure->is_chance)
        into->happened += value > 0;
    else if (measure->has_mean && value != 0)
        tally_sum_add(&into->sum, value);
    if (measure->quantiles != TALLY_NO_QUANTILES)
        tally_add_quantity(&into->quantity, value, place);
}

static void add_year(struct tally_of_year *of, const struct plan *plan, const struct future_year *year, int64_t place)
{
    of->begins[year->first_week]++;
    of->weeks += year->weeks;
    for (int m = 0; m < tally_measures_n; m++) {
        const struct tally_measure *measure = &tally_measures[m];
        for (int food = 0; food < FUTURE_FOODS; food++)
            if (measure->foods >> food & 1)
                add_value(&of->measure[m * FUTURE_FOODS + food], measure, measure->value(plan, year, food), place);
    }
}

void tally_add(struct tally *tally, const struct plan *plan, const struct future_ledger *ledger, uint64_t number)
{
    int64_t place = (int64_t)number;
    bool ever[FUTURE_FOODS] = { false };
    tally->trials++;
    tally->unbalanced += !ledger->balanced;
    for (int y = 0; y < ledger->years_n; y++) {
        add_year(&tally->year[y], plan, &ledger->year[y], place);
        for (int food = 0; food < FUTURE_FOODS; food++)
            ever[food] |= ledger->year[y].short_weeks[food] > 0;
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        tally->short_ever[food] += ever[food];
    tally_add_weeks(&tally->weeks, ledger, place, tally->exact > 0);
}

static void merge_year(struct tally_of_year *into, const struct tally_of_year *from, int weeks_n)
{
    into->weeks += from->weeks;
    for (int w = 0; w <= weeks_n; w++)
        into->begins[w] += from->begins[w];
    for (int i = 0; i < tally_measures_n * FUTURE_FOODS; i++) {
        into->measure[i].happened += from->measure[i].happened;
        tally_sum_merge(&into->measure[i].sum, &from->measure[i].sum);
        tally_merge_quantity(&into->measure[i].quantity, &from->measure[i].quantity);
    }
}

void tally_merge(struct tally *into, struct tally *from)
{
    into->trials += from->trials;
    into->unbalanced += from->unbalanced;
    for (int food = 0; food < FUTURE_FOODS; food++)
        into->short_ever[food] += from->short_ever[food];
    for (int y = 0; y < into->years_n; y++)
        merge_year(&into->year[y], &from->year[y], into->weeks.n);
    tally_merge_weeks(&into->weeks, &from->weeks);
}
