/* set_test.c: settings of the command line. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "scenario/scenario.h"

#define FULL "tests/unit/scenario/data/full.cfg"
#define GOOD "tests/unit/scenario/data/good.cfg"
enum { MOST_SETS = 14 };

struct loaded {
    struct base_arena arena;
    struct base_complaints complaints;
    const struct scenario *scenario;
    char *said;
};

/* Loads with the settings, a list that NULL ends. */
static enum base_result load(struct loaded *loaded, const char *path, const char *const *sets)
{
    size_t size = 0;
    int n = 0;
    *loaded = (struct loaded){0};
    while (sets[n] != NULL) {
        n++;
    }
    struct scenario_request request = {.path = path, .sets_n = n, .sets = sets};
    enum base_result result = scenario_load(&loaded->arena, &request, &loaded->scenario, &loaded->complaints);
    FILE *to = open_memstream(&loaded->said, &size);
    assert_non_null(to);
    base_complaints_print(&loaded->complaints, to);
    assert_int_equal(fclose(to), 0);
    return result;
}

static const struct scenario *right(struct loaded *loaded, const char *path, const char *const *sets)
{
    if (load(loaded, path, sets) != BASE_OK) {
        fail_msg("%s", loaded->said);
    }
    return loaded->scenario;
}

static void unload(struct loaded *loaded)
{
    free(loaded->said);
    base_complaints_free(&loaded->complaints);
    base_arena_free(&loaded->arena);
}

static void values(void **state)
{
    (void)state;
    struct loaded loaded;
    const char *const sets[MOST_SETS] = {
        "trials=5",
        " food_years = 2 ",
        "title=Six wigwams, not five",
        "plantings.row.plant_out=06-01",
        "crops.pumpkin.fruits={ shape = \"negative_binomial\"; mean = 2; sd = 2.5; }",
        "random_seed=5000000000",
        "climate.tmin_c=[0, 0, 1.5, 2, 3, 4, 5, 6, 7, 8, 9, 2]",
        "plantings.row.waits_for_frost=false",
        "crops.bean.heat_to_dry.sd=90.5",
        "climate.last_frost.p50=05-12",
        "plantings.bed.crop=\"pumpkin\"", "crops.bean.unit=6 m of row"};
    const struct scenario *s = right(&loaded, GOOD, sets);
    assert_true(s->trials == 5 && s->food_years == 2);
    assert_string_equal(s->title, "Six wigwams, not five");
    assert_int_equal(s->plantings[0].crop.plant_out, 151 - 59);
    assert_int_equal(s->crops[1].fruits.shape, SCENARIO_NEGATIVE_BINOMIAL);
    assert_true(s->crops[1].fruits.a[1] == 2.5);
    assert_null(s->crops[1].fruits.origin.file);
    assert_string_equal(s->crops[0].unit, "6 m of row");
    assert_true(s->random_seed == INT64_C(5000000000));
    assert_true(s->climate.tmin_c[2] == 1.5);
    assert_false(s->plantings[0].crop.waits_for_frost);
    assert_true(s->crops[0].heat_to_dry.a[0] == 780 && s->crops[0].heat_to_dry.a[1] == 90.5);
    assert_true(s->climate.last_frost.a[1] == 131 - 59);
    unload(&loaded);
}

static void new_members_and_lists(void **state)
{
    (void)state;
    struct loaded loaded;
    const char *const sets[MOST_SETS] = {"household.eke_out.least=1",
                                         "plantings.extra.crop=bean",
                                         "plantings.extra.count=2",
                                         "plantings.extra.plant_out=05-20",
                                         "household.eaters[0].portion=0.5",
                                         "store.jar_kg=0.5",
                                         "places=( { name = \"shed\"; }, { holds = 3; } )",
                                         "places[1].holds=4",
                                         "places[1].name=loft"};
    const struct scenario *s = right(&loaded, GOOD, sets);
    assert_true(s->household.ekes_out && s->household.eke_least == 1);
    assert_int_equal(s->plantings_n, 3);
    assert_string_equal(s->plantings[2].name, "extra");
    assert_true(s->household.eaters_portions == 1);
    assert_true(s->store.jar_kg == 0.5 && s->places[1].holds == 4);
    assert_string_equal(s->places[1].name, "loft");
    assert_string_equal(s->places[0].name, "shed");
    unload(&loaded);
}

static void added_and_taken_off(void **state)
{
    (void)state;
    struct loaded loaded;
    const char *const sets[MOST_SETS] = {
        "plantings.row.count+=1", "plantings.bed.count-=0.5", "plantings.row.plant_out+=10", "year_starts-=3",
        "plantings.bed.plant_out-=14", "household.enough-=0.25", "crops.pumpkin.cut_before_frost_days+=2",
        "plantings.row.blow_down+=0.125", "climate.first_hard_frost+=100", "trials+=5", "trials-=-1"};
    const struct scenario *s = right(&loaded, GOOD, sets);
    assert_true(s->plantings[0].count == 5.5 && s->plantings[1].count == 2.5);
    assert_int_equal(s->year_starts, 56);
    assert_int_equal(s->plantings[0].crop.plant_out, 144 + 10 - 56);   /* 25 May + 10 days */
    assert_int_equal(s->plantings[1].crop.plant_out, 149 - 14 - 56);   /* its crop's 30 May - 14 days */
    assert_int_equal(s->crops[1].plant_out, 149 - 56);                 /* the crop's own stands */
    assert_true(s->household.enough == 0.75);                          /* default 1 */
    assert_int_equal(s->crops[1].cut_before_frost_days, 3);            /* default 1 */
    assert_true(s->plantings[0].crop.blow_down == 0.125);              /* the crop's default 0 */
    assert_true(s->climate.first_hard_frost.a[0] ==
                292 + 100 - 365 + 365 - 56); /* 20 October + 100 days: 28 January */
    assert_true(s->trials == 1006);
    unload(&loaded);
}

/* Each mistaken option is told with what is wrong with it, and all of them at once. */
static void mistakes(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {"trials", "command line: trials: is no setting of the form path=VALUE"},
        {"=5", "command line: =5: is no setting of the form"},
        {"+=5", "command line: names no setting"},
        {"a..b=5", "command line: a..b: is no path of a setting"},
        {"places[x].holds=5", "command line: places[x].holds: is no path of a setting"},
        {"household.eaters[1].count=5", "there is no [1] in a list of 1 (the first is [0])"},
        {"places[0].holds=5", "command line: places[0].holds: the list is not given in the scenario"},
        {"trials.more=5", "command line: trials.more: more cannot be set in 1000: it is not a group"},
        {"household.eaters.count=5", "count cannot be set in a list of 1: it is not a group"},
        {"extends=other", "command line: extends: can only be said in a file"},
        {"trials={", "command line: trials: the bracket that begins here is never closed"},
        {"year_starts=5", "command line: year_starts: is not a date within three weeks of"},
        {"trials=5; food_years=2", "command line: trials: takes one value"},
        {"trials=5 }", "command line: trials: } closes nothing"},
        {"trials=1e999", "command line: trials: what stands here is too large for a number"},
        {"climate.tmin_c+=1", "+= and -= work on plain numbers and dates (here: a list of 12 and 1)"},
        {"crops.bean.heat_to_dry+=1", "work on plain numbers and dates (here: a group and 1)"},
        {"trials+=many", "work on plain numbers and dates (here: 1000 and \"many\")"},
        {"plantings.row.plant_out+=1.5", "a date is moved by a whole number of days, at most 365"},
        {"plantings.row.plant_out+=400", "a date is moved by a whole number of days, at most 365"},
        {"trials+=9223372036854775807", "command line: trials: becomes too large"},
        {"crops.bean.zzz+=1", "command line: crops.bean.zzz: is not a known setting"},
        {"plantings.bed.left_to_dry+=1", "command line: plantings.bed.left_to_dry: is a setting of beans"},
        {"store.jar_keeps_weeks+=1",
         "command line: store.jar_keeps_weeks: has no value that could be changed"},
        {"trials=0", "command line: trials: is out of range (got 0, allowed 1..10000000000)"},
        {"trials=2.0", "command line: trials: is not a whole number (got 2.0"},
        {"trial=2", "command line: trial: is not a known setting (did you mean trials?)"},
        {"title=bell \a", "command line: title: is not UTF-8 or has a control character in it"},
        {"title=@include \"x\"\n@include \"y\"",
         "command line: title: is not UTF-8 or has a control character in it"},
        {"trials=(1,\n@include \"y\"\n2)",
         "command line: trials: @include \"FILE\" stands alone on its line in a file"},
        {"household.guests.chance=0.5", "command line: household.guests.portions: is missing"},
        {"crops.bean.stands.at_least=0.5", "command line: crops.bean.stands: is no distribution"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        struct loaded loaded;
        const char *const sets[] = {pairs[i][0], NULL};
        assert_int_equal(load(&loaded, GOOD, sets), BASE_WRONG);
        if (strstr(loaded.said, pairs[i][1]) == NULL || loaded.complaints.errors != 1) {
            fail_msg("%s: %s", pairs[i][0], loaded.said);
        }
        unload(&loaded);
    }
    struct loaded loaded;
    const char *const sets[] = {"trials=0", "trial=2", "plantings.wigwam.count=3", "food_years=x", "places[0].holds=5", NULL};
    assert_int_equal(load(&loaded, GOOD, sets), BASE_WRONG);
    assert_int_equal(loaded.complaints.errors, 5);
    unload(&loaded);
}

/* One more than SCENARIO_MOST_PLACES. */
static void too_many_places(void **state)
{
    (void)state;
    struct loaded loaded;
    char option[1000] = "places=(";
    for (int i = 0; i <= SCENARIO_MOST_PLACES; i++) {
        strcat(option, i > 0 ? ", { }" : "{ }");
    }
    strcat(option, ")");
    const char *const sets[] = {option, NULL};
    assert_int_equal(load(&loaded, GOOD, sets), BASE_WRONG);
    assert_int_equal(loaded.complaints.errors, 1);
    assert_non_null(strstr(loaded.said, "command line: places[64]: is one too many (at most 64)"));
    unload(&loaded);
}

/* The hash is of the text read: another setting, another hash; the same, the same. */
static void hashes(void **state)
{
    (void)state;
    struct loaded a, b, c;
    const char *const none[] = {NULL};
    const char *const some[] = {"trials=5", NULL};
    const char *first = right(&a, FULL, none)->sha256;
    assert_string_equal(first, right(&b, FULL, none)->sha256);
    assert_string_not_equal(first, right(&c, FULL, some)->sha256);
    unload(&a);
    unload(&b);
    unload(&c);
}

static void a_warning_does_not_fail(void **state)
{
    (void)state;
    struct loaded loaded;
    const char *const sets[] = {
        "household.eke_out.least=0.6", "places=( { holds = 1; } )",
        "on_shelf.squash=( { planting = \"bed\"; fruits = 2; kg = 1.5; cut = \"10-10\"; } )", NULL};
    right(&loaded, GOOD, sets);
    assert_int_equal(loaded.complaints.warnings, 2);
    assert_non_null(
        strstr(loaded.said, "command line: warning: household.eke_out.least: is under household.enough"));
    assert_non_null(strstr(loaded.said, "warning: on_shelf.squash: puts 2 fruits in place 1, which holds 1"));
    unload(&loaded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(values),
                                       cmocka_unit_test(new_members_and_lists),
                                       cmocka_unit_test(added_and_taken_off),
                                       cmocka_unit_test(mistakes),
                                       cmocka_unit_test(too_many_places),
                                       cmocka_unit_test(hashes),
                                       cmocka_unit_test(a_warning_does_not_fail)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
