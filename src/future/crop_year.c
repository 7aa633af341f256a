/* crop_year.c: a season of all plantings: growing it, bringing it in, its seed. */
#include "future/internal.h"

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

/* Widens the weeks in which a food is due. */
static void note_arrivals(struct future_crop_year *season, int food, int first, int end)
{
    season->due[food] = future_earlier(season->due[food], first);
    season->due_end[food] = future_later(season->due_end[food], end);
}

static void note_pickings(const struct plan *plan, struct future_crop_year *season)
{
    int start = SCENARIO_WEEKS * season->number;
    for (int i = 0; i < plan->beans_n; i++) {
        const struct harvest *harvest = &season->harvest[plan->beans[i]];
        season->picking[i] = (struct future_picking){ .start = start, .planting = plan->beans[i],
            .first = harvest->first_week < SCENARIO_NEVER ? start + harvest->first_week : SCENARIO_NEVER,
            .last = start + harvest->last_week, .heap = store_heap_of(plan, plan->beans[i], season->number),
            .arrives_kg = harvest->arrives_kg, .sorted_out = harvest->sorted_out };
    }
}

void future_note_weeks(const struct plan *plan, struct future_crop_year *season)
{
    int start = SCENARIO_WEEKS * season->number, first = SCENARIO_NEVER;
    note_pickings(plan, season);
    season->settle_week = season->due[SCENARIO_BEANS] = season->due[SCENARIO_SQUASH] = SCENARIO_NEVER;
    season->due_end[SCENARIO_BEANS] = season->due_end[SCENARIO_SQUASH] = start;
    for (int i = 0; i < plan->squash_n; i++) {
        const struct harvest *harvest = &season->harvest[plan->squash[i]];
        if (harvest->n > 0)
            note_arrivals(season, SCENARIO_SQUASH, start + harvest->cut_week, start + harvest->cut_week + 1);
    }
    for (int i = 0; i < plan->beans_n; i++) {
        const struct harvest *harvest = &season->harvest[plan->beans[i]];
        if (harvest->first_week < SCENARIO_NEVER)
            note_arrivals(season, SCENARIO_BEANS, start + harvest->first_week, start + harvest->last_week + 1);
        if (!season->seed_settled[plan->beans[i]])
            season->settle_week = future_earlier(season->settle_week, start + harvest->last_week);
    }
    first = future_earlier(season->due[SCENARIO_BEANS], season->due[SCENARIO_SQUASH]);
    season->first_week = first < SCENARIO_NEVER ? first : start + plan->no_produce_week;
    for (int i = 0; i < plan->beans_n; i++)          /* seed is settled in a week of its own when nothing comes */
        if (!season->seed_settled[plan->beans[i]]) {
            int last = start + season->harvest[plan->beans[i]].last_week;
            note_arrivals(season, SCENARIO_BEANS, future_later(last, season->first_week), last + 1);
        }
}

void future_sow(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int number)
{
    season->number = number;
    season->unsettled = 0;
    season->key = chance_season_key(trial->random_seed, trial->number, number);
    for (int p = 0; p < plan->plantings_n; p++) {
        season->count[p] = trial->next_count[p];
        season->seed_due_kg[p] = plan->plantings[p].seed_due_kg;
        season->seed_settled[p] = plan->plantings[p].crop->kind != SCENARIO_KIND_BEANS
                                  || plan->plantings[p].seed_due_kg <= 0;
        season->unsettled += !season->seed_settled[p];
        trial->next_count[p] = plan->plantings[p].planting->count;
    }
}

const uint64_t *future_points(const struct plan *plan, const struct future_trial *trial, int season, uint64_t first, int n)
{
    if (plan->points)
        plan_draw_points(plan, season, first, n, trial->point, trial->score);
    return plan->points ? trial->point : NULL;
}

static void draw_weather(const struct plan *plan, const struct future_trial *trial, uint64_t key, int number,
                         struct season *weather)
{
    const uint64_t *point = future_points(plan, trial, number, trial->number, 1);
    if (number == 0 && plan->weather.this_season.known_n > 0)
        season_draw_known(plan, key, point, weather);
    else
        season_draw(plan, key, point, weather);
}

static void grow_planting(const struct plan *plan, const struct future_trial *trial, struct future_crop_year *season, int p)
{
    harvest_draw(plan, p, season->count[p], season->key, &season->weather, trial->year_factor[plan->plantings[p].crop_index],
                 &season->harvest[p]);
}

void future_grow(const struct plan *plan, struct future_trial *trial, int number)
{
    struct future_crop_year *season = &trial->crop_year[number & 1];
    future_sow(plan, trial, season, number);
    draw_weather(plan, trial, season->key, number, &season->weather);
    harvest_year_factors(plan, season->key, &season->weather, trial->year_factor);
    for (int p = 0; p < plan->plantings_n; p++)
        grow_planting(plan, trial, season, p);
    future_note_weeks(plan, season);
    if (trial->watch) {
        struct future_season seen = { number, &season->weather, season->harvest, season->count };
        trial->watch(trial->watch_context, plan, &seen);
    }
}

int future_first_week(const struct plan *plan, const struct future_trial *trial, int number)
{
    uint64_t key = chance_season_key(trial->random_seed, trial->number, number);
    struct season weather;
    draw_weather(plan, trial, key, number, &weather);
    weather.point = NULL;                   /* of a season that only ends a food year the weather alone is shared out */
    int first = SCENARIO_NEVER;
    for (int i = 0; i < plan->beans_n + plan->squash_n; i++) {    /* beans first: squash is hardly ever earlier */
        int p = i < plan->beans_n ? plan->beans[i] : plan->squash[i - plan->beans_n];
        first = future_earlier(first, harvest_week_before(plan, p, trial->next_count[p], key, &weather, first));
    }
    return SCENARIO_WEEKS * number + (first < SCENARIO_NEVER ? first : plan->no_produce_week);
}

void future_book_field(const struct plan *plan, const struct future_crop_year *season, struct store_books *books)
{
    for (int p = 0; p < plan->plantings_n; p++) {
        struct store_books *of = &books[plan->plantings[p].crop->kind == SCENARIO_KIND_BEANS ? SCENARIO_BEANS
                                                                                             : SCENARIO_SQUASH];
        of->grown += season->harvest[p].grown_kg;
        of->field_loss += season->harvest[p].field_loss_kg;
    }
}

void future_bring_beans(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int week,
                        struct store_books *books)
{
    double all_bad = 0, all_seed = 0, all_good = 0;
    for (int i = 0; i < plan->beans_n; i++) {
        const struct future_picking *picking = &season->picking[i];
        if (week < picking->first || week > picking->last)
            continue;
        double picked = picking->arrives_kg[week - picking->start], bad = picked * picking->sorted_out, good = picked - bad;
        double *due = &season->seed_due_kg[picking->planting], seed = good < *due ? good : *due;
        *due -= seed;
        all_bad += bad;
        all_seed += seed;
        all_good += good;
        if (good > seed)
            store_bring_beans(plan, &trial->store.beans, picking->heap, week, good - seed, season->key);
    }
    books->sorted_out += all_bad;
    books->seed += all_seed;
    books->in += all_good;
}

void future_bring_squash(const struct plan *plan, struct future_trial *trial, const struct future_crop_year *season,
                         int week, struct store_books *books)
{
    int start = SCENARIO_WEEKS * season->number;
    for (int i = 0; i < plan->squash_n; i++) {
        const struct harvest *harvest = &season->harvest[plan->squash[i]];
        if (harvest->n == 0 || start + harvest->cut_week != week)
            continue;
        struct store_load load = { .planting = plan->squash[i], .week = week, .n = harvest->n, .kg = harvest->kg,
                                   .cut_day = SCENARIO_DAYS * season->number + harvest->cut_day,
                                   .life_weeks = harvest->life_weeks, .cure = harvest->cure };
        store_bring_squash(plan, &trial->store, &load, books);
    }
}

void future_settle_due(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int week,
                       struct store_books *books)
{
    int of_season = week - SCENARIO_WEEKS * season->number;
    for (int p = 0; p < plan->plantings_n && season->unsettled > 0; p++)
        if (!season->seed_settled[p] && of_season >= season->harvest[p].last_week)
            future_settle_seed(plan, trial, season, p, &books[SCENARIO_BEANS]);
}

double future_drying_kg(const struct plan *plan, const struct future_trial *trial, int week)
{
    double kg = 0;
    for (int s = 0; s < 2; s++) {
        const struct future_crop_year *season = &trial->crop_year[s];
        int now = week - SCENARIO_WEEKS * season->number;
        for (int p = 0; p < plan->plantings_n && week < season->due_end[SCENARIO_BEANS] - 1; p++) {
            const struct harvest *harvest = &season->harvest[p];
            if (plan->plantings[p].crop->kind != SCENARIO_KIND_BEANS)
                continue;
            int until = future_earlier(now + plan->plantings[p].crop->indoor_drying_weeks, harvest->last_week);
            for (int w = future_later(now + 1, harvest->first_week); w <= until; w++)
                kg += harvest->arrives_kg[w] * (1 - harvest->sorted_out);
        }
    }
    return kg;
}

double future_units_covered(const struct plan_planting *p, double missing_kg)
{
    double per_unit = p->crop->seed_kg_per_unit, count = p->planting->count, have = p->seed_due_kg - missing_kg;
    if (have >= per_unit * count * (1 - 1e-12))
        return count;
    return (double)(int)(have / per_unit + 1e-9);
}

void future_settle_seed(const struct plan *plan, struct future_trial *trial, struct future_crop_year *season, int planting,
                        struct store_books *books)
{
    const struct plan_planting *p = &plan->plantings[planting];
    double *due = &season->seed_due_kg[planting];
    season->seed_settled[planting] = true;
    season->unsettled--;
    if (*due > 0)
        *due -= store_take_seed(plan, &trial->store, p->crop->name, *due, books);
    if (*due > 0 && !p->crop->buys_seed)
        trial->next_count[planting] = future_units_covered(p, *due);
}

/* What a planting of beans brought before the count is counted, and gave its seed. */
static void count_beans(struct future_crop_year *season, int p, int count_week)
{
    struct harvest *harvest = &season->harvest[p];
    double *due = &season->seed_due_kg[p];
    for (int w = harvest->first_week; w <= harvest->last_week && w <= count_week; w++) {
        double good = harvest->arrives_kg[w] * (1 - harvest->sorted_out);
        *due -= good < *due ? good : *due;
    }
    harvest->first_week = future_later(harvest->first_week, count_week + 1);
    if (harvest->last_week <= count_week && !season->seed_settled[p]) {
        season->seed_settled[p] = true;
        season->unsettled--;
    }
}

void future_begin_under_way(const struct plan *plan, struct future_crop_year *season, int count_week)
{
    for (int p = 0; p < plan->plantings_n; p++) {
        if (plan->plantings[p].crop->kind == SCENARIO_KIND_BEANS)
            count_beans(season, p, count_week);
        else if (season->harvest[p].cut_week <= count_week)
            season->harvest[p].n = 0;
    }
    future_note_weeks(plan, season);
}

void future_put_off(const struct plan *plan, struct future_crop_year *season, int count_week)
{
    for (int p = 0; p < plan->plantings_n; p++) {
        struct harvest *harvest = &season->harvest[p];
        if (plan->plantings[p].crop->kind == SCENARIO_KIND_SQUASH) {
            harvest->cut_week = future_later(harvest->cut_week, count_week + 1);
            continue;
        }
        if (harvest->first_week > count_week)
            continue;
        double early = 0;
        for (int w = harvest->first_week; w <= count_week && w <= harvest->last_week; w++)
            early += harvest->arrives_kg[w];
        if (harvest->last_week <= count_week) {
            harvest->last_week = count_week + 1;
            harvest->arrives_kg[harvest->last_week] = 0;
        }
        harvest->first_week = count_week + 1;
        harvest->arrives_kg[count_week + 1] += early;
    }
    future_note_weeks(plan, season);
    season->first_week = future_later(season->first_week, count_week + 1);
}
