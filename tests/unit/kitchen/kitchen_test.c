/* kitchen_test.c: one week at the table: what is wanted, served, eaten in the other's stead, eked out, and
 * short. */
#include "unit/plan/planned.h"

#define CROPS PLANNED_CLIMATE \
    "crops = { gourd = { kind = \"squash\"; fruits = 9; fruit_kg = 1.0; base_c = 10.0;" \
    " heat_to_ripen = 100.0; cut_by = \"10-01\";" \
    "   plant_out = \"05-20\"; keeps_weeks = 900.0; flesh_share = 0.5; };" \
    " bean = { kind = \"beans\"; unit_kg = 9.0; base_c = 8.0; heat_to_dry = 900.0; pick_until = \"10-20\";" \
    " plant_out = \"05-20\"; }; };" \
    "plantings = { hill = { crop = \"gourd\"; count = 2; }; row = { crop = \"bean\"; count = 1; }; };"
#define HOUSEHOLD(more) \
    "household = { eaters = ( { count = 2; } ); guests = { chance = 0.5; portions = 2.0; };" \
    " meals = { beans = { meals_per_week = 2.0; portion_kg = 0.125; }; squash = { meals_per_week = 1.0;" \
    " portion_kg = 0.25; }; };" \
    more " };"

enum { WEEK = 40 };                         /* 6 December: all is in */

struct table {
    struct base_arena arena;
    struct plan *plan;
    struct store store;
    struct store_books books[SCENARIO_FOODS];
    struct kitchen_week week;
};

/* A store with so many fruits of 1 kg (half of it flesh) and so many kg of beans. */
static void lay(struct table *table, const char *text, int fruits, double beans_kg)
{
    static const double kg[] = { 1, 1, 1, 1, 1, 1 }, life[] = { 900, 900, 900, 900, 900, 900 };
    static const uint8_t cure[] = { SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL,
                                    SCENARIO_WELL };
    memset(table, 0, sizeof *table);
    table->plan = planned(&table->arena, text);
    assert_true(store_room(&table->arena, table->plan, &table->store));
    store_clear(table->plan, &table->store);
    struct store_load load = { .planting = 0, .week = 30, .cut_day = 210, .n = fruits, .kg = kg,
                               .life_weeks = life, .cure = cure };
    store_bring_squash(table->plan, &table->store, &load, &table->books[SCENARIO_SQUASH]);
    if (beans_kg > 0)
        store_bring_beans(table->plan, &table->store.beans, store_heap_of(table->plan, 1, 0), 30, beans_kg, 1);
}

static bool serve(struct table *table, bool guests, double drying_kg)
{
    return kitchen_serve(table->plan, &table->store, WEEK, &table->plan->want[guests][WEEK], drying_kg, table->books,
                         &table->week);
}

static void enough_for_all(void **state)
{
    (void)state;
    struct table t;
    lay(&t, HOUSEHOLD("") CROPS, 4, 3);
    assert_false(serve(&t, false, 0));
    check_near(t.week.wanted_portions[SCENARIO_BEANS], 4, 1e-15);
    check_near(t.week.wanted_kg[SCENARIO_BEANS], 0.5, 1e-15);
    check_near(t.week.wanted_kg[SCENARIO_SQUASH], 0.5, 1e-15);
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.5, 1e-15);
    check_near(t.week.eaten_kg[SCENARIO_SQUASH], 0.5, 1e-15);
    assert_false(serve(&t, true, 0));           /* guests: 2 more portions a meal */
    check_near(t.week.wanted_kg[SCENARIO_BEANS], 1, 1e-15);
    check_near(t.week.eaten_kg[SCENARIO_SQUASH], 1, 1e-15);
    check_near(t.store.beans.kg, 1.5, 1e-12);
    check_near(t.books[SCENARIO_SQUASH].eaten, 1.5, 1e-12);
    check_near(t.books[SCENARIO_SQUASH].trimmed, 1.5, 1e-12);
    base_arena_free(&t.arena);
}

static void short_of_one(void **state)
{
    (void)state;
    struct table t;
    lay(&t, HOUSEHOLD("") CROPS, 4, 0.375);
    assert_true(serve(&t, false, 0));
    assert_true(t.week.is_short[SCENARIO_BEANS]);
    assert_false(t.week.is_short[SCENARIO_SQUASH]);
    check_near(t.week.meals_short[SCENARIO_BEANS], 0.5, 1e-12);     /* a quarter of two meals */
    check_within(t.week.meals_short[SCENARIO_SQUASH], 0, 0);
    base_arena_free(&t.arena);
    /* three quarters are enough: meals short, week not */
    lay(&t, HOUSEHOLD("enough = 0.75;") CROPS, 4, 0.375);
    assert_true(serve(&t, false, 0));
    assert_false(t.week.is_short[SCENARIO_BEANS]);
    check_near(t.week.meals_short[SCENARIO_BEANS], 0.5, 1e-12);
    base_arena_free(&t.arena);
}

/* Portion for portion, beans for squash first; what is eaten in the other's stead is booked where it comes
 * from. */
static void stand_ins(void **state)
{
    (void)state;
    struct table t;
    lay(&t, HOUSEHOLD("beans_stand_in = true;") CROPS, 0, 3);
    assert_false(serve(&t, false, 0));
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.5 + 2 * 0.125, 1e-12);    /* two squash portions missing */
    check_within(t.week.eaten_kg[SCENARIO_SQUASH], 0, 0);
    base_arena_free(&t.arena);
    lay(&t, HOUSEHOLD("squash_stands_in = true;") CROPS, 4, 0);
    assert_false(serve(&t, false, 0));
    check_near(t.week.eaten_kg[SCENARIO_SQUASH], 0.5 + 4 * 0.25, 1e-12);
    base_arena_free(&t.arena);
    lay(&t, HOUSEHOLD("beans_stand_in = true; squash_stands_in = true;") CROPS, 0, 0.625);
    assert_true(serve(&t, false, 0));           /* one portion of beans is left over for two of squash */
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.625, 1e-12);
    check_near(t.week.meals_short[SCENARIO_SQUASH], 0.5, 1e-12);
    assert_false(t.week.is_short[SCENARIO_BEANS]);
    base_arena_free(&t.arena);
    lay(&t, "household = { eaters = ( { count = 2; } ); beans_stand_in = true; meals = { beans = { meals_per_week = 2.0;"
        " portion_kg = 0.125; from = \"05-01\"; until = \"05-31\"; }; squash = { meals_per_week = 1.0; portion_kg = 0.25; }; }; };"
        CROPS, 0, 3);
    assert_false(serve(&t, false, 0));          /* whatever their own window */
    check_within(t.week.wanted_kg[SCENARIO_BEANS], 0, 0);
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.25, 1e-12);
    base_arena_free(&t.arena);
    lay(&t, HOUSEHOLD("") CROPS, 0, 3);         /* without stand-ins squash is short */
    assert_true(serve(&t, false, 0));
    check_near(t.week.meals_short[SCENARIO_SQUASH], 1, 1e-12);
    base_arena_free(&t.arena);
}

/* Stock over need, no less than the least, no more than 1; beans still drying count; the week's own want is
 * unscaled. */
static void eking_out(void **state)
{
    (void)state;
    struct table t;
    lay(&t, HOUSEHOLD("eke_out = { least = 0.5; }; enough = 0.4;") CROPS, 0, 4);
    struct plan *plan = t.plan;
    assert_true(plan->ekes[SCENARIO_BEANS][WEEK]);
    /* guests at their mean */
    double need = plan->eke_need_kg[SCENARIO_BEANS][WEEK], want = 0.5 + 0.5 * 0.5;
    check_near(need / want, round(need / want), 1e-12);             /* whole weeks until the next harvest */
    assert_true(need > 30 * want && need <= 52 * want);
    serve(&t, false, 22);                       /* 26 kg with what is still drying */
    check_near(t.week.wanted_kg[SCENARIO_BEANS], 0.5, 1e-15);
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.5 * fmax(0.5, fmin(1, 26.0 / need)), 1e-12);
    double left = t.store.beans.kg;
    serve(&t, false, 0);                        /* far under half of the need: the least */
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.25, 1e-12);
    check_near(t.store.beans.kg, left - 0.25, 1e-12);
    assert_false(t.week.is_short[SCENARIO_BEANS]);
    check_near(t.week.meals_short[SCENARIO_BEANS], 1, 1e-12);
    serve(&t, false, 1000);
    check_near(t.week.eaten_kg[SCENARIO_BEANS], 0.5, 1e-12);        /* never more than is wanted */
    base_arena_free(&t.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(enough_for_all), cmocka_unit_test(short_of_one), cmocka_unit_test(stand_ins),
            cmocka_unit_test(eking_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
