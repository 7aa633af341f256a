/* load_test.c: what is written arrives in the struct, in internal units. Expected days are counted by hand
 * from the calendar of 365 days: day of the year minus that of year_starts. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <math.h>
#include <string.h>

#include <cmocka.h>

#include "scenario/inside.h"

#define FOLDER "tests/unit/scenario/data/"

/* Figures are compared exactly: they are read, not computed. cmocka's assert_float_equal is for floats
 * only. */
#define assert_same(a, b) assert_true((a) == (b))

struct loaded {
    struct base_arena arena;
    struct base_complaints complaints;
    const struct scenario *scenario;
};

static const struct scenario *load(struct loaded *loaded, const char *path)
{
    *loaded = (struct loaded){0};
    struct scenario_request request = {.path = path};
    enum base_result result = scenario_load(&loaded->arena, &request, &loaded->scenario, &loaded->complaints);
    base_complaints_print(&loaded->complaints, stderr);
    assert_int_equal(result, BASE_OK);
    assert_int_equal(loaded->complaints.errors + loaded->complaints.warnings, 0);
    return loaded->scenario;
}

static void unload(struct loaded *loaded)
{
    base_complaints_free(&loaded->complaints);
    base_arena_free(&loaded->arena);
}

static void the_whole(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "full.cfg");
    assert_string_equal(s->name, "full");
    assert_string_equal(s->title, "Every setting");
    assert_int_equal(s->year_starts, 66);
    assert_int_equal(s->first_year, 2030);
    assert_int_equal(s->food_years, 3);
    assert_true(s->trials == INT64_C(3000000000));
    assert_true(s->random_seed == INT64_MAX);
    assert_int_equal(s->sampling, SCENARIO_SOBOL);
    assert_int_equal(strlen(s->sha256), 64);
    unload(&loaded);
}

static void household(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario_household *h = &load(&loaded, FOLDER "full.cfg")->household;
    assert_same(h->eaters_portions, 2 * 1.1 + 1.5);
    assert_same(h->guests_chance, 0.125);
    assert_same(h->guests_portions, 3.0);
    assert_same(h->meal[SCENARIO_BEANS].meals_per_week, 1.5);
    assert_same(h->meal[SCENARIO_BEANS].portion_kg, 0.07);
    assert_true(h->meal[SCENARIO_BEANS].has_window);
    assert_int_equal(h->meal[SCENARIO_BEANS].window.from, 273 - 66);
    assert_int_equal(h->meal[SCENARIO_BEANS].window.until, 150 - 66);
    assert_int_equal(h->meal[SCENARIO_SQUASH].window.from, 0);
    assert_int_equal(h->meal[SCENARIO_SQUASH].window.until, 364);
    assert_true(h->beans_stand_in && h->squash_stands_in);
    assert_same(h->enough, 0.75);
    assert_int_equal(h->away_n, 2);
    assert_int_equal(h->away[1].from, 357 - 66);
    assert_int_equal(h->away[1].until, 1 + 365 - 66);
    assert_true(h->ekes_out);
    assert_same(h->eke_least, 0.8);
    assert_int_equal(h->eke_origin.line, 19);
    assert_true(h->has_needs_kcal && h->has_needs_protein);
    assert_same(h->kcal_per_day, 2100.0);
    assert_same(h->protein_g_per_day, 55.5);
    unload(&loaded);
}

static void climate(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario_climate *c = &load(&loaded, FOLDER "full.cfg")->climate;
    assert_true(c->last_frost.set && c->last_frost.is_date && c->last_frost.has_least &&
                c->last_frost.has_most);
    assert_int_equal(c->last_frost.shape, SCENARIO_NORMAL);
    assert_int_equal(c->last_frost.bound, SCENARIO_UNBOUNDED);
    assert_same(c->last_frost.a[0], 120.0 - 66);
    assert_same(c->last_frost.a[1], 12.5);
    assert_same(c->last_frost.at_least, 50.0 - 66);       /* 20 February is before day 0 */
    assert_same(c->last_frost.at_most, 151.0 - 66);
    assert_int_equal(c->first_hard_frost.shape, SCENARIO_RECORDS);
    assert_true(c->first_hard_frost.smooth);
    assert_int_equal(c->first_hard_frost.n, 3);
    assert_same(c->first_hard_frost.list[0], 274.0 - 66);
    assert_same(c->first_hard_frost.list[1], 314.0 - 66);
    assert_same(c->first_hard_frost.list[2], 292.0 - 66);
    assert_int_equal(c->warmth.shape, SCENARIO_TRIPLET);
    assert_same(c->warmth.a[0], -1.0);
    assert_same(c->warmth.a[2], 1.25);
    assert_same(c->correlation[0][2], 0.2);
    assert_same(c->correlation[2][1], 0.3);
    assert_same(c->tmin_c[11], -2.0);
    assert_same(c->tmax_c[4], 16.5);
    assert_same(c->hard_frost_c, -3.0);
    assert_null(c->records_file);
    assert_string_equal(c->date_column, "day");
    assert_string_equal(c->tmin_column, "lo");
    assert_string_equal(c->tmax_column, "hi");
    assert_int_equal(c->max_missing_days, 7);
    assert_string_equal(c->warmth.origin.path, "climate.warmth");
    assert_string_equal(c->warmth.origin.file, FOLDER "full.cfg");
    assert_int_equal(c->warmth.origin.line, 26);
    unload(&loaded);
}

static void beans(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "full.cfg");
    const struct scenario_crop *c = &s->crops[0];
    assert_int_equal(s->crops_n, 2);
    assert_string_equal(c->name, "runner-bean");
    assert_int_equal(c->kind, SCENARIO_KIND_BEANS);
    assert_string_equal(c->unit, "metre of row");
    assert_int_equal(c->year_factor.shape, SCENARIO_GAMMA);
    assert_int_equal(c->year_factor.bound, SCENARIO_POSITIVE);
    assert_same(c->follows_warmth, 0.25);
    assert_int_equal(c->stands.shape, SCENARIO_BETA_SHAPE);
    assert_int_equal(c->stands.bound, SCENARIO_SHARE);
    assert_same(c->stands.a[0], 9.0);
    assert_same(c->blow_down, 0.0625);
    assert_same(c->blow_down_loses, 0.5);
    assert_int_equal(c->support, SCENARIO_SHARED);
    assert_same(c->base_c, 8.5);
    assert_false(c->waits_for_frost);
    assert_same(c->frost_kills, 0.75);
    assert_int_equal(c->plant_out, 139 - 66);
    assert_same(c->kcal_per_kg, 3350.0);
    assert_same(c->protein_g_per_kg, 230.0);
    assert_same(c->bed_m2, 0.6);
    assert_same(c->hours, 1.5);
    assert_same(c->money, 2.25);
    assert_int_equal(c->unit_kg.shape, SCENARIO_LOGNORMAL_LOG);
    assert_same(c->unit_kg.a[0], -0.5);
    assert_same(c->unit_kg.at_most, 2.0);
    assert_int_equal(c->heat_to_dry.shape, SCENARIO_TRIANGULAR);
    assert_same(c->heat_to_dry.a[1], 800.0);
    assert_int_equal(c->sorted_out.shape, SCENARIO_UNIFORM);
    assert_same(c->sorted_out.a[1], 0.125);
    assert_same(c->left_to_dry, 0.875);
    assert_same(c->first_pick_share, 0.03);
    assert_int_equal(c->pick_until, 308 - 66);
    assert_same(c->finish_indoors_heat, 90.0);
    assert_same(c->finish_share, 0.8);
    assert_int_equal(c->indoor_drying_weeks, 2);
    assert_true(c->saves_seed && !c->buys_seed);
    assert_same(c->seed_kg_per_unit, 0.012);
    assert_same(c->seed_spare, 0.5);
    /* what squash has keeps its default */
    assert_false(c->fruits.set || c->keeps_weeks.set);
    assert_same(c->flesh_share, 1.0);
    assert_int_equal(c->cut_by, SCENARIO_NEVER);
    unload(&loaded);
}

static void squash(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario_crop *c = &load(&loaded, FOLDER "full.cfg")->crops[1];
    assert_int_equal(c->kind, SCENARIO_KIND_SQUASH);
    assert_int_equal(c->fruits.shape, SCENARIO_COUNTS);
    assert_int_equal(c->fruits.bound, SCENARIO_COUNT);
    assert_int_equal(c->fruits.n, 4);
    assert_same(c->fruits.list[2], 2.0);
    assert_same(c->fruits.weights[0], 0.5);
    assert_int_equal(c->fruit_kg.shape, SCENARIO_RECORDS);
    assert_false(c->fruit_kg.smooth);
    assert_same(c->fruit_kg.list[1], 2.5);
    assert_int_equal(c->heat_to_ripen.shape, SCENARIO_PERT);
    assert_int_equal(c->die_back_heat.shape, SCENARIO_WEIBULL_SHAPE);
    assert_same(c->die_back_heat.a[1], 1100.0);
    assert_int_equal(c->cut_by, 292 - 66);
    assert_int_equal(c->cut_before_frost_days, 2);
    assert_same(c->left_to_store, 0.9);
    assert_same(c->cures_well, 0.85);
    assert_int_equal(c->cure_weeks, 3);
    assert_int_equal(c->keeps_weeks.shape, SCENARIO_LOGNORMAL);
    assert_same(c->poor_cure_factor, 0.5);
    assert_same(c->unripe_factor, 0.25);
    assert_same(c->drying_loss_per_week, 0.005);
    assert_same(c->flesh_share, 0.7);
    assert_int_equal(c->stands.shape, SCENARIO_CERTAIN);   /* its default */
    assert_same(c->stands.a[0], 1.0);
    assert_true(c->stands.set && c->waits_for_frost);
    assert_null(c->stands.origin.file);
    assert_int_equal(c->support, SCENARIO_EACH);
    assert_int_equal(c->plant_out, SCENARIO_NEVER);
    assert_false(c->unit_kg.set);
    unload(&loaded);
}

static void plantings(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "full.cfg");
    const struct scenario_planting *west = &s->plantings[0], *east = &s->plantings[1],
                                   *heap = &s->plantings[2];
    assert_int_equal(s->plantings_n, 3);
    assert_string_equal(west->name, "west");
    assert_same(west->count, 6.5);
    assert_int_equal(west->eat_rank, -2);
    assert_int_equal(west->crop.plant_out, 144 - 66);
    assert_int_equal(west->crop.pick_until, 313 - 66);
    assert_int_equal(west->crop.stands.shape, SCENARIO_CERTAIN);
    assert_same(west->crop.stands.a[0], 0.95);
    assert_same(west->crop.blow_down, 0.25);
    assert_true(west->crop.waits_for_frost);
    assert_same(west->crop.left_to_dry, 0.625);
    assert_same(west->crop.seed_spare, 0.5);
    assert_int_equal(west->count_origin.line, west->origin.line);
    assert_string_equal(west->count_origin.path, "plantings.west.count");
    /* the crop's own, where the planting says nothing */
    assert_int_equal(east->crop.plant_out, 139 - 66);
    assert_same(east->crop.blow_down, 0.0625);
    assert_false(east->crop.waits_for_frost);
    assert_int_equal(east->eat_rank, 0);
    assert_int_equal(heap->crop.cut_by, 282 - 66);
    assert_same(heap->crop.left_to_store, 0.5);
    assert_same(heap->crop.left_to_dry, 1.0);
    unload(&loaded);
}

static void store_and_shelf(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "full.cfg");
    assert_int_equal(s->places_n, 2);
    assert_string_equal(s->places[0].name, "sill, kitchen");
    assert_same(s->places[0].holds, 14.0);
    assert_same(s->places[0].keeps_factor, 0.9);
    assert_string_equal(s->places[1].name, "place 2");
    assert_same(s->places[1].holds, HUGE_VAL);
    assert_same(s->places[1].keeps_factor, 1.0);
    assert_int_equal(s->store.look_over_weeks, 2);
    assert_int_equal(s->store.cut_keeps_weeks, 2);
    assert_same(s->store.salvage_share, 0.5);
    assert_same(s->store.jar_kg, 0.75);
    assert_int_equal(s->store.jar_keeps_weeks.shape, SCENARIO_EXPONENTIAL);
    assert_int_equal(s->store.beans_keep_seasons, 3);
    assert_true(s->shelf.has_as_of);
    assert_int_equal(s->shelf.as_of, 14 + 365 - 66);
    assert_int_equal(s->shelf.squash_n, 2);
    assert_int_equal(s->shelf.squash[0].planting, 2);
    assert_int_equal(s->shelf.squash[0].fruits, 4);
    assert_same(s->shelf.squash[0].kg, 2.5);
    assert_int_equal(s->shelf.squash[0].cut, 284 - 66);
    assert_int_equal(s->shelf.squash[0].cured, SCENARIO_POOR);
    assert_int_equal(s->shelf.squash[0].place, 1);
    assert_int_equal(s->shelf.squash[1].cured, SCENARIO_WELL);
    assert_int_equal(s->shelf.squash[1].place, 0);
    assert_int_equal(s->shelf.beans_n, 2);
    assert_int_equal(s->shelf.beans[0].planting, 0);
    assert_same(s->shelf.beans[0].kg, 1.25);
    assert_int_equal(s->shelf.beans[0].seasons_old, 1);
    assert_int_equal(s->shelf.beans[0].begun, 303 - 66);
    assert_int_equal(s->shelf.beans[1].planting, 1);
    assert_int_equal(s->shelf.beans[1].begun, -1);
    unload(&loaded);
}

static void what_is_not_said(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "good.cfg");
    assert_int_equal(s->year_starts, 59);
    assert_int_equal(s->first_year, 2001);
    assert_int_equal(s->food_years, 1);
    assert_true(s->random_seed == 1);
    assert_int_equal(s->sampling, SCENARIO_INDEPENDENT);
    assert_int_equal(s->places_n, 1);
    assert_string_equal(s->places[0].name, "place 1");
    assert_same(s->places[0].holds, HUGE_VAL);
    assert_same(s->climate.hard_frost_c, -2.0);
    assert_same(s->climate.correlation[1][1], 1.0);
    assert_same(s->climate.correlation[1][2], 0.0);
    assert_int_equal(s->climate.warmth.shape, SCENARIO_CERTAIN);
    assert_same(s->climate.first_hard_frost.a[0], 292.0 - 59);
    assert_int_equal(s->store.beans_keep_seasons, SCENARIO_NEVER);
    assert_int_equal(s->store.look_over_weeks, 1);
    assert_false(s->store.jar_keeps_weeks.set);
    assert_false(s->household.ekes_out || s->household.has_needs_kcal || s->household.has_needs_protein);
    assert_false(s->household.meal[SCENARIO_BEANS].has_window);
    assert_same(s->household.enough, 1.0);
    assert_same(s->household.guests_chance, 0.0);
    assert_false(s->shelf.has_as_of);
    assert_int_equal(s->shelf.squash_n + s->shelf.beans_n, 0);
    assert_same(s->crops[0].first_pick_share, 0.02);
    assert_int_equal(s->crops[1].cut_before_frost_days, 1);
    unload(&loaded);
}

/* True when the setting is written in one of the groups that the node is or (named groups, lists) consists
 * of. */
static bool is_written(const struct scenario_tree *node, bool several, const char *name)
{
    if (!several) {
        const struct scenario_tree *child = scenario_tree_member(node, name);
        return child != NULL && !child->is_default;
    }
    bool written = false;
    for (const struct scenario_tree *one = node->first; one != NULL; one = one->next) {
        written = written || is_written(one, false, name);
    }
    return written;
}

static void check_rows(const struct scenario_tree *node, bool several, const struct scenario_group *group)
{
    for (size_t i = 0; i < group->n; i++) {
        const struct scenario_setting *setting = &group->settings[i];
        if (strcmp(setting->name, "extends") == 0) {
            continue;
        }
        if (!is_written(node, several, setting->name)) {
            fail_msg("%s is not in full.cfg", setting->name);
        }
        bool of_meals = strcmp(setting->name, "squash") == 0 && setting->type == SCENARIO_TYPE_GROUP;
        if (setting->inside != NULL && !of_meals) { /* the meals of beans have every row already */
            check_rows(scenario_tree_member(node, setting->name), setting->type != SCENARIO_TYPE_GROUP,
                       setting->inside);
        }
    }
}

/* Every row of the table is written in full.cfg, so that no row can go unread by the tests above
 * unnoticed. */
static void every_setting_is_in_the_full_file(void **state)
{
    (void)state;
    struct loaded loaded;
    check_rows(load(&loaded, FOLDER "full.cfg")->tree, false, &scenario_group_root);
    unload(&loaded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(the_whole),
                                       cmocka_unit_test(household),
                                       cmocka_unit_test(climate),
                                       cmocka_unit_test(beans),
                                       cmocka_unit_test(squash),
                                       cmocka_unit_test(plantings),
                                       cmocka_unit_test(store_and_shelf),
                                       cmocka_unit_test(what_is_not_said),
                                       cmocka_unit_test(every_setting_is_in_the_full_file)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
