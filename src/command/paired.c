/* paired.c: trials of several scenarios side by side, each trial number with the same luck in all of them. */
#include "command/command.h"

#include <string.h>

#include "engine/engine.h"

enum base_result command_paired_make(struct base_arena *arena, const struct command_variant *variant, const int *against,
                                     int n, const struct decide_list *list, struct command_paired *paired)
{
    *paired = (struct command_paired){ .n = n, .variant = variant, .against = against, .list = list };
    paired->sums = base_arena_array(arena, (size_t)n, sizeof *paired->sums);
    paired->pairs = base_arena_array(arena, (size_t)n, sizeof *paired->pairs);
    bool good = paired->sums && paired->pairs;
    for (int v = 0; good && v < n; v++)
        good = decide_sums_make(arena, list, &paired->sums[v]) && decide_pairs_make(arena, list, &paired->pairs[v]);
    return good ? BASE_OK : BASE_FAILED;
}

/* One thread's: workspaces, this block's values, sums of its own. */
struct own { struct base_arena arena; struct future_trial **trial; const struct future_block **block; double **value;
             struct command_paired sums; };

static void *begin_own(void *context)
{
    const struct command_paired *whole = context;
    struct own *own = base_alloc(sizeof *own);
    if (!own)
        return NULL;
    size_t n = (size_t)whole->n;
    own->trial = base_arena_array(&own->arena, n, sizeof *own->trial);
    own->block = base_arena_array(&own->arena, n, sizeof *own->block);
    own->value = base_arena_array(&own->arena, n, sizeof *own->value);
    bool good = own->trial && own->block && own->value
                && command_paired_make(&own->arena, whole->variant, whole->against, whole->n, whole->list, &own->sums) == BASE_OK;
    for (size_t v = 0; good && v < n; v++) {
        const struct plan *plan = whole->variant[v].loaded.plan;
        own->trial[v] = future_room(&own->arena, plan);
        own->value[v] = base_arena_array(&own->arena, (size_t)whole->list->n * PLAN_ABREAST, sizeof **own->value);
        good = own->trial[v] && own->value[v]
               && (v == 0 || future_share(&own->arena, whole->variant[0].loaded.plan, own->trial[0], plan, own->trial[v]));
    }
    if (good)
        return own;
    base_arena_free(&own->arena);
    base_free(own);
    return NULL;
}

/* A block of trials of every scenario is counted. */
static void add_block(const struct command_paired *whole, struct own *own)
{
    for (int v = 0; v < whole->n; v++) {
        decide_values(whole->list, whole->variant[v].loaded.plan, own->block[v], own->value[v]);
        decide_add(whole->list, &own->sums.sums[v], own->value[v]);
        if (whole->against[v] >= 0)
            decide_add_pair(whole->list, &own->sums.pairs[v], own->value[whole->against[v]], own->value[v]);
    }
}

static void run_trials(void *context, void *thread, uint64_t first, int n)
{
    const struct command_paired *whole = context;
    struct own *own = thread;
    for (int v = 0; v < whole->n; v++) {
        const struct plan *plan = whole->variant[v].loaded.plan;
        own->block[v] = future_run_block(plan, own->trial[v], (uint64_t)plan->scenario->random_seed, first, n);
    }
    add_block(whole, own);
}

static void end_own(void *context, void *thread)
{
    struct command_paired *whole = context;
    struct own *own = thread;
    for (int v = 0; v < whole->n; v++) {
        decide_sums_merge(whole->list, &whole->sums[v], &own->sums.sums[v]);
        decide_pairs_merge(whole->list, &whole->pairs[v], &own->sums.pairs[v]);
    }
    base_arena_free(&own->arena);
    base_free(own);
}

enum base_result command_paired_run(struct command_paired *paired, const struct command_options *options, int64_t until,
                                    const char *doing)
{
    if (until <= paired->trials)
        return BASE_OK;
    struct engine_work work = { .first = (uint64_t)paired->trials, .trials = (uint64_t)(until - paired->trials),
                                .threads = options->threads, .shows_progress = !options->quiet, .doing = doing,
                                .whole = paired, .begin = begin_own, .run = run_trials, .together = PLAN_ABREAST,
                                .end = end_own };
    enum base_result result = engine_run(&work);
    if (result == BASE_OK)
        paired->trials = until;
    else
        fputs(result == BASE_INTERRUPTED ? "tideover: interrupted; nothing was written\n" : "tideover: memory ran out\n", stderr);
    return result;
}

static int food_named(const char *name)
{
    for (int food = 0; food < FUTURE_FOODS; food++)
        if (strcmp(name, report_food_name(food)) == 0)
            return food;
    return -1;
}

/* The food year in which the base's measure is worst. */
static int worst_year(const struct command_paired *paired, int measure, int food)
{
    int years = paired->variant[0].loaded.scenario->food_years, worst = 0;
    double most = 0;
    for (int year = 0; year < years; year++) {
        int i = decide_find(paired->list, year, measure, food);
        double value = i < 0 ? 0 : tally_sum_mean(&paired->sums[0].sum[i], paired->trials);
        double bad = decide_better(&paired->list->item[i < 0 ? 0 : i]) > 0 ? -value : value;
        if (year == 0 || bad > most) {
            most = bad;
            worst = year;
        }
    }
    return worst;
}

static enum base_result refuse_measure(const char *name)
{
    fputs("tideover: --measure ", stderr);
    base_print_plain(name, stderr);
    fputs(": there is none of this name with a mean; there are", stderr);
    for (int m = 0; m < tally_measures_n; m++)
        if (tally_measures[m].has_mean)
            fprintf(stderr, " %s", tally_measures[m].name);
    fputc('\n', stderr);
    return BASE_WRONG;
}

enum base_result command_judged(const struct command_options *options, const struct command_paired *paired, int *item)
{
    int measure = tally_find_measure(options->measure ? options->measure : "chance_short");
    int food = options->food ? food_named(options->food) : FUTURE_ANY;
    int years = paired->variant[0].loaded.scenario->food_years;
    if (measure < 0 || !tally_measures[measure].has_mean)
        return refuse_measure(options->measure);
    if (food < 0)
        return command_refuse("--food is beans, squash or any (got \"%s\")", options->food);
    if (!(tally_measures[measure].foods >> food & 1))
        return command_refuse("%s is not measured for %s; name another with --food", tally_measures[measure].name,
                              report_food_name(food));
    if (options->food_year > years)
        return command_refuse("--food-year %d: there are only %d", options->food_year, years);
    int year = options->food_year > 0 ? options->food_year - 1 : worst_year(paired, measure, food);
    *item = decide_find(paired->list, year, measure, food);
    return BASE_OK;
}

void command_item_name(const struct decide_list *list, int item, int years, char text[96])
{
    const struct decide_item *of = &list->item[item];
    if (years > 1 && of->year != TALLY_ALL_YEARS)
        snprintf(text, 96, "%s of %s in food year %d", tally_measures[of->measure].name, report_food_name(of->food), of->year + 1);
    else
        snprintf(text, 96, "%s of %s", tally_measures[of->measure].name, report_food_name(of->food));
}
