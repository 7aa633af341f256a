/* beans.c: seed of a planting, picked week by week as the pods dry. */
#include "harvest/internal.h"

static const double SPECK_KG = 1e-12; /* a picking of less is none: it begins no food year */

/* The picking's calendar in one season: how dry the pods are by when. */
struct picking { int out, end, end_week; double heat_out; };

static struct picking calendar(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                               int out)
{
    int end = season->first_hard_frost - 1;
    end = p->crop->pick_until < end ? p->crop->pick_until : end;
    end = end > out ? end : out;
    return (struct picking){ out, end, plan_week(end), season_heat(plan, season, p->base, out) };
}

/* Heat since planting out by the end of a week, or by the day on which picking ends. */
static double heat_by(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                      const struct picking *picking, int week)
{
    int day = plan_week_end(week);
    day = day < picking->end && week < picking->end_week ? day : picking->end;
    day = day > picking->out ? day : picking->out;
    return season_heat(plan, season, p->base, day) - picking->heat_out;
}

/* First week by whose end first_pick_share of the pods are dry; the last week of picking at the latest. */
static int first_picking(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                         const struct picking *picking)
{
    int low = plan_week(picking->out) - 1, high = picking->end_week;
    while (high - low > 1) {
        int middle = low + (high - low) / 2;
        if (heat_by(plan, p, season, picking, middle) >= p->first_pick_heat)
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* Share of the seed good that is pulled green on the last day: what dries within finish_indoors_heat. */
static double finished_indoors(const struct plan_planting *p, double heat, double dry)
{
    if (p->crop->finish_share <= 0 || p->crop->finish_indoors_heat <= 0)
        return 0.0;
    return p->crop->finish_share * (chance_cdf_at(p->dry, heat + p->crop->finish_indoors_heat) - dry);
}

/* Lays the pickings of `kg` of seed into the weeks of arrival; returns the share that was brought in. */
static double pick(const struct plan *plan, const struct plan_planting *p, const struct season *season,
                   const struct picking *picking, double kg, struct harvest *out)
{
    int delay = p->crop->indoor_drying_weeks, first = SCENARIO_NEVER;
    double taken = 0, brought = 0;
    for (int week = first_picking(plan, p, season, picking); week <= picking->end_week; week++) {
        double heat = heat_by(plan, p, season, picking, week);
        double dry = chance_cdf_at(p->dry, heat), share = dry - taken;
        if (week == picking->end_week)
            share += finished_indoors(p, heat, dry);
        taken = dry;
        brought += share;
        out->arrives_kg[week + delay] = kg * share;
        if (kg * share > SPECK_KG && first == SCENARIO_NEVER)
            first = week + delay;
    }
    out->first_week = first;
    out->last_week = picking->end_week + delay;
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

int harvest_beans_first_week(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                             const struct season *season)
{
    struct harvest_stand stand;
    harvest_begin(p, season_key, season, &stand);
    double last_part = 1;
    int units = harvest_units(count, &last_part);
    bool any = false;
    for (int u = 1; u <= units && !any; u++) {
        struct harvest_unit unit;
        harvest_next_unit(p, &stand, &unit);
        any = unit.stands && chance_draw(p->unit_kg, unit.bears) > 0
              && !(unit.down && p->crop->blow_down_loses >= 1);
    }
    struct picking picking = calendar(plan, p, season, stand.out);
    if (!any || p->crop->left_to_dry <= 0)
        return SCENARIO_NEVER;
    for (int week = first_picking(plan, p, season, &picking); week <= picking.end_week; week++) {
        double heat = heat_by(plan, p, season, &picking, week), dry = chance_cdf_at(p->dry, heat);
        if (dry > 0 || (week == picking.end_week && finished_indoors(p, heat, dry) > 0))
            return week + p->crop->indoor_drying_weeks;
    }
    return SCENARIO_NEVER;
}
