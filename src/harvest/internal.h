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
    int unit, shared;            /* units taken; so many have their mean from a word that trials share out */
    double shift[PLAN_MOST_GROUPS];
    const struct chance_normal *normal;
};

/* One unit's fate. */
struct harvest_unit { bool stands, down; double share; uint64_t bears; struct chance_pcg fruits; };

/* Number of units a count makes, and the part of the last one that there is (0 < part <= 1). */
int harvest_units(double count, double *last_part);
void harvest_begin(const struct plan_planting *p, uint64_t season_key, const struct season *season,
                   struct harvest_stand *stand);
/* Has the units' means from the season's shared words; to follow harvest_begin. */
void harvest_share_units(const struct plan *plan, const struct plan_planting *p, double count, const struct season *season,
                         struct harvest_stand *stand);
/* By how much n scores are moved so that their mean is what the word `point` says, and a word so moved. */
double harvest_shift(const struct plan *plan, uint64_t point, double sum, int n);
uint64_t harvest_shifted(const struct chance_normal *normal, uint64_t word, double shift);
/* First words of a stream of trials side by side, or at a place (not 0) among their season's shared ones. */
void harvest_words(const uint64_t *season_key, uint64_t stream_key, const uint64_t *point, int place, uint64_t word[PLAN_ABREAST]);
/* Moves n words (scratch: n scores), or n rows of words of trials side by side, n <= PLAN_GROUP_UNITS. */
void harvest_share_row(const struct plan *plan, uint64_t point, int n, uint64_t *word, double *score);
void harvest_share_rows(const struct plan *plan, const uint64_t *point, int n, uint64_t *word);
/* Takes the next unit; `units.bears` is the word of its fruits or its seed. */
void harvest_next_unit(const struct plan_planting *p, struct harvest_stand *stand, struct harvest_unit *unit);

/* Plantings of trials side by side at the same place: what decides a unit's fate, and the yield streams at the current
 * unit's beginning. `stride` and `to_bears` are what the streams' increments come to over a unit and to its fruits. */
struct harvest_stands {
    uint64_t units[PLAN_ABREAST], inc[PLAN_ABREAST], stride[PLAN_ABREAST], to_bears[PLAN_ABREAST];
    uint64_t stands_below[PLAN_ABREAST], frosted[PLAN_ABREAST], all_down[PLAN_ABREAST];
    int out[PLAN_ABREAST];
    bool may_stand, may_freeze, each;   /* whether a unit's own luck decides if it stands, freezes, is blown down */
};
/* Current units: 0 or 1; the words of their fruits or seed; states of the streams thereafter. */
struct harvest_fates { uint64_t stands[PLAN_ABREAST], down[PLAN_ABREAST], bears[PLAN_ABREAST], fruits[PLAN_ABREAST]; };

/* Days of planting out, and whether frost comes after them. */
void harvest_out_days(const struct plan_planting *p, const struct season_abreast *season, int out[PLAN_ABREAST],
                      uint64_t frosted[PLAN_ABREAST]);
/* Begins n trials; nothing stands at the other places. */
void harvest_begin_abreast(const struct plan_planting *p, const uint64_t *season_key, const struct season_abreast *season, int n,
                           struct harvest_stands *stands);

BASE_PART void harvest_freeze_units(const struct plan_planting *p, const struct harvest_stands *s, struct harvest_fates *fates)
{
    const struct chance_bernoulli kills = p->frost_kills;
    for (int i = 0; i < PLAN_ABREAST; i++) {
        uint64_t frost = s->units[i] * CHANCE_PCG_MULTIPLIER + s->inc[i];
        fates->stands[i] &= (s->frosted[i] & chance_happens(&kills, chance_pcg_output(frost))) ^ 1;
    }
}

BASE_PART void harvest_blow_units(const struct plan_planting *p, const struct harvest_stands *s, struct harvest_fates *fates)
{
    const uint64_t a = CHANCE_PCG_MULTIPLIER;
    const struct chance_bernoulli blows = p->blow_down;
    for (int i = 0; i < PLAN_ABREAST; i++) {
        uint64_t wind = (s->units[i] * a + s->inc[i]) * a + s->inc[i];
        fates->down[i] = chance_happens(&blows, chance_pcg_output(wind));
    }
}

/* Takes the next units, as harvest_next_unit does. */
BASE_PART void harvest_next_units(const struct plan_planting *p, struct harvest_stands *s, struct harvest_fates *fates)
{
    const uint64_t a = CHANCE_PCG_MULTIPLIER;
    for (int i = 0; i < PLAN_ABREAST; i++) {
        uint64_t at = s->units[i] * CHANCE_STRIDE_MULTIPLIER + s->stride[i], bears = at * (a * a * a) + s->to_bears[i];
        s->units[i] = at;
        fates->stands[i] = s->stands_below[i] == UINT64_MAX;
        fates->down[i] = s->all_down[i];
        fates->bears[i] = chance_pcg_output(bears);
        fates->fruits[i] = bears * a + s->inc[i];
    }
    for (int i = 0; s->may_stand && i < PLAN_ABREAST; i++)
        fates->stands[i] |= chance_pcg_output(s->units[i]) < s->stands_below[i];
    if (s->may_freeze)
        harvest_freeze_units(p, s, fates);
    if (s->each)
        harvest_blow_units(p, s, fates);
}

/* Days on which trials' plantings of squash, put out on days `out`, are cut. */
void harvest_cutting_days(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                          const struct season_abreast *season, const int out[PLAN_ABREAST], int cut_day[PLAN_ABREAST]);

static const double HARVEST_SPECK_KG = 1e-12; /* a picking of less is none: it begins no food year */
/* Is seed good that is pulled green on the last day: what dries within finish_indoors_heat? */
static inline bool harvest_finishes(const struct plan_planting *p)
{
    return p->crop->finish_share > 0 && p->crop->finish_indoors_heat > 0;
}

/* Pickings of trials: the weeks in which they begin and end; the earliest and the latest of them; heats since planting out,
 * [week * PLAN_ABREAST + trial], of weeks first .. last, once picking has ended those of its end, and last what drying indoors
 * makes of these. */
enum { HARVEST_HEATS = SCENARIO_WEEKS + 1 };
struct harvest_pickings {
    double from[PLAN_ABREAST], end[PLAN_ABREAST];
    int first, last;
    double heat[(HARVEST_HEATS + 1) * PLAN_ABREAST];
};
/* Pickings of a planting put out on days `out`. They begin in the first week by whose end first_pick_share are dry, in the last
 * one at the latest. */
void harvest_pickings(const struct plan *plan, const struct plan_planting *p, const struct season_abreast *season,
                      const int out[PLAN_ABREAST], struct season_weeks *weeks, struct harvest_pickings *pickings);

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
