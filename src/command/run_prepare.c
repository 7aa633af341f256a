/* run_prepare.c: what a run needs before its trials, and what is looked at after them. */
#include "command/run.h"

#include <stdlib.h>

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

enum base_result command_run_balanced(const struct command_run *run, struct base_complaints *complaints)
{
    if (tally_unbalanced(run->tally) == 0)
        return BASE_OK;
    base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "the books of %lld trials do not balance: this is a fault of the "
                  "program, please report it with the scenario", (long long)tally_unbalanced(run->tally));
    return BASE_FAILED;
}
