/* calendar_test.c: the calendar of 365 days. Lengths of months: the Gregorian calendar's in a common year. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "base/base.h"

static void every_day_there_and_back(void **state)
{
    (void)state;
    static const int lengths[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int day = 0;
    for (int month = 1; month <= 12; month++) {
        for (int of_month = 1; of_month <= lengths[month - 1]; of_month++, day++) {
            char expected[16], text[6];
            snprintf(expected, sizeof expected, "%02d-%02d", month, of_month);
            base_mm_dd(day, text);
            assert_string_equal(text, expected);
            assert_int_equal(base_day_of_year(expected), day);
        }
    }
    assert_int_equal(day, 365);
}

static void leap_day(void **state)
{
    (void)state;
    assert_int_equal(base_day_of_year("02-29"), base_day_of_year("02-28"));
}

static void no_dates(void **state)
{
    (void)state;
    static const char *const texts[] = {"",       "05",         "5-24",  "05-2",  "05/24", "13-01",
                                        "00-10",  "05-00",      "05-32", "02-30", "04-31", "05-24 ",
                                        " 05-24", "2026-05-24", "0a-10", "05-b1", "-5-10", "05--1"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        assert_int_equal(base_day_of_year(texts[i]), -1);
    }
    assert_int_equal(base_day_of_year(NULL), -1);
}

static void days_beyond_the_year_wrap(void **state)
{
    (void)state;
    char text[6];
    base_mm_dd(365, text);
    assert_string_equal(text, "01-01");
    base_mm_dd(-1, text);
    assert_string_equal(text, "12-31");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_day_there_and_back), cmocka_unit_test(leap_day),
                                       cmocka_unit_test(no_dates),
                                       cmocka_unit_test(days_beyond_the_year_wrap)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
