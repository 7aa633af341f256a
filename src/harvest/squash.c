/* squash.c: fruits of a planting, followed on their own from here. */
#include "harvest/internal.h"

#include <math.h>

/* First day by which heat since planting out reaches the need; SCENARIO_NEVER if it does not this year. */
static int day_of_heat(const struct plan *plan, const struct season *season, int base, int out, double need)
{
    double target = season_heat(plan, season, base, out) + need;
    if (season_heat(plan, season, base, SCENARIO_DAYS) < target)
        return SCENARIO_NEVER;
    int low = out - 1, high = SCENARIO_DAYS; /* heat(low) < target <= heat(high), `low` never looked at */
    while (high - low > 1) {
        int middle = low + (high - low) / 2;
        if (season_heat(plan, season, base, middle) >= target)
            high = middle;
        else
            low = middle;
    }
    return high;
}

int harvest_cutting_day(const struct plan *plan, const struct plan_planting *p, uint64_t season_key,
                       const struct season *season, int out)
{
    int cut = p->crop->cut_by, frost = season->first_hard_frost - p->crop->cut_before_frost_days;
    cut = frost < cut ? frost : cut;
    if (p->die_back_heat) {
        struct chance_pcg whole = chance_stream(season_key, p->ripening_key);
        double need = chance_draw(p->die_back_heat, chance_pcg_next(&whole));
        int die_back = day_of_heat(plan, season, p->base, out, need);
        cut = die_back < cut ? die_back : cut;
    }
    return cut > out ? cut : out;
}

static int fruits_borne(const struct plan_planting *p, uint64_t word)
{
    return (int)chance_draw(p->fruits, word);
}

/* Luck of a unit's fruits once the unit is known: streams at the unit's beginning. */
struct luck { struct chance_pcg field, ripening, keeping; uint64_t ripe_below; double year_factor;
              const struct chance_normal *kg, *life; /* NULL: each fruit's own word; else scores moved by so much */
              double kg_shift, life_shift; };

static uint64_t moved(const struct chance_normal *normal, uint64_t word, double shift)
{
    return normal ? harvest_shifted(normal, word, shift) : word;
}

/* Has the means of fruits' masses and lives from the season's shared words. */
static void share_fruits(const struct plan *plan, const struct plan_planting *p, int units, const struct season *season,
                         struct harvest_stand stand, struct luck *luck)
{
    struct chance_pcg keeping = luck->keeping;
    double kg = 0, life = 0;
    int fruits = 0;
    for (int u = 0; u < units; u++) {
        struct harvest_unit unit;
        harvest_next_unit(p, &stand, &unit);
        keeping = chance_next_unit(keeping);
        struct chance_pcg at = keeping;
        int n = unit.stands ? fruits_borne(p, unit.bears) : 0;
        for (int f = 0; f < n; f++) {
            chance_pcg_skip(&at);
            kg += chance_curve(plan->normal->score, chance_pcg_next(&unit.fruits));
            life += chance_curve(plan->normal->score, chance_pcg_next(&at));
        }
        fruits += n;
    }
    luck->kg = p->points.fruit_kg ? plan->normal : NULL;
    luck->life = p->points.keeps_weeks ? plan->normal : NULL;
    luck->kg_shift = harvest_shift(plan, season->point[p->points.fruit_kg * PLAN_ABREAST], kg, fruits);
    luck->life_shift = harvest_shift(plan, season->point[p->points.keeps_weeks * PLAN_ABREAST], life, fruits);
}

/* n fruits at the end of the arrays: mass, ripeness, curing, life, from three streams, each read in a row. Returns the mass
 * of them all. */
static double draw_fruits(const struct plan_planting *p, const struct harvest_unit *unit, const struct luck *luck, int n,
                          struct harvest *out)
{
    struct chance_pcg mass = unit->fruits, ripening = luck->ripening, keeping = luck->keeping;
    double sum_kg = 0;
    for (int f = out->n; f < out->n + n; f++) {
        double kg = chance_draw(p->fruit_kg, moved(luck->kg, chance_pcg_next(&mass), luck->kg_shift)) * luck->year_factor;
        int ripe = chance_pcg_next(&ripening) <= luck->ripe_below;
        int well = chance_happens(&p->cures_well, chance_pcg_next(&keeping)), cure = ripe * (1 + well);
        out->kg[f] = kg;
        out->cure[f] = (uint8_t)cure;                    /* unripe, poorly cured, well cured */
        out->life_weeks[f] = chance_draw(p->keeps_weeks, moved(luck->life, chance_pcg_next(&keeping), luck->life_shift))
                             * p->life_factor[cure];
        sum_kg += kg;
    }
    return sum_kg;
}

/* Of the fruits just drawn, keeps those that come home. */
static int sift(const struct plan_planting *p, struct harvest_field *field, int n, struct harvest *out)
{
    double *kg = out->kg + out->n, *life = out->life_weeks + out->n;
    uint8_t *cure = out->cure + out->n;
    int kept = 0;
    for (int f = 0; f < n; f++) {
        enum harvest_fate fate = harvest_fruit_fate(p, field);
        out->grown_kg += fate == HARVEST_GONE ? 0 : kg[f];
        out->field_loss_kg += fate == HARVEST_LOST ? kg[f] : 0;
        if (fate == HARVEST_HOME) {
            kg[kept] = kg[f];
            life[kept] = life[f];
            cure[kept++] = cure[f];
        }
    }
    return kept;
}

static void bear(const struct plan_planting *p, const struct harvest_unit *unit, const struct luck *luck,
                 struct harvest *out)
{
    struct harvest_field field = harvest_field_of(p, luck->field, unit);
    int n = fruits_borne(p, unit->bears);
    double kg = draw_fruits(p, unit, luck, n, out);
    if (field.looks) {
        out->n += sift(p, &field, n, out);
        return;
    }
    out->grown_kg += kg;
    out->n += n;
}

void harvest_squash(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                    const struct season *season, double year_factor, struct harvest *out)
{
    struct harvest_stand stand;
    harvest_begin(p, season_key, season, &stand);
    out->n = 0;
    out->grown_kg = out->field_loss_kg = 0;
    out->cut_day = harvest_cutting_day(plan, p, season_key, season, stand.out);
    out->cut_week = plan_week(out->cut_day);
    double heat = season_heat(plan, season, p->base, out->cut_day) - season_heat(plan, season, p->base, stand.out);
    struct luck luck = { chance_stream(season_key, p->field_key), chance_stream(season_key, p->ripening_key),
                         chance_stream(season_key, p->keeping_key), chance_word(chance_cdf_at(p->ripe, heat)),
                         year_factor, NULL, NULL, 0, 0 };
    double last_part = 1;
    int units = harvest_units(count, &last_part);
    harvest_share_units(plan, p, count, season, &stand);
    if (season->point)
        share_fruits(plan, p, units, season, stand, &luck);
    for (int u = 1; u <= units; u++) {
        struct harvest_unit unit = { .share = u == units ? last_part : 1.0 };
        harvest_next_unit(p, &stand, &unit);
        luck.field = chance_next_unit(luck.field);
        luck.ripening = chance_next_unit(luck.ripening);
        luck.keeping = chance_next_unit(luck.keeping);
        if (unit.stands)
            bear(p, &unit, &luck, out);
    }
}

static bool brings_any(const struct plan_planting *p, const struct harvest_unit *unit, struct chance_pcg field_at)
{
    struct harvest_field field = harvest_field_of(p, field_at, unit);
    int n = fruits_borne(p, unit->bears);
    for (int f = 0; f < n; f++)
        if (harvest_fruit_fate(p, &field) == HARVEST_HOME)
            return true;
    return false;
}

int harvest_squash_first_week(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                              const struct season *season, int before)
{
    struct harvest_stand stand;
    harvest_begin(p, season_key, season, &stand);
    int week = plan_week(harvest_cutting_day(plan, p, season_key, season, stand.out));
    if (week >= before)
        return SCENARIO_NEVER;
    struct chance_pcg field = chance_stream(season_key, p->field_key);
    double last_part = 1;
    int units = harvest_units(count, &last_part);
    for (int u = 1; u <= units; u++) {
        struct harvest_unit unit = { .share = u == units ? last_part : 1.0 };
        harvest_next_unit(p, &stand, &unit);
        field = chance_next_unit(field);
        if (unit.stands && brings_any(p, &unit, field))
            return week;
    }
    return SCENARIO_NEVER;
}
