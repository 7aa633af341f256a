/* squash.c: fruits find places, dry, are looked over. */
#include "store/internal.h"

#include <string.h>

enum { KEY_CURE = 58, KEY_RANK = 48, KEY_FACTOR = 40, KEY_DAY = 16 };
static const int DAY_OFFSET = 365 * 400; /* earlier seasons' days stay positive in a key */

/* The order of eating as one number: unripe, poorly cured, cured; eat_rank; worst place; earliest cut; planting. */
static uint64_t group_key(const struct plan *plan, const struct store_lot *lot, int cure, int cut_day)
{
    return (uint64_t)cure << KEY_CURE | (uint64_t)lot->of->rank << KEY_RANK
           | (uint64_t)plan->places[lot->place].rank << KEY_FACTOR | (uint64_t)(cut_day + DAY_OFFSET) << KEY_DAY
           | (uint64_t)lot->of->among;
}

static void put_in_order(struct store_squash *squash, int group)
{
    int at = squash->order_n++;
    uint64_t key = squash->group[group].key;
    for (; at > squash->order_first && squash->group[squash->order[at - 1]].key > key; at--)
        squash->order[at] = squash->order[at - 1];
    squash->order[at] = group;
}

/* Puts a fruit on the list of the look-over that will find it: the first at or after its end (and after `week`, when it is
 * put there). */
static void await_finding(const struct plan *plan, struct store_squash *squash, int f, int week)
{
    int every = plan->scenario->store.look_over_weeks;
    double end = squash->end[f];
    int found = end < plan->weeks ? (int)end : plan->weeks;
    found += found < end;
    found = found > week ? found : week;
    if (every > 1)
        found = (found + every - 1) / every * every;
    found = found < plan->weeks ? found : plan->weeks;
    squash->next_found[f] = squash->found[found];
    squash->found[found] = f;
}

/* Counts n fruits of so much mass in. */
static void count_in(struct store_squash *squash, const struct plan_planting *of, int n, double kg)
{
    squash->planted[of->among].n += n;
    squash->planted[of->among].kg += kg;
    squash->whole_n += n;
    squash->whole_kg += kg;
}

/* A lot's groups, when its fruits are in the rows. */
static void group_lot(const struct plan *plan, struct store_squash *squash, int number, int cut_day, int ready_week)
{
    const struct store_lot *lot = &squash->lots[number];
    struct store_group *group = &squash->group[3 * number];
    for (int cure = 0; cure < 3; cure++)
        group[cure] = (struct store_group){ .key = group_key(plan, lot, cure, cut_day), .at = lot->from,
                                            .ready_week = cure == SCENARIO_UNRIPE ? lot->ref_week : ready_week };
    for (int f = lot->from; f < lot->until; f++)
        group[squash->cure[f]].left++;
    for (int cure = 0; cure < 3; cure++)
        if (group[cure].left > 0)
            put_in_order(squash, 3 * number + cure);
}

/* Fruits from number `from` on that `place` has room for; returns how many it took. */
static int fill_place(const struct plan *plan, struct store_squash *squash, const struct store_load *load, int from, int place)
{
    double room = plan->places[place].holds - squash->place_n[place], factor = plan->places[place].keeps_factor;
    int n = load->n - from < room ? load->n - from : (int)room, first = squash->n, number = squash->lots_n++;
    const struct plan_planting *of = &plan->plantings[load->planting];
    squash->n += n;
    squash->lots[number] = (struct store_lot){ of, place, load->week, first, squash->n };
    memcpy(squash->kg + first, load->kg + from, (size_t)n * sizeof *load->kg);
    memcpy(squash->cure + first, load->cure + from, (size_t)n);
    for (int i = 0; i < n; i++)
        squash->end[first + i] = load->week + load->life_weeks[from + i] * factor;
    for (int f = first; f < squash->n; f++) {
        squash->lot[f] = number;
        await_finding(plan, squash, f, load->week);
    }
    group_lot(plan, squash, number, load->cut_day, load->week + of->crop->cure_weeks);
    squash->place_n[place] += n;
    return n;
}

void store_bring_squash(const struct plan *plan, struct store *store, const struct store_load *load,
                        struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    int placed = 0;
    double kg = 0, given_kg = 0;
    for (int place = 0; place < plan->places_n && placed < load->n; place++)
        if (squash->place_n[place] < plan->places[place].holds)
            placed += fill_place(plan, squash, load, placed, place);
    for (int i = 0; i < placed; i++)
        kg += load->kg[i];
    for (int i = placed; i < load->n; i++)
        given_kg += load->kg[i];
    count_in(squash, &plan->plantings[load->planting], placed, kg);
    books->in += kg + given_kg;
    books->given_away += given_kg;
}

void store_put_squash(const struct plan *plan, struct store *store, const struct plan_shelf_fruit *item, double end,
                      int week, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    int f = squash->n++, number = squash->lots_n++;
    const struct plan_planting *of = &plan->plantings[item->planting];
    squash->lots[number] = (struct store_lot){ of, item->place, week, f, f + 1 };
    squash->kg[f] = item->kg;
    squash->end[f] = end;
    squash->cure[f] = (uint8_t)item->cure;
    squash->lot[f] = number;
    await_finding(plan, squash, f, week);
    group_lot(plan, squash, number, item->cut_day, item->cut_week + of->crop->cure_weeks);
    squash->place_n[item->place]++;
    count_in(squash, of, 1, item->kg);
    books->opening += item->kg;
}

void store_look_over(const struct plan *plan, struct store *store, int week, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    for (int f = squash->found[week]; f >= 0; f = squash->next_found[f])
        if (squash->cure[f] != STORE_GONE)
            store_open_dead(plan, squash, f, week, books);
}

double store_flesh_kg(const struct plan *plan, const struct store *store)
{
    double kg = store_cut_kg(&store->squash);
    for (int i = 0; i < plan->squash_n; i++)
        kg += store->squash.planted[i].kg * plan->plantings[plan->squash[i]].crop->flesh_share;
    return kg;
}

void store_compact(const struct plan *plan, struct store *store)
{
    struct store_squash *squash = &store->squash;
    int kept = 0, order_n = 0;
    for (int week = 0; week <= plan->weeks; week++)
        squash->found[week] = -1;
    for (int number = 0; number < squash->lots_n; number++) {
        struct store_lot *lot = &squash->lots[number];
        int from = kept;
        for (int f = lot->from; f < lot->until; f++) {
            if (squash->cure[f] == STORE_GONE)
                continue;
            squash->kg[kept] = squash->kg[f];
            squash->end[kept] = squash->end[f];
            squash->cure[kept] = squash->cure[f];
            squash->lot[kept] = number;
            await_finding(plan, squash, kept++, lot->ref_week);
        }
        lot->from = from;
        lot->until = kept;
        for (int cure = 0; cure < 3; cure++)
            squash->group[3 * number + cure].at = from;
    }
    squash->n = kept;
    for (int i = squash->order_first; i < squash->order_n; i++)
        if (squash->group[squash->order[i]].left > 0)
            squash->order[order_n++] = squash->order[i];
    squash->order_first = 0;
    squash->order_n = order_n;
}
