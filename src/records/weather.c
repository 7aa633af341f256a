/* weather.c: a daily record becomes whole seasons. */
#include "records/records.h"

#include <math.h>
#include <string.h>

enum { LAST_NEEDED_DAY = 274, MOST_DAYS = 400 * 366 };
static const double COLDEST_C = -90, HOTTEST_C = 65; /* no weather station has measured beyond */

/* The record as a calendar of 365-day years: one entry a day from its first to its last, 29 February left out. */
struct series { int n, first_of_year, first_year; double *tmin_c, *tmax_c; bool *missing; };

struct columns { int date, tmin, tmax; };

static bool find_columns(const struct scenario_climate *climate, const struct records_table *table, struct columns *columns,
                         struct base_complaints *complaints)
{
    const char *names[3] = { climate->date_column, climate->tmin_column, climate->tmax_column };
    int *at[3] = { &columns->date, &columns->tmin, &columns->tmax };
    bool good = true;
    for (int i = 0; i < 3; i++) {
        *at[i] = records_column(table, names[i]);
        if (*at[i] < 0) {
            base_complain(complaints, BASE_ERROR, climate->records_file, 1, NULL,
                          "has no column \"%s\" (climate.date_column, tmin_column and tmax_column name the columns)", names[i]);
            good = false;
        }
    }
    return good;
}

static const char *cell_of(const struct records_row *row, int column)
{
    return column < row->cells_n ? row->cell[column] : "";
}

/* Both temperatures as written in the file; false where one is missing: empty or no number. */
static bool temperatures(const struct records_table *table, const struct records_row *row, const struct columns *columns,
                         double *tmin, double *tmax)
{
    return records_number(table, cell_of(row, columns->tmin), tmin) && records_number(table, cell_of(row, columns->tmax), tmax);
}

static double to_celsius(const struct scenario_climate *climate, double degrees)
{
    return climate->temperature_unit == SCENARIO_FAHRENHEIT ? (degrees - 32) / 1.8 : degrees;
}

/* Complains of values that no thermometer shows. */
static bool judge(const struct scenario_climate *climate, const struct records_row *row, double tmin, double tmax,
                  struct base_complaints *complaints)
{
    double low = to_celsius(climate, fmin(tmin, tmax)), high = to_celsius(climate, fmax(tmin, tmax));
    bool fahrenheit = climate->temperature_unit == SCENARIO_FAHRENHEIT;
    if (low < COLDEST_C || high > HOTTEST_C) {
        base_complain(complaints, BASE_ERROR, climate->records_file, row->line, NULL,
                      "a temperature that no weather has had (got %g and %g, allowed %g..%g degrees %s)", tmin, tmax,
                      fahrenheit ? COLDEST_C * 1.8 + 32 : COLDEST_C, fahrenheit ? HOTTEST_C * 1.8 + 32 : HOTTEST_C,
                      fahrenheit ? "Fahrenheit" : "Celsius; climate.temperature_unit says otherwise");
        return false;
    }
    if (tmin > tmax) {
        base_complain(complaints, BASE_ERROR, climate->records_file, row->line, NULL,
                      "the minimum %g is above the maximum %g", tmin, tmax);
        return false;
    }
    return true;
}

/* Days from the file's first to its last, at most 400 years; -1 with complaints, of every row that is wrong. */
static int64_t span(const struct scenario_climate *climate, const struct records_table *table, const struct columns *columns,
                    int64_t *first, struct base_complaints *complaints)
{
    int64_t before = INT64_MIN, last = 0;
    bool good = true;
    for (int r = 1; r < table->rows_n; r++) {
        const struct records_row *row = &table->row[r];
        int64_t day;
        int year, month, of_month;
        double tmin, tmax;
        if (temperatures(table, row, columns, &tmin, &tmax))
            good &= judge(climate, row, tmin, tmax, complaints);
        if (!records_date(cell_of(row, columns->date), &day, &year, &month, &of_month)) {
            base_complain(complaints, BASE_ERROR, climate->records_file, row->line, NULL,
                          "\"%.40s\" is no date (wanted: YYYY-MM-DD)", cell_of(row, columns->date));
            good = false;
            continue;
        }
        if (day <= before) {
            base_complain(complaints, BASE_ERROR, climate->records_file, row->line, NULL,
                          "the date %.40s %s", cell_of(row, columns->date),
                          day == before ? "stands there twice" : "is out of order");
            good = false;
        }
        if (before == INT64_MIN)
            *first = day;
        before = last = day;
    }
    if (good && last - *first > MOST_DAYS) {
        base_complain(complaints, BASE_ERROR, climate->records_file, 0, NULL, "covers more than 400 years");
        good = false;
    }
    return good ? last - *first + 1 : -1;
}

static int day_of_year(int month, int of_month)
{
    char text[6] = { (char)('0' + month / 10), (char)('0' + month % 10), '-', (char)('0' + of_month / 10),
                     (char)('0' + of_month % 10), '\0' };
    return base_day_of_year(text);
}

/* Index of a date in the 365-day calendar that begins with the series' first day. */
static int place_of(const struct series *series, int year, int month, int of_month)
{
    return (year - series->first_year) * SCENARIO_DAYS + day_of_year(month, of_month) - series->first_of_year;
}

static bool read_series(struct base_arena *arena, const struct scenario_climate *climate, const struct records_table *table,
                        struct series *series, struct base_complaints *complaints)
{
    struct columns columns;
    int64_t first = 0;
    if (!find_columns(climate, table, &columns, complaints))
        return false;
    int64_t days = span(climate, table, &columns, &first, complaints);
    if (days < 0)
        return false;
    size_t room = (size_t)days + 2;
    series->tmin_c = base_arena_array(arena, room, sizeof *series->tmin_c);
    series->tmax_c = base_arena_array(arena, room, sizeof *series->tmax_c);
    series->missing = base_arena_array(arena, room, sizeof *series->missing);
    if (!series->tmin_c || !series->tmax_c || !series->missing)
        return false;
    memset(series->missing, 1, room * sizeof *series->missing);
    for (int r = 1; r < table->rows_n; r++) {
        const struct records_row *row = &table->row[r];
        int64_t day;
        int year, month, of_month;
        records_date(cell_of(row, columns.date), &day, &year, &month, &of_month);
        if (r == 1) {
            series->first_year = year;
            series->first_of_year = day_of_year(month, of_month);
        }
        if (month == 2 && of_month == 29)
            continue;
        int at = place_of(series, year, month, of_month);
        double tmin, tmax;
        series->n = at + 1;
        if (!temperatures(table, row, &columns, &tmin, &tmax))
            continue;
        series->tmin_c[at] = to_celsius(climate, tmin);
        series->tmax_c[at] = to_celsius(climate, tmax);
        series->missing[at] = false;
    }
    return true;
}

/* Straight lines over gaps; the nearest value at the ends. False when nothing is there at all. */
static bool fill(const struct series *series)
{
    int before = -1;
    for (int at = 0; at <= series->n; at++) {
        if (at < series->n && series->missing[at])
            continue;
        for (int gap = before + 1; gap < at; gap++) {
            double share = before < 0 ? 1.0 : at == series->n ? 0.0 : (double)(gap - before) / (at - before);
            int from = before < 0 ? at : before, to = at == series->n ? before : at;
            if (from >= series->n || to < 0)
                return false;
            series->tmin_c[gap] = series->tmin_c[from] + share * (series->tmin_c[to] - series->tmin_c[from]);
            series->tmax_c[gap] = series->tmax_c[from] + share * (series->tmax_c[to] - series->tmax_c[from]);
        }
        before = at;
    }
    return true;
}

static int missing_days(const struct series *series, int start)
{
    int missing = 0;
    for (int day = 0; day <= LAST_NEEDED_DAY; day++)
        missing += start + day < 0 || start + day >= series->n || series->missing[start + day];
    return missing;
}

/* Days until the season's last third has more missing days on end than are allowed in the rest. */
static int known_days(const struct series *series, int start, int most_missing)
{
    int missing = 0;
    for (int day = LAST_NEEDED_DAY + 1; day < SCENARIO_DAYS; day++) {
        missing = start + day >= series->n || series->missing[start + day] ? missing + 1 : 0;
        if (missing > most_missing)
            return day + 1 - missing;
    }
    return SCENARIO_DAYS;
}

static void copy_season(const struct series *series, int start, struct plan_recorded_season *season)
{
    for (int day = 0; day < SCENARIO_DAYS; day++) {
        int at = start + day;
        at = at < 0 ? 0 : at >= series->n ? series->n - 1 : at;
        season->tmin_c[day] = series->tmin_c[at];
        season->tmax_c[day] = series->tmax_c[at];
    }
}

const struct plan_records *records_read_weather(struct base_arena *arena, const struct scenario *scenario,
                                                char sha256[65], struct base_complaints *complaints)
{
    const struct scenario_climate *climate = &scenario->climate;
    const struct records_table *table = records_read_csv(arena, climate->records_file, sha256, complaints);
    struct series series = { 0 };
    if (!table || !read_series(arena, climate, table, &series, complaints))
        return NULL;
    struct plan_records *records = base_arena_take(arena, sizeof *records);
    size_t most = (size_t)series.n / SCENARIO_DAYS + 2;
    struct plan_recorded_season *season = base_arena_array(arena, most, sizeof *season);
    int *left_out = base_arena_array(arena, most, sizeof *left_out);
    if (!records || !season || !left_out)
        return NULL;
    bool filled = fill(&series);
    int start = (scenario->year_starts - series.first_of_year + SCENARIO_DAYS) % SCENARIO_DAYS - SCENARIO_DAYS;
    for (; filled && start < series.n; start += SCENARIO_DAYS) {
        int missing = missing_days(&series, start);
        int year = series.first_year + (series.first_of_year + start + SCENARIO_DAYS) / SCENARIO_DAYS - 1;
        if (missing <= climate->max_missing_days) {
            season[records->n].label_year = year;
            season[records->n].known_days = known_days(&series, start, climate->max_missing_days);
            copy_season(&series, start, &season[records->n++]);
        } else if (missing <= LAST_NEEDED_DAY || (start >= 0 && start + LAST_NEEDED_DAY < series.n)) {
            left_out[records->left_out_n++] = year;
            base_complain(complaints, BASE_WARNING, climate->records_file, 0, NULL,
                          "the season that begins in %d is left out: %d days are missing (allowed %d)", year, missing,
                          climate->max_missing_days);
        }
    }
    if (records->n == 0) {
        base_complain(complaints, BASE_ERROR, climate->records_file, 0, NULL,
                      "has no season with at most %d days missing in its first %d", climate->max_missing_days,
                      LAST_NEEDED_DAY + 1);
        return NULL;
    }
    records->season = season;
    records->left_out = left_out;
    return records;
}
