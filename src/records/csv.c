/* csv.c: a CSV file as rows, by libcsv. */
#include "records/records.h"

#include <csv.h>
#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_BYTES = 64 << 20, MOST_CELLS = 256 };

struct reading {
    struct base_arena *arena;
    struct records_row *row;
    int rows_n, rows_room, line;
    const char *cell[MOST_CELLS];
    int cells_n;
    bool out_of_memory, too_wide;
};

static void on_cell(void *data, size_t bytes, void *context)
{
    struct reading *reading = context;
    if (reading->cells_n == MOST_CELLS) {
        reading->too_wide = true;
        return;
    }
    char *copy = base_arena_take(reading->arena, bytes + 1);
    if (!copy) {
        reading->out_of_memory = true;
        return;
    }
    if (bytes > 0)
        memcpy(copy, data, bytes);
    reading->cell[reading->cells_n++] = copy;
}

static void on_row(int end, void *context)
{
    (void)end;
    struct reading *reading = context;
    if (reading->rows_n == reading->rows_room || reading->out_of_memory) {
        reading->out_of_memory = true;
        return;
    }
    const char **cells = base_arena_array(reading->arena, (size_t)reading->cells_n + 1, sizeof *cells);
    if (!cells) {
        reading->out_of_memory = true;
        return;
    }
    memcpy(cells, reading->cell, (size_t)reading->cells_n * sizeof *cells);
    reading->row[reading->rows_n++] = (struct records_row){ reading->line, reading->cells_n, cells };
    reading->cells_n = 0;
}

static int count_lines(const char *text)
{
    int lines = 1;
    for (const char *c = text; *c; c++)
        lines += *c == '\n';
    return lines;
}

/* Feeds the file line by line, so that each row knows where it stands. False: libcsv found it malformed. */
static bool feed(struct reading *reading, const char *text, bool semicolon)
{
    struct csv_parser parser;
    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL) != 0)
        return false;
    csv_set_delim(&parser, semicolon ? ';' : ',');
    bool good = true;
    while (*text && good) {
        size_t n = strcspn(text, "\n");
        n += text[n] == '\n';
        reading->line++;
        good = csv_parse(&parser, text, n, on_cell, on_row, reading) == n;
        text += n;
    }
    good = good && csv_fini(&parser, on_cell, on_row, reading) == 0;
    csv_free(&parser);
    return good;
}

const struct records_table *records_read_csv(struct base_arena *arena, const char *path, char sha256[65],
                                             struct base_complaints *complaints)
{
    size_t size = 0;
    const char *why = NULL, *text = base_read_file(arena, path, MOST_BYTES, &size, &why);
    if (!text) {
        base_complain(complaints, BASE_ERROR, path, 0, NULL, "%s", why);
        complaints->out_of_memory |= errno == ENOMEM;
        return NULL;
    }
    struct base_sha256 sha;
    base_sha256_start(&sha);
    base_sha256_add(&sha, text, size);
    base_sha256_hex(&sha, sha256);
    if (strlen(text) != size) {
        base_complain(complaints, BASE_ERROR, path, 0, NULL, "is not text: it has a NUL byte");
        return NULL;
    }
    if (strncmp(text, "\xef\xbb\xbf", 3) == 0)
        text += 3;                       /* a byte order mark, as spreadsheets write it */
    size_t header = strcspn(text, "\r\n");
    bool semicolon = memchr(text, ';', header) && !memchr(text, ',', header);
    struct reading reading = { .arena = arena, .rows_room = count_lines(text) + 1 };
    reading.row = base_arena_array(arena, (size_t)reading.rows_room, sizeof *reading.row);
    struct records_table *table = base_arena_take(arena, sizeof *table);
    bool good = reading.row && table && feed(&reading, text, semicolon);
    complaints->out_of_memory |= reading.out_of_memory || !reading.row || !table;
    if (complaints->out_of_memory)
        base_complain(complaints, BASE_ERROR, path, 0, NULL, "memory ran out while reading it");
    else if (reading.too_wide)
        base_complain(complaints, BASE_ERROR, path, reading.line, NULL, "has more than %d columns", (int)MOST_CELLS);
    else if (!good)
        base_complain(complaints, BASE_ERROR, path, reading.line, NULL, "is no CSV from here on: look at its quotation marks");
    else if (reading.rows_n < 2)
        base_complain(complaints, BASE_ERROR, path, 0, NULL, "has no rows below its header");
    if (!good || reading.out_of_memory || reading.too_wide || reading.rows_n < 2)
        return NULL;
    *table = (struct records_table){ reading.rows_n, reading.row, semicolon };
    return table;
}

int records_column(const struct records_table *table, const char *name)
{
    for (int c = 0; c < table->row[0].cells_n; c++)
        if (strcmp(table->row[0].cell[c], name) == 0)
            return c;
    return -1;
}

bool records_number(const struct records_table *table, const char *cell, double *value)
{
    char text[64];
    size_t n = strlen(cell);
    if (n == 0 || n >= sizeof text || strspn(cell, "+-.,0123456789eE") != n)
        return false;
    memcpy(text, cell, n + 1);
    char *comma = strchr(text, ',');
    if (comma && table->semicolon)
        *comma = '.';
    else if (comma)
        return false;
    char *end;
    *value = strtod(text, &end);
    return *end == '\0' && isfinite(*value);
}

static bool digits(const char *text, int n, int *value)
{
    *value = 0;
    for (int i = 0; i < n; i++) {
        if (!isdigit((unsigned char)text[i]))
            return false;
        *value = *value * 10 + text[i] - '0';
    }
    return true;
}

bool records_date(const char *cell, int64_t *day, int *year, int *month, int *day_of_month)
{
    static const int lengths[12] = { 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31 };
    if (strlen(cell) != 10 || cell[4] != '-' || cell[7] != '-' || !digits(cell, 4, year) || !digits(cell + 5, 2, month)
        || !digits(cell + 8, 2, day_of_month) || *month < 1 || *month > 12 || *day_of_month < 1)
        return false;
    bool leap = (*year % 4 == 0 && *year % 100 != 0) || *year % 400 == 0;
    if (*day_of_month > lengths[*month - 1] + (leap && *month == 2))
        return false;
    /* Days from civil date, years beginning in March (a common calendar identity). */
    int64_t y = *year - (*month <= 2), era = (y >= 0 ? y : y - 399) / 400, of_era = y - era * 400;
    int64_t of_year = (153 * (*month + (*month > 2 ? -3 : 9)) + 2) / 5 + *day_of_month - 1;
    *day = era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
    return true;
}
