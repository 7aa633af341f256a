/* list.c: figures with one value a trial. */
#include "decide/decide.h"

#include <math.h>
#include <string.h>

enum { SIDE = PLAN_ABREAST };

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

static void in_any_year(const struct future_block *block, int food, double value[SIDE])
{
    for (int t = 0; t < SIDE; t++) {
        bool any = false;
        for (int y = 0; t < block->n && y < block->ledger[t].years_n; y++)
            any |= block->ledger[t].year[y].short_weeks[food] > 0;
        value[t] = any;
    }
}

void decide_values(const struct decide_list *list, const struct plan *plan, const struct future_block *block, double *value)
{
    for (int i = 0; i < list->n; i++, value += SIDE) {
        const struct decide_item *item = &list->item[i];
        if (item->year == TALLY_ALL_YEARS)
            in_any_year(block, item->food, value);
        else
            tally_values(&tally_measures[item->measure], item->food, plan, item->year, block, value);
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
        tally_sum_add_block(&sums->sum[i], value + i * SIDE);
}

/* Differences of a block's values; none where it is but the last digits, in which the order of a sum may show. Which way
 * they go is counted. Are there any? */
BASE_VECTOR static bool differ(const double *restrict base, const double *restrict other, double *restrict difference,
                               int64_t *restrict up, int64_t *restrict down)
{
    int64_t ups = 0, downs = 0;
    for (int t = 0; t < SIDE; t++) {
        double a = fabs(base[t]), b = fabs(other[t]), d = other[t] - base[t], less = a < b ? a : b;
        bool same = (other[t] == base[t]) | (fabs(d) <= 1e-11 * less + 1e-12);
        difference[t] = same ? 0.0 : d;
    }
    for (int t = 0; t < SIDE; t++) {
        ups += difference[t] > 0;
        downs += difference[t] < 0;
    }
    *up += ups;
    *down += downs;
    return ups + downs > 0;
}

void decide_add_pair(const struct decide_list *list, struct decide_pairs *pairs, const double *base, const double *other)
{
    for (int i = 0; i < list->n; i++) {
        double difference[SIDE];
        if (differ(base + i * SIDE, other + i * SIDE, difference, &pairs->up[i], &pairs->down[i]))
            tally_sum_add_block(&pairs->difference[i], difference);
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
