/* records_fuzz.c: any bytes as a daily weather record. What is taken must be whole seasons of sane numbers. */
#include "memory.h"

#include "records/records.h"

#include <math.h>
#include <stdlib.h>

static const char *const path[] = { "records.csv" };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char sha256[65];
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    fuzz_lay(data, size, path, 1);
    /* So many days may be missing that a few rows make a season. */
    struct scenario scenario = { .year_starts = 59, .climate = { .records_file = path[0], .date_column = "date",
                                 .tmin_column = "tmin", .tmax_column = "tmax", .max_missing_days = 273, .hard_frost_c = -2 } };
    const struct plan_records *records = records_read_weather(&arena, &scenario, sha256, &complaints);
    if (!records == !complaints.errors)
        abort(); /* refused without a word, or taken with complaints */
    for (int r = 0; records && r < records->n; r++)
        for (int day = 0; day < SCENARIO_DAYS; day++)
            if (!isfinite(records->season[r].tmin_c[day]) || records->season[r].tmin_c[day] > records->season[r].tmax_c[day])
                abort();
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return 0;
}
