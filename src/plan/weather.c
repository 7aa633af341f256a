/* weather.c: what a season's weather is drawn from: tables of dates and warmth, or the recorded seasons; heat by day. */
#include "plan/internal.h"

#include <math.h>
#include <string.h>

enum { LAST_SPRING_DAY = 137, SCORE_FROM = 61, SCORE_UNTIL = 213, MOST_ROWS = 512 };
static const double ROW_STEP_C = 0.125;
static const double SCORE_BASE_C = 10.0;

static int find_base(const double *bases, int n, double base_c)
{
    for (int i = 0; i < n; i++)
        if (bases[i] == base_c)
            return i;
    return -1;
}

static bool take_bases(struct base_arena *arena, struct plan *plan)
{
    double *bases = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *bases);
    if (!bases)
        return false;
    int n = 0;
    for (int p = 0; p < plan->plantings_n; p++) {
        double base_c = plan->plantings[p].crop->base_c;
        int at = find_base(bases, n, base_c);
        if (at < 0)
            bases[at = n++] = base_c;
        plan->plantings[p].base = at;
    }
    plan->weather.bases = n;
    plan->weather.base_c = bases;
    return true;
}

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

static bool fill_heat(struct base_arena *arena, struct plan_weather *weather, const struct plan_records *records,
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

static bool shared_heat(const struct plan_maker *make, struct plan_weather *weather, const double *tmin_c,
                        const double *tmax_c)
{
    struct plan_shared_heat *heat = make->share ? make->share->heats : NULL;
    while (heat && !same_heat(heat, weather, tmin_c, tmax_c))
        heat = heat->next;
    if (heat) {
        weather->heat = heat->weather.heat;
        return true;
    }
    if (!fill_heat(make->arena, weather, NULL, tmin_c, tmax_c))
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

/* Heat is kept by day for every row of warmth, or season, and every base: bounded. */
static bool judge_rows(const struct plan_maker *make, const struct plan *plan)
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

/* Rows of warmth over all that the distribution, in any of its readings, can be expected to bring in any run (2^-44 a side), and
 * over what is known of season 0. */
static void choose_rows(struct plan_weather *weather, const struct chance_distribution *warmth,
                        const struct scenario_this_season *known, const struct plan_weather_reading *readings)
{
    double low = chance_quantile(warmth, 0x1p-44), high = chance_upper_quantile(warmth, 0x1p-44), step = ROW_STEP_C;
    for (int r = 0; readings && r < PLAN_READINGS; r++) {
        low = fmin(low, chance_draw(readings[r].warmth_table, 0));
        high = fmax(high, chance_draw(readings[r].warmth_table, UINT64_MAX));
    }
    if (known->has_warmth) {
        low = fmin(low, known->warmth_c);
        high = fmax(high, known->warmth_c);
    }
    if ((high - low) / step > MOST_ROWS - 2)
        step = (high - low) / (MOST_ROWS - 2);
    weather->first_warmth = plan_round(low);
    weather->warmth_step = plan_round(step);
    weather->rows = (int)((high - low) / step) + 2;
}

static bool from_distributions(const struct plan_maker *make, struct plan *plan)
{
    const struct scenario_climate *climate = &plan->scenario->climate;
    struct plan_weather *weather = &plan->weather;
    const struct chance_distribution *warmth = chance_make(make->arena, &climate->warmth, make->complaints);
    weather->last_frost = plan_table(make, &climate->last_frost);
    weather->first_hard_frost = plan_table(make, &climate->first_hard_frost);
    if (!warmth || !weather->last_frost || !weather->first_hard_frost)
        return false;
    weather->warmth = plan_table(make, &climate->warmth);
    if (!chance_cholesky(climate->correlation, weather->mix)) {
        base_complain(make->complaints, BASE_ERROR, climate->correlation_origin.file, climate->correlation_origin.line,
                      "climate.correlation", "no three quantities can be correlated so (the matrix is not positive "
                      "definite): bring the figures nearer to 0");
        return false;
    }
    weather->independent = weather->mix[1][0] == 0 && weather->mix[2][0] == 0 && weather->mix[2][1] == 0;
    struct plan_weather_reading *readings;
    if (!weather->warmth || !plan_read_climate(make, plan, &readings))
        return false;
    choose_rows(weather, warmth, &climate->this_season, readings);
    double tmin_c[SCENARIO_DAYS], tmax_c[SCENARIO_DAYS];
    plan_daily_normals(climate->tmin_c, plan->scenario->year_starts, tmin_c);
    plan_daily_normals(climate->tmax_c, plan->scenario->year_starts, tmax_c);
    return judge_rows(make, plan) && shared_heat(make, weather, tmin_c, tmax_c) && plan_make_this_season(make, plan->scenario, climate, weather)
           && plan_make_weather_readings(make, plan, readings);
}

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
    return judge_rows(make, plan) && fill_recorded(make->arena, plan, records)
           && fill_heat(make->arena, &plan->weather, records, NULL, NULL);
}

bool plan_make_weather(const struct plan_maker *make, struct plan *plan, const struct plan_records *records)
{
    struct base_arena *arena = make->arena;
    plan->weather.key = chance_stream_key("climate", PLAN_WEATHER);
    if (!take_bases(arena, plan))
        return false;
    bool from_records = plan->scenario->climate.records_file != NULL;
    if (from_records && (!records || records->n == 0))
        return false; /* the reader has complained */
    const struct scenario_climate *climate = &plan->scenario->climate;
    if ((climate->this_season.has_last_frost || climate->this_season.has_warmth) && (from_records || climate->generator.is_set)) {
        base_complain(make->complaints, BASE_ERROR, climate->origin.file, climate->origin.line, "climate.this_season",
                      "goes with frost dates and warmth from distributions only, not with recorded or made-up seasons");
        return false;
    }
    if (plan->scenario->climate.generator.is_set)
        return plan_use_generator(make, plan, from_records ? records : NULL);
    return from_records ? plan_use_seasons(make, plan, records) : from_distributions(make, plan);
}
