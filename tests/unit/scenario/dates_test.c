/* dates_test.c: days of the simulation year as dates, and windows. Expected dates are counted by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "scenario/scenario.h"

static void iso_dates(void **state)
{
    (void)state;
    const struct scenario north = {.year_starts = 59, .first_year = 2001};
    const struct scenario south = {.year_starts = 243, .first_year = 2020};
    static const struct { bool south; int season, day; const char *date; } cases[] = {
        {false, 0, 0, "2001-03-01"}, {false, 0, 305, "2001-12-31"}, {false, 0, 306, "2002-01-01"},
        {false, 0, 364, "2002-02-28"}, {false, 1, 0, "2002-03-01"}, {false, 0, 365, "2002-03-01"},
        {false, 0, -1, "2001-02-28"}, {false, 0, -60, "2000-12-31"}, {false, -1, 0, "2000-03-01"},
        {false, 49, 364, "2051-02-28"}, {true, 0, 0, "2020-09-01"}, {true, 0, 121, "2020-12-31"},
        {true, 2, 122, "2023-01-01"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[16];
        scenario_iso_date(cases[i].south ? &south : &north, cases[i].season, cases[i].day, text);
        assert_string_equal(text, cases[i].date);
    }
}

static void windows(void **state)
{
    (void)state;
    const struct scenario_window plain = {100, 200}, wrapping = {300, 20}, one_day = {7, 7};
    assert_true(scenario_in_window(&plain, 100) && scenario_in_window(&plain, 200));
    assert_false(scenario_in_window(&plain, 99) || scenario_in_window(&plain, 201));
    assert_true(scenario_in_window(&wrapping, 300) && scenario_in_window(&wrapping, 364));
    assert_true(scenario_in_window(&wrapping, 0) && scenario_in_window(&wrapping, 20));
    assert_false(scenario_in_window(&wrapping, 21) || scenario_in_window(&wrapping, 299));
    assert_true(scenario_in_window(&one_day, 7));
    assert_false(scenario_in_window(&one_day, 6) || scenario_in_window(&one_day, 8));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(iso_dates), cmocka_unit_test(windows)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
