/* beans.c: seed of a planting, picked week by week as the pods dry. */
#include "harvest/internal.h"

static const double SPECK_KG = 1e-12; /* a picking of less is none: it begins no food year */

/* The picking's calendar in one season: how dry the pods are by when. */
struct picking { int out, end_week; double heat_out, heat_end; };

static struct picking calendar(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                               int out)
{
    int end = season->first_hard_frost - 1;
    end = p->crop->pick_until < end ? p->crop->pick_until : end;
    end = end > out ? end : out;
    return (struct picking){ out, plan_week(end), season_heat(plan, season, p->base, out),
                             season_heat(plan, season, p->base, end) };
}

/* Share of the seed good that is pulled green on the last day, when so much is dry: what dries within
 * finish_indoors_heat. */
static double finished_indoors(const struct plan_planting *p, const struct picking *picking, double dry)
{
    if (p->crop->finish_share <= 0 || p->crop->finish_indoors_heat <= 0)
        return 0.0;
    double heat = picking->heat_end - picking->heat_out;
    return p->crop->finish_share * (chance_cdf_at(p->dry, heat + p->crop->finish_indoors_heat) - dry);
}

/* Heat since planting out to the end of each week of picking, and to the day on which it ends; the number of weeks. Picking
 * begins in the first week by whose end first_pick_share are dry, in the last at the latest: `from` is its place. */
static int heat_by_week(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                        const struct picking *picking, double heat[SCENARIO_WEEKS], int *from)
{
    int first = plan_week(picking->out), n = picking->end_week - first;
    season_week_heats(plan, season, p->base, first, n, picking->heat_out, heat);
    heat[n] = picking->heat_end - picking->heat_out;
    for (*from = n; *from > 0 && heat[*from - 1] >= p->first_pick_heat;)
        --*from;
    return n + 1;
}

/* Lays the pickings of `kg` of seed into the weeks of arrival; returns the share that was brought in. */
static double pick(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                   const struct picking *picking, double kg, struct harvest *out)
{
    double heat[SCENARIO_WEEKS], dry[SCENARIO_WEEKS], taken = 0, brought = 0;
    int from, n = heat_by_week(plan, p, season, picking, heat, &from), first = SCENARIO_NEVER;
    int last = picking->end_week + p->crop->indoor_drying_weeks;
    chance_cdf_row(p->dry, heat + from, n - from, dry + from);
    for (int w = from; w < n; w++) {
        double share = dry[w] - taken;
        if (w == n - 1)
            share += finished_indoors(p, picking, dry[w]);
        taken = dry[w];
        brought += share;
        out->arrives_kg[last - (n - 1) + w] = kg * share;
        if (kg * share > SPECK_KG && first == SCENARIO_NEVER)
            first = last - (n - 1) + w;
    }
    out->first_week = first;
    out->last_week = last;
    return brought;
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
    struct picking picking = calendar(plan, p, season, stand.out);
    double brought = pick(plan, p, season, &picking, kg, out);
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
    struct picking picking = calendar(plan, p, season, stand.out);
    double heat[SCENARIO_WEEKS];
    int from, n = heat_by_week(plan, p, season, &picking, heat, &from);
    int last = picking.end_week + p->crop->indoor_drying_weeks;
    while (from < n - 1 && !(chance_cdf_at(p->dry, heat[from]) > 0))
        from++;
    double dry = chance_cdf_at(p->dry, heat[from]);
    bool any = dry > 0 || finished_indoors(p, &picking, dry) > 0;
    int week = last - (n - 1) + from;
    return any && week < before && brings_any(p, count, &stand) ? week : SCENARIO_NEVER;
}
