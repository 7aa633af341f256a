/* check.h: what the unit tests share beside cmocka, whose assert_float_equal compares single precision. */
#ifndef TIDEOVER_CHECK_H
#define TIDEOVER_CHECK_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>

/* True if actual is within `relative` of expected, or within `absolute`. NaN is near nothing. */
static inline int check_is_near(double actual, double expected, double relative, double absolute)
{
    if (actual == expected)
        return 1;
    return fabs(actual - expected) <= fmax(relative * fabs(expected), absolute);
}

static inline void check_near_at(double actual, double expected, double relative, double absolute,
                                 const char *what, const char *file, int line)
{
    if (check_is_near(actual, expected, relative, absolute))
        return;
    print_error("%s: %.17g, expected %.17g (off by %.3g)\n", what, actual, expected, actual - expected);
    _fail(file, line);
}

/* Relative error at most `relative`. */
#define check_near(actual, expected, relative) \
    check_near_at(actual, expected, relative, 0.0, #actual, __FILE__, __LINE__)
/* Absolute error at most `absolute`. */
#define check_within(actual, expected, absolute) \
    check_near_at(actual, expected, 0.0, absolute, #actual, __FILE__, __LINE__)

#endif
