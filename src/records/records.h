/* records.h: the household's own figures: daily weather, the notebook. */
#ifndef TIDEOVER_RECORDS_H
#define TIDEOVER_RECORDS_H

#include "plan/plan.h"

/* Reads the climate's records_file into whole seasons of the simulation year. Columns as the climate names them; ISO
 * dates, degrees as climate.temperature_unit says. 29 February is dropped; gaps are filled along the file by straight lines, at its ends by the
 * nearest value; seasons with more than max_missing_days missing among days 0-274 are left out and named in a warning.
 * Comma and decimal point, or semicolon and decimal comma. NULL with complaints when it cannot be used. `sha256`
 * (65 bytes) gets the file's hash. */
const struct plan_records *records_read_weather(struct base_arena *arena, const struct scenario *scenario,
                                                char sha256[65], struct base_complaints *complaints);

/* ---- a record told as a grower's tables: seasons.c ---------------------------------------------------- */

enum { RECORDS_MOST_BASES = 8, RECORDS_HEAT_FROM = 61, RECORDS_HEAT_UNTIL = 213, RECORDS_LAST_SPRING_DAY = 137 };

/* What one recorded season had; days of the simulation year. */
struct records_season {
    int year;                       /* in which the season begins */
    int last_frost;                 /* last minimum at or below 0 degrees C up to day 137; -1: none */
    int first_frost;                /* first such minimum after day 137; 365: none */
    int first_hard_frost;           /* first minimum at or below the hard frost after day 137; 365: none */
    int frost_free_days;            /* between last_frost and first_frost */
    double heat[RECORDS_MOST_BASES];     /* degree-days over days 61-213, by base */
    double open_heat[RECORDS_MOST_BASES];/* degree-days between last_frost and first_hard_frost, by base */
};
void records_season_figures(const struct plan_recorded_season *season, double hard_frost_c, const double *base_c, int bases,
                            struct records_season *figures);

/* One figure over the years. A year without it (NAN: no such frost) counts in the quantiles, as earlier than all
 * (`lacks_low`) or later than all, and in nothing else. */
struct records_trend {
    int n, lacking;                 /* years with and without it */
    double mean, sd;                /* NAN with fewer than one and two */
    double p10, p50, p90;           /* sample quantiles (Hyndman & Fan 1996, type 7); NAN where a lacking year has a share */
    double per_decade, std_error;   /* least squares on the year; NAN with fewer than three */
};
/* `value` and `year` have n entries; false when memory runs out. */
bool records_trend_of(const double *year, const double *value, int n, bool lacks_low, struct records_trend *trend);

/* ---- the notebook: notebook.c ---------------------------------------------------------------------------- */

/* RECORDS_KINDS kinds of rows; then what a daily record says of a season: days of the simulation year, degrees C. */
enum records_kind { RECORDS_UNIT_KG, RECORDS_FRUITS, RECORDS_FRUIT_KG, RECORDS_KEPT, RECORDS_KINDS,
                    RECORDS_LAST_FROST = RECORDS_KINDS, RECORDS_FIRST_HARD_FROST, RECORDS_SEASON_WARMTH, RECORDS_ALL_KINDS };

/* What is known of one figure: it is `low` when both are the same; else above `low` and at most `high`. `high` may be infinite: fruit
 * that was eaten sound would have kept longer than it lay; and so may `low`: a spring without frost had its last one before. */
struct records_observation { double low, high; };

/* One row of the notebook. */
struct records_note {
    enum records_kind kind;
    const char *crop, *place;       /* place "": not said */
    enum scenario_cure cured;
    int year, of_year, line;        /* of its date, and that day 0..364; year 0: no date */
    int count;                      /* alike */
    struct records_observation seen;/* kg, fruits or weeks */
};
struct records_notebook { int n; const struct records_note *note; char sha256[65]; };

/* Reads a notebook: columns kind, crop, and as the kind needs them value, date, sound, spoiled, place, cured, count, note; in any
 * order. Kinds: unit_kg and fruit_kg (value in kg, above 0), fruits (value, whole), kept (a squash: date cut, date last
 * seen sound, date found spoiled). NULL with complaints, each with its line. */
const struct records_notebook *records_read_notebook(struct base_arena *arena, const char *path,
                                                     struct base_complaints *complaints);
/* The row's word, or the climate's setting. */
const char *records_kind_name(enum records_kind kind);

/* ---- fitting by maximum likelihood: fit*.c ------------------------------------------------------------------ */

enum records_shape { RECORDS_NORMAL, RECORDS_LOGNORMAL, RECORDS_GAMMA, RECORDS_WEIBULL, RECORDS_POISSON,
                     RECORDS_NEGATIVE_BINOMIAL, RECORDS_TRIPLET, RECORDS_SHAPES };
enum { RECORDS_MOST_PARAMETERS = 3 };

/* A fitted shape. Parameters as the settings have them: normal mean, sd; lognormal mu, sigma; gamma mean, sd; weibull k,
 * scale; poisson mean; negative_binomial mean, sd; triplet p10, p50, p90 (unbounded: Keelin's metalog of three terms). */
struct records_fit {
    enum records_shape shape;
    int parameters, n, events;      /* records; those that are not censored at one side */
    double p[RECORDS_MOST_PARAMETERS], std_error[RECORDS_MOST_PARAMETERS]; /* NAN when the curvature says nothing */
    double at[RECORDS_MOST_PARAMETERS]; /* where the likelihood is greatest, in the search's own coordinates */
    double covariance[RECORDS_MOST_PARAMETERS][RECORDS_MOST_PARAMETERS]; /* in those coordinates */
    double log_likelihood, aicc;    /* aicc after Hurvich & Tsai 1989, Biometrika 76:297-307 */
    double mean, sd, mean_std_error;
};

const char *records_shape_name(enum records_shape shape);
const char *records_parameter_name(enum records_shape shape, int parameter);
/* False when the shape cannot be fitted: nothing but censored figures, no spread, figures that it cannot have, counts no
 * more spread than Poisson's for the negative binomial, or a search that does not settle. */
bool records_fit_shape(enum records_shape shape, const struct records_observation *seen, int n, struct records_fit *fit);
/* Log-likelihood at parameters as the settings have them; -HUGE_VAL where they cannot be. */
double records_log_likelihood(enum records_shape shape, const double p[], const struct records_observation *seen, int n);
/* P(X > x). */
double records_survival(const struct records_fit *fit, double x);
/* Is the parameter a coordinate of its own, so that it has a profile? Not a negative binomial's sd, nor a triplet's p10, p90. */
bool records_has_profile(enum records_shape shape, int which);
/* Twice the log-likelihood lost when parameter `which` is held at `value` and the others are fitted anew. */
double records_profile_loss(const struct records_fit *fit, const struct records_observation *seen, int n, int which,
                            double value);
/* Profile-likelihood interval of parameter `which` at `confidence`; an end that is not found within a factor of a million
 * is NAN. */
void records_profile_interval(const struct records_fit *fit, const struct records_observation *seen, int n, int which,
                              double confidence, double *low, double *high);
/* Anderson & Darling's A2 (1952, Annals of Mathematical Statistics 23:193-212); figures must be exact. NAN when
 * memory runs out. */
double records_anderson_darling(const struct records_fit *fit, const struct records_observation *seen, int n);
/* Greatest distance between the records' curve and the fit's at the curve's steps: whole numbers, or a censored curve. */
struct records_curve;
double records_kolmogorov(const struct records_fit *fit, const struct records_curve *curve);

/* A survival curve without a shape: Kaplan & Meier 1958 (JASA 53:457-481) where figures are exact or right-censored,
 * with Greenwood's standard error; Turnbull 1976 (JRSS B 38:290-295) where there are intervals, standard errors NAN.
 * Step s: the share that is still sound after `until[s]`; within (from[s], until[s]] it is not known how it falls. */
struct records_curve { int n; double *from, *until, *sound, *std_error; int *at_risk; bool has_intervals; };
/* False when memory runs out, or the steps times the records are more than 200 million. */
bool records_curve_of(struct base_arena *arena, const struct records_observation *seen, int n, struct records_curve *curve);

/* ---- samples: what belongs together, fitted and judged: samples.c, judge.c -------------------------------------- */

/* Rows of one crop and kind; of fruit kept, of one place and cure class, or of all with known factors taken out. */
struct records_sample {
    enum records_kind kind;
    const char *crop, *place;
    enum scenario_cure cured;
    bool one_life;                  /* all places and cure classes, each life divided by its known factor */
    int n, events, years;           /* own records, those not right-censored, different years (0: not dated) */
    int prior_n;                    /* pseudo-records after the own ones */
    struct records_observation *seen;
};

/* The known factor on a note's life, above 0. */
typedef double records_factor(const void *context, const struct records_note *note);

/* Gathers the samples in the order in which the notebook begins them. With `factor`, a crop's kept fruit is one sample
 * more, one life. `room` further observations are left after each. NULL when memory runs out. */
struct records_sample *records_gather(struct base_arena *arena, const struct records_notebook *notebook, int room,
                                      records_factor *factor, const void *context, int *n);

/* ---- a record as a climate: climate.c ---------------------------------------------------------------------------- */

enum records_figure { RECORDS_AT_LAST_FROST, RECORDS_AT_HARD_FROST, RECORDS_AT_WARMTH, RECORDS_FIGURES };

/* What a daily record says of a climate. Dates are days of the simulation year. A season without a last frost had it before day 0; one
 * without a hard frost has it after day 364; one whose record ends too soon to tell, after that. Warmth is the mean of the daily means
 * over days 61-213 less that of the normals, which are laid through the year as the model lays them. */
struct records_climate {
    int seasons, first_year, last_year;
    struct records_sample sample[RECORDS_FIGURES];
    int lacking[2], cut_short;          /* seasons without such a frost; whose hard frost lies beyond what is known of them */
    const int *lacking_year[2];
    double normal_c[2][12];             /* tmin, tmax, January first, to a hundredth; NAN: no such month in the record */
    int normal_seasons[12];             /* seasons that have a day of the month */
    /* Normal scores (ranks at (r - 1/2)/n) of the three, over the seasons in which all is known; 95 % intervals by Fisher's z. With fewer
     * than RECORDS_WARMTH_YEARS seasons, or where a figure is always the same: NAN. */
    int correlated;
    double correlation[RECORDS_FIGURES][RECORDS_FIGURES], low[RECORDS_FIGURES][RECORDS_FIGURES],
        high[RECORDS_FIGURES][RECORDS_FIGURES];
};
/* NULL when memory runs out. */
const struct records_climate *records_climate_of(struct base_arena *arena, const struct plan_records *records,
                                                 double hard_frost_c, int year_starts);
/* Can a setting say it? Dates are whole days within the simulation year (a last frost: half a year to either side of its
 * beginning); a triplet's three must still make one when rounded. */
bool records_can_be_said(enum records_kind kind, enum records_shape shape, const double p[]);

enum { RECORDS_FEWEST = 5 };
struct records_verdict {
    bool fitted[RECORDS_SHAPES];
    struct records_fit fit[RECORDS_SHAPES];
    /* 95 % profile-likelihood intervals of the parameters; NAN where there is no profile */
    double low[RECORDS_SHAPES][RECORDS_MOST_PARAMETERS], high[RECORDS_SHAPES][RECORDS_MOST_PARAMETERS];
    double statistic[RECORDS_SHAPES];
    const char *statistic_name;
    int chosen;                     /* shape of the least AICc; -1: none, fewer than RECORDS_FEWEST, or none that can be said */
    bool has_triplet;
    double triplet[3];
    struct records_curve curve;     /* of the own records */
    double own_mean, own_mean_error;/* of the own records alone; NAN where they do not say */
};
bool records_judge(struct base_arena *arena, const struct records_sample *sample, struct records_verdict *verdict);

/* Pseudo-records of a prior distribution worth n records: its quantiles at (i - 1/2)/n, put after the sample's own. */
void records_add_prior(struct records_sample *sample, const struct chance_distribution *prior, int n);

/* How a crop's years go with the warmth: correlation of the normal scores (ranks at (r - 1/2)/n) of the yearly mean logs of
 * its unit_kg or fruit_kg and of the seasons' heat, with a 95 % interval by Fisher's z (Fisher 1921, Metron 1:3-32).
 * Refused (NAN) with fewer than RECORDS_WARMTH_YEARS years in common. */
enum { RECORDS_WARMTH_YEARS = 8 };
struct records_warmth { int years; double correlation, low, high; };
bool records_warmth_of(const struct records_notebook *notebook, const char *crop, enum records_kind kind,
                       const struct plan_records *records, int year_starts, struct records_warmth *warmth);

/* Normal scores of ranks at (r - 1/2)/n, ties at their mean rank. */
void records_to_scores(const double *value, int n, double *score);

/* Fewer records than a shape wants: a triplet that is the prediction interval of one more, by Student's t on the logs (a
 * count's taken at no less than a half). False for fewer than two records or none above 0. */
bool records_few(const struct records_observation *seen, int n, double triplet[3]);
/* The same of figures that may have any sign, on themselves; the spread is taken as `least_sd` at the least. An end stands for what is
 * only known to lie beyond it. */
bool records_few_level(const struct records_observation *seen, int n, double least_sd, double triplet[3]);

/* ---- rows of a CSV file, for every reader of this room --------------------------------------------- */

struct records_row { int line, cells_n; const char *const *cell; };
struct records_table { int rows_n; const struct records_row *row; bool semicolon; /* row 0 is the header */ };

/* Reads a CSV file (RFC 4180) whole; separator told by the header. NULL with a complaint. */
const struct records_table *records_read_csv(struct base_arena *arena, const char *path, char sha256[65],
                                             struct base_complaints *complaints);
/* Column of a name in the header, -1 if there is none. */
int records_column(const struct records_table *table, const char *name);
/* A cell as a number; false when it is empty or none. Decimal comma allowed when the separator is the semicolon. */
bool records_number(const struct records_table *table, const char *cell, double *value);
/* An ISO date as days since 1970-01-01 (proleptic Gregorian); false when it is none. */
bool records_date(const char *cell, int64_t *day, int *year, int *month, int *day_of_month);

#endif
