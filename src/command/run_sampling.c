/* run_sampling.c: where trials share words out, how much surer they make the figures than as many independent trials would, and
 * how much surer they could at the most.
 *
 * What the shared words do not decide is drawn by each trial on its own and averages out as ever. So the variance of a mean cannot
 * fall below the share 1 - S of what independent trials have, S being the closed index of the shared words together (Sobol 1993,
 * Mathematical Modelling and Computational Experiment 1:407-414): no gain exceeds 1 / (1 - S). S is found by pick-freeze, from
 * pairs of trials of their own that have the shared words in common and nothing else. */
#include "command/run.h"

#include <math.h>
#include <string.h>

#include "decide/sobol.h"
#include "engine/engine.h"

enum { PAIRS = 4096, FEWEST_TRIALS = 2 * CHANCE_REPLICATES };
static const uint64_t SEED = 0x7061697273u, SALT = 0x70; /* of the pairs: no random seed changes the bound */

struct command_sampling {
    struct plan *plan, *other;          /* the same shared words, all else other */
    struct plan_points points;
    struct decide_list list;
    struct decide_sobol *pairs;         /* [list.n] */
};

enum base_result command_sampling_allowed(const struct command_run *run)
{
    const struct plan *plan = run->loaded.plan;
    const char *sampling = run->loaded.scenario->sampling == SCENARIO_SOBOL ? "sobol" : "antithetic";
    if (!plan->points)
        return BASE_OK;
    if (run->options->precision > 0)
        return command_refuse("--precision weighs trials as independent ones, and these are not (sampling = \"%s\"); say how many "
                              "with --trials, or --set sampling=independent", sampling);
    if (run->trials < FEWEST_TRIALS)
        return command_refuse("sampling = \"%s\" wants at least %d trials, two in each of %d replicates (got %lld)", sampling,
                              (int)FEWEST_TRIALS, (int)CHANCE_REPLICATES, (long long)run->trials);
    return BASE_OK;
}

enum base_result command_wants_independent(const struct scenario *scenario)
{
    if (scenario->sampling == SCENARIO_INDEPENDENT)
        return BASE_OK;
    return command_refuse("sampling is for run; this command weighs trials as independent ones: --set sampling=independent");
}

/* ---- the pairs --------------------------------------------------------------------------------------- */

/* What is judged: the chance of running short and the mean meals short, of each food in each food year. */
static bool list_items(struct base_arena *arena, int years, struct decide_list *list)
{
    const int measures[] = { tally_find_measure("chance_short"), tally_find_measure("meals_short") };
    list->item = base_arena_array(arena, (size_t)(years + 1) * 2 * FUTURE_FOODS, sizeof *list->item);
    for (int year = years > 1 ? TALLY_ALL_YEARS : 0; list->item && year < years; year++)
        for (int m = 0; m < (year == TALLY_ALL_YEARS ? 1 : 2); m++)
            for (int food = 0; food < FUTURE_FOODS; food++)
                list->item[list->n++] = (struct decide_item){ year, measures[m], food };
    return list->item != NULL;
}

static bool make_pairs(struct base_arena *arena, const struct decide_list *list, struct decide_sobol **pairs)
{
    bool good = (*pairs = base_arena_array(arena, (size_t)list->n, sizeof **pairs)) != NULL;
    for (int i = 0; good && i < list->n; i++)
        good = decide_sobol_make(arena, 1, &(*pairs)[i]);
    return good;
}

static struct command_sampling *make_sampling(struct base_arena *arena, const struct plan *plan)
{
    struct command_sampling *s = base_arena_take(arena, sizeof *s);
    struct plan own = *plan;
    if (!s)
        return NULL;
    s->points = *plan->points;
    s->points.sampling = SCENARIO_INDEPENDENT;
    s->points.random_seed = SEED;
    own.points = &s->points;
    s->plan = plan_salted(arena, &own, 0, -1, SALT);
    s->other = plan_salted(arena, &own, ~0u, -1, SALT);
    return s->plan && s->other && list_items(arena, plan->scenario->food_years, &s->list)
           && make_pairs(arena, &s->list, &s->pairs) ? s : NULL;
}

struct own { struct base_arena arena; struct future_trial *trial; struct decide_sobol *pairs; double *value[2]; };

static void *begin_own(void *context)
{
    const struct command_sampling *s = context;
    struct own *own = base_alloc(sizeof *own);
    if (!own)
        return NULL;
    own->trial = future_room(&own->arena, s->plan);
    for (int k = 0; k < 2; k++)
        own->value[k] = base_arena_array(&own->arena, (size_t)s->list.n * PLAN_ABREAST, sizeof *own->value[k]);
    if (own->trial && own->value[0] && own->value[1] && make_pairs(&own->arena, &s->list, &own->pairs))
        return own;
    base_arena_free(&own->arena);
    base_free(own);
    return NULL;
}

static void run_pairs(void *context, void *thread, uint64_t first, int n)
{
    const struct command_sampling *s = context;
    struct own *own = thread;
    for (int k = 0; k < 2; k++) {
        const struct plan *plan = k ? s->other : s->plan;
        decide_values(&s->list, plan, future_run_block(plan, own->trial, SEED, first, n), own->value[k]);
    }
    for (int t = 0; t < n; t++)
        for (int i = 0; i < s->list.n; i++) {
            double a = own->value[0][i * PLAN_ABREAST + t], b = own->value[1][i * PLAN_ABREAST + t];
            decide_sobol_add(&own->pairs[i], first + (uint64_t)t, PAIRS, a, b, &a);
        }
}

static void end_own(void *context, void *thread)
{
    struct command_sampling *s = context;
    struct own *own = thread;
    for (int i = 0; i < s->list.n; i++)
        decide_sobol_merge(&s->pairs[i], &own->pairs[i]);
    base_arena_free(&own->arena);
    base_free(own);
}

enum base_result command_sampling_measure(struct command_run *run)
{
    if (!run->loaded.plan->points)
        return BASE_OK;
    run->sampling = make_sampling(run->arena, run->loaded.plan);
    struct engine_work work = { .trials = PAIRS, .threads = run->options->threads, .shows_progress = !run->options->quiet,
                                .doing = "the bound of sampling", .together = PLAN_ABREAST, .whole = run->sampling,
                                .begin = begin_own, .run = run_pairs, .end = end_own };
    return run->sampling ? engine_run(&work) : BASE_FAILED;
}

/* ---- what came of it --------------------------------------------------------------------------------- */

/* The most that sharing words out can gain; infinite when all hangs on them. False where nothing varies. */
static bool bound_of(const struct command_sampling *s, int i, struct decide_index *bound)
{
    struct decide_index closed = decide_sobol_first(&s->pairs[i], 0);
    bound->value = 1 / (1 - closed.value);
    bound->low = closed.low > 0 ? 1 / (1 - closed.low) : 1;
    bound->high = closed.high < 1 ? 1 / (1 - closed.high) : HUGE_VAL;
    return decide_sobol_variance(&s->pairs[i]) > 0;
}

static const struct report_column columns[] = {
    { "scenario", "string", NULL, "name of the scenario", NULL },
    { "food_year", "string", NULL, "food year, counted from 1; all: any of them", NULL },
    { "food", "string", NULL, "beans, squash, or any of the two", NULL },
    { "measure", "string", NULL, "what is measured", NULL },
    { "gain", "number", NULL, "variance of as many independent trials over the variance by the replicates; empty: too few trials "
      "to say", NULL },
    { "gain_low", "number", NULL, "lower end of the 95 % interval", NULL },
    { "gain_high", "number", NULL, "upper end", NULL },
    { "bound", "number", NULL, "1 / (1 - closed index of the draws that are shared out): no gain is greater; empty: nothing varies, "
      "or all hangs on them", NULL },
    { "bound_low", "number", NULL, "lower end of the 95 % interval (jackknife)", NULL },
    { "bound_high", "number", NULL, "upper end", NULL },
    { "share_of_bound", "number", "share", "gain over bound; by chance it may exceed 1", NULL },
    { "trials", "integer", NULL, "trials that the gain comes from", NULL },
    { "replicates", "integer", NULL, "replicates that they make", NULL },
    { "pairs", "integer", NULL, "pairs of trials that the bound comes from", NULL },
};

static void write_row(struct report_csv *csv, const struct command_run *run, int i)
{
    const struct decide_item *item = &run->sampling->list.item[i];
    struct tally_figure figure;
    struct decide_index bound;
    char year[16];
    tally_figure(run->tally, item->year, item->food, item->measure, -1, &figure);
    bool varies = bound_of(run->sampling, i, &bound);
    snprintf(year, sizeof year, "%d", item->year + 1);
    report_csv_text(csv, run->loaded.scenario->name);
    report_csv_text(csv, item->year == TALLY_ALL_YEARS ? "all" : year);
    report_csv_text(csv, report_food_name(item->food));
    report_csv_text(csv, tally_measures[item->measure].name);
    report_csv_number(csv, figure.has_gain ? figure.gain : NAN);
    report_csv_number(csv, figure.has_gain ? figure.gain_low : NAN);
    report_csv_number(csv, figure.has_gain ? figure.gain_high : NAN);
    report_csv_number(csv, varies ? bound.value : NAN);
    report_csv_number(csv, varies ? bound.low : NAN);
    report_csv_number(csv, varies ? bound.high : NAN);
    report_csv_number(csv, figure.has_gain && varies ? figure.gain / bound.value : NAN);
    report_csv_whole(csv, figure.trials);
    report_csv_whole(csv, CHANCE_REPLICATES);
    report_csv_whole(csv, PAIRS);
    report_csv_end(csv);
}

struct report_table command_sampling_table(const struct command_run *run, struct report_output *output)
{
    bool comma = run->options->decimal_comma;
    struct report_file *file = report_output_file(output, "sampling.csv");
    struct report_csv csv = report_csv_begin(file, comma);
    int n = (int)(sizeof columns / sizeof columns[0]);
    report_csv_header(&csv, columns, n);
    for (int i = 0; i < run->sampling->list.n; i++)
        write_row(&csv, run, i);
    return (struct report_table){ file, "What sampling gains over independent trials", columns, n, comma };
}

/* One figure's gain in words; nothing where it is not known. */
static void tell_gain(const struct command_run *run, int i, const char *what)
{
    struct tally_figure figure;
    struct decide_index bound;
    const struct decide_item *item = &run->sampling->list.item[i];
    if (!tally_figure(run->tally, item->year, item->food, item->measure, -1, &figure) || !figure.has_gain
        || !bound_of(run->sampling, i, &bound))
        return;
    printf("  %-40s %5.1f times as many independent trials (%.1f to %.1f); at the most %.1f\n", what, figure.gain, figure.gain_low,
           figure.gain_high, bound.value);
}

void command_sampling_tell(const struct command_run *run)
{
    int measure = tally_find_measure("chance_short"), worst = 0;
    double most = -1;
    for (int i = 0; i < run->sampling->list.n; i++) {
        const struct decide_item *item = &run->sampling->list.item[i];
        struct tally_figure figure;
        if (item->measure != measure || item->food != FUTURE_ANY || item->year == TALLY_ALL_YEARS)
            continue;
        tally_figure(run->tally, item->year, item->food, item->measure, -1, &figure);
        if (figure.value > most) {
            most = figure.value;
            worst = i;
        }
    }
    printf("\nSampling (%s, %d replicates) makes these as sure as\n",
           run->loaded.scenario->sampling == SCENARIO_SOBOL ? "sobol" : "antithetic", (int)CHANCE_REPLICATES);
    tell_gain(run, worst, "the chance of running short of either");
    tell_gain(run, worst + FUTURE_FOODS, "the meals missing on average");
}
