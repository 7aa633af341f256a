/* beans.c: seed of a planting, picked week by week as the pods dry. */
#include "harvest/internal.h"

/* The picking's calendar in one season: how dry the pods are by when. */
struct picking { int out, end_week; double heat_out, heat_end; };

static struct picking calendar(const struct plan *plan, const struct plan_planting *p, const struct season *season, int out)
{
    int end = season->first_hard_frost - 1;
    end = p->crop->pick_until < end ? p->crop->pick_until : end;
    end = end > out ? end : out;
    return (struct picking){ out, plan_week(end), season_heat(plan, season, p->base, out),
                             season_heat(plan, season, p->base, end) };
}

/* Heat since planting out to the end of each week of picking, by week of the year; in the last to the day on which it ends;
 * thereafter what drying indoors makes of it. `from` is the week in which picking begins: the first by whose end
 * first_pick_share are dry, the last at the latest. Returns how many of these heats, from that week's on, say what is dry. */
static int heat_by_week(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                        const struct picking *picking, double heat[HARVEST_HEATS], int *from)
{
    int end = picking->end_week;
    *from = season_week_heats(plan, season, p->base, plan_week(picking->out), end, picking->heat_out, p->first_pick_heat, heat);
    heat[end] = picking->heat_end - picking->heat_out;
    heat[end + 1] = heat[end] + p->crop->finish_indoors_heat;
    return end + 1 - *from + harvest_finishes(p);
}

/* Lays the pickings of `kg` of seed into the weeks of arrival, when so much is dry at those heats; returns the share that was
 * brought in. */
static double lay_pickings(const struct plan_planting *p, const struct picking *picking, int from, const double *dry,
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
    double share = dry[n] - taken + (harvest_finishes(p) ? p->crop->finish_share * (dry[n + 1] - dry[n]) : 0.0);
    arrives_kg[n] = kg * share;
    while (arrives <= last && !(out->arrives_kg[arrives] > HARVEST_SPECK_KG))
        arrives++;
    out->first_week = arrives <= last ? arrives : SCENARIO_NEVER;
    out->last_week = last;
    return brought + share;
}

/* Both for one trial. */
static double pick(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                   const struct picking *picking, double kg, struct harvest *out)
{
    double heat[HARVEST_HEATS], dry[HARVEST_HEATS];
    int from, n = heat_by_week(plan, p, season, picking, heat, &from);
    chance_cdf_row(p->dry, heat + from, n, dry);
    return lay_pickings(p, picking, from, dry, kg, out);
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
    struct picking picking = calendar(plan, p, season, stand.out);
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
    struct picking picking = calendar(plan, p, season, stand.out);
    double heat[HARVEST_HEATS];
    int week, end = picking.end_week;
    heat_by_week(plan, p, season, &picking, heat, &week);
    while (week < end && !(chance_cdf_at(p->dry, heat[week]) > 0))
        week++;
    bool any = chance_cdf_at(p->dry, heat[week]) > 0
               || (harvest_finishes(p) && chance_cdf_at(p->dry, heat[end + 1]) > 0);
    week += p->crop->indoor_drying_weeks;
    return any && week < before && brings_any(p, count, &stand) ? week : SCENARIO_NEVER;
}
