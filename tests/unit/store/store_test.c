/* store_test.c: places, the order of eating, salvage, cut flesh, jars; the books of each. */
#include "unit/plan/planned.h"

#include "store/internal.h"

#define CLIMATE PLANNED_CLIMATE
#define GOURD(name, more) \
    name " = { kind = \"squash\"; fruits = 9; fruit_kg = 1.0; base_c = 10.0; heat_to_ripen = 100.0;" \
    " cut_by = \"10-01\";" \
    " plant_out = \"05-20\"; keeps_weeks = 20.0; " more " };"
#define BEAN(name) \
    name " = { kind = \"beans\"; unit_kg = 9.0; base_c = 8.0; heat_to_dry = 900.0; pick_until = \"10-20\";" \
    " plant_out = \"05-20\"; };"

struct shop { struct base_arena arena; struct plan *plan; struct store store; struct store_books squash,
              beans; };

static void open_shop(struct shop *shop, const char *text)
{
    memset(shop, 0, sizeof *shop);
    shop->plan = planned(&shop->arena, text);
    assert_true(store_room(&shop->arena, shop->plan, &shop->store));
    store_clear(shop->plan, &shop->store);
}

static void close_shop(struct shop *shop) { base_arena_free(&shop->arena); }

static void bring(struct shop *shop, int planting, int week, int n, const double *kg, const double *life,
                  const uint8_t *cure)
{
    struct store_load load = { .planting = planting, .week = week, .cut_day = 7 * week, .n = n, .kg = kg,
                               .life_weeks = life, .cure = cure };
    store_bring_squash(shop->plan, &shop->store, &load, &shop->squash);
}

/* Everything in equals everything out and what is left. */
static void balances(struct shop *shop)
{
    const struct store_books *b = &shop->squash;
    store_book_drying(&shop->store, &shop->squash);
    check_within(b->in, b->eaten + b->dried_away + b->trimmed + b->lost + b->given_away
                 + store_squash_kg(&shop->store), 1e-12);
    b = &shop->beans;
    check_within(b->in, b->eaten + b->lost + b->thrown_out + b->seed + shop->store.beans.kg, 1e-12);
}

/* Against the library's pow, over what salvage asks for. */
static void powers_of_2(void **state)
{
    (void)state;
    for (int i = 0; i <= 200000; i++) {
        double x = -60.0 * i / 200000;
        check_near(store_power_of_2(x), pow(2, x), 1e-13);
    }
    check_near(store_power_of_2(0), 1, 0);
    check_near(store_power_of_2(-1), 0.5, 1e-15);
    assert_true(store_power_of_2(-2000) <= 1e-300 && store_power_of_2(-2000) >= 0);
}

/* The first place with room; a half place holds none; what finds no room is given away, and booked so. */
static void places_in_order(void **state)
{
    (void)state;
    struct shop shop;
    static const double kg[9] = { 1, 2, 4, 8, 16, 32, 64, 128, 256 }, life[9] = { 9, 9, 9, 9, 9, 9, 9, 9, 9 };
    static const uint8_t cure[9] = { SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL,
                                     SCENARIO_WELL, SCENARIO_WELL,
                                     SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL };
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " GOURD("gourd",
                                                               "") " }; plantings = { hill = {"
                                                               " crop = \"gourd\"; count = 2; }; };"
        "places = ( { name = \"a\"; holds = 3; keeps_factor = 2.0; }, { name = \"b\"; holds = 0; }, {"
        " name = \"c\"; holds = 4; } );");
    bring(&shop, 0, 30, 9, kg, life, cure);
    assert_int_equal(shop.store.squash.whole_n, 7);
    assert_int_equal(store_in_place(&shop.store.squash, 0), 3);
    assert_int_equal(store_in_place(&shop.store.squash, 1), 0);
    assert_int_equal(store_in_place(&shop.store.squash, 2), 4);
    check_near(shop.squash.in, 511, 1e-15);
    check_near(shop.squash.given_away, 128 + 256, 1e-15);
    balances(&shop);
    /* the better place doubles the life: after 9 weeks the four in c are found, after 18 those in a */
    store_look_over(shop.plan, &shop.store, 38, &shop.squash);
    assert_int_equal(shop.store.squash.whole_n, 7);
    store_look_over(shop.plan, &shop.store, 39, &shop.squash);
    assert_int_equal(shop.store.squash.whole_n, 3);
    check_near(shop.squash.lost, 8 + 16 + 32 + 64, 1e-15);
    store_look_over(shop.plan, &shop.store, 48, &shop.squash);
    assert_int_equal(shop.store.squash.whole_n, 0);
    balances(&shop);
    close_shop(&shop);
}

/* Unripe, poorly cured, cured; by eat_rank; the worse place; the earlier cut; planting, then fruit. Each
 * opened whole. */
static void order_of_eating(void **state)
{
    (void)state;
    struct shop shop;
    static const double life[3] = { 99, 99, 99 };
    static const uint8_t mixed[3] = { SCENARIO_WELL, SCENARIO_UNRIPE, SCENARIO_POOR },
        well[3] = { SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL };
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " GOURD("gourd", "") GOURD("other", "") " };"
        "plantings = { a = { crop = \"gourd\"; count = 2; }; b = { crop = \"other\"; count = 2;"
        " eat_rank = -1; }; };"
        "places = ( { name = \"good\"; holds = 4; keeps_factor = 2.0; }, { name = \"bad\"; holds = 99; } );");
    bring(&shop, 0, 30, 3, (const double[]){ 1, 2, 4 }, life, mixed);          /* in the good place */
    /* one in the good place, two in the bad one */
    bring(&shop, 1, 31, 3, (const double[]){ 8, 16, 32 }, life, well);
    bring(&shop, 0, 32, 3, (const double[]){ 64, 128, 256 }, life, well);      /* in the bad place */
    bring(&shop, 0, 33, 1, (const double[]){ 512 }, life, well);
    /* what is opened, one after the other */
    static const double wanted[] = { 2, 4, 16, 32, 8, 64, 128, 256, 512, 1 };
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        double before = store_squash_kg(&shop.store);
        check_near(store_take_squash(shop.plan, &shop.store, 34, wanted[i], &shop.squash), wanted[i], 1e-12);
        check_near(before - store_squash_kg(&shop.store), wanted[i], 1e-12);
        assert_int_equal(shop.store.squash.whole_n, 9 - (int)i);
    }
    check_within(store_take_squash(shop.plan, &shop.store, 34, 1, &shop.squash), 0, 0);
    balances(&shop);
    close_shop(&shop);
}

/* Alike otherwise, the earlier cut is opened first, though it came later, and of one day's the earlier planting. */
static void order_among_equals(void **state)
{
    (void)state;
    struct shop shop;
    static const double life[1] = { 99 };
    static const uint8_t well[1] = { SCENARIO_WELL };
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " GOURD("gourd", "") GOURD("other", "") " };"
        "plantings = { a = { crop = \"gourd\"; count = 2; }; b = { crop = \"other\"; count = 2; }; };");
    bring(&shop, 1, 33, 1, (const double[]){ 1 }, life, well);
    bring(&shop, 0, 33, 1, (const double[]){ 2 }, life, well);
    bring(&shop, 1, 32, 1, (const double[]){ 4 }, life, well);
    static const double wanted[] = { 4, 2, 1 };
    for (int i = 0; i < 3; i++) {
        check_near(store_take_squash(shop.plan, &shop.store, 34, wanted[i], &shop.squash), wanted[i], 1e-12);
        assert_int_equal(shop.store.squash.whole_n, 2 - i);
    }
    balances(&shop);
    close_shop(&shop);
}

/* Of the flesh of two weeks the older is eaten first, so that less of it is lost. */
static void oldest_flesh_first(void **state)
{
    (void)state;
    struct shop shop;
    static const double life[2] = { 1, 2 };
    static const uint8_t well[2] = { SCENARIO_WELL, SCENARIO_WELL };
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " GOURD("gourd", "") " };"
        "plantings = { hill = { crop = \"gourd\"; count = 2; }; }; store = { cut_keeps_weeks = 2; salvage_share = 1.0; };");
    bring(&shop, 0, 30, 2, (const double[]){ 4, 8 }, life, well);
    for (int week = 30; week < 33; week++) {                                   /* found in weeks 31 and 32: 4 and 8 kg of flesh */
        store_look_over(shop.plan, &shop.store, week, &shop.squash);
        store_age_cut(&shop.store, &shop.squash);
    }
    check_near(store_take_squash(shop.plan, &shop.store, 33, 5, &shop.squash), 5, 1e-15);
    store_age_cut(&shop.store, &shop.squash);
    check_within(shop.squash.lost, 0, 0);                                      /* none of week 31's was left */
    check_near(store_take_squash(shop.plan, &shop.store, 34, 1, &shop.squash), 1, 1e-15);
    store_age_cut(&shop.store, &shop.squash);
    check_near(shop.squash.lost, 6, 1e-15);
    balances(&shop);
    close_shop(&shop);
}

/* Ripe fruit waits for cure_weeks, unripe does not; drying compounds; the flesh share is what is eaten. */
static void curing_and_drying(void **state)
{
    (void)state;
    struct shop shop;
    static const double kg[2] = { 8, 4 }, life[2] = { 99, 99 };
    static const uint8_t cure[2] = { SCENARIO_WELL, SCENARIO_UNRIPE };
    open_shop(&shop, PLANNED_EATERS CLIMATE
        "crops = { " GOURD("gourd", "cure_weeks = 2; drying_loss_per_week = 0.25; flesh_share = 0.5;") " };"
        "plantings = { hill = { crop = \"gourd\"; count = 2; }; };");
    bring(&shop, 0, 30, 2, kg, life, cure);
    /* the unripe one's flesh */
    check_near(store_take_squash(shop.plan, &shop.store, 30, 9, &shop.squash), 2, 1e-15);
    check_near(shop.squash.trimmed, 2, 1e-15);
    store_come_to(&shop.store, 31);
    check_within(store_take_squash(shop.plan, &shop.store, 31, 9, &shop.squash), 0, 0);
    store_come_to(&shop.store, 32);
    check_near(store_squash_kg(&shop.store), 8 * 0.75 * 0.75, 1e-15);
    check_near(store_flesh_kg(&shop.store), 4 * 0.75 * 0.75, 1e-15);
    check_near(store_take_squash(shop.plan, &shop.store, 32, 1, &shop.squash), 1, 1e-15);
    check_near(store_squash_kg(&shop.store), 1.25, 1e-15);          /* cut flesh */
    balances(&shop);
    check_near(shop.squash.dried_away, 8 - 4.5, 1e-15);
    close_shop(&shop);
}

/* Looked over every fourth week: the salvage share to the power of the real weeks that a fruit lay, at least
 * 1. */
static void salvage(void **state)
{
    (void)state;
    struct shop shop;
    /* of fruit cut in week 31: 35.5, 39, 40.75 */
    static const double kg[3] = { 1, 1, 1 }, life[3] = { 4.5, 8, 9.75 };
    static const uint8_t cure[3] = { SCENARIO_WELL, SCENARIO_WELL, SCENARIO_WELL };
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " GOURD("gourd", "flesh_share = 0.8;") " };"
        "plantings = { hill = { crop = \"gourd\"; count = 2; }; };"
        "store = { look_over_weeks = 4; salvage_share = 0.3; cut_keeps_weeks = 2; };");
    bring(&shop, 0, 31, 3, kg, life, cure);
    for (int week = 31; week < 44; week++) {
        store_look_over(shop.plan, &shop.store, week, &shop.squash);
        assert_int_equal(shop.store.squash.whole_n, week < 36 ? 3 : week < 40 ? 2 : 1);
    }
    double first = 0.8 * 0.3, second = 0.8 * 0.3;                              /* lay 0.5 and 1 weeks */
    check_near(store_squash_kg(&shop.store), first + second + 1, 1e-12);
    check_near(shop.squash.lost, 2 - first - second, 1e-12);
    store_look_over(shop.plan, &shop.store, 44, &shop.squash);                 /* lay 3.25 weeks */
    double third = 0.8 * pow(0.3, 3.25);
    check_near(store_squash_kg(&shop.store), first + second + third, 1e-12);
    check_within(shop.squash.trimmed, 0, 0);
    balances(&shop);
    /* cut flesh keeps two weeks more, then it is lost */
    store_age_cut(&shop.store, &shop.squash);
    store_age_cut(&shop.store, &shop.squash);
    check_near(store_squash_kg(&shop.store), first + second + third, 1e-12);
    store_age_cut(&shop.store, &shop.squash);
    check_within(store_squash_kg(&shop.store), 0, 1e-15);
    balances(&shop);
    close_shop(&shop);
}

/* A dead fruit whose turn comes is found on opening; the next is opened the same week. */
static void found_on_opening(void **state)
{
    (void)state;
    struct shop shop;
    static const double kg[2] = { 1, 1 }, life[2] = { 3.5, 99 };
    static const uint8_t cure[2] = { SCENARIO_WELL, SCENARIO_WELL };
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " GOURD("gourd", "flesh_share = 0.5;") " };"
        "plantings = { hill = { crop = \"gourd\"; count = 2; }; }; store = { look_over_weeks = 52;"
        " salvage_share = 0.5; };");
    bring(&shop, 0, 30, 2, kg, life, cure);
    /* alive until 33.5: trimmed */
    check_near(store_take_squash(shop.plan, &shop.store, 33, 0.1, &shop.squash), 0.1, 1e-15);
    check_near(shop.squash.trimmed, 0.5, 1e-15);
    store_clear(shop.plan, &shop.store);
    shop.squash = (struct store_books){ .in = 0 };
    bring(&shop, 0, 30, 2, kg, life, cure);
    /* opened in week 36, dead since 33.5 */
    double kept = 0.5 * pow(0.5, 2.5);
    check_near(store_take_squash(shop.plan, &shop.store, 36, 0.5, &shop.squash), 0.5, 1e-15);
    check_near(shop.squash.lost, 1 - kept, 1e-12);
    check_near(shop.squash.trimmed, 0.5, 1e-15);                               /* of the second, good one */
    check_near(store_squash_kg(&shop.store), kept, 1e-12);
    balances(&shop);
    close_shop(&shop);
}

static void put_up(struct shop *shop, int planting, int season, int week, double kg, uint64_t key)
{
    store_bring_beans(shop->plan, &shop->store.beans, store_heap_of(shop->plan, planting, season), week, kg, key);
    shop->beans.in += kg;
}

/* A planting's season tops its last jar up before a new one begins; plantings and seasons do not share jars.
 * */
static void topping_jars(void **state)
{
    (void)state;
    struct shop shop;
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " BEAN("bean") BEAN("other") " };"
        "plantings = { row = { crop = \"bean\"; count = 1; }; poles = { crop = \"other\"; count = 1; }; };"
        " store = { jar_kg = 0.5; };");
    struct store *store = &shop.store;
    uint64_t key = chance_season_key(1, 1, 0);
    static const struct { int planting, season; double kg; int jars; } put[] = {
        { 0, 0, 0.3, 1 }, { 0, 0, 0.1, 1 }, { 0, 0, 0.2, 2 }, { 1, 0, 0.3, 3 }, { 0, 0, 0.35, 3 },
            { 0, 1, 0.1, 4 }, { 0, 0, 0.04, 4 },
        { 1, 0, 1.25, 7 },
    };
    double kg = 0;
    for (size_t i = 0; i < sizeof put / sizeof put[0]; i++) {
        put_up(&shop, put[i].planting, put[i].season, 30 + (int)i, put[i].kg, key);
        kg += put[i].kg;
        assert_int_equal(store->beans.jars_n, put[i].jars);
        check_near(store->beans.kg, kg, 1e-12);
    }
    /* the row's of season 0 */
    check_near(store_take_beans(shop.plan, store, 0.99, &shop.beans), 0.99, 1e-12);
    assert_int_equal(store->beans.jars_n, 5);
    /* the poles' */
    check_near(store_take_beans(shop.plan, store, 1.55, &shop.beans), 1.55, 1e-12);
    assert_int_equal(store->beans.jars_n, 1);
    /* the row's of season 1 */
    check_near(store_take_beans(shop.plan, store, 9, &shop.beans), 0.1, 1e-9);
    assert_int_equal(store->beans.jars_n, 0);
    balances(&shop);
    close_shop(&shop);
}

/* Seed comes from the crop's own jars, the latest season first; beans too old are thrown out. */
static void seed_and_age(void **state)
{
    (void)state;
    struct shop shop;
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " BEAN("bean") BEAN("other") " };"
        "plantings = { row = { crop = \"bean\"; count = 1; }; late = { crop = \"bean\"; count = 1; };"
        " poles = { crop = \"other\"; count = 1; }; };");
    struct store *store = &shop.store;
    const char *crop = shop.plan->plantings[0].crop->name;
    put_up(&shop, 0, 0, 30, 0.5, 1);
    put_up(&shop, 0, 1, 82, 0.25, 2);
    put_up(&shop, 1, 1, 84, 0.125, 2);
    put_up(&shop, 2, 1, 85, 4, 2);
    /* both of season 1, whole */
    check_near(store_take_seed(shop.plan, store, crop, 0.375, &shop.beans), 0.375, 1e-12);
    check_near(shop.beans.seed, 0.375, 1e-12);
    /* one of season 0, four of the other crop */
    assert_int_equal(store->beans.jars_n, 5);
    check_near(store_take_seed(shop.plan, store, crop, 9, &shop.beans), 0.5, 1e-12);
    check_within(store_take_seed(shop.plan, store, crop, 9, &shop.beans), 0, 0);
    put_up(&shop, 0, 0, 86, 1, 1);
    store_throw_out_beans(store, 0, &shop.beans);
    check_within(shop.beans.thrown_out, 0, 0);
    store_throw_out_beans(store, 1, &shop.beans);
    check_near(shop.beans.thrown_out, 1, 1e-12);
    check_near(store->beans.kg, 4, 1e-12);
    balances(&shop);
    close_shop(&shop);
}

/* A jar keeps from the week it was begun, whatever is added later; it is lost in the first week at or past
 * its life's end. */
static void failing_jars(void **state)
{
    (void)state;
    struct shop shop;
    open_shop(&shop, PLANNED_EATERS CLIMATE "crops = { " BEAN("bean") " };"
        "plantings = { row = { crop = \"bean\"; count = 1; }; };"
        "store = { jar_kg = 0.5; jar_keeps_weeks = 10.0; };");
    struct store *store = &shop.store;
    put_up(&shop, 0, 0, 30, 0.3, 1);
    put_up(&shop, 0, 0, 33, 0.4, 1);
    store_fail_jars(store, 39, &shop.beans);
    assert_int_equal(store->beans.jars_n, 2);
    /* the first, topped up in week 33 */
    store_fail_jars(store, 40, &shop.beans);
    assert_int_equal(store->beans.jars_n, 1);
    check_near(shop.beans.lost, 0.5, 1e-12);
    store_fail_jars(store, 42, &shop.beans);
    assert_int_equal(store->beans.jars_n, 1);
    store_fail_jars(store, 43, &shop.beans);
    assert_int_equal(store->beans.jars_n, 0);
    check_near(shop.beans.lost, 0.7, 1e-12);
    /* nothing there to top up: a new jar */
    put_up(&shop, 0, 0, 44, 0.1, 1);
    assert_int_equal(store->beans.jars_n, 1);
    balances(&shop);
    close_shop(&shop);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(powers_of_2), cmocka_unit_test(places_in_order), cmocka_unit_test(order_of_eating),
        cmocka_unit_test(order_among_equals), cmocka_unit_test(oldest_flesh_first),
        cmocka_unit_test(curing_and_drying), cmocka_unit_test(salvage), cmocka_unit_test(found_on_opening),
        cmocka_unit_test(topping_jars), cmocka_unit_test(seed_and_age), cmocka_unit_test(failing_jars),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
