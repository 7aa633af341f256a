/* scenario.h: settings files read once into one immutable struct scenario in internal units.
 *
 * Internal units: kg, weeks, degrees Celsius, degree-days, days of the simulation year (day 0 = year_starts).
 * Names of settings are the ones of tideover-scenario(5). */
#ifndef TIDEOVER_SCENARIO_H
#define TIDEOVER_SCENARIO_H

#include "base/base.h"

enum { SCENARIO_DAYS = 365, SCENARIO_WEEKS = 52, SCENARIO_MOST_YEARS = 50, SCENARIO_MOST_PLACES = 64,
       SCENARIO_MOST_PLANTINGS = 200,
       SCENARIO_NEVER = 1000000 /* a date, week or number of weeks that never comes */ };

enum scenario_food { SCENARIO_BEANS, SCENARIO_SQUASH, SCENARIO_FOODS };

/* Where a setting was written, for messages that rooms further right must give. */
struct scenario_origin {
    const char *file;      /* NULL: a default or the command line */
    int line;
    const char *path;      /* crops.climbing_bean.unit_kg */
};

/* ---- a distribution as written: pure figures, judged and made ready by the room "chance" ----- */

enum scenario_shape {
    SCENARIO_CERTAIN,          /* a plain number: a[0] */
    SCENARIO_TRIPLET,          /* a = p10, p50, p90 */
    SCENARIO_NORMAL,           /* a = mean, sd */
    SCENARIO_LOGNORMAL,        /* a = mean, sd */
    SCENARIO_LOGNORMAL_LOG,    /* a = mu, sigma */
    SCENARIO_GAMMA,            /* a = mean, sd */
    SCENARIO_GAMMA_SHAPE,      /* a = k, theta */
    SCENARIO_BETA,             /* a = mean, sd */
    SCENARIO_BETA_SHAPE,       /* a = alpha, beta */
    SCENARIO_WEIBULL,          /* a = mean, sd */
    SCENARIO_WEIBULL_SHAPE,    /* a = k, scale */
    SCENARIO_EXPONENTIAL,      /* a = mean */
    SCENARIO_UNIFORM,          /* a = low, high */
    SCENARIO_TRIANGULAR,       /* a = low, mode, high */
    SCENARIO_PERT,             /* a = low, mode, high */
    SCENARIO_POISSON,          /* a = mean */
    SCENARIO_NEGATIVE_BINOMIAL,/* a = mean, sd */
    SCENARIO_COUNTS,           /* list = values, weights = weights */
    SCENARIO_RECORDS           /* list = figures as they are, in the order written; smooth */
};

/* The natural bounds of the quantity, which decide the triplet's form and what mass is out of bounds. */
enum scenario_bound {
    SCENARIO_UNBOUNDED,        /* dates (days of the simulation year, may be below 0), warmth */
    SCENARIO_POSITIVE,         /* bounded below at 0 */
    SCENARIO_SHARE,            /* (0,1) */
    SCENARIO_COUNT             /* whole numbers from 0; a continuous shape is rounded to the nearest */
};

struct scenario_distribution {
    bool set;                  /* false: not given and without a default (an optional setting) */
    enum scenario_shape shape;
    enum scenario_bound bound;
    bool is_date;              /* figures are days of the simulation year; a draw is rounded to a whole day */
    double a[3];
    size_t n;                  /* of list (and weights) */
    const double *list, *weights;
    bool smooth;
    bool has_least, has_most;
    double at_least, at_most;
    double from_records;       /* how many records it was fitted to; 0: not said, it is taken as known */
    struct scenario_origin origin;
};

/* ---- climate --------------------------------------------------------------------------------- */

/* What a records file's temperatures are written in. */
enum scenario_degrees { SCENARIO_CELSIUS, SCENARIO_FAHRENHEIT };

/* Seasons made up day by day, fitted to the records, or with these figures about the normals. */
struct scenario_generator {
    bool is_set;
    int seasons;                                               /* how many are made up, once for all trials */
    double tmin_sd_c[12], tmax_sd_c[12];                       /* of days about the normal, January first */
    double lag_one, same_day;                                  /* correlations of a day with the next, of tmin with tmax */
    double year_sd_c;                                          /* of a season's departure as a whole */
};

/* What is known already of the season under way, or to come. */
struct scenario_this_season {
    bool has_last_frost, has_warmth;
    int last_frost, as_of;     /* days of the simulation year; as_of -1: not given */
    double warmth_c;
};

struct scenario_climate {
    struct scenario_distribution last_frost, first_hard_frost; /* days of the simulation year */
    struct scenario_distribution warmth;                       /* degrees C from the normals */
    double correlation[3][3];  /* of normal scores: last frost, hard frost, warmth; absent: unit matrix */
    double tmin_c[12], tmax_c[12];                             /* January first */
    double hard_frost_c;
    const char *records_file;  /* resolved against the file that names it; NULL: from distributions */
    const char *date_column, *tmin_column, *tmax_column;
    enum scenario_degrees temperature_unit;                    /* of the records file */
    struct scenario_generator generator;
    struct scenario_this_season this_season;
    int max_missing_days;
    struct scenario_origin origin, records_origin, correlation_origin;
};

/* ---- crops and plantings --------------------------------------------------------------------- */

enum scenario_kind { SCENARIO_KIND_BEANS, SCENARIO_KIND_SQUASH };
enum scenario_support { SCENARIO_EACH, SCENARIO_SHARED };

/* A crop as a planting grows it. Both kinds share one struct; what the other kind has keeps its default. */
struct scenario_crop {
    const char *name;
    enum scenario_kind kind;
    const char *unit;                       /* "wigwam", "plant", "metre of row" */
    /* both kinds */
    struct scenario_distribution year_factor, stands;
    double follows_warmth;                  /* -1..1 */
    double blow_down, blow_down_loses;      /* chances 0..1 */
    enum scenario_support support;
    double base_c;
    bool waits_for_frost;
    double frost_kills;                     /* chance 0..1 */
    int plant_out;                          /* day; SCENARIO_NEVER if neither crop nor planting says */
    double kcal_per_kg, protein_g_per_kg;
    double bed_m2, hours, money;            /* a unit's cost */
    /* beans */
    struct scenario_distribution unit_kg, heat_to_dry, sorted_out;
    double left_to_dry, first_pick_share, finish_indoors_heat, finish_share;
    int indoor_drying_weeks;
    int pick_until;                         /* day */
    bool saves_seed, buys_seed;
    double seed_kg_per_unit, seed_spare;
    /* squash */
    struct scenario_distribution fruits, fruit_kg, heat_to_ripen, die_back_heat, keeps_weeks;
    double left_to_store, cures_well, poor_cure_factor, unripe_factor;
    int cut_by, cut_before_frost_days, cure_weeks;
    double drying_loss_per_week, flesh_share;
    struct scenario_origin origin;
};

struct scenario_planting {
    const char *name;
    double count;
    int eat_rank;
    struct scenario_crop crop;              /* the crop with this planting's overrides laid over it */
    struct scenario_origin origin, count_origin;
};

/* ---- household -------------------------------------------------------------------------------- */

struct scenario_window { int from, until; };/* days, inclusive; from > until wraps over the year's end */

struct scenario_meal {
    double meals_per_week, portion_kg;
    bool has_window;
    struct scenario_window window;
};

struct scenario_household {
    double eaters_portions;                 /* E: sum of count x portion */
    double guests_chance, guests_portions;
    struct scenario_meal meal[SCENARIO_FOODS];
    bool beans_stand_in, squash_stands_in;
    double enough;
    int away_n;
    const struct scenario_window *away;
    bool ekes_out;
    double eke_least;
    bool has_needs_kcal, has_needs_protein;
    double kcal_per_day, protein_g_per_day; /* of one portion 1.0 */
    struct scenario_origin origin, eke_origin;
};

/* ---- store and shelf -------------------------------------------------------------------------- */

struct scenario_place { const char *name; double holds; /* HUGE_VAL: unlimited */ double keeps_factor; };

struct scenario_store {
    int look_over_weeks, cut_keeps_weeks;
    double salvage_share, jar_kg;
    struct scenario_distribution jar_keeps_weeks; /* not set: for ever */
    int beans_keep_seasons;                 /* SCENARIO_NEVER: no limit */
};

enum scenario_cure { SCENARIO_UNRIPE, SCENARIO_POOR, SCENARIO_WELL }; /* in the order of eating */

struct scenario_shelf_squash {
    int planting;                           /* index into plantings */
    int fruits;
    double kg;                              /* of one fruit at the count */
    int cut;                                /* day of the simulation year */
    enum scenario_cure cured;
    int place;                              /* index into places */
    struct scenario_origin origin;
};
struct scenario_shelf_beans {
    int planting;
    double kg;
    int seasons_old;
    int begun;                              /* day of the simulation year; -1: the season's usual week */
    struct scenario_origin origin;
};
struct scenario_shelf {
    bool has_as_of;
    int as_of;                              /* day of the simulation year */
    int squash_n, beans_n;
    const struct scenario_shelf_squash *squash;
    const struct scenario_shelf_beans *beans;
    struct scenario_origin origin;
};

/* ---- the whole --------------------------------------------------------------------------------- */

/* How trials share out the draws that matter most. */
enum scenario_sampling { SCENARIO_INDEPENDENT, SCENARIO_SOBOL, SCENARIO_ANTITHETIC };

struct scenario {
    const char *name;                       /* the file's base name without .cfg */
    const char *title;
    int year_starts;                        /* day of the calendar year 0..364 */
    int first_year;
    int food_years;
    int64_t trials;
    int64_t random_seed;
    enum scenario_sampling sampling;
    struct scenario_climate climate;
    int crops_n;
    const struct scenario_crop *crops;      /* in the order written */
    int plantings_n;
    const struct scenario_planting *plantings; /* in the order written */
    int places_n;
    const struct scenario_place *places;    /* at least one */
    struct scenario_household household;
    struct scenario_store store;
    struct scenario_shelf shelf;
    const struct scenario_tree *tree;       /* every setting as it was used, with its origin */
    const char *sha256;                     /* of all the settings text read, 64 hex digits */
};

/* What the command line adds to a scenario file. */
struct scenario_request {
    const char *path;                       /* the scenario file */
    const char *text;                       /* NULL; else read in its place: it extends and includes nothing */
    const char *configs_dir;                /* where the library of configs is; NULL: none */
    int sets_n;
    const char *const *sets;                /* "path.to.setting=VALUE", "+=VALUE", "-=VALUE", in order */
};

/* Once, first thing in main: should libconfig end the program because memory ran out, then with BASE_FAILED, not with the
 * exit code that it has for that. */
void scenario_start(void);

/* Reads, merges, overrides, checks and binds. All memory comes from `arena`. Returns BASE_OK and *out on
 * success; BASE_WRONG with `complaints` filled when anything is wrong (all of it at once past syntax);
 * BASE_FAILED when memory or reading failed (also complained of). Warnings alone do not fail. */
enum base_result scenario_load(struct base_arena *arena, const struct scenario_request *request,
                               const struct scenario **out, struct base_complaints *complaints);

/* Reads only what a settings file says of crops, plantings and places; it need be no whole scenario, so nothing across
 * settings is checked. The rest of *out is empty. Results as scenario_load; the request's sets are not applied. */
enum base_result scenario_load_crops(struct base_arena *arena, const struct scenario_request *request,
                                     const struct scenario **out, struct base_complaints *complaints);

/* Writes every setting as it was used (%.17g, defaults included, `extends` resolved) so that the text, loaded
 * again, gives the same scenario. */
void scenario_write_effective(const struct scenario *scenario, FILE *to);
/* The same for reading: one line a setting with where it came from (file:line, default, command line). */
void scenario_print_settings(const struct scenario *scenario, FILE *to);
/* Settings that differ between two scenarios, one line each: path, old, new. Returns their number. */
int scenario_print_differences(const struct scenario *a, const struct scenario *b, FILE *to);

/* Do two scenarios say the same in a group of settings, or in one member of it (NULL: in all of it)? Also when neither has it. */
bool scenario_same(const struct scenario *a, const struct scenario *b, const char *group, const char *member);

/* What a setting means: explains `path` (concrete, plantings.wigwams.count, or general, plantings.count) from
 * the descriptor table; BASE_WRONG and a nearest name on `to` when there is none. */
enum base_result scenario_explain(const char *path, FILE *to);
/* The settings reference as mdoc for tideover-scenario(5), made from the descriptor table. */
void scenario_write_reference(FILE *to);

/* Day d of the simulation year's season n (may be negative or beyond 364) as ISO date, year counted from
 * first_year; `text` gets "YYYY-MM-DD" and NUL. */
void scenario_iso_date(const struct scenario *scenario, int season, int day, char text[16]);

/* True if `day` (0..364) lies in the window, inclusive, wrapping when from > until. */
bool scenario_in_window(const struct scenario_window *window, int day);

#endif
