/* fit_files.c: the files of tideover fit. */
#include "command/fit.h"

#include <math.h>
#include <string.h>

#define SIZE(array) ((int)(sizeof (array) / sizeof (array)[0]))

/* ---- fit.cfg -------------------------------------------------------------------------------------------------------- */

static void crop_settings(struct report_file *file, const struct command_fit *fit, const char *crop)
{
    char origin[COMMAND_FIT_ORIGIN], value[COMMAND_FIT_VALUE];
    report_print(file, "    %s = {\n", crop);
    for (int i = 0; i < fit->items_n; i++) {
        const struct command_fit_item *item = &fit->item[i];
        if (!item->used || strcmp(item->sample.crop, crop) != 0)
            continue;
        command_fit_origin(fit, item, origin);
        command_fit_comment(file, "        ", origin);
        if (command_fit_value(item, value))
            report_print(file, "        %s = %s;\n", command_fit_setting(item->sample.kind), value);
    }
    for (int i = 0; i < fit->warmths_n; i++) {
        const struct command_fit_warmth *w = &fit->warmth[i];
        if (strcmp(w->crop, crop) != 0 || isnan(w->warmth.correlation))
            continue;
        snprintf(origin, sizeof origin, "From %d years: between %.2f and %.2f with 95 %% confidence.", w->warmth.years,
                 w->warmth.low, w->warmth.high);
        command_fit_comment(file, "        ", origin);
        report_print(file, "        follows_warmth = %.3f;\n", w->warmth.correlation);
    }
    report_print(file, "    };\n");
}

static void crops_settings(struct report_file *file, const struct command_fit *fit)
{
    report_print(file, "crops = {\n");
    for (int i = 0; i < fit->items_n; i++) {
        bool first = true;
        for (int j = 0; j < i; j++)
            first &= strcmp(fit->item[j].sample.crop, fit->item[i].sample.crop) != 0;
        if (first)
            crop_settings(file, fit, fit->item[i].sample.crop);
    }
    report_print(file, "};\n");
}

static void settings(struct report_file *file, const struct command_fit *fit)
{
    char text[COMMAND_FIT_ORIGIN];
    struct command_fit_words words = { text, 0 };
    const char *weather = fit->options->weather;
    command_fit_add(&words, "Made by tideover fit from %.200s", fit->has_notebook ? fit->options->args[0] : weather);
    if (fit->has_notebook && weather)
        command_fit_add(&words, " and %.200s", weather);
    command_fit_add(&words, ". To be laid over a scenario%s: extends = ( \"THE_SCENARIO\", \"fit.cfg\" );%s",
                    fit->has_notebook ? " or over crops of the library that go by the same names" : "",
                    fit->has_notebook ? " a crop is not whole here." : "");
    command_fit_comment(file, "", text);
    if (fit->climate)
        command_fit_climate_settings(fit, file);
    if (fit->items_n > 0)
        crops_settings(file, fit);
}

/* ---- tables ----------------------------------------------------------------------------------------------------------- */

static const struct report_column fit_columns[] = {
    { "crop", "string", NULL, "Crop; empty: a figure of the climate", NULL },
    { "setting", "string", NULL, "The crop's setting: unit_kg, fruits, fruit_kg or keeps_weeks; or climate.last_frost, "
      "climate.first_hard_frost, climate.warmth", NULL },
    { "place", "string", NULL, "Of kept fruit: the place; empty: not said, or one life for all", NULL },
    { "cured", "string", NULL, "Of kept fruit: well, poor, unripe, or all as one life", NULL },
    { "becomes_setting", "boolean", NULL, "Whether fit.cfg has it", NULL },
    { "records", "integer", NULL, "The household's own records", NULL },
    { "not_censored", "integer", NULL, "Of these, those of which more is known than that they lie beyond a figure", NULL },
    { "years", "integer", NULL, "Different years among them; 0: not dated", NULL },
    { "prior_records", "integer", NULL, "Records that the library's figure was taken to be worth", NULL },
    { "shape", "string", NULL, "Candidate shape, or triplet", NULL },
    { "chosen", "boolean", NULL, "The least AICc among the candidates", NULL },
    { "parameter_1", "string", NULL, "First parameter's name; figures of dates are days since the simulation year began", NULL },
    { "estimate_1", "number", NULL, "Its estimate by maximum likelihood", NULL },
    { "std_error_1", "number", NULL, "Its standard error from the likelihood's curvature", NULL },
    { "low_1", "number", NULL, "Lower end of its 95 % profile-likelihood interval; empty for a triplet's p10 and p90", NULL },
    { "high_1", "number", NULL, "Upper end", NULL },
    { "parameter_2", "string", NULL, "Second parameter's name", NULL },
    { "estimate_2", "number", NULL, "Its estimate", NULL },
    { "std_error_2", "number", NULL, "Its standard error", NULL },
    { "low_2", "number", NULL, "Lower end of its 95 % profile-likelihood interval; empty for a negative binomial's sd", NULL },
    { "high_2", "number", NULL, "Upper end", NULL },
    { "mean", "number", NULL, "Mean of the fitted shape, in kg, fruits, weeks, days or degrees C", NULL },
    { "mean_std_error", "number", NULL, "Its standard error (delta method)", NULL },
    { "log_likelihood", "number", NULL, "Greatest log-likelihood", NULL },
    { "aicc", "number", NULL, "Akaike's criterion for few records (Hurvich & Tsai 1989); the lesser is the better", NULL },
    { "statistic", "string", NULL, "How the fit is compared with the own records", NULL },
    { "statistic_value", "number", NULL, "Its value: 0 would be no difference", NULL },
    { "own_mean", "number", NULL, "Mean of the own records alone (of kept fruit: of the chosen shape)", NULL },
    { "own_mean_std_error", "number", NULL, "Its standard error", NULL },
    { "prior_mean", "number", NULL, "The library's mean", NULL },
    { "apart", "number", NULL, "Own mean less the library's, in standard errors of the own", NULL },
    { "parameter_3", "string", NULL, "Third parameter's name: a triplet has one", NULL },
    { "estimate_3", "number", NULL, "Its estimate", NULL },
    { "std_error_3", "number", NULL, "Its standard error", NULL },
};

static void truth(struct report_csv *csv, bool is) { report_csv_text(csv, is ? "true" : "false"); }

static void sample_cells(struct report_csv *csv, const struct command_fit_item *item)
{
    const struct records_sample *sample = &item->sample;
    bool kept = sample->kind == RECORDS_KEPT;
    char setting[40];
    snprintf(setting, sizeof setting, "%s%s", sample->kind >= RECORDS_KINDS ? "climate." : "", command_fit_setting(sample->kind));
    report_csv_text(csv, sample->crop);
    report_csv_text(csv, setting);
    report_csv_text(csv, sample->place);
    report_csv_text(csv, !kept ? "" : sample->one_life ? "all" : command_cure_name(sample->cured));
    truth(csv, item->used);
    report_csv_whole(csv, sample->n);
    report_csv_whole(csv, sample->events);
    report_csv_whole(csv, sample->years);
    report_csv_whole(csv, sample->prior_n);
}

static void prior_cells(struct report_csv *csv, const struct command_fit_item *item)
{
    report_csv_number(csv, item->verdict.own_mean);
    report_csv_number(csv, item->verdict.own_mean_error);
    report_csv_number(csv, item->prior_mean);
    report_csv_number(csv, item->apart);
}

/* A parameter's estimate and error; empty cells where the shape has none. */
static void parameter_cells(struct report_csv *csv, const struct records_fit *fit, int i)
{
    bool there = fit && i < fit->parameters;
    report_csv_text(csv, there ? records_parameter_name(fit->shape, i) : "");
    report_csv_number(csv, there ? fit->p[i] : NAN);
    report_csv_number(csv, there ? fit->std_error[i] : NAN);
}

static void shape_row(struct report_csv *csv, const struct command_fit_item *item, int shape)
{
    const struct records_verdict *verdict = &item->verdict;
    const struct records_fit *fit = &verdict->fit[shape];
    sample_cells(csv, item);
    report_csv_text(csv, records_shape_name(fit->shape));
    truth(csv, shape == verdict->chosen);
    for (int i = 0; i < 2; i++) {
        parameter_cells(csv, fit, i);
        report_csv_number(csv, verdict->low[shape][i]);
        report_csv_number(csv, verdict->high[shape][i]);
    }
    report_csv_number(csv, fit->mean);
    report_csv_number(csv, fit->mean_std_error);
    report_csv_number(csv, fit->log_likelihood);
    report_csv_number(csv, fit->aicc);
    report_csv_text(csv, verdict->statistic_name);
    report_csv_number(csv, verdict->statistic[shape]);
    prior_cells(csv, item);
    parameter_cells(csv, fit, 2);
    report_csv_end(csv);
}

/* A sample without a fitted shape: still a row, so that the table names every sample. */
static void bare_row(struct report_csv *csv, const struct command_fit_item *item)
{
    enum { EMPTY_CELLS = 16 };
    sample_cells(csv, item);
    report_csv_text(csv, item->verdict.has_triplet ? "triplet" : "none");
    truth(csv, item->verdict.has_triplet);
    for (int i = 0; i < EMPTY_CELLS; i++)
        report_csv_empty(csv);
    prior_cells(csv, item);
    parameter_cells(csv, NULL, 2);
    report_csv_end(csv);
}

static void item_rows(struct report_csv *csv, const struct command_fit_item *item)
{
    for (int shape = 0; shape < RECORDS_SHAPES; shape++)
        if (item->verdict.fitted[shape])
            shape_row(csv, item, shape);
    if (item->verdict.chosen < 0)
        bare_row(csv, item);
}

static void fill_fit(struct report_csv *csv, const void *context)
{
    const struct command_fit *fit = context;
    for (int i = 0; i < fit->items_n; i++)
        item_rows(csv, &fit->item[i]);
    for (int i = 0; fit->climate && i < RECORDS_FIGURES; i++)
        item_rows(csv, &fit->climate_item[i]);
}

static const struct report_column keeping_columns[] = {
    { "crop", "string", NULL, "Crop", NULL },
    { "place", "string", NULL, "Place; empty: not said, or one life for all", NULL },
    { "cured", "string", NULL, "well, poor, unripe, or all as one life", NULL },
    { "from_weeks", "number", "weeks", "Within from_weeks to weeks it is not known how the curve falls; the same: exact", NULL },
    { "weeks", "number", "weeks", "Weeks since cutting", NULL },
    { "sound", "number", NULL, "Share still sound after that, of the own records: Kaplan-Meier, or Turnbull where a fruit "
      "was found soft between two look-overs", NULL },
    { "std_error", "number", NULL, "Greenwood's standard error; empty for Turnbull", NULL },
    { "at_risk", "integer", "fruits", "Known to be sound at from_weeks", NULL },
    { "weibull", "number", NULL, "Share still sound by the fitted Weibull", NULL },
    { "lognormal", "number", NULL, "Share still sound by the fitted lognormal", NULL },
};

static void keeping_row(struct report_csv *csv, const struct command_fit_item *item, int step)
{
    const struct records_sample *sample = &item->sample;
    const struct records_verdict *verdict = &item->verdict;
    const struct records_curve *curve = &verdict->curve;
    static const int shapes[2] = { RECORDS_WEIBULL, RECORDS_LOGNORMAL };
    double weeks = step < 0 ? 0 : curve->until[step];
    report_csv_text(csv, sample->crop);
    report_csv_text(csv, sample->place);
    report_csv_text(csv, sample->one_life ? "all" : command_cure_name(sample->cured));
    report_csv_number(csv, step < 0 ? 0 : curve->from[step]);
    report_csv_number(csv, weeks);
    report_csv_number(csv, step < 0 ? 1 : curve->sound[step]);
    report_csv_number(csv, step < 0 ? NAN : curve->std_error[step]);
    report_csv_whole(csv, step < 0 ? sample->n : curve->at_risk[step]);
    for (int k = 0; k < 2; k++)
        report_csv_number(csv, verdict->fitted[shapes[k]] ? records_survival(&verdict->fit[shapes[k]], weeks) : NAN);
    report_csv_end(csv);
}

static void fill_keeping(struct report_csv *csv, const void *context)
{
    const struct command_fit *fit = context;
    for (int i = 0; i < fit->items_n; i++)
        for (int step = -1; fit->item[i].sample.kind == RECORDS_KEPT && step < fit->item[i].verdict.curve.n; step++)
            keeping_row(csv, &fit->item[i], step);
}

static const struct report_column warmth_columns[] = {
    { "crop", "string", NULL, "Crop", NULL },
    { "figure", "string", NULL, "unit_kg or fruit_kg: the yearly mean of its logarithms", NULL },
    { "years", "integer", "years", "Years that the notebook and the weather record have in common", NULL },
    { "correlation", "number", NULL, "Correlation of normal scores with the season's heat above 10 degrees C, days 61 to 213; empty: "
      "too few years", NULL },
    { "low", "number", NULL, "Lower end of its 95 % interval (Fisher's z)", NULL },
    { "high", "number", NULL, "Upper end", NULL },
};

static void fill_warmth(struct report_csv *csv, const void *context)
{
    const struct command_fit *fit = context;
    for (int i = 0; i < fit->warmths_n; i++) {
        const struct command_fit_warmth *w = &fit->warmth[i];
        report_csv_text(csv, w->crop);
        report_csv_text(csv, records_kind_name(w->kind));
        report_csv_whole(csv, w->warmth.years);
        report_csv_number(csv, w->warmth.correlation);
        report_csv_number(csv, w->warmth.low);
        report_csv_number(csv, w->warmth.high);
        report_csv_end(csv);
    }
}

/* ---- all of them -------------------------------------------------------------------------------------------------------- */

static enum base_result fill_all(const struct command_fit *fit, struct report_output *output,
                                 struct base_complaints *complaints)
{
    const struct command_options *options = fit->options;
    const struct command_table_file files[] = {
        { "fit.csv", "Fitted shapes, a row a candidate", fit_columns, SIZE(fit_columns), fill_fit, fit },
        { "keeping.csv", "How squash kept: the records' curve beside the fitted ones", keeping_columns, SIZE(keeping_columns),
          fill_keeping, fit },
        { "warmth.csv", "How crops go with the warmth", warmth_columns, SIZE(warmth_columns), fill_warmth, fit } };
    struct report_table table[SIZE(files)];
    int n = !fit->has_notebook ? 1 : fit->weather ? 3 : 2;
    for (int t = 0; t < n; t++) {
        struct report_csv csv = report_csv_begin(report_output_file(output, files[t].name), options->decimal_comma);
        report_csv_header(&csv, files[t].columns, files[t].columns_n);
        files[t].fill(&csv, files[t].context);
        report_file_close(csv.file);
        table[t] = (struct report_table){ csv.file, files[t].title, files[t].columns, files[t].columns_n, options->decimal_comma };
    }
    struct report_file *cfg = report_output_file(output, "fit.cfg");
    settings(cfg, fit);
    report_file_close(cfg);
    char weight[32];
    snprintf(weight, sizeof weight, "%lld", (long long)options->weight);
    const char *extra[9] = { NULL };
    int e = 0;
    const char *const pairs[3][2] = { { "weather_hash", fit->weather ? fit->weather_sha256 : NULL },
                                      { "prior", options->prior }, { "prior_weight", options->prior ? weight : NULL } };
    for (int i = 0; i < 3; i++)
        if (pairs[i][1]) {
            extra[e++] = pairs[i][0];
            extra[e++] = pairs[i][1];
        }
    struct report_run run = { .scenario = &fit->made_up, .command = "fit", .version = COMMAND_VERSION, .extra = extra,
                              .records_sha256 = fit->has_notebook ? fit->notebook->sha256 : NULL };
    report_package(report_output_file(output, "datapackage.json"), &run, table, n, &cfg, 1);
    return report_output_commit(output, complaints);
}

enum base_result command_fit_write(const struct command_fit *fit)
{
    struct command_fit writing = *fit;
    struct base_complaints complaints = { 0 };
    struct report_output *output;
    struct base_sha256 settings_hash;
    char hex[65];
    base_sha256_start(&settings_hash);
    base_sha256_hex(&settings_hash, hex);
    const char *name = fit->has_notebook ? fit->options->args[0] : fit->options->weather;
    writing.made_up = (struct scenario){ .name = name, .title = name,
                                         .sha256 = fit->factors ? fit->factors->sha256 : hex };
    enum base_result result = report_output_open(fit->arena, fit->options->out, &complaints, &output);
    if (result == BASE_OK)
        result = fill_all(&writing, output, &complaints);
    base_complaints_print(&complaints, stderr);
    base_complaints_free(&complaints);
    report_output_close(output);
    return result;
}
