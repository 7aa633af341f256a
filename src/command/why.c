/* why.c: tideover why: is it the weather, the harvest or the rot that decides? */
#include "command/command.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "decide/sobol.h"
#include "engine/engine.h"

enum { DEFAULT_TRIALS = 20000, OUTCOMES = 2, MOST_MIB = 1024 };
static const uint64_t SALT_B = 0x62; /* luck B: any salt but 0 */

#define BIT(purpose) (1u << (purpose))

/* Draws that belong together, and what a trial's luck in them is called good by. */
enum kind { WEATHER, YIELD, YEAR, RIPENING, KEEPING, SORTING, JARS, GUESTS, SHELF };
struct group { enum kind kind; int planting, crop; char name[96]; };

struct inquiry {
    const struct command_options *options;
    struct base_arena *arena;
    struct command_loaded loaded;
    int groups_n, year;
    struct group *group;
    const struct plan *b;                   /* all draws other */
    const struct plan **ab;                 /* [groups] the group's draws other */
    struct decide_sobol sobol[OUTCOMES];    /* meals short, short or not */
    uint64_t trials;
    float *luck;                            /* [groups * trials] how well each group did in the trial (under A) */
    uint8_t *fell_short;                    /* [trials] */
};

/* ---- groups -------------------------------------------------------------------------------------------------- */

static void add_group(struct inquiry *q, enum kind kind, int planting, int crop, const char *what, const char *of)
{
    struct group *group = &q->group[q->groups_n++];
    *group = (struct group){ .kind = kind, .planting = planting, .crop = crop };
    snprintf(group->name, sizeof group->name, of ? "%s of %s" : "%s", what, of);
}

static void list_planting(struct inquiry *q, int p)
{
    const struct plan_planting *planting = &q->loaded.plan->plantings[p];
    const char *name = planting->planting->name;
    add_group(q, YIELD, p, -1, "yield", name);
    if (planting->crop->kind == SCENARIO_KIND_BEANS) {
        add_group(q, SORTING, p, -1, "sorting", name);
        return;
    }
    add_group(q, RIPENING, p, -1, "ripening", name);
    add_group(q, KEEPING, p, -1, "keeping", name);
}

static bool list_groups(struct inquiry *q)
{
    const struct plan *plan = q->loaded.plan;
    q->group = base_arena_array(q->arena, (size_t)(3 * plan->plantings_n + plan->crops_n + 4), sizeof *q->group);
    if (!q->group)
        return false;
    add_group(q, WEATHER, -1, -1, "weather", NULL);
    for (int c = 0; c < plan->crops_n; c++)
        if (plan->crops[c].year_factor->kind != CHANCE_CONSTANT)
            add_group(q, YEAR, -1, c, "the year's yield", plan->crops[c].name);
    for (int p = 0; p < plan->plantings_n; p++)
        list_planting(q, p);
    if (plan->jar_keeps_weeks)
        add_group(q, JARS, -1, -1, "jars that fail", NULL);
    if (plan->scenario->household.guests_chance > 0)
        add_group(q, GUESTS, -1, -1, "guests", NULL);
    if (plan->shelf_fruits_n + plan->shelf_jars_n > 0)
        add_group(q, SHELF, -1, -1, "keeping of what is on the shelf", NULL);
    return true;
}

static unsigned purposes_of(enum kind kind)
{
    static const unsigned purposes[] = {
        [WEATHER] = BIT(PLAN_WEATHER), [YIELD] = BIT(PLAN_YIELD) | BIT(PLAN_FIELD), [YEAR] = 0,
        [RIPENING] = BIT(PLAN_RIPENING), [KEEPING] = BIT(PLAN_KEEPING), [SORTING] = BIT(PLAN_SORTING), [JARS] = BIT(PLAN_JARS),
        [GUESTS] = BIT(PLAN_GUESTS), [SHELF] = BIT(PLAN_SHELF),
    };
    return purposes[kind];
}

static bool make_plans(struct inquiry *q)
{
    const struct plan *plan = q->loaded.plan;
    q->ab = base_arena_array(q->arena, (size_t)q->groups_n, sizeof *q->ab);
    q->b = plan_salted(q->arena, plan, ~0u, -1, SALT_B);
    for (int g = 0; q->ab && g < q->groups_n; g++) {
        struct plan *other = plan_salted(q->arena, plan, purposes_of(q->group[g].kind), q->group[g].planting, SALT_B);
        if (other && q->group[g].kind == YEAR)
            plan_salt_year(other, q->group[g].crop, SALT_B);
        q->ab[g] = other;
        if (!other)
            return false;
    }
    return q->ab && q->b;
}

/* ---- trials ------------------------------------------------------------------------------------------------------ */

struct own { struct base_arena arena; struct inquiry *whole; struct future_trial *trial, *watched; struct decide_sobol sobol[OUTCOMES];
             double *value[OUTCOMES]; double *luck; };

/* How well a planting's harvest did in what a group stands for: more is better. */
static double goodness(const struct group *group, const struct future_season *season)
{
    const struct harvest *harvest = group->planting >= 0 ? &season->harvest[group->planting] : NULL;
    double ripe = 0, life = 0;
    switch (group->kind) {
    case WEATHER: return season->weather->score;
    case YIELD: return harvest->grown_kg;
    case SORTING: return -harvest->sorted_out;
    case RIPENING:
    case KEEPING:
        for (int f = 0; f < harvest->n; f++) {
            ripe += harvest->cure[f] != SCENARIO_UNRIPE;
            life += harvest->life_weeks[f];
        }
        return harvest->n == 0 ? 0 : group->kind == RIPENING ? ripe / harvest->n : life / harvest->n;
    default: return 0;
    }
}

static double grown_of_crop(const struct plan *plan, const struct future_season *season, int crop)
{
    double kg = 0;
    for (int p = 0; p < plan->plantings_n; p++)
        kg += plan->plantings[p].crop_index == crop ? season->harvest[p].grown_kg : 0;
    return kg;
}

static void watch(void *context, const struct plan *plan, const struct future_season *season)
{
    struct own *own = context;
    struct inquiry *q = own->whole;
    if (season->season != q->year)
        return;
    for (int g = 0; g < q->groups_n; g++)
        own->luck[g] = q->group[g].kind == YEAR ? grown_of_crop(plan, season, q->group[g].crop) : goodness(&q->group[g], season);
}

static double share_lost(const struct store_books *books)
{
    double came = books->opening + books->in;
    return came > 0 ? books->lost / came : 0;
}

/* What only the ledger knows: jars that failed, guests at table, what the shelf lost. */
static void look_at_ledger(struct own *own, const struct future_ledger *ledger)
{
    const struct future_year *year = &ledger->year[own->whole->year];
    double wanted = 0;
    for (int w = year->first_week; w < year->first_week + year->weeks; w++)
        wanted += ledger->at.wanted_kg[0][w * PLAN_ABREAST] + ledger->at.wanted_kg[1][w * PLAN_ABREAST];
    for (int g = 0; g < own->whole->groups_n; g++) {
        enum kind kind = own->whole->group[g].kind;
        if (kind == JARS)
            own->luck[g] = -share_lost(&year->books[SCENARIO_BEANS]);
        else if (kind == GUESTS)
            own->luck[g] = -wanted;
        else if (kind == SHELF)
            own->luck[g] = -share_lost(&year->books[SCENARIO_BEANS]) - share_lost(&year->books[SCENARIO_SQUASH]);
    }
}

static void outcome(const struct inquiry *q, const struct future_ledger *ledger, double value[OUTCOMES])
{
    value[0] = ledger->year[q->year].meals_short[FUTURE_ANY];
    value[1] = ledger->year[q->year].short_weeks[FUTURE_ANY] > 0;
}

static void *begin_own(void *context)
{
    struct inquiry *q = context;
    struct own *own = base_alloc(sizeof *own);
    if (!own)
        return NULL;
    size_t n = (size_t)q->groups_n;
    own->whole = q;
    own->trial = future_room(&own->arena, q->loaded.plan);
    own->watched = future_room(&own->arena, q->loaded.plan);
    own->luck = base_arena_array(&own->arena, n, sizeof *own->luck);
    bool good = own->trial && own->watched && own->luck;
    for (int o = 0; o < OUTCOMES; o++) {
        own->value[o] = base_arena_array(&own->arena, n, sizeof **own->value);
        good = good && own->value[o] && decide_sobol_make(&own->arena, q->groups_n, &own->sobol[o]);
    }
    if (good) {
        future_set_watch(own->watched, watch, own);
        return own;
    }
    base_arena_free(&own->arena);
    base_free(own);
    return NULL;
}

static void run_trial(void *context, void *thread, uint64_t number, int n)
{
    (void)n;                                /* one: what a trial's seasons are like is watched */
    struct inquiry *q = context;
    struct own *own = thread;
    uint64_t seed = (uint64_t)q->loaded.scenario->random_seed;
    double a[OUTCOMES], b[OUTCOMES], ab[OUTCOMES];
    const struct future_ledger *ledger = future_run(q->loaded.plan, own->watched, seed, number);
    outcome(q, ledger, a);
    look_at_ledger(own, ledger);
    for (int g = 0; g < q->groups_n; g++)
        q->luck[(size_t)g * q->trials + number] = (float)own->luck[g];
    q->fell_short[number] = a[1] > 0;
    outcome(q, future_run(q->b, own->trial, seed, number), b);
    for (int g = 0; g < q->groups_n; g++) {
        outcome(q, future_run(q->ab[g], own->trial, seed, number), ab);
        for (int o = 0; o < OUTCOMES; o++)
            own->value[o][g] = ab[o];
    }
    for (int o = 0; o < OUTCOMES; o++)
        decide_sobol_add(&own->sobol[o], number, q->trials, a[o], b[o], own->value[o]);
}

static void end_own(void *context, void *thread)
{
    struct inquiry *q = context;
    struct own *own = thread;
    for (int o = 0; o < OUTCOMES; o++)
        decide_sobol_merge(&q->sobol[o], &own->sobol[o]);
    base_arena_free(&own->arena);
    base_free(own);
}

static enum base_result prepare(struct inquiry *q)
{
    const struct command_options *options = q->options;
    if (options->args_n != 1)
        return command_refuse("why wants one scenario file; see tideover --help");
    enum base_result result = command_load(q->arena, options, options->args[0], NULL, 0, &q->loaded);
    if (result == BASE_OK)
        result = command_wants_independent(q->loaded.scenario);
    if (result != BASE_OK)
        return result;
    if (options->food_year > q->loaded.scenario->food_years)
        return command_refuse("--food-year %d: there are only %d", options->food_year, q->loaded.scenario->food_years);
    q->year = options->food_year > 0 ? options->food_year - 1 : 0;
    q->trials = DEFAULT_TRIALS;
    for (int s = 0; s < options->sets_n; s++)
        if (strncmp(options->sets[s], "trials=", 7) == 0)
            q->trials = (uint64_t)q->loaded.scenario->trials;
    if (!list_groups(q))
        return BASE_FAILED;
    double mib = (double)q->trials * (q->groups_n * (double)sizeof *q->luck + 1) / 1048576.0;
    if (mib > MOST_MIB)
        return command_refuse("--trials %llu: the luck of %d groups in so many trials would need about %.0f MiB of memory (allowed: "
                              "%d MiB)", (unsigned long long)q->trials, q->groups_n, mib, (int)MOST_MIB);
    if (!make_plans(q))
        return BASE_FAILED;
    q->luck = base_arena_array(q->arena, (size_t)q->groups_n * q->trials, sizeof *q->luck);
    q->fell_short = base_arena_array(q->arena, q->trials, 1);
    bool good = q->luck && q->fell_short;
    for (int o = 0; o < OUTCOMES; o++)
        good = good && decide_sobol_make(q->arena, q->groups_n, &q->sobol[o]);
    return good ? BASE_OK : BASE_FAILED;
}

/* ---- the answer ----------------------------------------------------------------------------------------------------- */

static const struct report_column columns[] = {
    { "group", "string", NULL, "draws that belong together", NULL },
    { "outcome", "string", NULL, "meals_short, or short (at least one short week)", NULL },
    { "first_order", "number", "share", "share of the outcome's variance that the group decides alone", NULL },
    { "first_low", "number", "share", "lower end of the 95 % interval", NULL },
    { "first_high", "number", "share", "upper end", NULL },
    { "total", "number", "share", "share that would remain if only this group were not known", NULL },
    { "total_low", "number", "share", "lower end of the 95 % interval", NULL },
    { "total_high", "number", "share", "upper end", NULL },
    { "chance_worst_tenth", "number", "share", "chance of running short in the tenth of trials in which the group did worst", NULL },
    { "chance_best_tenth", "number", "share", "the same in the tenth in which it did best", NULL },
    { "note", "string", NULL, "what the interval does not tell", NULL },
    { "trials", "integer", NULL, "trials; each is run once for each group and twice more", NULL },
};

struct placed { float luck; uint32_t trial; };

static int by_luck(const void *a, const void *b)
{
    const struct placed *x = a, *y = b;
    if (x->luck != y->luck)
        return x->luck < y->luck ? -1 : 1;
    return (x->trial > y->trial) - (x->trial < y->trial);
}

struct finding { int group; double worst, best; struct decide_index total[OUTCOMES], first[OUTCOMES]; };

/* Chance of running short in the worst and the best tenth of the trials by a group's luck. */
static bool tenths(const struct inquiry *q, struct finding *finding)
{
    struct placed *placed = base_alloc(q->trials * sizeof *placed);
    if (!placed)
        return false;
    for (uint64_t t = 0; t < q->trials; t++)
        placed[t] = (struct placed){ q->luck[(size_t)finding->group * q->trials + t], (uint32_t)t };
    qsort(placed, q->trials, sizeof *placed, by_luck);
    uint64_t tenth = q->trials / 10 > 0 ? q->trials / 10 : 1, worst = 0, best = 0;
    for (uint64_t t = 0; t < tenth; t++) {
        worst += q->fell_short[placed[t].trial];
        best += q->fell_short[placed[q->trials - 1 - t].trial];
    }
    finding->worst = (double)worst / (double)tenth;
    finding->best = (double)best / (double)tenth;
    base_free(placed);
    return true;
}

static int by_weight(const void *a, const void *b)
{
    double x = ((const struct finding *)a)->total[0].value, y = ((const struct finding *)b)->total[0].value;
    return (x < y) - (x > y);
}

static struct finding *find_all(struct inquiry *q)
{
    struct finding *finding = base_arena_array(q->arena, (size_t)q->groups_n, sizeof *finding);
    for (int g = 0; finding && g < q->groups_n; g++) {
        finding[g].group = g;
        for (int o = 0; o < OUTCOMES; o++) {
            finding[g].first[o] = decide_sobol_first(&q->sobol[o], g);
            finding[g].total[o] = decide_sobol_total(&q->sobol[o], g);
        }
        if (!tenths(q, &finding[g]))
            return NULL;
    }
    if (finding)
        qsort(finding, (size_t)q->groups_n, sizeof *finding, by_weight);
    return finding;
}

struct answer { struct inquiry *q; const struct finding *finding; };

static const char *note_of(const struct inquiry *q, const struct finding *finding, int o)
{
    if (!(decide_sobol_variance(&q->sobol[o]) > 0))
        return "nothing varies";
    return finding->first[o].low <= 0 ? "the first-order interval includes 0" : "";
}

static void fill(struct report_csv *csv, const void *context)
{
    const struct answer *answer = context;
    static const char *const outcomes[OUTCOMES] = { "meals_short", "short" };
    for (int i = 0; i < answer->q->groups_n; i++)
        for (int o = 0; o < OUTCOMES; o++) {
            const struct finding *f = &answer->finding[i];
            report_csv_text(csv, answer->q->group[f->group].name);
            report_csv_text(csv, outcomes[o]);
            const double figures[] = { f->first[o].value, f->first[o].low, f->first[o].high, f->total[o].value, f->total[o].low,
                                       f->total[o].high, f->worst, f->best };
            bool varies = decide_sobol_variance(&answer->q->sobol[o]) > 0;
            for (int k = 0; k < 8; k++)
                report_csv_number(csv, varies || k > 5 ? figures[k] : NAN);
            report_csv_text(csv, note_of(answer->q, f, o));
            report_csv_whole(csv, (int64_t)answer->q->trials);
            report_csv_end(csv);
        }
}

static void tell(const struct answer *answer)
{
    const struct inquiry *q = answer->q;
    printf("What decides whether the stores last? (%llu trial%s, each with every group's luck exchanged in turn)\n",
           (unsigned long long)q->trials, q->trials == 1 ? "" : "s");
    if (!(decide_sobol_variance(&q->sobol[0]) > 0)) {
        printf("  Nothing varies: every trial is short of the same number of meals.\n");
        return;
    }
    printf("  %-44s %-24s %s\n", "", "share of what varies in", "chance of running short in its");
    printf("  %-44s %-24s %s\n", "", "meals short (95 % range)", "worst tenth    best tenth");
    for (int i = 0; i < q->groups_n; i++) {
        const struct finding *f = &answer->finding[i];
        char share[48];
        snprintf(share, sizeof share, "%.1f %% (%.1f to %.1f)", 100 * f->total[0].value, 100 * fmax(0, f->total[0].low),
                 100 * f->total[0].high);
        printf("  %-44s %-24s %5.0f %%        %5.0f %%\n", q->group[f->group].name, share, 100 * f->worst, 100 * f->best);
    }
    printf("  The shares are of what would still vary if all else were known; they may add up to more than 100 %%.\n");
    report_cautions(stdout);
}

static enum base_result run_all(struct inquiry *q)
{
    struct engine_work work = { .first = 0, .trials = q->trials, .threads = q->options->threads,
                                .shows_progress = !q->options->quiet, .doing = "asking why", .whole = q, .begin = begin_own,
                                .run = run_trial, .end = end_own };
    enum base_result result = engine_run(&work);
    if (result != BASE_OK)
        fputs(result == BASE_INTERRUPTED ? "tideover: interrupted; nothing was written\n" : "tideover: memory ran out\n", stderr);
    return result;
}

enum base_result command_why(const struct command_options *options)
{
    struct base_arena arena = { 0 };
    struct inquiry q = { .options = options, .arena = &arena };
    enum base_result result = prepare(&q);
    if (result == BASE_OK)
        result = run_all(&q);
    struct answer answer = { &q, result == BASE_OK ? find_all(&q) : NULL };
    if (result == BASE_OK && !answer.finding)
        result = BASE_FAILED;
    if (result == BASE_OK) {
        struct command_table_file table = { "why.csv", "What decides whether the stores last", columns,
                                            (int)(sizeof columns / sizeof columns[0]), fill, &answer };
        result = command_write_tables(&arena, options, "why", &q.loaded, (int64_t)q.trials, &table, 1, NULL);
    }
    if (result == BASE_OK && !options->quiet)
        tell(&answer);
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    base_arena_free(&arena);
    return command_end_output(result);
}
