/* package.c: datapackage.json: what each file and column is, and how the run was made. */
#include "report/report.h"

#include <string.h>

static void json_text(struct report_file *file, const char *text)
{
    report_write(file, "\"", 1);
    for (const char *c = text; *c; c++) {
        if (*c == '"' || *c == '\\')
            report_print(file, "\\%c", *c);
        else if ((unsigned char)*c < 0x20)
            report_print(file, "\\u%04x", (unsigned)(unsigned char)*c);
        else
            report_write(file, c, 1);
    }
    report_write(file, "\"", 1);
}

static void member(struct report_file *file, const char *indent, const char *name, const char *text, const char *end)
{
    report_print(file, "%s\"%s\": ", indent, name);
    json_text(file, text);
    report_print(file, "%s\n", end);
}

static void field(struct report_file *file, const struct report_table *table, int at)
{
    const struct report_column *column = &table->columns[at];
    report_print(file, "          {\"name\": ");
    json_text(file, column->name);
    report_print(file, ", \"type\": \"%s\"", column->type);
    if (strcmp(column->type, "date") == 0)
        report_print(file, ", \"format\": \"default\"");
    if (strcmp(column->type, "number") == 0 && table->decimal_comma)
        report_print(file, ", \"decimalChar\": \",\"");
    if (column->unit) {
        report_print(file, ", \"unit\": ");
        json_text(file, column->unit);
    }
    report_print(file, ", \"description\": ");
    json_text(file, column->meaning);
    if (column->resolution) {
        report_print(file, ", \"resolution\": ");
        json_text(file, column->resolution);
    }
    report_print(file, "}%s\n", at + 1 < table->columns_n ? "," : "");
}

/* A resource's name: the file's without its ending. */
static void resource_name(const char *path, char name[64])
{
    size_t n = strcspn(path, ".");
    snprintf(name, 64, "%.*s", (int)n, path);
}

static void common(struct report_file *file, const struct report_file *of)
{
    char name[64];
    resource_name(report_file_name(of), name);
    member(file, "      ", "name", name, ",");
    member(file, "      ", "path", report_file_name(of), ",");
    report_print(file, "      \"bytes\": %llu,\n      \"hash\": \"sha256:%s\",\n",
                 (unsigned long long)report_file_bytes(of), report_file_sha256(of));
}

static void table_resource(struct report_file *file, const struct report_table *table, bool last)
{
    report_print(file, "    {\n");
    common(file, table->file);
    member(file, "      ", "title", table->title, ",");
    report_print(file, "      \"type\": \"table\",\n      \"format\": \"csv\",\n      \"mediatype\": \"text/csv\",\n"
                       "      \"encoding\": \"utf-8\",\n      \"dialect\": {\"delimiter\": \"%s\", \"lineTerminator\": "
                       "\"\\r\\n\", \"header\": true},\n", table->decimal_comma ? ";" : ",");
    report_print(file, "      \"schema\": {\n        \"fields\": [\n");
    for (int i = 0; i < table->columns_n; i++)
        field(file, table, i);
    report_print(file, "        ]\n      }\n    }%s\n", last ? "" : ",");
}

static void run_record(struct report_file *file, const struct report_run *run)
{
    report_print(file, "  \"run\": {\n");
    member(file, "    ", "program", "tideover", ",");
    member(file, "    ", "version", run->version, ",");
    member(file, "    ", "command", run->command, ",");
    report_print(file, "    \"generator\": \"PCG-RXS-M-XS 64/64\",\n    \"stream_version\": %d,\n", CHANCE_STREAM_VERSION);
    report_print(file, "    \"random_seed\": %lld,\n    \"trials\": %lld,\n", (long long)run->random_seed,
                 (long long)run->trials);
    for (int i = 0; run->extra && run->extra[i]; i += 2)
        member(file, "    ", run->extra[i], run->extra[i + 1], ",");
    if (run->records_sha256)
        report_print(file, "    \"records_hash\": \"sha256:%s\",\n", run->records_sha256);
    member(file, "    ", "scenario", run->scenario->name, ",");
    report_print(file, "    \"scenario_hash\": \"sha256:%s\"\n  }\n", run->scenario->sha256);
}

void report_package(struct report_file *file, const struct report_run *run, const struct report_table *tables, int n,
                    struct report_file *const *others, int others_n)
{
    report_print(file, "{\n  \"$schema\": \"https://datapackage.org/profiles/2.0/datapackage.json\",\n");
    report_print(file, "  \"name\": \"tideover-run\",\n");
    member(file, "  ", "title", run->scenario->title ? run->scenario->title : run->scenario->name, ",");
    report_print(file, "  \"resources\": [\n");
    for (int t = 0; t < n; t++)
        table_resource(file, &tables[t], t + 1 == n && others_n == 0);
    for (int o = 0; o < others_n; o++) {
        report_print(file, "    {\n");
        common(file, others[o]);
        report_print(file, "      \"mediatype\": \"text/plain\",\n      \"encoding\": \"utf-8\"\n    }%s\n",
                     o + 1 < others_n ? "," : "");
    }
    report_print(file, "  ],\n");
    run_record(file, run);
    report_print(file, "}\n");
}
