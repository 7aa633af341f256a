/* tables.c: tables of the deciding commands, with their data package. */
#include "command/command.h"

enum { MOST_TABLES = 8 };

static enum base_result fill(struct report_output *output, const struct command_options *options, const char *command,
                             const struct command_loaded *loaded, int64_t trials, const struct command_table_file *tables,
                             int n, const char *const *extra, struct base_complaints *complaints)
{
    struct report_table table[MOST_TABLES];
    for (int t = 0; t < n; t++) {
        struct report_csv csv = report_csv_begin(report_output_file(output, tables[t].name), options->decimal_comma);
        report_csv_header(&csv, tables[t].columns, tables[t].columns_n);
        tables[t].fill(&csv, tables[t].context);
        report_file_close(csv.file);
        table[t] = (struct report_table){ csv.file, tables[t].title, tables[t].columns, tables[t].columns_n, options->decimal_comma };
    }
    struct report_run run = { .scenario = loaded->scenario, .command = command, .version = COMMAND_VERSION, .trials = trials,
                              .random_seed = loaded->scenario->random_seed, .extra = extra,
                              .records_sha256 = loaded->has_records ? loaded->records_sha256 : NULL };
    report_package(report_output_file(output, "datapackage.json"), &run, table, n, NULL, 0);
    return report_output_commit(output, complaints);
}

enum base_result command_write_tables(struct base_arena *arena, const struct command_options *options, const char *command,
                                      const struct command_loaded *loaded, int64_t trials,
                                      const struct command_table_file *tables, int n, const char *const *extra)
{
    struct base_complaints complaints = { 0 };
    struct report_output *output;
    enum base_result result = report_output_open(arena, options->out, &complaints, &output);
    if (result == BASE_OK)
        result = fill(output, options, command, loaded, trials, tables, n, extra, &complaints);
    base_complaints_print(&complaints, stderr);
    base_complaints_free(&complaints);
    report_output_close(output);
    return result;
}
