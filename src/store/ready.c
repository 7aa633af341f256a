/* ready.c: harvests of trials side by side are laid in the order of eating. */
#include "store/abreast.h"
#include "store/internal.h"

#include <math.h>
#include <string.h>

enum { SIDE = PLAN_ABREAST, CURES = 3 };

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
                store->class[at] = (struct store_class){ key, c, place, cure };
            }
    for (int k = 0; k < store->classes_n; k++) {
        const struct store_class *class = &store->class[k];
        store->class_listed[k] = k;
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
    store->class_listed = base_arena_array(arena, classes, sizeof *store->class_listed);
    store->class_of = base_arena_array(arena, classes, sizeof *store->class_of);
    store->found_in = base_arena_array(arena, most, sizeof *store->found_in);
    store->run = base_arena_array(arena, classes, sizeof *store->run);
    store->room = base_arena_array(arena, (size_t)plan->places_n, sizeof *store->room);
    store->cut = base_arena_array(arena, (size_t)store->cut_slots, sizeof *store->cut);
    store->kg = base_arena_array(arena, most, sizeof *store->kg);
    store->kind = base_arena_array(arena, most, sizeof *store->kind);
    store->whole = base_arena_array(arena, words, sizeof *store->whole);
    store->dead = base_arena_array(arena, words, sizeof *store->dead);
    store->found = base_arena_array(arena, weeks * words, sizeof *store->found);
    if (!store->cutting || !store->class || !store->class_at || !store->class_n || !store->class_key || !store->class_order
        || !store->class_listed || !store->class_of || !store->run || !store->found_in || !store->room || !store->cut || !store->kg
        || !store->kind || !store->whole || !store->dead || !store->found)
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
static const int *order_classes(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest,
                                int trial)
{
    bool one_day = true;
    for (int c = 1; c < store->cuttings_n; c++)
        one_day &= harvest[c].cut_day[trial] == harvest[0].cut_day[trial];
    if (one_day)
        return store->class_listed;
    for (int k = 0; k < store->classes_n; k++) {
        const struct store_class *class = &store->class[k];
        int at = k;
        uint64_t key = store_order_key(plan, store->cutting[class->cutting].of, class->place, class->cure,
                                       harvest[class->cutting].cut_day[trial]);
        for (; at > 0 && store->class_key[at - 1] > key; at--) {
            store->class_key[at] = store->class_key[at - 1];
            store->class_order[at] = store->class_order[at - 1];
        }
        store->class_key[at] = key;
        store->class_order[at] = k;
    }
    return store->class_order;
}

/* A trial's fruits of a cutting find their places, in the order of units: so many to the first place that has room, the rest
 * to the next. Notes these runs; returns their number. */
static int find_places(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int c,
                       int trial, struct store_run *run)
{
    const int *class_of = store->class_of + c * plan->places_n * CURES;
    int left = harvest->n[trial], from = harvest->start[trial], runs = 0;
    for (int place = 0; place < plan->places_n && left > 0; place++) {
        int n = left < store->room[place] ? left : store->room[place];
        if (n == 0)
            continue;
        int cured[CURES] = { 0 };
        for (int f = from; f < from + n; f++)
            cured[harvest->cure[f]]++;
        for (int cure = 0; cure < CURES; cure++)
            store->class_n[class_of[place * CURES + cure]] += cured[cure];
        run[runs++] = (struct store_run){ c, place, from, n };
        store->room[place] -= n;
        from += n;
        left -= n;
    }
    double given_kg = 0;
    for (int f = from; f < from + left; f++)
        given_kg += harvest->kg[f];
    store->in.at[trial] += harvest->home_kg[trial];
    store->given_away.at[trial] += given_kg;
    store->cutting[c].week.at[trial] = harvest->n[trial] > 0 ? harvest->cut_week[trial] : SCENARIO_NEVER;
    store->cutting[c].in_n.at[trial] = harvest->n[trial] - left;
    store->cutting[c].in_kg.at[trial] = runs > 0 ? harvest->home_kg[trial] - given_kg : 0.0;
    return runs;
}

/* The look-over that will find each of n fruits: the first at or after its end, in week `last` if it is not before. Eight at a
 * time: some beyond the n too. `latest`: the last such weeks so far. */
BASE_VECTOR static void find_weeks(const double *restrict life_weeks, int n, double week, double last, double keeps_factor,
                                   int *restrict found, int *restrict latest)
{
    for (; n > 0; n -= SIDE, life_weeks += SIDE, found += SIDE) {
        BASE_SIDE_BY_SIDE(i) {
            double end = life_weeks[i] * keeps_factor + week;
            end = end < last ? end : last;
            int whole = (int)end;
            found[i] = whole + (whole < end);
        }
        BASE_SIDE_BY_SIDE(i) {
            int here = i < n ? found[i] : 0;
            latest[i] = here > latest[i] ? here : latest[i];
        }
    }
}

/* Puts a run of a trial's fruits into the order of eating, and notes the look-over that will find each. */
static void put_fruits(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int trial,
                       const struct store_run *run)
{
    const int *class = store->class_of + (run->cutting * plan->places_n + run->place) * CURES, *restrict found = store->found_in;
    const size_t plane = (size_t)store->weeks + 1;
    const uint8_t *restrict cures = harvest->cure + run->from;
    const double *restrict mass_kg = harvest->kg + run->from;
    double *restrict kg = store->kg + trial;
    uint16_t *restrict kind = store->kind + trial, kind_of = store_kind(run->cutting, 0);
    uint64_t *restrict found_by = store->found->at + trial;
    size_t next[CURES];
    find_weeks(harvest->life_weeks + run->from, run->n, harvest->cut_week[trial], store->weeks,
               plan->places[run->place].keeps_factor, store->found_in, store->latest_found);
    for (int cure = 0; cure < CURES; cure++)
        next[cure] = (size_t)store->class_at[class[cure]];
    for (int f = 0; f < run->n; f++) {
        size_t number = next[cures[f]]++;
        kg[number * SIDE] = mass_kg[f];
        kind[number * SIDE] = (uint16_t)(kind_of + cures[f]);
        found_by[(number / 64 * plane + (size_t)found[f]) * SIDE] |= UINT64_C(1) << number % 64;
    }
    for (int cure = 0; cure < CURES; cure++)
        store->class_at[class[cure]] = (int)next[cure];
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

/* Each class's fruits stand together in a trial's order of eating; returns how many there are. */
static int divide_order(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int trial)
{
    const int *order = order_classes(plan, store, harvest, trial);
    int at = 0;
    for (int k = 0; k < store->classes_n; k++) {
        int class = order[k];
        store->class_at[class] = at;
        at += store->class_n[class];
        store->class_n[class] = 0;
    }
    return at;
}

static void lay_trial(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int trial)
{
    int runs = 0;
    for (int place = 0; place < plan->places_n; place++)
        store->room[place] = plan->places[place].holds < INT32_MAX ? (int)plan->places[place].holds : INT32_MAX;
    for (int c = 0; c < store->cuttings_n; c++) {
        int last = harvest[c].cut_week[trial], ready = last + store->cutting[c].of->crop->cure_weeks;
        runs += find_places(plan, store, &harvest[c], c, trial, store->run + runs);
        store->all_ready = ready > store->all_ready ? ready : store->all_ready;
        store->last_cut = last > store->last_cut ? last : store->last_cut;
    }
    int n = divide_order(plan, store, harvest, trial);
    for (int word = 0; word < store->words; word++, n -= 64)
        store->whole[word].at[trial] = n <= 0 ? 0 : n >= 64 ? ~UINT64_C(0) : ~UINT64_C(0) >> (64 - n);
    for (const struct store_run *run = store->run; run < store->run + runs; run++)
        put_fruits(plan, store, &harvest[run->cutting], trial, run);
}

/* Empties the books, and the shelf for fruits of which one trial has `most`. */
static void clear(struct store_abreast *store, int most)
{
    const struct store_side none = { { 0 } };
    store->words = (most + 63) / 64;
    memset(store->whole, 0, (size_t)store->words * sizeof *store->whole);
    memset(store->cut, 0, (size_t)store->cut_slots * sizeof *store->cut);
    store->cut_now = store->last_cut = store->last_found = store->all_ready = 0;
    memset(store->latest_found, 0, sizeof store->latest_found);
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
            fruits += harvest[c].n[trial];
        most = fruits > most ? fruits : most;
    }
    clear(store, most);
    for (int trial = 0; trial < n; trial++) {
        depend |= places_depend(plan, store, harvest, trial) ? 1u << trial : 0u;
        lay_trial(plan, store, harvest, trial);
    }
    for (int k = 0; k < SIDE; k++)
        store->last_found = store->latest_found[k] > store->last_found ? store->latest_found[k] : store->last_found;
    return depend;
}
