/* season.c: tideover season: a daily record as frost dates, frost-free days, heat, and their trend. */
#include "command/command.h"

#include <math.h>
#include <string.h>

#include "records/records.h"

enum { FIXED_COLUMNS = 5, FIXED_ROWS = 4 };

/* The record told: a season a row, then what the years say together. */
struct telling {
    struct base_arena *arena;
    const struct command_options *options;
    struct scenario scenario;
    char sha256[65];
    int n, bases;
    const double *base_c;
    struct records_season *season;
    struct records_trend *trend;        /* of the four fixed rows, then of both heats of each base */
    struct records_trend *made_up;      /* the same of the generator's seasons; NULL: none */
    struct report_column *columns;
};

static int rows_of(const struct telling *t) { return FIXED_ROWS + 2 * t->bases; }

enum base_result command_said(struct base_complaints *complaints, bool good)
{
    good = good && !complaints->out_of_memory;
    bool memory = !good && (complaints->out_of_memory || complaints->errors == 0);
    base_complaints_print(complaints, stderr);
    if (memory)
        fputs("tideover: memory ran out\n", stderr);
    base_complaints_free(complaints);
    return good ? BASE_OK : memory ? BASE_FAILED : BASE_WRONG;
}

enum base_result command_read_record(struct base_arena *arena, const struct command_options *options, const char *path,
                                     struct scenario *scenario, char sha256[65], const struct plan_records **records)
{
    struct base_complaints complaints = { 0 };
    struct base_sha256 nothing;
    char *no_settings = base_arena_take(arena, 65);
    *scenario = (struct scenario){ .name = path, .title = path, .year_starts = options->year_starts, .first_year = 2001,
                                   .food_years = 1, .sha256 = no_settings };
    scenario->climate = (struct scenario_climate){
        .records_file = path, .date_column = options->date_column, .tmin_column = options->tmin_column,
        .tmax_column = options->tmax_column, .max_missing_days = 5, .hard_frost_c = options->hard_frost_c,
        .temperature_unit = options->fahrenheit ? SCENARIO_FAHRENHEIT : SCENARIO_CELSIUS };
    if (!no_settings)
        return command_said(&complaints, false);
    base_sha256_start(&nothing);
    base_sha256_hex(&nothing, no_settings);
    *records = records_read_weather(arena, scenario, sha256, &complaints);
    return command_said(&complaints, *records != NULL);
}

/* ---- what is told ------------------------------------------------------------------------------------ */

/* Figure number `row` of a season; NAN when it had no such frost. */
static double figure(const struct telling *t, const struct records_season *season, int row)
{
    switch (row) {
    case 0: return season->last_frost < 0 ? NAN : season->last_frost;
    case 1: return season->first_frost >= SCENARIO_DAYS ? NAN : season->first_frost;
    case 2: return season->first_hard_frost >= SCENARIO_DAYS ? NAN : season->first_hard_frost;
    case 3: return season->frost_free_days;
    default: return row - FIXED_ROWS < t->bases ? season->heat[row - FIXED_ROWS]
                                                : season->open_heat[row - FIXED_ROWS - t->bases];
    }
}

static bool name_columns(struct telling *t)
{
    static const struct report_column fixed[FIXED_COLUMNS] = {
        { "year", "integer", NULL, "Year in which the season begins", NULL },
        { "last_frost", "date", NULL, "Last spring day with a minimum at or below 0 degrees C; empty: none", NULL },
        { "first_frost", "date", NULL, "First autumn day with a minimum at or below 0 degrees C; empty: none", NULL },
        { "first_hard_frost", "date", NULL, "First autumn day with a minimum at or below the hard frost; empty: none", NULL },
        { "frost_free_days", "integer", "days", "Days between the last spring and the first autumn frost", NULL } };
    t->columns = base_arena_array(t->arena, (size_t)(FIXED_COLUMNS + 2 * t->bases), sizeof *t->columns);
    if (!t->columns)
        return false;
    memcpy(t->columns, fixed, sizeof fixed);
    for (int b = 0; b < 2 * t->bases; b++) {
        bool open = b >= t->bases;
        double base_c = t->base_c[b % t->bases];
        const char *name = base_arena_print(t->arena, open ? "frost_free_heat_%g_c" : "heat_%g_c", base_c);
        const char *meaning = base_arena_print(t->arena, "Single-sine degree-days above %g degrees C, %s", base_c,
                                               open ? "from the last frost to the first hard frost"
                                                    : "over days 61 to 213 of the year (May to September)");
        if (!name || !meaning)
            return false;
        t->columns[FIXED_COLUMNS + b] = (struct report_column){ name, "number", "degree-days", meaning, NULL };
    }
    return true;
}

/* What the seasons say together, row by row; NULL when memory runs out. Figures of single seasons go to *kept. */
static struct records_trend *gather_trends(const struct telling *t, const struct plan_records *records,
                                           struct records_season **kept)
{
    size_t n = (size_t)records->n;
    struct records_season *season = base_arena_array(t->arena, n, sizeof *season);
    struct records_trend *trend = base_arena_array(t->arena, (size_t)rows_of(t), sizeof *trend);
    double *year = base_arena_array(t->arena, n, sizeof *year), *value = base_arena_array(t->arena, n, sizeof *value);
    if (!season || !trend || !year || !value)
        return NULL;
    for (int s = 0; s < records->n; s++) {
        records_season_figures(&records->season[s], t->options->hard_frost_c, t->base_c, t->bases, &season[s]);
        year[s] = season[s].year;
    }
    for (int row = 0; row < rows_of(t); row++) {
        for (int s = 0; s < records->n; s++)
            value[s] = figure(t, &season[s], row);
        if (!records_trend_of(year, value, records->n, row == 0, &trend[row]))
            return NULL;
    }
    *kept = season;
    return trend;
}

/* Seasons that the generator, fitted to the record, makes up. */
static enum base_result make_up(struct telling *t, const struct plan_records *records)
{
    struct plan_generator generator;
    struct records_season *season;
    if (records->n < PLAN_FEWEST_SEASONS)
        return command_refuse("the generator wants %d seasons at the least, and the record has %d", (int)PLAN_FEWEST_SEASONS,
                              records->n);
    const struct chance_normal *normal = chance_normal_make(t->arena);
    const struct plan_records *made = NULL;
    if (normal && plan_fit_generator(t->arena, records, &generator))
        made = plan_generate(t->arena, normal, &generator, t->options->generate);
    t->made_up = made ? gather_trends(t, made, &season) : NULL;
    return t->made_up ? BASE_OK : BASE_FAILED;
}

static enum base_result gather(struct telling *t, const struct plan_records *records)
{
    t->n = records->n;
    if (!name_columns(t))
        return BASE_FAILED;
    t->trend = gather_trends(t, records, &t->season);
    if (!t->trend)
        return BASE_FAILED;
    return t->options->generate > 0 ? make_up(t, records) : BASE_OK;
}

/* ---- files --------------------------------------------------------------------------------------------- */

static void date_cell(struct report_csv *csv, const struct telling *t, int year, double day)
{
    char text[16];
    struct scenario dated = t->scenario;
    dated.first_year = year;
    if (!isfinite(day)) {
        report_csv_empty(csv);
        return;
    }
    scenario_iso_date(&dated, 0, (int)day, text);
    report_csv_text(csv, text);
}

static void fill_seasons(struct report_csv *csv, const void *context)
{
    const struct telling *t = context;
    for (int s = 0; s < t->n; s++) {
        const struct records_season *season = &t->season[s];
        report_csv_whole(csv, season->year);
        for (int row = 0; row < 3; row++)
            date_cell(csv, t, season->year, figure(t, season, row));
        report_csv_whole(csv, season->frost_free_days);
        for (int row = FIXED_ROWS; row < rows_of(t); row++)
            report_csv_number(csv, figure(t, season, row));
        report_csv_end(csv);
    }
}

/* "05-12" of a day of the simulation year; "" when there is none. */
static void day_text(const struct telling *t, double day, char text[6])
{
    text[0] = '\0';
    if (isfinite(day))
        base_mm_dd((t->scenario.year_starts + (int)lround(day)) % SCENARIO_DAYS, text);
}

static const struct report_column chance_columns[] = {
    { "seasons", "string", NULL, "recorded, or made up by the generator that was fitted to the record", NULL },
    { "figure", "string", NULL, "A column of season.csv", NULL },
    { "unit", "string", NULL, "date (counted as days since year_starts), days or degree-days", NULL },
    { "years", "integer", NULL, "Years that have it", NULL },
    { "years_without", "integer", NULL, "Years without such a frost", NULL },
    { "mean", "number", NULL, "Mean over the years that have it", NULL },
    { "sd", "number", NULL, "Standard deviation over the years that have it", NULL },
    { "p10", "number", NULL, "One year in ten has less (an earlier date); empty: that is a year without", NULL },
    { "p50", "number", NULL, "Half the years have less", NULL },
    { "p90", "number", NULL, "Nine years in ten have less", NULL },
    { "p10_date", "string", NULL, "p10 as month and day", NULL },
    { "p50_date", "string", NULL, "p50 as month and day", NULL },
    { "p90_date", "string", NULL, "p90 as month and day", NULL },
    { "trend_per_decade", "number", NULL, "Least-squares trend in ten years", NULL },
    { "trend_std_error", "number", NULL, "Its standard error, years taken as independent", NULL },
};

static void chance_row(struct report_csv *csv, const struct telling *t, const char *seasons, const struct records_trend *trend,
                       int row)
{
    const double figures[] = { trend->mean, trend->sd, trend->p10, trend->p50, trend->p90 };
    report_csv_text(csv, seasons);
    report_csv_text(csv, t->columns[row + 1].name);
    report_csv_text(csv, row < 3 ? "date" : row == 3 ? "days" : "degree-days");
    report_csv_whole(csv, trend->n);
    report_csv_whole(csv, trend->lacking);
    for (int k = 0; k < 5; k++)
        report_csv_number(csv, figures[k]);
    for (int k = 2; k < 5; k++) {
        char text[6];
        day_text(t, row < 3 ? figures[k] : NAN, text);
        report_csv_text(csv, text);
    }
    bool recorded = trend == &t->trend[row];
    report_csv_number(csv, recorded ? trend->per_decade : NAN);
    report_csv_number(csv, recorded ? trend->std_error : NAN);
    report_csv_end(csv);
}

static void fill_chances(struct report_csv *csv, const void *context)
{
    const struct telling *t = context;
    for (int row = 0; row < rows_of(t); row++)
        chance_row(csv, t, "recorded", &t->trend[row], row);
    for (int row = 0; t->made_up && row < rows_of(t); row++)
        chance_row(csv, t, "made up", &t->made_up[row], row);
}

/* ---- words --------------------------------------------------------------------------------------------- */

static void tell_row(const struct telling *t, const struct records_trend *trend, int row)
{
    const double p[3] = { trend->p10, trend->p50, trend->p90 };
    printf("  %-24s", t->columns[row + 1].name);
    for (int k = 0; k < 3; k++) {
        char text[16];
        if (row < 3)
            day_text(t, p[k], text);
        else
            snprintf(text, sizeof text, "%.0f", p[k]);
        printf(" %8s", text[0] ? text : "none");
    }
    if (t->made_up && trend == &t->made_up[row])
        printf("   standard deviation %.1f, of the record %.1f", trend->sd, t->trend[row].sd);
    else if (isfinite(trend->per_decade))
        printf("   %+8.1f +- %.1f %s", trend->per_decade, trend->std_error, row < FIXED_ROWS ? "days" : "degree-days");
    if (trend->lacking > 0)
        printf("   (none in %d of %d years)", trend->lacking, trend->n + trend->lacking);
    putchar('\n');
}

static void tell(const struct telling *t)
{
    printf("%d seasons, %d to %d, in %s\n\n  %-24s %8s %8s %8s   %s\n", t->n, t->season[0].year, t->season[t->n - 1].year,
           t->scenario.climate.records_file, "", "1 in 10", "half", "9 in 10", "trend in ten years, standard error");
    for (int row = 0; row < rows_of(t); row++)
        tell_row(t, &t->trend[row], row);
    if (t->made_up)
        printf("\n%d seasons made up by the generator fitted to it (climate.generator)\n\n", t->options->generate);
    for (int row = 0; t->made_up && row < rows_of(t); row++)
        tell_row(t, &t->made_up[row], row);
    printf("\nOne year in ten has an earlier date, or less, than the first column; one in ten a later one, or more, than the "
           "third.\n");
    if (t->n < 20)
        printf("With %d seasons the tenths are rough: the outer columns hang on one or two years.\n", t->n);
    printf("\nFiles: %s/season.csv, chances.csv, datapackage.json\n", t->options->out);
}

enum base_result command_season(const struct command_options *options)
{
    static const double usual_c[] = { 8, 10 };
    if (options->args_n != 1)
        return command_refuse("season wants one CSV file of daily temperatures; see tideover --help");
    struct base_arena arena = { 0 };
    struct telling t = { .arena = &arena, .options = options, .bases = options->bases_n ? options->bases_n : 2,
                         .base_c = options->bases_n ? options->base_c : usual_c };
    const struct plan_records *records;
    enum base_result result = command_read_record(&arena, options, options->args[0], &t.scenario, t.sha256, &records);
    if (result == BASE_OK) {
        result = gather(&t, records);
        if (result == BASE_FAILED)
            fputs("tideover: memory ran out\n", stderr);
    }
    if (result == BASE_OK) {
        struct command_loaded loaded = { .scenario = &t.scenario, .has_records = true };
        memcpy(loaded.records_sha256, t.sha256, sizeof t.sha256);
        const struct command_table_file tables[] = {
            { "season.csv", "Frost dates and heat by year", t.columns, FIXED_COLUMNS + 2 * t.bases, fill_seasons, &t },
            { "chances.csv", "Frost dates and heat: one year in ten, half, nine in ten; trend", chance_columns,
              (int)(sizeof chance_columns / sizeof chance_columns[0]), fill_chances, &t } };
        result = command_write_tables(&arena, options, "season", &loaded, 0, tables, 2, NULL);
    }
    if (result == BASE_OK && !options->quiet)
        tell(&t);
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    base_arena_free(&arena);
    return command_end_output(result);
}
