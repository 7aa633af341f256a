/* set_fuzz.c: any text as settings of the command line, one a line, on a small scenario (run it from the
 * repository's root), and as a path to explain. */
#include <stdlib.h>
#include <string.h>

#include "scenario/scenario.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { MOST_SETS = 16 };

/* Cuts the text into lines; returns how many. */
static int cut(char *text, const char *sets[MOST_SETS])
{
    int n = 0;
    for (char *line = text; line != NULL && n < MOST_SETS; n++) {
        sets[n] = line;
        line = strchr(line, '\n');
        if (line != NULL) {
            *line++ = '\0';
        }
    }
    return n;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct base_arena arena = {0};
    struct base_complaints complaints = {0};
    const struct scenario *scenario = NULL;
    const char *sets[MOST_SETS];
    char *text = malloc(size + 1);
    FILE *nowhere = fopen("/dev/null", "w");
    if (text == NULL || nowhere == NULL) {
        abort();
    }
    memcpy(text, data, size);
    text[size] = '\0';
    scenario_explain(text, nowhere);
    struct scenario_request request = {.path = "tests/unit/scenario/data/good.cfg", .sets_n = cut(text, sets),
                                       .sets = sets};
    enum base_result result = scenario_load(&arena, &request, &scenario, &complaints);
    if (result == BASE_FAILED || (result == BASE_OK) != (complaints.errors == 0)) {
        abort();
    }
    if (result == BASE_OK) {
        scenario_write_effective(scenario, nowhere);
    }
    fclose(nowhere);
    free(text);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return 0;
}
