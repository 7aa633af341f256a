/* beans.c: seed of a planting, picked week by week as the pods dry. */
#include "harvest/internal.h"

static const double SPECK_KG = 1e-12; /* a picking of less is none: it begins no food year */

static struct harvest_picking calendar(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                                       int out)
{
    int end = season->first_hard_frost - 1;
    end = p->crop->pick_until < end ? p->crop->pick_until : end;
    end = end > out ? end : out;
    return (struct harvest_picking){ out, plan_week(end), season_heat(plan, season, p->base, out),
                                     season_heat(plan, season, p->base, end) };
}

/* Is seed good that is pulled green on the last day: what dries within finish_indoors_heat? */
static bool finishes(const struct plan_planting *p)
{
    return p->crop->finish_share > 0 && p->crop->finish_indoors_heat > 0;
}

int harvest_heat_by_week(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                         const struct harvest_picking *picking, double heat[HARVEST_HEATS], int *from)
{
    int end = picking->end_week;
    *from = season_week_heats(plan, season, p->base, plan_week(picking->out), end, picking->heat_out, p->first_pick_heat, heat);
    heat[end] = picking->heat_end - picking->heat_out;
    heat[end + 1] = heat[end] + p->crop->finish_indoors_heat;
    return end + 1 - *from + finishes(p);
}

double harvest_lay_pickings(const struct plan_planting *p, const struct harvest_picking *picking, int from, const double *dry,
                            double kg, struct harvest *out)
{
    int drying = p->crop->indoor_drying_weeks, last = picking->end_week + drying, arrives = from + drying, n = last - arrives;
    double *arrives_kg = out->arrives_kg + arrives, taken = 0, brought = 0;
    for (int w = 0; w < n; w++) {
        double share = dry[w] - taken;
        taken = dry[w];
        brought += share;
        arrives_kg[w] = kg * share;
    }
    double share = dry[n] - taken + (finishes(p) ? p->crop->finish_share * (dry[n + 1] - dry[n]) : 0.0);
    arrives_kg[n] = kg * share;
    while (arrives <= last && !(out->arrives_kg[arrives] > SPECK_KG))
        arrives++;
    out->first_week = arrives <= last ? arrives : SCENARIO_NEVER;
    out->last_week = last;
    return brought + share;
}

/* Both for one trial. */
static double pick(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                   const struct harvest_picking *picking, double kg, struct harvest *out)
{
    double heat[HARVEST_HEATS], dry[HARVEST_HEATS];
    int from, n = harvest_heat_by_week(plan, p, season, picking, heat, &from);
    chance_cdf_row(p->dry, heat + from, n, dry);
    return harvest_lay_pickings(p, picking, from, dry, kg, out);
}

void harvest_beans(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                   const struct season *season, double year_factor, struct harvest *out)
{
    struct harvest_stand stand;
    harvest_begin(p, season_key, season, &stand);
    harvest_share_units(plan, p, count, season, &stand);
    double last_part = 1, grown = 0, down = 0;
    int units = harvest_units(count, &last_part);
    for (int u = 1; u <= units; u++) {
        struct harvest_unit unit;
        harvest_next_unit(p, &stand, &unit);
        double kg = unit.stands ? chance_draw(p->unit_kg, unit.bears) * (u == units ? last_part : 1.0) : 0.0;
        grown += kg;
        if (unit.down)
            down += kg;
    }
    double to_kg = year_factor * p->crop->left_to_dry;
    double blown_kg = down * to_kg * p->crop->blow_down_loses, kg = grown * to_kg - blown_kg;
    struct harvest_picking picking = calendar(plan, p, season, stand.out);
    double brought = pick(plan, p, season, &picking, kg, out);
    struct chance_pcg whole = chance_stream(season_key, p->sorting_key);
    out->sorted_out = chance_draw(p->sorted_out, season_word(season, p->points.sorted_out, chance_pcg_next(&whole)));
    out->grown_kg = grown * to_kg;
    out->field_loss_kg = blown_kg + kg * (1 - brought);
}

/* Does any unit bring seed? */
static bool brings_any(const struct plan_planting *p, double count, struct harvest_stand *stand)
{
    double last_part = 1;
    int units = p->crop->left_to_dry > 0 ? harvest_units(count, &last_part) : 0;
    for (int u = 1; u <= units; u++) {
        struct harvest_unit unit;
        harvest_next_unit(p, stand, &unit);
        if (unit.stands && chance_draw(p->unit_kg, unit.bears) > 0 && !(unit.down && p->crop->blow_down_loses >= 1))
            return true;
    }
    return false;
}

int harvest_beans_first_week(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                             const struct season *season, int before)
{
    struct harvest_stand stand;
    harvest_begin(p, season_key, season, &stand);
    struct harvest_picking picking = calendar(plan, p, season, stand.out);
    double heat[HARVEST_HEATS];
    int week, end = picking.end_week;
    harvest_heat_by_week(plan, p, season, &picking, heat, &week);
    while (week < end && !(chance_cdf_at(p->dry, heat[week]) > 0))
        week++;
    bool any = chance_cdf_at(p->dry, heat[week]) > 0
               || (finishes(p) && chance_cdf_at(p->dry, heat[end + 1]) > 0);
    week += p->crop->indoor_drying_weeks;
    return any && week < before && brings_any(p, count, &stand) ? week : SCENARIO_NEVER;
}
