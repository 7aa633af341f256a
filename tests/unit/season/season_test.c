/* season_test.c: frost dates and warmth drawn jointly; recorded seasons drawn whole. */
#include "unit/plan/planned.h"
#include "unit/temporary.h"

#define CROPS \
    "crops = { bean = { kind = \"beans\"; unit_kg = 1.0; base_c = 8.0; heat_to_dry = 900.0; }; };" \
    "plantings = { row = { crop = \"bean\"; count = 1; plant_out = \"05-20\"; pick_until = \"10-20\"; }; };"

/* Trials side by side have the same weather to the last bit. */
static void check_abreast(const struct plan *plan)
{
    const bool heats = plan->weather.bases > 0;
    for (int block = 0; block < 100; block++) {
        uint64_t key[PLAN_ABREAST];
        struct season_abreast all;
        double heat[PLAN_ABREAST];
        int day[PLAN_ABREAST], number = block % 2;
        for (int i = 0; i < PLAN_ABREAST; i++) {
            key[i] = chance_season_key(3, (uint64_t)(block * PLAN_ABREAST + i), number);
            day[i] = -3 + 37 * ((block + i) % 11);
        }
        season_draw_abreast(plan, number, key, NULL, &all);
        if (heats)
            season_heat_abreast(plan, &all, plan->weather.bases - 1, day, heat);
        for (int i = 0; i < PLAN_ABREAST; i++) {
            struct season one, of = season_at(&all, i);
            if (number == 0 && plan->weather.this_season.known_n > 0)
                season_draw_known(plan, key[i], NULL, &one);
            else
                season_draw(plan, key[i], NULL, &one);
            assert_true(one.last_frost == of.last_frost && one.first_hard_frost == of.first_hard_frost);
            assert_true(one.score == of.score && one.at == of.at && one.next == of.next);
            assert_memory_equal(one.weight, of.weight, sizeof one.weight);
            assert_true(!heats || heat[i] == season_heat(plan, &one, plan->weather.bases - 1, day[i]));
        }
    }
}

static void certain(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS PLANNED_CLIMATE CROPS);
    int above = 0;
    for (uint64_t trial = 0; trial < 100; trial++) {
        struct season season, again;
        season_draw(plan, chance_season_key(1, trial, 0), NULL, &season);
        assert_int_equal(season.last_frost, 61);        /* 1 May, from 1 March */
        assert_int_equal(season.first_hard_frost, 254); /* 10 November */
        season_draw(plan, chance_season_key(1, trial, 0), NULL, &again);
        assert_true(season.score == again.score);
        above += season.score > 0;
        check_within(season_heat(plan, &season, 0, -5), 0, 0);
        check_within(season_heat(plan, &season, 0, 0), 0, 0);
        assert_true(season_heat(plan, &season, 0, 365) == season_heat(plan, &season, 0, 999));
    }
    assert_true(above > 25 && above < 75);              /* warmth is 0, but its score is drawn */
    base_arena_free(&arena);
}

/* Sample correlations of three normal scores: their standard error is (1 - r^2)/sqrt(n) (Fisher 1915); 4.5
 * of them for each
 * of the three and for six moments is a false alarm in 16,000 runs, and the luck is fixed. */
static void copula(void **state)
{
    enum { N = 40000 };
    static const double wanted[3] = { -0.3, -0.5, 0.4 };
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS CROPS
        "climate = { last_frost = { shape = \"normal\"; mean = \"05-10\"; sd = 40.0; };"
        " first_hard_frost = { shape = \"normal\"; mean = \"10-10\"; sd = 40.0; }; warmth = {"
        " shape = \"normal\"; mean = 0.0; sd = 1.0; };"
        " correlation = ( [ 1.0, -0.3, -0.5 ], [ -0.3, 1.0, 0.4 ], [ -0.5, 0.4,"
        " 1.0 ] );" PLANNED_NORMALS " };");
    double sum[3] = { 0 }, product[3][3] = { { 0 } };
    for (uint64_t trial = 0; trial < N; trial++) {
        struct season season;
        season_draw(plan, chance_season_key(7, trial, 0), NULL, &season);
        const double z[3] = { (season.last_frost - 70) / 40.0, (season.first_hard_frost - 223) / 40.0,
                              season.score };
        for (int i = 0; i < 3; i++) {
            sum[i] += z[i];
            for (int j = 0; j < 3; j++)
                product[i][j] += z[i] * z[j];
        }
    }
    for (int i = 0; i < 3; i++) {
        check_within(sum[i] / N, 0, 4.5 / sqrt(N));
        /* rounding to days: 1/12 of 1/1600 */
        check_within(product[i][i] / N, 1, 4.5 * sqrt(2.0 / N) + 1e-4);
    }
    for (int k = 0; k < 3; k++) {
        int i = k == 2, j = k == 0 ? 1 : 2;
        double r = product[i][j] / sqrt(product[i][i] * product[j][j]);
        check_within(r, wanted[k], 4.5 * (1 - wanted[k] * wanted[k]) / sqrt(N));
    }
    base_arena_free(&arena);
}

/* Scores that are those of a trivariate normal, and what is known of season 0. */
static struct plan *trivariate(struct base_arena *arena, const char *this_season)
{
    char text[2000];
    snprintf(text, sizeof text, "%s climate = { last_frost = { shape = \"normal\"; mean = \"05-10\"; sd = 40.0; };"
             " first_hard_frost = { shape = \"normal\"; mean = \"10-10\"; sd = 40.0; }; warmth = {"
             " shape = \"normal\"; mean = 0.0; sd = 1.0; }; this_season = { %s }; correlation = ( [ 1.0, -0.3, -0.5 ],"
             " [ -0.3, 1.0, 0.4 ], [ -0.5, 0.4, 1.0 ] ); %s };", PLANNED_EATERS CROPS, this_season, PLANNED_NORMALS);
    return planned(arena, text);
}

/* Of a known last frost a standard deviation late and a known warmth, the rest is drawn given it: the conditional mean and variance
 * of a trivariate normal (closed form: r' R^-1 z, 1 - r' R^-1 r). */
static void known_season(void **state)
{
    enum { N = 40000 };
    (void)state;
    static const char *const known[3] = { "last_frost = \"06-19\";", "warmth = 1.5;", "last_frost = \"06-19\"; warmth = 1.5;" };
    static const double mean[3] = { -0.3, 0.6, (-0.3 + 0.2 + 1.5 * (0.4 - 0.15)) / 0.75 };
    static const double variance[3] = { 0.91, 0.84, 1 - (0.09 + 0.16 - 2 * 0.3 * 0.5 * 0.4) / 0.75 };
    for (int k = 0; k < 3; k++) {
        struct base_arena arena = { .last = NULL };
        struct plan *plan = trivariate(&arena, known[k]);
        check_abreast(plan);
        double sum = 0, square = 0;
        for (uint64_t trial = 0; trial < N; trial++) {
            struct season season;
            season_draw_known(plan, chance_season_key(7, trial, 0), NULL, &season);
            double z = (season.first_hard_frost - 223) / 40.0;
            if (k != 1)
                assert_int_equal(season.last_frost, 110);
            if (k != 0)
                check_within(season.score, 1.5, 1e-5);
            sum += z;
            square += z * z;
        }
        check_within(sum / N, mean[k], 4.5 * sqrt(variance[k] / N) + 1e-3);
        check_within(square / N - sum / N * sum / N, variance[k], 4.5 * variance[k] * sqrt(2.0 / N) + 1e-3);
        base_arena_free(&arena);
    }
}

/* Of a season of which a share f is past, 1.5 degrees too warm so far: warmth is f 1.5 with variance 1 - f, and a hard frost correlated
 * 0.4 with it lies 0.4 times as far, with variance 1 - 0.16 f (the closed form above, with the score of what is past
 * sqrt(f) 1.5 and its correlations sqrt(f) times the season's). With a known last frost the three are a trivariate normal again. */
static void known_part(void **state)
{
    enum { N = 40000 };
    (void)state;
    static const char *const given[4] = { "warmth = 1.5; as_of = \"06-20\";", "warmth = 1.5; as_of = \"12-01\";", "warmth = 1.5;",
                                          "warmth = 1.5; as_of = \"06-20\"; last_frost = \"06-19\";" };
    const double third = 51 / 153.0;        /* 1 May to 20 June, both days in, of 153 to 30 September */
    for (int k = 0; k < 4; k++) {
        struct base_arena arena = { .last = NULL };
        struct plan *plan = trivariate(&arena, given[k]);
        double sum[2] = { 0, 0 }, square[2] = { 0, 0 }, f = k == 0 || k == 3 ? third : 1, s = sqrt(f);
        for (uint64_t trial = 0; trial < N; trial++) {
            struct season season;
            season_draw_known(plan, chance_season_key(7, trial, 0), NULL, &season);
            const double z[2] = { season.score, (season.first_hard_frost - 223) / 40.0 };
            for (int i = 0; i < 2; i++) {
                sum[i] += z[i] / N;
                square[i] += z[i] * z[i] / N;
            }
        }
        double mean[2] = { 1.5 * f, 0.4 * 1.5 * f }, variance[2] = { 1 - f, 1 - 0.16 * f };
        if (k == 3)                         /* given scores 1 of the last frost and s 1.5 of the part: r' R^-1 z, 1 - r' R^-1 r */
            for (int i = 0; i < 2; i++) {
                double a = i == 0 ? -0.5 : -0.3, b = s * (i == 0 ? 1 : 0.4), c = -0.5 * s, z = s * 1.5;
                mean[i] = (a * (1 - c * z) + b * (z - c)) / (1 - c * c);
                variance[i] = 1 - (a * a - 2 * a * b * c + b * b) / (1 - c * c);
            }
        for (int i = 0; i < 2; i++) {
            check_within(sum[i], mean[i], 4.5 * sqrt(variance[i] / N) + 1e-3);
            check_within(square[i] - sum[i] * sum[i], variance[i], 4.5 * variance[i] * sqrt(2.0 / N) + 1e-3);
        }
        base_arena_free(&arena);
    }
}

/* A warmth that is certain moves with what is known of the season, wholly or in part; a stock-take says until when. */
static void known_of_the_certain(void **state)
{
    (void)state;
    static const char *const given[3] = { "", "as_of = \"06-20\";", "" };
    static const double warmth_c[3] = { 3, 1, 1 };
    for (int k = 0; k < 3; k++) {
        struct base_arena arena = { .last = NULL };
        char text[2000];
        snprintf(text, sizeof text, "%s climate = { last_frost = \"05-01\"; first_hard_frost = \"11-10\"; warmth = 0.0;"
                 " this_season = { warmth = 3.0; %s }; %s }; %s", PLANNED_EATERS CROPS, given[k], PLANNED_NORMALS,
                 k == 2 ? "on_shelf = { as_of = \"06-20\"; };" : "");
        struct plan *plan = planned(&arena, text);
        struct season usual, season;
        season_draw(plan, chance_season_key(7, 1, 0), NULL, &usual);
        season_draw_known(plan, chance_season_key(7, 1, 0), NULL, &season);
        double heat = season_heat(plan, &season, 0, 160) - season_heat(plan, &season, 0, 130);
        double without = season_heat(plan, &usual, 0, 160) - season_heat(plan, &usual, 0, 130);
        check_near(heat - without, 30 * warmth_c[k], 1e-4); /* July is above the base all day */
        base_arena_free(&arena);
    }
}

/* A date in the second half of the year is before its beginning: a mild coast's last frost in February. */
static void frost_before_the_year(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS CROPS
        "climate = { last_frost = \"02-10\"; first_hard_frost = \"12-20\"; " PLANNED_NORMALS " };");
    struct season season;
    season_draw(plan, chance_season_key(1, 1, 0), NULL, &season);
    assert_int_equal(season.last_frost, -19);           /* 10 February: 19 days before 1 March */
    assert_int_equal(season.first_hard_frost, 294);
    base_arena_free(&arena);
}

/* Every recorded season is drawn with equal chance, with its own frosts, score and heat. */
static void recorded(void **state)
{
    enum { N = 12000 };
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned_file(&arena, "tests/reference/scenarios/04_records_weather.cfg", NULL, 0);
    int rows = plan->weather.rows, drawn[400] = { 0 };
    assert_true(plan->weather.recorded && rows > 1 && rows < 400);
    for (uint64_t trial = 0; trial < N; trial++) {
        struct season season;
        season_draw(plan, chance_season_key(5, trial, 2), NULL, &season);
        int row = (int)(season.at / PLAN_HEAT_ROW);
        assert_true(row >= 0 && row < rows);
        drawn[row]++;
        assert_int_equal(season.last_frost, plan->weather.row_last_frost[row]);
        assert_int_equal(season.first_hard_frost, plan->weather.row_first_hard_frost[row]);
        assert_true(season.score == plan->weather.row_score[row]);
        assert_true(season_heat(plan, &season, 0, 200) == plan->weather.heat[0][season.at + 200].heat);
    }
    double chi2 = 0, each = (double)N / rows;
    for (int row = 0; row < rows; row++)
        chi2 += (drawn[row] - each) * (drawn[row] - each) / each;
    /* chi-squared, rows - 1 degrees of freedom */
    assert_true(chi2 < rows - 1 + 4.5 * sqrt(2.0 * (rows - 1)) + 8);
    double sum = 0;
    for (int row = 0; row < rows; row++)
        sum += plan->weather.row_score[row];
    check_within(sum, 0, 1e-5 * rows);                  /* scores are symmetric about 0 */
    base_arena_free(&arena);
}

/* A record of three years at 5 and 15 degrees, written with what is set for some days of the simulation year that begins in a year. */
struct odd_day { int year, day; double tmin_c, tmax_c; };

static void write_record(const char *path, const struct odd_day *odd, int n)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fprintf(file, "date,tmin,tmax\n");
    for (int at = 0; at < 3 * SCENARIO_DAYS; at++) {
        char mm_dd[6];
        double tmin_c = 5, tmax_c = 15;
        base_mm_dd((59 + at) % SCENARIO_DAYS, mm_dd);
        for (int i = 0; i < n; i++)
            if (odd[i].year == at / SCENARIO_DAYS && odd[i].day == at % SCENARIO_DAYS) {
                tmin_c = odd[i].tmin_c;
                tmax_c = odd[i].tmax_c;
            }
        fprintf(file, "%d-%s,%g,%g\n", 2001 + (59 + at) / SCENARIO_DAYS, mm_dd, tmin_c, tmax_c);
    }
    assert_int_equal(fclose(file), 0);
}

/* A plan whose weather is such a record. */
static struct plan *recorded_plan(struct base_arena *arena, const struct odd_day *odd, int n)
{
    char path[256], text[1000];
    temporary_file(path, "");
    write_record(path, odd, n);
    snprintf(text, sizeof text, "%s climate = { records_file = \"%s\"; hard_frost_c = -1.5; };", PLANNED_EATERS CROPS, path);
    struct plan *plan = planned(arena, text);
    unlink(path);
    return plan;
}

/* A recorded season's own frosts and score: the last minimum at or below 0 up to day 137, the first at or below hard_frost_c after
 * it; ranked by the heat above 10 degrees of days 61 to 213, like seasons in the order of the file. */
static void own_frosts_and_score(void **state)
{
    static const struct odd_day odd[] = {
        { 0, 20, -3, 15 }, { 0, 61, 0, 15 }, { 0, 62, 0.1, 15 }, { 0, 240, -1.4, 15 }, { 0, 241, -1.5, 15 }, { 0, 250, -9, 15 },
        { 1, 137, 0, 15 }, { 1, 138, -2.5, 15 },
        { 2, 61, 12, 15 }, { 2, 60, 5, 40 }, { 2, 214, 5, 40 }, { 1, 213, 12, 15 }, { 1, 61, 12, 15 },
    };
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = recorded_plan(&arena, odd, (int)(sizeof odd / sizeof odd[0]));
    assert_int_equal(plan->weather.rows, 3);
    static const int last[3] = { 61, 137, -1 }, hard[3] = { 241, 138, SCENARIO_DAYS };
    /* Warm days: 12 and 15 degrees give 3.5 degree-days, 5 and 15 less than 2.5; the third season has one of them, the second two. */
    static const double score[3] = { -0.967421566, 0.967421566, 0 };   /* normal scores of 1/6, 5/6, 1/2 */
    for (int row = 0; row < 3; row++) {
        assert_int_equal(plan->weather.row_last_frost[row], last[row]);
        assert_int_equal(plan->weather.row_first_hard_frost[row], hard[row]);
        check_within(plan->weather.row_score[row], score[row], 1e-6);
    }
    base_arena_free(&arena);
}

/* Three years alike in warmth rank in the order of the file. */
static void ties_in_rank(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = recorded_plan(&arena, NULL, 0);
    assert_true(plan->weather.row_score[0] < plan->weather.row_score[1]);
    assert_true(plan->weather.row_score[1] < plan->weather.row_score[2]);
    base_arena_free(&arena);
}

static void abreast(void **state)
{
    (void)state;
    for (int k = 0; planned_reference(k); k++) {
        struct base_arena arena = { .last = NULL };
        char path[200];
        snprintf(path, sizeof path, "tests/reference/scenarios/%s.cfg", planned_reference(k));
        check_abreast(planned_file(&arena, path, NULL, 0));
        base_arena_free(&arena);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(certain), cmocka_unit_test(copula), cmocka_unit_test(known_season), cmocka_unit_test(known_part),
        cmocka_unit_test(known_of_the_certain),
        cmocka_unit_test(frost_before_the_year),
        cmocka_unit_test(recorded), cmocka_unit_test(own_frosts_and_score), cmocka_unit_test(ties_in_rank),
        cmocka_unit_test(abreast),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
