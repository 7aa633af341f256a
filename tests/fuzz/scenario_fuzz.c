/* scenario_fuzz.c: any bytes as a scenario file, with up to two more that it may include or extend. What is taken is written out
 * and read again: that must work. Run it from the repository's root: the files' names must be there. */
#include "memory.h"

#include "scenario/scenario.h"

#include <stdlib.h>

static const char *const paths[] = { "tests/unit/scenario/data/layers.cfg", "tests/unit/scenario/data/good.cfg",
                                     "tests/unit/scenario/data/full.cfg" };

static enum base_result load(struct base_arena *arena, const struct scenario **scenario)
{
    struct base_complaints complaints = { 0 };
    struct scenario_request request = { .path = paths[0], .configs_dir = "tests/unit/scenario/data/library" };
    enum base_result result = scenario_load(arena, &request, scenario, &complaints);
    if ((result == BASE_OK) != (complaints.errors == 0))
        abort(); /* wrong without a word, or taken with complaints */
    base_complaints_free(&complaints);
    return result;
}

static void load_again(const struct scenario *scenario)
{
    static FILE *nowhere;
    struct base_arena arena = { 0 };
    const struct scenario *again = NULL;
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    if (!nowhere)
        nowhere = fopen("/dev/null", "w");
    if (!to || !nowhere)
        abort();
    scenario_write_effective(scenario, to);
    if (fclose(to) != 0)
        abort();
    fuzz_lay((const uint8_t *)text, size, paths, 1);
    if (load(&arena, &again) != BASE_OK || scenario_print_differences(scenario, again, nowhere) != 0)
        abort();
    scenario_print_settings(again, nowhere);
    base_arena_free(&arena);
    free(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct base_arena arena = { 0 };
    const struct scenario *scenario = NULL;
    fuzz_lay(data, size, paths, 3);
    if (load(&arena, &scenario) == BASE_OK)
        load_again(scenario);
    base_arena_free(&arena);
    return 0;
}
