/* report.h: figures become files and words. Knows nothing of how they came about. */
#ifndef TIDEOVER_REPORT_H
#define TIDEOVER_REPORT_H

#include "tally/tally.h"

/* ---- a set of files that appears whole or not at all ---------------------------------------------- */

struct report_output;
struct report_file;

/* Opens (makes, if need be) the output directory and locks it against another run. Nothing appears in it before
 * report_output_commit. BASE_WRONG with a complaint when it cannot be one (a file, not to be written to, in use). */
enum base_result report_output_open(struct base_arena *arena, const char *dir, struct base_complaints *complaints,
                                    struct report_output **output);
/* The same for what lies beside other runs' files: REPORT_BESIDE shares the directory with others that do, REPORT_FREELY
 * asks nobody. `option` is what the directory was named by. */
enum report_lock { REPORT_ALONE, REPORT_BESIDE, REPORT_FREELY };
enum base_result report_output_open_as(struct base_arena *arena, const char *dir, enum report_lock lock, const char *option,
                                       struct base_complaints *complaints, struct report_output **output);
/* A new file of the set, written under a temporary name; NULL when it cannot be made (complained of at commit). */
struct report_file *report_output_file(struct report_output *output, const char *name);
/* Appends; errors are kept until commit. */
void report_write(struct report_file *file, const char *data, size_t bytes);
void report_print(struct report_file *file, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Text kept in memory, for rows that another file takes over in their order. NULL without memory. */
struct report_file *report_memory_open(void);
void report_memory_pour(struct report_file *memory, struct report_file *into);   /* and empties it */
bool report_memory_failed(const struct report_file *memory);
void report_memory_free(struct report_file *memory);
/* Closes a file's content: flushed and synced; its hash and size are known from here on. */
bool report_file_close(struct report_file *file);
const char *report_file_name(const struct report_file *file);
const char *report_file_sha256(const struct report_file *file);
uint64_t report_file_bytes(const struct report_file *file);
/* Renames every file into place, in the order made, and syncs the directory. BASE_FAILED with a complaint when any
 * write, sync or rename failed: then no temporary file is left. */
enum base_result report_output_commit(struct report_output *output, struct base_complaints *complaints);
/* Removes what was not committed and unlocks. Safe after commit, and on NULL. */
void report_output_close(struct report_output *output);
const char *report_output_dir(const struct report_output *output);

/* ---- CSV (RFC 4180) ---------------------------------------------------------------------------------- */

struct report_csv { struct report_file *file; char separator, decimal; int cells; };

/* Comma and point, or semicolon and decimal comma. */
struct report_csv report_csv_begin(struct report_file *file, bool decimal_comma);
/* Cells of a row, in order; text is quoted where it must be and can never begin a spreadsheet's formula. */
void report_csv_text(struct report_csv *csv, const char *text);
void report_csv_number(struct report_csv *csv, double value);   /* HUGE_VAL and NAN: an empty cell */
void report_csv_whole(struct report_csv *csv, int64_t value);
void report_csv_empty(struct report_csv *csv);
void report_csv_end(struct report_csv *csv);                    /* of the row */
/* A number as text, "%.10g", in the CSV's decimal mark. */
void report_number(double value, char decimal, char text[40]);

/* ---- columns and the data package --------------------------------------------------------------------- */

/* One column of a table, for the data package's metadata (https://datapackage.org, version 2). */
struct report_column { const char *name, *type, *unit, *meaning, *resolution; };
struct report_table { struct report_file *file; const char *title; const struct report_column *columns; int columns_n;
                      bool decimal_comma; };
/* Writes a header row of the columns' names. */
void report_csv_header(struct report_csv *csv, const struct report_column *columns, int n);

/* What the run says of itself. */
struct report_run {
    const struct scenario *scenario;
    const char *command, *version;
    int64_t trials, random_seed;
    const char *records_sha256;                                 /* NULL: no records */
    const char *const *extra;                                   /* further "name", "value" pairs, NULL-ended; may be NULL */
};
/* datapackage.json: tables and further files, each with its hash, and the run's record. */
void report_package(struct report_file *file, const struct report_run *run, const struct report_table *tables, int n,
                    struct report_file *const *others, int others_n);

/* ---- the state of a run ---------------------------------------------------------------------------------- */

/* What a state file says: of which run, how far it is, and its tally so far. A run is the same when its settings, records,
 * luck and program are. Text belongs to whoever filled it in, or stands in the bytes that it was read from. */
struct report_state {
    const char *version, *name, *scenario_sha256;
    const char *records_sha256;                                 /* "": no records */
    const char *settings;                                       /* the text of effective.cfg */
    int64_t stream_version, random_seed;
    int64_t trials;                                             /* of the whole run; with a precision the most allowed */
    double precision;                                           /* 0: none was asked for */
    int64_t part, parts;                                        /* from 1; of a whole run 1 of 1 */
    int64_t first, done, until;                                 /* trials first .. first + done - 1, on the way to until */
    const unsigned char *figures;                               /* the tally, packed */
    size_t figures_n;
};
/* The whole file with its checksum, in memory; `packed` failed when memory ran out. */
void report_state_pack(const struct report_state *state, struct tally *tally, const struct tally_doubt *doubt,
                       struct base_packed *packed);
/* Reads a file's bytes. NULL and the state, or why it is none: not a state file, damaged. Takes no memory. */
const char *report_state_unpack(const unsigned char *bytes, size_t n, struct report_state *state);
/* Adds its figures to a tally of the same plan; false when they are none. */
bool report_state_add(const struct report_state *state, struct tally *tally, struct tally_doubt *doubt);

/* ---- tables of a run ------------------------------------------------------------------------------------- */

extern const struct report_column report_summary_columns[], report_weeks_columns[], report_trials_columns[];
extern const int report_summary_columns_n, report_weeks_columns_n, report_trials_columns_n;

const char *report_food_name(int food);                         /* beans, squash, any */
void report_summary(struct report_csv *csv, const struct plan *plan, const struct tally *tally);
void report_weeks(struct report_csv *csv, const struct plan *plan, const struct tally *tally);
/* Rows of one trial, one a food year. */
void report_trial(struct report_csv *csv, const struct plan *plan, const struct future_ledger *ledger, uint64_t number);

/* ---- words ------------------------------------------------------------------------------------------------- */

struct report_style { bool pounds, colour; int width; };

/* The printed answer: chance, dates, amounts, room, seed, advice, cautions. */
void report_answer(FILE *to, const struct plan *plan, const struct tally *tally, const struct report_style *style);
/* "23 %" rounded to what an error allows; "under 0.1 %", "over 99.9 %". */
void report_percent(double share, double half_width, char text[32]);
/* "23.1 % ± 0.3" with its interval; at the edges "under 0.01 % (at most 0.02 %)". */
void report_chance(double value, double low, double high, char text[80]);
/* "1.2 kg" or "2.6 lb". */
void report_mass(double kg, bool pounds, char text[32]);
/* "3 January" of an absolute week's first day. */
void report_day(const struct plan *plan, int week, char text[32]);
/* The cautions, one paragraph. */
void report_cautions(FILE *to);

#endif
