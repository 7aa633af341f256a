/* scenario_fuzz.c: any bytes as a scenario file. What is taken is written out and read again: that must work.
 * clang -fsanitize=fuzzer,address,undefined; begin with tests/unit/scenario/data as corpus. */
#include <stdlib.h>
#include <unistd.h>

#include "scenario/scenario.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static enum base_result load(const char *path, struct base_arena *arena, const struct scenario **scenario)
{
    struct base_complaints complaints = {0};
    struct scenario_request request = {.path = path};
    enum base_result result = scenario_load(arena, &request, scenario, &complaints);
    if ((result == BASE_OK) != (complaints.errors == 0)) {
        abort(); /* wrong without a word, or taken with complaints */
    }
    base_complaints_free(&complaints);
    return result;
}

static void load_again(const struct scenario *scenario, const char *path)
{
    struct base_arena arena = {0};
    const struct scenario *again = NULL;
    FILE *to = fopen(path, "wb");
    if (to == NULL) {
        abort();
    }
    scenario_write_effective(scenario, to);
    FILE *nowhere = fopen("/dev/null", "w");
    if (fclose(to) != 0 || nowhere == NULL || load(path, &arena, &again) != BASE_OK ||
        scenario_print_differences(scenario, again, nowhere) != 0) {
        abort();
    }
    scenario_print_settings(again, nowhere);
    fclose(nowhere);
    base_arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[] = "/tmp/tideover-fuzz-XXXXXX";
    struct base_arena arena = {0};
    const struct scenario *scenario = NULL;
    int file = mkstemp(path);
    if (file < 0 || write(file, data, size) != (ssize_t)size || close(file) != 0) {
        abort();
    }
    if (load(path, &arena, &scenario) == BASE_OK) {
        load_again(scenario, path);
    }
    unlink(path);
    base_arena_free(&arena);
    return 0;
}
