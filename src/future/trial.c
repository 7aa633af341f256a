/* trial.c: one trial: its food years, one after the other. */
#include "future/internal.h"

enum { NO_SEASON = -1000 };

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
        future_note_frosts(season->number, season->weather.last_frost, season->weather.first_hard_frost, year);
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
    const struct future_crop_year *grown = &trial->crop_year[season & 1];
    future_book_field(plan, grown, new->books);
    future_note_frosts(season, grown->weather.last_frost, grown->weather.first_hard_frost, new);
    throw_out(plan, trial, season, new);
}

static void note_due(struct future_trial *trial, int week)
{
    future_note_due(trial, SCENARIO_BEANS, week);
    future_note_due(trial, SCENARIO_SQUASH, week);
}

void future_run_one(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t number)
{
    struct future_ledger *ledger = trial->ledger;
    begin_trial(plan, trial, random_seed, number);
    int next_season = begin_first_year(plan, trial), week = ledger->year[0].first_week;
    ledger->first_week = ledger->stocked_end[SCENARIO_BEANS] = ledger->stocked_end[SCENARIO_SQUASH] = week;
    trial->guests_until = plan->guests.below > 0 ? week : SCENARIO_NEVER;
    ledger->year[0].jars_peak = trial->store.beans.jars_n;
    ledger->year[0].fruits_peak = trial->store.squash.whole_n;
    note_due(trial, week);
    for (int y = 0; y < ledger->years_n; y++, next_season++) {
        struct future_year *year = &ledger->year[y];
        bool is_last = y == ledger->years_n - 1;
        int spring = future_later(week, SCENARIO_WEEKS * next_season + plan->first_out_week);
        future_live(plan, trial, year, week, spring);
        int ends = future_later(spring, season_begins(plan, trial, next_season, is_last, year));
        note_due(trial, spring);
        future_live(plan, trial, year, spring, ends);
        store_book_drying(&trial->store, &year->books[SCENARIO_SQUASH]);
        future_close_year(ledger, year, week = ends, trial->store.beans.kg, store_squash_kg(&trial->store));
        if (!is_last)
            turn_year(plan, trial, next_season, week, year, year + 1);
    }
    ledger->end_week = week;
}
