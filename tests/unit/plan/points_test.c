/* points_test.c: words that trials share out: in antithetic pairs, turned, where the Sobol sequence has no more dimensions, and what
 * has a place among them. */
#include "unit/plan/planned.h"

enum { SIDE = PLAN_ABREAST, MOST = 200 };

struct drawn { struct base_arena arena; struct plan *plan; int n; uint64_t word[MOST * SIDE]; double score[MOST * SIDE]; };

static void begin(struct drawn *drawn, const char *path, const char *sampling)
{
    memset(drawn, 0, sizeof *drawn);
    drawn->plan = planned_file(&drawn->arena, path, &sampling, 1);
    drawn->n = drawn->plan->points ? drawn->plan->points->n : 0;
    assert_true(drawn->n <= MOST);
}

static void draw(struct drawn *drawn, int season, uint64_t first)
{
    plan_draw_points(drawn->plan, season, first, SIDE, drawn->word, drawn->score);
    chance_curve_row(drawn->plan->normal->score, drawn->word, drawn->n * SIDE, drawn->score);
}

/* Every pair of trials has each other's complements, and no two pairs have the same words. */
static void antithetic(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn, "tests/unit/future/household.cfg", "sampling=antithetic");
    assert_true(drawn.n >= 20);
    uint64_t before = 0;
    for (uint64_t first = 0; first < 80; first += SIDE) {
        draw(&drawn, 0, first);
        for (int w = 0; w < drawn.n; w++)
            for (int t = 0; t < SIDE; t += 2) {
                assert_true(drawn.word[w * SIDE + t] == ~drawn.word[w * SIDE + t + 1]);
                assert_true(drawn.word[w * SIDE + t] != before);
                before = drawn.word[w * SIDE + t];
            }
    }
    for (uint64_t t = 0; t < 200; t++)
        assert_int_equal(plan_replicate(SCENARIO_ANTITHETIC, t), t / 2 % 16);
    base_arena_free(&drawn.arena);
}

/* Turned scores are still standard normal and apart: means, squares and products over a season's 16,384 trials, all words against
 * all. They are nearer than those of independent ones, whose standard error is 0.008. */
static void turned(void **state)
{
    (void)state;
    enum { TRIALS = 16384 };
    struct drawn drawn;
    begin(&drawn, "tests/unit/future/household.cfg", "sampling=sobol");
    double *sum = base_arena_array(&drawn.arena, MOST, sizeof *sum), *product = base_arena_array(&drawn.arena, MOST * MOST, sizeof *product);
    int moved = 0;
    for (uint64_t first = 0; first < TRIALS; first += SIDE) {
        draw(&drawn, 0, first);
        for (int t = 0; t < SIDE; t++)
            for (int i = 0; i < drawn.n; i++) {
                sum[i] += drawn.score[i * SIDE + t] / TRIALS;
                for (int j = 0; j <= i; j++)
                    product[i * MOST + j] += drawn.score[i * SIDE + t] * drawn.score[j * SIDE + t] / TRIALS;
            }
    }
    for (int i = 0; i < drawn.n; i++) {
        moved += drawn.plan->points->mirror[i][0] != 0;
        check_within(sum[i], 0, 0.01);
        for (int j = 0; j <= i; j++)
            check_within(product[i * MOST + j], i == j, 0.03);
    }
    assert_true(drawn.plan->points->turned == 1 && moved >= 5 && moved < drawn.n);
    base_arena_free(&drawn.arena);
}

/* A household of many years has more words than the sequence has dimensions: each dimension is given once, first to the weather
 * and the crops' years of all seasons; the rest each trial draws on its own, not as another does. */
static void dimensions(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    static const char *const sets[2] = { "sampling=sobol", "food_years=20" };
    struct plan *plan = planned_file(&arena, "tests/unit/future/household.cfg", sets, 2);
    const struct plan_points *points = plan->points;
    bool given[CHANCE_SOBOL_DIMENSIONS] = { false };
    int without = 0;
    for (int i = 0; i < 21 * points->n; i++) {
        int dimension = points->dimension[i];
        bool first_ones = i % points->n < 3 + plan->crops_n && i < 20 * points->n;
        assert_true(dimension >= 0 || !first_ones);
        assert_false(dimension >= 0 && given[dimension]);
        without += dimension < 0;
        if (dimension >= 0)
            given[dimension] = true;
    }
    assert_true(points->sobol.dimensions == CHANCE_SOBOL_DIMENSIONS && without == 21 * points->n - CHANCE_SOBOL_DIMENSIONS);
    base_arena_free(&arena);
}

/* What is certain, or drawn by no trial, has no place; what has one has its own. */
static void places(void **state)
{
    (void)state;
    struct drawn drawn;
    begin(&drawn, "tests/unit/future/household.cfg", "sampling=independent");
    assert_null(drawn.plan->points);
    base_arena_free(&drawn.arena);
    begin(&drawn, "tests/unit/future/household.cfg", "sampling=sobol");
    bool taken[MOST] = { true, true, true };
    const struct plan *plan = drawn.plan;
    for (int c = 0; c < plan->crops_n; c++) {
        assert_false(taken[plan->crops[c].point]);
        taken[plan->crops[c].point] = true;
    }
    for (int p = 0; p < plan->plantings_n; p++) {
        const struct plan_planting_points *at = &plan->plantings[p].points;
        const int all[] = { at->units, at->fruit_kg, at->keeps_weeks, at->wind, at->stands, at->sorted_out };
        bool beans = plan->plantings[p].kind == SCENARIO_KIND_BEANS;
        assert_true((at->sorted_out > 0) == beans && (at->fruit_kg > 0) == !beans && (at->keeps_weeks > 0) == !beans);
        assert_true((at->wind > 0) == (plan->plantings[p].wind_may && plan->plantings[p].crop->support == SCENARIO_SHARED));
        for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
            assert_true(all[i] < drawn.n && (all[i] == 0 || !taken[all[i]]));
            taken[all[i]] = true;
        }
    }
    for (int w = 0; w < drawn.n; w++)
        assert_true(taken[w]);
    base_arena_free(&drawn.arena);
    begin(&drawn, "tests/reference/scenarios/04_records_weather.cfg", "sampling=sobol");
    assert_true(drawn.plan->crops[0].point <= 1);           /* a recorded season is one word */
    base_arena_free(&drawn.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(antithetic), cmocka_unit_test(turned), cmocka_unit_test(dimensions),
                                        cmocka_unit_test(places) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
