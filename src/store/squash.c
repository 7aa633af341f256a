/* squash.c: fruits find places, dry, are looked over. */
#include "store/internal.h"

#include <math.h>

enum { KEY_CURE = 58, KEY_RANK = 48, KEY_FACTOR = 40, KEY_DAY = 16 };
static const int DAY_OFFSET = 365 * 400; /* earlier seasons' days stay positive in a key */

/* The order of eating as one number: unripe, poorly cured, cured; eat_rank; worst place; earliest cut; planting. */
static uint64_t group_key(const struct plan *plan, int planting, int place, int cure, int cut_day)
{
    return (uint64_t)cure << KEY_CURE | (uint64_t)plan->plantings[planting].rank << KEY_RANK
           | (uint64_t)plan->places[place].rank << KEY_FACTOR | (uint64_t)(cut_day + DAY_OFFSET) << KEY_DAY
           | (uint64_t)planting;
}

static void put_in_order(struct store_squash *squash, int group)
{
    int at = squash->order_n++;
    uint64_t key = squash->group[group].key;
    for (; at > squash->order_first && squash->group[squash->order[at - 1]].key > key; at--)
        squash->order[at] = squash->order[at - 1];
    squash->order[at] = group;
}

static int new_group(struct store_squash *squash, uint64_t key, int ready_week)
{
    int group = squash->groups_n++;
    squash->group[group] = (struct store_group){ .key = key, .head = -1, .tail = -1, .ready_week = ready_week };
    put_in_order(squash, group);
    return group;
}

static void append(struct store_squash *squash, int group, int f)
{
    struct store_group *g = &squash->group[group];
    squash->fruit[f].group = group;
    squash->fruit[f].next = -1;
    if (g->tail >= 0)
        squash->fruit[g->tail].next = f;
    else
        g->head = f;
    g->tail = f;
}

/* The look-over that will find the fruit: the first at or after its end (and after `week`, when it is put there). */
static void await_finding(const struct plan *plan, struct store_squash *squash, int f, int week)
{
    int every = plan->scenario->store.look_over_weeks;
    double end = squash->fruit[f].end;
    if (!(end < plan->weeks))
        return;
    int found = (int)end;
    found += found < end;
    found = found > week ? found : week;
    if (every > 1)
        found = (found + every - 1) / every * every;
    if (found <= plan->weeks) {
        squash->fruit[f].next_found = squash->found[found];
        squash->found[found] = f;
    }
}

/* Takes the next fruit's slot. */
static void put(const struct plan *plan, struct store_squash *squash, int group, int planting, int place, double kg,
                double end, int week)
{
    int f = squash->n++;
    squash->fruit[f] = (struct store_fruit){ .kg = kg, .end = end, .ref_week = week, .planting = (int16_t)planting,
                                             .place = (int16_t)place, .whole = true };
    append(squash, group, f);
    await_finding(plan, squash, f, week);
}

/* Counts n fruits of so much mass in. */
static void count_in(struct store_squash *squash, int planting, int n, double kg)
{
    squash->whole_n += n;
    squash->planted_n[planting] += n;
    squash->planted_kg[planting] += kg;
}

/* The group of a load's fruits of one cure in one place; -1 in groups: not made yet. */
static int group_of(const struct plan *plan, struct store_squash *squash, const struct store_load *load, int place, int cure,
                    int groups[3])
{
    if (groups[cure] < 0) {
        int cure_weeks = cure == SCENARIO_UNRIPE ? 0 : plan->plantings[load->planting].crop->cure_weeks;
        groups[cure] = new_group(squash, group_key(plan, load->planting, place, cure, load->cut_day),
                                 load->week + cure_weeks);
    }
    return groups[cure];
}

/* Fruits from number `from` on that `place` has room for; returns how many it took. */
static int fill_place(const struct plan *plan, struct store_squash *squash, const struct store_load *load, int from, int place)
{
    int groups[3] = { -1, -1, -1 };
    double room = plan->places[place].holds - squash->place_n[place], factor = plan->places[place].keeps_factor, kg = 0;
    int n = load->n - from < room ? load->n - from : (int)room;
    for (int i = from; i < from + n; i++) {
        int group = group_of(plan, squash, load, place, load->cure[i], groups);
        put(plan, squash, group, load->planting, place, load->kg[i], load->week + load->life_weeks[i] * factor, load->week);
        kg += load->kg[i];
    }
    squash->place_n[place] += n;
    count_in(squash, load->planting, n, kg);
    return n;
}

void store_bring_squash(const struct plan *plan, struct store *store, const struct store_load *load,
                        struct store_books *books)
{
    int next = 0;
    for (int i = 0; i < load->n; i++)
        books->in += load->kg[i];
    for (int place = 0; place < plan->places_n && next < load->n; place++)
        if (store->squash.place_n[place] < plan->places[place].holds)
            next += fill_place(plan, &store->squash, load, next, place);
    for (; next < load->n; next++)
        books->given_away += load->kg[next];
}

void store_put_squash(const struct plan *plan, struct store *store, const struct plan_shelf_fruit *item, double end,
                      int week, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    int cure_weeks = item->cure == SCENARIO_UNRIPE ? 0 : plan->plantings[item->planting].crop->cure_weeks;
    int group = new_group(squash, group_key(plan, item->planting, item->place, item->cure, item->cut_day),
                          item->cut_week + cure_weeks);
    put(plan, squash, group, item->planting, item->place, item->kg, end, week);
    squash->place_n[item->place]++;
    count_in(squash, item->planting, 1, item->kg);
    books->opening += item->kg;
}

void store_dry(const struct plan *plan, struct store *store, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    for (int i = 0; i < plan->squash_n; i++) {
        int p = plan->squash[i];
        double left = squash->planted_kg[p] * plan->plantings[p].keeps_mass;
        books->dried_away += squash->planted_kg[p] - left;
        squash->planted_kg[p] = left;
    }
}

double store_leave_shelf(const struct plan *plan, struct store_squash *squash, int f, int week)
{
    struct store_fruit *fruit = &squash->fruit[f];
    int p = fruit->planting;
    double kg = fruit->kg * plan->plantings[p].mass_at_age[week - fruit->ref_week];
    fruit->whole = false;
    squash->whole_n--;
    squash->planted_n[p]--;
    squash->planted_kg[p] = squash->planted_n[p] > 0 ? squash->planted_kg[p] - kg : 0.0;
    squash->place_n[fruit->place]--;
    return kg;
}

double store_salvage(const struct plan *plan, struct store_squash *squash, int f, int week, struct store_books *books)
{
    const struct store_fruit *fruit = &squash->fruit[f];
    double lay = week - fruit->end, kg = store_leave_shelf(plan, squash, f, week);
    double share = lay <= 1 ? plan->scenario->store.salvage_share : store_power_of_2(lay * squash->salvage_log2);
    double kept = kg * plan->plantings[fruit->planting].crop->flesh_share * share;
    books->lost += kg - kept;
    return kept;
}

void store_cut_up(const struct plan *plan, struct store_squash *squash, int f, double flesh_kg)
{
    const struct scenario_crop *crop = plan->plantings[squash->fruit[f].planting].crop;
    squash->cut_n = squash->cut_n > 0 ? squash->cut_n : 1;
    struct store_cut *cut = &squash->cut[0];
    double share = cut->kg > 0 ? flesh_kg / (cut->kg + flesh_kg) : 1.0;
    cut->kg += flesh_kg;
    cut->kcal_per_kg += share * (crop->kcal_per_kg - cut->kcal_per_kg);
    cut->protein_g_per_kg += share * (crop->protein_g_per_kg - cut->protein_g_per_kg);
}

void store_look_over(const struct plan *plan, struct store *store, int week, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    for (int f = squash->found[week]; f >= 0; f = squash->fruit[f].next_found)
        if (squash->fruit[f].whole)
            store_cut_up(plan, squash, f, store_salvage(plan, squash, f, week, books));
}

double store_squash_kg(const struct plan *plan, const struct store *store)
{
    double kg = 0;
    for (int age = 0; age < store->squash.cut_n; age++)
        kg += store->squash.cut[age].kg;
    for (int i = 0; i < plan->squash_n; i++)
        kg += store->squash.planted_kg[plan->squash[i]];
    return kg;
}

double store_flesh_kg(const struct plan *plan, const struct store *store)
{
    double kg = 0;
    for (int age = 0; age < store->squash.cut_n; age++)
        kg += store->squash.cut[age].kg;
    for (int i = 0; i < plan->squash_n; i++)
        kg += store->squash.planted_kg[plan->squash[i]] * plan->plantings[plan->squash[i]].crop->flesh_share;
    return kg;
}

void store_compact(const struct plan *plan, struct store *store)
{
    struct store_squash *squash = &store->squash;
    int kept = 0, order_n = 0;
    for (int week = 0; week <= plan->weeks; week++)
        squash->found[week] = -1;
    for (int g = 0; g < squash->groups_n; g++)
        squash->group[g].head = squash->group[g].tail = -1;
    for (int f = 0; f < squash->n; f++) {
        if (!squash->fruit[f].whole)
            continue;
        squash->fruit[kept] = squash->fruit[f];
        append(squash, squash->fruit[kept].group, kept);
        await_finding(plan, squash, kept, squash->fruit[kept].ref_week);
        kept++;
    }
    squash->n = kept;
    for (int i = squash->order_first; i < squash->order_n; i++)
        if (squash->group[squash->order[i]].head >= 0)
            squash->order[order_n++] = squash->order[i];
    squash->order_first = 0;
    squash->order_n = order_n;
}
