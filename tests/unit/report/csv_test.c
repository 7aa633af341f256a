/* csv_test.c: rows of RFC 4180, spreadsheets' formulas, decimal marks; a set of files that appears whole or
 * not at all. */
#include "unit/check.h"

#include "report/report.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A folder of the test's own. */
static char *folder(void)
{
    static char path[64];
    strcpy(path, "/tmp/tideover-unit-XXXXXX");
    assert_non_null(mkdtemp(path));
    return path;
}

static char *read_back(const char *dir, const char *name)
{
    static char text[20000];
    char path[200];
    snprintf(path, sizeof path, "%s/%s", dir, name);
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return text;
}

static void throw_away(const char *dir, const char *const *names)
{
    char path[200];
    for (; *names; names++) {
        snprintf(path, sizeof path, "%s/%s", dir, *names);
        unlink(path);
    }
    assert_int_equal(rmdir(dir), 0);    /* nothing else is left in it */
}

struct writing {
    struct base_arena arena;
    struct base_complaints complaints;
    struct report_output *output;
    const char *dir;
};

static void open_output(struct writing *w)
{
    memset(w, 0, sizeof *w);
    w->dir = folder();
    assert_int_equal(report_output_open(&w->arena, w->dir, &w->complaints, &w->output), BASE_OK);
}

static void close_output(struct writing *w)
{
    report_output_close(w->output);
    base_complaints_free(&w->complaints);
    base_arena_free(&w->arena);
}

/* What a row of cells is written as. */
static const char *row_of(bool decimal_comma, const char *text, double number, int64_t whole)
{
    static char row[20000];
    struct writing w;
    open_output(&w);
    struct report_file *file = report_output_file(w.output, "a.csv");
    struct report_csv csv = report_csv_begin(file, decimal_comma);
    report_csv_text(&csv, text);
    report_csv_number(&csv, number);
    report_csv_whole(&csv, whole);
    report_csv_empty(&csv);
    report_csv_end(&csv);
    assert_int_equal(report_output_commit(w.output, &w.complaints), BASE_OK);
    strcpy(row, read_back(w.dir, "a.csv"));
    close_output(&w);
    throw_away(w.dir, (const char *const[]){ "a.csv", NULL });
    return row;
}

static void cells(void **state)
{
    (void)state;
    assert_string_equal(row_of(false, "plain", 1.5, -3), "plain,1.5,-3,\r\n");
    assert_string_equal(row_of(true, "plain", 1.5, -3), "plain;1,5;-3;\r\n");
    assert_string_equal(row_of(false, "", 0.0, 0), ",0,0,\r\n");
    assert_string_equal(row_of(false, "x", -0.0, 0), "x,0,0,\r\n");
    assert_string_equal(row_of(false, "x", HUGE_VAL, 1), "x,,1,\r\n");
    assert_string_equal(row_of(false, "x", NAN, 1), "x,,1,\r\n");
    assert_string_equal(row_of(false, "x", -HUGE_VAL, 1), "x,,1,\r\n");
    assert_string_equal(row_of(false, "x", 1.0 / 3, INT64_MAX), "x,0.3333333333,9223372036854775807,\r\n");
    assert_string_equal(row_of(true, "x", 1e-12 / 3, INT64_MIN),
                        "x;3,333333333e-13;-9223372036854775808;\r\n");
}

/* RFC 4180: what holds a separator, a quotation mark or a line's end is quoted, quotation marks doubled. */
static void quoting(void **state)
{
    (void)state;
    assert_string_equal(row_of(false, "a,b", 1, 2), "\"a,b\",1,2,\r\n");
    assert_string_equal(row_of(true, "a;b", 1, 2), "\"a;b\";1;2;\r\n");
    assert_string_equal(row_of(false, "say \"so\"", 1, 2), "\"say \"\"so\"\"\",1,2,\r\n");
    assert_string_equal(row_of(false, "two\nlines", 1, 2), "\"two\nlines\",1,2,\r\n");
    assert_string_equal(row_of(false, "k\xc3\xbcrbis", 1, 2), "k\xc3\xbcrbis,1,2,\r\n");
}

/* Text never begins what a spreadsheet would run as a formula, quoted or not, and is still one cell. */
static void formulas(void **state)
{
    static const char *const texts[] = { "=1+1", "+1+1", "-1-1", "-A1", "-0x1p3", "-inf", "@SUM(A1)", "\tx", "=a,\"b\"", "-\"x\",y",
                                         "=HYPERLINK(\"a\";\"b\")" };
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        for (int comma = 0; comma < 2; comma++) {
            const char *row = row_of(comma, texts[i], 1, 2);
            char separator = comma ? ';' : ',', cell[200];
            bool quoted = row[0] == '"';
            size_t n = 0, at = quoted;
            while (quoted ? row[at] != '"' || row[at + 1] == '"' : row[at] != separator) {
                assert_true(quoted || row[at] != '"');      /* a mark in a bare cell: RFC 4180, rule 5 */
                at += quoted && row[at] == '"';
                cell[n++] = row[at++];
            }
            cell[n] = '\0';
            at += quoted;
            assert_int_equal(row[at], separator);
            assert_string_equal(row + at + 1, comma ? "1;2;\r\n" : "1,2,\r\n");
            assert_null(strchr("=+-@\t\r", cell[0]));
            assert_non_null(strstr(cell, texts[i]));        /* what was said is still there */
        }
    assert_string_equal(row_of(false, "-1", 1, 2), "-1,1,2,\r\n");        /* numbers are no formulas */
    assert_string_equal(row_of(false, "+2.5e-07", 1, 2), "+2.5e-07,1,2,\r\n");
}

static void whole_or_not_at_all(void **state)
{
    (void)state;
    struct writing w;
    open_output(&w);
    struct report_file *a = report_output_file(w.output, "a.txt"), *b = report_output_file(w.output, "b.txt");
    report_write(a, "one\n", 4);
    report_print(b, "%s %d\n", "two", 2);
    assert_null(read_back(w.dir, "a.txt"));                 /* nothing is there before */
    assert_true(report_file_close(a));
    /* sha256sum */
    assert_string_equal(report_file_sha256(a),
                        "2c8b08da5ce60398e1f19af0e5dccc744df274b826abe585eaba68c525434806");
    assert_true(report_file_bytes(a) == 4);
    assert_null(read_back(w.dir, "a.txt"));
    assert_int_equal(report_output_commit(w.output, &w.complaints), BASE_OK);
    assert_string_equal(read_back(w.dir, "a.txt"), "one\n");
    assert_string_equal(read_back(w.dir, "b.txt"), "two 2\n");
    close_output(&w);
    throw_away(w.dir, (const char *const[]){ "a.txt", "b.txt", NULL });

    open_output(&w);                                        /* closed without a commit: nothing is left */
    report_write(report_output_file(w.output, "a.txt"), "one\n", 4);
    close_output(&w);
    throw_away(w.dir, (const char *const[]){ NULL });

    open_output(&w);                                        /* a file that cannot be made: all of it fails */
    report_write(report_output_file(w.output, "a.txt"), "one\n", 4);
    assert_null(report_output_file(w.output, "none/b.txt"));
    assert_int_equal(report_output_commit(w.output, &w.complaints), BASE_FAILED);
    assert_int_equal(w.complaints.errors, 1);
    close_output(&w);
    throw_away(w.dir, (const char *const[]){ NULL });
}

/* More than a buffer's worth, and rows kept in memory for another file. */
static void large_files(void **state)
{
    (void)state;
    struct writing w;
    open_output(&w);
    struct report_file *file = report_output_file(w.output, "large.txt"), *memory = report_memory_open();
    assert_non_null(memory);
    struct base_sha256 sha;
    char wanted[65], line[64];
    uint64_t bytes = 0;
    base_sha256_start(&sha);
    for (int i = 0; i < 60000; i++) {
        int n = snprintf(line, sizeof line, "line %d of many\n", i);
        base_sha256_add(&sha, line, (size_t)n);
        bytes += (uint64_t)n;
        report_write(memory, line, (size_t)n);
        if (i % 7000 == 6999)
            report_memory_pour(memory, file);
    }
    report_memory_pour(memory, file);
    assert_false(report_memory_failed(memory));
    report_memory_free(memory);
    base_sha256_hex(&sha, wanted);
    assert_true(report_file_close(file));
    assert_string_equal(report_file_sha256(file), wanted);
    assert_true(report_file_bytes(file) == bytes);
    assert_int_equal(report_output_commit(w.output, &w.complaints), BASE_OK);
    close_output(&w);
    throw_away(w.dir, (const char *const[]){ "large.txt", NULL });
}

/* One run at a time in a folder; a file is no folder. */
static void locked(void **state)
{
    (void)state;
    struct writing w;
    struct report_output *second = NULL;
    open_output(&w);
    assert_int_equal(report_output_open(&w.arena, w.dir, &w.complaints, &second), BASE_WRONG);
    assert_null(second);
    assert_int_equal(w.complaints.errors, 1);
    report_output_close(second);
    report_output_close(w.output);
    assert_int_equal(report_output_open(&w.arena, w.dir, &w.complaints, &w.output), BASE_OK);
    assert_int_equal(report_output_open(&w.arena, "/dev/null", &w.complaints, &second), BASE_WRONG);
    close_output(&w);
    throw_away(w.dir, (const char *const[]){ NULL });
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cells), cmocka_unit_test(quoting), cmocka_unit_test(formulas),
            cmocka_unit_test(whole_or_not_at_all),
        cmocka_unit_test(large_files), cmocka_unit_test(locked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
