/* weather.c: what a season's weather is drawn from: distributions of dates and warmth, recorded seasons, or made-up ones. */
#include "plan/internal.h"

#include <math.h>

enum { MOST_ROWS = 512 };
static const double ROW_STEP_C = 0.125;

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
    return plan_judge_rows(make, plan) && plan_shared_heat(make, weather, tmin_c, tmax_c)
           && plan_make_this_season(make, plan->scenario, climate, weather) && plan_make_weather_readings(make, plan, readings);
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
