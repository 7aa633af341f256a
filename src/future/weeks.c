/* weeks.c: what happens week by week. Where neither food waits for the other, each lives its weeks on its own. */
#include "future/internal.h"

#include <string.h>

/* Where a week stands in a ledger's columns. */
#define AT(week) ((size_t)(week) * PLAN_ABREAST)

/* ---- guests ------------------------------------------------------------------------------------ */

/* Week w's draw stands at position w of its season's stream. A run of wanted weeks is drawn whole. */
void future_expect_guests(const struct plan *plan, struct future_trial *trial, int until)
{
    while (trial->guests_until < until) {
        int next = trial->guests_until + plan->weeks_to_want[plan_week_of(trial->guests_until)];
        trial->guests_until = next;
        if (next >= until)
            return;
        int season = plan_season_of(next);
        const struct plan_run *run = &plan->wanted_run[plan->run_of_week[plan_week_of(next)]];
        uint64_t key = chance_season_key(trial->random_seed, trial->number, season);
        int first = SCENARIO_WEEKS * season + run->week;
        chance_happens_at(&plan->guests, chance_stream(key, plan->guests_key), plan->to_week + run->week, run->n,
                          trial->guests + first);
        trial->guests_until = first + run->n;
    }
}

static inline const struct plan_want *want_in(const struct plan *plan, const struct future_trial *trial, int week)
{
    return &plan->want[trial->guests[week]][week];
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
    struct future_crop_year *season[2] = { nth_season(trial, 0), nth_season(trial, 1) };
    for (int n = 0; n < 2; n++)
        if (is_due(season[n], SCENARIO_BEANS, week))
            future_bring_beans(plan, trial, season[n], week, &year->books[SCENARIO_BEANS]);
    for (int n = 0; n < 2; n++)
        if (season[n]->unsettled > 0 && week >= season[n]->settle_week)
            future_settle_due(plan, trial, season[n], week, year->books);
    int jars = trial->store.beans.jars_n;
    year->jars_peak = jars > year->jars_peak ? jars : year->jars_peak;
    future_note_due(trial, SCENARIO_BEANS, week + 1);
}

/* ---- notes --------------------------------------------------------------------------------------- */

/* A week's loss of a food. */
static void note_lost(const struct plan *plan, struct future_trial *trial, struct future_year *year, int food, int week,
                      double lost_kg)
{
    if (lost_kg == 0)
        return;
    trial->ledger->at.lost_kg[food][AT(week)] = lost_kg;
    if (plan->want[0][week].portions[food] > 0)
        year->books[food].lost_while_wanted += lost_kg;
}

static void note_short(const struct kitchen_week *table, int week, struct future_ledger *ledger, struct future_year *year)
{
    bool any = table->is_short[SCENARIO_BEANS] || table->is_short[SCENARIO_SQUASH];
    for (int food = 0; food < FUTURE_FOODS; food++) {
        bool is_short = food == FUTURE_ANY ? any : table->is_short[food];
        double meals = food == FUTURE_ANY ? table->meals_short[0] + table->meals_short[1] : table->meals_short[food];
        ledger->at.is_short[food][AT(week)] = is_short;
        year->meals_short[food] += meals;
        year->short_weeks[food] += is_short;
        if (is_short && year->first_short[food] == SCENARIO_NEVER)
            year->first_short[food] = week;
    }
}

/* ---- squash --------------------------------------------------------------------------------------- */

/* A week's beginning: fruit has dried since the week before, fruit is brought in, looked over. */
static inline void begin_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    struct store *store = &trial->store;
    if (store->squash.whole_n > 0)
        store_come_to(store, week);
    if (week >= trial->next_due[SCENARIO_SQUASH])
        bring_squash(plan, trial, year, week);
    if (store_finds(store, week))
        store_look_over(plan, store, week, &year->books[SCENARIO_SQUASH]);
}

/* A week's end: cut flesh is a week older; the books, of which `lost_kg` was the loss before this week. */
static inline void end_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                              double lost_kg)
{
    struct store *store = &trial->store;
    struct future_ledger *ledger = trial->ledger;
    store_age_cut(store, &year->books[SCENARIO_SQUASH]);
    note_lost(plan, trial, year, SCENARIO_SQUASH, week, year->books[SCENARIO_SQUASH].lost - lost_kg);
    ledger->at.stock_kg[SCENARIO_SQUASH][AT(week)] = store_squash_kg(store);
    ledger->at.count[SCENARIO_SQUASH][AT(week)] = store->squash.whole_n;
    ledger->stocked_end[SCENARIO_SQUASH] = week + 1;
}

static inline void live_squash_week(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    struct store_books *books = &year->books[SCENARIO_SQUASH];
    double lost_kg = books->lost, want_kg = want_in(plan, trial, week)->kg[SCENARIO_SQUASH];
    begin_squash(plan, trial, year, week);
    if (want_kg > 0)
        trial->ledger->at.eaten_kg[SCENARIO_SQUASH][AT(week)] = store_take_squash(plan, &trial->store, week, want_kg, books);
    end_squash(plan, trial, year, week, lost_kg);
}

static void live_squash(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    const struct store_squash *squash = &trial->store.squash;
    while (week < until) {
        if (squash->cut_weeks > 0 || squash->whole_n > 0 || week >= trial->next_due[SCENARIO_SQUASH])
            live_squash_week(plan, trial, year, week++);
        else                                       /* there is none until the next is cut */
            week = future_earlier(trial->next_due[SCENARIO_SQUASH], until);
    }
}

/* ---- beans ---------------------------------------------------------------------------------------- */

static void make_do(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week,
                    const struct plan_want *want)
{
    struct future_ledger *ledger = trial->ledger;
    struct kitchen_week table;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        table.wanted_portions[food] = want->portions[food];
        table.eaten_kg[food] = ledger->at.eaten_kg[food][AT(week)];
    }
    if (kitchen_make_do(plan, &trial->store, week, want, year->books, &table))
        note_short(&table, week, ledger, year);
    ledger->at.eaten_kg[SCENARIO_BEANS][AT(week)] = table.eaten_kg[SCENARIO_BEANS];
}

static inline void begin_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    if (week >= trial->next_due[SCENARIO_BEANS])
        bring_beans(plan, trial, year, week);
    if (week >= trial->store.beans.next_failure) {
        double lost_kg = year->books[SCENARIO_BEANS].lost;
        store_fail_jars(&trial->store, week, &year->books[SCENARIO_BEANS]);
        note_lost(plan, trial, year, SCENARIO_BEANS, week, year->books[SCENARIO_BEANS].lost - lost_kg);
        trial->ledger->stocked_end[SCENARIO_BEANS] = week + 1;
    }
}

static inline void end_beans(struct future_trial *trial, int week)
{
    const struct store_beans *beans = &trial->store.beans;
    struct future_ledger *ledger = trial->ledger;
    ledger->at.stock_kg[SCENARIO_BEANS][AT(week)] = beans->kg;
    ledger->at.count[SCENARIO_BEANS][AT(week)] = beans->jars_n;
    if (beans->jars_n > 0 || ledger->at.eaten_kg[SCENARIO_BEANS][AT(week)] > 0)
        ledger->stocked_end[SCENARIO_BEANS] = week + 1;
}

/* A week in which a jar is emptied, or something falls short: beans are eaten, also for squash that was not had. */
static void live_scarce_week(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    const struct future_ledger *ledger = trial->ledger;
    const struct plan_want *want = want_in(plan, trial, week);
    double want_kg = want->kg[SCENARIO_BEANS], got_kg = 0;
    if (want_kg > 0)
        got_kg = store_take_beans(plan, &trial->store, want_kg, &year->books[SCENARIO_BEANS]);
    ledger->at.wanted_kg[SCENARIO_BEANS][AT(week)] = want_kg;
    ledger->at.wanted_kg[SCENARIO_SQUASH][AT(week)] = want->kg[SCENARIO_SQUASH];
    ledger->at.eaten_kg[SCENARIO_BEANS][AT(week)] = got_kg;
    if (got_kg < want_kg || ledger->at.eaten_kg[SCENARIO_SQUASH][AT(week)] < want->kg[SCENARIO_SQUASH])
        make_do(plan, trial, year, week, want);
    end_beans(trial, week);
}

/* Weeks from `week` on, `until` at most, in which the open jar has what is wanted of beans, and of squash there was enough;
 * nothing arrives and no jar fails. Returns the first that is not so. */
static int live_plenty(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    struct store_beans *beans = &trial->store.beans;
    struct future_ledger *ledger = trial->ledger;
    struct store_jar *open = store_open_jar(beans);
    double open_kg = open->kg, kg = beans->kg, eaten_kg = 0;
    for (; week < until; week++) {
        const struct plan_want *want = want_in(plan, trial, week);
        double want_kg = want->kg[SCENARIO_BEANS];
        if ((want_kg > 0 && want_kg >= open_kg)
            || ledger->at.eaten_kg[SCENARIO_SQUASH][AT(week)] < want->kg[SCENARIO_SQUASH])
            break;
        open_kg -= want_kg;
        kg -= want_kg;
        eaten_kg += want_kg;
        ledger->at.wanted_kg[SCENARIO_BEANS][AT(week)] = ledger->at.eaten_kg[SCENARIO_BEANS][AT(week)] = want_kg;
        ledger->at.wanted_kg[SCENARIO_SQUASH][AT(week)] = want->kg[SCENARIO_SQUASH];
        ledger->at.stock_kg[SCENARIO_BEANS][AT(week)] = kg;
        ledger->at.count[SCENARIO_BEANS][AT(week)] = beans->jars_n;
    }
    if (eaten_kg > 0)
        store_eat_open(plan, beans, eaten_kg, open_kg, kg, &year->books[SCENARIO_BEANS]);
    if (beans->jars_n > 0)
        ledger->stocked_end[SCENARIO_BEANS] = week;
    return week;
}

static void live_beans(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    while (week < until) {
        begin_beans(plan, trial, year, week);
        int stop = future_earlier(until, future_earlier(trial->next_due[SCENARIO_BEANS], trial->store.beans.next_failure));
        week = live_plenty(plan, trial, year, week, stop);
        if (week < stop)
            live_scarce_week(plan, trial, year, week++);
    }
}

/* ---- both ------------------------------------------------------------------------------------------ */

/* A week in which one food may have to wait for the other. */
static void live_together(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week)
{
    struct future_ledger *ledger = trial->ledger;
    struct kitchen_week table = { .wanted_kg = { 0 }, .eaten_kg = { 0 } };
    const struct plan_want *want = want_in(plan, trial, week);
    double lost_kg = year->books[SCENARIO_SQUASH].lost;
    begin_squash(plan, trial, year, week);
    begin_beans(plan, trial, year, week);
    if (want->any) {
        double drying_kg = plan->scenario->household.ekes_out ? future_drying_kg(plan, trial, week) : 0.0;
        if (kitchen_serve(plan, &trial->store, week, want, drying_kg, year->books, &table))
            note_short(&table, week, ledger, year);
    }
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        ledger->at.wanted_kg[food][AT(week)] = table.wanted_kg[food];
        ledger->at.eaten_kg[food][AT(week)] = table.eaten_kg[food];
    }
    end_squash(plan, trial, year, week, lost_kg);
    end_beans(trial, week);
}

void future_live(const struct plan *plan, struct future_trial *trial, struct future_year *year, int week, int until)
{
    future_expect_guests(plan, trial, until);
    if (plan->foods_apart) {
        live_squash(plan, trial, year, week, until);
        live_beans(plan, trial, year, week, until);
        return;
    }
    for (; week < until; week++)
        live_together(plan, trial, year, week);
}
