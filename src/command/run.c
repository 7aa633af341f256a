/* run.c: tideover run: all trials of one scenario, their files, the answer. */
#include "command/command.h"

#include <stdlib.h>
#include <string.h>

#include "engine/engine.h"

/* One run: what all threads share. */
struct whole {
    const struct command_options *options;
    struct command_loaded loaded;
    struct base_arena *arena;
    struct tally_shared *shared;
    struct tally *tally;                /* the first thread's, into which the others' go */
    struct base_arena tally_arena;
    struct report_file *trials;         /* NULL without --per-trial */
    struct tally_doubt doubt;           /* only where settings are in doubt */
    const char *stopped;                /* why no more trials were added; NULL: as many as asked for */
};

/* One thread's. */
struct own { struct base_arena arena; struct future_trial *trial; struct tally *tally; struct report_file *rows;
             struct tally_doubt doubt;
             uint64_t first; int waiting; /* trials that are to be run abreast */ };

static void end_own(void *context, void *thread);

static void *begin_own(void *context)
{
    struct whole *whole = context;
    struct own *own = base_alloc(sizeof *own);
    if (!own)
        return NULL;
    own->trial = future_room(&own->arena, whole->loaded.plan);
    own->tally = tally_make(&own->arena, whole->loaded.plan, whole->shared);
    own->rows = whole->trials ? report_memory_open() : NULL;
    if (own->trial && own->tally && (own->rows || !whole->trials))
        return own;
    base_arena_free(&own->arena);
    report_memory_free(own->rows);
    base_free(own);
    return NULL;
}

/* Runs the trials that wait. */
static void run_block(struct whole *whole, struct own *own)
{
    const struct plan *plan = whole->loaded.plan;
    if (own->waiting == 0)
        return;
    const struct future_block *block = future_run_block(plan, own->trial, (uint64_t)plan->scenario->random_seed, own->first,
                                                        own->waiting);
    tally_add(own->tally, plan, block, own->first);
    for (int t = 0; t < own->waiting; t++) {
        if (plan->reading)
            tally_doubt_add(&own->doubt, plan, &block->ledger[t], own->first + (uint64_t)t);
        if (own->rows) {
            struct report_csv csv = report_csv_begin(own->rows, whole->options->decimal_comma);
            report_trial(&csv, plan, &block->ledger[t], own->first + (uint64_t)t);
        }
    }
    own->waiting = 0;
}

static void run_trial(void *context, void *thread, uint64_t number)
{
    struct own *own = thread;
    own->first = own->waiting == 0 ? number : own->first;
    if (++own->waiting == PLAN_ABREAST)
        run_block(context, own);
}

/* Ends a block of the engine's: its last trials, its rows. */
static bool block_done(void *context, void *thread, uint64_t first, uint64_t n)
{
    struct whole *whole = context;
    struct own *own = thread;
    (void)first;
    (void)n;
    run_block(whole, own);
    if (!own->rows)
        return true;
    report_memory_pour(own->rows, whole->trials);
    return !report_memory_failed(own->rows);
}

static void end_own(void *context, void *thread)
{
    struct whole *whole = context;
    struct own *own = thread;
    report_memory_free(own->rows);
    tally_doubt_merge(&whole->doubt, &own->doubt);
    if (!whole->tally) {
        whole->tally = own->tally;
        whole->tally_arena = own->arena;
    } else {
        tally_merge(whole->tally, own->tally);
        base_arena_free(&own->arena);
    }
    base_free(own);
}

static enum base_result further_trials(struct whole *whole, int64_t until)
{
    int64_t done = whole->tally ? tally_trials(whole->tally) : 0;
    struct engine_work work = { .first = (uint64_t)done, .trials = (uint64_t)(until - done),
                                .threads = whole->options->threads, .shows_progress = !whole->options->quiet,
                                .doing = "trials", .whole = whole, .begin = begin_own, .trial = run_trial,
                                .block_done = block_done, .end = end_own };
    return engine_run(&work);
}

/* Half width of the headline's 95 % interval: chance of running short of either, in the worst food year. */
static double half_width(const struct whole *whole)
{
    double widest = 0, most = -1;
    int measure = tally_find_measure("chance_short");
    for (int year = 0; year < whole->loaded.scenario->food_years; year++) {
        struct tally_figure figure;
        tally_figure(whole->tally, year, FUTURE_ANY, measure, -1, &figure);
        if (figure.value > most) {
            most = figure.value;
            widest = (figure.high - figure.low) / 2;
        }
    }
    return widest;
}

/* Adds trials until the headline is known to the precision: never fewer than PRECISION_FLOOR, each look at least a tenth
 * further than the one before. */
static enum base_result until_precise(struct whole *whole)
{
    enum { PRECISION_FLOOR = 10000 };
    int64_t most = command_most_trials(whole->options);
    double wanted = whole->options->precision;
    enum base_result result = further_trials(whole, most < PRECISION_FLOOR ? most : PRECISION_FLOOR);
    while (result == BASE_OK && half_width(whole) > wanted && tally_trials(whole->tally) < most)
        result = further_trials(whole, decide_next_trials(tally_trials(whole->tally), half_width(whole), wanted, most));
    if (result == BASE_OK)
        whole->stopped = half_width(whole) <= wanted ? "the precision was reached"
                                                     : "the precision was not reached: the most trials allowed were";
    return result;
}

static enum base_result all_trials(struct whole *whole)
{
    int64_t trials = whole->loaded.scenario->trials;
    bool precise = whole->options->precision > 0;
    whole->shared = tally_share(whole->arena, whole->loaded.plan, precise ? INT64_MAX : trials);
    if (!whole->shared)
        return BASE_FAILED;
    return precise ? until_precise(whole) : further_trials(whole, trials);
}

/* The text of effective.cfg, by way of memory. */
static bool write_effective(const struct scenario *scenario, struct report_file *file)
{
    char *text = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&text, &size);
    if (!memory)
        return false;
    scenario_write_effective(scenario, memory);
    bool good = fclose(memory) == 0;
    if (good)
        report_write(file, text, size);
    free(text);
    return good;
}

/* What the run says of itself beside the usual: why it stopped, what doubt about the settings did. */
struct extras { const char *pair[7]; char sd[32], share[32]; };

static void add_extras(const struct whole *whole, struct extras *extras)
{
    int n = 0;
    double sd, share;
    *extras = (struct extras){ 0 };
    if (whole->stopped) {
        extras->pair[n++] = "stopped";
        extras->pair[n++] = whole->stopped;
    }
    if (!whole->loaded.plan->reading || !tally_doubt_figures(&whole->doubt, &sd, &share))
        return;
    snprintf(extras->sd, sizeof extras->sd, "%.6g", sd);
    snprintf(extras->share, sizeof extras->share, "%.6g", share);
    const char *const pairs[] = { "doubt_sd_of_chance_short", extras->sd, "doubt_share_of_variance", extras->share };
    for (int i = 0; i < 4; i++)
        extras->pair[n++] = pairs[i];
}

static enum base_result write_files(struct whole *whole, struct report_output *output, struct base_complaints *complaints)
{
    const struct command_loaded *loaded = &whole->loaded;
    bool comma = whole->options->decimal_comma;
    struct report_file *summary = report_output_file(output, "summary.csv"), *weeks = report_output_file(output, "weeks.csv");
    struct report_file *effective = report_output_file(output, "effective.cfg");
    struct report_csv csv = report_csv_begin(summary, comma);
    report_summary(&csv, loaded->plan, whole->tally);
    csv = report_csv_begin(weeks, comma);
    report_weeks(&csv, loaded->plan, whole->tally);
    if (!write_effective(loaded->scenario, effective))
        return BASE_FAILED;
    struct report_table tables[3] = {
        { summary, "Measures of each food year", report_summary_columns, report_summary_columns_n, comma },
        { weeks, "The stores week by week", report_weeks_columns, report_weeks_columns_n, comma },
        { whole->trials, "Every trial's food years", report_trials_columns, report_trials_columns_n, comma },
    };
    int n = whole->trials ? 3 : 2;
    for (int t = 0; t < n; t++)
        report_file_close(tables[t].file);
    report_file_close(effective);
    struct report_file *package = report_output_file(output, "datapackage.json"), *others[1] = { effective };
    struct extras extras;
    add_extras(whole, &extras);
    struct report_run run = { .scenario = loaded->scenario, .command = "run", .version = COMMAND_VERSION,
                              .trials = tally_trials(whole->tally), .random_seed = loaded->scenario->random_seed,
                              .extra = extras.pair, .records_sha256 = loaded->has_records ? loaded->records_sha256 : NULL };
    report_package(package, &run, tables, n, others, 1);
    return report_output_commit(output, complaints);
}

/* How much of the answer hangs on how few records some settings come from. */
static void tell_doubt(const struct whole *whole)
{
    double sd, share;
    if (!whole->loaded.plan->reading)
        return;
    if (!tally_doubt_figures(&whole->doubt, &sd, &share))
        printf("\nToo few trials to say what the doubt about the settings (from_records) does.\n");
    else
        printf("\nDoubt about settings that come from few records (from_records) is in these figures. It alone moves the chance of\n"
               "running short by +-%.1f points of a hundred (one standard deviation), which more records would lessen; %.1f %% of\n"
               "the variance of whether a future runs short is this doubt, the rest is luck.\n", 100 * sd, 100 * share);
}

static enum base_result begin_trials_file(struct whole *whole, struct report_output *output)
{
    if (!whole->options->per_trial)
        return BASE_OK;
    whole->trials = report_output_file(output, "trials.csv");
    struct report_csv csv = report_csv_begin(whole->trials, whole->options->decimal_comma);
    report_csv_header(&csv, report_trials_columns, report_trials_columns_n);
    if (whole->loaded.scenario->trials * whole->loaded.scenario->food_years >= 1048576 && !whole->options->quiet)
        fputs("tideover: note: trials.csv will have more rows than a spreadsheet takes (1,048,576)\n", stderr);
    return whole->trials ? BASE_OK : BASE_FAILED;
}

static enum base_result simulate(struct whole *whole, struct report_output *output, struct base_complaints *complaints)
{
    enum base_result result = begin_trials_file(whole, output);
    if (result == BASE_OK)
        result = all_trials(whole);
    if (result == BASE_FAILED && complaints->errors == 0)
        base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "memory ran out, or a file could not be written");
    if (result != BASE_OK)
        return result;
    if (tally_unbalanced(whole->tally) > 0) {
        base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "the books of %lld trials do not balance: this is a fault of the "
                      "program, please report it with the scenario", (long long)tally_unbalanced(whole->tally));
        return BASE_FAILED;
    }
    return write_files(whole, output, complaints);
}

enum base_result command_run(const struct command_options *options)
{
    if (options->args_n != 1)
        return command_refuse("run wants one scenario file; see tideover --help");
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    struct whole whole = { .options = options, .arena = &arena };
    struct report_output *output = NULL;
    enum base_result result = command_load(&arena, options, options->args[0], NULL, 0, &whole.loaded);
    if (result == BASE_OK)
        result = report_output_open(&arena, options->out, &complaints, &output);
    if (result == BASE_OK)
        result = simulate(&whole, output, &complaints);
    base_complaints_print(&complaints, stderr);
    if (result == BASE_OK && !options->quiet) {
        struct report_style style = command_style(options);
        report_answer(stdout, whole.loaded.plan, whole.tally, &style);
        tell_doubt(&whole);
        if (whole.stopped)
            printf("\nTrials were added until: %s (half width %.4f).\n", whole.stopped, half_width(&whole));
        printf("\nFiles: %s/summary.csv, weeks.csv%s, effective.cfg, datapackage.json\n", report_output_dir(output),
               options->per_trial ? ", trials.csv" : "");
    }
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    if (result == BASE_INTERRUPTED)
        fputs("tideover: interrupted; nothing was written\n", stderr);
    report_output_close(output);
    base_complaints_free(&complaints);
    base_arena_free(&whole.tally_arena);
    base_arena_free(&arena);
    return command_end_output(result);
}
