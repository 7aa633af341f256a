/* words.c: figures as people say them. */
#include "report/report.h"

#include <math.h>

static const char *const MONTHS[12] = { "January", "February", "March", "April", "May", "June", "July", "August",
                                        "September", "October", "November", "December" };

/* Decimals of a percentage that its error allows: whole per cent unless it is known to better than a quarter. */
static int percent_decimals(double half_width)
{
    return half_width < 0.0005 ? 2 : half_width < 0.0025 ? 1 : 0;
}

void report_percent(double share, double half_width, char text[32])
{
    int decimals = percent_decimals(half_width);
    double step = pow(10, -decimals), percent = 100 * share;
    if (share > 0 && percent < step / 2)
        snprintf(text, 32, "under %.*f %%", decimals, step);
    else if (share < 1 && percent > 100 - step / 2)
        snprintf(text, 32, "over %.*f %%", decimals, 100 - step);
    else
        snprintf(text, 32, "%.*f %%", decimals, percent);
}

void report_mass(double kg, bool pounds, char text[32])
{
    double value = pounds ? kg / 0.45359237 : kg; /* the international pound */
    snprintf(text, 32, "%.*f %s", value < 1 ? 2 : value < 100 ? 1 : 0, value, pounds ? "lb" : "kg");
}

void report_day(const struct plan *plan, int week, char text[32])
{
    int of_year = (7 * plan_week_of(week) + plan->scenario->year_starts) % SCENARIO_DAYS;
    char mm_dd[6];
    base_mm_dd(of_year, mm_dd);
    int month = (mm_dd[0] - '0') * 10 + mm_dd[1] - '0', day = (mm_dd[3] - '0') * 10 + mm_dd[4] - '0';
    snprintf(text, 32, "%d %s", day, MONTHS[(month + 11) % 12]);
}
