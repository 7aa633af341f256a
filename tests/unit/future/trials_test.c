/* trials_test.c: many trials of the scenarios of tests/reference: books, weeks against years, a trial as a
 * pure function. */
#include "unit/plan/planned.h"

enum { TRIALS = 400 };

static struct plan *sampled(struct base_arena *arena, int i, const char *sampling)
{
    char path[200];
    snprintf(path, sizeof path, "tests/reference/scenarios/%s.cfg", planned_reference(i));
    return planned_file(arena, path, &sampling, 1);
}

static struct plan *reference(struct base_arena *arena, int i) { return sampled(arena, i, "sampling=independent"); }

/* Every line of every food year's books, summed here again. */
static void check_books(const struct store_books *b, const char *name, uint64_t trial)
{
    double came = b->opening + b->in;
    double went = b->eaten + b->dried_away + b->trimmed + b->lost + b->given_away + b->thrown_out + b->seed
        + b->left;
    const double lines[] = { b->opening, b->in, b->eaten, b->dried_away, b->trimmed, b->lost, b->given_away,
                             b->thrown_out, b->seed,
                             b->left, b->lost_while_wanted, b->grown, b->field_loss, b->sorted_out, b->kcal,
                                 b->protein_g };
    if (fabs(came - went) > 1e-9 * came + 1e-12) {
        print_error("%s trial %llu: %.17g came, %.17g went\n", name, (unsigned long long)trial, came, went);
        fail();
    }
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        assert_true(isfinite(lines[i]) && lines[i] >= -1e-12);
    assert_true(b->lost_while_wanted <= b->lost + 1e-12);
    assert_true(b->field_loss <= b->grown + 1e-9);
}

/* What the weeks of a food year say, summed, is what its year says. */
static void check_weeks(const struct future_ledger *ledger, const struct future_year *year)
{
    int first[FUTURE_FOODS] = { SCENARIO_NEVER, SCENARIO_NEVER, SCENARIO_NEVER };
    int shorts[FUTURE_FOODS] = { 0 }, most[SCENARIO_FOODS] = { 0 }, last = year->first_week + year->weeks;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double eaten = 0, lost = 0;
        for (int w = year->first_week; w < last; w++) {
            eaten += ledger->at.eaten_kg[food][w * PLAN_ABREAST];
            lost += ledger->at.lost_kg[food][w * PLAN_ABREAST];
            most[food] = ledger->at.count[food][w * PLAN_ABREAST] > most[food] ? ledger->at.count[food][w * PLAN_ABREAST] : most[food];
            assert_true(ledger->at.stock_kg[food][w * PLAN_ABREAST] >= -1e-9);
            assert_true(ledger->at.wanted_kg[food][w * PLAN_ABREAST] >= 0);
        }
        check_near_at(eaten, year->books[food].eaten, 1e-9, 1e-9, "eaten", __FILE__, __LINE__);
        check_near_at(lost, year->books[food].lost, 1e-9, 1e-9, "lost", __FILE__, __LINE__);
    }
    for (int food = 0; food < FUTURE_FOODS; food++) {
        for (int w = year->first_week; w < last; w++)
            if (ledger->at.is_short[food][w * PLAN_ABREAST]) {
                shorts[food]++;
                first[food] = w < first[food] ? w : first[food];
            }
        assert_int_equal(shorts[food], year->short_weeks[food]);
        assert_int_equal(first[food], year->first_short[food]);
    }
    check_near_at(year->meals_short[FUTURE_ANY], year->meals_short[0] + year->meals_short[1], 1e-9, 1e-9,
                  "meals", __FILE__, __LINE__);
    assert_true(year->jars_peak >= most[SCENARIO_BEANS] && year->fruits_peak >= most[SCENARIO_SQUASH]);
    assert_true(shorts[FUTURE_ANY] <= shorts[0] + shorts[1] && shorts[FUTURE_ANY] >= shorts[0]
                && shorts[FUTURE_ANY] >= shorts[1]);
}

static void check_ledger(const struct plan *plan, const struct future_ledger *ledger, const char *name,
                         uint64_t trial)
{
    assert_true(ledger->balanced);
    assert_true(ledger->worst_imbalance <= 1e-9);
    assert_int_equal(ledger->years_n, plan->scenario->food_years);
    assert_int_equal(ledger->first_week, ledger->year[0].first_week);
    int week = ledger->first_week;
    for (int y = 0; y < ledger->years_n; y++) {
        const struct future_year *year = &ledger->year[y];
        assert_int_equal(year->first_week, week);
        week += year->weeks;
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            check_books(&year->books[food], name, trial);
            if (y > 0)
                assert_true(year->books[food].opening == ledger->year[y - 1].books[food].left);
        }
        check_weeks(ledger, year);
        /* a food year of whole weeks; week 51 has eight days */
        int days = 7 * year->weeks;
        for (int w = year->first_week; w < year->first_week + year->weeks; w++)
            days += plan_week_of(w) == 51;
        assert_int_equal(year->days, days);
    }
    assert_int_equal(week, ledger->end_week);
}

static void books_balance(void **state)
{
    (void)state;
    double worst = 0;
    int scenarios = 0;
    for (; planned_reference(scenarios); scenarios++) {
        struct base_arena arena = { .last = NULL };
        struct plan *plan = reference(&arena, scenarios);
        struct future_trial *trial = future_room(&arena, plan);
        assert_non_null(trial);
        for (uint64_t t = 0; t < TRIALS; t++) {
            const struct future_ledger *ledger = future_run(plan, trial, 77, t);
            check_ledger(plan, ledger, planned_reference(scenarios), t);
            worst = fmax(worst, ledger->worst_imbalance);
        }
        base_arena_free(&arena);
    }
    print_message("%d scenarios, %d trials each: worst imbalance %.2g of what came in\n", scenarios,
                  (int)TRIALS, worst);
    assert_true(scenarios >= 12);
}

/* A trial's figures, to be compared bit for bit. */
static void digest(const struct future_ledger *ledger, char hex[65])
{
    struct base_sha256 sha;
    base_sha256_start(&sha);
    for (int y = 0; y < ledger->years_n; y++) {
        const struct future_year *year = &ledger->year[y];
        base_sha256_add(&sha, year->books, sizeof year->books);
        base_sha256_add(&sha, year->short_weeks, sizeof year->short_weeks);
        base_sha256_add(&sha, year->meals_short, sizeof year->meals_short);
        base_sha256_add(&sha, year->first_short, sizeof year->first_short);
        base_sha256_add(&sha, &year->weeks, sizeof year->weeks);
        base_sha256_add(&sha, &year->jars_peak, sizeof year->jars_peak);
        base_sha256_add(&sha, &year->fruits_peak, sizeof year->fruits_peak);
    }
    for (int w = ledger->first_week * PLAN_ABREAST; w < ledger->end_week * PLAN_ABREAST; w += PLAN_ABREAST) {
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            const double all[] = { ledger->at.stock_kg[food][w], ledger->at.wanted_kg[food][w], ledger->at.eaten_kg[food][w],
                                   ledger->at.lost_kg[food][w], ledger->at.count[food][w] };
            base_sha256_add(&sha, all, sizeof all);
        }
        for (int food = 0; food < FUTURE_FOODS; food++)
            base_sha256_add(&sha, &ledger->at.is_short[food][w], 1);
    }
    base_sha256_hex(&sha, hex);
}

/* The same trial in a fresh workspace and in one that has run others, in any order. */
static void pure_function(void **state)
{
    (void)state;
    for (int i = 0; planned_reference(i); i++) {
        struct base_arena arena = { .last = NULL };
        struct plan *plan = reference(&arena, i);
        struct future_trial *used = future_room(&arena, plan);
        char forwards[40][65], one[65];
        for (int t = 0; t < 40; t++)
            digest(future_run(plan, used, 5, (uint64_t)t), forwards[t]);
        for (int t = 39; t >= 0; t -= 3) {
            digest(future_run(plan, used, 5, (uint64_t)t), one);
            assert_string_equal(one, forwards[t]);
        }
        struct future_trial *fresh = future_room(&arena, plan);
        digest(future_run(plan, fresh, 5, 23), one);
        assert_string_equal(one, forwards[23]);
        for (int t = 0; t < 40; t++)            /* side by side: whoever is beside it */
            digest(future_run_block(plan, used, 5, (uint64_t)t, 1)->ledger, forwards[t]);
        for (int t = 0, n = 1; t < 40; t += n, n = n % PLAN_ABREAST + 1) {
            n = n < 40 - t ? n : 40 - t;
            const struct future_block *block = future_run_block(plan, fresh, 5, (uint64_t)t, n);
            for (int place = 0; place < n; place++) {
                digest(&block->ledger[place], one);
                assert_string_equal(one, forwards[t + place]);
            }
        }
        base_arena_free(&arena);
    }
}

static void ignore(void *context, const struct plan *plan, const struct future_season *season)
{
    (void)context, (void)plan, (void)season;
}

static void check_year(const struct future_year *a, const struct future_year *b)
{
    assert_int_equal(a->first_week, b->first_week);
    assert_int_equal(a->weeks, b->weeks);
    assert_int_equal(a->jars_peak, b->jars_peak);
    assert_int_equal(a->fruits_peak, b->fruits_peak);
    assert_int_equal(a->last_frost_week, b->last_frost_week);
    for (int food = 0; food < FUTURE_FOODS; food++) {
        assert_int_equal(a->short_weeks[food], b->short_weeks[food]);
        assert_int_equal(a->first_short[food], b->first_short[food]);
        check_within(a->meals_short[food], b->meals_short[food], 1e-9);
    }
    for (int food = 0; food < SCENARIO_FOODS; food++)
        for (size_t i = 0; i < sizeof a->books[0] / sizeof(double); i++)
            check_near_at(((const double *)&a->books[food])[i], ((const double *)&b->books[food])[i], 1e-9, 1e-9, "book",
                          __FILE__, __LINE__);
}

/* What trials side by side give, each gives on its own: someone who watches makes them run one by one. */
static void check_side_by_side(const char *sampling)
{
    int abreast = 0;
    for (int i = 0; planned_reference(i); i++) {
        struct base_arena arena = { .last = NULL };
        struct plan *plan = sampled(&arena, i, sampling);
        struct future_trial *many = future_room(&arena, plan), *one = future_room(&arena, plan);
        abreast += future_abreast_fits(plan);
        future_set_watch(one, ignore, NULL);
        for (uint64_t t = 0; t < 4000; t += PLAN_ABREAST) {
            const struct future_block *block = future_run_block(plan, many, 9, t, PLAN_ABREAST);
            for (int place = 0; place < PLAN_ABREAST; place++) {
                const struct future_ledger *a = &block->ledger[place], *b = future_run(plan, one, 9, t + (uint64_t)place);
                assert_int_equal(a->first_week, b->first_week);
                assert_int_equal(a->end_week, b->end_week);
                for (int y = 0; y < a->years_n; y++)
                    check_year(&a->year[y], &b->year[y]);
                for (int w = 0; w < plan->weeks * PLAN_ABREAST; w += PLAN_ABREAST)
                    for (int food = 0; food < SCENARIO_FOODS; food++) {
                        check_within(a->at.stock_kg[food][w], b->at.stock_kg[food][w], 1e-9);
                        check_within(a->at.wanted_kg[food][w], b->at.wanted_kg[food][w], 1e-9);
                        check_within(a->at.eaten_kg[food][w], b->at.eaten_kg[food][w], 1e-9);
                        check_within(a->at.lost_kg[food][w], b->at.lost_kg[food][w], 1e-9);
                        assert_int_equal(a->at.count[food][w], b->at.count[food][w]);
                        assert_int_equal(a->at.is_short[food][w], b->at.is_short[food][w]);
                    }
            }
        }
        base_arena_free(&arena);
    }
    assert_true(abreast >= 5);                  /* or nothing was compared */
}

static void side_by_side(void **state)
{
    (void)state;
    check_side_by_side("sampling=independent");
}

static void shared_words_side_by_side(void **state)
{
    (void)state;
    check_side_by_side("sampling=sobol");
    check_side_by_side("sampling=antithetic");
}

/* Fruits counted today are there today: whatever their life, none is lost in the week of the count. */
static void counted_today(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_CLIMATE
        "crops = { gourd = { kind = \"squash\"; fruits = 0; fruit_kg = 1.0; base_c = 10.0;"
        " heat_to_ripen = 100.0; cut_by = \"10-01\";"
        "   plant_out = \"05-20\"; poor_cure_factor = 0.7; keeps_weeks = { shape = \"weibull\"; k = 8.0;"
        " scale = 9.7; }; };"
        " bean = { kind = \"beans\"; unit_kg = 1.0; base_c = 8.0; heat_to_dry = 900.0;"
        " pick_until = \"10-20\"; plant_out = \"05-20\"; }; };"
        "plantings = { hill = { crop = \"gourd\"; count = 1; }; row = { crop = \"bean\"; count = 1; }; };"
        "household = { eaters = ( { count = 1; } ); meals = { beans = { meals_per_week = 1.0;"
        " portion_kg = 0.1; }; };"
        "   away = ( { from = \"01-01\"; until = \"12-31\"; } ); };"
        "on_shelf = { as_of = \"01-10\"; squash = ( { planting = \"hill\"; fruits = 200; kg = 1.0;"
        " cut = \"10-01\"; cured = \"poor\"; } ); };");
    struct future_trial *trial = future_room(&arena, plan);
    int lost = 0;
    for (uint64_t t = 0; t < 10000; t++) {      /* two million fruits */
        const struct future_ledger *ledger = future_run(plan, trial, 1, t);
        lost += 200 - ledger->at.count[SCENARIO_SQUASH][ledger->first_week * PLAN_ABREAST];
    }
    base_arena_free(&arena);
    assert_int_equal(lost, 0);
}

/* The usual weeks are the same whatever the random seed, also where a pilot on other luck would often have others. */
static void usual_weeks_have_own_luck(void **state)
{
    (void)state;
    struct plan_usual first = { .first_any = 0 };
    for (int seed = 1; seed <= 16; seed++) {
        struct base_arena arena = { .last = NULL };
        char text[2000];
        snprintf(text, sizeof text, "random_seed = %d; %s climate = { last_frost = \"05-01\"; first_hard_frost = {"
                 " shape = \"normal\"; mean = \"10-10\"; sd = 40.0; }; %s }; crops = { gourd = { kind = \"squash\"; fruits = 1;"
                 " fruit_kg = 1.0; base_c = 10.0; heat_to_ripen = 100.0; keeps_weeks = 9.0; cut_by = \"12-31\";"
                 " plant_out = \"05-20\"; }; }; plantings = { hill = { crop = \"gourd\"; count = 1; }; };", seed, PLANNED_EATERS,
                 PLANNED_NORMALS);
        struct plan_usual usual;
        memset(&usual, 0, sizeof usual);
        assert_int_equal(future_pilot(planned(&arena, text), &usual), BASE_OK);
        if (seed == 1)
            first = usual;
        assert_memory_equal(&usual, &first, sizeof usual);
        base_arena_free(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(books_balance), cmocka_unit_test(pure_function), cmocka_unit_test(side_by_side), cmocka_unit_test(shared_words_side_by_side), cmocka_unit_test(counted_today),
        cmocka_unit_test(usual_weeks_have_own_luck),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
