/* notebook.c: what the household wrote down, row by row. */
#include "records/records.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { MOST_COUNT = 1000, MOST_RECORDS = 10000 };

/* Columns of a notebook; -1: not there. */
enum column { KIND, CROP, VALUE, DATE, SOUND, SPOILED, PLACE, CURED, COUNT, NOTE, COLUMNS };

static const char *column_name(int column)
{
    static const char *const names[COLUMNS] = { "kind", "crop", "value", "date", "sound", "spoiled", "place", "cured", "count",
                                                "note" };
    return names[column];
}

const char *records_kind_name(enum records_kind kind)
{
    static const char *const names[RECORDS_ALL_KINDS] = { "unit_kg", "fruits", "fruit_kg", "kept", "last_frost", "first_hard_frost",
                                                          "warmth" };
    return names[kind];
}

struct reading {
    const char *path;
    const struct records_table *table;
    int column[COLUMNS];
    struct base_complaints *complaints;
};

__attribute__((format(printf, 3, 4)))
static bool wrong(const struct reading *reading, int line, const char *format, ...);

static bool wrong(const struct reading *reading, int line, const char *format, ...)
{
    char text[300];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    base_complain(reading->complaints, BASE_ERROR, reading->path, line, NULL, "%s", text);
    return false;
}

static bool find_columns(struct reading *reading)
{
    bool good = true;
    const struct records_row *header = &reading->table->row[0];
    for (int c = 0; c < COLUMNS; c++)
        reading->column[c] = records_column(reading->table, column_name(c));
    for (int c = 0; c < header->cells_n; c++) {
        bool known = false;
        for (int k = 0; k < COLUMNS; k++)
            known |= strcmp(header->cell[c], column_name(k)) == 0;
        if (!known)
            good = wrong(reading, 1, "the column \"%.40s\" is not known (known: kind, crop, value, date, sound, spoiled, place, "
                         "cured, count, note)", header->cell[c]);
    }
    for (int c = KIND; c <= CROP; c++)
        if (reading->column[c] < 0)
            good = wrong(reading, 1, "there is no column \"%s\"", column_name(c));
    return good;
}

static const char *cell_of(const struct reading *reading, const struct records_row *row, enum column column)
{
    int at = reading->column[column];
    return at >= 0 && at < row->cells_n ? row->cell[at] : "";
}

/* A date's day; an empty cell is NAN. */
static bool day_of(const struct reading *reading, const struct records_row *row, enum column column, double *day,
                   struct records_note *note)
{
    const char *cell = cell_of(reading, row, column);
    int64_t number;
    int its_year, month, of_month;
    *day = NAN;
    if (cell[0] == '\0')
        return true;
    if (!records_date(cell, &number, &its_year, &month, &of_month))
        return wrong(reading, row->line, "%s: \"%.40s\" is no date (wanted: YYYY-MM-DD)", column_name(column), cell);
    *day = (double)number;
    if (note) {
        char mm_dd[6] = { cell[5], cell[6], '-', cell[8], cell[9], '\0' };
        note->year = its_year;
        note->of_year = base_day_of_year(mm_dd);
    }
    return true;
}

/* A kept fruit: what its three dates say of its life in weeks. */
static bool life_of(const struct reading *reading, const struct records_row *row, struct records_note *note)
{
    double cut, sound, spoiled;
    if (!day_of(reading, row, DATE, &cut, note) || !day_of(reading, row, SOUND, &sound, NULL)
        || !day_of(reading, row, SPOILED, &spoiled, NULL))
        return false;
    if (isnan(cut) || (isnan(sound) && isnan(spoiled)))
        return wrong(reading, row->line, "kept wants the date of cutting, and the day last seen sound or the day found spoiled, "
                     "or both");
    if (sound < cut || spoiled <= cut || spoiled < sound)
        return wrong(reading, row->line, "the dates do not follow one another: cut (date), then sound, then spoiled");
    note->seen.low = isnan(sound) ? 0 : (sound - cut) / 7;
    note->seen.high = isnan(spoiled) ? HUGE_VAL : (spoiled - cut) / 7;
    return true;
}

static bool figure_of(const struct reading *reading, const struct records_row *row, struct records_note *note)
{
    double value, day;
    const char *cell = cell_of(reading, row, VALUE);
    if (!day_of(reading, row, DATE, &day, note))
        return false;
    if (!records_number(reading->table, cell, &value))
        return wrong(reading, row->line, "value: \"%.40s\" is no number%s", cell,
                     strchr(cell, ',') && !reading->table->semicolon
                         ? " (a decimal comma wants semicolons between the cells)" : "");
    if (note->kind == RECORDS_FRUITS && (value < 0 || value > 10000 || value != floor(value)))
        return wrong(reading, row->line, "value: fruits of a plant are a whole number from 0 to 10000 (got %g)", value);
    if (note->kind != RECORDS_FRUITS && !(value > 0 && value <= 1000))
        return wrong(reading, row->line, "value: a weight is above 0 and at most 1000 kg (got %g); a unit that fell or was eaten "
                     "off belongs to the setting stands", value);
    note->seen = (struct records_observation){ value, value };
    return true;
}

/* A crop's name is a setting's name. */
static bool is_name(const char *text)
{
    size_t n = strlen(text);
    if (n == 0 || n >= 64 || !isalpha((unsigned char)text[0]))
        return false;
    for (const char *c = text; *c; c++)
        if (!isalnum((unsigned char)*c) && *c != '_' && *c != '-' && *c != '*')
            return false;
    return true;
}

static bool cure_of(const struct reading *reading, const struct records_row *row, struct records_note *note)
{
    static const char *const words[] = { "unripe", "poor", "well" };
    const char *cell = cell_of(reading, row, CURED);
    note->cured = SCENARIO_WELL;
    for (int i = 0; i < 3; i++)
        if (strcmp(cell, words[i]) == 0) {
            note->cured = (enum scenario_cure)i;
            return true;
        }
    return cell[0] == '\0' || wrong(reading, row->line, "cured: \"%.40s\" is none of the words well, poor, unripe", cell);
}

static bool count_of(const struct reading *reading, const struct records_row *row, struct records_note *note)
{
    double count = 1;
    const char *cell = cell_of(reading, row, COUNT);
    if (cell[0] && (!records_number(reading->table, cell, &count) || count < 1 || count > MOST_COUNT || count != floor(count)))
        return wrong(reading, row->line, "count: how many were alike is a whole number from 1 to %d (got \"%.40s\")", MOST_COUNT,
                     cell);
    note->count = (int)count;
    return true;
}

static bool read_row(const struct reading *reading, const struct records_row *row, struct records_note *note)
{
    const char *kind = cell_of(reading, row, KIND);
    int k = 0;
    *note = (struct records_note){ .crop = cell_of(reading, row, CROP), .place = cell_of(reading, row, PLACE),
                                   .line = row->line };
    while (k < RECORDS_KINDS && strcmp(kind, records_kind_name(k)) != 0)
        k++;
    if (k == RECORDS_KINDS)
        return wrong(reading, row->line, "kind: \"%.40s\" is none of unit_kg, fruits, fruit_kg, kept", kind);
    note->kind = k;
    if (!is_name(note->crop))
        return wrong(reading, row->line, "crop: \"%.40s\" cannot be a crop's name (letters, digits, _ and -)", note->crop);
    if (row->cells_n > reading->table->row[0].cells_n)
        return wrong(reading, row->line, "has more cells than the header (a comma within a number or a note? quote it)");
    return cure_of(reading, row, note) && count_of(reading, row, note)
           && (k == RECORDS_KEPT ? life_of(reading, row, note) : figure_of(reading, row, note));
}

const struct records_notebook *records_read_notebook(struct base_arena *arena, const char *path,
                                                     struct base_complaints *complaints)
{
    struct records_notebook *notebook = base_arena_take(arena, sizeof *notebook);
    if (!notebook)
        return NULL;
    struct reading reading = { .path = path, .complaints = complaints,
                               .table = records_read_csv(arena, path, notebook->sha256, complaints) };
    if (!reading.table || !find_columns(&reading))
        return NULL;
    struct records_note *note = base_arena_array(arena, (size_t)reading.table->rows_n, sizeof *note);
    if (!note)
        return NULL;
    bool good = true;
    int64_t records = 0;
    for (int r = 1; r < reading.table->rows_n; r++) {
        good &= read_row(&reading, &reading.table->row[r], &note[notebook->n]);
        records += note[notebook->n++].count;
    }
    if (records > MOST_RECORDS)
        good = wrong(&reading, 0, "has more than %d records, counting those that are alike", MOST_RECORDS);
    notebook->note = note;
    return good ? notebook : NULL;
}
