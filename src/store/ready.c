/* ready.c: harvests of trials side by side are laid in the order of eating. */
#include "store/abreast.h"
#include "store/internal.h"

#include <math.h>
#include <string.h>

enum { SIDE = PLAN_ABREAST, CURES = 3, CLASS_NONE = UINT16_MAX };

/* The classes in the order of eating, were all fruit cut on one day. */
static void list_classes(const struct plan *plan, struct store_abreast *store)
{
    for (int c = 0; c < store->cuttings_n; c++)
        for (int place = 0; place < plan->places_n; place++)
            for (int cure = 0; cure < CURES; cure++) {
                uint64_t key = store_order_key(plan, store->cutting[c].of, place, cure, 0);
                int at = store->classes_n++;
                for (; at > 0 && store->class[at - 1].key > key; at--)
                    store->class[at] = store->class[at - 1];
                store->class[at] = (struct store_class){ key, c, place, cure, plan->places[place].keeps_factor };
            }
    for (int k = 0; k < store->classes_n; k++) {
        const struct store_class *class = &store->class[k];
        store->class_of[(class->cutting * plan->places_n + class->place) * CURES + class->cure] = k;
    }
}

bool store_abreast_room(struct base_arena *arena, const struct plan *plan, struct store_abreast *store)
{
    size_t most = ((size_t)plan->most_fruits_a_season + 1) * SIDE, weeks = (size_t)plan->weeks + 1;
    size_t words = ((size_t)plan->most_fruits_a_season + 64) / 64;
    size_t classes = (size_t)plan->squash_n * (size_t)plan->places_n * CURES + 1;
    store->cuttings_n = plan->squash_n;
    store->weeks = plan->weeks;
    store->cut_slots = plan->scenario->store.cut_keeps_weeks + 1;
    store->cutting = base_arena_array(arena, (size_t)plan->squash_n + 1, sizeof *store->cutting);
    store->class = base_arena_array(arena, classes, sizeof *store->class);
    store->class_at = base_arena_array(arena, classes, sizeof *store->class_at);
    store->class_n = base_arena_array(arena, classes, sizeof *store->class_n);
    store->class_key = base_arena_array(arena, classes, sizeof *store->class_key);
    store->class_order = base_arena_array(arena, classes, sizeof *store->class_order);
    store->class_of = base_arena_array(arena, classes, sizeof *store->class_of);
    store->placed = base_arena_array(arena, most, sizeof *store->placed);
    store->room = base_arena_array(arena, (size_t)plan->places_n, sizeof *store->room);
    store->cut = base_arena_array(arena, (size_t)store->cut_slots, sizeof *store->cut);
    store->kg = base_arena_array(arena, most, sizeof *store->kg);
    store->cutting_of = base_arena_array(arena, most, 1);
    store->unripe = base_arena_array(arena, most, 1);
    store->whole = base_arena_array(arena, words * SIDE, sizeof *store->whole);
    store->found = base_arena_array(arena, weeks * words * SIDE, sizeof *store->found);
    if (!store->cutting || !store->class || !store->class_at || !store->class_n || !store->class_key || !store->class_order
        || !store->class_of || !store->placed || !store->room || !store->cut || !store->kg || !store->cutting_of || !store->unripe
        || !store->whole || !store->found)
        return false;
    for (int c = 0; c < plan->squash_n; c++) {
        const struct plan_planting *of = &plan->plantings[plan->squash[c]];
        store->cutting[c] = (struct store_cutting){ .of = of, .keeps_mass = of->keeps_mass, .flesh_share = of->crop->flesh_share,
            .kcal_per_kg = of->crop->kcal_per_kg, .protein_g_per_kg = of->crop->protein_g_per_kg };
    }
    list_classes(plan, store);
    return true;
}

/* A trial's order of eating: as listed, unless plantings were cut on different days. */
static void order_classes(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int trial)
{
    bool one_day = true;
    for (int c = 1; c < store->cuttings_n; c++)
        one_day &= harvest[c].cut_day[trial] == harvest[0].cut_day[trial];
    for (int k = 0; k < store->classes_n; k++) {
        const struct store_class *class = &store->class[k];
        int at = k;
        uint64_t key = one_day ? class->key : store_order_key(plan, store->cutting[class->cutting].of, class->place, class->cure,
                                                              harvest[class->cutting].cut_day[trial]);
        for (; at > 0 && store->class_key[at - 1] > key; at--) {
            store->class_key[at] = store->class_key[at - 1];
            store->class_order[at] = store->class_order[at - 1];
        }
        store->class_key[at] = key;
        store->class_order[at] = k;
    }
}

/* Room for one fruit: the first place that has some from `place` on; the number of places when none has. */
static inline int place_for_one(const int *room, int places_n, int place)
{
    while (place < places_n && room[place] == 0)
        place++;
    return place;
}

/* Finds each fruit of a trial's cutting its place, in the order of units, and notes its class. */
static void find_places(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int c,
                        int trial, uint16_t *class)
{
    struct store_cutting *cutting = &store->cutting[c];
    double kg = 0, given_kg = 0;
    int *room = store->room, places_n = plan->places_n, place = place_for_one(room, places_n, 0), n = 0;
    const int *class_of = store->class_of + c * places_n * CURES;
    for (int f = harvest->start[trial]; f < harvest->start[trial + 1]; f++, class++) {
        *class = CLASS_NONE;
        if (harvest->fate[f] != HARVEST_IS_HOME)
            continue;
        if (place == places_n) {
            given_kg += harvest->kg[f];
            continue;
        }
        *class = (uint16_t)class_of[place * CURES + harvest->cure[f]];
        store->class_n[*class]++;
        kg += harvest->kg[f];
        n++;
        if (--room[place] == 0)
            place = place_for_one(room, places_n, place);
    }
    store->in.at[trial] += kg + given_kg;
    store->given_away.at[trial] += given_kg;
    cutting->week.at[trial] = harvest->n[trial] > 0 ? harvest->cut_week[trial] : SCENARIO_NEVER;
    cutting->in_kg.at[trial] = kg;
    cutting->in_n.at[trial] = n;
}

/* Puts a trial's placed fruits of a cutting into the order of eating, and notes the look-over that will find each: the first
 * at or after its end. */
static void put_fruits(struct store_abreast *store, const struct harvest_abreast *harvest, int c, int trial, const uint16_t *class)
{
    int week = harvest->cut_week[trial], weeks = store->weeks, last = store->last_found;
    for (int f = harvest->start[trial]; f < harvest->start[trial + 1]; f++, class++) {
        if (*class == CLASS_NONE)
            continue;
        int number = store->class_at[*class]++;
        double end = week + harvest->life_weeks[f] * store->class[*class].keeps_factor;
        int found = end < weeks ? (int)end : weeks;
        found += found < end;
        found = found > week ? found : week;
        found = found < weeks ? found : weeks;
        last = found > last ? found : last;
        store->kg[number * SIDE + trial] = harvest->kg[f];
        store->cutting_of[number * SIDE + trial] = (uint8_t)c;
        store->unripe[number * SIDE + trial] = harvest->cure[f] == SCENARIO_UNRIPE;
        store->found[(found * store->words + number / 64) * SIDE + trial] |= UINT64_C(1) << number % 64;
    }
    store->last_found = last;
}

/* Do a trial's places depend on what is eaten between its cuttings? */
static bool places_depend(const struct plan *plan, const struct store_abreast *store, const struct harvest_abreast *harvest,
                          int trial)
{
    int week = -1;
    bool one_week = true;
    for (int c = 0; c < store->cuttings_n; c++) {
        if (harvest[c].n[trial] == 0)
            continue;
        one_week &= week < 0 || week == harvest[c].cut_week[trial];
        week = harvest[c].cut_week[trial];
    }
    return !one_week && !isinf(plan->places[0].holds);
}

/* One trial's fruits find their places; returns how many have one. */
static int place_trial(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int trial)
{
    uint16_t *class = store->placed;
    int at = 0;
    for (int place = 0; place < plan->places_n; place++)
        store->room[place] = plan->places[place].holds < INT32_MAX ? (int)plan->places[place].holds : INT32_MAX;
    for (int k = 0; k < store->classes_n; k++)
        store->class_n[k] = 0;
    for (int c = 0; c < store->cuttings_n; c++) {
        find_places(plan, store, &harvest[c], c, trial, class);
        class += harvest[c].start[trial + 1] - harvest[c].start[trial];
    }
    order_classes(plan, store, harvest, trial);
    for (int k = 0; k < store->classes_n; k++) {
        store->class_at[store->class_order[k]] = at;
        at += store->class_n[store->class_order[k]];
    }
    return at;
}

static void lay_trial(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int trial)
{
    int n = place_trial(plan, store, harvest, trial);
    const uint16_t *class = store->placed;
    store->ready_week[trial] = 0;
    for (int word = 0; word < store->words; word++, n -= 64)
        store->whole[word * SIDE + trial] = n <= 0 ? 0 : n >= 64 ? ~UINT64_C(0) : ~UINT64_C(0) >> (64 - n);
    for (int c = 0; c < store->cuttings_n; c++) {
        int ready = harvest[c].cut_week[trial] + store->cutting[c].of->crop->cure_weeks, last = harvest[c].cut_week[trial];
        put_fruits(store, &harvest[c], c, trial, class);
        class += harvest[c].start[trial + 1] - harvest[c].start[trial];
        store->ready_week[trial] = ready > store->ready_week[trial] ? ready : store->ready_week[trial];
        store->last_cut = last > store->last_cut ? last : store->last_cut;
    }
}

/* Empties the books, and the shelf for fruits of which one trial has `most`. */
static void clear(struct store_abreast *store, int most)
{
    const union store_side none = { { 0 } };
    store->words = (most + 63) / 64;
    memset(store->whole, 0, (size_t)store->words * SIDE * sizeof *store->whole);
    memset(store->cut, 0, (size_t)store->cut_slots * sizeof *store->cut);
    store->cut_now = store->last_cut = store->last_found = 0;
    store->in = store->given_away = store->dried_away = store->eaten = store->trimmed = store->lost = none;
    store->lost_while_wanted = store->kcal = store->protein_g = store->kg_left = store->fruits_peak = none;
    for (int c = 0; c < store->cuttings_n; c++) {
        store->cutting[c].kg = store->cutting[c].n = none;
        for (int i = 0; i < SIDE; i++)
            store->cutting[c].week.at[i] = SCENARIO_NEVER;
    }
}

unsigned store_lay_ready(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int n)
{
    unsigned depend = 0;
    int most = 1;
    for (int trial = 0; trial < n; trial++) {
        int fruits = 0;
        for (int c = 0; c < store->cuttings_n; c++)
            fruits += harvest[c].start[trial + 1] - harvest[c].start[trial];
        most = fruits > most ? fruits : most;
    }
    clear(store, most);
    for (int trial = 0; trial < n; trial++) {
        depend |= places_depend(plan, store, harvest, trial) ? 1u << trial : 0u;
        lay_trial(plan, store, harvest, trial);
    }
    return depend;
}
