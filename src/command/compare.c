/* compare.c: tideover compare: which of several scenarios is better, on the same luck. */
#include "command/command.h"

#include <math.h>
#include <string.h>

enum { FIRST_BATCHES = 32 };
static const double ALPHA = 0.05;

static const struct report_column columns[] = {
    { "base", "string", NULL, "the scenario that the other is compared with", NULL },
    { "other", "string", NULL, "the other scenario, or the change that makes it", NULL },
    { "food_year", "string", NULL, "food year, counted from 1; all: any of them", NULL },
    { "food", "string", NULL, "beans, squash, or any of the two", NULL },
    { "measure", "string", NULL, "what is measured", NULL },
    { "unit", "string", NULL, "unit of the values", NULL },
    { "base_value", "number", NULL, "mean or chance in the base", NULL },
    { "other_value", "number", NULL, "mean or chance in the other", NULL },
    { "difference", "number", NULL, "other less base, trial by trial", NULL },
    { "std_error", "number", NULL, "standard error of the difference", NULL },
    { "low", "number", NULL, "lower end of the 95 % interval, simultaneous over the pairs (Bonferroni)", NULL },
    { "high", "number", NULL, "upper end", NULL },
    { "turned_up", "integer", "trials", "trials in which the other is higher (for a chance: it happens there only)", NULL },
    { "turned_down", "integer", "trials", "trials in which the base is higher", NULL },
    { "correlation", "number", NULL, "of the two scenarios' values over the trials", NULL },
    { "variance_ratio", "number", NULL, "variance that independent luck would have given, over the one that shared luck gave", NULL },
    { "verdict", "string", NULL, "better, worse, no difference worth telling, or not yet told apart", NULL },
    { "trials", "integer", NULL, "trials of each scenario", NULL },
};

struct comparison {
    const struct command_options *options;
    struct base_arena *arena;
    struct command_paired paired;
    struct decide_list list;
    int item, years, looks;
    double worth, alpha;                /* alpha: of a pair */
    bool *identical;                    /* [n] the same settings as the base */
    enum decide_verdict *verdict;       /* [n] of the judged item */
    const char *stopped;
};

/* ---- loading ---------------------------------------------------------------------------------------------- */

/* A --versus change: settings with ';' between them. */
static enum base_result read_versus(struct base_arena *arena, const char *text, struct command_change *change)
{
    char *copy = base_arena_text(arena, text);
    if (!copy)
        return BASE_FAILED;
    change->label = text;
    for (char *at = copy; at && *at;) {
        char *end = strchr(at, ';');
        if (end)
            *end++ = '\0';
        at += strspn(at, " ");
        if (change->sets_n == COMMAND_MOST_RANGES)
            return command_refuse("--versus %s: more than %d settings at once; write a scenario file that extends the base", text,
                                  COMMAND_MOST_RANGES);
        if (*at)
            change->sets[change->sets_n++] = at;
        at = end;
    }
    return BASE_OK;
}

static enum base_result list_changes(struct base_arena *arena, const struct command_options *options,
                                     struct command_change **out, int *n)
{
    *n = options->args_n + options->versus_n;
    if (options->args_n < 1 || *n < 2)
        return command_refuse("compare wants a base scenario and at least one other, or --versus; see tideover --help");
    struct command_change *change = base_arena_array(arena, (size_t)*n, sizeof *change);
    if (!change)
        return BASE_FAILED;
    for (int a = 0; a < options->args_n; a++) {
        const char *slash = strrchr(options->args[a], '/');
        change[a] = (struct command_change){ .path = options->args[a], .label = slash ? slash + 1 : options->args[a] };
    }
    for (int v = 0; v < options->versus_n; v++) {
        struct command_change *to = &change[options->args_n + v];
        to->path = options->args[0];
        enum base_result result = read_versus(arena, options->versus[v], to);
        if (result != BASE_OK)
            return result;
    }
    *out = change;
    return BASE_OK;
}

static enum base_result prepare(struct comparison *c)
{
    struct command_change *change = NULL;
    struct command_variant *variant = NULL;
    int n;
    enum base_result result = list_changes(c->arena, c->options, &change, &n);
    if (result == BASE_OK)
        result = command_load_variants(c->arena, c->options, change, n, &variant);
    if (result != BASE_OK)
        return result;
    int *against = base_arena_array(c->arena, (size_t)n, sizeof *against);
    c->identical = base_arena_array(c->arena, (size_t)n, sizeof *c->identical);
    c->verdict = base_arena_array(c->arena, (size_t)n, sizeof *c->verdict);
    c->years = variant[0].loaded.scenario->food_years;
    c->alpha = ALPHA / (n - 1);
    if (!against || !c->identical || !c->verdict || !decide_list_make(c->arena, c->years, &c->list))
        return BASE_FAILED;
    against[0] = -1;
    return command_paired_make(c->arena, variant, against, n, &c->list, &c->paired);
}

/* ---- what changed -------------------------------------------------------------------------------------------- */

static bool has_planting(const struct scenario *scenario, const char *name)
{
    for (int p = 0; p < scenario->plantings_n; p++)
        if (strcmp(scenario->plantings[p].name, name) == 0)
            return true;
    return false;
}

static void tell_strangers(const struct scenario *a, const struct scenario *b)
{
    for (int p = 0; p < a->plantings_n; p++)
        if (!has_planting(b, a->plantings[p].name))
            printf("  note: the planting %s has no namesake in the other: it shares no luck there\n", a->plantings[p].name);
}

static void tell_changes(struct comparison *c)
{
    const struct command_variant *base = &c->paired.variant[0];
    bool quiet = c->options->quiet;
    FILE *to = quiet ? fopen("/dev/null", "w") : stdout;
    for (int v = 1; v < c->paired.n && to; v++) {
        const struct command_variant *other = &c->paired.variant[v];
        if (!quiet)
            printf("%s against %s: what differs (setting, old, new)\n", other->label, base->label);
        c->identical[v] = scenario_print_differences(base->loaded.scenario, other->loaded.scenario, to) == 0;
        if (c->identical[v] && !quiet)
            printf("  nothing: the two are the same\n");
        if (!quiet) {
            tell_strangers(base->loaded.scenario, other->loaded.scenario);
            tell_strangers(other->loaded.scenario, base->loaded.scenario);
        }
    }
    if (quiet && to)
        fclose(to);
}

/* ---- how many trials -------------------------------------------------------------------------------------------- */

static struct decide_difference difference(const struct comparison *c, int v, int item, double alpha)
{
    return decide_difference(&c->list, &c->paired.sums[0], &c->paired.sums[v], &c->paired.pairs[v], item, c->paired.trials, alpha);
}

static bool judge_all(struct comparison *c, double alpha)
{
    bool open = false;
    for (int v = 1; v < c->paired.n; v++) {
        if (c->looks > 1 && c->verdict[v] != DECIDE_OPEN)
            continue;                   /* decided at an earlier look */
        struct decide_difference d = difference(c, v, c->item, alpha);
        c->verdict[v] = c->identical[v] ? DECIDE_SAME
                                        : decide_judge(&c->list, c->item, &d, c->paired.trials, c->worth, alpha);
        open |= c->verdict[v] == DECIDE_OPEN;
    }
    return open;
}

/* Chances: exact conditional tests, the error spent over the looks; trials double until every pair is decided. */
static enum base_result until_clear_chance(struct comparison *c)
{
    enum base_result result = BASE_OK;
    for (c->looks = 1; judge_all(c, decide_spend(c->alpha, c->looks)); c->looks++) {
        int64_t next = 2 * c->paired.trials < command_most_trials(c->options) ? 2 * c->paired.trials : command_most_trials(c->options);
        if (next <= c->paired.trials) {
            c->stopped = "the most trials allowed were reached";
            return BASE_OK;
        }
        result = command_paired_run(&c->paired, c->options, next, "telling apart");
        if (result != BASE_OK)
            return result;
    }
    c->stopped = "every pair is told apart or within worth";
    return BASE_OK;
}

struct kn_pair { double batch[FIRST_BATCHES]; struct decide_kn kn; };

/* First stage: batches of trials, whose means' spread sets how far the procedure must look. */
static enum base_result first_stage(struct comparison *c, struct kn_pair *pair, int64_t batch)
{
    for (int b = 0; b < FIRST_BATCHES; b++) {
        for (int v = 1; v < c->paired.n; v++)
            pair[v].batch[b] = -tally_sum_mean(&c->paired.pairs[v].difference[c->item], 1);
        enum base_result result = command_paired_run(&c->paired, c->options, c->paired.trials + batch, "first stage");
        if (result != BASE_OK)
            return result;
        for (int v = 1; v < c->paired.n; v++)
            pair[v].batch[b] = (pair[v].batch[b] + tally_sum_mean(&c->paired.pairs[v].difference[c->item], 1)) / (double)batch;
    }
    for (int v = 1; v < c->paired.n; v++)
        pair[v].kn = decide_kn_begin(pair[v].batch, FIRST_BATCHES, c->worth, c->alpha);
    return BASE_OK;
}

static bool kn_look(struct comparison *c, const struct kn_pair *pair, int r)
{
    bool open = false;
    for (int v = 1; v < c->paired.n; v++) {
        double mean = tally_sum_mean(&c->paired.pairs[v].difference[c->item], c->paired.trials);
        if (c->verdict[v] != DECIDE_OPEN)
            continue;
        int look = c->identical[v] ? 2 : decide_kn_look(&pair[v].kn, mean, r), better = decide_better(&c->list.item[c->item]);
        if (look == 2)
            c->verdict[v] = c->identical[v] ? DECIDE_SAME : DECIDE_NOT_WORTH;
        else if (look != 0)
            c->verdict[v] = better == 0 ? (look > 0 ? DECIDE_MORE : DECIDE_LESS) : look == better ? DECIDE_BETTER : DECIDE_WORSE;
        open |= c->verdict[v] == DECIDE_OPEN;
    }
    return open;
}

/* Means: Kim & Nelson's procedure for each pair, on batches of trials not seen before the first stage. */
static enum base_result until_clear_mean(struct comparison *c)
{
    struct kn_pair *pair = base_arena_array(c->arena, (size_t)c->paired.n, sizeof *pair);
    int64_t batch = c->paired.variant[0].loaded.scenario->trials / FIRST_BATCHES + 1;
    if (!pair)
        return BASE_FAILED;
    if (!(c->worth > 0))
        return command_refuse("--until-clear on a mean wants --worth above 0: a difference that is worth telling");
    for (int v = 1; v < c->paired.n; v++)
        c->verdict[v] = DECIDE_OPEN;
    enum base_result result = first_stage(c, pair, batch);
    for (c->looks = 1; result == BASE_OK && kn_look(c, pair, (int)(c->paired.trials / batch)); c->looks++) {
        int64_t most = command_most_trials(c->options) / batch * batch;
        int64_t next = 2 * c->paired.trials < most ? 2 * c->paired.trials : most;
        if (next <= c->paired.trials) {
            c->stopped = "the most trials allowed were reached";
            return BASE_OK;
        }
        result = command_paired_run(&c->paired, c->options, next, "telling apart");
    }
    c->stopped = "every pair is told apart or within worth";
    return result;
}

/* Until the headline of the base is known to the precision. */
static enum base_result until_precise(struct comparison *c)
{
    for (;;) {
        struct decide_figure f = decide_value(&c->list, &c->paired.sums[0], c->item, c->paired.trials, ALPHA);
        double half = (f.high - f.low) / 2;
        if (half <= c->options->precision || c->paired.trials >= command_most_trials(c->options)) {
            c->stopped = half <= c->options->precision ? "the precision was reached" : "the precision was not reached: the most "
                         "trials allowed were";
            return BASE_OK;
        }
        enum base_result result = command_paired_run(&c->paired, c->options,
                                                     decide_next_trials(c->paired.trials, half, c->options->precision,
                                                                        command_most_trials(c->options)), "trials");
        if (result != BASE_OK)
            return result;
    }
}

static enum base_result run_all(struct comparison *c)
{
    int64_t trials = c->paired.variant[0].loaded.scenario->trials;
    int64_t first = c->options->until_clear || c->options->precision > 0 ? (trials < 10000 ? trials : 10000) : trials;
    enum base_result result = command_paired_run(&c->paired, c->options, first, "trials");
    if (result == BASE_OK)
        result = command_judged(c->options, &c->paired, &c->item);
    if (result != BASE_OK)
        return result;
    c->worth = c->options->worth >= 0 ? c->options->worth : decide_default_worth(&c->list.item[c->item]);
    if (c->options->until_clear)
        return decide_is_chance(&c->list.item[c->item]) ? until_clear_chance(c) : until_clear_mean(c);
    if (c->options->precision > 0)
        result = until_precise(c);
    c->looks = 1;
    judge_all(c, c->alpha);
    return result;
}

/* ---- the answer ------------------------------------------------------------------------------------------------- */

static void row(struct report_csv *csv, const struct comparison *c, int v, int i)
{
    const struct decide_item *item = &c->list.item[i];
    struct decide_difference d = difference(c, v, i, c->alpha);
    int64_t n = c->paired.trials;
    char year[16];
    snprintf(year, sizeof year, "%d", item->year + 1);
    report_csv_text(csv, c->paired.variant[0].label);
    report_csv_text(csv, c->paired.variant[v].label);
    report_csv_text(csv, item->year == TALLY_ALL_YEARS ? "all" : year);
    report_csv_text(csv, report_food_name(item->food));
    report_csv_text(csv, tally_measures[item->measure].name);
    report_csv_text(csv, tally_measures[item->measure].unit);
    report_csv_number(csv, tally_sum_mean(&c->paired.sums[0].sum[i], n));
    report_csv_number(csv, tally_sum_mean(&c->paired.sums[v].sum[i], n));
    const double figures[] = { d.value, d.std_error, d.low, d.high };
    for (int k = 0; k < 4; k++)
        report_csv_number(csv, figures[k]);
    report_csv_whole(csv, d.up);
    report_csv_whole(csv, d.down);
    report_csv_number(csv, d.correlation);
    report_csv_number(csv, d.variance_ratio);
    enum decide_verdict verdict = i == c->item ? c->verdict[v] : c->identical[v] ? DECIDE_SAME
                                  : decide_judge(&c->list, i, &d, n, decide_default_worth(item), c->alpha);
    report_csv_text(csv, decide_words(verdict));
    report_csv_whole(csv, n);
    report_csv_end(csv);
}

static void fill(struct report_csv *csv, const void *context)
{
    const struct comparison *c = context;
    for (int v = 1; v < c->paired.n; v++)
        for (int i = 0; i < c->list.n; i++)
            row(csv, c, v, i);
}

static void value_words(const struct comparison *c, double value, double half, char text[32])
{
    if (decide_is_chance(&c->list.item[c->item]))
        report_percent(value, half, text);
    else
        snprintf(text, 32, "%.3g %s", value, tally_measures[c->list.item[c->item].measure].unit);
}

static void tell(const struct comparison *c)
{
    char name[96], base[32], other[32], low[32], high[32];
    command_item_name(&c->list, c->item, c->years, name);
    struct decide_figure b = decide_value(&c->list, &c->paired.sums[0], c->item, c->paired.trials, c->alpha);
    value_words(c, b.value, (b.high - b.low) / 2, base);
    printf("\nJudged by %s, %lld trial%s of each on the same luck\n  %s: %s\n", name, (long long)c->paired.trials,
           c->paired.trials == 1 ? "" : "s", c->paired.variant[0].label, base);
    for (int v = 1; v < c->paired.n; v++) {
        struct decide_figure o = decide_value(&c->list, &c->paired.sums[v], c->item, c->paired.trials, c->alpha);
        struct decide_difference d = difference(c, v, c->item, c->alpha);
        bool chance = decide_is_chance(&c->list.item[c->item]);
        value_words(c, o.value, (o.high - o.low) / 2, other);
        snprintf(low, sizeof low, chance ? "%+.2f" : "%+.3g", chance ? 100 * d.low : d.low);
        snprintf(high, sizeof high, chance ? "%+.2f" : "%+.3g", chance ? 100 * d.high : d.high);
        printf("  %s: %s: %s\n    difference between %s and %s%s", c->paired.variant[v].label, other, decide_words(c->verdict[v]), low,
               high, chance ? " points of a hundred" : "");
        if (chance)
            printf("; %lld trials turned up, %lld down", (long long)d.up, (long long)d.down);
        if (isfinite(d.variance_ratio))
            printf("; the shared luck was worth %.1f times the trials", d.variance_ratio);
        putchar('\n');
    }
    if (c->stopped)
        printf("  Trials were added until: %s.\n", c->stopped);
    printf("  The ranges hold together with 95 %% confidence; they cover the simulation's error only.\n");
    report_cautions(stdout);
}

enum base_result command_compare(const struct command_options *options)
{
    struct base_arena arena = { 0 };
    struct comparison c = { .options = options, .arena = &arena };
    enum base_result result = prepare(&c);
    if (result == BASE_OK) {
        tell_changes(&c);
        result = run_all(&c);
    }
    if (result == BASE_OK) {
        const char *const extra[] = { "stopped", c.stopped ? c.stopped : "as many trials as asked for", NULL };
        struct command_table_file table = { "compare.csv", "Scenarios side by side on the same luck", columns,
                                            (int)(sizeof columns / sizeof columns[0]), fill, &c };
        result = command_write_tables(&arena, options, "compare", &c.paired.variant[0].loaded, c.paired.trials, &table, 1, extra);
    }
    if (result == BASE_OK && !options->quiet)
        tell(&c);
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    base_arena_free(&arena);
    return command_end_output(result);
}
