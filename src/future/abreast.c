/* abreast.c: trials side by side, where a season's harvest is all that there is to live on for one food year and squash does
 * not wait for beans: squash of all trials, then beans. */
#include "future/beans_abreast.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST, MOST_CUTTINGS = 200, MOST_CLASSES = 20000, MOST_FRUITS = 50000 };

struct future_abreast {
    struct harvest_picked *picked;          /* [plan->beans_n] */
    struct harvest_abreast *cut;            /* [plan->squash_n] */
    struct store_abreast store;
    struct future_beans beans;
    double *year_factor;                    /* [crop * SIDE + trial] */
    double *guests;                         /* [week * SIDE + trial] 1 where there are any and something is wanted, else 0 */
    int first[SIDE], spring[SIDE], end[SIDE];
    uint64_t key[SIDE];                     /* of season 0 */
    const struct season_abreast *grown;     /* its weather */
    /* what others may copy */
    struct season_abreast weather[2];       /* of seasons 0 and 1 */
    int next[SIDE];                         /* first weeks of season 1, of common plantings */
    uint64_t grown_seed, grown_first;       /* the block that was grown last */
    int grown_n;
};

bool future_abreast_fits(const struct plan *plan)
{
    return plan->scenario->food_years == 1 && plan->foods_apart && !plan->stock_take && plan->shelf_fruits_n == 0
           && plan->shelf_jars_n == 0 && !plan->reading && plan->scenario->store.look_over_weeks == 1 && plan->squash_n > 0
           && plan->squash_n <= MOST_CUTTINGS && plan->squash_n * plan->places_n <= MOST_CLASSES
           && plan->most_fruits_a_season <= MOST_FRUITS;
}

struct future_abreast *future_abreast_room(struct base_arena *arena, const struct plan *plan)
{
    struct future_abreast *abreast = base_arena_take(arena, sizeof *abreast);
    if (!abreast)
        return NULL;
    abreast->picked = base_arena_array(arena, (size_t)plan->beans_n + 1, sizeof *abreast->picked);
    abreast->cut = base_arena_array(arena, (size_t)plan->squash_n, sizeof *abreast->cut);
    abreast->year_factor = base_arena_array(arena, (size_t)plan->crops_n * SIDE, sizeof *abreast->year_factor);
    abreast->guests = base_arena_array(arena, ((size_t)plan->weeks + SCENARIO_WEEKS) * SIDE, sizeof *abreast->guests);
    bool good = abreast->picked && abreast->cut && abreast->year_factor && abreast->guests
                && store_abreast_room(arena, plan, &abreast->store) && future_beans_room(arena, plan, &abreast->beans);
    for (int i = 0; good && i < plan->squash_n; i++)
        good = harvest_abreast_room(arena, &plan->plantings[plan->squash[i]], &abreast->cut[i]);
    for (int i = 0; good && i < plan->beans_n; i++)
        good = harvest_picked_room(arena, &abreast->picked[i]);
    return good ? abreast : NULL;
}

static void season_keys(uint64_t random_seed, uint64_t first, int season, uint64_t key[SIDE])
{
    for (int t = 0; t < SIDE; t++)
        key[t] = chance_season_key(random_seed, first + (uint64_t)t, season);
}

/* The workspace that has grown this block, from which this one copies; NULL: it grows everything itself. */
static const struct future_abreast *giver_of(const struct future_trial *trial, uint64_t random_seed, uint64_t first, int n)
{
    const struct future_abreast *giver = trial->share.from ? trial->share.from->abreast : NULL;
    bool has = giver && giver->grown_seed == random_seed && giver->grown_first == first && giver->grown_n == n;
    return has ? giver : NULL;
}

/* The weather of season 0 or 1, and, of season 0, the words that trials share out: see future_first_week. */
static const struct season_abreast *draw_weather(const struct plan *plan, const struct future_trial *trial,
                                                 const struct future_abreast *giver, int season, const uint64_t key[SIDE],
                                                 uint64_t first)
{
    struct season_abreast *own = &trial->abreast->weather[season];
    if (giver)
        return &giver->weather[season];
    season_draw_abreast(plan, season, key, future_points(plan, trial, season, first, SIDE), own);
    own->point = season == 0 ? own->point : NULL;
    return own;
}

static void grow_beans(const struct plan *plan, struct future_trial *trial, const struct future_abreast *giver,
                       const uint64_t key[SIDE], const struct season_abreast *weather, int n)
{
    struct future_abreast *abreast = trial->abreast;
    struct season_weeks weeks;
    season_forget_weeks(&weeks);
    for (int i = 0; i < plan->beans_n; i++) {
        const int at = plan->beans[i];
        const struct plan_planting *p = &plan->plantings[at];
        if (giver && trial->share.planting[at])
            harvest_copy_picked(&giver->picked[i], &abreast->picked[i]);
        else
            harvest_beans_abreast(plan, p, key, weather, abreast->year_factor + p->crop_index * SIDE, n, &weeks,
                                  &abreast->picked[i]);
    }
}

static void grow_squash(const struct plan *plan, struct future_trial *trial, const struct future_abreast *giver,
                        const uint64_t key[SIDE], const struct season_abreast *weather, int n)
{
    struct future_abreast *abreast = trial->abreast;
    for (int i = 0; i < plan->squash_n; i++) {
        const struct plan_planting *p = &plan->plantings[plan->squash[i]];
        struct harvest_abreast *cut = &abreast->cut[i];
        if (giver && trial->share.planting[plan->squash[i]])
            harvest_copy_abreast(&giver->cut[i], cut);
        else
            harvest_squash_abreast(plan, p, key, weather, abreast->year_factor + p->crop_index * SIDE, n, cut);
    }
}

/* Season 0 of n trials. */
static void grow(const struct plan *plan, struct future_trial *trial, const struct future_abreast *giver, uint64_t random_seed,
                 uint64_t first, int n)
{
    struct future_abreast *abreast = trial->abreast;
    season_keys(random_seed, first, 0, abreast->key);
    const uint64_t *key = abreast->key;
    const struct season_abreast *weather = draw_weather(plan, trial, giver, 0, key, first);
    if (giver && trial->share.crops)
        memcpy(abreast->year_factor, giver->year_factor, (size_t)plan->crops_n * SIDE * sizeof *abreast->year_factor);
    else
        harvest_year_factors_abreast(plan, key, weather, abreast->year_factor);
    grow_beans(plan, trial, giver, key, weather, n);
    grow_squash(plan, trial, giver, key, weather, n);
    abreast->grown_seed = random_seed;
    abreast->grown_first = first;
    abreast->grown_n = n;
    abreast->grown = weather;
}

/* Absolute weeks in which trials' season 1 brings its first produce. */
static void next_first_weeks(const struct plan *plan, struct future_trial *trial, const struct future_abreast *giver,
                             uint64_t random_seed, uint64_t first, int week[SIDE])
{
    struct future_abreast *abreast = trial->abreast;
    const bool *common = trial->share.common;
    uint64_t key[SIDE];
    season_keys(random_seed, first, 1, key);
    const struct season_abreast *weather = draw_weather(plan, trial, giver, 1, key, first);
    for (int t = 0; t < SIDE; t++)
        week[t] = giver ? giver->next[t] : SCENARIO_NEVER;
    if (common && !giver) {
        harvest_first_weeks(plan, key, weather, common, true, week);
        memcpy(abreast->next, week, sizeof abreast->next);
    }
    harvest_first_weeks(plan, key, weather, common, false, week);
    for (int t = 0; t < SIDE; t++)
        week[t] = SCENARIO_WEEKS + (week[t] < SCENARIO_NEVER ? week[t] : plan->no_produce_week);
}

/* The trials' food years: from their first produce to the next season's in weeks `next`. */
static struct future_span frame(const struct plan *plan, struct future_abreast *abreast, const int *next, int n)
{
    struct future_span span = { abreast->first, abreast->spring, abreast->end, n, SCENARIO_NEVER, 0 };
    for (int t = 0; t < n; t++) {
        int first = SCENARIO_NEVER;
        for (int i = 0; i < plan->beans_n; i++)
            first = future_earlier(first, (int)abreast->picked[i].first_week[t]);
        for (int i = 0; i < plan->squash_n; i++)
            if (abreast->cut[i].n[t] > 0)
                first = future_earlier(first, abreast->cut[i].cut_week[t]);
        abreast->first[t] = first < SCENARIO_NEVER ? first : plan->no_produce_week;
        abreast->spring[t] = future_later(abreast->first[t], SCENARIO_WEEKS + plan->first_out_week);
        abreast->end[t] = future_later(abreast->spring[t], next[t]);
        span.from = future_earlier(span.from, abreast->first[t]);
        span.until = future_later(span.until, abreast->end[t]);
    }
    return span;
}

/* ---- guests, and what is wanted of squash --------------------------------------------------------- */

struct streams { uint64_t state[SIDE], inc[SIDE]; };

BASE_VECTOR static void draw_guests(const struct plan *plan, const uint64_t *restrict state, const uint64_t *restrict inc, int week,
                                    int n, double *restrict rows)
{
    const struct chance_bernoulli guests = plan->guests;
    for (int w = 0; w < n; w++) {
        const struct chance_jump jump = plan->to_week[week + w];
        BASE_SIDE_BY_SIDE(i) {
            bool any = chance_happens(&guests, chance_pcg_output(state[i] * jump.multiplier + inc[i] * jump.sum));
            rows[w * SIDE + i] = any ? 1.0 : 0.0;
        }
    }
}

/* Guests of one run of weeks of a season that begins in week `start`, as far as it is in from .. until - 1. */
static void invite(const struct plan *plan, struct future_abreast *abreast, const struct streams *pcg, int start, int run,
                   int from, int until)
{
    from = future_later(from, start + plan->wanted_run[run].week);
    until = future_earlier(until, start + plan->wanted_run[run].week + plan->wanted_run[run].n);
    if (from >= until)
        return;
    draw_guests(plan, pcg->state, pcg->inc, from - start, until - from, abreast->guests + from * SIDE);
}

static void expect_guests(const struct plan *plan, struct future_abreast *abreast, uint64_t random_seed, uint64_t first, int from,
                          int until)
{
    if (plan->guests.below == 0)
        return;
    for (int season = plan_season_of(from); SCENARIO_WEEKS * season < until; season++) {
        uint64_t key[SIDE];
        struct streams pcg;
        season_keys(random_seed, first, season, key);
        chance_stream_row(key, plan->guests_key, SIDE, pcg.state, pcg.inc);
        for (int run = 0; run < plan->wanted_runs_n; run++)
            invite(plan, abreast, &pcg, SCENARIO_WEEKS * season, run, from, until);
    }
}

/* Squash wanted by the trials in their food years; elsewhere the column holds 0. */
BASE_VECTOR static void want_squash(const struct plan *plan, const double *restrict guests, const double *restrict first,
                                    const double *restrict end, const struct future_span *span, double *restrict wanted_kg)
{
    for (int week = span->from; week < span->until; week++) {
        double alone = plan->want[0][week].kg[SCENARIO_SQUASH], together = plan->want[1][week].kg[SCENARIO_SQUASH];
        if (alone > 0 || together > 0)
            future_want_in_week(first, end, week, guests + week * SIDE, alone, together, wanted_kg + week * SIDE);
    }
}

/* Guests of all trials in their food years, and the column of squash wanted. */
static void set_table(const struct plan *plan, struct future_abreast *abreast, uint64_t random_seed, uint64_t number,
                      const struct future_span *span, double *wanted_kg)
{
    double first[SIDE] = { 0 }, end[SIDE] = { 0 };
    for (int t = 0; t < span->n; t++) {
        first[t] = span->first[t];
        end[t] = span->end[t];
    }
    expect_guests(plan, abreast, random_seed, number, span->from, span->until);
    want_squash(plan, abreast->guests, first, end, span, wanted_kg);
}

/* What the field gave and lost in one trial. */
static void book_field(const struct plan *plan, const struct future_abreast *abreast, int t, struct store_books *books)
{
    struct store_books *beans = &books[SCENARIO_BEANS], *squash = &books[SCENARIO_SQUASH];
    for (int i = 0; i < plan->beans_n; i++) {
        beans->grown += abreast->picked[i].grown_kg[t];
        beans->field_loss += abreast->picked[i].field_loss_kg[t];
    }
    for (int i = 0; i < plan->squash_n; i++) {
        squash->grown += abreast->cut[i].grown_kg[t];
        squash->field_loss += abreast->cut[i].field_loss_kg[t];
    }
}

/* One trial's year as a whole. */
static void note_year(const struct plan *plan, const struct future_abreast *abreast, struct future_ledger *ledger, int t)
{
    struct future_year *year = &ledger->year[0];
    const struct store_books squash = store_books_of(&abreast->store, t);
    int first = abreast->first[t], end = abreast->end[t];
    future_open_year(year, first, 0, (int)abreast->store.fruits_peak.at[t]);
    future_note_frosts(0, abreast->grown->last_frost[t], abreast->grown->first_hard_frost[t], year);
    future_book_beans(&abreast->beans, t, year);
    year->books[SCENARIO_SQUASH] = squash;
    book_field(plan, abreast, t, year->books);
    ledger->first_week = first;
    ledger->end_week = end;
    ledger->stocked_end[SCENARIO_BEANS] = (int)abreast->beans.stocked_end.at[t];
    ledger->stocked_end[SCENARIO_SQUASH] = (int)abreast->store.stocked_end.at[t];
    ledger->balanced = true;
    ledger->worst_imbalance = 0;
    future_close_year(ledger, year, end, abreast->beans.store.kg.at[t], year->books[SCENARIO_SQUASH].left);
}

unsigned future_run_abreast(const struct plan *plan, struct future_trial *trial, uint64_t random_seed, uint64_t first, int n)
{
    struct future_abreast *abreast = trial->abreast;
    struct future_block *block = &trial->block;
    const struct future_columns *columns = &block->columns;
    const struct store_weeks weeks = { columns->wanted_kg[SCENARIO_SQUASH], columns->eaten_kg[SCENARIO_SQUASH],
                                       columns->stock_kg[SCENARIO_SQUASH], columns->lost_kg[SCENARIO_SQUASH],
                                       columns->count[SCENARIO_SQUASH] };
    const struct future_abreast *giver = giver_of(trial, random_seed, first, n);
    int next[SIDE];
    grow(plan, trial, giver, random_seed, first, n);
    next_first_weeks(plan, trial, giver, random_seed, first, next);
    unsigned alone = store_lay_ready(plan, &abreast->store, abreast->cut, n);
    const struct future_span span = frame(plan, abreast, next, n);
    set_table(plan, abreast, random_seed, first, &span, columns->wanted_kg[SCENARIO_SQUASH]);
    store_live_abreast(plan, &abreast->store, abreast->first, abreast->end, n, &weeks);
    alone |= future_live_beans_abreast(plan, &abreast->beans, abreast->picked, abreast->key, abreast->guests, &span, columns);
    for (int t = 0; t < n; t++)
        note_year(plan, abreast, &block->ledger[t], t);
    return alone;
}
