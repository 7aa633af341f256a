/* season.h: one season's weather. Knows nothing of crops. */
#ifndef TIDEOVER_SEASON_H
#define TIDEOVER_SEASON_H

#include "plan/plan.h"

struct season {
    int last_frost, first_hard_frost;  /* days of the season's year */
    double score;                      /* warmth's normal score */
    size_t at, next;                   /* heat rows: where this season's begins, and from there to the next warmer one */
    double weight[4];                  /* of heat and slope here, of heat and slope at the next row */
    const uint64_t *point;             /* words that trials share out, one every PLAN_ABREAST; NULL: none */
};

/* Draws the weather of the season whose key is given (chance_season_key), and whose shared words; NULL: none. */
void season_draw(const struct plan *plan, uint64_t season_key, const uint64_t *point, struct season *season);
/* The same for season 0 where plan->weather.this_season knows something of it. */
void season_draw_known(const struct plan *plan, uint64_t season_key, const uint64_t *point, struct season *season);
/* The word at a place among the season's shared ones; where it has none the stream's. */
static inline uint64_t season_word(const struct season *season, int place, uint64_t own)
{
    return season->point && place ? season->point[place * PLAN_ABREAST] : own;
}

/* The weather of trials side by side. */
struct season_abreast {
    int last_frost[PLAN_ABREAST], first_hard_frost[PLAN_ABREAST];
    double score[PLAN_ABREAST];
    size_t at[PLAN_ABREAST], next[PLAN_ABREAST];
    double weight[4][PLAN_ABREAST];
    const uint64_t *point;             /* [place * PLAN_ABREAST + trial]; NULL: none */
};

/* Draws the weather of season `number` in trials side by side, whose seasons' keys and shared words are given, known or not: the
 * same as one trial after the other. */
void season_draw_abreast(const struct plan *plan, int number, const uint64_t key[PLAN_ABREAST], const uint64_t *point,
                         struct season_abreast *out);
/* One trial's. */
static inline struct season season_at(const struct season_abreast *abreast, int place)
{
    return (struct season){
        .last_frost = abreast->last_frost[place], .first_hard_frost = abreast->first_hard_frost[place],
        .score = abreast->score[place], .at = abreast->at[place], .next = abreast->next[place],
        .weight = { abreast->weight[0][place], abreast->weight[1][place], abreast->weight[2][place], abreast->weight[3][place] },
        .point = abreast->point ? abreast->point + place : NULL,
    };
}
/* season_heat on each trial's day. */
void season_heat_abreast(const struct plan *plan, const struct season_abreast *season, int base, const int day[PLAN_ABREAST],
                         double heat[PLAN_ABREAST]);

/* Heats to the ends of weeks 0 .. 50 of the year above one base, [week * PLAN_ABREAST + trial], of the weeks whose bits are set. */
struct season_weeks { int base; uint64_t known; double heat[(SCENARIO_WEEKS - 1) * PLAN_ABREAST]; };
/* To begin with, and when the seasons are other ones. */
static inline void season_forget_weeks(struct season_weeks *weeks) { weeks->base = -1; }
/* Reckons a week's, and some others' of the same base. */
void season_reckon_weeks(const struct plan *plan, const struct season_abreast *season, int base, int week,
                         struct season_weeks *weeks);
/* A week's heats, reckoned unless they are known. */
static inline const double *season_week_heat(const struct plan *plan, const struct season_abreast *season, int base, int week,
                                             struct season_weeks *weeks)
{
    if (weeks->base != base || !(weeks->known >> week & 1))
        season_reckon_weeks(plan, season, base, week, weeks);
    return weeks->heat + week * PLAN_ABREAST;
}

/* Heat on a day 0 .. SCENARIO_DAYS of the season whose row begins at `row`. */
static inline double season_heat_in_row(const struct season *season, const struct plan_heat *row, int day)
{
    const struct plan_heat *here = row + day, *there = here + season->next;
    return season->weight[0] * here->heat + season->weight[1] * here->slope + season->weight[2] * there->heat
           + season->weight[3] * there->slope;
}

static inline const struct plan_heat *season_row(const struct plan *plan, const struct season *season, int base)
{
    return plan->weather.heat[base] + season->at;
}

/* Heat above base number `base` (degree-days) from day 0 to the beginning of `day`; days beyond the year are cut to it. */
static inline double season_heat(const struct plan *plan, const struct season *season, int base, int day)
{
    day = day < 0 ? 0 : day > SCENARIO_DAYS ? SCENARIO_DAYS : day;
    return season_heat_in_row(season, season_row(plan, season, base), day);
}

/* Heat to the ends of weeks first .. end - 1 of the year (end <= 51), so much less, into heat[week]; some earlier weeks' may be
 * filled in too. Returns the week after the last of them with less than `least`; `first` where none has. */
int season_week_heats(const struct plan *plan, const struct season *season, int base, int first, int end, double less,
                      double least, double *restrict heat);

#endif
