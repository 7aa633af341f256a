/* dates.c: days of the simulation year as dates, and windows of the year. */
#include "scenario/scenario.h"

void scenario_iso_date(const struct scenario *scenario, int season, int day, char text[16])
{
    /* Days of the 365-day calendar since 1 January of first_year. */
    long since = (long)scenario->year_starts + (long)season * SCENARIO_DAYS + day;
    long year = since / SCENARIO_DAYS, of_year = since % SCENARIO_DAYS;
    if (of_year < 0) {
        of_year += SCENARIO_DAYS;
        year--;
    }
    char mm_dd[6];
    base_mm_dd((int)of_year, mm_dd);
    year += scenario->first_year;
    /* A year has four digits: first_year is 1600 to 9000, and a time line at most 51 years. */
    snprintf(text, 16, "%04d-%s", (int)(year < 0 ? 0 : year > 9999 ? 9999 : year), mm_dd);
}

bool scenario_in_window(const struct scenario_window *window, int day)
{
    if (window->from <= window->until) {
        return day >= window->from && day <= window->until;
    }
    return day >= window->from || day <= window->until;
}
