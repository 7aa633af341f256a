/* effective_test.c: what is written out loads again to the same, layers combine, and the table explains
 * itself. */
#include "unit/temporary.h"

#include "scenario/inside.h"

#define FOLDER "tests/unit/scenario/data/"

struct loaded {
    struct base_arena arena;
    struct base_complaints complaints;
    const struct scenario *scenario;
};

static const struct scenario *load(struct loaded *loaded, const char *path, const char *set)
{
    *loaded = (struct loaded){0};
    struct scenario_request request = {.path = path, .configs_dir = FOLDER "library", .sets_n = set != NULL,
                                       .sets = &set};
    enum base_result result = scenario_load(&loaded->arena, &request, &loaded->scenario, &loaded->complaints);
    base_complaints_print(&loaded->complaints, stderr);
    assert_int_equal(result, BASE_OK);
    return loaded->scenario;
}

static void unload(struct loaded *loaded)
{
    base_complaints_free(&loaded->complaints);
    base_arena_free(&loaded->arena);
}

/* What a function writes. The caller frees it. */
static char *written(void (*write)(const struct scenario *, FILE *), const struct scenario *scenario)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    assert_non_null(to);
    write(scenario, to);
    assert_int_equal(fclose(to), 0);
    assert_non_null(text);
    return text;
}

/* The program reads what it wrote, from another folder, to the same text and no difference. */
static void reads_back(const char *path, const char *set)
{
    struct loaded first, second;
    char copy[256];
    char *text = written(scenario_write_effective, load(&first, path, set));
    temporary_file(copy, text);
    char *again = written(scenario_write_effective, load(&second, copy, NULL));
    assert_string_equal(text, again);
    assert_int_equal(scenario_print_differences(first.scenario, second.scenario, stderr), 0);
    assert_null(strstr(text, "extends"));
    assert_null(strstr(text, "@include"));
    free(text);
    free(again);
    unlink(copy);
    unload(&first);
    unload(&second);
}

static void effective_settings_read_back(void **state)
{
    (void)state;
    reads_back(FOLDER "full.cfg", NULL);
    reads_back(FOLDER "good.cfg", "title=\"a \\\"quote\\\" and a \\\\\"");
    reads_back(FOLDER "good.cfg", "random_seed=9223372036854775807");
    reads_back(FOLDER "layers.cfg", NULL);
    reads_back(FOLDER "recorded.cfg", NULL);
}

/* The same from memory, under the name of a file that there need not be; nothing beside it is read. */
static void settings_given_as_text(void **state)
{
    static const char *const files[] = {FOLDER "full.cfg", FOLDER "layers.cfg", FOLDER "recorded.cfg"};
    static const char *const wrong[] = {"extends = \"good.cfg\";", "@include \"good.cfg\"\n", "trials = 3; trials = 4;"};
    static const char *const said[] = {"extend nothing", "include nothing", "stands in this group already"};
    (void)state;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        struct loaded first, second = {0};
        char *text = written(scenario_write_effective, load(&first, files[i], NULL));
        struct scenario_request request = {.path = FOLDER "none.state", .text = text};
        assert_int_equal(scenario_load(&second.arena, &request, &second.scenario, &second.complaints), BASE_OK);
        char *again = written(scenario_write_effective, second.scenario);
        assert_string_equal(text, again);
        free(text);
        free(again);
        unload(&first);
        unload(&second);
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct loaded loaded = {0};
        char *text = NULL;
        size_t size = 0;
        struct scenario_request request = {.path = FOLDER "none.state", .text = wrong[i], .configs_dir = FOLDER};
        assert_int_equal(scenario_load(&loaded.arena, &request, &loaded.scenario, &loaded.complaints), BASE_WRONG);
        FILE *to = open_memstream(&text, &size);
        base_complaints_print(&loaded.complaints, to);
        assert_int_equal(fclose(to), 0);
        assert_non_null(strstr(text, said[i]));
        assert_non_null(strstr(text, "none.state:1"));
        free(text);
        unload(&loaded);
    }
}

/* The struct of a scenario written out and read is the same figure for figure, not only its text. */
static void structs_are_the_same(void **state)
{
    (void)state;
    struct loaded first, second;
    const struct scenario *a = load(&first, FOLDER "full.cfg", NULL),
                          *b = load(&second, FOLDER "full.cfg", "trials=7");
    assert_memory_equal(&a->store.jar_keeps_weeks.a, &b->store.jar_keeps_weeks.a,
                        sizeof a->store.jar_keeps_weeks.a);
    assert_memory_equal(a->climate.tmin_c, b->climate.tmin_c, sizeof a->climate.tmin_c);
    assert_true(a->trials != b->trials);
    unload(&first);
    unload(&second);
}

static void differences(void **state)
{
    (void)state;
    struct loaded first, second, third;
    const struct scenario *a = load(&first, FOLDER "good.cfg", NULL);
    const struct scenario *b = load(&second, FOLDER "good.cfg", "plantings.row.count=5");
    const struct scenario *c = load(&third, FOLDER "good.cfg",
                                    "crops.bean.unit_kg={ p10 = 0.4; p50 = 0.5; p90 = 0.6; }");
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    assert_int_equal(scenario_print_differences(a, b, to), 1);
    assert_int_equal(scenario_print_differences(a, c, to), 1);
    assert_int_equal(scenario_print_differences(a, a, to), 0);
    assert_int_equal(fclose(to), 0);
    assert_string_equal(text, "plantings.row.count: 4.5 -> 5\n"
                              "crops.bean.unit_kg: 0.5 -> { p10 = 0.4; p50 = 0.5; p90 = 0.6; }\n");
    free(text);
    unload(&first);
    unload(&second);
    unload(&third);
}

static void differences_of_groups(void **state)
{
    (void)state;
    struct loaded first, second;
    const struct scenario *a = load(&first, FOLDER "good.cfg", NULL);
    const struct scenario *b = load(&second, FOLDER "good.cfg",
                                    "household.away=( { from = \"07-01\"; until = \"07-09\"; } )");
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    assert_int_equal(scenario_print_differences(a, b, to), 2);
    assert_int_equal(scenario_print_differences(b, a, to), 2);
    assert_int_equal(fclose(to), 0);
    assert_string_equal(
        text,
        "household.away[0].from: (absent) -> \"07-01\"\nhousehold.away[0].until: (absent) -> \"07-09\"\n"
        "household.away[0].from: \"07-01\" -> (absent)\n"
        "household.away[0].until: \"07-09\" -> (absent)\n");
    free(text);
    unload(&first);
    unload(&second);
}

static void settings_say_where_they_come_from(void **state)
{
    (void)state;
    struct loaded loaded;
    char *text = written(scenario_print_settings,
                         load(&loaded, FOLDER "layers.cfg", "plantings.row.count=5"));
    assert_non_null(strstr(text, "plantings.row.count = 5   # command line\n"));
    assert_non_null(strstr(text, "crops.bean.base_c = 8   # " FOLDER "good.cfg:19\n"));
    assert_non_null(strstr(text, "household.enough = 1.0   # default\n"));
    assert_non_null(strstr(text, "climate.warmth = { shape = \"normal\"; mean = 0.0; sd = 0.5; }   # "
                                 FOLDER "library/coast.cfg:3\n"));
    free(text);
    unload(&loaded);
}

/* layers.cfg lies over good.cfg, then library/coast.cfg (which lies over library/warm.cfg): later ones
 * win, groups merge at every depth, lists and distributions replace whole. */
static void layers(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "layers.cfg", NULL);
    assert_string_equal(s->title, "Layers");
    assert_string_equal(s->name, "layers");
    assert_int_equal(s->crops_n, 2);
    assert_int_equal(s->crops[0].unit_kg.shape, SCENARIO_GAMMA);
    assert_int_equal(s->crops[0].heat_to_dry.shape, SCENARIO_TRIPLET);   /* not merged with mean and sd */
    assert_true(s->crops[0].base_c == 8);
    assert_int_equal(s->climate.warmth.shape, SCENARIO_NORMAL);
    assert_true(s->climate.warmth.a[1] == 0.5);                          /* coast.cfg's, over warm.cfg's */
    assert_true(s->climate.hard_frost_c == -1.5);                        /* warm.cfg's */
    assert_int_equal(s->climate.last_frost.shape, SCENARIO_TRIPLET);
    assert_true(s->climate.last_frost.a[0] == 45 - 59);                  /* 15 February: before day 0 */
    assert_int_equal(s->places_n, 1);
    assert_true(s->household.eaters_portions == 3);
    assert_int_equal(s->plantings_n, 3);
    assert_string_equal(s->plantings[0].name, "row");
    assert_string_equal(s->plantings[2].name, "third");
    assert_true(s->plantings[0].count == 4.5);
    assert_int_equal(s->plantings[0].eat_rank, 3);
    unload(&loaded);
}

/* Records are looked for beside the file that names them, here one in the library. */
static void records_file(void **state)
{
    (void)state;
    struct loaded loaded;
    const struct scenario *s = load(&loaded, FOLDER "recorded.cfg", NULL);
    const char *end = "/" FOLDER "library/daily.csv";
    size_t n = strlen(s->climate.records_file);
    assert_true(s->climate.records_file[0] == '/' && n > strlen(end));
    assert_string_equal(s->climate.records_file + n - strlen(end), end);
    assert_string_equal(s->climate.records_origin.file, FOLDER "library/station.cfg");
    assert_int_equal(loaded.complaints.warnings, 1);   /* good.cfg's frost dates lie under it */
    unload(&loaded);
}

static void the_file_itself_is_missing(void **state)
{
    (void)state;
    struct base_arena arena = {0};
    struct base_complaints complaints = {0};
    struct scenario_request request = {.path = FOLDER "nowhere.cfg"};
    const struct scenario *scenario = NULL;
    assert_int_equal(scenario_load(&arena, &request, &scenario, &complaints), BASE_WRONG);
    assert_int_equal(complaints.errors, 1);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
}

/* ---- the table ------------------------------------------------------------------------------------- */

static char *explained(const char *path, enum base_result expected)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    assert_int_equal(scenario_explain(path, to), expected);
    assert_int_equal(fclose(to), 0);
    return text;
}

static void explanations(void **state)
{
    (void)state;
    static const char *const same[] = {"plantings.count", "plantings.wigwams.count", "plantings.*.count"};
    for (int i = 0; i < 3; i++) {
        char *text = explained(same[i], BASE_OK);
        assert_non_null(strstr(text, "How many of the crop's units are planted."));
        assert_non_null(strstr(text, "0..10000 units, must be given"));
        free(text);
    }
    static const struct { const char *path; enum base_result result; const char *part;
    } cases[] = {{"places[1].holds", BASE_OK, "whole number, 0..1000000 fruits"},
                 {"crops.x.unit_kg.p50", BASE_OK, "{ shape = \"gamma\"; k; theta; }"},
                 {"climate.last_frost", BASE_OK, "{ shape = \"pert\"; low; mode; high; }"},
                 {"store", BASE_OK, "look_over_weeks"},
                 {"plantings.cuont", BASE_OK, "did you mean the setting count?"},
                 {"trails", BASE_WRONG, "there is no such setting (did you mean trials?)"},
                 {"crops.x.kindd", BASE_WRONG, "(did you mean kind?)"},
                 {"trials.x", BASE_WRONG, "no such setting"},
                 {"", BASE_WRONG, "no such setting"},
                 {"zzzzzzzz", BASE_WRONG, "no such setting\n"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *text = explained(cases[i].path, cases[i].result);
        if (strstr(text, cases[i].part) == NULL) {
            fail_msg("%s: %s", cases[i].path, text);
        }
        free(text);
    }
    char *text = explained("climate.last_frost", BASE_OK);
    assert_null(strstr(text, "gamma"));
    free(text);
}

/* Rows that can be no good: a default out of its limits, a meaning that is no sentence, limits upside
 * down. */
static void check_rows(const struct scenario_group *group)
{
    for (size_t i = 0; i < group->n; i++) {
        const struct scenario_setting *row = &group->settings[i];
        size_t n = strlen(row->meaning);
        assert_true(n > 10 && row->meaning[n - 1] == '.');
        assert_true(row->most >= row->least);
        assert_true((row->inside != NULL) == (row->type >= SCENARIO_TYPE_GROUP));
        assert_true((row->choices != NULL) == (row->type == SCENARIO_TYPE_CHOICE));
        bool number = row->type == SCENARIO_TYPE_REAL || row->type == SCENARIO_TYPE_WHOLE ||
                      row->type == SCENARIO_TYPE_LONG || row->type == SCENARIO_TYPE_HOLDS;
        if (number) {
            assert_true(row->most > row->least);
        }
        if (number && row->fallback != NULL) {
            double value = strtod(row->fallback, NULL);
            assert_true(value >= row->least && value <= row->most);
            assert_true((strchr(row->fallback, '.') != NULL) == (row->type == SCENARIO_TYPE_REAL));
        }
        for (size_t j = 0; j < i; j++) {
            assert_string_not_equal(row->name, group->settings[j].name);
        }
        if (row->inside != NULL) {
            check_rows(row->inside);
        }
    }
}

static void the_table(void **state)
{
    (void)state;
    check_rows(&scenario_group_root);
}

static void the_reference_has_every_setting(void **state)
{
    (void)state;
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    scenario_write_reference(to);
    assert_int_equal(fclose(to), 0);
    static const char *const parts[] = {".Sh SETTINGS\n",
                                        ".Ss plantings.NAME\n",
                                        ".Ss places[]\n",
                                        ".Ss household.meals.beans\n",
                                        ".It Cm cut_by\n",
                                        ".It Cm max_missing_days\n",
                                        "(number, 0..1, default 0.02, of beans only)\n",
                                        "(each|shared, default each)\n"};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        assert_non_null(strstr(text, parts[i]));
    }
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(effective_settings_read_back),
                                       cmocka_unit_test(settings_given_as_text),
                                       cmocka_unit_test(structs_are_the_same),
                                       cmocka_unit_test(differences),
                                       cmocka_unit_test(differences_of_groups),
                                       cmocka_unit_test(settings_say_where_they_come_from),
                                       cmocka_unit_test(layers),
                                       cmocka_unit_test(records_file),
                                       cmocka_unit_test(the_file_itself_is_missing),
                                       cmocka_unit_test(explanations),
                                       cmocka_unit_test(the_table),
                                       cmocka_unit_test(the_reference_has_every_setting)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
