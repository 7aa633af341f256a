/* words.c: figures as people say them. */
#include "report/report.h"

#include <math.h>

static const char *const MONTHS[12] = { "January", "February", "March", "April", "May", "June", "July", "August",
                                        "September", "October", "November", "December" };

/* Decimals of a percentage that its error allows: tenths when it is known to better than half a point. */
static int percent_decimals(double half_width)
{
    return half_width < 0.0005 ? 2 : half_width < 0.005 ? 1 : 0;
}

void report_percent(double share, double half_width, char text[32])
{
    int decimals = percent_decimals(half_width);
    double step = pow(10, -decimals), percent = 100 * share;
    if (share > 0 && percent <= step / 2)
        snprintf(text, 32, "under %.*f %%", decimals, step);
    else if (share < 1 && percent >= 100 - step / 2)
        snprintf(text, 32, "over %.*f %%", decimals, 100 - step);
    else
        snprintf(text, 32, "%.*f %%", decimals, percent);
}

void report_chance(double value, double low, double high, char text[80])
{
    char middle[32], bound[32];
    double half = (high - low) / 2;
    report_percent(value, half, middle);
    if (value < half || value > 1 - half) { /* at the edge the interval is lopsided: say its far end */
        report_percent(value < half ? high : low, half, bound);
        snprintf(text, 80, "%s (at %s %s)", middle, value < half ? "most" : "least", bound);
        return;
    }
    snprintf(text, 80, "%s ± %.*f", middle, percent_decimals(half), 100 * half);
}

void report_mass(double kg, bool pounds, char text[32])
{
    double value = pounds ? kg / 0.45359237 : kg; /* the international pound */
    snprintf(text, 32, "%.*f %s", value < 0.005 ? 0 : value < 1 ? 2 : value < 100 ? 1 : 0, value, pounds ? "lb" : "kg");
}

void report_day(const struct plan *plan, int week, char text[32])
{
    int of_year = (7 * plan_week_of(week) + plan->scenario->year_starts) % SCENARIO_DAYS;
    char mm_dd[6];
    base_mm_dd(of_year, mm_dd);
    int month = (mm_dd[0] - '0') * 10 + mm_dd[1] - '0', day = (mm_dd[3] - '0') * 10 + mm_dd[4] - '0';
    snprintf(text, 32, "%d %s", day, MONTHS[(month + 11) % 12]);
}
