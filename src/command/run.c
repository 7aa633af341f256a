/* run.c: tideover run: all trials of one scenario, or of one part of them; their files, the answer. */
#include "command/run.h"

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
        result = command_run_trials(run, complaints);
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
