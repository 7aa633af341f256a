/* make.c: a scenario becomes a plan. */
#include "plan/internal.h"

#include <math.h>
#include <string.h>

/* Places with the rank of their keeping factor, the lowest first: fruit that keeps worst is eaten first. */
static bool make_places(struct base_arena *arena, struct plan *plan)
{
    const struct scenario *scenario = plan->scenario;
    struct plan_place *places = base_arena_array(arena, (size_t)scenario->places_n, sizeof *places);
    if (!places)
        return false;
    int highest = 0;
    for (int i = 0; i < scenario->places_n; i++) {
        int below = 0;
        for (int other = 0; other < scenario->places_n; other++) {
            bool lower = scenario->places[other].keeps_factor < scenario->places[i].keeps_factor;
            for (int earlier = 0; lower && earlier < other; earlier++)
                lower = scenario->places[earlier].keeps_factor != scenario->places[other].keeps_factor;
            below += lower;
        }
        places[i] = (struct plan_place){ scenario->places[i].holds, scenario->places[i].keeps_factor, below };
        highest = below > highest ? below : highest;
    }
    plan->places = places;
    plan->places_n = scenario->places_n;
    plan->factor_ranks_n = highest + 1;
    return true;
}

/* A season that brings nothing begins its food year in the latest week in which one could still have hoped. */
static int no_produce_week(const struct scenario *scenario)
{
    int latest = 0;
    for (int p = 0; p < scenario->plantings_n; p++) {
        const struct scenario_crop *crop = &scenario->plantings[p].crop;
        int week = plan_week(crop->kind == SCENARIO_KIND_BEANS ? crop->pick_until : crop->cut_by);
        latest = week > latest ? week : latest;
    }
    return latest;
}

static int first_out_week(const struct scenario *scenario)
{
    int first = SCENARIO_WEEKS - 1;
    for (int p = 0; p < scenario->plantings_n; p++) {
        int week = plan_week(scenario->plantings[p].crop.plant_out);
        first = week < first ? week : first;
    }
    return scenario->plantings_n > 0 ? first : 0;
}

static double most_of(const struct chance_table *table) { return chance_draw(table, UINT64_MAX); }

/* Memory for a thread's trials, which follow every fruit and jar of every season: rows of the store and of two harvests. */
static double mib_a_thread(const struct plan *plan, double fruits, double jars)
{
    enum { FRUIT_IN_STORE = 25, FRUIT_IN_HARVEST = 17, JAR_BYTES = 24 };
    double seasons = plan->scenario->food_years + 1;
    return (fruits * (seasons * FRUIT_IN_STORE + 2 * FRUIT_IN_HARVEST) + jars * seasons * JAR_BYTES) / 1048576.0;
}

/* How many fruits and jars a trial must find room for. */
static bool take_sizes(struct plan *plan, struct base_complaints *complaints)
{
    const double most_jars = 1e6, most_fruits = 4e6;
    double fruits = 0, jars = 0;
    for (int i = 0; i < plan->plantings_n; i++) {
        const struct plan_planting *p = &plan->plantings[i];
        if (p->crop->kind == SCENARIO_KIND_SQUASH)
            fruits += plan_units(p->planting->count) * (double)p->most_fruits;
        else
            jars += 2 + ceil(p->planting->count * p->most_unit_kg
                             * most_of(plan->crops[p->crop_index].year_factor) / plan->scenario->store.jar_kg);
    }
    double mib = mib_a_thread(plan, fruits, jars);
    if (fruits <= most_fruits && jars <= most_jars && mib <= PLAN_MOST_MIB) {
        plan->most_fruits_a_season = (int)fruits;
        plan->most_jars_a_season = (int)jars;
        return true;
    }
    base_complain(complaints, BASE_ERROR, plan->scenario->plantings[0].origin.file, plan->scenario->plantings[0].origin.line, "plantings",
                  "a season could bring as many as %.3g fruits and %.3g jars, and %d of them would need about %.0f MiB of memory a "
                  "thread (allowed: %.0g fruits, %.0g jars, %d MiB); fewer units or food_years, larger jars, or at_most on what a "
                  "unit or a year can bring", fruits, jars, plan->scenario->food_years + 1, mib, most_fruits, most_jars,
                  (int)PLAN_MOST_MIB);
    return false;
}

struct plan *plan_make(struct base_arena *arena, const struct scenario *scenario, const struct plan_records *records,
                       struct plan_share *share, struct base_complaints *complaints)
{
    struct plan_share own = { 0 };
    const struct plan_maker maker = { arena, share ? share : &own, complaints }, *make = &maker;
    struct plan *plan = base_arena_take(arena, sizeof *plan);
    if (!plan)
        return NULL;
    plan->scenario = scenario;
    plan->weeks = SCENARIO_WEEKS * (scenario->food_years + 2) + PLAN_SEASON_SLOTS;
    plan->no_produce_week = no_produce_week(scenario);
    plan->first_out_week = first_out_week(scenario);
    plan->guests_key = chance_stream_key("household", PLAN_GUESTS);
    plan->doubt_key = chance_stream_key("settings", PLAN_DOUBT);
    plan->guests = chance_bernoulli(scenario->household.guests_chance);
    plan->usual_needed = scenario->household.ekes_out || scenario->shelf.has_as_of || scenario->shelf.beans_n > 0
                         || scenario->shelf.squash_n > 0;
    plan->normal = chance_normal_make(arena);
    if (!plan->normal || !plan_make_wants(arena, plan) || !make_places(arena, plan))
        return NULL;
    bool good = plan_make_plantings(make, plan);
    good = good && plan_make_weather(make, plan, records);
    if (scenario->store.jar_keeps_weeks.set) {
        plan->jar_keeps_weeks = plan_table(make, &scenario->store.jar_keeps_weeks);
        good &= plan->jar_keeps_weeks != NULL;
    }
    return good && take_sizes(plan, complaints) ? plan : NULL;
}

static void salt_key(uint64_t *key, unsigned purposes, enum plan_purpose purpose, uint64_t salt)
{
    if (purposes & (1u << purpose))
        *key = chance_mix(*key ^ chance_mix(salt));
}

static void salt_all(struct plan *plan, unsigned purposes, int planting, uint64_t salt)
{
    for (int p = 0; p < plan->plantings_n; p++) {
        if (planting >= 0 && p != planting)
            continue;
        salt_key(&plan->plantings[p].yield_key, purposes, PLAN_YIELD, salt);
        salt_key(&plan->plantings[p].field_key, purposes, PLAN_FIELD, salt);
        salt_key(&plan->plantings[p].ripening_key, purposes, PLAN_RIPENING, salt);
        salt_key(&plan->plantings[p].keeping_key, purposes, PLAN_KEEPING, salt);
        salt_key(&plan->plantings[p].sorting_key, purposes, PLAN_SORTING, salt);
        salt_key(&plan->plantings[p].jars_key, purposes, PLAN_JARS, salt);
        salt_key(&plan->plantings[p].shelf_key, purposes, PLAN_SHELF, salt);
    }
    if (planting < 0) {
        salt_key(&plan->weather.key, purposes, PLAN_WEATHER, salt);
        salt_key(&plan->doubt_key, purposes, PLAN_DOUBT, salt);
        salt_key(&plan->guests_key, purposes, PLAN_GUESTS, salt);
        for (int c = 0; c < plan->crops_n; c++)
            salt_key(&plan->crops[c].year_key, purposes, PLAN_YEAR, salt);
    }
}

struct plan *plan_salted(struct base_arena *arena, const struct plan *plan, unsigned purposes, int planting, uint64_t salt)
{
    struct plan *copy = base_arena_take(arena, sizeof *copy);
    struct plan_planting *plantings = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *plantings);
    struct plan_crop *crops = base_arena_array(arena, (size_t)plan->crops_n + 1, sizeof *crops);
    if (!copy || !plantings || !crops)
        return NULL;
    *copy = *plan;
    memcpy(plantings, plan->plantings, (size_t)plan->plantings_n * sizeof *plantings);
    memcpy(crops, plan->crops, (size_t)plan->crops_n * sizeof *crops);
    copy->plantings = plantings;
    copy->crops = crops;
    if (salt != 0)
        salt_all(copy, purposes, planting, salt);
    return plan_make_readings(arena, copy) ? copy : NULL;
}
