/* abreast_test.c: trials run side by side are the trials run alone: every column, every figure of the year. Whoever watches a
 * trial's seasons has it run alone. */
#include "unit/plan/planned.h"

enum { SEED = 31, BLOCKS = 40 };

static void watch(void *context, const struct plan *plan, const struct future_season *season)
{
    (void)plan, (void)season;
    ++*(int *)context;
}

struct compared { int trials, short_weeks, jars_lost, fruits; };

static void same(double a, double b, const char *what, uint64_t number, int week)
{
    if (fabs(a - b) > 1e-9 * fmax(1, fabs(a))) {
        print_error("trial %llu, week %d, %s: %.17g side by side, %.17g alone\n", (unsigned long long)number, week, what, a, b);
        fail();
    }
}

static void same_weeks(const struct future_columns *a, const struct future_columns *b, int week, uint64_t number)
{
    size_t w = (size_t)week * PLAN_ABREAST;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        same(a->wanted_kg[food][w], b->wanted_kg[food][w], "wanted", number, week);
        same(a->eaten_kg[food][w], b->eaten_kg[food][w], "eaten", number, week);
        same(a->lost_kg[food][w], b->lost_kg[food][w], "lost", number, week);
        same(a->stock_kg[food][w], b->stock_kg[food][w], "stock", number, week);
        same(a->count[food][w], b->count[food][w], "count", number, week);
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        same(a->is_short[food][w], b->is_short[food][w], "short", number, week);
}

static void same_books(const struct store_books *a, const struct store_books *b, uint64_t number)
{
    const double one[] = { a->opening, a->in, a->eaten, a->dried_away, a->trimmed, a->lost, a->given_away, a->thrown_out, a->seed,
                           a->left, a->lost_while_wanted, a->kcal, a->protein_g, a->grown, a->field_loss, a->sorted_out };
    const double other[] = { b->opening, b->in, b->eaten, b->dried_away, b->trimmed, b->lost, b->given_away, b->thrown_out,
                             b->seed, b->left, b->lost_while_wanted, b->kcal, b->protein_g, b->grown, b->field_loss,
                             b->sorted_out };
    assert_int_equal(sizeof one, sizeof *a);
    for (size_t i = 0; i < sizeof one / sizeof *one; i++)
        same(one[i], other[i], "line of the books, by number", number, (int)i);
}

static void same_year(const struct future_year *a, const struct future_year *b, uint64_t number)
{
    assert_int_equal(a->first_week, b->first_week);
    assert_int_equal(a->weeks, b->weeks);
    assert_int_equal(a->days, b->days);
    assert_int_equal(a->jars_peak, b->jars_peak);
    assert_int_equal(a->fruits_peak, b->fruits_peak);
    assert_int_equal(a->last_frost_week, b->last_frost_week);
    assert_int_equal(a->first_hard_frost_week, b->first_hard_frost_week);
    for (int food = 0; food < FUTURE_FOODS; food++) {
        assert_int_equal(a->short_weeks[food], b->short_weeks[food]);
        assert_int_equal(a->first_short[food], b->first_short[food]);
        same(a->meals_short[food], b->meals_short[food], "meals short", number, food);
    }
    for (int food = 0; food < SCENARIO_FOODS; food++)
        same_books(&a->books[food], &b->books[food], number);
}

static void same_trial(const struct plan *plan, const struct future_ledger *a, const struct future_ledger *b, uint64_t number,
                       struct compared *compared)
{
    assert_int_equal(a->years_n, b->years_n);
    assert_int_equal(a->first_week, b->first_week);
    assert_int_equal(a->end_week, b->end_week);
    assert_int_equal(a->balanced, b->balanced);
    assert_true(a->balanced && a->worst_imbalance <= 1e-9);
    for (int week = 0; week < plan->weeks; week++)
        same_weeks(&a->at, &b->at, week, number);
    for (int y = 0; y < a->years_n; y++)
        same_year(&a->year[y], &b->year[y], number);
    for (int food = 0; food < SCENARIO_FOODS; food++)   /* nothing is left out by whoever stops there */
        for (int week = a->stocked_end[food]; week < plan->weeks; week++) {
            size_t w = (size_t)week * PLAN_ABREAST;
            assert_true(a->at.stock_kg[food][w] == 0 && a->at.eaten_kg[food][w] == 0 && a->at.lost_kg[food][w] == 0
                        && a->at.count[food][w] == 0);
        }
    compared->trials++;
    compared->short_weeks += a->year[0].short_weeks[FUTURE_ANY];
    compared->jars_lost += a->year[0].books[SCENARIO_BEANS].lost > 0;
    compared->fruits += a->year[0].fruits_peak;
}

/* The last block is not a full one. */
static struct compared compare(const char *const *sets, int sets_n, const char *path)
{
    struct base_arena arena = { .last = NULL };
    struct compared compared = { 0 };
    struct plan *plan = planned_file(&arena, path, sets, sets_n);
    struct future_trial *abreast = future_room(&arena, plan), *alone = future_room(&arena, plan);
    int seen = 0;
    future_set_watch(alone, watch, &seen);
    for (uint64_t b = 0; b < BLOCKS; b++) {
        int n = b < BLOCKS - 1 ? PLAN_ABREAST : 3;
        const struct future_block *one = future_run_block(plan, abreast, SEED, b * PLAN_ABREAST, n);
        const struct future_block *other = future_run_block(plan, alone, SEED, b * PLAN_ABREAST, n);
        for (int t = 0; t < n; t++)
            same_trial(plan, &one->ledger[t], &other->ledger[t], b * PLAN_ABREAST + (uint64_t)t, &compared);
    }
    assert_true(seen >= compared.trials);
    base_arena_free(&arena);
    return compared;
}

static const char *const household = "tests/unit/future/household.cfg";

static void as_it_is(void **state)
{
    (void)state;
    struct compared compared = compare(NULL, 0, household);
    assert_int_equal(compared.trials, (BLOCKS - 1) * PLAN_ABREAST + 3);
    assert_true(compared.short_weeks > 0 && compared.jars_lost > 0 && compared.fruits > 0);
}

static void variants(void **state)
{
    (void)state;
    static const char *const sets[][2] = {
        { "store.jar_keeps_weeks={shape=\"exponential\";mean=10.0;}", "store.jar_kg=0.3" },
        { "store.jar_keeps_weeks={shape=\"uniform\";low=0.0;high=3.0;}", "store.jar_kg=0.1" },
        { "store.jar_keeps_weeks=100000.0", "household.guests.chance=1.0" },
        { "household.beans_stand_in=false", "household.guests.chance=0.5" },
        { "household.enough=0.7", "plantings.wigwams.count=2" },
        { "plantings.wigwams.count=0.05", "plantings.runner_row.count=0.3" },
        { "plantings.wigwams.count=40", "store.jar_kg=0.01" },
        { "crops.climbing_bean.seed_spare=15.0", "crops.climbing_bean.buys_seed=false" },
        { "crops.climbing_bean.seed_spare=30.0", "crops.climbing_bean.buys_seed=true" },
        { "crops.climbing_bean.seed_spare=15.0", "plantings.runner_row.crop=\"climbing_bean\"" },
        { "crops.climbing_bean.indoor_drying_weeks=12", "crops.climbing_bean.seed_spare=15.0" },
        { "plantings.small.count=1", "plantings.large.count=1" },
        { "household.meals.beans.portion_kg=0.9", "store.jar_kg=0.2" },
        { "household.meals.squash.from=\"08-01\"", "crops.buttercup.cure_weeks=6" },
        { "household.meals.squash.from=\"08-01\"", "crops.hubbard.cut_by=\"09-20\"" },
        { "crops.climbing_bean.seed_kg_per_unit=10.0", "crops.climbing_bean.buys_seed=false" },
        { "places=({name=\"sill\";})", "crops.hubbard.cut_by=\"05-31\"" },
        { "crops.hubbard.die_back_heat={p10=600.0;p50=800.0;p90=1000.0;}", "household.meals.squash.from=\"08-01\"" },
        { "climate.this_season={last_frost=\"05-20\";warmth=0.8;}", "store.jar_kg=0.5" },
        { "store.cut_keeps_weeks=4", "household.meals.squash.portion_kg=0.05" },
        { "places=({name=\"sill\";holds=9;keeps_factor=1.0;},{name=\"loft\";holds=4;keeps_factor=0.7;})",
          "store.salvage_share=0.9" },
    };
    for (size_t i = 0; i < sizeof sets / sizeof *sets; i++)
        assert_true(compare(sets[i], 2, household).trials > 0);
}

static void references(void **state)
{
    (void)state;
    char path[200];
    for (int i = 0; planned_reference(i); i++) {
        snprintf(path, sizeof path, "tests/reference/scenarios/%s.cfg", planned_reference(i));
        assert_true(compare(NULL, 0, path).trials > 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(as_it_is), cmocka_unit_test(variants), cmocka_unit_test(references) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
