/* weather_doubt.c: frost dates and warmth that come from so many recorded seasons, in each reading of the settings. */
#include "plan/internal.h"

enum { LAST_FROST, HARD_FROST, WARMTH, FIGURES };

bool plan_read_climate(const struct plan_maker *make, const struct plan *plan, struct plan_weather_reading **readings)
{
    const struct scenario_climate *climate = &plan->scenario->climate;
    const struct plan_weather *weather = &plan->weather;
    const struct scenario_distribution *spec[FIGURES] = { &climate->last_frost, &climate->first_hard_frost, &climate->warmth };
    *readings = NULL;
    if (!(spec[LAST_FROST]->from_records > 0 || spec[HARD_FROST]->from_records > 0 || spec[WARMTH]->from_records > 0))
        return true;
    struct plan_weather_reading *reading = base_arena_array(make->arena, PLAN_READINGS, sizeof *reading);
    for (int r = 0; reading && r < PLAN_READINGS; r++) {
        struct plan_weather_reading *to = &reading[r];
        *to = (struct plan_weather_reading){ *spec[LAST_FROST], *spec[HARD_FROST], *spec[WARMTH],
                                             weather->last_frost, weather->first_hard_frost, weather->warmth };
        struct scenario_distribution *as_read[FIGURES] = { &to->last_frost, &to->first_hard_frost, &to->warmth };
        const struct chance_table **table[FIGURES] = { &to->last_frost_table, &to->first_hard_frost_table, &to->warmth_table };
        for (int i = 0; i < FIGURES; i++) {
            if (!(spec[i]->from_records > 0))
                continue;
            *table[i] = plan_reading_table(make, plan, "climate", i, spec[i], r, as_read[i]);
            if (!*table[i])
                return false;
        }
    }
    *readings = reading;
    return reading != NULL;
}

/* What is known of season 0 has another score in another reading; in one that could not have brought it, the settings' own. */
static bool reread_this_season(const struct plan_maker *make, const struct plan *plan,
                               const struct plan_weather_reading *reading, struct plan_weather *weather)
{
    struct scenario_climate climate = plan->scenario->climate;
    struct base_complaints aside = { 0 };
    struct plan_maker quiet = { make->arena, make->share, &aside };
    climate.last_frost = reading->last_frost;
    climate.first_hard_frost = reading->first_hard_frost;
    climate.warmth = reading->warmth;
    bool good = plan_make_this_season(&quiet, plan->scenario, &climate, weather);
    bool out_of_memory = !good && (aside.errors == 0 || aside.out_of_memory);
    base_complaints_free(&aside);
    if (!good)
        weather->this_season = plan->weather.this_season;
    return !out_of_memory;
}

bool plan_make_weather_readings(const struct plan_maker *make, struct plan *plan, const struct plan_weather_reading *readings)
{
    if (!readings)
        return true;
    struct plan_weather *weather = base_arena_array(make->arena, PLAN_READINGS, sizeof *weather);
    for (int r = 0; weather && r < PLAN_READINGS; r++) {
        weather[r] = plan->weather;
        weather[r].last_frost = readings[r].last_frost_table;
        weather[r].first_hard_frost = readings[r].first_hard_frost_table;
        weather[r].warmth = readings[r].warmth_table;
        if (!reread_this_season(make, plan, &readings[r], &weather[r]))
            return false;
    }
    plan->weather.reading = weather;
    return weather != NULL;
}
