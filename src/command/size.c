/* size.c: tideover size: the cheapest settings of a grid that keep the chance of running short at or under a risk. */
#include "command/command.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_RUNGS = 2000, FEW_RUNGS = 30, DEFAULT_MOST_TRIALS = 1000000 };
static const double RISKS[] = { 0.50, 0.30, 0.20, 0.15, 0.10, 0.05, 0.02, 0.01 };

/* One combination of the grid. */
struct rung {
    int at[COMMAND_MOST_RANGES];        /* index into each range */
    double cost;
    struct command_variant *variant;
    struct command_paired paired;       /* of itself: chance items only */
    int64_t k;                          /* trials short, in the worst judged food year */
    int look;
    enum decide_size state;
};

struct sizing {
    const struct command_options *options;
    struct base_arena *arena;
    struct command_range range[COMMAND_MOST_RANGES];
    int ranges, n, answer;              /* answer: index of the cheapest that meets the risk, -1: none */
    struct rung *rung;                  /* cheapest first */
    struct decide_list list;            /* the chance judged, by food year */
    double alpha;                       /* of one rung's answer, one-sided */
    int64_t most;
};

/* ---- the grid ---------------------------------------------------------------------------------------------------- */

static enum base_result read_ranges(struct sizing *s)
{
    const struct command_options *options = s->options;
    if (options->args_n != 1 || options->over_n < 1 || options->risk < 0)
        return command_refuse("size wants one scenario file, --by PATH=RANGE and --risk R; see tideover --help");
    if (options->over_n > 1 && !options->cost)
        return command_refuse("several --by want --cost bed_m2, hours or money, to say which combination is the smaller one");
    s->n = 1;
    s->ranges = options->over_n;
    for (int r = 0; r < s->ranges; r++) {
        enum base_result result = command_read_range(s->arena, options->over[r], "by", &s->range[r]);
        if (result != BASE_OK)
            return result;
        for (int before = 0; before < r; before++)
            if (strcmp(s->range[before].path, s->range[r].path) == 0)
                return command_refuse("--by names %s twice", s->range[r].path);
        s->n *= s->range[r].n;
        if (s->n > MOST_RUNGS)
            return command_refuse("--by: more than %d combinations", MOST_RUNGS);
    }
    return BASE_OK;
}

static double cost_of(const struct scenario *scenario, const char *what)
{
    double cost = 0;
    for (int p = 0; p < scenario->plantings_n; p++) {
        const struct scenario_planting *planting = &scenario->plantings[p];
        const struct scenario_crop *crop = &planting->crop;
        cost += planting->count * (what[0] == 'b' ? crop->bed_m2 : what[0] == 'h' ? crop->hours : crop->money);
    }
    return cost;
}

static enum base_result load_rungs(struct sizing *s)
{
    struct command_change *change = base_arena_array(s->arena, (size_t)s->n, sizeof *change);
    struct command_variant *variant = NULL;
    s->rung = base_arena_array(s->arena, (size_t)s->n, sizeof *s->rung);
    if (!change || !s->rung)
        return BASE_FAILED;
    for (int v = 0; v < s->n; v++) {
        change[v].path = s->options->args[0];
        for (int r = 0, left = v; r < s->ranges; left /= s->range[r].n, r++) {
            s->rung[v].at[r] = left % s->range[r].n;
            change[v].sets[change[v].sets_n++] = base_arena_print(s->arena, "%s=%s", s->range[r].path,
                                                                  s->range[r].value[s->rung[v].at[r]]);
        }
        change[v].label = change[v].sets[0];
    }
    enum base_result result = command_load_variants(s->arena, s->options, change, s->n, &variant);
    for (int v = 0; result == BASE_OK && v < s->n; v++) {
        s->rung[v].variant = &variant[v];
        s->rung[v].cost = s->options->cost ? cost_of(variant[v].loaded.scenario, s->options->cost) : v;
    }
    return result;
}

static int by_cost(const void *a, const void *b)
{
    double x = ((const struct rung *)a)->cost, y = ((const struct rung *)b)->cost;
    return (x > y) - (x < y);
}

/* The chance that is judged: of the food year asked for, or of each one, the worst of which counts. */
static enum base_result list_items(struct sizing *s)
{
    const struct command_options *options = s->options;
    const char *name = options->measure ? options->measure : "chance_short", *food = options->food ? options->food : "any";
    int measure = tally_find_measure(name), of_food = 0, years = s->rung[0].variant->loaded.scenario->food_years;
    while (of_food < FUTURE_FOODS && strcmp(food, report_food_name(of_food)) != 0)
        of_food++;
    if (measure < 0 || !tally_measures[measure].is_chance || tally_measures[measure].better > 0)
        return command_refuse("--measure %s: size judges chance_short or chance_over_4_weeks_short", name);
    if (of_food == FUTURE_FOODS)
        return command_refuse("--food is beans, squash or any (got \"%s\")", food);
    if (options->food_year > years)
        return command_refuse("--food-year %d: there are only %d", options->food_year, years);
    s->list.item = base_arena_array(s->arena, (size_t)years, sizeof *s->list.item);
    if (!s->list.item)
        return BASE_FAILED;
    for (int year = 0; year < years; year++)
        if (options->food_year == 0 || options->food_year == year + 1)
            s->list.item[s->list.n++] = (struct decide_item){ year, measure, of_food };
    return BASE_OK;
}

static enum base_result prepare(struct sizing *s)
{
    static const int alone[1] = { -1 };
    enum base_result result = read_ranges(s);
    if (result == BASE_OK)
        result = load_rungs(s);
    if (result == BASE_OK)
        result = list_items(s);
    for (int v = 0; result == BASE_OK && v < s->n; v++)
        result = command_paired_make(s->arena, s->rung[v].variant, alone, 1, &s->list, &s->rung[v].paired);
    if (result != BASE_OK)
        return result;
    qsort(s->rung, (size_t)s->n, sizeof *s->rung, by_cost);
    if (s->options->cost && !(s->rung[s->n - 1].cost > 0))
        return command_refuse("--cost %s: no crop of this scenario says its %s", s->options->cost, s->options->cost);
    s->alpha = (1 - s->options->confidence) / s->n;
    s->most = s->options->most_trials > 0 ? s->options->most_trials : DEFAULT_MOST_TRIALS;
    return BASE_OK;
}

/* ---- trials where they are needed ------------------------------------------------------------------------------------ */

static enum base_result look(struct sizing *s, struct rung *rung, int64_t until)
{
    enum base_result result = command_paired_run(&rung->paired, s->options, until, "sizing");
    if (result != BASE_OK)
        return result;
    rung->look++;
    rung->k = 0;
    for (int i = 0; i < s->list.n; i++) {
        int64_t k = (int64_t)llround(tally_sum_mean(&rung->paired.sums[0].sum[i], rung->paired.trials) * (double)rung->paired.trials);
        rung->k = k > rung->k ? k : rung->k;
    }
    rung->state = decide_size(rung->k, rung->paired.trials, s->options->risk, decide_spend(s->alpha, rung->look));
    return BASE_OK;
}

/* With --precision a rung's chance is known at least so well, whatever its verdict. */
static enum base_result look_precisely(struct sizing *s, struct rung *rung, int64_t until)
{
    enum base_result result = look(s, rung, until);
    for (double low, high; result == BASE_OK && s->options->precision > 0 && rung->paired.trials < s->most;) {
        tally_wilson(rung->k, rung->paired.trials, 0.05, &low, &high);
        if ((high - low) / 2 <= s->options->precision)
            break;
        result = look(s, rung, decide_next_trials(rung->paired.trials, (high - low) / 2, s->options->precision, s->most));
    }
    return result;
}

static int first_that_meets(const struct sizing *s)
{
    for (int v = 0; v < s->n; v++)
        if (s->rung[v].state == DECIDE_MEETS)
            return v;
    return -1;
}

/* Every rung once; then more trials for those that are undecided and cheaper than the cheapest that meets the risk. */
static enum base_result run_all(struct sizing *s)
{
    int64_t trials = s->rung[0].variant->loaded.scenario->trials, first = s->n > FEW_RUNGS ? trials / 10 + 1 : trials;
    enum base_result result = BASE_OK;
    first = first < s->most ? first : s->most;
    for (int v = 0; v < s->n && result == BASE_OK; v++)
        result = look_precisely(s, &s->rung[v], first);
    for (bool more = true; more && result == BASE_OK;) {
        int until = first_that_meets(s);
        more = false;
        for (int v = 0; v < (until < 0 ? s->n : until) && result == BASE_OK; v++) {
            struct rung *rung = &s->rung[v];
            if (rung->state != DECIDE_UNDECIDED || rung->paired.trials >= s->most)
                continue;
            int64_t next = 2 * rung->paired.trials;
            result = look(s, rung, next < s->most ? next : s->most);
            more = true;
        }
    }
    s->answer = first_that_meets(s);
    return result;
}

/* ---- the answer ----------------------------------------------------------------------------------------------------- */

static const struct report_column rung_columns[] = {
    { "settings", "string", NULL, "the combination", NULL },
    { "cost", "number", NULL, "bed area, hours or money of all plantings; without --cost the place in the range", NULL },
    { "chance", "number", "share", "chance of running short, of the worst judged food year", NULL },
    { "low", "number", "share", "exact lower bound", NULL },
    { "high", "number", "share", "exact upper bound; both hold for all rungs together at the confidence asked for", NULL },
    { "verdict", "string", NULL, "meets the risk, does not, or not told apart from it", NULL },
    { "trials", "integer", NULL, "trials of this rung", NULL },
};
static const struct report_column size_columns[] = {
    { "risk", "number", "share", "allowed chance of running short", NULL },
    { "settings", "string", NULL, "the cheapest combination whose upper bound is at or under the risk; empty: none on the grid", NULL },
    { "cost", "number", NULL, "its cost", NULL },
    { "chance", "number", "share", "its chance", NULL },
    { "high", "number", "share", "its upper bound", NULL },
};

static const char *verdict_words(enum decide_size state)
{
    return state == DECIDE_MEETS ? "meets the risk" : state == DECIDE_FAILS ? "does not" : "not told apart";
}

static double chance_of(const struct rung *rung) { return (double)rung->k / (double)rung->paired.trials; }

static double upper_of(const struct sizing *s, const struct rung *rung)
{
    return decide_upper_bound(rung->k, rung->paired.trials, decide_spend(s->alpha, rung->look));
}

static double lower_of(const struct sizing *s, const struct rung *rung)
{
    return decide_lower_bound(rung->k, rung->paired.trials, decide_spend(s->alpha, rung->look));
}

static void settings_text(const struct sizing *s, const struct rung *rung, char text[512])
{
    int at = 0;
    text[0] = '\0';
    for (int r = 0; r < s->ranges && at < 500; r++)
        at += snprintf(text + at, (size_t)(512 - at), "%s%s=%s", r > 0 ? "; " : "", s->range[r].path, s->range[r].value[rung->at[r]]);
}

static void fill_rungs(struct report_csv *csv, const void *context)
{
    const struct sizing *s = context;
    for (int v = 0; v < s->n; v++) {
        const struct rung *rung = &s->rung[v];
        char text[512];
        settings_text(s, rung, text);
        report_csv_text(csv, text);
        report_csv_number(csv, rung->cost);
        report_csv_number(csv, chance_of(rung));
        report_csv_number(csv, lower_of(s, rung));
        report_csv_number(csv, upper_of(s, rung));
        report_csv_text(csv, verdict_words(rung->state));
        report_csv_whole(csv, rung->paired.trials);
        report_csv_end(csv);
    }
}

static const struct rung *cheapest_for(const struct sizing *s, double risk)
{
    for (int v = 0; v < s->n; v++)
        if (upper_of(s, &s->rung[v]) <= risk)
            return &s->rung[v];
    return NULL;
}

static void fill_risks(struct report_csv *csv, const void *context)
{
    const struct sizing *s = context;
    for (size_t i = 0; i < sizeof RISKS / sizeof RISKS[0]; i++) {
        const struct rung *rung = cheapest_for(s, RISKS[i]);
        char text[512] = "";
        if (rung)
            settings_text(s, rung, text);
        report_csv_number(csv, RISKS[i]);
        report_csv_text(csv, text);
        report_csv_number(csv, rung ? rung->cost : NAN);
        report_csv_number(csv, rung ? chance_of(rung) : NAN);
        report_csv_number(csv, rung ? upper_of(s, rung) : NAN);
        report_csv_end(csv);
    }
}

static void tell_open(const struct sizing *s)
{
    int until = s->answer < 0 ? s->n : s->answer;
    for (int v = 0; v < until; v++) {
        const struct rung *rung = &s->rung[v];
        char text[512];
        if (rung->state != DECIDE_UNDECIDED)
            continue;
        settings_text(s, rung, text);
        printf("  %s is not told apart from the risk even after %lld trials: %.2f %% (%.2f to %.2f)\n", text,
               (long long)rung->paired.trials, 100 * chance_of(rung), 100 * lower_of(s, rung), 100 * upper_of(s, rung));
    }
}

static void tell_answer(const struct sizing *s)
{
    char text[512];
    int best = 0;
    for (int v = 1; v < s->n; v++)
        best = chance_of(&s->rung[v]) < chance_of(&s->rung[best]) ? v : best;
    if (s->answer < 0) {
        settings_text(s, &s->rung[best], text);
        printf("No setting on this grid is shown to keep the chance of running short at or under %g %%.\n"
               "  The lowest is %.2f %% with %s.\n", 100 * s->options->risk, 100 * chance_of(&s->rung[best]), text);
        return;
    }
    const struct rung *rung = &s->rung[s->answer];
    settings_text(s, rung, text);
    printf("%s%s\n  keeps the chance of running short at or under %g %%: it is %.2f %%, and at most %.2f %% with %g %% confidence.\n",
           s->answer == 0 ? "Even the smallest on this grid will do: " : "Enough: ", text, 100 * s->options->risk,
           100 * chance_of(rung), 100 * upper_of(s, rung), 100 * s->options->confidence);
    if (s->options->cost)
        printf("  It costs %g (%s).\n", rung->cost, s->options->cost);
}

static void tell_risks(const struct sizing *s)
{
    printf("\nWhat a lower risk costs (cheapest on this grid, with the same confidence)\n");
    for (size_t i = 0; i < sizeof RISKS / sizeof RISKS[0]; i++) {
        const struct rung *rung = cheapest_for(s, RISKS[i]);
        char text[512] = "none on this grid";
        if (rung)
            settings_text(s, rung, text);
        printf("  %4g %%  %s", 100 * RISKS[i], text);
        if (rung && s->options->cost)
            printf("  (%g %s)", rung->cost, s->options->cost);
        putchar('\n');
    }
}

enum base_result command_size(const struct command_options *options)
{
    struct base_arena arena = { 0 };
    struct sizing s = { .options = options, .arena = &arena };
    enum base_result result = prepare(&s);
    if (result == BASE_OK)
        result = run_all(&s);
    if (result == BASE_OK) {
        struct command_table_file tables[2] = {
            { "size.csv", "What each lower risk costs", size_columns, (int)(sizeof size_columns / sizeof size_columns[0]),
              fill_risks, &s },
            { "rungs.csv", "Every combination of the grid", rung_columns, (int)(sizeof rung_columns / sizeof rung_columns[0]),
              fill_rungs, &s },
        };
        result = command_write_tables(&arena, options, "size", &s.rung[0].variant->loaded, s.rung[0].paired.trials, tables, 2, NULL);
    }
    if (result == BASE_OK && !options->quiet) {
        tell_answer(&s);
        tell_open(&s);
        tell_risks(&s);
        report_cautions(stdout);
    }
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    base_arena_free(&arena);
    return command_end_output(result);
}
