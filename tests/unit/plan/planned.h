/* planned.h: scenarios as text, or as files of tests/, made into plans for the tests of the rooms right of
 * "scenario". */
#ifndef TIDEOVER_PLAN_PLANNED_H
#define TIDEOVER_PLAN_PLANNED_H

#include "future/future.h"
#include "records/records.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PLANNED_NORMALS \
    "tmin_c = [ 1.5, 1.4, 2.6, 4.1, 6.8, 9.7, 11.7, 11.6, 9.6, 6.9, 3.9, 1.8 ];" \
    "tmax_c = [ 7.0, 7.7, 10.2, 13.2, 16.4, 19.3, 21.6, 21.2, 18.3, 14.1, 10.0, 7.3 ];"
#define PLANNED_CLIMATE \
    "climate = { last_frost = \"05-01\"; first_hard_frost = \"11-10\"; " PLANNED_NORMALS " };"
#define PLANNED_EATERS \
    "household = { eaters = ( { count = 2; } );" \
    " meals = { beans = { meals_per_week = 1.0; portion_kg = 0.1; };" \
    "   squash = { meals_per_week = 1.0; portion_kg = 0.5; }; }; };"

/* Loads a scenario file and makes its plan, pilot and all. Fails the test with what is complained of. */
static inline struct plan *planned_file(struct base_arena *arena, const char *path, const char *const *sets,
                                        int sets_n)
{
    struct base_complaints complaints = { .errors = 0 };
    struct scenario_request request = { .path = path, .sets = sets, .sets_n = sets_n };
    const struct scenario *scenario = NULL;
    const struct plan_records *records = NULL;
    struct plan *plan = NULL;
    char sha256[65];
    chance_start();
    if (scenario_load(arena, &request, &scenario, &complaints) == BASE_OK) {
        if (scenario->climate.records_file)
            records = records_read_weather(arena, scenario, sha256, &complaints);
        plan = plan_make(arena, scenario, records, NULL, &complaints);
    }
    struct plan_usual usual = { .first_any = 0 };
    if (plan && future_pilot(plan, &usual) == BASE_OK
        && (plan_settle(arena, plan, &usual, &complaints) != BASE_OK || future_turn_points(arena, plan) != BASE_OK))
        plan = NULL;
    if (!plan)
        base_complaints_print(&complaints, stderr);
    base_complaints_free(&complaints);
    assert_non_null(plan);
    return plan;
}

/* The same for settings given as text. */
static inline struct plan *planned(struct base_arena *arena, const char *text)
{
    char path[] = "/tmp/tideover-unit-XXXXXX.cfg";
    int fd = mkstemps(path, 4);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, strlen(text)), (ssize_t)strlen(text));
    close(fd);
    struct plan *plan = planned_file(arena, path, NULL, 0);
    unlink(path);
    return plan;
}

/* The scenarios of tests/reference, which between them use every feature. */
static inline const char *planned_reference(int i)
{
    static const char *const paths[] = {
        "01_beans_certain", "02_squash_certain", "03_copula_triplets", "04_records_weather",
            "05_southern_records",
        "06_own_seed_three_years", "07_stand_ins_away", "08_eking_out", "09_counted_in_winter",
            "10_counted_at_harvest",
        "11_counted_in_spring", "12_shelf_undated", "13_southern_drawn", "14_die_back_and_places",
            "15_wind_and_frost",
        "16_every_shape", "18_mild_coast", "19_nothing_at_all", "20_counted_in_august",
    };
    return i < (int)(sizeof paths / sizeof paths[0]) ? paths[i] : NULL;
}

#endif
