/* generator.c: daily weather as a model: normals through the year, slow departures of four weeks, fast ones of days; fitted to
 * recorded seasons, or with given figures.
 *
 * After Richardson 1981 (Water Resources Research 17:182-190): minimum and maximum about harmonic normals, their standardised
 * residuals a first-order autoregression in both; here in normal scores, since days are not normal and a frost lies in a
 * tail. Days that only follow one another leave the years too like one another; so each
 * year's departures of its four-week means are kept apart, as a yearly effect: a made-up year's are a random normal combination
 * of the recorded years', which has their variances and correlations. */
#include "plan/internal.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { HARMONICS = 3, SD_HARMONICS = 2, VARIABLES = 2 };
static const double TWO_PI = 6.28318530717958647693;
static const double LEAST_SD_C = 0.1;

/* Means by day, smoothed: a mean and harmonics of the year (Fourier sums, which are least squares on evenly spread days). */
static void smooth(const double *by_day, int harmonics, double *smoothed)
{
    double mean = 0;
    for (int day = 0; day < SCENARIO_DAYS; day++)
        mean += by_day[day] / SCENARIO_DAYS;
    for (int day = 0; day < SCENARIO_DAYS; day++)
        smoothed[day] = mean;
    for (int h = 1; h <= harmonics; h++) {
        double c = 0, s = 0;
        for (int day = 0; day < SCENARIO_DAYS; day++) {
            c += 2 * by_day[day] * cos(TWO_PI * h * day / SCENARIO_DAYS) / SCENARIO_DAYS;
            s += 2 * by_day[day] * sin(TWO_PI * h * day / SCENARIO_DAYS) / SCENARIO_DAYS;
        }
        for (int day = 0; day < SCENARIO_DAYS; day++)
            smoothed[day] += c * cos(TWO_PI * h * day / SCENARIO_DAYS) + s * sin(TWO_PI * h * day / SCENARIO_DAYS);
    }
    for (int day = 0; day < SCENARIO_DAYS; day++)
        smoothed[day] = plan_round(smoothed[day]);
}

static const double *temperatures(const struct plan_recorded_season *season, int variable)
{
    return variable ? season->tmax_c : season->tmin_c;
}

/* The last block takes the 365th day too. */
static int block_of(int day) { return day / PLAN_BLOCK_DAYS < PLAN_BLOCKS ? day / PLAN_BLOCK_DAYS : PLAN_BLOCKS - 1; }
static int block_days(int block) { return block == PLAN_BLOCKS - 1 ? SCENARIO_DAYS - PLAN_BLOCK_DAYS * block : PLAN_BLOCK_DAYS; }

static void fit_normals(const struct plan_records *records, struct plan_generator *generator)
{
    double by_day[SCENARIO_DAYS];
    for (int v = 0; v < VARIABLES; v++) {
        memset(by_day, 0, sizeof by_day);
        for (int y = 0; y < records->n; y++)
            for (int day = 0; day < SCENARIO_DAYS; day++)
                by_day[day] += temperatures(&records->season[y], v)[day] / records->n;
        smooth(by_day, HARMONICS, generator->normal_c[v]);
    }
}

/* Four-week means of each year's departures from the normals; about their mean over the years. */
static bool fit_slow(struct base_arena *arena, const struct plan_records *records, struct plan_generator *generator)
{
    double (*slow)[PLAN_BLOCKS][2] = base_arena_array(arena, (size_t)records->n, sizeof *slow);
    if (!slow)
        return false;
    for (int v = 0; v < VARIABLES; v++) {
        for (int y = 0; y < records->n; y++)
            for (int day = 0; day < SCENARIO_DAYS; day++)
                slow[y][block_of(day)][v] += (temperatures(&records->season[y], v)[day] - generator->normal_c[v][day])
                                             / block_days(block_of(day));
        for (int block = 0; block < PLAN_BLOCKS; block++) {
            double mean = 0;
            for (int y = 0; y < records->n; y++)
                mean += slow[y][block][v] / records->n;
            for (int y = 0; y < records->n; y++)
                slow[y][block][v] = plan_round(slow[y][block][v] - mean);
        }
    }
    generator->slow_c = (const double (*)[PLAN_BLOCKS][2])slow;
    generator->years = records->n;
    return true;
}

/* What is left of a day: fast departure, about its own four weeks' mean. `mean` are the blocks' means over the years. */
static double fast_of(const struct plan_records *records, const struct plan_generator *generator, double mean[][2], int y,
                      int day, int v)
{
    int block = block_of(day);
    return temperatures(&records->season[y], v)[day] - generator->normal_c[v][day] - generator->slow_c[y][block][v]
           - mean[block][v];
}

static void block_means(const struct plan_records *records, const struct plan_generator *generator, double mean[PLAN_BLOCKS][2])
{
    memset(mean, 0, PLAN_BLOCKS * sizeof *mean);
    for (int v = 0; v < VARIABLES; v++)
        for (int y = 0; y < records->n; y++)
            for (int day = 0; day < SCENARIO_DAYS; day++)
                mean[block_of(day)][v] += (temperatures(&records->season[y], v)[day] - generator->normal_c[v][day])
                                          / block_days(block_of(day)) / records->n;
}

static void fit_spreads(const struct plan_records *records, double mean[][2], struct plan_generator *generator)
{
    double by_day[SCENARIO_DAYS];
    for (int v = 0; v < VARIABLES; v++) {
        memset(by_day, 0, sizeof by_day);
        for (int y = 0; y < records->n; y++)
            for (int day = 0; day < SCENARIO_DAYS; day++) {
                double fast = fast_of(records, generator, mean, y, day, v);
                by_day[day] += fast * fast / records->n;
            }
        smooth(by_day, SD_HARMONICS, generator->sd_c[v]);
        for (int day = 0; day < SCENARIO_DAYS; day++)
            generator->sd_c[v][day] = plan_round(sqrt(fmax(LEAST_SD_C * LEAST_SD_C, generator->sd_c[v][day])));
    }
}

/* ---- days: what departs within four weeks ------------------------------------------------------------------------ */

/* Standardised fast departures of all days, and room to sort a quarter's. */
struct days { int years; double (*fast)[SCENARIO_DAYS][2]; double *sorted; };

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Departures of one quarter at evenly spaced normal scores, read off the sorted ones. */
static void fit_quarter(struct days *days, int quarter, int v, double departure[PLAN_SCORES])
{
    int n = 0;
    for (int y = 0; y < days->years; y++)
        for (int day = 0; day < SCENARIO_DAYS; day++)
            if (plan_quarter_of(day) == quarter)
                days->sorted[n++] = days->fast[y][day][v];
    qsort(days->sorted, (size_t)n, sizeof *days->sorted, ascending);
    for (int k = 0; k < PLAN_SCORES; k++) {
        double at = gsl_cdf_ugaussian_P(k / 10.0 - 4) * n - 0.5;
        at = at < 0 ? 0 : at > n - 1 ? n - 1 : at;
        int below = at >= n - 1 ? n - 2 : (int)at;
        departure[k] = plan_round(days->sorted[below] + (at - below) * (days->sorted[below + 1] - days->sorted[below]));
    }
}

/* The normal score of a departure: where it lies among those that departure[] has. */
static double score_of(const double departure[PLAN_SCORES], double fast)
{
    int k = 0;
    while (k < PLAN_SCORES - 2 && departure[k + 1] <= fast)
        k++;
    double step = departure[k + 1] - departure[k], share = step > 0 ? (fast - departure[k]) / step : 0.5;
    return (k + fmin(1, fmax(0, share))) / 10.0 - 4;
}

static bool fit_departures(struct base_arena *arena, const struct plan_records *records, double mean[][2],
                           struct plan_generator *generator, struct days *days)
{
    size_t n = (size_t)records->n;
    *days = (struct days){ records->n, base_arena_array(arena, n, sizeof *days->fast),
                           base_arena_array(arena, n * SCENARIO_DAYS, sizeof *days->sorted) };
    if (!days->fast || !days->sorted)
        return false;
    for (int y = 0; y < records->n; y++)
        for (int day = 0; day < SCENARIO_DAYS; day++)
            for (int v = 0; v < VARIABLES; v++)
                days->fast[y][day][v] = fast_of(records, generator, mean, y, day, v) / generator->sd_c[v][day];
    for (int quarter = 0; quarter < PLAN_QUARTERS; quarter++)
        for (int v = 0; v < VARIABLES; v++)
            fit_quarter(days, quarter, v, generator->departure[quarter][v]);
    for (int y = 0; y < records->n; y++)
        for (int day = 0; day < SCENARIO_DAYS; day++)
            for (int v = 0; v < VARIABLES; v++)
                days->fast[y][day][v] = score_of(generator->departure[plan_quarter_of(day)][v], days->fast[y][day][v]);
    return true;
}

/* Moments of the days' normal scores on the same day, and of a day with the day before (row: the later). */
struct moments { double same[2][2], next[2][2]; };

static void take_moments(const struct days *all, struct moments *moments)
{
    double pairs = 0, days = 0;
    *moments = (struct moments){ 0 };
    for (int y = 0; y < all->years; y++)
        for (int day = 0; day < SCENARIO_DAYS; day++) {
            bool pair = day > 0 && block_of(day) == block_of(day - 1);
            const double *today = all->fast[y][day], *before = all->fast[y][pair ? day - 1 : day];
            for (int i = 0; i < 4; i++) {
                moments->same[i / 2][i % 2] += today[i / 2] * today[i % 2];
                moments->next[i / 2][i % 2] += pair ? today[i / 2] * before[i % 2] : 0;
            }
            days += 1;
            pairs += pair;
        }
    for (int i = 0; i < 4; i++) {
        moments->same[i / 2][i % 2] /= days;
        moments->next[i / 2][i % 2] /= pairs;
    }
}

static void multiply(double a[2][2], double b[2][2], double c[2][2])
{
    double r[2][2];
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++)
            r[i][j] = a[i][0] * b[0][j] + a[i][1] * b[1][j];
    memcpy(c, r, sizeof r);
}

/* follows = next * same^-1, fresh * fresh' = same - follows * next' (Matalas 1967, Water Resources Research 3:937-945). */
static void regress(struct moments *moments, struct plan_generator *generator)
{
    double (*same)[2] = moments->same, determinant = same[0][0] * same[1][1] - same[0][1] * same[1][0], rest[2][2], turned[2][2];
    double inverse[2][2] = { { same[1][1] / determinant, -same[0][1] / determinant },
                             { -same[1][0] / determinant, same[0][0] / determinant } };
    multiply(moments->next, inverse, generator->follows);
    for (int i = 0; i < 4; i++)
        turned[i / 2][i % 2] = moments->next[i % 2][i / 2];
    multiply(generator->follows, turned, rest);
    for (int i = 0; i < 4; i++)
        rest[i / 2][i % 2] = same[i / 2][i % 2] - rest[i / 2][i % 2];
    double first = sqrt(fmax(1e-6, rest[0][0])), across = (rest[0][1] + rest[1][0]) / 2 / first;
    generator->fresh[0][0] = first;
    generator->fresh[1][0] = across;
    generator->fresh[1][1] = sqrt(fmax(1e-6, rest[1][1] - across * across));
}

/* Variance of a four-week mean of the autoregression: the sum over lags of follows^lag * same. */
static void mean_variance(const struct moments *moments, double follows[2][2], double variance[2][2])
{
    double at_lag[2][2];
    memcpy(at_lag, moments->same, sizeof at_lag);
    for (int i = 0; i < 4; i++)
        variance[i / 2][i % 2] = at_lag[i / 2][i % 2] / PLAN_BLOCK_DAYS;
    for (int lag = 1; lag < PLAN_BLOCK_DAYS; lag++) {
        multiply(follows, at_lag, at_lag);
        for (int i = 0; i < 4; i++)
            variance[i / 2][i % 2] += (PLAN_BLOCK_DAYS - lag) * (at_lag[i / 2][i % 2] + at_lag[i % 2][i / 2])
                                      / (PLAN_BLOCK_DAYS * PLAN_BLOCK_DAYS);
    }
}

/* What was measured is about four-week means, which takes the means' variance out of both moments: put back until it agrees. */
static void fit_fast(const struct days *days, struct plan_generator *generator)
{
    enum { ROUNDS = 60 };
    struct moments seen, whole;
    double lost[2][2];
    take_moments(days, &seen);
    whole = seen;
    for (int round = 0; round < ROUNDS; round++) {
        regress(&whole, generator);
        mean_variance(&whole, generator->follows, lost);
        for (int i = 0; i < 4; i++) {
            whole.same[i / 2][i % 2] = seen.same[i / 2][i % 2] + lost[i / 2][i % 2];
            whole.next[i / 2][i % 2] = seen.next[i / 2][i % 2] + lost[i / 2][i % 2];
        }
    }
    for (int i = 0; i < 4; i++) {
        generator->follows[i / 2][i % 2] = plan_round(generator->follows[i / 2][i % 2]);
        generator->fresh[i / 2][i % 2] = plan_round(generator->fresh[i / 2][i % 2]);
    }
}

bool plan_fit_generator(struct base_arena *arena, const struct plan_records *records, struct plan_generator *generator)
{
    double mean[PLAN_BLOCKS][2];
    *generator = (struct plan_generator){ 0 };
    fit_normals(records, generator);
    if (!fit_slow(arena, records, generator))
        return false;
    block_means(records, generator, mean);
    fit_spreads(records, mean, generator);
    struct base_arena aside = { 0 };
    struct days days;
    bool good = fit_departures(&aside, records, mean, generator, &days);
    if (good)
        fit_fast(&days, generator);
    base_arena_free(&aside);
    return good;
}

void plan_given_generator(const struct scenario *scenario, struct plan_generator *generator)
{
    const struct scenario_generator *given = &scenario->climate.generator;
    double same = given->same_day, apart = sqrt(1 - given->lag_one * given->lag_one);
    *generator = (struct plan_generator){
        .follows = { { given->lag_one, 0 }, { 0, given->lag_one } },
        .fresh = { { plan_round(apart), 0 }, { plan_round(apart * same), plan_round(apart * sqrt(1 - same * same)) } },
        .year_sd_c = given->year_sd_c };
    for (int i = 0; i < PLAN_QUARTERS * VARIABLES * PLAN_SCORES; i++)
        generator->departure[i / PLAN_SCORES / VARIABLES][i / PLAN_SCORES % VARIABLES][i % PLAN_SCORES] = i % PLAN_SCORES / 10.0 - 4;
    plan_daily_normals(scenario->climate.tmin_c, scenario->year_starts, generator->normal_c[0]);
    plan_daily_normals(scenario->climate.tmax_c, scenario->year_starts, generator->normal_c[1]);
    plan_daily_normals(given->tmin_sd_c, scenario->year_starts, generator->sd_c[0]);
    plan_daily_normals(given->tmax_sd_c, scenario->year_starts, generator->sd_c[1]);
}
