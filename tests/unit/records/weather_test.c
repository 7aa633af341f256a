/* weather_test.c: CSV files as rows; daily records as whole seasons: dates, leap days, gaps, dialects, what
 * is refused. */
#include "unit/plan/planned.h"
#include "unit/temporary.h"

#include <time.h>

/* A scenario whose climate names this file's text as its records. */
struct reading {
    struct base_arena arena;
    struct base_complaints complaints;
    const struct plan_records *records;
    char sha256[65], said[4000];
};

static void read_text(struct reading *r, const char *text, const char *climate)
{
    memset(r, 0, sizeof *r);
    char path[256];
    temporary_file(path, text);
    struct scenario scenario = { .year_starts = 59, .first_year = 2001 };
    scenario.climate = (struct scenario_climate){ .records_file = path, .date_column = "date",
                                                  .tmin_column = "tmin",
                                                  .tmax_column = "tmax", .max_missing_days = 5 };
    if (strcmp(climate, "named") == 0) {
        scenario.climate.date_column = "day";
        scenario.climate.tmin_column = "low";
        scenario.climate.tmax_column = "high";
    } else if (strcmp(climate, "south") == 0) {
        scenario.year_starts = 243;
    } else if (strcmp(climate, "many missing") == 0) {
        scenario.climate.max_missing_days = 200;
    }
    r->records = records_read_weather(&r->arena, &scenario, r->sha256, &r->complaints);
    FILE *to = fmemopen(r->said, sizeof r->said - 1, "w");
    assert_non_null(to);
    base_complaints_print(&r->complaints, to);
    fclose(to);
    unlink(path);
}

static void close_reading(struct reading *r)
{
    base_complaints_free(&r->complaints);
    base_arena_free(&r->arena);
}

/* A record from 1 January of one year to 31 December of another. The minimum tells which day it is: the day
 * of the year of 365
 * days, divided by 100; 29 February would be 99. Rows can be left out or replaced. */
struct record { int from, to, rows; char text[200000]; char separator, decimal; };

static void number(const struct record *record, double value, char text[32])
{
    snprintf(text, 32, "%.2f", value);
    char *point = strchr(text, '.');
    *point = record->decimal;
}

static void make_record(struct record *record, int from, int to, char separator, char decimal,
                        const char *header)
{
    static const int lengths[12] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    *record = (struct record){ .from = from, .to = to, .separator = separator, .decimal = decimal };
    int n = snprintf(record->text, sizeof record->text, "%s\n", header);
    for (int year = from; year <= to; year++) {
        int of_year = 0;
        for (int month = 1; month <= 12; month++) {
            bool leap = month == 2 && ((year % 4 == 0 && year % 100 != 0) || year % 400 == 0);
            for (int day = 1; day <= lengths[month - 1] + leap; day++) {
                char low[32], high[32];
                bool extra = day > lengths[month - 1];
                number(record, extra ? 50.0 : of_year / 100.0, low);
                number(record, extra ? 60.0 : of_year / 100.0 + year - 1990, high);
                n += snprintf(record->text + n, sizeof record->text - (size_t)n, "%04d-%02d-%02d%c%s%c%s\n",
                              year, month, day, separator,
                              low, separator, high);
                of_year += !extra;
                record->rows++;
            }
        }
    }
}

/* Puts other text in place of the row of a date ("" takes it out). */
static void put_row(struct record *record, const char *date, const char *row)
{
    char *at = strstr(record->text, date);
    assert_non_null(at);
    char *end = strchr(at, '\n') + 1;
    size_t n = strlen(row);
    memmove(at + n, end, strlen(end) + 1);
    memcpy(at, row, n);
}

static void check_season(const struct plan_recorded_season *season, int year_starts)
{
    for (int day = 0; day < SCENARIO_DAYS; day++) {
        int of_year = (day + year_starts) % 365, year = season->label_year + (day + year_starts) / 365;
        check_within(season->tmin_c[day], of_year / 100.0, 1e-9);
        check_within(season->tmax_c[day], of_year / 100.0 + year - 1990, 1e-9);
    }
}

/* 2001 to 2004 has three whole seasons from 1 March, and a fourth whose days 0 to 274 are there; each a year
 * of 365 days. */
static void whole_seasons(void **state)
{
    static struct record record;
    struct reading r;
    (void)state;
    make_record(&record, 2001, 2004, ',', '.', "date,tmin,tmax");
    read_text(&r, record.text, "");
    assert_non_null(r.records);
    assert_int_equal(r.complaints.errors, 0);
    assert_int_equal(r.records->n, 4);
    for (int s = 0; s < 3; s++) {
        assert_int_equal(r.records->season[s].label_year, 2001 + s);
        check_season(&r.records->season[s], 59);
        assert_int_equal(r.records->season[s].known_days, 365);
    }
    assert_int_equal(r.records->season[3].known_days, 306);
    assert_int_equal(r.records->left_out_n, 0);
    const struct plan_recorded_season *last = &r.records->season[3];
    check_within(last->tmin_c[305], 3.64, 1e-9);        /* 31 December 2004 */
    check_within(last->tmin_c[306], 3.64, 1e-9);        /* past the file's end: the nearest value */
    check_within(last->tmax_c[364], 3.64 + 14, 1e-9);
    close_reading(&r);
}

/* The hash is the file's own (sha256sum of the text). */
static void hash_of_the_file(void **state)
{
    static struct record record;
    struct reading r;
    struct base_sha256 sha;
    char wanted[65];
    (void)state;
    make_record(&record, 2001, 2002, ',', '.', "date,tmin,tmax");
    base_sha256_start(&sha);
    base_sha256_add(&sha, record.text, strlen(record.text));
    base_sha256_hex(&sha, wanted);
    read_text(&r, record.text, "");
    assert_string_equal(r.sha256, wanted);
    close_reading(&r);
}

static void dialects(void **state)
{
    static struct record record;
    static char bom[200010];
    struct reading r;
    (void)state;
    make_record(&record, 2001, 2003, ';', ',', "date;tmin;tmax");       /* semicolons and decimal commas */
    read_text(&r, record.text, "");
    assert_int_equal(r.records->n, 3);
    check_season(&r.records->season[0], 59);
    close_reading(&r);
    make_record(&record, 2001, 2003, ';', '.', "date;tmin;tmax");       /* semicolons and points */
    read_text(&r, record.text, "");
    assert_int_equal(r.records->n, 3);
    check_season(&r.records->season[1], 59);
    close_reading(&r);
    make_record(&record, 2001, 2003, ',', '.', "day,low,high");         /* columns named otherwise */
    read_text(&r, record.text, "named");
    assert_int_equal(r.records->n, 3);
    close_reading(&r);
    /* a byte order mark and CRLF, as spreadsheets write */
    make_record(&record, 2001, 2003, ',', '.', "date,tmin,tmax");
    char *to = bom + sprintf(bom, "\xef\xbb\xbf");
    for (const char *c = record.text; *c && to < bom + sizeof bom - 3; c++) {
        if (*c == '\n')
            *to++ = '\r';
        *to++ = *c;
        if (strlen(record.text) - (size_t)(c - record.text) > 180000)
            break;
    }
    *to = '\0';
    read_text(&r, bom, "many missing");
    assert_int_equal(r.complaints.errors, 0);
    assert_non_null(r.records);
    check_season(&r.records->season[0], 59);
    close_reading(&r);
}

/* A southern year begins on 1 September, day 243: over the turn of the calendar year. */
static void southern(void **state)
{
    static struct record record;
    struct reading r;
    (void)state;
    make_record(&record, 2001, 2004, ',', '.', "date,tmin,tmax");
    read_text(&r, record.text, "south");
    assert_int_equal(r.records->n, 3);
    for (int s = 0; s < 3; s++)
        check_season(&r.records->season[s], 243);
    close_reading(&r);
}

/* Gaps are filled along the file by straight lines: rows that lack, empty cells, words. Too many, and the
 * season is left out. */
static void gaps(void **state)
{
    static struct record record;
    struct reading r;
    (void)state;
    make_record(&record, 2001, 2004, ',', '.', "date,tmin,tmax");
    put_row(&record, "2001-06-02", "");
    put_row(&record, "2001-06-03", "2001-06-03,,12\n");         /* one empty cell: a missing day in both */
    put_row(&record, "2001-06-04", "2001-06-04,n/a,12\n");
    put_row(&record, "2002-03-01", "");                          /* a season's first day */
    for (int day = 1; day <= 6; day++) {
        char date[40];
        snprintf(date, sizeof date, "2003-11-%02d", day);
        put_row(&record, date, "");
    }
    read_text(&r, record.text, "");
    assert_non_null(r.records);
    assert_int_equal(r.records->n, 3);                           /* 2003 has 6 days missing */
    assert_int_equal(r.records->season[0].label_year, 2001);
    assert_int_equal(r.records->season[1].label_year, 2002);
    assert_int_equal(r.records->season[2].label_year, 2004);
    assert_non_null(strstr(r.said, "2003"));
    assert_int_equal(r.records->left_out_n, 1);
    assert_int_equal(r.records->left_out[0], 2003);
    assert_int_equal(r.complaints.errors, 0);
    assert_true(r.complaints.warnings > 0);
    /* the lines are straight: filled as they were */
    check_season(&r.records->season[0], 59);
    const struct plan_recorded_season *second = &r.records->season[1];
    /* joined to 28 February 2002, the day before */
    check_within(second->tmin_c[0], 0.59, 1e-9);
    check_within(second->tmax_c[0], 12.59, 1e-9);
    close_reading(&r);
    read_text(&r, record.text, "many missing");
    assert_int_equal(r.records->n, 4);
    close_reading(&r);
}

/* A year of which nothing is there, between two others, is named too; a winter of which ten days on end are missing is known up to
 * these. */
static void long_gaps(void **state)
{
    static struct record record;
    struct reading r;
    (void)state;
    make_record(&record, 2001, 2004, ',', '.', "date,tmin,tmax");
    for (int day = 1; day <= 10; day++) {
        char date[40];
        snprintf(date, sizeof date, "2001-12-%02d", day);
        put_row(&record, date, "");
    }
    char *from = strstr(record.text, "2002-03-01"), *until = strstr(record.text, "2003-03-01");
    memmove(from, until, strlen(until) + 1);
    read_text(&r, record.text, "");
    assert_non_null(r.records);
    assert_int_equal(r.records->n, 3);
    assert_int_equal(r.records->season[0].known_days, 275);      /* 1 December */
    assert_int_equal(r.records->season[1].label_year, 2003);
    assert_int_equal(r.records->left_out_n, 1);
    assert_int_equal(r.records->left_out[0], 2002);
    assert_non_null(strstr(r.said, "2002 is left out: 275 days"));
    close_reading(&r);
}

static void refuse(const char *text, const char *words)
{
    struct reading r;
    read_text(&r, text, "");
    assert_null(r.records);
    assert_true(r.complaints.errors > 0);
    if (!strstr(r.said, words)) {
        print_error("not said: %s, but: %s\n", words, r.said);
        fail();
    }
    close_reading(&r);
}

static void refused(void **state)
{
    (void)state;
    refuse("date,tmin\n2001-01-01,1\n", ":1: has no column \"tmax\"");
    refuse("date,tmin,tmax\n01.01.2001,1,2\n", ":2: \"01.01.2001\" is no date");
    refuse("date,tmin,tmax\n2001-02-29,1,2\n", ":2: \"2001-02-29\" is no date");
    refuse("date,tmin,tmax\n1900-02-29,1,2\n", ":2: \"1900-02-29\" is no date");       /* no leap year */
    refuse("date,tmin,tmax\n2000-02-29,1,2\n2000-02-29,1,2\n", ":3: the date 2000-02-29 stands there twice");
    refuse("date,tmin,tmax\n2001-01-02,1,2\n2001-01-01,1,2\n", ":3: the date 2001-01-01 is out of order");
    refuse("date,tmin,tmax\n2001-01-01,3,2\n", ":2: the minimum 3 is above the maximum 2");
    refuse("date,tmin,tmax\n2001-01-01,3,66\n", ":2: a temperature that no weather has had");
    refuse("date,tmin,tmax\n2001-01-01,-91,6\n", ":2: a temperature that no weather has had");
    refuse("date,tmin,tmax\n2001-01-01,3,2\n2001-01-02,1,2\nthen,1,2\n", ":2: the minimum 3");
    refuse("date,tmin,tmax\n2001-01-01,3,2\n2001-01-02,1,2\nthen,1,2\n", ":4: \"then\" is no date");  /* all at once */
    refuse("date,tmin,tmax\n2001-01-01,1,2\n", "no season");
    refuse("date,tmin,tmax\n", "no rows");
    refuse("", "no rows");
    refuse("date,tmin,tmax\n2001-01-01,\"1,2\n", "quotation marks");
    refuse("date,tmin,tmax\n0001-01-01,1,2\n0500-01-01,1,2\n", "400 years");
}

/* Against the C library's own calendar. */
static void dates(void **state)
{
    static const char *const wrong[] = { "", "2001-1-1", "2001-13-01", "2001-00-01", "2001-01-00",
                                         "2001-04-31", "2001/01/01", "20010101",
                                         "2001-01-01 ", " 2001-01-01", "2001-01-0x", "+001-01-01",
                                             "2100-02-29" };
    int64_t day = 0;
    int year, month, of_month;
    (void)state;
    for (int64_t wanted = -200000; wanted < 200000; wanted += 37) {
        time_t seconds = (time_t)wanted * 86400;
        struct tm tm;
        char text[40];
        assert_non_null(gmtime_r(&seconds, &tm));
        snprintf(text, sizeof text, "%04d-%02d-%02d", tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);
        assert_true(records_date(text, &day, &year, &month, &of_month));
        assert_true(day == wanted);
        assert_true(year == tm.tm_year + 1900 && month == tm.tm_mon + 1 && of_month == tm.tm_mday);
    }
    assert_true(records_date("2000-02-29", &day, &year, &month, &of_month));
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        assert_false(records_date(wrong[i], &day, &year, &month, &of_month));
}

static void numbers(void **state)
{
    struct records_table comma = { .semicolon = false }, semicolon = { .semicolon = true };
    double value = 0;
    (void)state;
    assert_true(records_number(&comma, "-1.5", &value));
    check_within(value, -1.5, 0);
    assert_true(records_number(&semicolon, "-1,5", &value));
    check_within(value, -1.5, 0);
    assert_true(records_number(&semicolon, "2.25", &value));
    check_within(value, 2.25, 0);
    assert_true(records_number(&comma, "1e1", &value));
    check_within(value, 10, 0);
    static const char *const none[] = { "", "x", "1.5x", "nan", "inf", "0x10", "1,5", "1e999", "--1", "1 000",
                                        "-" };
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        assert_false(records_number(&comma, none[i], &value));
    assert_false(records_number(&semicolon, "1,234,5", &value));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whole_seasons), cmocka_unit_test(hash_of_the_file), cmocka_unit_test(dialects),
            cmocka_unit_test(southern),
        cmocka_unit_test(gaps), cmocka_unit_test(long_gaps), cmocka_unit_test(refused), cmocka_unit_test(dates), cmocka_unit_test(numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
