/* records.h: the household's own figures: daily weather, the notebook. */
#ifndef TIDEOVER_RECORDS_H
#define TIDEOVER_RECORDS_H

#include "plan/plan.h"

/* Reads the climate's records_file into whole seasons of the simulation year. Columns as the climate names them; ISO
 * dates, degrees Celsius. 29 February is dropped; gaps are filled along the file by straight lines, at its ends by the
 * nearest value; seasons with more than max_missing_days missing among days 0-274 are left out and named in a warning.
 * Comma and decimal point, or semicolon and decimal comma. NULL with complaints when it cannot be used. `sha256`
 * (65 bytes) gets the file's hash. */
const struct plan_records *records_read_weather(struct base_arena *arena, const struct scenario *scenario,
                                                char sha256[65], struct base_complaints *complaints);

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
