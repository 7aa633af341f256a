/* share_test.c: scenarios that copy from one another what they have in common come to the same, to the last bit, as ones that make
 * everything themselves; and they copy what they should. */
#include "unit/plan/planned.h"

#include "future/internal.h"

enum { SEED = 31, BLOCKS = 60, LEFT_OVER = 3, MOST_SETS = 2, PLANTINGS = 4 };

static const char *const household = "tests/unit/future/household.cfg";

/* One of several scenarios: with the others, and on its own. */
struct one { struct plan *plan; struct future_trial *sharing, *own; };

static bool same_columns(const struct plan *plan, const struct future_columns *a, const struct future_columns *b)
{
    size_t n = (size_t)plan->weeks * PLAN_ABREAST;
    bool same = true;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        same &= memcmp(a->wanted_kg[food], b->wanted_kg[food], n * sizeof(double)) == 0;
        same &= memcmp(a->eaten_kg[food], b->eaten_kg[food], n * sizeof(double)) == 0;
        same &= memcmp(a->lost_kg[food], b->lost_kg[food], n * sizeof(double)) == 0;
        same &= memcmp(a->stock_kg[food], b->stock_kg[food], n * sizeof(double)) == 0;
        same &= memcmp(a->count[food], b->count[food], n * sizeof(int32_t)) == 0;
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        same &= memcmp(a->is_short[food], b->is_short[food], n) == 0;
    return same;
}

static void same_year(const struct future_year *a, const struct future_year *b)
{
    const int one[] = { a->first_week, a->weeks, a->days, a->jars_peak, a->fruits_peak, a->last_frost_week, a->first_hard_frost_week };
    const int other[] = { b->first_week, b->weeks, b->days, b->jars_peak, b->fruits_peak, b->last_frost_week,
                          b->first_hard_frost_week };
    assert_memory_equal(one, other, sizeof one);
    assert_memory_equal(a->books, b->books, sizeof a->books); /* nothing but numbers */
    assert_memory_equal(a->short_weeks, b->short_weeks, sizeof a->short_weeks);
    assert_memory_equal(a->meals_short, b->meals_short, sizeof a->meals_short);
    assert_memory_equal(a->first_short, b->first_short, sizeof a->first_short);
}

static void same_block(const struct plan *plan, const struct future_block *a, const struct future_block *b)
{
    assert_int_equal(a->n, b->n);
    assert_true(same_columns(plan, &a->columns, &b->columns));
    for (int t = 0; t < a->n; t++) {
        const struct future_ledger *x = &a->ledger[t], *y = &b->ledger[t];
        assert_int_equal(x->first_week, y->first_week);
        assert_int_equal(x->end_week, y->end_week);
        for (int year = 0; year < x->years_n; year++)
            same_year(&x->year[year], &y->year[year]);
    }
}

/* Loads the household as it is, and with each of n settings; the first is the one that the others copy from. */
static void begin(struct base_arena *arena, const char *const *sets, int n, struct one *ones)
{
    for (int i = 0; i <= n; i++) {
        struct one *one = &ones[i];
        one->plan = planned_file(arena, household, i > 0 ? &sets[i - 1] : NULL, i > 0);
        one->sharing = future_room(arena, one->plan);
        one->own = future_room(arena, one->plan);
        assert_true(one->sharing && one->own);
        assert_true(i == 0 || future_share(arena, ones[0].plan, ones[0].sharing, one->plan, one->sharing));
    }
}

static void run(const struct one *one, uint64_t first, int n)
{
    const struct future_block *a = future_run_block(one->plan, one->sharing, SEED, first, n);
    same_block(one->plan, a, future_run_block(one->plan, one->own, SEED, first, n));
}

/* How many plantings the i-th copies; -1: it copies not even the weather. */
static int copied(const struct one *one)
{
    int n = 0;
    for (int p = 0; one->sharing->share.from && p < one->plan->plantings_n; p++)
        n += one->sharing->share.planting[p];
    return one->sharing->share.from ? n : -1;
}

static void nothing_changes(void **state)
{
    static const struct { const char *sets[MOST_SETS]; int copied[MOST_SETS]; bool crops[MOST_SETS]; } cases[] = {
        { { "plantings.small.count=7", "plantings.small.count=8" }, { 3, 3 }, { true, true } },
        { { "plantings.wigwams.count=2.5", "plantings.large.count=1" }, { 3, 3 }, { true, true } },
        { { "household.enough=0.7", "store.cut_keeps_weeks=3" }, { 4, 4 }, { true, true } },
        { { "crops.hubbard.fruit_kg=3.0", "crops.climbing_bean.year_factor=1.0" }, { 3, 3 }, { false, false } },
        { { "climate.warmth=0.5", "plantings.small.count=7" }, { -1, 3 }, { false, true } },
        { { "climate.this_season={last_frost=\"05-20\";}", "plantings.large.plant_out=\"06-10\"" }, { -1, 3 }, { false, true } },
        { { "plantings.runner_row.crop=\"climbing_bean\"", "plantings.runner_row.count=0.3" }, { 3, 3 }, { true, true } },
        { { "year_starts=\"03-08\"", "random_seed=9" }, { -1, -1 }, { false, false } },
        { { "food_years=2", "plantings.small.count=0" }, { -1, 3 }, { false, true } },
    };
    (void)state;
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        struct base_arena arena = { .last = NULL };
        struct one ones[MOST_SETS + 1];
        begin(&arena, cases[c].sets, MOST_SETS, ones);
        for (int i = 0; i < MOST_SETS; i++) {
            assert_int_equal(copied(&ones[i + 1]), cases[c].copied[i]);
            assert_int_equal(ones[i + 1].sharing->share.crops, cases[c].crops[i]);
        }
        for (uint64_t b = 0; b <= BLOCKS; b++)
            for (int i = 0; i <= MOST_SETS; i++)
                run(&ones[i], b * PLAN_ABREAST, b < BLOCKS ? PLAN_ABREAST : LEFT_OVER);
        base_arena_free(&arena);
    }
}

/* One more planting, or the same in another order: nothing is copied. */
static void other_plantings(void **state)
{
    static const char *const sets[] = { "plantings.more={crop=\"hubbard\";count=1;plant_out=\"05-30\";}" };
    struct base_arena arena = { .last = NULL };
    struct one ones[2];
    (void)state;
    begin(&arena, sets, 1, ones);
    assert_int_equal(ones[1].plan->plantings_n, PLANTINGS + 1);
    assert_int_equal(copied(&ones[1]), -1);
    run(&ones[1], 0, PLAN_ABREAST);
    base_arena_free(&arena);
}

/* A block that the first has not just run is made as if there were none to copy from. */
static void another_block(void **state)
{
    static const char *const sets[] = { "plantings.small.count=7" };
    struct base_arena arena = { .last = NULL };
    struct one ones[2];
    (void)state;
    begin(&arena, sets, 1, ones);
    run(&ones[0], 0, PLAN_ABREAST);
    run(&ones[1], PLAN_ABREAST, PLAN_ABREAST);
    run(&ones[1], 0, LEFT_OVER);
    run(&ones[1], 0, PLAN_ABREAST);
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(nothing_changes), cmocka_unit_test(other_plantings),
                                        cmocka_unit_test(another_block) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
