/* rows.c: heat by day for every row of warmth, or recorded season, and every base. */
#include "plan/internal.h"

#include <string.h>

/* One row: heat since day 0 of a year with these daily temperatures. */
static void fill_row(struct plan_heat row[PLAN_HEAT_ROW], const double *tmin_c, const double *tmax_c,
                     double warmth_c, double base_c)
{
    double heat = 0, slope = 0;
    for (int day = 0; day < SCENARIO_DAYS; day++) {
        row[day] = (struct plan_heat){ plan_round(heat), plan_round(slope) };
        struct plan_heat of_day = plan_day_heat(tmin_c[day] + warmth_c, tmax_c[day] + warmth_c, base_c);
        heat += of_day.heat;
        slope += of_day.slope;
    }
    row[SCENARIO_DAYS] = (struct plan_heat){ plan_round(heat), plan_round(slope) };
    for (int week = 0; week < SCENARIO_WEEKS - 1; week++)
        row[PLAN_WEEK_HEATS + week] = row[plan_week_end(week)];
}

bool plan_fill_heat(struct base_arena *arena, struct plan_weather *weather, const struct plan_records *records,
                    const double *tmin_c, const double *tmax_c)
{
    const struct plan_heat **heat = base_arena_array(arena, (size_t)weather->bases + 1, sizeof *heat);
    if (!heat)
        return false;
    for (int b = 0; b < weather->bases; b++) {
        struct plan_heat *rows = base_arena_array(arena, (size_t)weather->rows * PLAN_HEAT_ROW, sizeof *rows);
        if (!rows)
            return false;
        for (int r = 0; r < weather->rows; r++) {
            const struct plan_recorded_season *season = records ? &records->season[r] : NULL;
            fill_row(rows + (size_t)r * PLAN_HEAT_ROW, season ? season->tmin_c : tmin_c,
                     season ? season->tmax_c : tmax_c,
                     season ? 0.0 : weather->first_warmth + r * weather->warmth_step, weather->base_c[b]);
        }
        heat[b] = rows;
    }
    weather->heat = heat;
    return true;
}

/* Heat rows made for another plan of the same normals, rows and bases; else new ones, for others to share. */
struct plan_shared_heat { struct plan_shared_heat *next; double tmin_c[SCENARIO_DAYS], tmax_c[SCENARIO_DAYS];
                          struct plan_weather weather; };

static bool same_heat(const struct plan_shared_heat *heat, const struct plan_weather *weather, const double *tmin_c,
                      const double *tmax_c)
{
    const struct plan_weather *other = &heat->weather;
    return other->rows == weather->rows && other->first_warmth == weather->first_warmth
           && other->warmth_step == weather->warmth_step && other->bases == weather->bases
           && memcmp(other->base_c, weather->base_c, (size_t)weather->bases * sizeof *weather->base_c) == 0
           && memcmp(heat->tmin_c, tmin_c, sizeof heat->tmin_c) == 0
           && memcmp(heat->tmax_c, tmax_c, sizeof heat->tmax_c) == 0;
}

bool plan_shared_heat(const struct plan_maker *make, struct plan_weather *weather, const double *tmin_c, const double *tmax_c)
{
    struct plan_shared_heat *heat = make->share ? make->share->heats : NULL;
    while (heat && !same_heat(heat, weather, tmin_c, tmax_c))
        heat = heat->next;
    if (heat) {
        weather->heat = heat->weather.heat;
        return true;
    }
    if (!plan_fill_heat(make->arena, weather, NULL, tmin_c, tmax_c))
        return false;
    heat = make->share ? base_arena_take(make->arena, sizeof *heat) : NULL;
    if (heat) {
        heat->next = make->share->heats;
        heat->weather = *weather;
        memcpy(heat->tmin_c, tmin_c, sizeof heat->tmin_c);
        memcpy(heat->tmax_c, tmax_c, sizeof heat->tmax_c);
        make->share->heats = heat;
    }
    return heat || !make->share;
}

bool plan_judge_rows(const struct plan_maker *make, const struct plan *plan)
{
    const struct plan_weather *weather = &plan->weather;
    const struct scenario_origin *origin = &plan->scenario->climate.origin;
    double mib = (double)weather->rows * weather->bases * PLAN_HEAT_ROW * (double)sizeof(struct plan_heat) / 1048576.0;
    if (mib <= PLAN_MOST_MIB)
        return true;
    base_complain(make->complaints, BASE_ERROR, origin->file, origin->line, "climate",
                  "heat of %d seasons above %d different base_c would need about %.0f MiB of memory (allowed: %d MiB); fewer "
                  "seasons, or one base_c for several crops", weather->rows, weather->bases, mib, (int)PLAN_MOST_MIB);
    return false;
}
