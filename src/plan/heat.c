/* heat.c: degree-days of a day and of a year. */
#include "plan/internal.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

double plan_round(double x)
{
    /* Veltkamp's split keeps 26 bits of the mantissa: a library's last digit does not show. */
    double c = x * 134217729.0;
    return c - (c - x);
}

struct plan_heat plan_day_heat(double tmin_c, double tmax_c, double base_c)
{
    double mean = (tmax_c + tmin_c) / 2;
    if (tmin_c >= base_c)
        return (struct plan_heat){ mean - base_c, 1.0 };
    if (tmax_c <= base_c)
        return (struct plan_heat){ 0.0, 0.0 };
    double half = (tmax_c - tmin_c) / 2, sine = (base_c - mean) / half, above = PI / 2 - asin(sine);
    return (struct plan_heat){ ((mean - base_c) * above + half * sqrt((1 - sine) * (1 + sine))) / PI, above / PI };
}

double plan_degree_days(double tmin_c, double tmax_c, double base_c) { return plan_day_heat(tmin_c, tmax_c, base_c).heat; }

void plan_daily_normals(const double monthly_c[12], int year_starts, double daily_c[SCENARIO_DAYS])
{
    static const int first_of_month[12] = { 0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334 };
    for (int day = 0; day < SCENARIO_DAYS; day++) {
        int of_year = (day + year_starts) % SCENARIO_DAYS;
        int next = 0;
        while (next < 12 && first_of_month[next] + 14 <= of_year)
            next++;
        int before = (next + 11) % 12, after = next % 12;
        int from = first_of_month[before] + 14 - (next == 0 ? SCENARIO_DAYS : 0);
        int to = first_of_month[after] + 14 + (next == 12 ? SCENARIO_DAYS : 0);
        double share = (double)(of_year - from) / (to - from);
        daily_c[day] = monthly_c[before] + share * (monthly_c[after] - monthly_c[before]);
    }
}
