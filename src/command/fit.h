/* fit.h: what the files of tideover fit share. */
#ifndef TIDEOVER_COMMAND_FIT_H
#define TIDEOVER_COMMAND_FIT_H

#include "command/command.h"
#include "records/records.h"

/* A sample with its verdict, and what the library says of the same figure. */
struct command_fit_item {
    struct records_sample sample;
    bool used;                              /* becomes a setting; other places and cure classes are told only */
    struct records_verdict verdict;
    const struct scenario_distribution *prior_spec;     /* NULL: none */
    double prior_mean, apart;               /* the own mean less the prior's, in the own mean's standard errors; NAN */
};

struct command_fit_warmth { const char *crop; enum records_kind kind; struct records_warmth warmth; };

enum { COMMAND_FIT_ORIGIN = 900, COMMAND_FIT_VALUE = 160 }; /* bytes of what is said of a figure, and of its setting */

struct command_fit {
    struct base_arena *arena;
    const struct command_options *options;
    const struct records_notebook *notebook;/* empty when only a daily record is fitted */
    bool has_notebook;
    struct scenario made_up;                /* what stands for a scenario in the data package */
    const struct scenario *factors, *prior; /* places and cure factors; the library's crops; NULL: none */
    const struct plan_records *weather;     /* NULL: none */
    char weather_sha256[65];
    const struct records_climate *climate;  /* of the weather; NULL: none */
    struct command_fit_item climate_item[RECORDS_FIGURES];
    int items_n, warmths_n;
    struct command_fit_item *item;
    struct command_fit_warmth *warmth;
};

/* Writes fit.csv, keeping.csv, warmth.csv, fit.cfg and datapackage.json. */
enum base_result command_fit_write(const struct command_fit *fit);
/* "unit_kg", or "keeps_weeks" of what was kept. */
const char *command_fit_setting(enum records_kind kind);
const char *command_cure_name(enum scenario_cure cured);
/* What the sample's figure becomes, as libconfig text; false when it becomes none. */
bool command_fit_value(const struct command_fit_item *item, char text[COMMAND_FIT_VALUE]);
/* One or two sentences on where a setting comes from, without line ends. */
void command_fit_origin(const struct command_fit *fit, const struct command_fit_item *item, char text[COMMAND_FIT_ORIGIN]);
/* Words put one after another; what does not fit into COMMAND_FIT_ORIGIN bytes is dropped. */
struct command_fit_words { char *text; size_t n; };
void command_fit_add(struct command_fit_words *words, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* A comment of a settings file, broken at spaces; what is no plain character is shown as '?'. */
void command_fit_comment(struct report_file *file, const char *indent, const char *text);

/* ---- a daily record as a climate: fit_climate.c ---------------------------------------------------------------- */

/* Figures and verdicts; BASE_FAILED without memory. Nothing without a weather record. */
enum base_result command_fit_judge_climate(struct command_fit *fit);
/* The climate's group of fit.cfg, and the printed answer. */
void command_fit_climate_settings(const struct command_fit *fit, struct report_file *file);
void command_fit_tell_climate(const struct command_fit *fit);

#endif
