/* internal.h: what the files of the room "harvest" share among themselves. */
#ifndef TIDEOVER_HARVEST_INTERNAL_H
#define TIDEOVER_HARVEST_INTERNAL_H

#include "harvest/harvest.h"

/* How a planting starts its season: the planting-wide draws, and the streams at unit 1. */
struct harvest_stand {
    struct chance_pcg units;     /* yield stream at the current unit's beginning */
    int out;                     /* day of planting out */
    uint64_t stands_below;       /* a unit stands if its word is below; UINT64_MAX: certainly */
    bool frosted, all_down;      /* a frost after planting out; the shared support went */
};

/* One unit's fate. */
struct harvest_unit { bool stands, down; double share; uint64_t bears; struct chance_pcg fruits; };

/* Number of units a count makes, and the part of the last one that there is (0 < part <= 1). */
int harvest_units(double count, double *last_part);
void harvest_begin(const struct plan_planting *p, uint64_t season_key, const struct season *season,
                   struct harvest_stand *stand);
/* Takes the next unit; `units.bears` is the word of its fruits or its seed. */
void harvest_next_unit(const struct plan_planting *p, struct harvest_stand *stand, struct harvest_unit *unit);

/* Day on which a planting of squash that was put out on day `out` is cut. */
int harvest_cutting_day(const struct plan *plan, const struct plan_planting *p, uint64_t season_key, const struct season *season,
                        int out);

/* A fruit's own luck in the field, three positions a fruit: left in summer, there at all on a part of a plant, wind. */
struct harvest_field { struct chance_pcg at; bool looks; double part; bool down; };
enum harvest_fate { HARVEST_GONE, HARVEST_HOME, HARVEST_LOST };

static inline struct harvest_field harvest_field_of(const struct plan_planting *p, struct chance_pcg at_unit,
                                                    const struct harvest_unit *unit)
{
    return (struct harvest_field){ .at = at_unit, .part = unit->share, .down = unit->down,
                                   .looks = p->crop->left_to_store < 1 || unit->share < 1 || unit->down };
}

static inline enum harvest_fate harvest_fruit_fate(const struct plan_planting *p, struct harvest_field *field)
{
    if (!field->looks)
        return HARVEST_HOME;
    uint64_t left = chance_pcg_next(&field->at), there = chance_pcg_next(&field->at);
    uint64_t wind = chance_pcg_next(&field->at);
    if (!chance_happens(&p->left_to_store, left) || (field->part < 1 && chance_uniform(there) >= field->part))
        return HARVEST_GONE;
    return field->down && chance_happens(&p->blow_down_loses, wind) ? HARVEST_LOST : HARVEST_HOME;
}

void harvest_squash(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                    const struct season *season, double year_factor, struct harvest *out);
void harvest_beans(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                   const struct season *season, double year_factor, struct harvest *out);
int harvest_squash_first_week(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                              const struct season *season, int before);
int harvest_beans_first_week(const struct plan *plan, const struct plan_planting *p, double count, uint64_t season_key,
                             const struct season *season, int before);

#endif
