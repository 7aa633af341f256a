/* shelf.c: lives of what was counted, given the age it has reached. */
#include "future/internal.h"

#include <math.h>

/* Whole weeks until something fails that began in `begun` and lives `life` weeks; it is alive in week `now`. */
static int fails_week(int begun, double life, int now)
{
    if (life >= SCENARIO_NEVER / 2)
        return SCENARIO_NEVER;
    int whole = (int)life, week = begun + whole + (whole < life);
    return week > now ? week : now + 1;
}

/* A life given an age: from its table when the age is the same in every trial, else by the distribution itself. */
static double life_given(const struct chance_table *table, const struct chance_distribution *d, double age,
                         uint64_t word)
{
    if (table)
        return chance_draw(table, word);
    return age > 0 ? chance_quantile_given(d, age, chance_uniform(word)) : chance_quantile(d, chance_uniform(word));
}

void future_fill_shelf(const struct plan *plan, struct future_trial *trial, int week, struct store_books *books)
{
    uint64_t key = chance_season_key(trial->random_seed, trial->number, -1);
    for (int i = 0; i < plan->shelf_fruits_n; i++) {
        const struct plan_shelf_fruit *item = &plan->shelf_fruits[i];
        struct chance_pcg pcg = chance_stream(key, plan->plantings[item->planting].shelf_key);
        chance_pcg_advance(&pcg, (uint64_t)i);
        double life = item->factor * life_given(item->life_given, item->life, (week - item->cut_week) / item->factor,
                                                chance_pcg_next(&pcg));
        double end = item->cut_week + life;
        if (end <= week)                    /* a life's rounding does not end what was counted alive */
            end = nextafter(week, HUGE_VAL);
        store_put_squash(plan, &trial->store, item, end, week, &books[SCENARIO_SQUASH]);
    }
    for (int i = 0; i < plan->shelf_jars_n; i++) {
        const struct plan_shelf_jar *item = &plan->shelf_jars[i];
        struct chance_pcg pcg = chance_stream(key, plan->plantings[item->planting].shelf_key);
        chance_pcg_advance(&pcg, (uint64_t)i);
        int begun = item->begun_week < week ? item->begun_week : week, fails = SCENARIO_NEVER;
        if (item->life)
            fails = fails_week(begun, life_given(item->life_given, item->life, week - begun, chance_pcg_next(&pcg)), week);
        store_put_jar(plan, &trial->store, item, fails, &books[SCENARIO_BEANS]);
    }
}
