/* beans.c: jars put up, topped up, eaten from, failing, thrown out. */
#include "store/store.h"

static const double CRUMB_KG = 1e-12; /* no jar is begun for a rounding error */

static int take_unused(struct store_beans *beans)
{
    int j = beans->unused;
    if (j > 0)
        beans->unused = beans->jar[j].next;
    else
        j = beans->touched++;
    beans->jars_n++;
    return j;
}

static void unlink_jar(struct store_beans *beans, struct store_heap *heap, int before, int j)
{
    int after = beans->jar[j].next;
    if (before > 0)
        beans->jar[before].next = after;
    else
        heap->head = after;
    if (heap->tail == j)
        heap->tail = before;
    beans->jar[j].next = beans->unused;
    beans->unused = j;
    beans->jars_n--;
    if (beans->jars_n == 0)
        beans->kg = 0; /* no dust of rounding in an empty store */
}

int store_heap_of(const struct plan *plan, int planting, int season)
{
    return (season - plan->oldest_season) * plan->beans_n + plan->plantings[planting].among;
}

static void begin_jar(struct store_beans *beans, int h, double kg, int week, int fails_week)
{
    struct store_heap *heap = &beans->heap[h];
    int j = take_unused(beans);
    beans->jar[j] = (struct store_jar){ .kg = kg, .fails_week = fails_week, .begun_week = week };
    if (heap->tail > 0)
        beans->jar[heap->tail].next = j;
    else
        heap->head = j;
    heap->tail = j;
    beans->first_heap = h < beans->first_heap ? h : beans->first_heap;
    beans->next_failure = fails_week < beans->next_failure ? fails_week : beans->next_failure;
}

static int failing_week(const struct plan *plan, struct store_heap *heap, int week)
{
    if (!plan->jar_keeps_weeks)
        return SCENARIO_NEVER;
    double life = chance_draw(plan->jar_keeps_weeks, chance_pcg_next(&heap->jars));
    if (life >= SCENARIO_NEVER / 2)
        return SCENARIO_NEVER;
    int whole = (int)life;
    return week + whole + (whole < life);
}

/* Fills the last jar up, then begins others. */
static void fill_jars(const struct plan *plan, struct store_beans *beans, int h, int week, double kg, uint64_t season_key)
{
    struct store_heap *heap = &beans->heap[h];
    double jar_kg = beans->jar_kg;
    if (heap->tail > 0) {
        double *last_kg = &beans->jar[heap->tail].kg, room = jar_kg - *last_kg > 0 ? jar_kg - *last_kg : 0.0;
        *last_kg += room;
        kg -= room;
    }
    if (heap->jars.inc == 0)
        heap->jars = chance_stream(season_key, plan->plantings[heap->planting].jars_key);
    while (kg > 0) {
        double put = jar_kg < kg - CRUMB_KG ? jar_kg : kg;
        begin_jar(beans, h, put, week, failing_week(plan, heap, week));
        kg -= put;
    }
}

void store_bring_beans(const struct plan *plan, struct store_beans *beans, int h, int week, double kg, uint64_t season_key)
{
    struct store_heap *heap = &beans->heap[h];
    struct store_jar *last = &beans->jar[heap->tail];
    beans->kg += kg;
    if (heap->tail > 0 && kg - CRUMB_KG <= beans->jar_kg - last->kg)
        last->kg += kg;                        /* most weeks: the last jar has room for it */
    else
        fill_jars(plan, beans, h, week, kg, season_key);
}

void store_put_jar(const struct plan *plan, struct store *store, const struct plan_shelf_jar *item, int fails_week,
                   struct store_books *books)
{
    begin_jar(&store->beans, store_heap_of(plan, item->planting, item->season), item->kg, item->begun_week, fails_week);
    store->beans.kg += item->kg;
    books->opening += item->kg;
}

void store_fail_jars(struct store *store, int week, struct store_books *books)
{
    struct store_beans *beans = &store->beans;
    int next = SCENARIO_NEVER;
    for (int h = beans->first_heap; h < beans->heaps_n; h++) {
        struct store_heap *heap = &beans->heap[h];
        for (int before = 0, j = heap->head; j > 0;) {
            struct store_jar *jar = &beans->jar[j];
            int after = jar->next;
            if (jar->fails_week <= week) {
                books->lost += jar->kg;
                beans->kg -= jar->kg;
                unlink_jar(beans, heap, before, j);
            } else {
                next = jar->fails_week < next ? jar->fails_week : next;
                before = j;
            }
            j = after;
        }
    }
    beans->next_failure = next;
}

/* Takes up to want_kg from a heap that has something; returns what is left of the want. */
static double take_from(const struct plan *plan, struct store_beans *beans, struct store_heap *heap, double want_kg,
                        struct store_books *books)
{
    const struct scenario_crop *crop = plan->plantings[heap->planting].crop;
    double left = want_kg;
    while (heap->head > 0 && left > 0) {
        struct store_jar *jar = &beans->jar[heap->head];
        double got = jar->kg < left ? jar->kg : left;
        jar->kg -= got;
        left -= got;
        beans->kg -= got;
        if (jar->kg <= 0)
            unlink_jar(beans, heap, 0, heap->head);
    }
    books->kcal += (want_kg - left) * crop->kcal_per_kg;
    books->protein_g += (want_kg - left) * crop->protein_g_per_kg;
    return left;
}

static double take_across(const struct plan *plan, struct store_beans *beans, double want_kg, struct store_books *books)
{
    double left = want_kg;
    while (beans->jars_n > 0 && left > 0) {
        struct store_heap *heap = &beans->heap[beans->first_heap];
        if (heap->head > 0)
            left = take_from(plan, beans, heap, left, books);
        else
            beans->first_heap++;
    }
    books->eaten += want_kg - left;
    return want_kg - left;
}

double store_take_beans(const struct plan *plan, struct store *store, double want_kg, struct store_books *books)
{
    struct store_beans *beans = &store->beans;
    double open_kg = store_open_jar(beans)->kg;
    if (open_kg <= want_kg)
        return take_across(plan, beans, want_kg, books);
    store_eat_open(plan, beans, want_kg, open_kg - want_kg, beans->kg - want_kg, books);
    return want_kg;
}

void store_eat_open(const struct plan *plan, struct store_beans *beans, double eaten_kg, double open_kg, double kg,
                    struct store_books *books)
{
    const struct scenario_crop *crop = plan->plantings[beans->heap[beans->first_heap].planting].crop;
    store_open_jar(beans)->kg = open_kg;
    beans->kg = kg;
    books->eaten += eaten_kg;
    books->kcal += eaten_kg * crop->kcal_per_kg;
    books->protein_g += eaten_kg * crop->protein_g_per_kg;
}

/* The crop's jar of the latest season, of those the latest begun, of those the last in order; 0: none. */
static int newest_jar(const struct plan *plan, const struct store_beans *beans, const char *crop, int *heap_out,
                      int *before_out)
{
    int newest = 0, season = 0;
    for (int h = beans->first_heap; h < beans->heaps_n; h++) {
        int of = beans->heap[h].season;
        if (plan->plantings[beans->heap[h].planting].crop->name != crop)
            continue;
        for (int before = 0, j = beans->heap[h].head; j > 0; before = j, j = beans->jar[j].next) {
            bool newer = newest == 0 || of > season
                         || (of == season && beans->jar[j].begun_week >= beans->jar[newest].begun_week);
            if (newer) {
                newest = j;
                season = of;
                *heap_out = h;
                *before_out = before;
            }
        }
    }
    return newest;
}

double store_take_seed(const struct plan *plan, struct store *store, const char *crop, double want_kg,
                       struct store_books *books)
{
    struct store_beans *beans = &store->beans;
    double left = want_kg;
    while (left > 0) {
        int heap = 0, before = 0, j = newest_jar(plan, beans, crop, &heap, &before);
        if (j == 0)
            break;
        double got = beans->jar[j].kg < left ? beans->jar[j].kg : left;
        beans->jar[j].kg -= got;
        left -= got;
        beans->kg -= got;
        if (beans->jar[j].kg <= 0)
            unlink_jar(beans, &beans->heap[heap], before, j);
    }
    books->seed += want_kg - left;
    return want_kg - left;
}

void store_throw_out_beans(struct store *store, int oldest_season, struct store_books *books)
{
    struct store_beans *beans = &store->beans;
    for (int h = beans->first_heap; h < beans->heaps_n && beans->heap[h].season < oldest_season; h++)
        while (beans->heap[h].head > 0) {
            struct store_jar *jar = &beans->jar[beans->heap[h].head];
            books->thrown_out += jar->kg;
            beans->kg -= jar->kg;
            unlink_jar(beans, &beans->heap[h], 0, beans->heap[h].head);
        }
}
