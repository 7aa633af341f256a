/* vary.c: tideover vary: a ladder or a grid of one or two settings, and what each further step buys. */
#include "command/command.h"

#include <math.h>
#include <string.h>

static const double ALPHA = 0.05;

static const struct report_column columns[] = {
    { "setting", "string", NULL, "the setting that varies", NULL },
    { "rung", "string", NULL, "its value", NULL },
    { "setting_2", "string", NULL, "the second setting that varies; empty: none", NULL },
    { "rung_2", "string", NULL, "its value", NULL },
    { "food_year", "string", NULL, "food year, counted from 1; all: any of them", NULL },
    { "food", "string", NULL, "beans, squash, or any of the two", NULL },
    { "measure", "string", NULL, "what is measured", NULL },
    { "unit", "string", NULL, "unit of the values", NULL },
    { "value", "number", NULL, "mean or chance", NULL },
    { "std_error", "number", NULL, "standard error", NULL },
    { "low", "number", NULL, "lower end of the 95 % interval", NULL },
    { "high", "number", NULL, "upper end", NULL },
    { "gain", "number", NULL, "value less that of the rung before, on the same luck; empty: the first rung", NULL },
    { "gain_std_error", "number", NULL, "standard error of the gain", NULL },
    { "gain_low", "number", NULL, "lower end of the gain's 95 % interval", NULL },
    { "gain_high", "number", NULL, "upper end", NULL },
    { "trials", "integer", NULL, "trials of each rung", NULL },
};

struct ladder {
    const struct command_options *options;
    struct base_arena *arena;
    struct command_range range[2];
    int ranges, n, item, years;
    struct command_paired paired;
    struct decide_list list;
    const char *stopped;
};

static int rung_of(const struct ladder *l, int v, int which)
{
    return which == 0 ? v % l->range[0].n : v / l->range[0].n;
}

static enum base_result read_ranges(struct ladder *l)
{
    if (l->options->args_n != 1 || l->options->over_n < 1 || l->options->over_n > 2)
        return command_refuse("vary wants one scenario file and --over PATH=RANGE, once or twice; see tideover --help");
    l->n = 1;
    l->ranges = l->options->over_n;
    for (int r = 0; r < l->ranges; r++) {
        enum base_result result = command_read_range(l->arena, l->options->over[r], "over", &l->range[r]);
        if (result != BASE_OK)
            return result;
        l->n *= l->range[r].n;
        if (l->n > COMMAND_MOST_VARIANTS)
            return command_refuse("--over: %d rungs or more in all; at most %d", l->n, COMMAND_MOST_VARIANTS);
    }
    if (l->ranges == 2 && strcmp(l->range[0].path, l->range[1].path) == 0)
        return command_refuse("--over names %s twice", l->range[0].path);
    return BASE_OK;
}

static enum base_result prepare(struct ladder *l)
{
    enum base_result result = read_ranges(l);
    if (result != BASE_OK)
        return result;
    struct command_change *change = base_arena_array(l->arena, (size_t)l->n, sizeof *change);
    int *against = base_arena_array(l->arena, (size_t)l->n, sizeof *against);
    struct command_variant *variant = NULL;
    if (!change || !against)
        return BASE_FAILED;
    for (int v = 0; v < l->n; v++) {
        change[v].path = l->options->args[0];
        against[v] = rung_of(l, v, 0) > 0 ? v - 1 : -1;
        for (int r = 0; r < l->ranges; r++)
            change[v].sets[change[v].sets_n++] = base_arena_print(l->arena, "%s=%s", l->range[r].path,
                                                                  l->range[r].value[rung_of(l, v, r)]);
        change[v].label = change[v].sets[0];
    }
    result = command_load_variants(l->arena, l->options, change, l->n, &variant);
    if (result != BASE_OK)
        return result;
    l->years = variant[0].loaded.scenario->food_years;
    if (!decide_list_make(l->arena, l->years, &l->list))
        return BASE_FAILED;
    return command_paired_make(l->arena, variant, against, l->n, &l->list, &l->paired);
}

/* The widest half width among the rungs' headlines. */
static double widest(const struct ladder *l)
{
    double most = 0;
    for (int v = 0; v < l->n; v++) {
        struct decide_figure f = decide_value(&l->list, &l->paired.sums[v], l->item, l->paired.trials, ALPHA);
        most = fmax(most, (f.high - f.low) / 2);
    }
    return most;
}

static enum base_result run_all(struct ladder *l)
{
    int64_t trials = l->paired.variant[0].loaded.scenario->trials, most = command_most_trials(l->options);
    double wanted = l->options->precision;
    enum base_result result = command_paired_run(&l->paired, l->options, wanted > 0 && trials > 10000 ? 10000 : trials, "trials");
    if (result == BASE_OK)
        result = command_judged(l->options, &l->paired, &l->item);
    while (result == BASE_OK && wanted > 0 && widest(l) > wanted && l->paired.trials < most)
        result = command_paired_run(&l->paired, l->options, decide_next_trials(l->paired.trials, widest(l), wanted, most), "trials");
    if (result == BASE_OK && wanted > 0)
        l->stopped = widest(l) <= wanted ? "the precision was reached" : "the precision was not reached: the most trials allowed were";
    return result;
}

static void row(struct report_csv *csv, const struct ladder *l, int v, int i)
{
    const struct decide_item *item = &l->list.item[i];
    struct decide_figure f = decide_value(&l->list, &l->paired.sums[v], i, l->paired.trials, ALPHA);
    char year[16];
    snprintf(year, sizeof year, "%d", item->year + 1);
    for (int r = 0; r < 2; r++) {
        report_csv_text(csv, r < l->ranges ? l->range[r].path : "");
        report_csv_text(csv, r < l->ranges ? l->range[r].value[rung_of(l, v, r)] : "");
    }
    report_csv_text(csv, item->year == TALLY_ALL_YEARS ? "all" : year);
    report_csv_text(csv, report_food_name(item->food));
    report_csv_text(csv, tally_measures[item->measure].name);
    report_csv_text(csv, tally_measures[item->measure].unit);
    double figures[8] = { f.value, f.std_error, f.low, f.high, NAN, NAN, NAN, NAN };
    int before = l->paired.against[v];
    if (before >= 0) {
        struct decide_difference d = decide_difference(&l->list, &l->paired.sums[before], &l->paired.sums[v],
                                                       &l->paired.pairs[v], i, l->paired.trials, ALPHA);
        figures[4] = d.value;
        figures[5] = d.std_error;
        figures[6] = d.low;
        figures[7] = d.high;
    }
    for (int k = 0; k < 8; k++)
        report_csv_number(csv, figures[k]);
    report_csv_whole(csv, l->paired.trials);
    report_csv_end(csv);
}

static void fill(struct report_csv *csv, const void *context)
{
    const struct ladder *l = context;
    for (int v = 0; v < l->n; v++)
        for (int i = 0; i < l->list.n; i++)
            row(csv, l, v, i);
}

static void tell_rung(const struct ladder *l, int v)
{
    bool chance = decide_is_chance(&l->list.item[l->item]);
    double scale = chance ? 100 : 1;
    struct decide_figure f = decide_value(&l->list, &l->paired.sums[v], l->item, l->paired.trials, ALPHA);
    printf("  %-12s", l->range[0].value[rung_of(l, v, 0)]);
    if (l->ranges > 1)
        printf(" %-12s", l->range[1].value[rung_of(l, v, 1)]);
    printf(" %8.*f  (%.*f to %.*f)", chance ? 1 : 2, scale * f.value, chance ? 1 : 2, scale * f.low, chance ? 1 : 2, scale * f.high);
    int before = l->paired.against[v];
    if (before >= 0) {
        struct decide_difference d = decide_difference(&l->list, &l->paired.sums[before], &l->paired.sums[v], &l->paired.pairs[v],
                                                       l->item, l->paired.trials, ALPHA);
        printf("   %+.*f  (%+.*f to %+.*f)", chance ? 2 : 3, scale * d.value, chance ? 2 : 3, scale * d.low, chance ? 2 : 3,
               scale * d.high);
    }
    putchar('\n');
}

static void tell(const struct ladder *l)
{
    char name[96];
    bool chance = decide_is_chance(&l->list.item[l->item]);
    command_item_name(&l->list, l->item, l->years, name);
    printf("%s, %s, by %s%s%s (%lld trial%s a rung, the same luck in each)\n", name,
           chance ? "per cent" : tally_measures[l->list.item[l->item].measure].unit, l->range[0].path, l->ranges > 1 ? " and " : "",
           l->ranges > 1 ? l->range[1].path : "", (long long)l->paired.trials, l->paired.trials == 1 ? "" : "s");
    printf("  %-12s%s %8s  %-16s   what this step changed, with its 95 %% range\n", "setting to", l->ranges > 1 ? "  and to     " : "",
           "figure", "95 % range");
    for (int v = 0; v < l->n; v++)
        tell_rung(l, v);
    if (l->stopped)
        printf("  Trials were added until: %s.\n", l->stopped);
    report_cautions(stdout);
}

enum base_result command_vary(const struct command_options *options)
{
    struct base_arena arena = { 0 };
    struct ladder l = { .options = options, .arena = &arena };
    enum base_result result = prepare(&l);
    if (result == BASE_OK)
        result = run_all(&l);
    if (result == BASE_OK) {
        const char *const extra[] = { "stopped", l.stopped ? l.stopped : "as many trials as asked for", NULL };
        struct command_table_file table = { "vary.csv", "A setting's rungs, and what each step changes", columns,
                                            (int)(sizeof columns / sizeof columns[0]), fill, &l };
        result = command_write_tables(&arena, options, "vary", &l.paired.variant[0].loaded, l.paired.trials, &table, 1, extra);
    }
    if (result == BASE_OK && !options->quiet)
        tell(&l);
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    base_arena_free(&arena);
    return command_end_output(result);
}
