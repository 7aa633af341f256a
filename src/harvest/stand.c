/* stand.c: planting out, and which units stand until harvest; the same for every kind of crop. */
#include "harvest/internal.h"

#include <math.h>

int harvest_units(double count, double *last_part)
{
    const double edge = 1e-9; /* a count within this of a whole number is that number */
    if (count <= edge)
        return 0;
    int units = (int)ceil(count - edge);
    double part = count - (units - 1);
    *last_part = part > 1 - edge ? 1.0 : part;
    return units;
}

/* Chance to threshold: words below it happen. */
static uint64_t below(double chance)
{
    return chance >= 1 ? UINT64_MAX : (uint64_t)(chance * 0x1p64);
}

void harvest_begin(const struct plan_planting *p, uint64_t season_key, const struct season *season,
                   struct harvest_stand *stand)
{
    const struct scenario_crop *crop = p->crop;
    int after_frost = season->last_frost + 1;
    stand->out = crop->waits_for_frost && after_frost > crop->plant_out ? after_frost : crop->plant_out;
    stand->frosted = !crop->waits_for_frost && season->last_frost >= crop->plant_out;
    stand->units = chance_stream(season_key, p->yield_key);
    struct chance_pcg whole = stand->units;          /* position PLAN_AT_STANDS of unit 0 */
    uint64_t word = season_word(season, p->points.stands, chance_pcg_next(&whole));
    stand->stands_below = p->stands_certainly ? UINT64_MAX : below(chance_draw(p->stands, word));
    chance_pcg_next(&whole);                         /* PLAN_AT_FROST */
    stand->all_down = p->wind_may && crop->support == SCENARIO_SHARED
                      && chance_happens(&p->blow_down, season_word(season, p->points.wind, chance_pcg_next(&whole)));
    stand->unit = stand->shared = 0;
}

/* The word here if it is looked at; moves on in any case. */
static inline uint64_t word_if(bool looked_at, struct chance_pcg *at)
{
    if (looked_at)
        return chance_pcg_next(at);
    chance_pcg_skip(at);
    return 0;
}

void harvest_next_unit(const struct plan_planting *p, struct harvest_stand *stand, struct harvest_unit *unit)
{
    stand->units = chance_next_unit(stand->units);
    struct chance_pcg at = stand->units;
    bool each = p->wind_may && p->crop->support == SCENARIO_EACH;
    unit->stands = word_if(stand->stands_below != UINT64_MAX, &at) < stand->stands_below;
    uint64_t frost = word_if(stand->frosted, &at);
    if (stand->frosted && chance_happens(&p->frost_kills, frost))
        unit->stands = false;
    uint64_t wind = word_if(each, &at);
    unit->down = each ? chance_happens(&p->blow_down, wind) : stand->all_down;
    unit->bears = chance_pcg_next(&at);
    unit->fruits = at;
    if (stand->unit < stand->shared)
        unit->bears = harvest_shifted(stand->normal, unit->bears, stand->shift[stand->unit / PLAN_GROUP_UNITS]);
    stand->unit++;
}

void harvest_share_units(const struct plan *plan, const struct plan_planting *p, double count, const struct season *season,
                         struct harvest_stand *stand)
{
    double last_part;
    int units = harvest_units(count, &last_part);
    if (!season->point || !p->points.units)
        return;
    struct harvest_stand ahead = *stand;
    for (int group = 0; group < p->points.groups; group++) {
        int from = group * PLAN_GROUP_UNITS, end = from + PLAN_GROUP_UNITS < units ? from + PLAN_GROUP_UNITS : units;
        double sum = 0;
        for (int u = from; u < end; u++) {
            struct harvest_unit unit;
            harvest_next_unit(p, &ahead, &unit);
            sum += chance_curve(plan->normal->score, unit.bears);
        }
        stand->shift[group] = harvest_shift(plan, season->point[(p->points.units + group) * PLAN_ABREAST], sum, end - from);
    }
    stand->shared = p->points.groups * PLAN_GROUP_UNITS;
    stand->normal = plan->normal;
}
