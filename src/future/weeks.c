/* weeks.c: what happens week by week. Where neither food waits for the other, each lives its weeks on its own. */
#include "future/internal.h"

#include <string.h>

/* ---- guests ------------------------------------------------------------------------------------ */

/* Fills in the guests of a season's run of wanted weeks: week w's draw stands at position w of the stream. */
static void invite(const struct plan *plan, struct future_trial *trial, int season, const struct plan_run *run)
{
    uint64_t key = chance_season_key(trial->random_seed, trial->number, season);
    struct chance_pcg pcg = chance_jumped(chance_stream(key, plan->guests_key), run->jump);
    uint8_t *guests = trial->guests + SCENARIO_WEEKS * season + run->week;
    for (int i = 0; i < run->n; i++)
        guests[i] = chance_happens(&plan->guests, chance_pcg_next(&pcg));
    trial->guests_until = SCENARIO_WEEKS * season + run->week + run->n;
}

/* Are there guests in a week in which something is wanted? */
static inline bool guests_in(const struct plan *plan, struct future_trial *trial, int week)
{
    if (plan->guests.below == 0 && !plan->guests.always)
        return false;
    while (week >= trial->guests_until) {
        int from = trial->guests_until, next = from + plan->weeks_to_want[plan_week_of(from)];
        invite(plan, trial, plan_season_of(next), &plan->wanted_run[plan->run_of_week[plan_week_of(next)]]);
    }
    return trial->guests[week];
}

/* ---- arrivals ------------------------------------------------------------------------------------ */

void future_note_due(struct future_trial *trial, int food, int week)
{
    trial->next_due[food] = SCENARIO_NEVER;
    for (int s = 0; s < 2; s++) {
        const struct future_crop_year *season = &trial->crop_year[s];
        int first = season->due[food] > week ? season->due[food] : week;
        if (first < season->due_end[food] && first < trial->next_due[food])
            trial->next_due[food] = first;
    }
}

/* The season that may be under way beside the other, the older first. */
static struct future_crop_year *nth_season(struct future_trial *trial, int n)
{
    int older = trial->crop_year[0].number > trial->crop_year[1].number;
    return &trial->crop_year[n == 0 ? older : !older];
}

static bool is_due(const struct future_crop_year *season, int food, int week)
{
    return week >= season->due[food] && week < season->due_end[food];
}

static void bring_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    for (int n = 0; n < 2; n++)
        if (is_due(nth_season(trial, n), SCENARIO_SQUASH, week))
            future_bring_squash(plan, trial, nth_season(trial, n), week, &year->books[SCENARIO_SQUASH]);
    int fruits = trial->store.squash.whole_n;
    year->fruits_peak = fruits > year->fruits_peak ? fruits : year->fruits_peak;
    future_note_due(trial, SCENARIO_SQUASH, week + 1);
}

/* Pickings of both seasons, then what seed is still due. */
static void bring_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    for (int n = 0; n < 2; n++)
        if (is_due(nth_season(trial, n), SCENARIO_BEANS, week))
            future_bring_beans(plan, trial, nth_season(trial, n), week, &year->books[SCENARIO_BEANS]);
    for (int n = 0; n < 2; n++)
        if (nth_season(trial, n)->unsettled > 0 && week >= nth_season(trial, n)->settle_week)
            future_settle_due(plan, trial, nth_season(trial, n), week, year->books);
    int jars = trial->store.beans.jars_n;
    year->jars_peak = jars > year->jars_peak ? jars : year->jars_peak;
    future_note_due(trial, SCENARIO_BEANS, week + 1);
}

/* ---- notes --------------------------------------------------------------------------------------- */

/* What was lost since it was noted last. */
static inline void note_lost(const struct plan *plan, struct future_trial *trial, struct future_year *year, int food,
                             int week, int of_year)
{
    double lost = year->books[food].lost - trial->lost_noted[food];
    if (lost == 0)
        return;
    trial->lost_noted[food] = year->books[food].lost;
    trial->ledger.lost_kg[food][week] = lost;
    year->books[food].lost_while_wanted += plan->portions[food][of_year] > 0 ? lost : 0.0;
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

/* Weeks in which there is none of a food. */
static void note_empty(struct future_trial *trial, int food, int week, int until)
{
    trial->empty_from[food] = trial->empty_end[food] == week ? trial->empty_from[food] : week;
    trial->empty_end[food] = until;
}

/* ---- squash --------------------------------------------------------------------------------------- */

/* A week's beginning: fruit has dried since the week before (what was counted on the shelf was so as it stood), fruit is
 * brought in, looked over. */
static inline void begin_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    struct store *store = &trial->store;
    struct store_books *books = &year->books[SCENARIO_SQUASH];
    if (store->squash.whole_n > 0 && week > trial->ledger.first_week)
        store_dry(plan, store, books);
    if (week >= trial->next_due[SCENARIO_SQUASH])
        bring_squash(plan, trial, year, week);
    if (store_finds(store, week))
        store_look_over(plan, store, week, books);
}

/* A week's end: cut flesh is a week older; the books. */
static inline void end_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                              int of_year)
{
    struct store *store = &trial->store;
    store_age_cut(store, &year->books[SCENARIO_SQUASH]);
    note_lost(plan, trial, year, SCENARIO_SQUASH, week, of_year);
    trial->ledger.stock_kg[SCENARIO_SQUASH][week] = store_squash_kg(plan, store);
    trial->ledger.count[SCENARIO_SQUASH][week] = store->squash.whole_n;
}

/* Weeks without squash, up to the next that is cut. */
static int without_squash(struct future_trial *trial, int week, int until)
{
    const struct future_ledger *ledger = &trial->ledger;
    until = trial->next_due[SCENARIO_SQUASH] < until ? trial->next_due[SCENARIO_SQUASH] : until;
    size_t from = (size_t)week, n = (size_t)(until - week);
    memset(ledger->stock_kg[SCENARIO_SQUASH] + from, 0, n * sizeof(double));
    memset(ledger->eaten_kg[SCENARIO_SQUASH] + from, 0, n * sizeof(double));
    memset(ledger->count[SCENARIO_SQUASH] + from, 0, n * sizeof(int));
    note_empty(trial, SCENARIO_SQUASH, week, until);
    return until;
}

/* Weeks in which fruit only dries, up to the next meal, cutting or find. */
static int only_dries(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    const struct future_ledger *ledger = &trial->ledger;
    struct store *store = &trial->store;
    int meal = week + plan->weeks_to_want[plan_week_of(week)];
    until = meal < until ? meal : until;
    until = trial->next_due[SCENARIO_SQUASH] < until ? trial->next_due[SCENARIO_SQUASH] : until;
    for (; week < until && !store_finds(store, week); week++) {
        store_dry(plan, store, &year->books[SCENARIO_SQUASH]);
        ledger->stock_kg[SCENARIO_SQUASH][week] = store->squash.whole_kg;
        ledger->eaten_kg[SCENARIO_SQUASH][week] = 0;
        ledger->count[SCENARIO_SQUASH][week] = store->squash.whole_n;
    }
    return week;
}

/* A week in which something may happen to squash. */
static void live_squash_week(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                             int of_year)
{
    double eaten_kg = 0;
    begin_squash(plan, trial, year, week);
    if (plan->portions[SCENARIO_SQUASH][of_year] > 0) {
        double want_kg = plan->want[guests_in(plan, trial, week)][of_year].kg[SCENARIO_SQUASH];
        eaten_kg = store_take_squash(plan, &trial->store, week, want_kg, &year->books[SCENARIO_SQUASH]);
    }
    trial->ledger.eaten_kg[SCENARIO_SQUASH][week] = eaten_kg;
    end_squash(plan, trial, year, week, of_year);
}

static void live_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    const struct store_squash *squash = &trial->store.squash;
    while (week < until) {
        int from = week, of_year = plan_week_of(week);
        if (squash->cut_weeks == 0 && squash->whole_n == 0 && week < trial->next_due[SCENARIO_SQUASH])
            week = without_squash(trial, week, until);
        else if (squash->cut_weeks == 0 && !plan->wanted[of_year] && week > trial->ledger.first_week)
            week = only_dries(plan, trial, year, week, until);
        if (week == from)
            live_squash_week(plan, trial, year, week++, of_year);
    }
}

/* ---- beans ---------------------------------------------------------------------------------------- */

static void make_do(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                    const struct plan_want *want)
{
    struct future_ledger *ledger = &trial->ledger;
    struct kitchen_week table;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        table.wanted_portions[food] = want->portions[food];
        table.eaten_kg[food] = ledger->eaten_kg[food][week];
    }
    if (kitchen_make_do(plan, &trial->store, week, want, year->books, &table))
        note_short(&table, week, ledger, year);
    ledger->eaten_kg[SCENARIO_BEANS][week] = table.eaten_kg[SCENARIO_BEANS];
}

static inline void begin_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    if (week >= trial->next_due[SCENARIO_BEANS])
        bring_beans(plan, trial, year, week);
    if (week >= trial->store.beans.next_failure)
        store_fail_jars(&trial->store, week, &year->books[SCENARIO_BEANS]);
}

/* Beans are eaten, also for squash that was not had. */
static inline void eat_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                             int of_year)
{
    const struct future_ledger *ledger = &trial->ledger;
    const struct plan_want *want = &plan->want[guests_in(plan, trial, week)][of_year];
    double want_kg = want->kg[SCENARIO_BEANS], got_kg = 0;
    if (want_kg > 0)
        got_kg = store_take_beans(plan, &trial->store, want_kg, &year->books[SCENARIO_BEANS]);
    ledger->wanted_kg[SCENARIO_BEANS][week] = want_kg;
    ledger->wanted_kg[SCENARIO_SQUASH][week] = want->kg[SCENARIO_SQUASH];
    ledger->eaten_kg[SCENARIO_BEANS][week] = got_kg;
    if (got_kg < want_kg || ledger->eaten_kg[SCENARIO_SQUASH][week] < want->kg[SCENARIO_SQUASH])
        make_do(plan, trial, year, week, want);
}

static inline void end_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                             int of_year)
{
    const struct store_beans *beans = &trial->store.beans;
    note_lost(plan, trial, year, SCENARIO_BEANS, week, of_year);
    trial->ledger.stock_kg[SCENARIO_BEANS][week] = beans->kg;
    trial->ledger.count[SCENARIO_BEANS][week] = beans->jars_n;
}

/* Weeks in which beans only stand there, up to the next meal, picking or jar that fails. */
static int untouched(const struct plan *plan, struct future_trial *trial, int week, int until)
{
    const struct store_beans *beans = &trial->store.beans;
    int meal = week + plan->weeks_to_want[plan_week_of(week)];
    until = meal < until ? meal : until;
    until = trial->next_due[SCENARIO_BEANS] < until ? trial->next_due[SCENARIO_BEANS] : until;
    until = beans->next_failure < until ? beans->next_failure : until;
    for (int w = week; w < until; w++) {
        trial->ledger.stock_kg[SCENARIO_BEANS][w] = beans->kg;
        trial->ledger.count[SCENARIO_BEANS][w] = beans->jars_n;
    }
    if (beans->jars_n == 0 && until > week)
        note_empty(trial, SCENARIO_BEANS, week, until);
    return until > week ? until : week;
}

static void live_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    while (week < until) {
        int from = week, of_year = plan_week_of(week);
        if (!plan->wanted[of_year])
            week = untouched(plan, trial, week, until);
        if (week > from)
            continue;
        begin_beans(plan, trial, year, week);
        if (plan->wanted[of_year])
            eat_beans(plan, trial, year, week, of_year);
        end_beans(plan, trial, year, week++, of_year);
    }
}

/* ---- both ------------------------------------------------------------------------------------------ */

/* A week in which one food may have to wait for the other. */
static void live_together(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    struct future_ledger *ledger = &trial->ledger;
    struct kitchen_week table = { .wanted_kg = { 0 }, .eaten_kg = { 0 } };
    int of_year = plan_week_of(week);
    begin_squash(plan, trial, year, week);
    begin_beans(plan, trial, year, week);
    if (plan->wanted[of_year]) {
        double drying_kg = plan->scenario->household.ekes_out ? future_drying_kg(plan, trial, week) : 0.0;
        if (kitchen_serve(plan, &trial->store, week, of_year, guests_in(plan, trial, week), drying_kg, year->books, &table))
            note_short(&table, week, ledger, year);
    }
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        ledger->wanted_kg[food][week] = table.wanted_kg[food];
        ledger->eaten_kg[food][week] = table.eaten_kg[food];
    }
    end_squash(plan, trial, year, week, of_year);
    end_beans(plan, trial, year, week, of_year);
}

void future_live(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    if (plan->foods_apart) {
        live_squash(plan, trial, year, week, until);
        live_beans(plan, trial, year, week, until);
        return;
    }
    for (; week < until; week++)
        live_together(plan, trial, year, week);
}
