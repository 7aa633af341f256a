/* tally_test.c: cells of the histograms, small runs against sorted values, and tallies merged in any split.
 * */
#include "unit/plan/planned.h"

#include "tally/tally.h"

static const enum tally_cells KINDS[2] = { TALLY_SCALED, TALLY_WHOLE };

/* Every value lies in its cell; a cell's middle is within 0.4 % of all that it holds, so that it is at most
 * 0.8 % wide. */
static void widths_of_cells(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        size_t before = 0;
        double least = k == 0 ? 0x1p-10 : 1024;
        for (double x = least; x < 1e6; x *= 1.0007) {
            size_t cell = tally_cell(KINDS[k], x);
            double middle = tally_cell_value(KINDS[k], cell);
            assert_true(cell >= before && cell < TALLY_CELLS);
            assert_true(fabs(middle / x - 1) <= 0.004);
            assert_int_equal(tally_cell(KINDS[k], middle), cell);
            before = cell;
        }
        assert_int_equal(tally_cell(KINDS[k], 0), 0);
        check_within(tally_cell_value(KINDS[k], 0), 0, 0);
        assert_true(tally_cell(KINDS[k], 1e300) < TALLY_CELLS);
        assert_int_equal(tally_cell(KINDS[k], HUGE_VAL), TALLY_NEVER_CELL);
    }
    for (int whole = 0; whole < TALLY_WHOLE_CELLS; whole++) {
        assert_int_equal(tally_cell(TALLY_WHOLE, whole), whole);
        check_within(tally_cell_value(TALLY_WHOLE, (size_t)whole), whole, 0);
    }
    assert_true(tally_cell(TALLY_SCALED, 1e-9) != 0);   /* a little is not nothing */
    assert_true(tally_cell_value(TALLY_SCALED, tally_cell(TALLY_SCALED, 1e-9)) < 0x1p-10);
}

static void cells_of_a_column(void **state)
{
    enum { N = 3001 };
    static double value[N];
    static int32_t cell[N];
    (void)state;
    for (int i = 0; i < N; i++)
        value[i] = i % 7 == 0 ? 0 : ldexp(1 + i / 3001.0, i % 40 - 20);
    tally_scaled_cells(value, N, cell);
    for (int i = 0; i < N; i++)
        assert_int_equal(cell[i], tally_cell(TALLY_SCALED, value[i]));
}

/* Ranks in a histogram whose zeros are what the other cells leave; never is above all. */
static void ranks(void **state)
{
    static uint32_t cells[TALLY_CELLS + 1];
    (void)state;
    cells[tally_cell(TALLY_WHOLE, 3)] = 2;
    cells[tally_cell(TALLY_WHOLE, 7)] = 1;
    cells[TALLY_NEVER_CELL] = 2;
    static int64_t up_to[TALLY_CELLS + 1];
    static const double wanted[8] = { 0, 0, 0, 3, 3, 7, HUGE_VAL, HUGE_VAL };
    tally_histogram_sum(cells, 1, TALLY_CELLS, 8, up_to);
    for (int rank = 0; rank < 8; rank++)
        assert_true(tally_histogram_at(TALLY_WHOLE, up_to, rank) == wanted[rank]);
}

/* A run of trials, tallied. */
struct tallied { struct base_arena arena; struct plan *plan; struct future_trial *trial; int64_t trials; };

static void begin_sampled(struct tallied *run, const char *scenario, const char *sampling, int64_t trials)
{
    memset(run, 0, sizeof *run);
    run->plan = planned_file(&run->arena, scenario, &sampling, 1);
    run->trial = future_room(&run->arena, run->plan);
    run->trials = trials;
    assert_non_null(run->trial);
}

static void begin(struct tallied *run, const char *scenario, int64_t trials)
{
    begin_sampled(run, scenario, "sampling=independent", trials);
}

/* The tally of all trials, dealt out in blocks to so many tallies, which are merged last first. */
static struct tally *deal(struct tallied *run, int tallies, int block)
{
    struct tally *of[16];
    struct tally_shared *shared = tally_share(&run->arena, run->plan, run->trials);
    assert_non_null(shared);
    for (int t = 0; t < tallies; t++)
        assert_non_null(of[t] = tally_make(&run->arena, run->plan, shared));
    for (int64_t first = 0; first < run->trials; first += block)
        for (int64_t n = first, end = first + block < run->trials ? first + block : run->trials; n < end; n += PLAN_ABREAST) {
            int together = end - n < PLAN_ABREAST ? (int)(end - n) : PLAN_ABREAST;
            tally_add(of[first / block % tallies], run->plan,
                      future_run_block(run->plan, run->trial, 3, (uint64_t)n, together), (uint64_t)n);
        }
    for (int t = tallies - 2; t >= 0; t--)
        tally_merge(of[tallies - 1], of[t]);
    return of[tallies - 1];
}

/* Every figure and every week, as bytes. */
static void digest(const struct tallied *run, const struct tally *tally, char hex[65])
{
    struct base_sha256 sha;
    int first, end;
    base_sha256_start(&sha);
    for (int year = TALLY_ALL_YEARS; year < run->plan->scenario->food_years; year++)
        for (int m = 0; m < tally_measures_n; m++)
            for (int food = 0; food < FUTURE_FOODS; food++)
                for (int which = -1; which < 3; which++) {
                    struct tally_figure f;
                    if (!tally_figure(tally, year, food, m, which, &f))
                        continue;
                    const double all[] = { f.value, f.std_error, f.low, f.high, (double)f.trials, f.never };
                    base_sha256_add(&sha, all, sizeof all);
                }
    tally_weeks_range(tally, &first, &end);
    for (int week = first; week < end; week++)
        for (int food = 0; food < FUTURE_FOODS; food++) {
            struct tally_week row;
            memset(&row, 0, sizeof row);
            if (tally_week(tally, week, food, &row))
                base_sha256_add(&sha, &row, sizeof row);
        }
    base_sha256_hex(&sha, hex);
}

static void merged_in_any_split(void **state)
{
    static const char *const scenarios[] = { "tests/reference/scenarios/06_own_seed_three_years.cfg",
                                             "tests/reference/scenarios/16_every_shape.cfg" };
    static const char *const samplings[3] = { "sampling=independent", "sampling=sobol", "sampling=antithetic" };
    static const int64_t trials[2] = { 300, 2049 };
    (void)state;
    for (int s = 0; s < 6; s++)
        for (int n = 0; n < 2; n++) {
            struct tallied run;
            char one[65], many[65];
            begin_sampled(&run, scenarios[s % 2], samplings[s / 2], trials[n]);
            digest(&run, deal(&run, 1, 1), one);
            for (int tallies = 2; tallies <= 7; tallies += 5)
                for (int block = 1; block < 40; block += 36) {
                    digest(&run, deal(&run, tallies, block), many);
                    assert_string_equal(many, one);
                }
            base_arena_free(&run.arena);
        }
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Small runs: quantiles are x[floor((n-1) p)] of the sorted values, exactly; larger ones within a cell of
 * it. */
static void lower_order_statistics(void **state)
{
    enum { N = 2500 };
    static double value[N];
    static const double p[3] = { 0.10, 0.50, 0.90 };
    (void)state;
    for (int64_t n = 1; n <= N; n = n >= 2048 ? n + N - 2048 : n < 100 ? n + 33 : n < 900 ? n * 3 : 2048) {
        struct tallied run;
        begin(&run, "tests/reference/scenarios/16_every_shape.cfg", n);
        int measure = tally_find_measure("kg_left");
        for (int64_t t = 0; t < n; t++)
            value[t] = tally_measures[measure].value(run.plan,
                                                     &future_run(run.plan, run.trial, 3,
                                                                 (uint64_t)t)->year[0], SCENARIO_BEANS);
        qsort(value, (size_t)n, sizeof value[0], by_value);
        struct tally *tally = deal(&run, 2, 5);
        for (int which = 0; which < 3; which++) {
            struct tally_figure figure;
            double wanted = value[(int64_t)floor((double)(n - 1) * p[which] + 1e-9)];
            assert_true(tally_figure(tally, 0, SCENARIO_BEANS, measure, which, &figure));
            if (n <= 2048)
                assert_true(figure.value == wanted);
            else
                check_near(figure.value, wanted, 0.004);
            assert_true(figure.low <= figure.value && figure.high >= figure.value);
        }
        base_arena_free(&run.arena);
    }
}

/* What is measured of one trial at a time is what the tally adds up: every mean and quantile of every measure and food. */
static void one_trial_at_a_time(void **state)
{
    enum { N = 500 };
    static double value[N];
    (void)state;
    struct tallied run;
    begin(&run, "tests/reference/scenarios/03_copula_triplets.cfg", N);
    struct tally *tally = deal(&run, 2, 5);
    int figures = 0;
    for (int measure = 0; measure < tally_measures_n; measure++)
        for (int food = 0; food < FUTURE_FOODS; food++) {
            struct tally_figure figure;
            double sum = 0, least = 0;
            const double *p;
            int quantiles = tally_quantile_set(tally_measures[measure].quantiles, &p);
            for (int64_t t = 0; t < N; t++)
                sum += value[t] = tally_measures[measure].value(
                    run.plan, &future_run(run.plan, run.trial, 3, (uint64_t)t)->year[0], food);
            qsort(value, N, sizeof value[0], by_value);
            least = fmax(1, fabs(sum / N));
            if (tally_figure(tally, 0, food, measure, -1, &figure)) {
                check_within(figure.value, sum / N, 1e-6 * least);
                figures++;
            }
            for (int which = 0; which < quantiles; which++)
                if (tally_figure(tally, 0, food, measure, which, &figure)) {
                    double wanted = value[(int64_t)floor((N - 1) * p[which] + 1e-9)];
                    assert_int_equal(figure.never, isinf(wanted));
                    assert_true(figure.never || fabs(figure.value - wanted) <= 1e-9 * fmax(1, fabs(wanted)));
                    figures++;
                }
        }
    assert_true(figures > 100);
    base_arena_free(&run.arena);
}

static void unknown_figures(void **state)
{
    (void)state;
    struct tallied run;
    struct tally_figure figure;
    begin(&run, "tests/reference/scenarios/01_beans_certain.cfg", 5);
    struct tally *tally = deal(&run, 1, 1);
    assert_int_equal(tally_find_measure("no such measure"), -1);
    assert_false(tally_figure(tally, 0, SCENARIO_SQUASH, tally_find_measure("jars_peak"), 0, &figure));
    assert_false(tally_figure(tally, 0, SCENARIO_BEANS, tally_find_measure("jars_peak"), -1, &figure));
    assert_false(tally_figure(tally, 0, SCENARIO_BEANS, tally_find_measure("chance_short"), 0, &figure));
    assert_int_equal(tally_trials(tally), 5);
    assert_int_equal(tally_unbalanced(tally), 0);
    base_arena_free(&run.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(widths_of_cells), cmocka_unit_test(cells_of_a_column), cmocka_unit_test(ranks),
        cmocka_unit_test(merged_in_any_split), cmocka_unit_test(lower_order_statistics),
        cmocka_unit_test(one_trial_at_a_time), cmocka_unit_test(unknown_figures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
