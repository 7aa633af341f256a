/* plantings.c: crops and plantings made ready: keys of their luck, tables, chances. */
#include "plan/internal.h"

#include <math.h>

static const double EDGE = 1e-9; /* a count within this of a whole number is that number */

int plan_units(double count) { return count <= EDGE ? 0 : (int)ceil(count - EDGE); }

static bool make_crops(const struct plan_maker *make, struct plan *plan)
{
    const struct scenario *scenario = plan->scenario;
    plan->crops = base_arena_array(make->arena, (size_t)scenario->crops_n + 1, sizeof *plan->crops);
    if (!plan->crops)
        return false;
    plan->crops_n = scenario->crops_n;
    bool good = true;
    for (int c = 0; c < scenario->crops_n; c++) {
        const struct scenario_crop *crop = &scenario->crops[c];
        double rho = crop->follows_warmth;
        plan->crops[c] = (struct plan_crop){
            .name = crop->name,
            .year_key = chance_stream_key(crop->name, PLAN_YEAR),
            .year_factor = plan_table(make, &crop->year_factor),
            .follows = rho,
            .apart = sqrt(1 - rho * rho),
        };
        good &= plan->crops[c].year_factor != NULL;
    }
    return good;
}

static int crop_index(const struct scenario *scenario, const char *name)
{
    int at = 0;
    while (at < scenario->crops_n - 1 && scenario->crops[at].name != name)
        at++;
    return at;
}

static bool make_beans(const struct plan_maker *make, struct plan_planting *p)
{
    const struct scenario_crop *crop = p->crop;
    const struct chance_distribution *dry;
    p->unit_kg = plan_table(make, &crop->unit_kg);
    p->sorted_out = plan_table(make, &crop->sorted_out);
    p->dry = plan_cdf_table(make, &crop->heat_to_dry, &dry);
    if (!p->unit_kg || !p->sorted_out || !p->dry)
        return false;
    p->first_pick_heat = crop->first_pick_share > 0 ? plan_round(chance_quantile(dry, crop->first_pick_share)) : 0.0;
    if (crop->saves_seed)
        p->seed_due_kg = crop->seed_kg_per_unit * p->planting->count * (1 + crop->seed_spare);
    return true;
}

static const double *mass_by_age(struct base_arena *arena, double keeps, int weeks)
{
    double *share = base_arena_array(arena, (size_t)weeks + 1, sizeof *share);
    if (share) {
        share[0] = 1.0;
        for (int week = 1; week <= weeks; week++)
            share[week] = share[week - 1] * keeps;
    }
    return share;
}

static bool make_squash(const struct plan_maker *make, struct plan *plan, struct plan_planting *p)
{
    const struct scenario_crop *crop = p->crop;
    const struct chance_distribution *heat;
    p->fruits = plan_table(make, &crop->fruits);
    p->fruit_kg = plan_table(make, &crop->fruit_kg);
    p->keeps_weeks = plan_table(make, &crop->keeps_weeks);
    p->ripe = plan_cdf_table(make, &crop->heat_to_ripen, &heat);
    if (crop->die_back_heat.set)
        p->die_back_heat = plan_table(make, &crop->die_back_heat);
    if (!p->fruits || !p->fruit_kg || !p->keeps_weeks || !p->ripe || (crop->die_back_heat.set && !p->die_back_heat))
        return false;
    p->cures_well = chance_bernoulli(crop->cures_well);
    p->left_to_store = chance_bernoulli(crop->left_to_store);
    p->life_factor[SCENARIO_UNRIPE] = crop->unripe_factor;
    p->life_factor[SCENARIO_POOR] = crop->poor_cure_factor;
    p->life_factor[SCENARIO_WELL] = 1.0;
    p->keeps_mass = 1 - crop->drying_loss_per_week;
    p->mass_at_age = mass_by_age(make->arena, p->keeps_mass, plan->weeks);
    return p->mass_at_age != NULL;
}

static void set_keys(struct plan_planting *p, const char *name)
{
    p->yield_key = chance_stream_key(name, PLAN_YIELD);
    p->field_key = chance_stream_key(name, PLAN_FIELD);
    p->ripening_key = chance_stream_key(name, PLAN_RIPENING);
    p->keeping_key = chance_stream_key(name, PLAN_KEEPING);
    p->sorting_key = chance_stream_key(name, PLAN_SORTING);
    p->jars_key = chance_stream_key(name, PLAN_JARS);
    p->shelf_key = chance_stream_key(name, PLAN_SHELF);
}

/* The greatest number of fruits a unit can bear is bounded. */
static bool judge_fruits(const struct plan_planting *p, struct base_complaints *complaints)
{
    const struct scenario_origin *origin = &p->crop->fruits.origin;
    if (p->most_fruits <= PLAN_MOST_FRUITS_A_UNIT)
        return true;
    base_complain(complaints, BASE_ERROR, origin->file, origin->line, origin->path,
                  "a unit may bear as many as %d fruits (allowed: %d); at_most keeps it within bounds", p->most_fruits,
                  (int)PLAN_MOST_FRUITS_A_UNIT);
    return false;
}

static bool make_one(const struct plan_maker *make, struct plan *plan, int at)
{
    struct plan_planting *p = &plan->plantings[at];
    p->planting = &plan->scenario->plantings[at];
    p->crop = &p->planting->crop;
    p->kind = p->crop->kind;
    p->crop_index = crop_index(plan->scenario, p->crop->name);
    set_keys(p, p->planting->name);
    p->stands = plan_table(make, &p->crop->stands);
    p->stands_certainly = p->stands && p->stands->kind == CHANCE_CONSTANT && p->stands->constant >= 1;
    p->wind_may = p->crop->blow_down > 0 && p->crop->blow_down_loses > 0;
    p->blow_down = chance_bernoulli(p->crop->blow_down);
    p->blow_down_loses = chance_bernoulli(p->crop->blow_down_loses);
    p->frost_kills = chance_bernoulli(p->crop->frost_kills);
    bool good = p->crop->kind == SCENARIO_KIND_BEANS ? make_beans(make, p) : make_squash(make, plan, p);
    return good && p->stands && plan_make_doubt(make, plan, p) && judge_fruits(p, make->complaints);
}

/* Rank of eat_rank among the plantings' distinct ones, and how many those are. */
static void rank_plantings(struct plan *plan)
{
    int highest = 0;
    for (int p = 0; p < plan->plantings_n; p++) {
        int below = 0;
        for (int other = 0; other < plan->plantings_n; other++) {
            bool lower = plan->scenario->plantings[other].eat_rank < plan->scenario->plantings[p].eat_rank;
            for (int earlier = 0; lower && earlier < other; earlier++)
                lower = plan->scenario->plantings[earlier].eat_rank != plan->scenario->plantings[other].eat_rank;
            below += lower;
        }
        plan->plantings[p].rank = below;
        highest = below > highest ? below : highest;
    }
    plan->ranks_n = highest + 1;
}

static bool list_kinds(struct base_arena *arena, struct plan *plan)
{
    int *squash = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *squash);
    int *beans = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *beans);
    for (int p = 0; squash && beans && p < plan->plantings_n; p++) {
        bool is_squash = plan->plantings[p].kind == SCENARIO_KIND_SQUASH;
        plan->plantings[p].among = is_squash ? plan->squash_n : plan->beans_n;
        if (is_squash)
            squash[plan->squash_n++] = p;
        else
            beans[plan->beans_n++] = p;
    }
    plan->squash = squash;
    plan->beans = beans;
    return squash && beans;
}

bool plan_make_plantings(const struct plan_maker *make, struct plan *plan)
{
    plan->plantings_n = plan->scenario->plantings_n;
    plan->plantings = base_arena_array(make->arena, (size_t)plan->plantings_n + 1, sizeof *plan->plantings);
    if (!plan->plantings)
        return false;
    bool good = make_crops(make, plan);
    for (int p = 0; p < plan->plantings_n; p++)
        good &= make_one(make, plan, p);
    rank_plantings(plan);
    return good && list_kinds(make->arena, plan);
}
