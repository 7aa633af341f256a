/* set_fuzz.c: any text as settings of the command line, one a line, on a small scenario (run it from the repository's root), and
 * as a path to explain. */
#include "memory.h"

#include "scenario/scenario.h"

#include <stdlib.h>
#include <string.h>

enum { MOST_SETS = 16 };
static const char *const path[] = { "tests/unit/scenario/data/good.cfg" };

/* The small scenario stays in memory. */
static void lay_scenario(void)
{
    static struct base_arena arena;
    static const char *text;
    static size_t size;
    const char *why;
    if (!text)
        text = base_read_file(&arena, path[0], 1 << 20, &size, &why);
    if (!text)
        abort();
    fuzz_lay((const uint8_t *)text, size, path, 1);
}

/* Cuts the text into lines; returns how many. */
static int cut(char *text, const char *sets[MOST_SETS])
{
    int n = 0;
    for (char *line = text; line && n < MOST_SETS; n++) {
        sets[n] = line;
        line = strchr(line, '\n');
        if (line)
            *line++ = '\0';
    }
    return n;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static FILE *nowhere;
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    const struct scenario *scenario = NULL;
    const char *sets[MOST_SETS];
    char *text = malloc(size + 1);
    if (!nowhere)
        nowhere = fopen("/dev/null", "w");
    if (!text || !nowhere)
        abort();
    if (size > 0)
        memcpy(text, data, size);
    text[size] = '\0';
    scenario_explain(text, nowhere);
    lay_scenario();
    struct scenario_request request = { .path = path[0], .sets_n = cut(text, sets), .sets = sets };
    enum base_result result = scenario_load(&arena, &request, &scenario, &complaints);
    if (result == BASE_FAILED || (result == BASE_OK) != (complaints.errors == 0))
        abort();
    if (result == BASE_OK)
        scenario_write_effective(scenario, nowhere);
    free(text);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return 0;
}
