/* harvest_test.c: what a planting gives in a season: luck by name and unit, wind, frost, parts of a unit,
 * first weeks. */
#include "unit/plan/planned.h"

#define CLIMATE \
    "climate = { last_frost = { shape = \"normal\"; mean = \"05-14\"; sd = 9.0; };" \
    " first_hard_frost = { shape = \"normal\"; mean = \"10-10\"; sd = 14.0; }; warmth = {" \
    " shape = \"normal\"; mean = 0.0; sd = 0.9; };" \
    PLANNED_NORMALS " };"
#define CROPS \
    "crops = { bean = { kind = \"beans\"; unit_kg = { shape = \"gamma\"; mean = 0.7; sd = 0.3; };" \
    " base_c = 8.0;" \
    "   heat_to_dry = { shape = \"normal\"; mean = 900.0; sd = 100.0; }; pick_until = \"11-05\";" \
    " plant_out = \"05-20\"; };" \
    " gourd = { kind = \"squash\"; fruits = { shape = \"poisson\"; mean = 4.0; }; fruit_kg = { p10 = 1.2;" \
    " p50 = 2.0; p90 = 3.1; };" \
    "   base_c = 10.0; heat_to_ripen = { shape = \"normal\"; mean = 600.0; sd = 80.0; };" \
    " cut_by = \"10-05\"; plant_out = \"05-25\";" \
    "   cures_well = 0.8; poor_cure_factor = 0.5; unripe_factor = 0.3;" \
    "   keeps_weeks = { shape = \"weibull\"; k = 2.4; scale = 24.0; }; }; };"

/* A planting's season in a plan: its own copy of what the workspace holds. */
struct given { int n, cut_day, first_week; double grown_kg, lost_kg, kg[400], life[400]; int cure[400]; };

static struct given grown(const struct plan *plan, struct harvest *room, int planting, double count,
                          uint64_t trial)
{
    struct given given = { .n = 0 };
    struct season season;
    double factor[8];
    uint64_t key = chance_season_key(11, trial, 0);
    season_draw(plan, key, NULL, &season);
    harvest_year_factors(plan, key, &season, factor);
    harvest_draw(plan, planting, count, key, &season, factor[plan->plantings[planting].crop_index],
                 &room[planting]);
    const struct harvest *h = &room[planting];
    given.grown_kg = h->grown_kg;
    given.lost_kg = h->field_loss_kg;
    if (plan->plantings[planting].kind == SCENARIO_KIND_BEANS) {
        given.first_week = h->first_week;
    } else {
        given.n = h->n;
        given.cut_day = h->cut_day;
        given.first_week = h->n > 0 ? h->cut_week : SCENARIO_NEVER;
        for (int f = 0; f < h->n && f < 400; f++) {
            given.kg[f] = h->kg[f];
            given.life[f] = h->life_weeks[f];
            given.cure[f] = h->cure[f];
        }
    }
    assert_int_equal(harvest_first_week(plan, planting, count, key, &season), given.first_week);
    return given;
}

static struct harvest *room_of(struct base_arena *arena, const struct plan *plan)
{
    struct harvest *room = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *room);
    assert_non_null(room);
    assert_true(harvest_room(arena, plan, room));
    return room;
}

/* Bit for bit: the first three plants' fruits are the same whether there is a fourth or not; so are beans,
 * summed in order. */
static void a_fourth_unit(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS CLIMATE CROPS
        "plantings = { hill = { crop = \"gourd\"; count = 4; }; row = { crop = \"bean\"; count = 4; }; };");
    struct harvest *room = room_of(&arena, plan);
    for (uint64_t trial = 0; trial < 300; trial++) {
        struct given three = grown(plan, room, 0, 3, trial), four = grown(plan, room, 0, 4, trial);
        assert_true(four.n >= three.n);
        assert_memory_equal(four.kg, three.kg, (size_t)three.n * sizeof four.kg[0]);
        assert_memory_equal(four.life, three.life, (size_t)three.n * sizeof four.life[0]);
        assert_memory_equal(four.cure, three.cure, (size_t)three.n * sizeof four.cure[0]);
        assert_int_equal(four.cut_day, three.cut_day);
        struct given beans = grown(plan, room, 1, 3, trial), more = grown(plan, room, 1, 4, trial),
            half = grown(plan, room, 1, 3.5, trial);
        assert_true(more.grown_kg > beans.grown_kg);
        check_near(half.grown_kg - beans.grown_kg, (more.grown_kg - beans.grown_kg) / 2, 1e-12);
    }
    base_arena_free(&arena);
}

/* The same planting, alone, after others, before others: the same season, bit for bit. */
static void among_others(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *alone = planned(&arena, PLANNED_EATERS CLIMATE CROPS
        "plantings = { hill = { crop = \"gourd\"; count = 3; }; };");
    struct plan *last = planned(&arena, PLANNED_EATERS CLIMATE CROPS
        "plantings = { a = { crop = \"bean\"; count = 3; }; b = { crop = \"gourd\"; count = 30; };"
        " hill = { crop = \"gourd\"; count = 3; }; };");
    struct harvest *room = room_of(&arena, alone), *last_room = room_of(&arena, last);
    int differs = 0;
    for (uint64_t trial = 0; trial < 200; trial++) {
        struct given one = grown(alone, room, 0, 3, trial), same = grown(last, last_room, 2, 3, trial);
        struct given other = grown(last, last_room, 1, 3, trial);
        assert_memory_equal(&one, &same, sizeof one);
        differs += other.n != one.n || other.grown_kg != one.grown_kg;
    }
    assert_true(differs > 190);
    base_arena_free(&arena);
}

/* A part of a plant bears the first fruits' luck: never more than the whole plant, and often less. */
static void part_of_a_plant(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS CLIMATE CROPS
        "plantings = { hill = { crop = \"gourd\"; count = 2; }; };");
    struct harvest *room = room_of(&arena, plan);
    int fewer = 0, whole = 0;
    for (uint64_t trial = 0; trial < 400; trial++) {
        struct given one = grown(plan, room, 0, 1, trial), part = grown(plan, room, 0, 1.3, trial),
            two = grown(plan, room, 0, 2, trial);
        assert_true(part.n >= one.n && part.n <= two.n);
        fewer += part.n - one.n;
        whole += two.n - one.n;
        /* that near to a whole number is one */
        assert_int_equal(grown(plan, room, 0, 2 - 1e-12, trial).n, two.n);
    }
    assert_true(fewer > 0.2 * whole && fewer < 0.4 * whole);       /* 0.3 of about 1,600 */
    base_arena_free(&arena);
}

static void certain_fates(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned(&arena, PLANNED_EATERS
        "climate = { last_frost = \"05-25\"; first_hard_frost = \"10-03\"; " PLANNED_NORMALS " };"
        "crops = { gourd = { kind = \"squash\"; fruits = 3; fruit_kg = 2.0; base_c = 10.0;"
        " heat_to_ripen = 100.0; keeps_weeks = 20.0;"
        "   cut_by = \"10-10\"; plant_out = \"05-20\"; };"
        " frosted = { kind = \"squash\"; fruits = 3; fruit_kg = 2.0; base_c = 10.0; heat_to_ripen = 100.0;"
        " keeps_weeks = 20.0;"
        "   cut_by = \"10-10\"; plant_out = \"05-20\"; waits_for_frost = false; };"
        " blown = { kind = \"squash\"; fruits = 3; fruit_kg = 2.0; base_c = 10.0; heat_to_ripen = 100.0;"
        " keeps_weeks = 20.0;"
        "   cut_by = \"09-10\"; plant_out = \"05-20\"; blow_down = 1.0; };"
        " beans = { kind = \"beans\"; unit_kg = 2.0; base_c = 8.0; heat_to_dry = 9000.0;"
        " pick_until = \"10-20\"; plant_out = \"05-20\"; }; };"
        "plantings = { a = { crop = \"gourd\"; count = 2; }; b = { crop = \"frosted\"; count = 2; }; c = {"
        " crop = \"blown\"; count = 2; };"
        " d = { crop = \"beans\"; count = 2.5; }; };");
    struct harvest *room = room_of(&arena, plan);
    struct given a = grown(plan, room, 0, 2, 1), b = grown(plan, room, 1, 2, 1),
        c = grown(plan, room, 2, 2, 1), d = grown(plan, room, 3, 2.5, 1);
    assert_int_equal(a.n, 6);
    assert_int_equal(a.cut_day, 215);           /* the day before 3 October, day 216 */
    check_near(a.grown_kg, 12, 1e-15);
    assert_int_equal(b.n, 0);                   /* killed by a frost after planting out */
    check_within(b.grown_kg, 0, 0);
    assert_int_equal(c.n, 0);                   /* all blown down: grown, and lost in the field */
    check_near(c.grown_kg, 12, 1e-15);
    check_near(c.lost_kg, 12, 1e-15);
    check_near(d.grown_kg, 5, 1e-15);           /* never dry: all lost */
    check_near(d.lost_kg, 5, 1e-12);
    assert_int_equal(d.first_week, SCENARIO_NEVER);
    base_arena_free(&arena);
}

/* Out: plant_out, or the day after the last frost; picking ends by pick_until, cutting by cut_by, both before the first hard frost,
 * neither before planting out. What is dry is told by the heat between: here as much of it as a uniform need says. */
static void dates_of_a_season(void **state)
{
    (void)state;
    static const struct { const char *last_frost, *hard_frost, *until, *out, *picked, *cut; } given_dates[] = {
        { "05-01", "11-10", "10-20", "05-20", "10-20", "10-20" }, { "06-09", "11-10", "10-20", "06-10", "10-20", "10-20" },
        { "05-20", "09-30", "10-20", "05-21", "09-29", "09-28" }, { "05-19", "10-21", "10-20", "05-20", "10-20", "10-19" },
        { "08-01", "11-10", "07-01", "08-02", "08-02", "08-02" },
    };
    for (size_t i = 0; i < sizeof given_dates / sizeof given_dates[0]; i++) {
        struct base_arena arena = { .last = NULL };
        char text[3000];
        snprintf(text, sizeof text, "%s climate = { last_frost = \"%s\"; first_hard_frost = \"%s\"; %s };"
                 " crops = { bean = { kind = \"beans\"; unit_kg = 1.0; base_c = 8.0; plant_out = \"05-20\"; pick_until = \"%s\";"
                 " heat_to_dry = { shape = \"uniform\"; low = 0.0; high = 4000.0; }; }; gourd = { kind = \"squash\"; fruits = 1;"
                 " fruit_kg = 1.0; base_c = 10.0; heat_to_ripen = 1.0; keeps_weeks = 9.0; plant_out = \"05-20\"; cut_by = \"%s\";"
                 " cut_before_frost_days = 2; }; };"
                 " plantings = { row = { crop = \"bean\"; count = 1; }; hill = { crop = \"gourd\"; count = 1; }; };", PLANNED_EATERS,
                 given_dates[i].last_frost, given_dates[i].hard_frost, PLANNED_NORMALS, given_dates[i].until, given_dates[i].until);
        struct plan *plan = planned(&arena, text);
        struct harvest *room = room_of(&arena, plan);
        struct season season;
        season_draw(plan, chance_season_key(11, 1, 0), NULL, &season);
        const int out = base_day_of_year(given_dates[i].out) - 59, end = base_day_of_year(given_dates[i].picked) - 59;
        struct given beans = grown(plan, room, 0, 1, 1), squash = grown(plan, room, 1, 1, 1);
        double dry = (season_heat(plan, &season, 0, end) - season_heat(plan, &season, 0, out)) / 4000;
        check_within(1 - beans.lost_kg / beans.grown_kg, dry, 1e-9);
        assert_int_equal(room[0].last_week, plan_week(end));
        assert_int_equal(squash.cut_day, base_day_of_year(given_dates[i].cut) - 59);
        base_arena_free(&arena);
    }
}

enum { SIDE = PLAN_ABREAST };

/* Trials side by side against each on its own. */
struct side {
    uint64_t key[SIDE];
    struct season_abreast weather;
    struct season_weeks weeks;
    double factor[20 * SIDE];
    struct harvest *one;
    struct harvest_picked picked;
};

static void check_beans(const struct plan *plan, struct side *side, int planting)
{
    const struct plan_planting *p = &plan->plantings[planting];
    struct harvest_picked *all = &side->picked;
    harvest_beans_abreast(plan, p, side->key, &side->weather, side->factor + p->crop_index * SIDE, SIDE, &side->weeks, all);
    for (int i = 0; i < SIDE; i++) {
        struct season season = season_at(&side->weather, i);
        struct harvest *one = &side->one[planting];
        harvest_draw(plan, planting, p->planting->count, side->key[i], &season, side->factor[p->crop_index * SIDE + i], one);
        assert_true(one->grown_kg == all->grown_kg[i] && one->field_loss_kg == all->field_loss_kg[i]);
        assert_true(one->sorted_out == all->sorted_out[i]);
        assert_int_equal(one->first_week, all->first_week[i]);
        assert_int_equal(one->last_week, all->last_week[i]);
        for (int w = all->first; w <= all->last; w++) {
            bool comes = w >= one->first_week && w <= one->last_week;
            assert_true(all->arrives_kg[w * SIDE + i] == (comes ? one->arrives_kg[w] : 0));
        }
    }
}

static void check_squash(const struct plan *plan, const struct side *side, int planting, struct harvest_abreast *all)
{
    const struct plan_planting *p = &plan->plantings[planting];
    harvest_squash_abreast(plan, p, side->key, &side->weather, side->factor + p->crop_index * SIDE, SIDE, all);
    for (int i = 0; i < SIDE; i++) {
        struct season season = season_at(&side->weather, i);
        struct harvest *one = &side->one[planting];
        harvest_draw(plan, planting, p->planting->count, side->key[i], &season, side->factor[p->crop_index * SIDE + i], one);
        assert_int_equal(one->n, all->n[i]);
        assert_int_equal(one->cut_day, all->cut_day[i]);
        check_near(one->grown_kg, all->grown_kg[i], 1e-14);
        check_within(one->field_loss_kg, all->field_loss_kg[i], 1e-12 * one->grown_kg);
        for (int f = 0, at = all->start[i]; f < one->n; f++, at++) {
            assert_true(one->kg[f] == all->kg[at] && one->life_weeks[f] == all->life_weeks[at]);
            assert_true(one->cure[f] == all->cure[at]);
        }
    }
}

static void check_first_weeks(const struct plan *plan, const struct side *side)
{
    int first[SIDE];
    for (int t = 0; t < SIDE; t++)
        first[t] = SCENARIO_NEVER;
    harvest_first_weeks(plan, side->key, &side->weather, NULL, true, first);
    for (int i = 0; i < SIDE; i++) {
        struct season season = season_at(&side->weather, i);
        int earliest = SCENARIO_NEVER;
        for (int p = 0; p < plan->plantings_n; p++) {
            int week = harvest_first_week(plan, p, plan->plantings[p].planting->count, side->key[i], &season);
            earliest = week < earliest ? week : earliest;
        }
        assert_int_equal(earliest, first[i]);
    }
}

static void check_abreast(struct base_arena *arena, const struct plan *plan)
{
    struct side side;
    side.one = room_of(arena, plan);
    assert_true(harvest_picked_room(arena, &side.picked));
    struct harvest_abreast *cut = base_arena_array(arena, (size_t)plan->squash_n + 1, sizeof *cut);
    assert_true(cut && plan->crops_n <= 20);
    for (int i = 0; i < plan->squash_n; i++)
        assert_true(harvest_abreast_room(arena, &plan->plantings[plan->squash[i]], &cut[i]));
    for (uint64_t block = 0; block < 60; block++) {
        for (uint64_t i = 0; i < SIDE; i++)
            side.key[i] = chance_season_key(23, block * SIDE + i, 1);
        season_draw_abreast(plan, 1, side.key, NULL, &side.weather);
        season_forget_weeks(&side.weeks);
        harvest_year_factors_abreast(plan, side.key, &side.weather, side.factor);
        for (int i = 0; i < SIDE; i++) {
            double factor[20];
            struct season season = season_at(&side.weather, i);
            harvest_year_factors(plan, side.key[i], &season, factor);
            for (int c = 0; c < plan->crops_n; c++)
                assert_true(factor[c] == side.factor[c * SIDE + i]);
        }
        for (int i = 0; i < plan->beans_n; i++)
            check_beans(plan, &side, plan->beans[i]);
        for (int i = 0; i < plan->squash_n; i++)
            check_squash(plan, &side, plan->squash[i], &cut[i]);
        check_first_weeks(plan, &side);
    }
}

/* In the scenarios of tests/reference, which use every feature, and with more units than are drawn at a time, poor heat,
 * wind, frost and a part of a unit. */
static void abreast(void **state)
{
    (void)state;
    for (int k = 0; planned_reference(k); k++) {
        struct base_arena arena = { .last = NULL };
        char path[200];
        snprintf(path, sizeof path, "tests/reference/scenarios/%s.cfg", planned_reference(k));
        check_abreast(&arena, planned_file(&arena, path, NULL, 0));
        base_arena_free(&arena);
    }
    struct base_arena arena = { .last = NULL };
    check_abreast(&arena, planned(&arena, PLANNED_EATERS CLIMATE
        "crops = { bean = { kind = \"beans\"; unit_kg = { shape = \"gamma\"; mean = 0.7; sd = 0.3; }; base_c = 8.0;"
        "   heat_to_dry = { shape = \"normal\"; mean = 1100.0; sd = 60.0; }; pick_until = \"10-05\"; plant_out = \"05-16\";"
        "   waits_for_frost = false; frost_kills = 0.5; blow_down = 0.4; support = \"each\"; blow_down_loses = 1.0;"
        "   stands = { p10 = 0.2; p50 = 0.5; p90 = 0.8; }; first_pick_share = 0.0; follows_warmth = 0.4;"
        "   year_factor = { p10 = 0.7; p50 = 1.0; p90 = 1.2; }; finish_indoors_heat = 90.0; finish_share = 0.8; }; };"
        "plantings = { many = { crop = \"bean\"; count = 38.4; }; few = { crop = \"bean\"; count = 0.6; };"
        "   none = { crop = \"bean\"; count = 0.0; }; };"));
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fourth_unit), cmocka_unit_test(among_others), cmocka_unit_test(part_of_a_plant),
        cmocka_unit_test(certain_fates), cmocka_unit_test(dates_of_a_season), cmocka_unit_test(abreast),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
