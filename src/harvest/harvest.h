/* harvest.h: what one planting gives in one season. Knows nothing of how it is kept. */
#ifndef TIDEOVER_HARVEST_H
#define TIDEOVER_HARVEST_H

#include "season/season.h"

/* A planting's season. Arrays are the workspace's. Weeks count from the season's beginning. */
struct harvest {
    double grown_kg, field_loss_kg;
    /* squash: n fruits in the order of units, all cut on one day */
    int n, cut_day, cut_week;
    double *kg;                  /* [n] at cutting */
    uint8_t *cure;               /* [n] enum scenario_cure */
    double *life_weeks;          /* [n] from the week of cutting, at a place with factor 1 */
    /* beans: what reaches the jars before sorting, by week of arrival first_week .. last_week; 0 arrivals: none */
    int first_week, last_week;   /* last_week is the last picking's, even when it brought nothing */
    double *arrives_kg;          /* [PLAN_SEASON_SLOTS] by week of arrival */
    double sorted_out;           /* share that sorting takes out */
};

/* Workspace for every planting; nothing is allocated later. False when memory runs out. */
bool harvest_room(struct base_arena *arena, const struct plan *plan, struct harvest *by_planting);

/* Year factors of all crops in one season. */
void harvest_year_factors(const struct plan *plan, uint64_t season_key, const struct season *season, double *year_factor);

/* The same of trials side by side: [crop * PLAN_ABREAST + trial]. */
void harvest_year_factors_abreast(const struct plan *plan, const uint64_t *season_key, const struct season_abreast *season,
                                  double *year_factor);

/* Draws the season of planting number `planting`, of which `count` units were put out (its setting, or fewer when
 * the household's own seed was short). */
void harvest_draw(const struct plan *plan, int planting, double count, uint64_t season_key, const struct season *season,
                  double year_factor, struct harvest *out);

/* Week of the season in which the planting's first produce arrives, as harvest_draw would bring it, without drawing more
 * than it takes; SCENARIO_NEVER if it brings none before week `before`. */
int harvest_week_before(const struct plan *plan, int planting, double count, uint64_t season_key,
                        const struct season *season, int before);
static inline int harvest_first_week(const struct plan *plan, int planting, double count, uint64_t season_key,
                                     const struct season *season)
{
    return harvest_week_before(plan, planting, count, season_key, season, SCENARIO_NEVER);
}

/* First weeks of the season in which any planting of trials side by side, all units put out, brings produce, if that is before
 * what `first` holds: of the plantings for which `of` says `is`; of all when it is NULL. */
void harvest_first_weeks(const struct plan *plan, const uint64_t *season_key, const struct season_abreast *season, const bool *of,
                         bool is, int first[PLAN_ABREAST]);
/* What one planting of beans brings in trials side by side. Weeks of arrival, whole numbers: of each trial as in struct harvest;
 * first .. last those of all. */
struct harvest_picked {
    double first_week[PLAN_ABREAST], last_week[PLAN_ABREAST];
    double grown_kg[PLAN_ABREAST], field_loss_kg[PLAN_ABREAST], sorted_out[PLAN_ABREAST];
    int first, last;
    double *arrives_kg;                     /* [week * PLAN_ABREAST + trial] of weeks first .. last */
};
/* Workspace for a planting; false when memory runs out. */
bool harvest_picked_room(struct base_arena *arena, struct harvest_picked *picked);
/* Draws a planting of beans, all units put out, in n trials whose keys, seasons and year factors are given
 * (arrays with PLAN_ABREAST places); nothing comes at the other places. `weeks` keeps heats for other plantings of the same
 * seasons. */
void harvest_beans_abreast(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                           const struct season_abreast *season, const double *year_factor, int n, struct season_weeks *weeks,
                           struct harvest_picked *out);

/* The fruits of one planting of squash that come home, in trials side by side: n[t] of trial t from number start[t] on, in the
 * order of units. */
struct harvest_abreast {
    int start[PLAN_ABREAST + 1], n[PLAN_ABREAST], cut_day[PLAN_ABREAST], cut_week[PLAN_ABREAST];
    double *kg, *life_weeks;                /* at cutting; from the week of cutting, at a place with factor 1 */
    uint8_t *cure;                          /* enum scenario_cure */
    double grown_kg[PLAN_ABREAST], field_loss_kg[PLAN_ABREAST], home_kg[PLAN_ABREAST];
    struct harvest_rows *rows;              /* scratch */
};
/* Workspace for a planting; false when memory runs out. */
bool harvest_abreast_room(struct base_arena *arena, const struct plan_planting *p, struct harvest_abreast *out);
/* Draws a planting of squash, all units put out, in n trials whose keys, seasons and year factors are given
 * (arrays with PLAN_ABREAST places). */
void harvest_squash_abreast(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                            const struct season_abreast *season, const double *year_factor, int n,
                            struct harvest_abreast *out);
/* A planting's season as another workspace has it. */
void harvest_copy_picked(const struct harvest_picked *from, struct harvest_picked *to);
void harvest_copy_abreast(const struct harvest_abreast *from, struct harvest_abreast *to);

#endif
