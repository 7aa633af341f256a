/* recorded.c: a plan's weather from seasons of daily temperatures, recorded or made up. */
#include "plan/internal.h"

enum { LAST_SPRING_DAY = 137, SCORE_FROM = 61, SCORE_UNTIL = 213 };
static const double SCORE_BASE_C = 10.0;

static double score_heat(const struct plan_recorded_season *season)
{
    double heat = 0;
    for (int day = SCORE_FROM; day <= SCORE_UNTIL; day++)
        heat += plan_degree_days(season->tmin_c[day], season->tmax_c[day], SCORE_BASE_C);
    return plan_round(heat);
}

/* The season's own last frost, first hard frost, and its rank by heat (ties in file order) as a normal score. */
static bool fill_recorded(struct base_arena *arena, struct plan *plan, const struct plan_records *records)
{
    size_t n = (size_t)records->n;
    int *last = base_arena_array(arena, n, sizeof *last), *hard = base_arena_array(arena, n, sizeof *hard);
    double *score = base_arena_array(arena, n, sizeof *score), *heat = base_arena_array(arena, n, sizeof *heat);
    if (!last || !hard || !score || !heat)
        return false;
    for (int r = 0; r < records->n; r++) {
        const struct plan_recorded_season *season = &records->season[r];
        heat[r] = score_heat(season);
        last[r] = -1;
        for (int day = 0; day <= LAST_SPRING_DAY; day++)
            if (season->tmin_c[day] <= 0)
                last[r] = day;
        hard[r] = SCENARIO_DAYS;
        for (int day = SCENARIO_DAYS - 1; day > LAST_SPRING_DAY; day--)
            if (season->tmin_c[day] <= plan->scenario->climate.hard_frost_c)
                hard[r] = day;
    }
    for (int r = 0; r < records->n; r++) {
        int rank = 0;
        for (int other = 0; other < records->n; other++)
            rank += heat[other] < heat[r] || (heat[other] == heat[r] && other < r);
        score[r] = chance_curve(plan->normal->score, chance_word((rank + 0.5) / records->n));
    }
    plan->weather.row_last_frost = last;
    plan->weather.row_first_hard_frost = hard;
    plan->weather.row_score = score;
    return true;
}

bool plan_use_seasons(const struct plan_maker *make, struct plan *plan, const struct plan_records *records)
{
    plan->weather.recorded = true;
    plan->weather.rows = records->n;
    return plan_judge_rows(make, plan) && fill_recorded(make->arena, plan, records)
           && plan_fill_heat(make->arena, &plan->weather, records, NULL, NULL);
}
