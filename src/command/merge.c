/* merge.c: tideover merge: the answer of a run that was made in parts. */
#include "command/run.h"

#include <string.h>

#include "engine/engine.h"

/* The parts so far. */
struct merge {
    struct command_run run;
    struct report_state of;             /* the first part that is one: of which run all must be */
    const char *of_path;                /* NULL: none yet */
    struct base_arena of_arena;         /* its bytes */
    const char **path;                  /* [parts] the file that each part was in; NULL: not there yet */
    struct base_complaints *complaints;
};

static void complain(struct merge *merge, const char *path, const char *what)
{
    base_complain(merge->complaints, BASE_ERROR, path, 0, NULL, "%s", what);
}

/* Makes ready for the run that the first part is of: its settings are read and its plan is made again. */
static enum base_result open_run(struct merge *merge, const char *path, const struct report_state *state)
{
    struct command_run *run = &merge->run;
    merge->of = *state;
    merge->of_path = path;
    run->settings = state->settings;
    enum base_result result = command_load_state(run->arena, path, state, &run->loaded);
    if (result == BASE_OK)
        result = command_run_prepare(run);
    if (result != BASE_OK)
        return result;
    if (run->trials != state->trials || run->loaded.scenario->random_seed != state->random_seed)
        return BASE_WRONG;
    merge->path = base_arena_array(run->arena, (size_t)state->parts, sizeof *merge->path);
    return merge->path && command_run_tally(run) ? BASE_OK : BASE_FAILED;
}

/* What is wrong with a part of the right run, by itself; NULL when nothing is. */
static const char *unfit(const struct report_state *state)
{
    int64_t first, end;
    if (strcmp(state->version, COMMAND_VERSION) != 0 || state->stream_version != CHANCE_STREAM_VERSION)
        return "was written by another version of tideover than " COMMAND_VERSION;
    if (!command_part_trials(state->trials, state->part, state->parts, &first, &end) || state->first != first
        || state->until > end)
        return "is damaged: its trials are not those of its part";
    if (state->precision > 0)
        return "is the state of a run with --precision, which has no parts: that run goes on with --state";
    if (state->done < end - first)
        return "is the state of a part that is not finished: the command that wrote it goes on with --state";
    return NULL;
}

/* Judges one part and adds it. BASE_WRONG: complained of. */
static enum base_result add_part(struct merge *merge, const char *path, const struct report_state *state)
{
    char why[600];
    if (command_state_differs(&merge->of, state, why)) {
        base_complain(merge->complaints, BASE_ERROR, path, 0, NULL, "is a part of another run than %s: %s", merge->of_path, why);
        return BASE_WRONG;
    }
    const char **has = &merge->path[state->part - 1];
    if (*has) {
        base_complain(merge->complaints, BASE_ERROR, path, 0, NULL, "is part %lld of %lld, and so is %s", (long long)state->part,
                      (long long)state->parts, *has);
        return BASE_WRONG;
    }
    *has = path;
    if (merge->complaints->errors == 0 && !report_state_add(state, merge->run.tally, &merge->run.doubt)) {
        complain(merge, path, "is damaged: its figures make no sense");
        return BASE_WRONG;
    }
    return BASE_OK;
}

/* Reads one file. The first one's bytes are kept: their text says what all are parts of. */
static enum base_result read_part(struct merge *merge, const char *path)
{
    struct base_arena arena = { 0 };
    struct report_state state;
    enum base_result result = command_state_read(&arena, path, &state, merge->complaints);
    const char *why = result == BASE_OK ? unfit(&state) : NULL;
    if (why) {
        complain(merge, path, why);
        result = BASE_WRONG;
    }
    if (result == BASE_OK && !merge->of_path) {
        result = open_run(merge, path, &state);
        if (result == BASE_WRONG)
            complain(merge, path, "is a part of a run that cannot be made ready here (see above), or damaged");
        merge->of_arena = arena;
        arena = (struct base_arena){ 0 };
    }
    if (result == BASE_OK)
        result = add_part(merge, path, &state);
    base_arena_free(&arena);
    return result;
}

/* Says which parts are not there, the first few by number. */
static void complain_of_missing(struct merge *merge)
{
    enum { NAMED = 20 };
    char list[200] = "";
    int64_t missing = 0;
    for (int64_t part = 1; merge->path && part <= merge->of.parts; part++)
        if (!merge->path[part - 1] && ++missing <= NAMED) {
            size_t n = strlen(list);
            snprintf(list + n, sizeof list - n, "%s%lld", n ? ", " : "", (long long)part);
        }
    if (missing > 0)
        base_complain(merge->complaints, BASE_ERROR, NULL, 0, NULL, "of %lld parts %lld %s missing: %s%s",
                      (long long)merge->of.parts, (long long)missing, missing == 1 ? "is" : "are", list,
                      missing > NAMED ? " and others" : "");
}

static enum base_result read_parts(struct merge *merge)
{
    const struct command_options *options = merge->run.options;
    enum base_result worst = BASE_OK;
    for (int i = 0; i < options->args_n; i++) {
        if (engine_interrupted())
            return BASE_INTERRUPTED;
        enum base_result result = read_part(merge, options->args[i]);
        if (result != BASE_OK && result != BASE_WRONG)
            return result;
        if (result != BASE_OK && merge->of_path && !merge->path)
            return result;              /* the run itself could not be made ready */
        worst = result != BASE_OK ? result : worst;
    }
    complain_of_missing(merge);
    return merge->complaints->errors > 0 ? BASE_WRONG : worst;
}

static enum base_result allowed(const struct command_options *options)
{
    if (options->args_n < 1)
        return command_refuse("merge wants the state files of all parts of a run; see tideover --help");
    if (options->sets_n > 0)
        return command_refuse("merge takes all settings from the parts; --set, --trials and --random-seed are for run");
    if (options->per_trial)
        return command_refuse("merge cannot go with --per-trial: parts keep sums and counts, no single trials");
    if (options->precision > 0)
        return command_refuse("merge adds no trials; --precision is for run");
    return BASE_OK;
}

static enum base_result write_all(struct merge *merge, struct report_output **output)
{
    struct command_run *run = &merge->run;
    enum base_result result = command_run_balanced(run, merge->complaints);
    if (result == BASE_OK)
        result = report_output_open(run->arena, run->options->out, merge->complaints, output);
    return result == BASE_OK ? command_run_write(run, *output, merge->complaints) : result;
}

enum base_result command_merge(const struct command_options *options)
{
    if (allowed(options) != BASE_OK)
        return BASE_WRONG;
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    struct merge merge = { .run = { .options = options, .arena = &arena }, .complaints = &complaints };
    struct report_output *output = NULL;
    enum base_result result = read_parts(&merge);
    if (result == BASE_OK)
        result = write_all(&merge, &output);
    base_complaints_print(&complaints, stderr);
    if (result == BASE_INTERRUPTED)
        fputs("tideover: interrupted; nothing was written\n", stderr);
    if (result == BASE_OK && !options->quiet)
        command_run_tell(&merge.run, output);
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    report_output_close(output);
    base_complaints_free(&complaints);
    base_arena_free(&merge.run.tally_arena);
    base_arena_free(&merge.of_arena);
    base_arena_free(&arena);
    return command_end_output(result);
}
