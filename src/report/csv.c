/* csv.c: rows of RFC 4180, with the decimal mark that is asked for. */
#include "report/report.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct report_csv report_csv_begin(struct report_file *file, bool decimal_comma)
{
    return (struct report_csv){ .file = file, .separator = decimal_comma ? ';' : ',',
                                .decimal = decimal_comma ? ',' : '.' };
}

static void next_cell(struct report_csv *csv)
{
    if (csv->cells++ > 0)
        report_write(csv->file, &csv->separator, 1);
}

/* Would a spreadsheet run this as a formula? Numbers are none. */
static bool is_formula(const char *text)
{
    char *end;
    if (text[0] == '\0' || !strchr("=+-@\t\r", text[0]))
        return false;
    (void)strtod(text, &end);
    return *end != '\0' || strspn(text, "+-.0123456789eE") != strlen(text);
}

void report_csv_text(struct report_csv *csv, const char *text)
{
    const char *guard = is_formula(text) ? "_" : "";
    next_cell(csv);
    if (!strpbrk(text, ",;\"\r\n")) {
        report_write(csv->file, guard, strlen(guard));
        report_write(csv->file, text, strlen(text));
        return;
    }
    report_write(csv->file, "\"", 1);
    report_write(csv->file, guard, strlen(guard));
    for (const char *c = text; *c; c++)
        report_write(csv->file, *c == '"' ? "\"\"" : c, *c == '"' ? 2 : 1);
    report_write(csv->file, "\"", 1);
}

void report_number(double value, char decimal, char text[40])
{
    snprintf(text, 40, "%.10g", value == 0 ? 0.0 : value);
    char *point = strchr(text, '.');
    if (point)
        *point = decimal;
}

void report_csv_number(struct report_csv *csv, double value)
{
    char text[40];
    next_cell(csv);
    if (!isfinite(value))
        return;
    report_number(value, csv->decimal, text);
    report_write(csv->file, text, strlen(text));
}

void report_csv_whole(struct report_csv *csv, int64_t value)
{
    next_cell(csv);
    report_print(csv->file, "%lld", (long long)value);
}

void report_csv_empty(struct report_csv *csv) { next_cell(csv); }

void report_csv_end(struct report_csv *csv)
{
    report_write(csv->file, "\r\n", 2);
    csv->cells = 0;
}

void report_csv_header(struct report_csv *csv, const struct report_column *columns, int n)
{
    for (int i = 0; i < n; i++)
        report_csv_text(csv, columns[i].name);
    report_csv_end(csv);
}
