/* points_test.c: words whose scores have their mean from another word are as uniform and independent as before. */
#include "unit/plan/planned.h"

#include "harvest/internal.h"

enum { N = 7, TRIALS = 40000, SIDE = PLAN_ABREAST };

static struct plan *plan_of(struct base_arena *arena)
{
    return planned_file(arena, "tests/unit/future/household.cfg", NULL, 0);
}

/* Means, squares and products of the scores over many rows: each within five standard errors of 0, 1 and 0. */
static void still_independent(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    const struct plan *plan = plan_of(&arena);
    struct chance_pcg luck = chance_pcg_seeded(5, 6);
    double sum[N] = { 0 }, product[N][N] = { { 0 } };
    for (int t = 0; t < TRIALS; t++) {
        uint64_t word[N], point = chance_pcg_next(&luck);
        double score[N], mean = 0;
        for (int i = 0; i < N; i++)
            word[i] = chance_pcg_next(&luck);
        harvest_share_row(plan, point, N, word, score);
        chance_curve_row(plan->normal->score, word, N, score);
        for (int i = 0; i < N; i++) {
            mean += score[i] / N;
            sum[i] += score[i];
            for (int j = 0; j < N; j++)
                product[i][j] += score[i] * score[j];
        }
        check_within(mean, chance_curve(plan->normal->score, point) / sqrt(N), 1e-4);
    }
    for (int i = 0; i < N; i++) {
        check_within(sum[i] / TRIALS, 0, 5 / sqrt(TRIALS));
        for (int j = 0; j < N; j++)
            check_within(product[i][j] / TRIALS, i == j, (i == j ? 5 * sqrt(2) : 5) / sqrt(TRIALS));
    }
    base_arena_free(&arena);
}

/* Rows of trials side by side are each trial's own row, and its words one by one. */
static void rows(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    const struct plan *plan = plan_of(&arena);
    struct chance_pcg luck = chance_pcg_seeded(7, 8);
    uint64_t word[N * SIDE], point[SIDE], own[N];
    double score[N];
    for (int i = 0; i < N * SIDE; i++)
        word[i] = chance_pcg_next(&luck);
    for (int i = 0; i < SIDE; i++)
        point[i] = chance_pcg_next(&luck);
    uint64_t before[N * SIDE];
    memcpy(before, word, sizeof before);
    harvest_share_rows(plan, point, N, word);
    for (int t = 0; t < SIDE; t++) {
        double sum = 0;
        for (int i = 0; i < N; i++) {
            own[i] = before[i * SIDE + t];
            sum += chance_curve(plan->normal->score, own[i]);
        }
        for (int i = 0; i < N; i++)
            assert_int_equal(harvest_shifted(plan->normal, own[i], harvest_shift(plan, point[t], sum, N)), word[i * SIDE + t]);
        harvest_share_row(plan, point[t], N, own, score);
        for (int i = 0; i < N; i++)
            assert_int_equal(own[i], word[i * SIDE + t]);
    }
    check_within(harvest_shift(plan, point[0], 0, 0), 0, 0);    /* no fruit, no shift */
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(still_independent), cmocka_unit_test(rows) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
