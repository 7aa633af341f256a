/* sum.c: exact sums, and the intervals that need no histogram. */
#include "tally/tally.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

static const double QUANTUM = 0x1p20; /* values are whole multiples of 2^-20 */
static const double MOST = 0x1p28;    /* larger ones are cut off: squares of (2^28 2^20) still fit 2^31 times */

/* The quanta are the low bits of value + 1.5 * 2^32, which rounds to nearest even. */
BASE_VECTOR void tally_quanta(const double *restrict value, int n, int64_t *restrict quanta)
{
    const double magic = 0x1.8p32;
    int64_t magic_bits;
    memcpy(&magic_bits, &magic, sizeof magic_bits);
    for (int i = 0; i < n; i++) {
        double cut = value[i] > MOST ? MOST : value[i] < -MOST ? -MOST : value[i], shifted = cut + magic;
        int64_t bits;
        memcpy(&bits, &shifted, sizeof bits);
        quanta[i] = bits - magic_bits;
    }
}

void tally_sum_add(struct tally_sum *sum, double value)
{
    int64_t quanta;
    tally_quanta(&value, 1, &quanta);
    tally_sum_add_quanta(sum, quanta);
}

void tally_sum_add_row(struct tally_sum *sum, const int64_t quanta[PLAN_ABREAST])
{
    int64_t all = 0;
    tally_wide_positive squares = 0;
    for (int t = 0; t < PLAN_ABREAST; t++) {
        all += quanta[t]; /* each is below 2^49 */
        squares += (tally_wide_positive)((tally_wide)quanta[t] * quanta[t]);
    }
    sum->sum += all;
    sum->square += squares;
}

void tally_sum_add_block(struct tally_sum *sum, const double value[PLAN_ABREAST])
{
    int64_t quanta[PLAN_ABREAST];
    tally_quanta(value, PLAN_ABREAST, quanta);
    tally_sum_add_row(sum, quanta);
}

void tally_sum_merge(struct tally_sum *into, const struct tally_sum *from)
{
    into->sum += from->sum;
    into->square += from->square;
}

double tally_sum_mean(const struct tally_sum *sum, int64_t n)
{
    return n > 0 ? (double)sum->sum / (double)n / QUANTUM : 0.0;
}

/* Variance from exact integers: (n * sum of squares - square of sum) / (n (n - 1)). The difference is taken of
 * sums centred by the whole mean, so that 128 bits hold it and nothing cancels. */
double tally_sum_sd(const struct tally_sum *sum, int64_t n)
{
    if (n < 2)
        return 0.0;
    tally_wide mean = sum->sum / n, rest = sum->sum - mean * n; /* |rest| < n */
    tally_wide centred = (tally_wide)sum->square - mean * mean * n - 2 * mean * rest;
    double about = (double)centred - (double)rest * (double)rest / (double)n;
    return about > 0 ? sqrt(about / (double)(n - 1)) / QUANTUM : 0.0;
}

double tally_sum_error(const struct tally_sum *sum, int64_t n)
{
    return n < 2 ? 0.0 : tally_sum_sd(sum, n) / sqrt((double)n);
}

double tally_z(double alpha) { return gsl_cdf_ugaussian_Qinv(alpha / 2); }

void tally_wilson(int64_t k, int64_t n, double alpha, double *low, double *high)
{
    double z = tally_z(alpha), total = (double)n, p = (double)k / total, z2 = z * z;
    double centre = (p + z2 / (2 * total)) / (1 + z2 / total);
    double half = z / (1 + z2 / total) * sqrt(p * (1 - p) / total + z2 / (4 * total * total));
    *low = k == 0 ? 0.0 : centre - half;
    *high = k == n ? 1.0 : centre + half;
}
