/* beans_abreast.c: weeks of beans, trials side by side: pickings come in, meals are eaten, beans stand in for squash. The same
 * rules as weeks.c and the kitchen have for one trial. */
#include "future/beans_abreast.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST };

bool future_beans_room(struct base_arena *arena, const struct plan *plan, struct future_beans *beans)
{
    beans->pickings = base_arena_array(arena, (size_t)plan->beans_n + 1, sizeof *beans->pickings);
    return beans->pickings && store_beans_room(arena, plan, &beans->store);
}

/* ---- before the first week ------------------------------------------------------------------------ */

static void begin(const struct plan *plan, struct future_beans *beans, const struct harvest_picked *picked,
                  const uint64_t *season_key, const struct future_span *span)
{
    const struct store_side none = { { 0 } };
    for (int i = 0; i < SIDE; i++) {
        bool is = i < span->n;
        beans->first.at[i] = beans->stocked_end.at[i] = is ? span->first[i] : SCENARIO_NEVER;
        beans->end.at[i] = is ? span->end[i] : 0;
        for (int food = 0; food < FUTURE_FOODS; food++)
            beans->first_short[food].at[i] = SCENARIO_NEVER;
    }
    beans->in = beans->seed = beans->sorted_out = beans->lost_while_wanted = beans->jars_peak = none;
    for (int food = 0; food < FUTURE_FOODS; food++)
        beans->short_weeks[food] = beans->meals_short[food] = none;
    for (int i = 0; i < plan->beans_n; i++) {
        const struct plan_planting *p = &plan->plantings[plan->beans[i]];
        struct future_pickings *pickings = &beans->pickings[i];
        *pickings = (struct future_pickings){ .of = &picked[i], .first = picked[i].first,
                                              .last = future_earlier(picked[i].last, span->until - 1) };
        for (int t = 0; t < span->n && p->seed_due_kg > 0; t++)
            pickings->seed_due_kg.at[t] = p->seed_due_kg;
    }
    store_beans_clear(&beans->store, season_key, span->n, span->until);
}

/* ---- pickings -------------------------------------------------------------------------------------- */

/* Sorts a planting's picking of a week and sets seed aside: what is left for the jars. */
BASE_PART void sort_picking(struct future_beans *beans, struct future_pickings *pickings, double week,
                            const double *restrict arrives_kg, double *restrict kg)
{
    BASE_SIDE_BY_SIDE(i) {
        double comes = arrives_kg[i], picked = week < beans->end.at[i] ? comes : 0.0;
        double bad = picked * pickings->of->sorted_out[i], good = picked - bad;
        double due = pickings->seed_due_kg.at[i], seed = good < due ? good : due, rest = good - seed;
        pickings->seed_due_kg.at[i] = due - seed;
        beans->sorted_out.at[i] += bad;
        beans->seed.at[i] += seed;
        beans->in.at[i] += good;
        kg[i] = rest;
    }
}

BASE_PART void note_peak(double *restrict peak, const double *restrict jars)
{
    BASE_SIDE_BY_SIDE(i)
        peak[i] = jars[i] > peak[i] ? jars[i] : peak[i];
}

BASE_PART void bring(struct future_beans *beans, int week)
{
    double kg[SIDE];
    for (int i = 0; i < beans->store.plantings_n; i++) {
        struct future_pickings *pickings = &beans->pickings[i];
        if (week < pickings->first || week > pickings->last)
            continue;
        sort_picking(beans, pickings, week, pickings->of->arrives_kg + week * SIDE, kg);
        store_bring_abreast(&beans->store, i, week, kg);
    }
    note_peak(beans->jars_peak.at, beans->store.jars.at);
}

/* Seed of a planting is short in a trial: does that change more than what is bought? Jars of the same crop would be drawn on,
 * where there have been any; fewer units would be put out where seed is not bought. */
static bool seed_matters(const struct plan *plan, const struct future_beans *beans, int i, int trial)
{
    const struct plan_planting *p = &plan->plantings[plan->beans[i]];
    for (int other = 0; other < plan->beans_n; other++)
        if (plan->plantings[plan->beans[other]].crop->name == p->crop->name && beans->store.of[other].begun.at[trial] > 0)
            return true;
    return !p->crop->buys_seed && future_units_covered(p, beans->pickings[i].seed_due_kg.at[trial]) != p->planting->count;
}

/* Bits of the trials in which seed is due, and that matters, at the beginning of a week in which it is settled at the latest. */
static unsigned seed_is_short(const struct plan *plan, const struct future_beans *beans, const struct future_span *span, int week)
{
    unsigned bits = 0;
    for (int i = 0; i < beans->store.plantings_n; i++)
        for (int t = 0; t < span->n; t++)
            if (week >= span->spring[t] && beans->pickings[i].seed_due_kg.at[t] > 0 && seed_matters(plan, beans, i, t))
                bits |= 1u << t;
    return bits;
}

/* ---- jars that fail ---------------------------------------------------------------------------------- */

static void fail(const struct plan *plan, struct future_beans *beans, int week, double *lost_kg)
{
    bool wanted = plan->want[0][week].portions[SCENARIO_BEANS] > 0;
    for (int t = 0; t < SIDE; t++) {
        double before = beans->store.lost.at[t];
        if (beans->store.next_failure.at[t] > week || week >= beans->end.at[t])
            continue;
        store_fail_abreast(&beans->store, t, week);
        lost_kg[t] = beans->store.lost.at[t] - before;
        beans->lost_while_wanted.at[t] += wanted ? lost_kg[t] : 0.0;
        beans->stocked_end.at[t] = week + 1;
    }
}

/* ---- meals -------------------------------------------------------------------------------------------- */

/* What is wanted in a week, without guests and with some: of beans in kg; to be eaten. */
BASE_PART void aim(const struct future_beans *beans, double week, const double *restrict guests, double kg,
                   double guests_kg, double *restrict want_kg, double *restrict left)
{
    double want[SIDE];
    future_want_in_week(beans->first.at, beans->end.at, week, guests, kg, guests_kg, want);
    memcpy(want_kg, want, sizeof want);
    memcpy(left, want, sizeof want);
}

/* What was eaten of beans. A bit is set for each food of which there was too little in some trial. */
BASE_PART uint64_t finish_beans(double *restrict eaten, const double *restrict want_kg, const double *restrict left,
                                double *restrict eaten_kg, const double *restrict want_squash_kg,
                                const double *restrict squash_kg)
{
    uint64_t too_little = 0;
    BASE_SIDE_BY_SIDE(i) {
        double want = want_kg[i], got = want - left[i];
        eaten_kg[i] = got;
        eaten[i] += got;
        too_little |= (uint64_t)(got < want) << SCENARIO_BEANS
                      | (uint64_t)(squash_kg[i] < want_squash_kg[i]) << SCENARIO_SQUASH;
    }
    return too_little;
}

/* Portions that were served of those wanted of one food. */
BASE_PART void serve(const struct future_beans *beans, int week, double portions, double guests_portions,
                     double portion_kg, const double *restrict want_kg, const double *restrict eaten_kg,
                     double *restrict wanted, double *restrict served)
{
    future_want_in_week(beans->first.at, beans->end.at, week, beans->guests + (size_t)week * SIDE, portions, guests_portions,
                        wanted);
    BASE_SIDE_BY_SIDE(i) {
        double got = eaten_kg[i], made = got / portion_kg;
        served[i] = got >= want_kg[i] ? wanted[i] : made;
    }
}

/* kg of beans that would stand in for the squash that is missing. */
BASE_PART void gap_of(struct future_table *table, double portion_kg, double *restrict left)
{
    BASE_SIDE_BY_SIDE(i) {
        double gap = table->wanted[SCENARIO_SQUASH].at[i] - table->served[SCENARIO_SQUASH].at[i], kg = gap * portion_kg;
        table->gap_kg.at[i] = left[i] = gap > 0 ? kg : 0.0;
    }
}

/* Beans have stood in. */
BASE_PART void fill_gap(struct future_table *restrict table, double portion_kg, const double *restrict left,
                        double *restrict eaten_kg, double *restrict eaten)
{
    BASE_SIDE_BY_SIDE(i) {
        double served = table->served[SCENARIO_SQUASH].at[i], gap = table->wanted[SCENARIO_SQUASH].at[i] - served;
        double want = table->gap_kg.at[i], got = want - left[i], made = got / portion_kg;
        made = got >= want ? gap : made;
        made = gap > 0 ? made : 0.0;
        table->served[SCENARIO_SQUASH].at[i] = served + made;
        eaten_kg[i] += got;
        eaten[i] += got;
    }
}

/* Books what was short of one food; meals of either of them. */
BASE_PART void book_short(const double *restrict wanted, const double *restrict served, double enough,
                          double meals_per_week, double *restrict is_short, double *restrict meals_short,
                          double *restrict any_meals_short)
{
    double meals[SIDE];
    BASE_SIDE_BY_SIDE(i) {
        double missing = (1 - served[i] / wanted[i]) * meals_per_week;
        meals[i] = served[i] < wanted[i] ? missing : 0.0;
    }
    BASE_SIDE_BY_SIDE(i) {
        is_short[i] = ((served[i] < wanted[i]) & (served[i] < enough * wanted[i])) ? 1.0 : 0.0;
        meals_short[i] += meals[i];
        any_meals_short[i] += meals[i];
    }
}

/* Notes the trials whose week is short. */
BASE_PART void note_short(struct future_beans *restrict beans, int food, double week, const double *restrict is_short,
                          uint8_t *restrict column)
{
    BASE_SIDE_BY_SIDE(i) {
        double first = beans->first_short[food].at[i], is = is_short[i], now = week < first ? week : first;
        beans->short_weeks[food].at[i] += is;
        beans->first_short[food].at[i] = is > 0 ? now : first;
    }
    base_side_flags(column, is_short);
}

/* Books a week that is short of some foods, each a bit, in some trial. */
BASE_PART void book_week(const struct plan *plan, struct future_beans *beans, int week, uint64_t too_little,
                         const struct future_table *table, const struct future_columns *columns)
{
    const struct scenario_household *household = &plan->scenario->household;
    size_t row = (size_t)week * SIDE;
    double is_short[SCENARIO_FOODS][SIDE] = { { 0 } }, any_short[SIDE];
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        if (!(too_little >> food & 1))
            continue;
        book_short(table->wanted[food].at, table->served[food].at, household->enough - 1e-9,
                   household->meal[food].meals_per_week, is_short[food], beans->meals_short[food].at,
                   beans->meals_short[FUTURE_ANY].at);
        note_short(beans, food, week, is_short[food], columns->is_short[food] + row);
    }
    BASE_SIDE_BY_SIDE(i)
        any_short[i] = is_short[0][i] > is_short[1][i] ? is_short[0][i] : is_short[1][i];
    note_short(beans, FUTURE_ANY, week, any_short, columns->is_short[FUTURE_ANY] + row);
}

/* A week in which there was too little of some foods, each a bit, in some trial: beans stand in for squash. */
BASE_PART void make_do(const struct plan *plan, struct future_beans *beans, int week, uint64_t too_little,
                       const struct future_columns *columns)
{
    const struct scenario_household *household = &plan->scenario->household;
    const double beans_kg = household->meal[SCENARIO_BEANS].portion_kg;
    size_t row = (size_t)week * SIDE;
    struct future_table table;
    double left[SIDE];
    for (int food = 0; food < SCENARIO_FOODS; food++)
        if (too_little >> food & 1)
            serve(beans, week, plan->want[0][week].portions[food], plan->want[1][week].portions[food],
                  household->meal[food].portion_kg, columns->wanted_kg[food] + row, columns->eaten_kg[food] + row,
                  table.wanted[food].at, table.served[food].at);
    if (household->beans_stand_in && too_little >> SCENARIO_SQUASH & 1) {
        gap_of(&table, beans_kg, left);
        store_eat_abreast(&beans->store, left);
        fill_gap(&table, beans_kg, left, columns->eaten_kg[SCENARIO_BEANS] + row, beans->store.eaten.at);
    }
    book_week(plan, beans, week, too_little, &table, columns);
}

BASE_PART void eat(const struct plan *plan, struct future_beans *beans, int week, const struct future_columns *columns)
{
    size_t row = (size_t)week * SIDE;
    double left[SIDE], *want_kg = columns->wanted_kg[SCENARIO_BEANS] + row;
    aim(beans, week, beans->guests + week * SIDE, plan->want[0][week].kg[SCENARIO_BEANS], plan->want[1][week].kg[SCENARIO_BEANS],
        want_kg, left);
    if (plan->want[0][week].kg[SCENARIO_BEANS] > 0)
        store_eat_abreast(&beans->store, left);
    uint64_t too_little = finish_beans(beans->store.eaten.at, want_kg, left, columns->eaten_kg[SCENARIO_BEANS] + row,
                                       columns->wanted_kg[SCENARIO_SQUASH] + row, columns->eaten_kg[SCENARIO_SQUASH] + row);
    if (too_little)
        make_do(plan, beans, week, too_little, columns);
}

/* ---- weeks --------------------------------------------------------------------------------------------- */

/* A week's end: notes of the trials whose weeks they are. */
BASE_PART void end_week(struct future_beans *restrict beans, double week, const double *restrict eaten_kg,
                        double *restrict stock_kg, int32_t *restrict count)
{
    double in_jars[SIDE];
    BASE_SIDE_BY_SIDE(i) {
        double end = beans->end.at[i], jars = beans->store.jars.at[i], kg = beans->store.kg.at[i];
        double stocked = beans->stocked_end.at[i];
        in_jars[i] = week < end ? jars : 0.0;
        stock_kg[i] = week < end ? kg : 0.0;
        beans->stocked_end.at[i] = in_jars[i] + eaten_kg[i] > 0 ? week + 1 : stocked;
    }
    BASE_SIDE_BY_SIDE(i)
        count[i] = (int32_t)in_jars[i];
}

BASE_VECTOR static void live_week(const struct plan *plan, struct future_beans *beans, int week,
                                  const struct future_columns *columns)
{
    size_t row = (size_t)week * SIDE;
    bring(beans, week);
    if (week >= beans->store.soonest_failure)
        fail(plan, beans, week, columns->lost_kg[SCENARIO_BEANS] + row);
    if (plan->want[0][week].any)
        eat(plan, beans, week, columns);
    end_week(beans, week, columns->eaten_kg[SCENARIO_BEANS] + row, columns->stock_kg[SCENARIO_BEANS] + row,
             columns->count[SCENARIO_BEANS] + row);
}

unsigned future_live_beans_abreast(const struct plan *plan, struct future_beans *beans, const struct harvest_picked *picked,
                                   const uint64_t *season_key, const double *guests, const struct future_span *span,
                                   const struct future_columns *columns)
{
    int spring = span->spring[0], last_picking = -1;
    unsigned alone = 0;
    for (int t = 1; t < span->n; t++)
        spring = future_earlier(spring, span->spring[t]);
    begin(plan, beans, picked, season_key, span);
    beans->guests = guests;
    for (int i = 0; i < plan->beans_n; i++)
        last_picking = future_later(last_picking, beans->pickings[i].last);
    for (int week = span->from; week < span->until; week++) {
        if (week >= spring && week <= last_picking)
            alone |= seed_is_short(plan, beans, span, week);
        live_week(plan, beans, week, columns);
    }
    return alone | seed_is_short(plan, beans, span, SCENARIO_NEVER) | beans->store.alone;
}

void future_book_beans(const struct future_beans *beans, int t, struct future_year *year)
{
    const struct store_beans_abreast *store = &beans->store;
    struct store_books *books = &year->books[SCENARIO_BEANS];
    books->in = beans->in.at[t];
    books->seed = beans->seed.at[t];
    books->sorted_out = beans->sorted_out.at[t];
    books->eaten = store->eaten.at[t];
    books->lost = store->lost.at[t];
    books->lost_while_wanted = beans->lost_while_wanted.at[t];
    for (int i = 0; i < store->plantings_n; i++) {
        books->kcal += store->of[i].eaten.at[t] * store->of[i].kcal_per_kg;
        books->protein_g += store->of[i].eaten.at[t] * store->of[i].protein_g_per_kg;
    }
    year->jars_peak = (int)beans->jars_peak.at[t];
    for (int food = 0; food < FUTURE_FOODS; food++) {
        year->short_weeks[food] = (int)beans->short_weeks[food].at[t];
        year->meals_short[food] = beans->meals_short[food].at[t];
        year->first_short[food] = (int)beans->first_short[food].at[t];
    }
}
