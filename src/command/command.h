/* command.h: one file a command; options; what the commands share. */
#ifndef TIDEOVER_COMMAND_H
#define TIDEOVER_COMMAND_H

#include "plan/plan.h"
#include "report/report.h"

#define COMMAND_VERSION "0.1.0"

enum { COMMAND_MOST_SETS = 256 };

/* What the command line says. */
struct command_options {
    const char *configs, *out;
    int threads;
    bool per_trial, quiet, decimal_comma, pounds, plot;
    int64_t trial;                              /* diary */
    int sets_n;
    const char *sets[COMMAND_MOST_SETS];
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
enum base_result command_load(struct base_arena *arena, const struct command_options *options, const char *path,
                              const char *const *more, int more_n, struct command_loaded *loaded);
/* The same up to the scenario, no plan. */
enum base_result command_load_scenario(struct base_arena *arena, const struct command_options *options, const char *path,
                                       const char *const *more, int more_n, const struct scenario **scenario);
/* Prints a complaint about the request and returns BASE_WRONG. */
enum base_result command_refuse(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* Ends standard output: BASE_FAILED with a message if anything could not be written. */
enum base_result command_end_output(enum base_result so_far);
struct report_style command_style(const struct command_options *options);

enum base_result command_run(const struct command_options *options);
enum base_result command_check(const struct command_options *options);
enum base_result command_diary(const struct command_options *options);
enum base_result command_library(const struct command_options *options);
enum base_result command_explain(const struct command_options *options);

#endif
