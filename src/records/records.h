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

enum { RECORDS_MOST_BASES = 8, RECORDS_HEAT_FROM = 61, RECORDS_HEAT_UNTIL = 213 };

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
