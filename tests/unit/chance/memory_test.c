/* Memory that runs out at any point gives NULL and nothing worse. Needs the linker's --wrap=base_alloc and
 * --wrap=base_realloc; without them the tests say that they are skipped. */
#include "unit/chance/made.h"

void *__real_base_alloc(size_t bytes) __attribute__((weak));
void *__real_base_realloc(void *old, size_t bytes) __attribute__((weak));
void *__wrap_base_alloc(size_t bytes);
void *__wrap_base_realloc(void *old, size_t bytes);

/* Allocations that still succeed; below 0: all do. */
static long left = -1;

static bool refuses(void)
{
    if (left < 0)
        return false;
    return left == 0 || left-- == 0;
}

void *__wrap_base_alloc(size_t bytes) { return refuses() ? NULL : __real_base_alloc(bytes); }
void *__wrap_base_realloc(void *old, size_t bytes)
{
    return refuses() ? NULL : __real_base_realloc(old, bytes);
}

static const double figures[] = { 3, 1, 4, 1, 5, 9, 2, 6 };

static const struct scenario_distribution specs[] = {
    { .shape = SCENARIO_GAMMA, .bound = SCENARIO_POSITIVE, .a = { 2, 1 } },
    { .shape = SCENARIO_TRIANGULAR, .a = { 0, 1, 4 } },
    { .shape = SCENARIO_BETA_SHAPE, .bound = SCENARIO_SHARE, .a = { 0.05, 0.05 } },
    { .shape = SCENARIO_POISSON, .bound = SCENARIO_COUNT, .a = { 3 } },
    { .shape = SCENARIO_GAMMA, .bound = SCENARIO_COUNT, .a = { 3, 2 } },
    { .shape = SCENARIO_UNIFORM, .a = { 0, 1 } },
    { .shape = SCENARIO_CERTAIN, .a = { 1 } },
    { .shape = SCENARIO_COUNTS, .bound = SCENARIO_COUNT, .n = 8, .list = figures },
    { .shape = SCENARIO_RECORDS, .n = 8, .list = figures, .smooth = true }
};

/* All of it; false where memory ran out. */
static bool all_built(struct base_arena *arena, const struct scenario_distribution *spec, bool *noted)
{
    struct base_complaints complaints = { .errors = 0 };
    const struct chance_distribution *d = chance_make(arena, spec, &complaints);
    *noted = d != NULL || complaints.out_of_memory;
    assert_int_equal(complaints.errors, 0);
    base_complaints_free(&complaints);
    bool built = d && chance_table_make(arena, d) != NULL;
    return built && chance_cdf_table_make(arena, d) != NULL;
}

static void running_out_is_said(void **state)
{
    (void)state;
    if (!__real_base_alloc || !__real_base_realloc)
        skip();
    for (size_t i = 0; i < sizeof specs / sizeof *specs; i++) {
        long failures = 0;
        for (bool built = false; !built; failures += !built) {
            struct base_arena arena = { .last = NULL };
            bool noted;
            left = failures;
            built = all_built(&arena, &specs[i], &noted);
            left = -1;
            assert_true(noted);
            base_arena_free(&arena);
        }
        assert_true(failures > 0 && failures < 10000);
    }
}

static void normal_scores_say_so_too(void **state)
{
    const struct chance_normal *normal = NULL;
    long failures = 0;
    (void)state;
    if (!__real_base_alloc || !__real_base_realloc)
        skip();
    for (; !normal; failures++) {
        struct base_arena arena = { .last = NULL };
        left = failures;
        normal = chance_normal_make(&arena);
        left = -1;
        base_arena_free(&arena);
    }
    assert_true(failures > 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(running_out_is_said),
                                        cmocka_unit_test(normal_scores_say_so_too) };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
