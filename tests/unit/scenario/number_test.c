/* number_test.c: numbers as written. The limits are those of int64_t and of IEEE 754 binary64. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <float.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "scenario/inside.h"

static void right_ones(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {{"0", "0"},
                                           {"-7", "-7"},
                                           {"+7", "7"},
                                           {"007", "7"},
                                           {"2147483647", "2147483647"},
                                           {"2147483648", "2147483648L"},
                                           {"-2147483648", "-2147483648"},
                                           {"-2147483649", "-2147483649L"},
                                           {"5L", "5"},
                                           {"5LL", "5"},
                                           {"9223372036854775807", "9223372036854775807L"},
                                           {"0x10", "16"},
                                           {"0XfF", "255"},
                                           {"0x80000000", "2147483648L"},
                                           {"0.1", "0.1"},
                                           {".5", "0.5"},
                                           {"5.", "5.0"},
                                           {"-.5e1", "-5.0"},
                                           {"5e3", "5000.0"},
                                           {"1E+22", "1.0e+22"},
                                           {"0.30000000000000004", "0.30000000000000004"},
                                           {"0e-999", "0.0"},
                                           {"0.0", "0.0"},
                                           {"-0.0", "-0.0"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        char clean[64];
        assert_null(scenario_number(pairs[i][0], strlen(pairs[i][0]), clean));
        assert_string_equal(clean, pairs[i][1]);
    }
}

static void wrong_ones(void **state)
{
    (void)state;
    static const char *const pairs[][2] = {
        {".", "is not a number"},
        {"-", "is not a number"},
        {"1.2.3", "is not a number"},
        {"1e", "is not a number"},
        {"5kg", "is not a number"},
        {"0x", "is not a number"},
        {"-0x10", "is not a number"},
        {"1-2", "is not a number"},
        {"--1", "is not a number"},
        {"5l", "is not a number"},
        {"0x1p3", "is not a number"},
        {"1.5L", "is not a number"},
        {"05-24", "is a date"},
        {"9223372036854775808", "is too large for a whole number"},
        {"-9223372036854775809", "is too large for a whole number"},
        {"0xFFFFFFFFFFFFFFFF", "is too large"},
        {"9223372036854775808L", "is too large"},
        {"1e999", "is too large for a number"},
        {"-1e309", "is too large for a number"},
        {"1e-400", "is too small for a number"},
        {"4e-320", "is too small for a number"},
        {"1234567890123456789012345678901234567890123456789012345678901", "has too many digits"}};
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        char clean[64];
        const char *why = scenario_number(pairs[i][0], strlen(pairs[i][0]), clean);
        if (why == NULL || strncmp(why, pairs[i][1], strlen(pairs[i][1])) != 0) {
            fail_msg("%s: %s", pairs[i][0], why != NULL ? why : "taken");
        }
    }
}

/* What is written reads back as the same double, and never as a whole number. */
static void written_reals_read_back(void **state)
{
    (void)state;
    static const double values[] = {
        0.0,     1.0,     0.1,      1.0 / 3.0, 1e15,   1e16,  123456789012345680.0,
        DBL_MAX, DBL_MIN, -2.5e-10, 1e100,     5e-324, 100.0, 0x1p53 + 2};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        char text[40];
        scenario_real_text(values[i], text);
        assert_true(strtod(text, NULL) == values[i]);
        assert_non_null(strchr(text, '.'));
        assert_true(strlen(text) < 32);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(right_ones), cmocka_unit_test(wrong_ones),
                                       cmocka_unit_test(written_reals_read_back)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
