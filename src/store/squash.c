/* squash.c: fruits find places, dry, are looked over. */
#include "store/internal.h"

#include <math.h>

enum { KEY_CURE = 58, KEY_RANK = 48, KEY_FACTOR = 40, KEY_DAY = 16 };
static const int DAY_OFFSET = 365 * 400; /* earlier seasons' days stay positive in a key */

uint64_t store_order_key(const struct plan *plan, const struct plan_planting *of, int place, int cure, int cut_day)
{
    return (uint64_t)cure << KEY_CURE | (uint64_t)of->rank << KEY_RANK | (uint64_t)plan->places[place].rank << KEY_FACTOR
           | (uint64_t)(cut_day + DAY_OFFSET) << KEY_DAY | (uint64_t)of->among;
}

/* Lays n fruits that stand in the rows from `at` on among the groups, before those that are eaten later. */
static void add_group(struct store_squash *squash, const struct store_group *group)
{
    int g = squash->groups_n++;
    for (; g > squash->groups_first && squash->group[g - 1].key > group->key; g--)
        squash->group[g] = squash->group[g - 1];
    squash->group[g] = *group;
}

/* The look-over that will find a fruit: the first at or after its end, and after `week`, when it is put there; the last
 * slot: none. */
static inline int found_in(int weeks, int every, double end, int week)
{
    int found = end < weeks ? (int)end : weeks;
    found += found < end;
    found = found > week ? found : week;
    if (every > 1)
        found = (found + every - 1) / every * every;
    return found < weeks ? found : weeks;
}

/* Puts a fruit into its row. */
static inline void put_fruit(struct store_squash *squash, int f, double kg, double end, int batch, int found)
{
    squash->kg[f] = kg;
    squash->end[f] = end;
    squash->gone[f] = 0;
    squash->batch_of[f] = batch;
    squash->next_found[f] = squash->found[found];
    squash->found[found] = f;
}

/* Counts n fruits of so much mass in. */
static void count_in(struct store_squash *squash, struct store_batch *batch, int n, double kg)
{
    batch->n += n;
    batch->kg += kg;
    squash->whole_n += n;
    squash->whole_kg += kg;
}

int store_in_place(const struct store_squash *squash, int place)
{
    int n = 0;
    for (int g = squash->groups_first; g < squash->groups_n; g++) {
        const struct store_group *group = &squash->group[g];
        for (int f = group->at; f < group->until && group->place == place; f++)
            n += !squash->gone[f];
    }
    return n;
}

/* n fruits of a load from number `from` on go to a place: into the rows by how they cured, each cure a group. */
static void fill_place(const struct plan *plan, struct store_squash *squash, const struct store_load *load, int from, int n,
                       int place)
{
    const struct plan_planting *of = &plan->plantings[load->planting];
    int first[3] = { 0, 0, 0 }, at[3], start = squash->n, batch = squash->batches_n - 1;
    int weeks = plan->weeks, every = plan->scenario->store.look_over_weeks;
    double factor = plan->places[place].keeps_factor;
    for (int i = from; i < from + n; i++)
        first[load->cure[i]]++;
    for (int cure = 0; cure < 3; cure++) {
        at[cure] = start;
        start += first[cure];
        if (first[cure] > 0)
            add_group(squash, &(struct store_group){ .key = store_order_key(plan, of, place, cure, load->cut_day), .place = place,
                .at = at[cure], .until = start,
                .ready_week = load->week + (cure == SCENARIO_UNRIPE ? 0 : of->crop->cure_weeks) });
    }
    for (int i = from; i < from + n; i++) {
        double end = load->week + load->life_weeks[i] * factor;
        put_fruit(squash, at[load->cure[i]]++, load->kg[i], end, batch, found_in(weeks, every, end, load->week));
    }
    squash->n = start;
}

void store_bring_squash(const struct plan *plan, struct store *store, const struct store_load *load,
                        struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    int placed = 0;
    double kg = 0, given_kg = 0;
    struct store_batch *batch = &squash->batch[squash->batches_n++];
    *batch = (struct store_batch){ .of = &plan->plantings[load->planting], .ref_week = load->week, .now = 1, .since = 1 };
    for (int place = 0; place < plan->places_n && placed < load->n; place++) {
        double holds = plan->places[place].holds, room = holds < HUGE_VAL ? holds - store_in_place(squash, place) : holds;
        int n = load->n - placed < room ? load->n - placed : room > 0 ? (int)room : 0;
        if (n > 0)
            fill_place(plan, squash, load, placed, n, place);
        placed += n;
    }
    for (int i = 0; i < placed; i++)
        kg += load->kg[i];
    for (int i = placed; i < load->n; i++)
        given_kg += load->kg[i];
    count_in(squash, batch, placed, kg);
    books->in += kg + given_kg;
    books->given_away += given_kg;
}

/* The batch of what was counted of a planting; made when there is none yet. */
static int counted_batch(struct store_squash *squash, const struct plan_planting *of, int week)
{
    for (int b = squash->batches_first; b < squash->batches_n; b++)
        if (squash->batch[b].of == of && squash->batch[b].ref_week == week)
            return b;
    squash->batch[squash->batches_n] = (struct store_batch){ .of = of, .ref_week = week, .now = 1, .since = 1 };
    return squash->batches_n++;
}

void store_put_squash(const struct plan *plan, struct store *store, const struct plan_shelf_fruit *item, double end,
                      int week, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    int f = squash->n++;
    const struct plan_planting *of = &plan->plantings[item->planting];
    int batch = counted_batch(squash, of, week);
    put_fruit(squash, f, item->kg, end, batch,
              found_in(plan->weeks, plan->scenario->store.look_over_weeks, end, week));
    add_group(squash, &(struct store_group){ .key = store_order_key(plan, of, item->place, (int)item->cure, item->cut_day),
        .place = item->place, .at = f, .until = f + 1,
        .ready_week = item->cure == SCENARIO_UNRIPE ? week : item->cut_week + of->crop->cure_weeks });
    count_in(squash, &squash->batch[batch], 1, item->kg);
    books->opening += item->kg;
}

void store_come_to(struct store *store, int week)
{
    struct store_squash *squash = &store->squash;
    double kg = 0;
    for (int b = squash->batches_first; b < squash->batches_n; b++) {
        struct store_batch *batch = &squash->batch[b];
        if (batch->n == 0)
            continue;
        batch->now = batch->of->mass_at_age[week - batch->ref_week];
        kg += batch->kg * batch->now;
    }
    squash->whole_kg = kg;
}

void store_book_drying(struct store *store, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    for (int b = squash->batches_first; b < squash->batches_n; b++) {
        struct store_batch *batch = &squash->batch[b];
        books->dried_away += batch->kg * (batch->since - batch->now);
        batch->since = batch->now;
    }
}

/* Flesh of a crop becomes cut flesh of this week. */
static void cut_up(struct store_squash *squash, const struct scenario_crop *crop, double flesh_kg)
{
    struct store_cut *cut = &squash->cut[squash->cut_now];
    double share = cut->kg > 0 ? flesh_kg / (cut->kg + flesh_kg) : 1.0;
    squash->cut_weeks = squash->cut_slots;
    cut->kg += flesh_kg;
    cut->kcal_per_kg += share * (crop->kcal_per_kg - cut->kcal_per_kg);
    cut->protein_g_per_kg += share * (crop->protein_g_per_kg - cut->protein_g_per_kg);
}

void store_open_dead(const struct plan *plan, struct store_squash *squash, int f, int week, struct store_books *books)
{
    const struct scenario_crop *crop = squash->batch[squash->batch_of[f]].of->crop;
    double lay = week - squash->end[f], kg = store_leave_shelf(squash, f, books);
    double share = lay <= 1 ? plan->scenario->store.salvage_share : store_power_of_2(lay * squash->salvage_log2);
    double kept = kg * crop->flesh_share * share;
    books->lost += kg - kept;
    cut_up(squash, crop, kept);
}

void store_look_over(const struct plan *plan, struct store *store, int week, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    for (int f = squash->found[week]; f >= 0; f = squash->next_found[f])
        if (!squash->gone[f])
            store_open_dead(plan, squash, f, week, books);
}

double store_flesh_kg(const struct store *store)
{
    const struct store_squash *squash = &store->squash;
    double kg = store_cut_kg(squash);
    for (int b = squash->batches_first; b < squash->batches_n; b++)
        kg += squash->batch[b].kg * squash->batch[b].now * squash->batch[b].of->crop->flesh_share;
    return kg;
}

/* Moves whole fruits to the rows' beginning; `row_now` says where each row's next whole fruit stands then. */
static void move_rows(const struct plan *plan, struct store_squash *squash)
{
    int every = plan->scenario->store.look_over_weeks, kept = 0;
    for (int f = 0; f < squash->n; f++) {
        int batch = squash->batch_of[f];
        double end = squash->end[f];
        squash->row_now[f] = kept;
        if (!squash->gone[f])
            put_fruit(squash, kept++, squash->kg[f], end, batch,
                      found_in(plan->weeks, every, end, squash->batch[batch].ref_week));
    }
    squash->row_now[squash->n] = kept;
    squash->n = kept;
}

void store_compact(const struct plan *plan, struct store *store)
{
    struct store_squash *squash = &store->squash;
    int groups_n = 0;
    for (int week = 0; week <= plan->weeks; week++)
        squash->found[week] = -1;
    move_rows(plan, squash);
    for (int g = squash->groups_first; g < squash->groups_n; g++) {
        struct store_group *group = &squash->group[groups_n];
        *group = squash->group[g];
        group->at = squash->row_now[group->at];
        group->until = squash->row_now[group->until];
        groups_n += group->at < group->until;
    }
    squash->groups_first = 0;
    squash->groups_n = groups_n;
    while (squash->batches_first < squash->batches_n && squash->batch[squash->batches_first].n == 0)
        squash->batches_first++;
}
