/* run.c: tideover run: all trials of one scenario, or of one part of them; their files, the answer. */
#include "command/run.h"

#include <stdlib.h>
#include <string.h>

#include "engine/engine.h"

/* ---- one thread's trials ----------------------------------------------------------------------------- */

struct own { struct base_arena arena; struct future_trial *trial; struct tally *tally; struct report_file *rows;
             struct tally_doubt doubt; };

static void *begin_own(void *context)
{
    struct command_run *run = context;
    struct own *own = base_alloc(sizeof *own);
    if (!own)
        return NULL;
    own->trial = future_room(&own->arena, run->loaded.plan);
    own->tally = tally_make(&own->arena, run->loaded.plan, run->shared);
    own->rows = run->rows ? report_memory_open() : NULL;
    if (own->trial && own->tally && (own->rows || !run->rows))
        return own;
    base_arena_free(&own->arena);
    report_memory_free(own->rows);
    base_free(own);
    return NULL;
}

static void run_trials(void *context, void *thread, uint64_t first, int n)
{
    struct command_run *run = context;
    struct own *own = thread;
    const struct plan *plan = run->loaded.plan;
    const struct future_block *block = future_run_block(plan, own->trial, (uint64_t)plan->scenario->random_seed, first, n);
    tally_add(own->tally, plan, block, first);
    for (int t = 0; t < n; t++) {
        if (plan->reading)
            tally_doubt_add(&own->doubt, plan, &block->ledger[t], first + (uint64_t)t);
        if (own->rows) {
            struct report_csv csv = report_csv_begin(own->rows, run->options->decimal_comma);
            report_trial(&csv, plan, &block->ledger[t], first + (uint64_t)t);
        }
    }
}

static bool pour_rows(void *context, void *thread, uint64_t first, uint64_t n)
{
    struct command_run *run = context;
    struct own *own = thread;
    (void)first;
    (void)n;
    if (!own->rows)
        return true;
    report_memory_pour(own->rows, run->rows);
    return !report_memory_failed(own->rows);
}

static void end_own(void *context, void *thread)
{
    struct command_run *run = context;
    struct own *own = thread;
    report_memory_free(own->rows);
    tally_doubt_merge(&run->doubt, &own->doubt);
    if (!run->tally) {
        run->tally = own->tally;
        run->tally_arena = own->arena;
    } else {
        tally_merge(run->tally, own->tally);
        base_arena_free(&own->arena);
    }
    base_free(own);
}

/* ---- all trials -------------------------------------------------------------------------------------- */

/* The number of the next trial. */
static int64_t next_trial(const struct command_run *run)
{
    return run->first + (run->tally ? tally_trials(run->tally) : 0);
}

/* Runs trials until there are `until`; with --state in stages, each as long as all before it, after which the state is
 * saved: what a killed run loses is half its time at the most, and never much more than LONGEST. */
static enum base_result further_trials(struct command_run *run, int64_t until, struct base_complaints *complaints)
{
    const double shortest = 0.5, longest = 32;
    bool saves = run->options->state != NULL;
    run->until = until;
    for (double seconds = shortest; next_trial(run) < until; seconds = seconds < longest ? 2 * seconds : seconds) {
        int64_t next = next_trial(run);
        struct engine_work work = { .first = (uint64_t)next, .trials = (uint64_t)(until - next),
                                    .before = (uint64_t)(next - run->first), .most_seconds = saves ? seconds : 0, .ends_blocks = saves,
                                    .threads = run->options->threads, .shows_progress = !run->options->quiet,
                                    .doing = "trials", .whole = run, .begin = begin_own, .run = run_trials, .together = PLAN_ABREAST,
                                    .block_done = pour_rows, .end = end_own };
        enum base_result result = engine_run(&work);
        if (saves && (result == BASE_OK || result == BASE_INTERRUPTED)) {
            enum base_result saved = command_state_save(run, complaints);
            result = saved == BASE_OK ? result : saved;
        }
        if (result != BASE_OK)
            return result;
    }
    return BASE_OK;
}

double command_run_half_width(const struct command_run *run)
{
    double widest = 0, most = -1;
    int measure = tally_find_measure("chance_short");
    for (int year = 0; year < run->loaded.scenario->food_years; year++) {
        struct tally_figure figure;
        tally_figure(run->tally, year, FUTURE_ANY, measure, -1, &figure);
        if (figure.value > most) {
            most = figure.value;
            widest = (figure.high - figure.low) / 2;
        }
    }
    return widest;
}

/* Adds trials until the headline is known to the precision: never fewer than PRECISION_FLOOR, each look at least a tenth
 * further than the one before. A run that goes on begins with the look it was on its way to. */
static enum base_result until_precise(struct command_run *run, struct base_complaints *complaints)
{
    enum { PRECISION_FLOOR = 10000 };
    int64_t most = run->trials, next = run->until > 0 ? run->until : most < PRECISION_FLOOR ? most : PRECISION_FLOOR;
    double wanted = run->options->precision;
    enum base_result result = further_trials(run, next, complaints);
    while (result == BASE_OK && command_run_half_width(run) > wanted && tally_trials(run->tally) < most) {
        next = decide_next_trials(tally_trials(run->tally), command_run_half_width(run), wanted, most);
        result = further_trials(run, next, complaints);
    }
    if (result == BASE_OK)
        run->stopped = command_run_half_width(run) <= wanted ? "the precision was reached"
                                                             : "the precision was not reached: the most trials allowed were";
    return result;
}

/* The text of effective.cfg; NULL when memory runs out. */
static const char *settings_text(struct base_arena *arena, const struct scenario *scenario)
{
    char *text = NULL;
    size_t size = 0;
    FILE *memory = open_memstream(&text, &size);
    if (!memory)
        return NULL;
    scenario_write_effective(scenario, memory);
    const char *copy = fclose(memory) == 0 ? base_arena_text(arena, text) : NULL;
    free(text);
    return copy;
}

enum base_result command_run_prepare(struct command_run *run)
{
    bool precise = run->options->precision > 0;
    int64_t trials = run->loaded.scenario->trials;
    run->trials = run->end = precise ? command_most_trials(run->options) : trials;
    if (run->options->parts > 0) {
        if (!command_part_trials(trials, run->options->part, run->options->parts, &run->first, &run->end))
            return command_refuse("--part: %lld trials make %lld parts at the most (of %d trials or more)", (long long)trials,
                                  (long long)command_most_parts(trials), COMMAND_PART_BLOCK);
    }
    if (command_sampling_allowed(run) != BASE_OK)
        return BASE_WRONG;
    run->until = run->first;
    if (!run->settings)
        run->settings = settings_text(run->arena, run->loaded.scenario);
    run->shared = tally_share(run->arena, run->loaded.plan, precise ? INT64_MAX : trials);
    return run->settings && run->shared ? BASE_OK : BASE_FAILED;
}

bool command_run_tally(struct command_run *run)
{
    run->tally = tally_make(&run->tally_arena, run->loaded.plan, run->shared);
    return run->tally != NULL;
}

enum base_result command_run_balanced(const struct command_run *run, struct base_complaints *complaints)
{
    if (tally_unbalanced(run->tally) == 0)
        return BASE_OK;
    base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "the books of %lld trials do not balance: this is a fault of the "
                  "program, please report it with the scenario", (long long)tally_unbalanced(run->tally));
    return BASE_FAILED;
}

/* ---- the command ------------------------------------------------------------------------------------- */

static enum base_result begin_trials_file(struct command_run *run, struct report_output *output)
{
    if (!run->options->per_trial)
        return BASE_OK;
    run->rows = report_output_file(output, "trials.csv");
    struct report_csv csv = report_csv_begin(run->rows, run->options->decimal_comma);
    report_csv_header(&csv, report_trials_columns, report_trials_columns_n);
    if (run->loaded.scenario->trials * run->loaded.scenario->food_years >= 1048576 && !run->options->quiet)
        fputs("tideover: note: trials.csv will have more rows than a spreadsheet takes (1,048,576)\n", stderr);
    return run->rows ? BASE_OK : BASE_FAILED;
}

static enum base_result simulate(struct command_run *run, struct report_output *output, struct base_complaints *complaints)
{
    enum base_result result = begin_trials_file(run, output);
    if (result == BASE_OK && run->options->state)
        result = command_state_begin(run, complaints);
    if (result == BASE_OK)
        result = run->options->precision > 0 ? until_precise(run, complaints) : further_trials(run, run->end, complaints);
    if (result == BASE_FAILED && complaints->errors == 0)
        base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "memory ran out, or a file could not be written");
    return result == BASE_OK ? command_run_balanced(run, complaints) : result;
}

/* Writes what the trials gave, and says it. */
static enum base_result finish(struct command_run *run, struct report_output *output, struct base_complaints *complaints)
{
    const struct command_options *options = run->options;
    char part[64] = "";
    enum base_result result = options->parts > 0 ? command_part_write(run, output, complaints, part)
                                                 : command_run_write(run, output, complaints);
    if (result != BASE_OK)
        return result;
    command_state_end(run);
    if (options->parts > 0 && !options->quiet)
        printf("Part %d of %d is done: trials %lld to %lld, counted from 0, of %lld.\n\nFile: %s/%s\n", options->part,
               options->parts, (long long)run->first, (long long)run->end - 1, (long long)run->trials,
               report_output_dir(output), part);
    else if (!options->quiet)
        command_run_tell(run, output);
    return options->plot ? command_plot(run->arena, options) : BASE_OK;
}

static void tell_interrupt(const struct command_run *run)
{
    if (run->options->state && run->tally)
        fprintf(stderr, "tideover: interrupted; the same command goes on with what %s keeps of it (%lld trials)\n",
                run->options->state, (long long)tally_trials(run->tally));
    else
        fputs("tideover: interrupted; nothing was written\n", stderr);
}

enum base_result command_run(const struct command_options *options)
{
    if (options->args_n != 1)
        return command_refuse("run wants one scenario file; see tideover --help");
    if (command_state_allowed(options) != BASE_OK)
        return BASE_WRONG;
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    struct command_run run = { .options = options, .arena = &arena };
    struct report_output *output = NULL;
    enum base_result result = command_load(&arena, options, options->args[0], NULL, 0, &run.loaded);
    if (result == BASE_OK)
        result = command_run_prepare(&run);
    if (result == BASE_OK)
        result = report_output_open_as(&arena, options->out, options->parts > 0 ? REPORT_BESIDE : REPORT_ALONE, "--out",
                                       &complaints, &output);
    if (result == BASE_OK)
        result = simulate(&run, output, &complaints);
    if (result == BASE_OK)
        result = finish(&run, output, &complaints);
    base_complaints_print(&complaints, stderr);
    if (result == BASE_INTERRUPTED)
        tell_interrupt(&run);
    report_output_close(output);
    base_complaints_free(&complaints);
    base_arena_free(&run.tally_arena);
    base_arena_free(&arena);
    return command_end_output(result);
}
