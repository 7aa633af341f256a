/* abreast.c: trials' squash side by side, week by week. What all of them do in a week is done by vector instructions; what
 * befalls a fruit, fruit by fruit. */
#include "store/abreast.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST };
static const double CRUMB_KG = 1e-12;

/* A whole fruit leaves the shelf. What becomes of it is booked for all that leave it in a week together: see book_dead and
 * book_opened, to which before - kg is what has left. */
static inline void leave_shelf(struct store_cutting *cutting, int trial, double kg)
{
    cutting->n.at[trial] -= 1;
    cutting->kg.at[trial] -= kg;
}

/* What of a planting's fruits has left the shelf since it was asked last, in kg as cut. */
BASE_PART void find_gone(struct store_cutting *cutting, base_side *gone)
{
    const base_side none = { 0 };
    base_side kg = base_side_choose(cutting->n.all > 0, cutting->kg.all, none); /* no dust of rounding on an empty shelf */
    *gone = cutting->before.all - kg;
    cutting->before.all = cutting->kg.all = kg;
}

/* Of the dead fruits that have left the shelf what flesh is kept becomes cut flesh, the rest is lost. */
BASE_VECTOR static void book_dead(struct store_abreast *store, double salvage)
{
    struct store_slices *cut = &store->cut[store->cut_now];
    base_side dried = { 0 }, lost = dried, kept = dried, kcal = dried, protein_g = dried;
    for (int c = 0; c < store->cuttings_n; c++) {
        struct store_cutting *cutting = &store->cutting[c];
        base_side gone;
        find_gone(cutting, &gone);
        base_side kg = gone * cutting->now.all, some = kg * cutting->flesh_share * salvage;
        dried += gone - kg;
        lost += kg - some;
        kept += some;
        kcal += some * cutting->kcal_per_kg;
        protein_g += some * cutting->protein_g_per_kg;
    }
    store->dried_away.all += dried;
    store->lost.all += lost;
    cut->kg.all += kept;
    cut->kcal.all += kcal;
    cut->protein_g.all += protein_g;
}

/* The dead fruits that the week has found in some trials leave the shelf. */
static void look_over(const struct plan *plan, struct store_abreast *store, unsigned trials)
{
    for (; trials > 0; trials &= trials - 1) {
        const int t = __builtin_ctz(trials);
        for (int word = 0; word < store->words; word++)
            for (uint64_t dead = store->dead[word].at[t]; dead > 0; dead &= dead - 1) {
                size_t f = ((size_t)word * 64 + (size_t)__builtin_ctzll(dead)) * SIDE + (size_t)t;
                leave_shelf(&store->cutting[store_cutting_of(store->kind[f])], t, store->kg[f]);
            }
    }
    book_dead(store, plan->scenario->store.salvage_share);
}

/* Of the fruits of a word those that are ready to be eaten: cured, or unripe. */
static uint64_t those_ready(const struct store_abreast *store, int trial, int word, int week)
{
    uint64_t ready = 0;
    for (uint64_t bits = store->whole[word].at[trial]; bits > 0; bits &= bits - 1) {
        size_t f = ((size_t)word * 64 + (size_t)__builtin_ctzll(bits)) * SIDE + (size_t)trial;
        const struct store_cutting *cutting = &store->cutting[store_cutting_of(store->kind[f])];
        double cut = cutting->week.at[trial];
        if (week >= (store_cure_of(store->kind[f]) == SCENARIO_UNRIPE ? cut : cut + cutting->of->crop->cure_weeks))
            ready |= bits & -bits;
    }
    return ready;
}

/* A week's meals: what is left to want, and the planting of the fruit opened last (-1: none was opened). */
struct serving { union store_side left; union store_bits last; };

/* Bits of the trials that want more and have more. */
BASE_VECTOR static unsigned who_opens(const struct serving *meals, const union store_bits *ready)
{
    const base_side none = { 0 }, left = base_side_choose(ready->all != 0, meals->left.all, none);
    const base_side opens = base_side_choose(left > CRUMB_KG, base_side_bit, none);
    return base_side_join(&opens);
}

/* Each of some trials opens its next fruit of a word when all cut flesh is eaten, and eats of it; the rest becomes cut flesh of
 * this week. Bits of those that want more and have more: none waits for another, and no branch hangs on what one finds. */
static unsigned open_one_each(struct store_abreast *store, unsigned trials, int word, uint64_t *ready, struct serving *meals)
{
    double *rest = store->cut[store->cut_now].kg.at;
    unsigned more = 0;
    for (; trials > 0; trials &= trials - 1) {
        int t = __builtin_ctz(trials);
        size_t f = ((size_t)word * 64 + (size_t)__builtin_ctzll(ready[t])) * SIDE + (size_t)t;
        const int of = store_cutting_of(store->kind[f]);
        struct store_cutting *cutting = &store->cutting[of];
        double flesh = store->kg[f] * cutting->flesh.at[t], left = meals->left.at[t], got = flesh < left ? flesh : left;
        leave_shelf(cutting, t, store->kg[f]);
        ready[t] &= ready[t] - 1;
        meals->left.at[t] = left - got;
        meals->last.at[t] = (uint64_t)of;
        rest[t] = flesh - got;
        more |= (unsigned)((left - got > CRUMB_KG) & (ready[t] > 0)) << t;
    }
    return more;
}

/* Opens whole fruits of a word that are ready until what is left of the wants is met; does any? */
static bool open_fruits(struct store_abreast *store, int week, int word, struct serving *meals)
{
    union store_bits *whole = &store->whole[word], some, *ready = week < store->all_ready ? &some : whole;
    for (int t = 0; t < SIDE && ready == &some; t++)
        some.at[t] = those_ready(store, t, word, week);
    const union store_bits before = *ready;
    unsigned trials = who_opens(meals, ready);
    bool any = trials > 0;
    while (trials > 0)
        trials = open_one_each(store, trials, word, ready->at, meals);
    for (int t = 0; t < SIDE && ready == &some; t++)
        whole->at[t] ^= before.at[t] ^ some.at[t];
    return any;
}

/* Of the fruits opened some has dried away, some is trimmed, and the flesh feeds but for what is left of the last. */
BASE_VECTOR static void book_opened(struct store_abreast *store, const struct serving *meals)
{
    struct store_slices *cut = &store->cut[store->cut_now];
    const base_side none = { 0 };
    base_side dried = none, trimmed = none, kcal = none, protein_g = none, rest_kcal = none, rest_g = none;
    for (int c = 0; c < store->cuttings_n; c++) {
        struct store_cutting *cutting = &store->cutting[c];
        base_side gone, rest = base_side_choose(meals->last.all == c, cut->kg.all, none);
        find_gone(cutting, &gone);
        base_side kg = gone * cutting->now.all, flesh = kg * cutting->flesh_share;
        dried += gone - kg;
        trimmed += kg - flesh;
        kcal += flesh * cutting->kcal_per_kg;
        protein_g += flesh * cutting->protein_g_per_kg;
        rest_kcal += rest * cutting->kcal_per_kg;
        rest_g += rest * cutting->protein_g_per_kg;
    }
    store->dried_away.all += dried;
    store->trimmed.all += trimmed;
    store->kcal.all += kcal - rest_kcal;
    store->protein_g.all += protein_g - rest_g;
    cut->kcal.all = base_side_choose(meals->last.all >= 0, rest_kcal, cut->kcal.all);
    cut->protein_g.all = base_side_choose(meals->last.all >= 0, rest_g, cut->protein_g.all);
}

/* Fruit has dried since the week before; what is cut this week comes in; the look-over finds dead fruits in trials whose weeks
 * are not over: bits of these trials. Such fruits are whole no longer. */
BASE_VECTOR static unsigned begin_week(struct store_abreast *store, int week, const union store_side *end)
{
    const base_side none = { 0 }, now = none + week;
    base_side whole = none, any = none;
    for (int c = 0; c < store->cuttings_n; c++) {
        struct store_cutting *one = &store->cutting[c];
        base_side_mask comes = one->week.all == now, stands = one->week.all < now;
        one->now.all = base_side_choose(stands, one->now.all * one->keeps_mass, none + 1);
        one->flesh.all = one->now.all * one->flesh_share;
        one->before.all = one->kg.all = base_side_choose(comes, one->in_kg.all, one->kg.all);
        one->n.all = base_side_choose(comes, one->in_n.all, one->n.all);
        whole += one->n.all;
    }
    store->lost_before = store->lost;
    store->fruits_peak.all = base_side_choose(whole > store->fruits_peak.all, whole, store->fruits_peak.all);
    for (int word = 0; word < store->words && week <= store->last_found; word++) {
        base_side_mask *found = &store->found[word * (store->weeks + 1) + week].all;
        const base_side_mask dead = (base_side_mask)base_side_choose(end->all > now, *found & store->whole[word].all, none);
        store->dead[word].all = dead;
        store->whole[word].all &= ~dead;
        *found = (base_side_mask){ 0 };
        any = base_side_choose(dead != 0, base_side_bit, any);
    }
    return base_side_join(&any);
}

/* Takes cut flesh, the oldest first, of what is wanted. */
BASE_VECTOR static void take_cut(struct store_abreast *store, const double *want_kg, struct serving *meals)
{
    base_side left, kcal = store->kcal.all, protein_g = store->protein_g.all;
    base_side_load(&left, want_kg);
    for (int n = 0, slot = store->cut_now; n < store->cut_slots; n++) {
        slot = slot + 1 < store->cut_slots ? slot + 1 : 0;
        struct store_slices *from = &store->cut[slot];
        base_side got = base_side_least(from->kg.all, left);
        base_side share = base_side_choose(from->kg.all > got, got / from->kg.all, (base_side){ 0 } + 1);
        base_side got_kcal = share * from->kcal.all, got_g = share * from->protein_g.all;
        from->kg.all -= got;
        from->kcal.all -= got_kcal;
        from->protein_g.all -= got_g;
        left -= got;
        kcal += got_kcal;
        protein_g += got_g;
    }
    meals->left.all = left;
    meals->last.all = (base_side_mask){ 0 } - 1;
    store->kcal.all = kcal;
    store->protein_g.all = protein_g;
}

/* Meals of a week in which squash is wanted. */
static void serve_week(struct store_abreast *store, int week, const double *want_kg, struct serving *meals)
{
    bool any = false;
    take_cut(store, want_kg, meals);
    for (int word = 0; word < store->words; word++)
        any |= open_fruits(store, week, word, meals);
    if (any)
        book_opened(store, meals);
}

/* A week's end: cut flesh past keeping is lost; notes of the trials whose weeks are not over. Bits of those that have any left.
 * meals: NULL: none was wanted. */
BASE_VECTOR static unsigned end_week(struct store_abreast *store, int week, const struct serving *meals,
                                     const union store_side *end, const struct store_weeks *weeks)
{
    const base_side none = { 0 };
    const base_side_mask lives = end->all > (double)week;
    struct store_slices *oldest = &store->cut[store->cut_now];
    base_side kg = none, whole = none, eaten = none;
    size_t row = (size_t)week * SIDE;
    store->lost.all += base_side_choose(lives, oldest->kg.all, none);
    oldest->kg.all = base_side_choose(lives, none, oldest->kg.all);
    oldest->kcal.all = oldest->protein_g.all = none; /* those of trials that are over feed nobody */
    for (int c = 0; c < store->cuttings_n; c++) {
        kg += store->cutting[c].kg.all * store->cutting[c].now.all;
        whole += store->cutting[c].n.all;
    }
    for (int slot = 0; slot < store->cut_slots; slot++)
        kg += store->cut[slot].kg.all;
    base_side lost = store->lost.all - store->lost_before.all;
    kg = base_side_choose(lives, kg, none);
    whole = base_side_choose(lives, whole, none);
    if (meals) {
        base_side_load(&eaten, weeks->want_kg + row);
        eaten -= meals->left.all;
        store->eaten.all += eaten;
        store->lost_while_wanted.all += lost;
    }
    base_side_store(weeks->eaten_kg + row, &eaten);
    base_side_store(weeks->stock_kg + row, &kg);
    base_side_store(weeks->lost_kg + row, &lost);
    store->stocked_end.all = base_side_choose(kg + lost + eaten + whole > 0, none + (week + 1), store->stocked_end.all);
    base_side_counts count = __builtin_convertvector(whole, base_side_counts);
    memcpy(weeks->count + row, &count, sizeof count);
    const base_side left = base_side_choose(kg + whole > 0, base_side_bit, none);
    return base_side_join(&left);
}

/* A trial's last week is over. */
static void close_trial(struct store_abreast *store, int trial)
{
    double left = 0, dried = 0;
    for (int c = 0; c < store->cuttings_n; c++) {
        const struct store_cutting *cutting = &store->cutting[c];
        dried += cutting->kg.at[trial] * (1 - cutting->now.at[trial]);
        left += cutting->kg.at[trial] * cutting->now.at[trial];
    }
    for (int slot = 0; slot < store->cut_slots; slot++)
        left += store->cut[slot].kg.at[trial];
    store->dried_away.at[trial] += dried;
    store->kg_left.at[trial] = left;
}

/* A week of all trials; is anything left after it? */
static bool live_week(const struct plan *plan, struct store_abreast *store, int week, const union store_side *end,
                      const struct store_weeks *weeks)
{
    struct serving meals;
    bool wanted = plan->want[0][week].portions[SCENARIO_SQUASH] > 0;
    unsigned found = begin_week(store, week, end);
    if (found > 0)
        look_over(plan, store, found);
    if (wanted)
        serve_week(store, week, weeks->want_kg + (size_t)week * SIDE, &meals);
    store->cut_now = store->cut_now + 1 < store->cut_slots ? store->cut_now + 1 : 0;
    return end_week(store, week, wanted ? &meals : NULL, end, weeks) > 0;
}

void store_live_abreast(const struct plan *plan, struct store_abreast *store, const int *first, const int *end, int n,
                        const struct store_weeks *weeks)
{
    int from = first[0], until = end[0], soonest = end[0];
    union store_side ends = { { 0 } };
    for (int i = 0; i < n; i++) {
        from = first[i] < from ? first[i] : from;
        until = end[i] > until ? end[i] : until;
        soonest = end[i] < soonest ? end[i] : soonest;
        ends.at[i] = end[i];
        store->stocked_end.at[i] = first[i];
    }
    bool any = true;
    int week = from;
    for (; week < until && (any || week <= store->last_cut); week++) {
        any = live_week(plan, store, week, &ends, weeks);
        for (int i = 0; i < n && week + 1 >= soonest; i++)
            if (week + 1 == end[i])
                close_trial(store, i);
    }
    for (int word = 0; word < store->words && week <= store->last_found; word++)
        memset(store->found + word * (store->weeks + 1) + week, 0, (size_t)(store->last_found + 1 - week) * sizeof *store->found);
}

struct store_books store_books_of(const struct store_abreast *store, int trial)
{
    return (struct store_books){
        .in = store->in.at[trial], .eaten = store->eaten.at[trial], .dried_away = store->dried_away.at[trial],
        .trimmed = store->trimmed.at[trial], .lost = store->lost.at[trial], .given_away = store->given_away.at[trial],
        .left = store->kg_left.at[trial], .lost_while_wanted = store->lost_while_wanted.at[trial],
        .kcal = store->kcal.at[trial], .protein_g = store->protein_g.at[trial],
    };
}
