/* run_files.c: a run's tables and its answer, however its trials came about. */
#include "command/run.h"

#include <string.h>

/* What the run says of itself beside the usual: why it stopped, what doubt about the settings did. */
struct extras { const char *pair[7]; char sd[32], share[32]; };

static void add_extras(const struct command_run *run, struct extras *extras)
{
    int n = 0;
    double sd, share;
    *extras = (struct extras){ 0 };
    if (run->stopped) {
        extras->pair[n++] = "stopped";
        extras->pair[n++] = run->stopped;
    }
    if (!run->loaded.plan->reading || !tally_doubt_figures(&run->doubt, &sd, &share))
        return;
    snprintf(extras->sd, sizeof extras->sd, "%.6g", sd);
    snprintf(extras->share, sizeof extras->share, "%.6g", share);
    const char *const pairs[] = { "doubt_sd_of_chance_short", extras->sd, "doubt_share_of_variance", extras->share };
    for (int i = 0; i < 4; i++)
        extras->pair[n++] = pairs[i];
}

enum base_result command_run_write(struct command_run *run, struct report_output *output, struct base_complaints *complaints)
{
    const struct command_loaded *loaded = &run->loaded;
    bool comma = run->options->decimal_comma;
    enum base_result result = command_sampling_measure(run);
    if (result != BASE_OK)
        return result;
    struct report_file *summary = report_output_file(output, "summary.csv"), *weeks = report_output_file(output, "weeks.csv");
    struct report_file *effective = report_output_file(output, "effective.cfg");
    struct report_csv csv = report_csv_begin(summary, comma);
    report_summary(&csv, loaded->plan, run->tally);
    csv = report_csv_begin(weeks, comma);
    report_weeks(&csv, loaded->plan, run->tally);
    report_write(effective, run->settings, strlen(run->settings));
    struct report_table tables[4] = {
        { summary, "Measures of each food year", report_summary_columns, report_summary_columns_n, comma },
        { weeks, "The stores week by week", report_weeks_columns, report_weeks_columns_n, comma },
        { run->rows, "Every trial's food years", report_trials_columns, report_trials_columns_n, comma },
    };
    int n = run->rows ? 3 : 2;
    if (run->sampling)
        tables[n++] = command_sampling_table(run, output);
    for (int t = 0; t < n; t++)
        report_file_close(tables[t].file);
    report_file_close(effective);
    struct report_file *package = report_output_file(output, "datapackage.json"), *others[1] = { effective };
    struct extras extras;
    add_extras(run, &extras);
    struct report_run record = { .scenario = loaded->scenario, .command = "run", .version = COMMAND_VERSION,
                                 .trials = tally_trials(run->tally), .random_seed = loaded->scenario->random_seed,
                                 .extra = extras.pair,
                                 .records_sha256 = loaded->has_records ? loaded->records_sha256 : NULL };
    report_package(package, &record, tables, n, others, 1);
    return report_output_commit(output, complaints);
}

/* How much of the answer hangs on how few records some settings come from. */
static void tell_doubt(const struct command_run *run)
{
    double sd, share;
    if (!run->loaded.plan->reading)
        return;
    if (!tally_doubt_figures(&run->doubt, &sd, &share))
        printf("\nToo few trials to say what the doubt about the settings (from_records) does.\n");
    else
        printf("\nDoubt about settings that come from few records (from_records) is in these figures. It alone moves the chance of\n"
               "running short by +-%.1f points of a hundred (one standard deviation), which more records would lessen; %.1f %% of\n"
               "the variance of whether a future runs short is this doubt, the rest is luck.\n", 100 * sd, 100 * share);
}

void command_run_tell(const struct command_run *run, const struct report_output *output)
{
    struct report_style style = command_style(run->options);
    report_answer(stdout, run->loaded.plan, run->tally, &style);
    tell_doubt(run);
    if (run->stopped)
        printf("\nTrials were added until: %s (half width %.4f).\n", run->stopped, command_run_half_width(run));
    if (run->sampling)
        command_sampling_tell(run);
    printf("\nFiles: %s/summary.csv, weeks.csv%s%s, effective.cfg, datapackage.json\n", report_output_dir(output),
           run->options->per_trial ? ", trials.csv" : "", run->sampling ? ", sampling.csv" : "");
}
