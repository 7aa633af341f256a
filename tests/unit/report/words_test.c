/* words_test.c: percentages, weights and days as people say them. */
#include "unit/plan/planned.h"

#include "report/report.h"

static const char *percent(double share, double half_width)
{
    static char text[32];
    report_percent(share, half_width, text);
    return text;
}

/* No more figures than the error allows; never "0 %" for what has happened, nor "100 %" for what has not
 * always. */
static void percentages(void **state)
{
    (void)state;
    assert_string_equal(percent(0.2345, 0.02), "23 %");
    assert_string_equal(percent(0.2345, 0.001), "23.4 %");
    assert_string_equal(percent(0.23456, 0.0001), "23.46 %");
    assert_string_equal(percent(0, 0.02), "0 %");
    assert_string_equal(percent(1, 0.02), "100 %");
    assert_string_equal(percent(0.0004, 0.0006), "under 0.1 %");
    assert_string_equal(percent(0.00001, 0.00001), "under 0.01 %");
    assert_string_equal(percent(0.004, 0.01), "under 1 %");
    assert_string_equal(percent(0.9996, 0.0006), "over 99.9 %");
    assert_string_equal(percent(0.9996, 0.01), "over 99 %");
    assert_string_equal(percent(0.0006, 0.0006), "0.1 %");
    for (int i = 1; i < 10000; i++)
        for (int j = 0; j < 4; j++) {
            const char *text = percent(i / 10000.0, pow(10, -j - 1) / 3);
            assert_true(strcmp(text, "0 %") != 0 && strcmp(text, "0.0 %") != 0
                        && strcmp(text, "0.00 %") != 0);
            assert_true(strncmp(text, "100", 3) != 0);
        }
}

static const char *mass(double kg, bool pounds)
{
    static char text[32];
    report_mass(kg, pounds, text);
    return text;
}

/* The international pound is 0.45359237 kg exactly (agreement of 1959). */
static void weights(void **state)
{
    (void)state;
    assert_string_equal(mass(1.24, false), "1.2 kg");
    assert_string_equal(mass(0.456, false), "0.46 kg");
    assert_string_equal(mass(0, false), "0 kg");
    assert_string_equal(mass(123.4, false), "123 kg");
    assert_string_equal(mass(0.45359237, true), "1.0 lb");
    assert_string_equal(mass(45.359237, true), "100 lb");
    assert_string_equal(mass(0.226796185, true), "0.50 lb");
    assert_string_equal(mass(10, true), "22.0 lb");
}

static void days(void **state)
{
    static const struct { int week; const char *day; } row[] = {
        { 0, "1 March" }, { 1, "8 March" }, { 30, "27 September" }, { 35, "1 November" }, { 44, "3 January" },
            { 51, "21 February" },
        { 52, "1 March" }, { 52 + 44, "3 January" }, { -1, "21 February" },
    };
    char text[32];
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct plan *plan = planned_file(&arena, "tests/reference/scenarios/01_beans_certain.cfg", NULL, 0);
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        report_day(plan, row[i].week, text);
        assert_string_equal(text, row[i].day);
    }
    base_arena_free(&arena);
}

/* The cautions say what can hurt: raw beans, the slow cooker, mould, bitter squash, relying on a plan. */
static void cautions(void **state)
{
    (void)state;
    char text[2048] = "";
    FILE *to = fmemopen(text, sizeof text - 1, "w");
    assert_non_null(to);
    report_cautions(to);
    fclose(to);
    static const char *const words[] = { "soak", "boil", "30 minutes", "slow cooker", "mould", "bitter",
                                         "reserve" };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        assert_non_null(strstr(text, words[i]));
    assert_int_equal(strcmp(report_food_name(SCENARIO_BEANS), "beans"), 0);
    assert_int_equal(strcmp(report_food_name(SCENARIO_SQUASH), "squash"), 0);
    assert_int_equal(strcmp(report_food_name(FUTURE_ANY), "any"), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(percentages), cmocka_unit_test(weights), cmocka_unit_test(days),
            cmocka_unit_test(cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
