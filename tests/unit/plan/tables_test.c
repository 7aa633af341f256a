/* tables_test.c: the tables that are made before a plan asks for them are those that it asks for. */
#include "unit/plan/planned.h"

#include "plan/internal.h"

static const struct scenario *loaded(struct base_arena *arena, const char *path)
{
    struct base_complaints complaints = { .errors = 0 };
    struct scenario_request request = { .path = path };
    const struct scenario *scenario = NULL;
    chance_start();
    assert_int_equal(scenario_load(arena, &request, &scenario, &complaints), BASE_OK);
    base_complaints_free(&complaints);
    return scenario;
}

static int made(const struct plan_share *share)
{
    int n = 0;
    for (const struct plan_shared_table *of = share->tables; of; of = of->next)
        n += (of->table != NULL) + (of->cdf != NULL);
    return n;
}

/* Whatever a plan asked for beside what was listed is certain, or a reading of what is in doubt. */
static int missed(const struct plan_share *share)
{
    int n = 0;
    for (const struct plan_shared_table *of = share->tables; of; of = of->next)
        n += !of->is_listed && of->spec.shape != SCENARIO_CERTAIN && !(of->spec.from_records > 0);
    return n;
}

static void every_table_is_listed(void **state)
{
    char path[200];
    int listed = 0;
    (void)state;
    for (int i = 0; planned_reference(i); i++) {
        struct base_arena arena = { .last = NULL }, other = { .last = NULL };
        struct base_complaints complaints = { .errors = 0 };
        struct plan_share share = { .tables = NULL };
        struct plan_tables tables;
        char sha256[65];
        snprintf(path, sizeof path, "tests/reference/scenarios/%s.cfg", planned_reference(i));
        const struct scenario *scenario = loaded(&arena, path);
        const struct plan_records *records = NULL;
        if (scenario->climate.records_file)
            records = records_read_weather(&arena, scenario, sha256, &complaints);
        assert_true(plan_list_tables(&arena, scenario, &share, &tables));
        for (int t = tables.n - 1; t >= 0; t--)
            plan_make_listed(&tables, t, &other);
        base_arena_join(&arena, &other);
        assert_int_equal(made(&share), tables.n);
        assert_non_null(plan_make(&arena, scenario, records, &share, &complaints));
        assert_int_equal(missed(&share), 0);
        for (int t = 0; t < tables.n; t++)
            assert_true(tables.listed[t].is_cdf ? !tables.listed[t].of->table : !tables.listed[t].of->cdf);
        listed += tables.n;
        base_complaints_free(&complaints);
        base_arena_free(&arena);
    }
    assert_true(listed > 100);
}

/* A distribution that cannot be is left to the plan to complain of; one that two ask for is listed once. */
static void wrong_or_twice(void **state)
{
    static const char *const sets[] = { "crops.buttercup.fruit_kg={p10=2.0;p50=1.0;p90=3.0;}",
                                        "crops.hubbard.keeps_weeks={shape=\"gamma\";mean=20.0;sd=5.0;}",
                                        "crops.buttercup.keeps_weeks={shape=\"gamma\";mean=20.0;sd=5.0;}" };
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    struct scenario_request request = { .path = "tests/unit/future/household.cfg", .sets = sets, .sets_n = 3 };
    const struct scenario *scenario = NULL;
    struct plan_share share = { .tables = NULL };
    struct plan_tables tables;
    int gammas = 0;
    (void)state;
    assert_int_equal(scenario_load(&arena, &request, &scenario, &complaints), BASE_OK);
    assert_true(plan_list_tables(&arena, scenario, &share, &tables));
    assert_int_equal(complaints.errors, 0);
    for (int t = 0; t < tables.n; t++) {
        plan_make_listed(&tables, t, &arena);
        gammas += tables.listed[t].of->spec.shape == SCENARIO_GAMMA;
    }
    assert_int_equal(gammas, 1);
    assert_null(plan_make(&arena, scenario, NULL, &share, &complaints));
    assert_int_equal(complaints.errors, 1);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(every_table_is_listed), cmocka_unit_test(wrong_or_twice) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
