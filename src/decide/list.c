/* list.c: figures with one value a trial. */
#include "decide/decide.h"

#include <math.h>
#include <string.h>

bool decide_list_make(struct base_arena *arena, int years, struct decide_list *list)
{
    list->n = 0;
    list->item = base_arena_array(arena, (size_t)(years + 1) * (size_t)tally_measures_n * FUTURE_FOODS, sizeof *list->item);
    if (!list->item)
        return false;
    int short_measure = tally_find_measure("chance_short");
    for (int food = 0; years > 1 && food < FUTURE_FOODS; food++)
        list->item[list->n++] = (struct decide_item){ TALLY_ALL_YEARS, short_measure, food };
    for (int year = 0; year < years; year++)
        for (int m = 0; m < tally_measures_n; m++)
            for (int food = 0; food < FUTURE_FOODS; food++)
                if (tally_measures[m].has_mean && tally_measures[m].foods >> food & 1)
                    list->item[list->n++] = (struct decide_item){ year, m, food };
    return true;
}

bool decide_is_chance(const struct decide_item *item) { return tally_measures[item->measure].is_chance; }
int decide_better(const struct decide_item *item) { return tally_measures[item->measure].better; }

int decide_find(const struct decide_list *list, int year, int measure, int food)
{
    for (int i = 0; i < list->n; i++)
        if (list->item[i].year == year && list->item[i].measure == measure && list->item[i].food == food)
            return i;
    return -1;
}

static double in_any_year(const struct future_ledger *ledger, int food)
{
    bool any = false;
    for (int y = 0; y < ledger->years_n; y++)
        any |= ledger->year[y].short_weeks[food] > 0;
    return any;
}

void decide_values(const struct decide_list *list, const struct plan *plan, const struct future_ledger *ledger,
                   double *value)
{
    for (int i = 0; i < list->n; i++) {
        const struct decide_item *item = &list->item[i];
        value[i] = item->year == TALLY_ALL_YEARS
                       ? in_any_year(ledger, item->food)
                       : tally_measures[item->measure].value(plan, &ledger->year[item->year], item->food);
    }
}

bool decide_sums_make(struct base_arena *arena, const struct decide_list *list, struct decide_sums *sums)
{
    sums->sum = base_arena_array(arena, (size_t)list->n, sizeof *sums->sum);
    return sums->sum != NULL;
}

bool decide_pairs_make(struct base_arena *arena, const struct decide_list *list, struct decide_pairs *pairs)
{
    size_t n = (size_t)list->n;
    pairs->difference = base_arena_array(arena, n, sizeof *pairs->difference);
    pairs->up = base_arena_array(arena, n, sizeof *pairs->up);
    pairs->down = base_arena_array(arena, n, sizeof *pairs->down);
    return pairs->difference && pairs->up && pairs->down;
}

void decide_add(const struct decide_list *list, struct decide_sums *sums, const double *value)
{
    for (int i = 0; i < list->n; i++)
        if (value[i] != 0)
            tally_sum_add(&sums->sum[i], value[i]);
}

/* Is it the same but for the last digits, in which the order of a sum may show? */
static bool same(double a, double b)
{
    return a == b || fabs(a - b) <= 1e-11 * fmin(fabs(a), fabs(b)) + 1e-12;
}

void decide_add_pair(const struct decide_list *list, struct decide_pairs *pairs, const double *base, const double *other)
{
    for (int i = 0; i < list->n; i++) {
        if (same(base[i], other[i]))
            continue;
        tally_sum_add(&pairs->difference[i], other[i] - base[i]);
        pairs->up[i] += other[i] > base[i];
        pairs->down[i] += other[i] < base[i];
    }
}

void decide_sums_merge(const struct decide_list *list, struct decide_sums *into, const struct decide_sums *from)
{
    for (int i = 0; i < list->n; i++)
        tally_sum_merge(&into->sum[i], &from->sum[i]);
}

void decide_pairs_merge(const struct decide_list *list, struct decide_pairs *into, const struct decide_pairs *from)
{
    for (int i = 0; i < list->n; i++) {
        tally_sum_merge(&into->difference[i], &from->difference[i]);
        into->up[i] += from->up[i];
        into->down[i] += from->down[i];
    }
}
