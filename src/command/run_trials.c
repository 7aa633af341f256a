/* run_trials.c: the trials of a run, over threads: all that are asked for, or until the headline is known well enough. */
#include "command/run.h"

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

enum base_result command_run_trials(struct command_run *run, struct base_complaints *complaints)
{
    return run->options->precision > 0 ? until_precise(run, complaints) : further_trials(run, run->end, complaints);
}
