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
                         const struct harvest_picking *picking, double heat[SCENARIO_WEEKS])
{
    int from = season_week_heats(plan, season, p->base, plan_week(picking->out), picking->end_week, picking->heat_out,
                                 p->first_pick_heat, heat);
    heat[picking->end_week] = picking->heat_end - picking->heat_out;
    return from;
}

double harvest_pick(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                    const struct harvest_picking *picking, double kg, struct harvest *out)
{
    double heat[SCENARIO_WEEKS + 1], dry[SCENARIO_WEEKS + 1], taken = 0, brought = 0;
    int w = harvest_heat_by_week(plan, p, season, picking, heat), end = picking->end_week, finish = finishes(p);
    int drying = p->crop->indoor_drying_weeks, arrives = w + drying, last = end + drying;
    heat[end + 1] = heat[end] + p->crop->finish_indoors_heat;
    chance_cdf_row(p->dry, heat + w, end + 1 + finish - w, dry + w);
    for (; w < end; w++) {
        double share = dry[w] - taken;
        taken = dry[w];
        brought += share;
        out->arrives_kg[w + drying] = kg * share;
    }
    double share = dry[end] - taken + (finish ? p->crop->finish_share * (dry[end + 1] - dry[end]) : 0.0);
    out->arrives_kg[last] = kg * share;
    while (arrives <= last && !(out->arrives_kg[arrives] > SPECK_KG))
        arrives++;
    out->first_week = arrives <= last ? arrives : SCENARIO_NEVER;
    out->last_week = last;
    return brought + share;
}

void harvest_beans(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                   const struct season *season, double year_factor, struct harvest *out)
{
    struct harvest_stand stand;
    harvest_begin(p, season_key, season, &stand);
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
    double brought = harvest_pick(plan, p, season, &picking, kg, out);
    struct chance_pcg whole = chance_stream(season_key, p->sorting_key);
    out->sorted_out = chance_draw(p->sorted_out, chance_pcg_next(&whole));
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
    double heat[SCENARIO_WEEKS];
    int week = harvest_heat_by_week(plan, p, season, &picking, heat), end = picking.end_week;
    while (week < end && !(chance_cdf_at(p->dry, heat[week]) > 0))
        week++;
    bool any = chance_cdf_at(p->dry, heat[week]) > 0
               || (finishes(p) && chance_cdf_at(p->dry, heat[end] + p->crop->finish_indoors_heat) > 0);
    week += p->crop->indoor_drying_weeks;
    return any && week < before && brings_any(p, count, &stand) ? week : SCENARIO_NEVER;
}
