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
    bool good = trial->year_factor && trial->next_count && store_room(arena, plan, &trial->store)
                && ledger_room(arena, plan, &trial->ledger) && crop_year_room(arena, plan, &trial->crop_year[0])
                && crop_year_room(arena, plan, &trial->crop_year[1]);
    return good ? trial : NULL;
}

void future_set_watch(struct future_trial *trial, future_watch *watch, void *context)
{
    trial->watch = watch;
    trial->watch_context = context;
}

/* Guests of a run of weeks of a season: week w's draw stands at position w of the stream. */
static uint64_t guests_of(const struct plan *plan, uint64_t season_key, const struct plan_run *run)
{
    uint64_t weeks = 0;
    struct chance_pcg pcg = chance_stream(season_key, plan->guests_key);
    chance_pcg_advance(&pcg, (uint64_t)run->week);
    for (int week = run->week; week < run->week + run->n; week++)
        weeks |= (uint64_t)chance_happens(&plan->guests, chance_pcg_next(&pcg)) << week;
    return weeks;
}

bool future_guests(const struct plan *plan, struct future_trial *trial, int season, int week_of_year)
{
    if (plan->guests.below == 0 && !plan->guests.always)
        return false;
    const struct plan_run *run = &plan->wanted_run[plan->run_of_week[week_of_year]];
    if (season != trial->guests_season || run != trial->guests_run) {
        trial->guests_season = season;
        trial->guests_run = run;
        trial->guests_weeks = guests_of(plan, chance_season_key(trial->random_seed, trial->number, season), run);
    }
    return trial->guests_weeks >> week_of_year & 1;
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

static void open_year(struct future_year *year, int week)
{
    *year = (struct future_year){ .first_week = week,
                                  .first_short = { SCENARIO_NEVER, SCENARIO_NEVER, SCENARIO_NEVER } };
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

static void note_peaks(const struct future_trial *trial, struct future_year *year)
{
    int jars = trial->store.beans.jars_n, fruits = trial->store.squash.whole_n;
    year->jars_peak = jars > year->jars_peak ? jars : year->jars_peak;
    year->fruits_peak = fruits > year->fruits_peak ? fruits : year->fruits_peak;
}

static void note_short(const struct kitchen_week *table, int week, struct future_ledger *ledger, struct future_year *year)
{
    bool any = table->is_short[SCENARIO_BEANS] || table->is_short[SCENARIO_SQUASH];
    for (int food = 0; food < FUTURE_FOODS; food++) {
        bool is_short = food == FUTURE_ANY ? any : table->is_short[food];
        double meals = food == FUTURE_ANY ? table->meals_short[0] + table->meals_short[1] : table->meals_short[food];
        ledger->is_short[food][week] = is_short;
        year->meals_short[food] += meals;
        year->short_weeks[food] += is_short;
        if (is_short && year->first_short[food] == SCENARIO_NEVER)
            year->first_short[food] = week;
    }
}

/* Produce of both seasons that may be under way, the older first; then what seed is still due. */
static void bring_in(const struct plan *plan, struct future_trial *trial, int week, struct store_books *books)
{
    int older = trial->crop_year[0].number > trial->crop_year[1].number;
    for (int s = 0; s < 2; s++) {
        struct future_crop_year *season = &trial->crop_year[s == 0 ? older : !older];
        if (week < season->first_week || week > season->last_week)
            continue;
        future_bring_in(plan, trial, season, week, books);
    }
    for (int s = 0; s < 2; s++) {
        struct future_crop_year *season = &trial->crop_year[s == 0 ? older : !older];
        if (season->unsettled > 0 && week >= season->settle_week)
            future_settle_due(plan, trial, season, week, books);
    }
}

static bool is_due(const struct future_trial *trial, int week)
{
    const struct future_crop_year *a = &trial->crop_year[0], *b = &trial->crop_year[1];
    return (week >= a->first_week && week <= a->last_week) || (week >= b->first_week && week <= b->last_week);
}

/* A week in which somebody wants to eat. */
static void eat(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int season,
                int of_year)
{
    struct future_ledger *ledger = &trial->ledger;
    struct kitchen_week table;
    double drying_kg = plan->scenario->household.ekes_out ? future_drying_kg(plan, trial, week) : 0.0;
    bool guests = future_guests(plan, trial, season, of_year);
    bool any_short = kitchen_serve(plan, &trial->store, week, of_year, guests, drying_kg, year->books, &table);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        ledger->wanted_kg[food][week] = table.wanted_kg[food];
        ledger->eaten_kg[food][week] = table.eaten_kg[food];
    }
    if (any_short)
        note_short(&table, week, ledger, year);
}

/* What was lost in the week, by the difference in the books. */
static void note_lost(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int of_year,
                      const double lost_before[SCENARIO_FOODS])
{
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double lost = year->books[food].lost - lost_before[food];
        trial->ledger.lost_kg[food][week] = lost;
        if (plan->portions[food][of_year] > 0)
            year->books[food].lost_while_wanted += lost;
    }
}

/* One week, in the model's order: produce arrives, the look-over, meals, the books. Columns of the ledger that stay 0 have
 * been cleared before. */
static void live_week(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int season,
                      int of_year)
{
    struct store *store = &trial->store;
    struct store_books *books = year->books;
    double lost[SCENARIO_FOODS] = { books[0].lost, books[1].lost };
    if (is_due(trial, week)) {
        bring_in(plan, trial, week, books);
        note_peaks(trial, year);
    }
    if (store->squash.whole_n > 0 && week % plan->scenario->store.look_over_weeks == 0)
        store_look_over(plan, store, week, &books[SCENARIO_SQUASH]);
    store_fail_jars(store, week, &books[SCENARIO_BEANS]);
    if (plan->wanted[of_year])
        eat(plan, trial, year, week, season, of_year);
    if (store->squash.cut_n > 0)
        store_age_cut(store, &books[SCENARIO_SQUASH]);
    if (books[0].lost != lost[0] || books[1].lost != lost[1])
        note_lost(plan, trial, year, week, of_year, lost);
    for (int food = 0; food < SCENARIO_FOODS; food++)
        trial->ledger.stock_kg[food][week] = stock_kg(plan, store, food);
    trial->ledger.count[SCENARIO_BEANS][week] = store->beans.jars_n;
    trial->ledger.count[SCENARIO_SQUASH][week] = store->squash.whole_n;
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

/* First week from `week` in which anything can happen while there is no squash: a meal, produce, a jar that fails, the
 * year's end. */
static int next_event(const struct plan *plan, const struct future_trial *trial, int week, int of_year, int ends)
{
    int until = week + plan->weeks_to_want[of_year];
    until = ends < until ? ends : until;
    until = trial->store.beans.next_failure < until ? trial->store.beans.next_failure : until;
    for (int s = 0; s < 2; s++) {
        const struct future_crop_year *season = &trial->crop_year[s];
        if (season->last_week >= week && season->first_week < until)
            until = season->first_week > week ? season->first_week : week;
    }
    return until;
}

/* Sleeps over weeks in which the beans only stand there. */
static void sleep_until(struct future_trial *trial, int week, int until)
{
    for (int w = week; w < until; w++) {
        trial->ledger.stock_kg[SCENARIO_BEANS][w] = trial->store.beans.kg;
        trial->ledger.count[SCENARIO_BEANS][w] = trial->store.beans.jars_n;
        trial->ledger.stock_kg[SCENARIO_SQUASH][w] = 0;
        trial->ledger.count[SCENARIO_SQUASH][w] = 0;
    }
}

/* Clears what the last trial left; returns the plan as this trial has it. */
static const struct plan *begin(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t number)
{
    clear_weeks(&trial->ledger);            /* of the trial before */
    store_clear(plan, &trial->store);
    trial->random_seed = random_seed;
    trial->number = number;
    trial->guests_season = NO_SEASON;
    trial->ledger.balanced = true;
    trial->ledger.worst_imbalance = 0;
    for (int s = 0; s < 2; s++) {
        trial->crop_year[s].number = NO_SEASON;
        trial->crop_year[s].first_week = SCENARIO_NEVER;
        trial->crop_year[s].last_week = -1;
    }
    for (int p = 0; p < plan->plantings_n; p++)
        trial->next_count[p] = plan->plantings[p].planting->count;
    return plan_of_trial(plan, random_seed, number);
}

/* Opens food year 0; returns the season whose first produce ends it. */
static int begin_first_year(const struct plan *plan, struct future_trial *trial)
{
    struct future_crop_year *season = &trial->crop_year[0];
    struct future_year *year = &trial->ledger.year[0];
    future_grow(plan, trial, 0);
    int start = plan->stock_take ? plan->count_week : season->first_week;
    bool to_come = plan->stock_take && !plan->season_under_way;
    open_year(year, start);
    future_fill_shelf(plan, trial, start, year->books);
    if (plan->stock_take && !to_come)
        future_begin_under_way(plan, season, plan->count_week);
    if (to_come)
        future_put_off(plan, season, plan->count_week);
    else
        future_book_field(plan, season, year->books);
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

const struct future_ledger *future_run(const struct plan *plan, struct future_trial *trial, uint64_t random_seed,
                                       uint64_t number)
{
    struct future_ledger *ledger = &trial->ledger;
    plan = begin(plan, trial, random_seed, number);
    int next_season = begin_first_year(plan, trial), year = 0, ends = SCENARIO_NEVER;
    int week = ledger->first_week = ledger->year[0].first_week, season = plan_season_of(week), of_year = plan_week_of(week);
    note_peaks(trial, &ledger->year[0]);
    for (;; week++, of_year++) {
        if (of_year == SCENARIO_WEEKS) {
            of_year = 0;
            season++;
        }
        bool is_last = year == ledger->years_n - 1;
        if (ends == SCENARIO_NEVER && week >= SCENARIO_WEEKS * next_season + plan->first_out_week)
            ends = season_begins(plan, trial, next_season, is_last, &ledger->year[year]);
        if (week >= ends) {
            close_year(plan, trial, &ledger->year[year], week);
            if (is_last)
                break;
            open_year(&ledger->year[++year], week);
            note_peaks(trial, &ledger->year[year]);
            for (int food = 0; food < SCENARIO_FOODS; food++)
                ledger->year[year].books[food].opening = ledger->year[year - 1].books[food].left;
            future_book_field(plan, &trial->crop_year[next_season & 1], ledger->year[year].books);
            throw_out(plan, trial, next_season, &ledger->year[year]);
            next_season++;
            ends = SCENARIO_NEVER;
        }
        if (trial->store.squash.whole_n == 0 && trial->store.squash.cut_n == 0 && ends < SCENARIO_NEVER) {
            int until = next_event(plan, trial, week, of_year, ends);
            if (until > week) {
                sleep_until(trial, week, until);
                of_year += until - 1 - week;
                week = until - 1;
                if (of_year >= SCENARIO_WEEKS) {
                    of_year -= SCENARIO_WEEKS;
                    season++;
                }
                continue;
            }
        }
        if (trial->store.squash.whole_n > 0 && week > ledger->first_week)
            store_dry(plan, &trial->store, &ledger->year[year].books[SCENARIO_SQUASH]);
        live_week(plan, trial, &ledger->year[year], week, season, of_year);
    }
    ledger->end_week = week;
    return ledger;
}
