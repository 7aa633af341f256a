/* trial.c: the week loop. */
#include "future/internal.h"

#include <math.h>
#include <string.h>

enum { NO_SEASON = -1000 };

bool future_season_room(struct base_arena *arena, const struct plan *plan, struct future_crop_year *season)
{
    size_t n = (size_t)plan->plantings_n + 1;
    season->harvest = base_arena_array(arena, n, sizeof *season->harvest);
    season->picking = base_arena_array(arena, (size_t)plan->beans_n + 1, sizeof *season->picking);
    season->count = base_arena_array(arena, n, sizeof *season->count);
    season->seed_due_kg = base_arena_array(arena, n, sizeof *season->seed_due_kg);
    season->seed_settled = base_arena_array(arena, n, sizeof *season->seed_settled);
    return season->harvest && season->picking && season->count && season->seed_due_kg && season->seed_settled
           && harvest_room(arena, plan, season->harvest);
}

static bool columns_room(struct base_arena *arena, const struct plan *plan, struct future_columns *columns)
{
    size_t n = (size_t)plan->weeks * PLAN_ABREAST;
    bool good = true;
    for (int food = 0; food < FUTURE_FOODS; food++)
        good &= (columns->is_short[food] = base_arena_array(arena, n, 1)) != NULL;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        good &= (columns->stock_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->wanted_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->eaten_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->lost_kg[food] = base_arena_array(arena, n, sizeof(double))) != NULL;
        good &= (columns->count[food] = base_arena_array(arena, n, sizeof(int32_t))) != NULL;
    }
    return good;
}

/* The columns from a place on. */
static struct future_columns columns_at(const struct future_columns *columns, int place)
{
    struct future_columns at = *columns;
    for (int food = 0; food < FUTURE_FOODS; food++)
        at.is_short[food] += place;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        at.stock_kg[food] += place;
        at.wanted_kg[food] += place;
        at.eaten_kg[food] += place;
        at.lost_kg[food] += place;
        at.count[food] += place;
    }
    return at;
}

static bool block_room(struct base_arena *arena, const struct plan *plan, struct future_block *block)
{
    int years = plan->scenario->food_years;
    struct future_year *year = base_arena_array(arena, (size_t)years * PLAN_ABREAST, sizeof *year);
    if (!year || !columns_room(arena, plan, &block->columns))
        return false;
    for (int place = 0; place < PLAN_ABREAST; place++)
        block->ledger[place] = (struct future_ledger){ .years_n = years, .year = year + place * years,
                                                       .at = columns_at(&block->columns, place) };
    return true;
}

static bool points_room(struct base_arena *arena, const struct plan *plan, struct future_trial *trial)
{
    if (!plan->points)
        return true;
    size_t n = (size_t)plan->points->n * PLAN_ABREAST;
    trial->point = base_arena_array(arena, n, sizeof *trial->point);
    trial->score = base_arena_array(arena, n, sizeof *trial->score);
    return trial->point && trial->score;
}

struct future_trial *future_room(struct base_arena *arena, const struct plan *plan)
{
    struct future_trial *trial = base_arena_take(arena, sizeof *trial);
    if (!trial)
        return NULL;
    trial->year_factor = base_arena_array(arena, (size_t)plan->crops_n + 1, sizeof *trial->year_factor);
    trial->next_count = base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof *trial->next_count);
    trial->guests = base_arena_array(arena, (size_t)plan->weeks + SCENARIO_WEEKS, sizeof *trial->guests);
    bool good = points_room(arena, plan, trial) && trial->guests && trial->year_factor && trial->next_count && store_room(arena, plan, &trial->store)
                && block_room(arena, plan, &trial->block) && future_season_room(arena, plan, &trial->crop_year[0])
                && future_season_room(arena, plan, &trial->crop_year[1]);
    if (good && future_abreast_fits(plan))
        good = (trial->abreast = future_abreast_room(arena, plan)) != NULL;
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

void future_open_year(struct future_year *year, int week, int jars, int fruits)
{
    *year = (struct future_year){ .first_week = week, .jars_peak = jars, .fruits_peak = fruits,
                                  .first_short = { SCENARIO_NEVER, SCENARIO_NEVER, SCENARIO_NEVER },
                                  .last_frost_week = SCENARIO_NEVER, .first_hard_frost_week = SCENARIO_NEVER };
}

/* The frosts of the season whose produce begins a food year. */
void future_note_frosts(const struct future_crop_year *season, struct future_year *year)
{
    int start = SCENARIO_WEEKS * season->number, last = season->weather.last_frost, hard = season->weather.first_hard_frost;
    year->last_frost_week = start + plan_week(last);
    year->first_hard_frost_week = hard < SCENARIO_DAYS ? start + plan_week(hard) : SCENARIO_NEVER;
}

void future_close_year(struct future_ledger *ledger, struct future_year *year, int week, double beans_kg, double squash_kg)
{
    year->weeks = week - year->first_week;
    year->days = 7 * year->weeks + plan_season_of(week) - plan_season_of(year->first_week);
    year->books[SCENARIO_BEANS].left = beans_kg;
    year->books[SCENARIO_SQUASH].left = squash_kg;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
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

/* Clears what the last trial left. */
static void begin_trial(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t number)
{
    store_clear(plan, &trial->store);
    trial->random_seed = random_seed;
    trial->number = number;
    trial->ledger->balanced = true;
    trial->ledger->worst_imbalance = 0;
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
    struct future_year *year = &trial->ledger->year[0];
    future_grow(plan, trial, 0);
    int start = plan->stock_take ? plan->count_week : season->first_week;
    bool to_come = plan->stock_take && !plan->season_under_way;
    future_open_year(year, start, 0, 0);
    future_fill_shelf(plan, trial, start, year->books);
    if (plan->stock_take && !to_come)
        future_begin_under_way(plan, season, plan->count_week);
    if (to_come)
        future_put_off(plan, season, plan->count_week);
    else {
        future_book_field(plan, season, year->books);
        future_note_frosts(season, year);
    }
    if (!plan->stock_take)
        throw_out(plan, trial, 0, year);
    return to_come ? 0 : 1;
}

/* Seed of a season that ends is settled before the next one's is sown. */
static void settle_rest(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season,
                        struct store_books *books)
{
    for (int p = 0; p < plan->plantings_n; p++)
        if (!season->seed_settled[p])
            future_settle_seed(plan, trial, season, p, books);
}

/* Makes sure that a season is grown, its predecessor's seed settled; returns the week of its first produce. */
static int season_begins(const struct plan *plan, struct future_trial *trial, int season, bool is_last,
                         struct future_year *year)
{
    struct future_crop_year *before = &trial->crop_year[(season + 1) & 1];
    if (trial->crop_year[season & 1].number == season)
        return trial->crop_year[season & 1].first_week;
    if (before->number == season - 1)
        settle_rest(plan, trial, before, &year->books[SCENARIO_BEANS]);
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
    future_open_year(new, week, trial->store.beans.jars_n, trial->store.squash.whole_n);
    for (int food = 0; food < SCENARIO_FOODS; food++)
        new->books[food].opening = old->books[food].left;
    future_book_field(plan, &trial->crop_year[season & 1], new->books);
    future_note_frosts(&trial->crop_year[season & 1], new);
    throw_out(plan, trial, season, new);
}

static void note_due(struct future_trial *trial, int week)
{
    future_note_due(trial, SCENARIO_BEANS, week);
    future_note_due(trial, SCENARIO_SQUASH, week);
}

static int later(int a, int b) { return a > b ? a : b; }

/* Runs the trial whose ledger is trial->ledger. */
static void run_one(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t number)
{
    struct future_ledger *ledger = trial->ledger;
    begin_trial(plan, trial, random_seed, number);
    int next_season = begin_first_year(plan, trial), week = ledger->year[0].first_week;
    ledger->first_week = ledger->stocked_end[SCENARIO_BEANS] = ledger->stocked_end[SCENARIO_SQUASH] = week;
    trial->guests_until = plan->guests.below > 0 || plan->guests.always ? week : SCENARIO_NEVER;
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
        store_book_drying(&trial->store, &year->books[SCENARIO_SQUASH]);
        future_close_year(ledger, year, week = ends, trial->store.beans.kg, store_squash_kg(&trial->store));
        if (!is_last)
            turn_year(plan, trial, next_season, week, year, year + 1);
    }
    ledger->end_week = week;
}

int future_stocked_end(const struct future_block *block, int food)
{
    int end = block->first_week;
    for (int place = 0; place < block->n; place++)
        end = block->ledger[place].stocked_end[food] > end ? block->ledger[place].stocked_end[food] : end;
    return end;
}

/* Clears the columns of the block that was run last. */
static void clear_columns(struct future_block *block)
{
    const struct future_columns *columns = &block->columns;
    size_t from = (size_t)block->first_week * PLAN_ABREAST;
    size_t n = (size_t)(block->end_week - block->first_week) * PLAN_ABREAST;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        size_t stocked = (size_t)(future_stocked_end(block, food) - block->first_week) * PLAN_ABREAST;
        memset(columns->stock_kg[food] + from, 0, stocked * sizeof(double));
        memset(columns->eaten_kg[food] + from, 0, stocked * sizeof(double));
        memset(columns->lost_kg[food] + from, 0, stocked * sizeof(double));
        memset(columns->count[food] + from, 0, stocked * sizeof(int32_t));
        memset(columns->wanted_kg[food] + from, 0, n * sizeof(double));
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        memset(columns->is_short[food] + from, 0, n);
}

/* Clears one trial's place in the columns. */
static void clear_place(const struct plan *plan, struct future_ledger *ledger)
{
    for (size_t i = 0; i < (size_t)plan->weeks * PLAN_ABREAST; i += PLAN_ABREAST) {
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            ledger->at.stock_kg[food][i] = ledger->at.wanted_kg[food][i] = 0;
            ledger->at.eaten_kg[food][i] = ledger->at.lost_kg[food][i] = 0;
            ledger->at.count[food][i] = 0;
        }
        for (int food = 0; food < FUTURE_FOODS; food++)
            ledger->at.is_short[food][i] = 0;
    }
}

static int earlier(int a, int b) { return a < b ? a : b; }

/* Runs a block, side by side where that may be. */
static const struct future_block *run_block(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                            uint64_t first, int n, bool abreast)
{
    struct future_block *block = &trial->block;
    clear_columns(block);
    block->n = n;
    unsigned alone = abreast ? future_run_abreast(plan, trial, random_seed, first, n) : ~0u;
    for (int place = 0; place < n; place++) {
        if (!(alone >> place & 1))
            continue;
        trial->ledger = &block->ledger[place];
        if (abreast)
            clear_place(plan, trial->ledger);
        run_one(plan_of_trial(plan, random_seed, first + (uint64_t)place), trial, random_seed, first + (uint64_t)place);
    }
    block->first_week = block->ledger[0].first_week;
    block->end_week = block->ledger[0].end_week;
    for (int place = 1; place < n; place++) {
        block->first_week = earlier(block->first_week, block->ledger[place].first_week);
        block->end_week = later(block->end_week, block->ledger[place].end_week);
    }
    return block;
}

const struct future_block *future_run_block(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                            uint64_t first, int n)
{
    return run_block(plan, trial, random_seed, first, n, trial->abreast && !trial->watch);
}

const struct future_ledger *future_run(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                       uint64_t number)
{
    return run_block(plan, trial, random_seed, number, 1, false)->ledger;
}
