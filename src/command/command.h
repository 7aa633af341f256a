/* command.h: one file a command; options; what the commands share. */
#ifndef TIDEOVER_COMMAND_H
#define TIDEOVER_COMMAND_H

#include "decide/decide.h"
#include "plan/plan.h"
#include "report/report.h"

#define COMMAND_VERSION "0.1.0"

enum { COMMAND_MOST_SETS = 256, COMMAND_MOST_NUMBERS = 16, COMMAND_MOST_RANGES = 4, COMMAND_MOST_VARIANTS = 400,
       COMMAND_MOST_BASES = 8, COMMAND_MOST_PARTS = 9999 };

/* What the command line says. */
struct command_options {
    const char *configs, *out;
    int threads;
    bool per_trial, quiet, decimal_comma, pounds, plot, reference;
    int64_t trial;                              /* diary */
    int part, parts;                            /* run: counted from 1; parts 0: the whole */
    const char *state;                          /* run: the file that an interrupted run goes on from; NULL: none */
    const char *measure, *food;                 /* what is judged; NULL: the headline */
    int food_year;                              /* counted from 1; 0: the worst */
    int versus_n, over_n;
    const char *versus[COMMAND_MOST_VARIANTS], *over[COMMAND_MOST_RANGES]; /* compare's changes; vary's and size's ranges */
    double worth, risk, confidence, precision;  /* below 0: not given */
    bool until_clear;
    int64_t most_trials;                        /* 0: not given */
    const char *cost;                           /* bed_m2, hours or money; NULL: none */
    /* season and fit: a daily record, and what the notebook is blended with */
    int bases_n;
    double base_c[COMMAND_MOST_BASES], hard_frost_c;
    int year_starts;                            /* day of the calendar year */
    bool fahrenheit;
    const char *date_column, *tmin_column, *tmax_column, *weather, *prior;
    int64_t weight;                             /* records that the prior is worth; 0: none */
    int generate;                               /* seasons that the generator makes up; 0: none */
    int sets_n, numbers_n;
    const char *sets[COMMAND_MOST_SETS];
    char number[COMMAND_MOST_NUMBERS][48];      /* --trials and --random-seed as settings; sets point here */
    int args_n;
    char *const *args;                          /* after the command's name */
};

struct command {
    const char *name, *arguments, *summary;
    enum base_result (*run)(const struct command_options *options);
};
extern const struct command command_table[];
extern const int command_table_n;

/* A scenario made ready to run. */
struct command_loaded {
    const struct scenario *scenario;
    struct plan *plan;
    bool has_records;
    char records_sha256[65];
};

/* Reads options after the command's name into `options` (argv[0] is the command). Complains on stderr; BASE_WRONG. */
enum base_result command_read_options(int argc, char **argv, struct command_options *options, bool *wants_help);
void command_print_options(FILE *to);

/* The library of configs: --configs, else the one installed with this program, else the checkout's; NULL: none. */
const char *command_configs_dir(struct base_arena *arena, const char *asked);
/* Loads a scenario with the options' settings and `more` further ones, makes the plan, runs the pilot, settles. Prints what
 * is wrong on stderr. */
enum base_result command_load_sharing(struct base_arena *arena, const struct command_options *options, const char *path,
                                      const char *const *more, int more_n, struct plan_share *share,
                                      struct command_loaded *loaded);
enum base_result command_load(struct base_arena *arena, const struct command_options *options, const char *path,
                              const char *const *more, int more_n, struct command_loaded *loaded);
/* The same for the run that a state file is of: its settings are the file's own, its name and hashes too; the records must lie
 * where they lay. */
enum base_result command_load_state(struct base_arena *arena, const char *path, const struct report_state *state,
                                    struct command_loaded *loaded);
/* Prints a complaint about the request and returns BASE_WRONG. */
enum base_result command_refuse(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* Refuses a scenario whose trials are not independent of one another. */
enum base_result command_wants_independent(const struct scenario *scenario);
/* --most-trials, or what stands for it. */
int64_t command_most_trials(const struct command_options *options);
/* Ends standard output: BASE_FAILED with a message if anything could not be written. */
enum base_result command_end_output(enum base_result so_far);
struct report_style command_style(const struct command_options *options);

/* ---- several scenarios on the same luck: variants.c, paired.c ----------------------------------------- */

/* One of several scenarios; labels are for people. */
struct command_variant { const char *label; struct command_loaded loaded; };

/* Loads `n` variants (their labels and sets given) of scenario files; tables are shared. Refuses those that cannot share
 * luck: another random seed, calendar or number of food years. */
struct command_change { const char *path, *label; int sets_n; const char *sets[COMMAND_MOST_RANGES]; };
enum base_result command_load_variants(struct base_arena *arena, const struct command_options *options,
                                       const struct command_change *change, int n, struct command_variant **variants);

/* Sums over trials of n variants, and of the differences of each against another (against[k] < 0: none). */
struct command_paired {
    int n;
    const struct command_variant *variant;
    const int *against;
    const struct decide_list *list;
    struct decide_sums *sums;
    struct decide_pairs *pairs;
    int64_t trials;
};
enum base_result command_paired_make(struct base_arena *arena, const struct command_variant *variant, const int *against,
                                     int n, const struct decide_list *list, struct command_paired *paired);
/* Runs further trials, so many that `until` have been run in all. */
enum base_result command_paired_run(struct command_paired *paired, const struct command_options *options, int64_t until,
                                    const char *doing);
/* Which item is judged: --measure, --food, --food-year, or chance_short of any in the base's worst food year. */
enum base_result command_judged(const struct command_options *options, const struct command_paired *paired, int *item);
/* "chance_short of any" and the like. */
void command_item_name(const struct decide_list *list, int item, int years, char text[96]);

/* A range of settings: PATH=1..10, PATH=05-10..06-10:7, PATH=a,b,c. */
struct command_range { const char *path; int n; const char **value; };
enum base_result command_read_range(struct base_arena *arena, const char *text, const char *option,
                                    struct command_range *range);

/* Prints and frees what was complained of in reading records: BASE_OK when it was read (`good`), else BASE_WRONG, or
 * BASE_FAILED when memory ran out, which it says. */
enum base_result command_said(struct base_complaints *complaints, bool good);
/* The daily record `path` as the options say it is written; `scenario` is made up around it. Results as
 * command_said. */
enum base_result command_read_record(struct base_arena *arena, const struct command_options *options, const char *path,
                                     struct scenario *scenario, char sha256[65], const struct plan_records **records);

/* Opens the output directory, hands over a file to fill, writes datapackage.json beside it. */
struct command_table_file { const char *name, *title; const struct report_column *columns; int columns_n;
                            void (*fill)(struct report_csv *csv, const void *context); const void *context; };
enum base_result command_write_tables(struct base_arena *arena, const struct command_options *options, const char *command,
                                      const struct command_loaded *loaded, int64_t trials,
                                      const struct command_table_file *tables, int n, const char *const *extra);

/* Draws the pictures of the output directory (--plot); the files are there already. */
enum base_result command_plot(struct base_arena *arena, const struct command_options *options);

enum base_result command_start(const struct command_options *options);
enum base_result command_merge(const struct command_options *options);
enum base_result command_run(const struct command_options *options);
enum base_result command_compare(const struct command_options *options);
enum base_result command_vary(const struct command_options *options);
enum base_result command_why(const struct command_options *options);
enum base_result command_size(const struct command_options *options);
enum base_result command_check(const struct command_options *options);
enum base_result command_diary(const struct command_options *options);
enum base_result command_season(const struct command_options *options);
enum base_result command_fit(const struct command_options *options);
enum base_result command_library(const struct command_options *options);
enum base_result command_explain(const struct command_options *options);

#endif
