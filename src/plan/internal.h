/* internal.h: what the files of the room "plan" share among themselves. */
#ifndef TIDEOVER_PLAN_INTERNAL_H
#define TIDEOVER_PLAN_INTERNAL_H

#include "plan/plan.h"

/* Keeps 26 bits of the mantissa. */
double plan_round(double x);
/* What making a plan needs at hand. */
struct plan_maker { struct base_arena *arena; struct plan_share *share; struct base_complaints *complaints; };

/* A distribution with the tables that were made of it. */
struct plan_shared_table {
    struct plan_shared_table *next;
    struct scenario_distribution spec;
    const struct chance_distribution *distribution;
    const struct chance_table *table;       /* NULL: not asked for yet */
    const struct chance_cdf_table *cdf;
    bool is_listed;                         /* to be made beforehand */
};

/* Judges a distribution and makes its table, or finds the one made for a like plan; NULL with a complaint. */
const struct chance_table *plan_table(const struct plan_maker *make, const struct scenario_distribution *spec);
/* The same for a distribution function; *d gets the distribution. */
const struct chance_cdf_table *plan_cdf_table(const struct plan_maker *make, const struct scenario_distribution *spec,
                                              const struct chance_distribution **d);
/* Place of a normal score among those of a generator's departures, and the share of the way to the next. */
static inline int plan_score_place(double z, double *share)
{
    double at = (z + 4) * 10;
    int place = at < 0 ? 0 : at >= PLAN_SCORES - 1 ? PLAN_SCORES - 2 : (int)at;
    *share = at - place;                    /* beyond -4 and 4 the last line goes on */
    return place;
}
static inline int plan_quarter_of(int day) { return day * PLAN_QUARTERS / SCENARIO_DAYS; }
/* Heat is kept by day for every row of warmth, or season, and every base: false with a complaint where that would be too much. */
bool plan_judge_rows(const struct plan_maker *make, const struct plan *plan);
/* Heat of the seasons recorded; NULL: of all rows of warmth, given daily normals. */
bool plan_fill_heat(struct base_arena *arena, struct plan_weather *weather, const struct plan_records *records,
                    const double *tmin_c, const double *tmax_c);
/* The same of rows of warmth, made once for all plans that are alike in that. */
bool plan_shared_heat(const struct plan_maker *make, struct plan_weather *weather, const double *tmin_c, const double *tmax_c);
/* The plan's weather from seasons of daily temperatures: frost dates, scores, heat. */
bool plan_use_seasons(const struct plan_maker *make, struct plan *plan, const struct plan_records *records);
/* The same from seasons that the climate's generator makes up, shared among plans that make up the same. */
bool plan_use_generator(const struct plan_maker *make, struct plan *plan, const struct plan_records *records);
bool plan_make_weather(const struct plan_maker *make, struct plan *plan, const struct plan_records *records);
/* What is known of season 0; nothing in most scenarios. The weather's copula is made; the distributions are the climate's, or a
 * reading's. */
bool plan_make_this_season(const struct plan_maker *make, const struct scenario *scenario, const struct scenario_climate *climate,
                           struct plan_weather *weather);
/* The climate's distributions as a reading has them, and their tables: one that is not in doubt is the climate's own. */
struct plan_weather_reading { struct scenario_distribution last_frost, first_hard_frost, warmth;
                              const struct chance_table *last_frost_table, *first_hard_frost_table, *warmth_table; };
/* All readings, PLAN_READINGS of them; *readings is NULL when none is in doubt. The weather's own tables are made. */
bool plan_read_climate(const struct plan_maker *make, const struct plan *plan, struct plan_weather_reading **readings);
/* The weather as each reading has it, once all else of it is made. */
bool plan_make_weather_readings(const struct plan_maker *make, struct plan *plan, const struct plan_weather_reading *readings);
bool plan_make_plantings(const struct plan_maker *make, struct plan *plan);
/* Portions wanted by week of the year. */
bool plan_make_wants(struct base_arena *arena, struct plan *plan);
/* Expected kg wanted of a food in a week of the year, guests at their mean. */
double plan_expected_want_kg(const struct plan *plan, int food, int week);
/* Units that stand for a count: a started one is one. */
int plan_units(double count);
/* Jars that hold so many kg. */
int plan_jars_for(double kg, double jar_kg);
/* One reading's table of a distribution that says from how many records it comes; the entity (a crop, "climate") and `which` of
 * its distributions are its address. *as_read gets what it is in that reading. */
const struct chance_table *plan_reading_table(const struct plan_maker *make, const struct plan *plan, const char *entity,
                                              int which, const struct scenario_distribution *spec, int reading,
                                              struct scenario_distribution *as_read);
/* Tables of the readings of distributions that say from how many records they come; also what a unit can bear at the most. */
bool plan_make_doubt(const struct plan_maker *make, const struct plan *plan, struct plan_planting *p);
/* Are two counted fruits of one entry of the shelf? */
bool plan_same_lot(const struct plan_shelf_fruit *a, const struct plan_shelf_fruit *b);
/* Gives a counted fruit the life of another reading of its keeping; left as it is where it could not have reached its age so. */
bool plan_reread_fruit(struct base_arena *arena, const struct plan *plan, const struct scenario_distribution *keeps,
                       struct plan_shelf_fruit *fruit);
/* The plan as each reading has it, after everything else is settled. */
bool plan_make_readings(struct base_arena *arena, struct plan *plan);
/* Which words trials share out, where the scenario's sampling is not independent. False when memory runs out. */
bool plan_make_points(struct base_arena *arena, struct plan *plan);
bool plan_make_shelf(struct base_arena *arena, struct plan *plan, struct base_complaints *complaints);

#endif
