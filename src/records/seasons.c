/* seasons.c: recorded seasons as the tables that a grower knows: frost dates, frost-free days, heat, and their trend. */
#include "records/records.h"

#include <gsl/gsl_fit.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

static int first_at_or_below(const double *tmin_c, double limit_c)
{
    for (int day = RECORDS_LAST_SPRING_DAY + 1; day < SCENARIO_DAYS; day++)
        if (tmin_c[day] <= limit_c)
            return day;
    return SCENARIO_DAYS;
}

static double heat_of(const struct plan_recorded_season *season, double base_c, int from, int until)
{
    double heat = 0;
    for (int day = from; day < until; day++)
        heat += plan_degree_days(season->tmin_c[day], season->tmax_c[day], base_c);
    return heat;
}

void records_season_figures(const struct plan_recorded_season *season, double hard_frost_c, const double *base_c, int bases,
                            struct records_season *figures)
{
    *figures = (struct records_season){ .year = season->label_year, .last_frost = -1 };
    for (int day = 0; day <= RECORDS_LAST_SPRING_DAY; day++)
        if (season->tmin_c[day] <= 0)
            figures->last_frost = day;
    figures->first_frost = first_at_or_below(season->tmin_c, 0);
    figures->first_hard_frost = first_at_or_below(season->tmin_c, hard_frost_c);
    figures->frost_free_days = figures->first_frost - figures->last_frost - 1;
    for (int b = 0; b < bases; b++) {
        figures->heat[b] = heat_of(season, base_c[b], RECORDS_HEAT_FROM, RECORDS_HEAT_UNTIL + 1);
        figures->open_heat[b] = heat_of(season, base_c[b], figures->last_frost + 1, figures->first_hard_frost);
    }
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Type 7 of Hyndman & Fan 1996 (The American Statistician 50:361-365): straight lines at (n-1)p between the order
 * statistics; NAN where one of the two neighbours with a share is infinite. */
static double quantile(const double *sorted, int n, double p)
{
    double at = (n - 1) * p;
    int below = (int)floor(at);
    double share = at - below;
    double value = share > 0 ? (1 - share) * sorted[below] + share * sorted[below + 1] : sorted[below];
    return isfinite(value) ? value : NAN;
}

/* Least squares on the year; the standard error of the slope from the residuals' variance. */
static void fit_trend(const double *year, const double *value, int n, struct records_trend *trend)
{
    double start, slope, c00, c01, c11, squares;
    bool same_year = true;
    for (int i = 1; i < n; i++)
        same_year &= year[i] == year[0];
    if (n < 3 || same_year)
        return;
    gsl_fit_linear(year, 1, value, 1, (size_t)n, &start, &slope, &c00, &c01, &c11, &squares);
    trend->per_decade = 10 * slope;
    trend->std_error = 10 * sqrt(c11);
}

bool records_trend_of(const double *year, const double *value, int n, bool lacks_low, struct records_trend *trend)
{
    *trend = (struct records_trend){ .mean = NAN, .sd = NAN, .p10 = NAN, .p50 = NAN, .p90 = NAN, .per_decade = NAN,
                                     .std_error = NAN };
    if (n < 1)
        return true;
    double *room = base_alloc(3 * (size_t)n * sizeof *room), *sorted = room, *years = room + n, *values = room + 2 * n;
    if (!room)
        return false;
    for (int i = 0; i < n; i++) {
        sorted[i] = isfinite(value[i]) ? value[i] : lacks_low ? -HUGE_VAL : HUGE_VAL;
        if (!isfinite(value[i]))
            continue;
        years[trend->n] = year[i];
        values[trend->n++] = value[i];
    }
    trend->lacking = n - trend->n;
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    trend->p10 = quantile(sorted, n, 0.1);
    trend->p50 = quantile(sorted, n, 0.5);
    trend->p90 = quantile(sorted, n, 0.9);
    if (trend->n > 0)
        trend->mean = gsl_stats_mean(values, 1, (size_t)trend->n);
    if (trend->n > 1)
        trend->sd = gsl_stats_sd(values, 1, (size_t)trend->n);
    fit_trend(years, values, trend->n, trend);
    base_free(room);
    return true;
}
