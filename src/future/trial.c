/* trial.c: the week loop. */
#include "future/internal.h"

#include <math.h>
#include <string.h>

enum { NO_SEASON = -1000 };

static bool crop_year_room(struct base_arena *arena, const struct plan *plan, struct future_crop_year *season)
{
    size_t n = (size_t)plan->plantings_n + 1;
    season->harvest = base_arena_array(arena, n, sizeof *season->harvest);
    season->count = base_arena_array(arena, n, sizeof *season->count);
    season->seed_due_kg = base_arena_array(arena, n, sizeof *season->seed_due_kg);
    season->seed_settled = base_arena_array(arena, n, sizeof *season->seed_settled);
    return season->harvest && season->count && season->seed_due_kg && season->seed_settled
           && harvest_room(arena, plan, season->harvest);
}

static bool ledger_room(struct base_arena *arena, const struct plan *plan, struct future_ledger *ledger)
{
    size_t weeks = (size_t)plan->weeks + 1;
    ledger->years_n = plan->scenario->food_years;
    ledger->year = base_arena_array(arena, (size_t)ledger->years_n, sizeof *ledger->year);
    bool good = ledger->year != NULL;
    for (int food = 0; food < FUTURE_FOODS; food++)
        good &= (ledger->is_short[food] = base_arena_array(arena, weeks, 1)) != NULL;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        good &= (ledger->stock_kg[food] = base_arena_array(arena, weeks, sizeof(double))) != NULL;
        good &= (ledger->wanted_kg[food] = base_arena_array(arena, weeks, sizeof(double))) != NULL;
        good &= (ledger->eaten_kg[food] = base_arena_array(arena, weeks, sizeof(double))) != NULL;
        good &= (ledger->lost_kg[food] = base_arena_array(arena, weeks, sizeof(double))) != NULL;
        good &= (ledger->count[food] = base_arena_array(arena, weeks, sizeof(int))) != NULL;
    }
    return good;
}

struct future_trial *future_room(struct base_arena *arena, const struct plan *plan)
{
    struct future_trial *trial = base_arena_take(arena, sizeof *trial);
    if (!trial)
        return NULL;
    trial->year_factor = base_arena_array(arena, (size_t)plan->crops_n + 1, sizeof *trial->year_factor);
    trial->next_count = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *trial->next_count);
    trial->guests = base_arena_array(arena, (size_t)plan->weeks + SCENARIO_WEEKS, sizeof *trial->guests);
    bool good = trial->guests && trial->year_factor && trial->next_count && store_room(arena, plan, &trial->store)
                && ledger_room(arena, plan, &trial->ledger) && crop_year_room(arena, plan, &trial->crop_year[0])
                && crop_year_room(arena, plan, &trial->crop_year[1]);
    return good ? trial : NULL;
}

void future_set_watch(struct future_trial *trial, future_watch *watch, void *context)
{
    trial->watch = watch;
    trial->watch_context = context;
}

double future_imbalance(const struct store_books *books)
{
    double came = books->opening + books->in;
    double went = books->eaten + books->dried_away + books->trimmed + books->lost + books->given_away
                  + books->thrown_out + books->seed + books->left;
    return came > 0 ? fabs(came - went) / came : fabs(went);
}

static double stock_kg(const struct plan *plan, const struct store *store, int food)
{
    return food == SCENARIO_BEANS ? store->beans.kg : store_squash_kg(plan, store);
}

static void open_year(struct future_trial *trial, struct future_year *year, int week)
{
    const struct store *store = &trial->store;
    trial->lost_noted[SCENARIO_BEANS] = trial->lost_noted[SCENARIO_SQUASH] = 0;
    *year = (struct future_year){ .first_week = week, .jars_peak = store->beans.jars_n, .fruits_peak = store->squash.whole_n,
                                  .first_short = { SCENARIO_NEVER, SCENARIO_NEVER, SCENARIO_NEVER },
                                  .last_frost_week = SCENARIO_NEVER, .first_hard_frost_week = SCENARIO_NEVER };
}

/* The frosts of the season whose produce begins a food year. */
static void note_frosts(const struct future_crop_year *season, struct future_year *year)
{
    int start = SCENARIO_WEEKS * season->number, last = season->weather.last_frost, hard = season->weather.first_hard_frost;
    year->last_frost_week = start + plan_week(last);
    year->first_hard_frost_week = hard < SCENARIO_DAYS ? start + plan_week(hard) : SCENARIO_NEVER;
}

static void close_year(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    struct future_ledger *ledger = &trial->ledger;
    year->weeks = week - year->first_week;
    year->days = 7 * year->weeks + plan_season_of(week) - plan_season_of(year->first_week);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        year->books[food].left = stock_kg(plan, &trial->store, food);
        double imbalance = future_imbalance(&year->books[food]);
        ledger->balanced &= imbalance <= 1e-9;
        ledger->worst_imbalance = imbalance > ledger->worst_imbalance ? imbalance : ledger->worst_imbalance;
    }
}

/* Beans too old for the season that begins are thrown out. */
static void throw_out(const struct plan *plan, struct future_trial *trial, int season, struct future_year *year)
{
    int keep = plan->scenario->store.beans_keep_seasons;
    if (keep < SCENARIO_NEVER) /* not at a count: what was counted is wanted */
        store_throw_out_beans(&trial->store, season - keep, &year->books[SCENARIO_BEANS]);
}

/* Clears the columns of the ledger that most weeks leave at 0. */
static void clear_weeks(struct future_ledger *ledger)
{
    size_t from = (size_t)ledger->first_week, n = (size_t)(ledger->end_week - ledger->first_week);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        memset(ledger->wanted_kg[food] + from, 0, n * sizeof(double));
        memset(ledger->eaten_kg[food] + from, 0, n * sizeof(double));
        memset(ledger->lost_kg[food] + from, 0, n * sizeof(double));
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        memset(ledger->is_short[food] + from, 0, n);
}

/* Clears what the last trial left. */
static void begin(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t number)
{
    clear_weeks(&trial->ledger);            /* of the trial before */
    store_clear(plan, &trial->store);
    trial->random_seed = random_seed;
    trial->number = number;
    trial->empty_end[SCENARIO_BEANS] = trial->empty_end[SCENARIO_SQUASH] = -1;
    trial->ledger.balanced = true;
    trial->ledger.worst_imbalance = 0;
    for (int s = 0; s < 2; s++) {
        trial->crop_year[s].number = NO_SEASON;
        trial->crop_year[s].first_week = SCENARIO_NEVER;
        trial->crop_year[s].due_end[SCENARIO_BEANS] = trial->crop_year[s].due_end[SCENARIO_SQUASH] = -1;
    }
    for (int p = 0; p < plan->plantings_n; p++)
        trial->next_count[p] = plan->plantings[p].planting->count;
}

/* Opens food year 0; returns the season whose first produce ends it. */
static int begin_first_year(const struct plan *plan, struct future_trial *trial)
{
    struct future_crop_year *season = &trial->crop_year[0];
    struct future_year *year = &trial->ledger.year[0];
    future_grow(plan, trial, 0);
    int start = plan->stock_take ? plan->count_week : season->first_week;
    bool to_come = plan->stock_take && !plan->season_under_way;
    open_year(trial, year, start);
    future_fill_shelf(plan, trial, start, year->books);
    if (plan->stock_take && !to_come)
        future_begin_under_way(plan, season, plan->count_week);
    if (to_come)
        future_put_off(plan, season, plan->count_week);
    else {
        future_book_field(plan, season, year->books);
        note_frosts(season, year);
    }
    if (!plan->stock_take)
        throw_out(plan, trial, 0, year);
    return to_come ? 0 : 1;
}

/* Makes sure that a season is grown, its predecessor's seed settled; returns the week of its first produce. */
static int season_begins(const struct plan *plan, struct future_trial *trial, int season, bool is_last,
                         struct future_year *year)
{
    struct future_crop_year *before = &trial->crop_year[(season + 1) & 1];
    if (trial->crop_year[season & 1].number == season)
        return trial->crop_year[season & 1].first_week;
    for (int p = 0; p < plan->plantings_n && before->number == season - 1; p++)
        if (!before->seed_settled[p])
            future_settle_seed(plan, trial, before, p, &year->books[SCENARIO_BEANS]);
    if (is_last && !plan->scenario->household.ekes_out) /* eking out counts what is picked and still drying */
        return future_first_week(plan, trial, season);
    store_compact(plan, &trial->store);
    future_grow(plan, trial, season);
    return trial->crop_year[season & 1].first_week;
}

/* A food year ends in the week in which the next one begins. */
static void turn_year(const struct plan *plan, struct future_trial *trial, int season, int week, struct future_year *old,
                      struct future_year *new)
{
    open_year(trial, new, week);
    for (int food = 0; food < SCENARIO_FOODS; food++)
        new->books[food].opening = old->books[food].left;
    future_book_field(plan, &trial->crop_year[season & 1], new->books);
    note_frosts(&trial->crop_year[season & 1], new);
    throw_out(plan, trial, season, new);
}

static void note_due(struct future_trial *trial, int week)
{
    future_note_due(trial, SCENARIO_BEANS, week);
    future_note_due(trial, SCENARIO_SQUASH, week);
}

static int later(int a, int b) { return a > b ? a : b; }

const struct future_ledger *future_run(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                       uint64_t number)
{
    struct future_ledger *ledger = &trial->ledger;
    plan = plan_of_trial(plan, random_seed, number);
    begin(plan, trial, random_seed, number);
    int next_season = begin_first_year(plan, trial), week = ledger->year[0].first_week;
    ledger->first_week = trial->guests_until = week;
    ledger->year[0].jars_peak = trial->store.beans.jars_n;
    ledger->year[0].fruits_peak = trial->store.squash.whole_n;
    note_due(trial, week);
    for (int y = 0; y < ledger->years_n; y++, next_season++) {
        struct future_year *year = &ledger->year[y];
        bool is_last = y == ledger->years_n - 1;
        int spring = later(week, SCENARIO_WEEKS * next_season + plan->first_out_week);
        future_live(plan, trial, year, week, spring);
        int ends = later(spring, season_begins(plan, trial, next_season, is_last, year));
        note_due(trial, spring);
        future_live(plan, trial, year, spring, ends);
        close_year(plan, trial, year, week = ends);
        if (!is_last)
            turn_year(plan, trial, next_season, week, year, year + 1);
    }
    ledger->end_week = week;
    for (int food = 0; food < SCENARIO_FOODS; food++)
        ledger->stocked_end[food] = trial->empty_end[food] == week ? trial->empty_from[food] : week;
    return ledger;
}
