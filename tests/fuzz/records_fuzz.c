/* records_fuzz.c: any bytes as a daily weather record. What is taken must be whole seasons of sane numbers.
 * clang -fsanitize=fuzzer,address,undefined; begin with tests/reference/scenarios/upland_records.csv as corpus. */
#include <math.h>
#include <stdlib.h>
#include <unistd.h>

#include "records/records.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char path[] = "/tmp/tideover-fuzz-XXXXXX", sha256[65];
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    int file = mkstemp(path);
    if (file < 0 || write(file, data, size) != (ssize_t)size || close(file) != 0)
        abort();
    struct scenario scenario = { .year_starts = 59, .climate = { .records_file = path, .date_column = "date",
                                 .tmin_column = "tmin", .tmax_column = "tmax", .max_missing_days = 5, .hard_frost_c = -2 } };
    const struct plan_records *records = records_read_weather(&arena, &scenario, sha256, &complaints);
    if (!records == !complaints.errors)
        abort(); /* refused without a word, or taken with complaints */
    for (int r = 0; records && r < records->n; r++)
        for (int day = 0; day < SCENARIO_DAYS; day++)
            if (!isfinite(records->season[r].tmin_c[day]) || records->season[r].tmin_c[day] > records->season[r].tmax_c[day])
                abort();
    unlink(path);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return 0;
}
