/* plan.h: a scenario made ready for trials, once: quantile tables, heat tables, wants by week, keys of the luck,
 * the usual weeks. Immutable while trials run; shared by all threads. */
#ifndef TIDEOVER_PLAN_H
#define TIDEOVER_PLAN_H

#include "base/side.h"
#include "chance/chance.h"

enum {
    PLAN_SEASON_SLOTS = 80,       /* weeks after a season's beginning in which its produce may still arrive */
    PLAN_MOST_FRUITS_A_UNIT = 1000,
    PLAN_ABREAST = BASE_SIDE,             /* trials that are run side by side, so that vector instructions work on all of them */
    PLAN_MOST_MIB = 1024,         /* of memory for heat by day, and for a thread's fruits and jars */
    PLAN_READINGS = 32,           /* of distributions that come from few records */
    PLAN_MOST_AGE_WEEKS = 52 * (SCENARIO_MOST_YEARS + 3)
};

/* Purposes: with an entity's name they make a stream's address. Numbers are part of the stream version: never reuse. */
enum plan_purpose {
    PLAN_WEATHER = 1,   /* climate: last frost, first hard frost, warmth (or the recorded season) */
    PLAN_YEAR = 2,      /* crop: the year factor */
    PLAN_YIELD = 3,     /* planting: standing, frost, wind, fruits and their mass, seed of a unit */
    PLAN_FIELD = 4,     /* planting: fruits taken in summer, lost to the wind, on a fraction of a plant */
    PLAN_RIPENING = 5,  /* planting: heat to ripen, heat to die back */
    PLAN_KEEPING = 6,   /* planting: curing, keeping */
    PLAN_SORTING = 7,   /* planting: share sorted out */
    PLAN_JARS = 8,      /* planting: how long each jar keeps */
    PLAN_GUESTS = 9,    /* household: guests of the week */
    PLAN_SHELF = 10,    /* planting: lives of what was counted on the shelf */
    PLAN_DOUBT = 11,    /* "settings": which reading of the fitted distributions the trial has; a crop or the climate: how
                           readings differ */
    PLAN_GENERATOR = 12,/* climate: days of the made-up seasons, one stream each, the same for every random seed */
    PLAN_POINTS = 13,   /* "sampling": words that trials share out; how a replicate of the Sobol sequence is scrambled */
    PLAN_PURPOSES = 14
};

/* Positions of a unit's draws in its planting's PLAN_YIELD stream; unit 0 is the planting as a whole. */
enum { PLAN_AT_STANDS, PLAN_AT_FROST, PLAN_AT_WIND, PLAN_AT_BEARS, PLAN_AT_FRUITS };

/* ---- weather -------------------------------------------------------------------------------- */

/* Daily minimum and maximum of one recorded season, days 0..364 of the simulation year; from day known_days on they are not the
 * record's own: it ends there, or has a long gap. */
struct plan_recorded_season { int label_year, known_days; double tmin_c[SCENARIO_DAYS], tmax_c[SCENARIO_DAYS]; };
/* Seasons, and the years of those that were left out because too much of them is missing. */
struct plan_records { int n; const struct plan_recorded_season *season; int left_out_n; const int *left_out; };

/* Daily weather as normals, slow departures and fast ones (generator.c): 0 tmin, 1 tmax. */
enum { PLAN_BLOCK_DAYS = 28, PLAN_BLOCKS = 13, PLAN_QUARTERS = 4, PLAN_SCORES = 81, PLAN_FEWEST_SEASONS = 5 };
struct plan_generator {
    double normal_c[2][SCENARIO_DAYS], sd_c[2][SCENARIO_DAYS]; /* sd of the fast departures */
    double follows[2][2], fresh[2][2];      /* fast, as normal scores: today = follows * yesterday + fresh * two fresh ones */
    /* standardised fast departure at the normal scores -4, -3.9 ... 4, by quarter of the year: days need not be normal */
    double departure[PLAN_QUARTERS][2][PLAN_SCORES];
    int years;                              /* slow departures: recorded ones by four weeks; 0: year_sd_c for all of a season */
    const double (*slow_c)[PLAN_BLOCKS][2]; /* [years] */
    double year_sd_c;
};
/* Fits it: normals and variances as harmonics of the year, lag-one correlations of both temperatures with both (Richardson 1981,
 * Water Resources Research 17:182-190), departures of four-week means as a yearly effect. At least PLAN_FEWEST_SEASONS. False
 * when memory runs out. */
bool plan_fit_generator(struct base_arena *arena, const struct plan_records *records, struct plan_generator *generator);
/* The same from a scenario's normals and generator figures. */
void plan_given_generator(const struct scenario *scenario, struct plan_generator *generator);
/* Makes up `n` seasons, the same ones every time. NULL when memory runs out. */
const struct plan_records *plan_generate(struct base_arena *arena, const struct chance_normal *normal,
                                         const struct plan_generator *generator, int n);

/* Heat since day 0 and its derivative by warmth, at a row's warmth (or recorded season): to the beginning of each day 0 ..
 * SCENARIO_DAYS, then once more to the end of each week but the last, side by side for those who read week by week. */
struct plan_heat { double heat, slope; };
enum { PLAN_WEEK_HEATS = SCENARIO_DAYS + 1, PLAN_HEAT_ROW = PLAN_WEEK_HEATS + SCENARIO_WEEKS - 1 };

/* What is known of season 0. Scores (last frost, hard frost, warmth, and where only a part of the season is past its warmth so far)
 * in an order that has the known ones first; part: their independent parts. */
enum { PLAN_MOST_SCORES = 4 };
struct plan_this_season {
    int n, known_n, order[PLAN_MOST_SCORES];
    bool knows_last_frost, knows_warmth;
    int last_frost;
    double warmth_c, mix[PLAN_MOST_SCORES][PLAN_MOST_SCORES], part[PLAN_MOST_SCORES];
};

struct plan_weather {
    struct plan_this_season this_season;
    bool recorded;
    uint64_t key;
    const struct chance_table *last_frost, *first_hard_frost, *warmth;
    double mix[3][3];             /* Cholesky factor of the correlation */
    bool independent;             /* mix is the unit matrix */
    double first_warmth, warmth_step; /* of the rows */
    int rows;
    /* recorded seasons, by row */
    const int *row_last_frost, *row_first_hard_frost;
    const double *row_score;
    int bases;
    const double *base_c;
    const struct plan_heat *const *heat; /* [base][row * PLAN_HEAT_ROW + day] */
    const struct plan_weather *reading;  /* [PLAN_READINGS] as each reading has it; NULL: not in doubt */
};

/* ---- plantings ------------------------------------------------------------------------------- */

struct plan_crop { const char *name; uint64_t year_key; const struct chance_table *year_factor; double follows, apart;
                   int point; /* the year factor's word, see plan_points */ };

/* Places of a planting's words among those that trials share out; 0: drawn by each trial. Of what is drawn for each unit or fruit
 * it is the mean of the normal scores that has a word: of units in groups of PLAN_GROUP_UNITS, the first `groups` of them. */
enum { PLAN_GROUP_UNITS = 16, PLAN_MOST_GROUPS = 4 };
struct plan_planting_points { int units, groups, fruit_kg, keeps_weeks, wind, stands, sorted_out; };

/* Distributions that may be in doubt. */
enum plan_doubtful { PLAN_UNIT_KG, PLAN_FRUITS, PLAN_FRUIT_KG, PLAN_KEEPS_WEEKS, PLAN_DOUBTFUL };

struct plan_planting {
    const struct scenario_planting *planting;
    const struct scenario_crop *crop;
    enum scenario_kind kind;
    int crop_index, base, among;            /* among: its number among the plantings of its kind */
    uint64_t yield_key, field_key, ripening_key, keeping_key, sorting_key, jars_key, shelf_key;
    const struct chance_table *stands;
    bool stands_certainly, wind_may;
    struct chance_bernoulli blow_down, blow_down_loses, frost_kills;
    /* beans */
    const struct chance_table *unit_kg, *sorted_out;
    const struct chance_cdf_table *dry;     /* share of pods dry by heat */
    double first_pick_heat;                 /* least heat at which first_pick_share are dry */
    double seed_due_kg;                     /* set aside each season */
    /* squash */
    const struct chance_table *fruits, *fruit_kg, *die_back_heat, *keeps_weeks;
    const struct chance_cdf_table *ripe;    /* chance of being ripe by heat */
    struct chance_bernoulli cures_well, left_to_store;
    double life_factor[3];                  /* by enum scenario_cure */
    double keeps_mass;                      /* 1 - drying_loss_per_week */
    const double *mass_at_age;              /* [weeks] share of the mass left after so many weeks */
    int rank;                               /* of eat_rank among all plantings' */
    int most_fruits;                        /* a unit can bear */
    double most_unit_kg;
    struct plan_planting_points points;
    const struct scenario_distribution *keeps_reading; /* [PLAN_READINGS] what keeps_weeks is in each; NULL: not in doubt */
    const struct chance_table *const *readings[PLAN_DOUBTFUL]; /* [PLAN_READINGS] tables; NULL: not in doubt */
};

struct plan_place { double holds; double keeps_factor; int rank; /* lowest factor first */ };

/* ---- the shelf -------------------------------------------------------------------------------- */

/* A counted fruit: it lives `factor` times a life drawn given that it has lived to its present age. */
struct plan_shelf_fruit {
    int planting, place;
    enum scenario_cure cure;
    double kg, factor;
    int cut_day, cut_week;              /* counted from the time line's season 0; negative: earlier seasons */
    const struct chance_distribution *life;
    const struct chance_table *life_given; /* with a stock-take: the life given the age then; NULL otherwise */
};
struct plan_shelf_jar {
    int planting, season;               /* season <= 0 */
    double kg;
    int begun_week;
    const struct chance_distribution *life; /* NULL: for ever */
    const struct chance_table *life_given;
};

/* ---- points --------------------------------------------------------------------------------- */

/* Words that trials do not draw each on its own: the weather's (as many as it draws), then those at the places of crops and
 * plantings. In the first `turned` seasons the words' normal scores are turned, so that the first dimensions of the Sobol sequence
 * move along the directions that matter most. */
enum { PLAN_AXES = SCENARIO_FOODS };
struct plan_points {
    enum scenario_sampling sampling;        /* SCENARIO_INDEPENDENT: each trial its own after all, to compare with */
    uint64_t random_seed, key;
    int n, seasons, turned;                 /* n: words a season */
    const int16_t *dimension;               /* [season * n + word] of the Sobol sequence; -1: each trial its own */
    const double (*mirror)[PLAN_AXES];      /* [season * n + word] */
    struct chance_sobol sobol;
};
struct plan;
/* The words of a season in n trials from `first` on: word[place * PLAN_ABREAST + trial]; `score` is scratch as large. */
void plan_draw_points(const struct plan *plan, int season, uint64_t first, int n, uint64_t *word, double *score);
/* The replicate that a trial is of: replicates are independent of one another, trials of one are not. */
static inline int plan_replicate(enum scenario_sampling sampling, uint64_t trial)
{
    return (int)((sampling == SCENARIO_ANTITHETIC ? trial / 2 : trial) % CHANCE_REPLICATES);
}
/* Turns the scores of all seasons' words but the last's: along[season * PLAN_AXES + axis] are n numbers, by how much the score of
 * each word moves what the axis is for, at any scale (they are used up). The scores stay independent and normal. (A linear
 * transformation: Imai & Tan 2006, Journal of Computational Finance 10(2):129-155.) False when memory runs out. */
bool plan_turn_points(struct base_arena *arena, struct plan_points *points, double *const *along);

/* ---- the plan ---------------------------------------------------------------------------------- */

/* Usual weeks, counted from a season's beginning: medians of the pilot. */
struct plan_usual { int first[SCENARIO_FOODS], last[SCENARIO_FOODS], first_any; };

/* A run of weeks of the year in which something is wanted. */
struct plan_run { int week, n; };

/* What a week's table asks for, by food. */
struct plan_want { double portions[SCENARIO_FOODS], kg[SCENARIO_FOODS]; bool any; };

struct plan {
    const struct scenario *scenario;
    const struct chance_normal *normal;
    struct plan_weather weather;
    int crops_n, plantings_n, places_n, ranks_n, factor_ranks_n;
    struct plan_crop *crops;
    struct plan_planting *plantings;
    const struct plan_place *places;
    int squash_n, beans_n;
    const int *squash, *beans;              /* plantings of each kind, in order */
    uint64_t guests_key;
    struct chance_bernoulli guests;
    int weeks_to_want[SCENARIO_WEEKS];      /* from a week of the year to the next with a want, itself included; 52: none */
    int wanted_runs_n, run_of_week[SCENARIO_WEEKS];
    struct plan_run wanted_run[SCENARIO_WEEKS / 2 + 1];
    struct chance_jump to_week[SCENARIO_WEEKS]; /* takes a stream to the position of each week of the year */
    /* portions wanted in week w of the year, and what guests add when there are some */
    double portions[SCENARIO_FOODS][SCENARIO_WEEKS], guest_portions[SCENARIO_FOODS][SCENARIO_WEEKS];
    const struct plan_want *want[2];        /* [weeks] the same without and with guests, by absolute week */
    bool wanted[SCENARIO_WEEKS];            /* any food */
    bool foods_apart;                       /* squash is eaten whatever becomes of the beans: no eking out, no standing in */
    bool ekes[SCENARIO_FOODS][SCENARIO_WEEKS];
    double eke_need_kg[SCENARIO_FOODS][SCENARIO_WEEKS];
    const struct chance_table *jar_keeps_weeks; /* NULL: for ever */
    struct plan_usual usual;
    bool usual_needed;                      /* eking out or a stock-take asks for the pilot */
    /* shelf */
    bool stock_take, season_under_way;      /* as_of given; season 0 has begun to bring in */
    int count_week;                         /* of as_of */
    int shelf_fruits_n, shelf_jars_n, oldest_season; /* of beans on the shelf; 0 when there are none */
    const struct plan_shelf_fruit *shelf_fruits;
    const struct plan_shelf_jar *shelf_jars;
    /* sizes of a trial's workspace */
    int most_fruits_a_season, most_jars_a_season, weeks;
    int first_out_week;                     /* week of the year in which the earliest planting goes out */
    int no_produce_week;                    /* a season without any begins its food year here */
    struct plan_points *points;             /* NULL: every trial draws everything on its own */
    /* doubt about the settings: the plan as each reading has it; NULL: none is in doubt */
    uint64_t doubt_key;
    const struct plan *const *reading;      /* [PLAN_READINGS], without readings of their own */
};

/* Tables that plans of like scenarios have in common: what has been made for one is used by the others. Zero-initialise;
 * same arena as the plans. */
struct plan_share { struct plan_shared_table *tables; struct plan_shared_heat *heats; struct plan_shared_seasons *seasons; };

/* Tables that a scenario's plan will ask for, and that the share lacks: listed so that several may be made at a time. */
struct plan_listed { struct plan_shared_table *of; bool is_cdf; };
struct plan_tables { int n; struct plan_listed *listed; };
/* False when memory runs out. A distribution that is wrong is left out: plan_make complains of it. */
bool plan_list_tables(struct base_arena *arena, const struct scenario *scenario, struct plan_share *share,
                      struct plan_tables *tables);
/* Makes number i of them in an arena that is to last as long as the share's; any number of them at the same time. False when memory
 * runs out. */
bool plan_make_listed(const struct plan_tables *tables, int i, struct base_arena *arena);

/* Everything that needs no trial. `records` may be NULL unless the climate names a records file. Judges every
 * distribution and the sizes; `share` may be NULL; NULL with complaints when something is wrong (or memory ran out: complained of too). */
struct plan *plan_make(struct base_arena *arena, const struct scenario *scenario, const struct plan_records *records,
                       struct plan_share *share, struct base_complaints *complaints);
/* Lays in the pilot's usual weeks: eking out's tables, the stock-take and the shelf's lives. BASE_OK or as plan_make. */
enum base_result plan_settle(struct base_arena *arena, struct plan *plan, const struct plan_usual *usual,
                             struct base_complaints *complaints);

/* Which reading of the settings a trial has: the same for like trials of all plans. */
static inline int plan_reading_of(const struct plan *plan, uint64_t random_seed, uint64_t trial)
{
    struct chance_pcg pcg = chance_stream(chance_season_key(random_seed, trial, 0), plan->doubt_key);
    return (int)(chance_pcg_next(&pcg) >> 59);
}
/* The plan that a trial runs on. */
static inline const struct plan *plan_of_trial(const struct plan *plan, uint64_t random_seed, uint64_t trial)
{
    return plan->reading ? plan->reading[plan_reading_of(plan, random_seed, trial)] : plan;
}

/* A copy whose draws for `purpose` (all purposes of one planting when `planting` >= 0, else of every entity that
 * has it) are other ones, for each salt its own; salt 0 is the plan itself. Shares all tables. NULL without memory. */
struct plan *plan_salted(struct base_arena *arena, const struct plan *plan, unsigned purposes, int planting, uint64_t salt);

/* In such a copy: other years for one crop. */
void plan_salt_year(struct plan *copy, int crop, uint64_t salt);

/* Single-sine degree-days of one day above base_c, no upper cut-off (Baskerville & Emin 1969, Ecology 50:514-517). */
double plan_degree_days(double tmin_c, double tmax_c, double base_c);
/* The same with its derivative when both temperatures rise together: the share of the day above the base. */
struct plan_heat plan_day_heat(double tmin_c, double tmax_c, double base_c);
/* Daily normals from twelve monthly ones placed at each month's 15th, straight lines round the year; day 0 is `year_starts`. */
void plan_daily_normals(const double monthly_c[12], int year_starts, double daily_c[SCENARIO_DAYS]);

/* Week of the year of a day, 0..51; week 51 takes the 365th day too, and any later day. */
static inline int plan_week(int day) { return day >= 364 ? 51 : day < 0 ? 0 : day / 7; }
/* First day after week w of the year. */
static inline int plan_week_end(int week) { return week >= 51 ? 365 : 7 * (week + 1); }
/* Season and week of the year of an absolute week; both for negative weeks too. */
static inline int plan_season_of(int week) { return week >= 0 ? week / SCENARIO_WEEKS : -1 - (-1 - week) / SCENARIO_WEEKS; }
static inline int plan_week_of(int week) { return week - SCENARIO_WEEKS * plan_season_of(week); }

#endif
