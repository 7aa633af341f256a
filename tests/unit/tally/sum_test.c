/* sum_test.c: exact sums against certified figures, any order and any split; Wilson's interval. */
#include "unit/check.h"

#include "tally/tally.h"

#include <stdlib.h>
#include <string.h>

/* A value is taken as the nearest whole multiple of 2^-20: its error is at most 2^-21. */
#define QUANTUM 0x1p-20

static struct tally_sum sum_of(const double *value, int n)
{
    struct tally_sum sum = { 0 };
    for (int i = 0; i < n; i++)
        tally_sum_add(&sum, value[i]);
    return sum;
}

/* NIST Statistical Reference Datasets, univariate summary statistics (itl.nist.gov/div898/strd): certified
 * means and standard
 * deviations. NumAcc1 as published; NumAcc2 to 4 are made here as their files say. What is not a whole
 * multiple of 2^-20
 * is off by up to 2^-21, which is all that the differences below allow for. */
static void numerical_accuracy(void **state)
{
    static const double one[3] = { 10000001, 10000003, 10000002 };
    static const double base[3] = { 1.2, 1000000.2, 10000000.2 };
    double value[1001];
    (void)state;
    struct tally_sum sum = sum_of(one, 3);
    check_near(tally_sum_mean(&sum, 3), 10000002, 1e-16);
    check_near(tally_sum_sd(&sum, 3), 1, 1e-15);
    check_near(tally_sum_error(&sum, 3), 1 / sqrt(3), 1e-15);
    /* NumAcc2, 3, 4: base, then 500 pairs of base - 0.1, base + 0.1 */
    for (int set = 0; set < 3; set++) {
        value[0] = base[set];
        for (int i = 1; i < 1001; i++)
            value[i] = base[set] + (i % 2 ? -0.1 : 0.1);
        sum = sum_of(value, 1001);
        check_within(tally_sum_mean(&sum, 1001), base[set], QUANTUM / 2);
        check_within(tally_sum_sd(&sum, 1001), 0.1, QUANTUM / 2);
    }
}

/* The 218 numbers of the dataset Lottery are not at hand; Michelson's 100 speeds of light (Michelso: mean
 * 299.8524, sd
 * 0.0790105478190518) are, as R's `morley` has them, in km/s above 299,000 divided by 1,000. */
static void speed_of_light(void **state)
{
    static const short morley[100] = {
        850, 740, 900, 1070, 930, 850, 950, 980, 980, 880, 1000, 980, 930, 650, 760, 810, 1000, 1000, 960,
            960,
        960, 940, 960, 940, 880, 800, 850, 880, 900, 840, 830, 790, 810, 880, 880, 830, 800, 790, 760, 800,
        880, 880, 880, 860, 720, 720, 620, 860, 970, 950, 880, 910, 850, 870, 840, 840, 850, 840, 840, 840,
        890, 810, 810, 820, 800, 770, 760, 740, 750, 760, 910, 920, 890, 860, 880, 720, 840, 850, 850, 780,
        890, 840, 780, 810, 760, 810, 790, 810, 820, 850, 870, 870, 810, 740, 810, 940, 950, 800, 810, 870,
    };
    double value[100];
    (void)state;
    for (int i = 0; i < 100; i++)
        value[i] = 299 + morley[i] / 1000.0;
    struct tally_sum sum = sum_of(value, 100);
    check_within(tally_sum_mean(&sum, 100), 299.8524, QUANTUM / 2);
    check_within(tally_sum_sd(&sum, 100), 0.0790105478190518, QUANTUM / 2);
}

/* Merged in any split, in any order: the same bytes. */
static void any_split(void **state)
{
    enum { N = 5000 };
    static double value[N];
    (void)state;
    for (int i = 0; i < N; i++)
        value[i] = (double)(chance_mix((uint64_t)i) >> 30) * 1e-6 - 3000;
    struct tally_sum whole = sum_of(value, N);
    for (int parts = 1; parts < 40; parts += 3) {
        struct tally_sum merged = { 0 };
        for (int p = parts - 1; p >= 0; p--) {
            struct tally_sum part = { 0 };
            for (int i = p; i < N; i += parts)
                tally_sum_add(&part, value[i]);
            tally_sum_merge(&merged, &part);
        }
        assert_memory_equal(&merged, &whole, sizeof whole);
    }
    double mean = 0, square = 0;
    for (int i = 0; i < N; i++)
        mean += value[i] / N;
    for (int i = 0; i < N; i++)
        square += (value[i] - mean) * (value[i] - mean) / (N - 1);
    check_near(tally_sum_mean(&whole, N), mean, 1e-9);
    check_near(tally_sum_sd(&whole, N), sqrt(square), 1e-9);
}

static void few_values(void **state)
{
    (void)state;
    struct tally_sum none = { 0 }, one = { 0 }, huge = { 0 };
    check_within(tally_sum_mean(&none, 0), 0, 0);
    tally_sum_add(&one, 2.5);
    check_near(tally_sum_mean(&one, 1), 2.5, 0);
    check_within(tally_sum_error(&one, 1), 0, 0);
    tally_sum_add(&one, 2.5);
    check_within(tally_sum_sd(&one, 2), 0, 0);
    check_near(tally_sum_mean(&one, 1000000), 5e-6, 1e-12);     /* zeros need not be added */
    for (int i = 0; i < 1000; i++)
        tally_sum_add(&huge, 1e300);                            /* cut off, not wrapped */
    assert_true(tally_sum_mean(&huge, 1000) >= 0x1p27);
    assert_true(isfinite(tally_sum_sd(&huge, 1000)));
}

/* Limits of the score interval for the cases of Newcombe 1998 (Statistics in Medicine 17:857-872), computed
 * in R. */
static void wilson(void **state)
{
    static const struct { int k, n; double low, high; } row[] = {
        { 81, 263, .255289, .366210 }, { 15, 148, .062386, .160487 }, { 0, 20, 0, .161125 },
            { 1, 29, .006113, .171755 },
        { 29, 29, .883030, 1 }, { 4, 20, .080658, .416017 }, { 7, 10, .396778, .892209 },
    };
    double low, high;
    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        tally_wilson(row[i].k, row[i].n, 0.05, &low, &high);
        check_within(low, row[i].low, 6e-7);
        check_within(high, row[i].high, 6e-7);
    }
    tally_wilson(4, 20, 0.10, &low, &high);
    check_within(low, .0931180, 6e-8);
    check_within(high, .3783767, 6e-8);
    check_within(tally_z(0.05), 1.959963984540054, 1e-12);      /* Abramowitz & Stegun, table 26.5 */
    /* symmetric in successes and failures, and holds its own share */
    for (int k = 0; k <= 50; k++) {
        double other_low, other_high;
        tally_wilson(k, 50, 0.05, &low, &high);
        tally_wilson(50 - k, 50, 0.05, &other_low, &other_high);
        check_within(low, 1 - other_high, 1e-14);
        assert_true(low <= k / 50.0 && high >= k / 50.0 && low >= 0 && high <= 1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numerical_accuracy), cmocka_unit_test(speed_of_light), cmocka_unit_test(any_split),
        cmocka_unit_test(few_values), cmocka_unit_test(wilson),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
