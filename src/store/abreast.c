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

/* What of a trial's fruits of a planting has left the shelf since it was asked last, in kg as cut. */
BASE_PART double find_gone(struct store_cutting *cutting, int trial)
{
    double kg = cutting->kg.at[trial];
    kg = cutting->n.at[trial] > 0 ? kg : 0.0; /* no dust of rounding on an empty shelf */
    double gone = cutting->before.at[trial] - kg;
    cutting->before.at[trial] = cutting->kg.at[trial] = kg;
    return gone;
}

/* Of the dead fruits that have left the shelf what flesh is kept becomes cut flesh, the rest is lost. */
BASE_VECTOR static void book_dead(struct store_abreast *store, double salvage)
{
    struct store_slices *cut = &store->cut[store->cut_now];
    for (int c = 0; c < store->cuttings_n; c++) {
        struct store_cutting *cutting = &store->cutting[c];
        const double share = cutting->flesh_share, kcal = cutting->kcal_per_kg, protein_g = cutting->protein_g_per_kg;
        BASE_SIDE_BY_SIDE(i) {
            double gone = find_gone(cutting, i), kg = gone * cutting->now.at[i], kept = kg * share * salvage;
            store->dried_away.at[i] += gone - kg;
            store->lost.at[i] += kg - kept;
            cut->kg.at[i] += kept;
            cut->kcal.at[i] += kept * kcal;
            cut->protein_g.at[i] += kept * protein_g;
        }
    }
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
struct serving { struct store_side left, last; };

/* Bits of the trials that want more and have more. */
BASE_VECTOR static unsigned who_opens(const struct serving *meals, const struct store_bits *ready)
{
    uint64_t bits = 0;
    BASE_SIDE_BY_SIDE(i)
        bits |= ((meals->left.at[i] > CRUMB_KG) & (ready->at[i] > 0)) ? BASE_SIDE_BIT[i] : 0u;
    return (unsigned)bits;
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
        meals->last.at[t] = of;
        rest[t] = flesh - got;
        more |= (unsigned)((left - got > CRUMB_KG) & (ready[t] > 0)) << t;
    }
    return more;
}

/* Opens whole fruits of a word that are ready until what is left of the wants is met; does any? */
static bool open_fruits(struct store_abreast *store, int week, int word, struct serving *meals)
{
    struct store_bits *whole = &store->whole[word], some, *ready = week < store->all_ready ? &some : whole;
    for (int t = 0; t < SIDE && ready == &some; t++)
        some.at[t] = those_ready(store, t, word, week);
    const struct store_bits before = *ready;
    unsigned trials = who_opens(meals, ready);
    bool any = trials > 0;
    while (trials > 0)
        trials = open_one_each(store, trials, word, ready->at, meals);
    for (int t = 0; t < SIDE && ready == &some; t++)
        whole->at[t] ^= before.at[t] ^ some.at[t];
    return any;
}

/* What is left of the fruits opened last, if they were of planting c; other cut flesh feeds as it did. */
BASE_PART void find_rest(const struct store_slices *cut, const struct serving *meals, double c, double *restrict rest,
                         double *restrict other_kcal, double *restrict other_g)
{
    BASE_SIDE_BY_SIDE(i) {
        double kg = cut->kg.at[i], kcal = cut->kcal.at[i], protein_g = cut->protein_g.at[i], last = meals->last.at[i];
        rest[i] = last == c ? kg : 0.0;
        other_kcal[i] = last == c ? 0.0 : kcal;
        other_g[i] = last == c ? 0.0 : protein_g;
    }
}

/* Of the fruits opened some has dried away, some is trimmed, and the flesh feeds but for what is left of the last. */
BASE_VECTOR static void book_opened(struct store_abreast *store, const struct serving *meals)
{
    struct store_slices *cut = &store->cut[store->cut_now];
    double rest[SIDE], other_kcal[SIDE], other_g[SIDE];
    for (int c = 0; c < store->cuttings_n; c++) {
        struct store_cutting *cutting = &store->cutting[c];
        const double share = cutting->flesh_share, kcal = cutting->kcal_per_kg, protein_g = cutting->protein_g_per_kg;
        find_rest(cut, meals, c, rest, other_kcal, other_g);
        BASE_SIDE_BY_SIDE(i) {
            double gone = find_gone(cutting, i), kg = gone * cutting->now.at[i], flesh = kg * share;
            store->dried_away.at[i] += gone - kg;
            store->trimmed.at[i] += kg - flesh;
            store->kcal.at[i] += (flesh - rest[i]) * kcal;
            store->protein_g.at[i] += (flesh - rest[i]) * protein_g;
            cut->kcal.at[i] = rest[i] * kcal + other_kcal[i];
            cut->protein_g.at[i] = rest[i] * protein_g + other_g[i];
        }
    }
}

/* The dead fruits of a word that the week's look-over finds in trials whose weeks are not over: bits of these trials. Such fruits
 * are whole no longer. */
BASE_PART unsigned find_dead(struct store_abreast *store, int week, int word, const double *end)
{
    struct store_bits *restrict found = &store->found[word * (store->weeks + 1) + week];
    struct store_bits *restrict whole = &store->whole[word], *restrict dead = &store->dead[word];
    uint64_t bits = 0;
    BASE_SIDE_BY_SIDE(i) {
        uint64_t some = end[i] > week ? found->at[i] & whole->at[i] : 0;
        dead->at[i] = some;
        whole->at[i] &= ~some;
        found->at[i] = 0;
        bits |= some > 0 ? BASE_SIDE_BIT[i] : 0;
    }
    return (unsigned)bits;
}

/* Fruit has dried since the week before; what is cut this week comes in; the look-over finds dead fruits: bits of the trials in
 * which it does. */
BASE_VECTOR static unsigned begin_week(struct store_abreast *store, int week, const struct store_side *end)
{
    double whole[SIDE] = { 0 }, dried[SIDE];
    unsigned found = 0;
    for (int c = 0; c < store->cuttings_n; c++) {
        struct store_cutting *one = &store->cutting[c];
        const double keeps_mass = one->keeps_mass, share = one->flesh_share;
        BASE_SIDE_BY_SIDE(i)
            dried[i] = one->now.at[i] * keeps_mass;
        BASE_SIDE_BY_SIDE(i) {
            one->now.at[i] = one->week.at[i] < week ? dried[i] : 1.0;
            double kg = one->kg.at[i], n = one->n.at[i], in_kg = one->in_kg.at[i], in_n = one->in_n.at[i];
            kg = one->week.at[i] == week ? in_kg : kg;
            n = one->week.at[i] == week ? in_n : n;
            one->flesh.at[i] = one->now.at[i] * share;
            one->before.at[i] = one->kg.at[i] = kg;
            one->n.at[i] = n;
            whole[i] += n;
        }
    }
    BASE_SIDE_BY_SIDE(i) {
        store->lost_before.at[i] = store->lost.at[i];
        store->fruits_peak.at[i] = whole[i] > store->fruits_peak.at[i] ? whole[i] : store->fruits_peak.at[i];
    }
    for (int word = 0; word < store->words && week <= store->last_found; word++)
        found |= find_dead(store, week, word, end->at);
    return found;
}

/* Takes cut flesh, the oldest first, of what is wanted. */
BASE_VECTOR static void take_cut(struct store_abreast *store, const double *want_kg, struct serving *meals)
{
    BASE_SIDE_BY_SIDE(i) {
        meals->left.at[i] = want_kg[i];
        meals->last.at[i] = -1;
    }
    for (int n = 0, slot = store->cut_now; n < store->cut_slots; n++) {
        slot = slot + 1 < store->cut_slots ? slot + 1 : 0;
        struct store_slices *from = &store->cut[slot];
        BASE_SIDE_BY_SIDE(i) {
            double kg = from->kg.at[i], left = meals->left.at[i], got = kg < left ? kg : left;
            double share = got / (kg > CRUMB_KG ? kg : CRUMB_KG);
            double kcal = share * from->kcal.at[i], protein_g = share * from->protein_g.at[i];
            from->kg.at[i] = kg - got;
            from->kcal.at[i] -= kcal;
            from->protein_g.at[i] -= protein_g;
            meals->left.at[i] = left - got;
            store->kcal.at[i] += kcal;
            store->protein_g.at[i] += protein_g;
        }
    }
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

/* Cut flesh past keeping is lost, in the trials whose weeks are not over; what the week has lost in all. */
BASE_PART void lose_oldest(struct store_abreast *store, int week, const struct store_side *end, double *restrict lost_kg)
{
    struct store_slices *oldest = &store->cut[store->cut_now];
    BASE_SIDE_BY_SIDE(i) {
        bool lives = end->at[i] > week;
        double old = oldest->kg.at[i], lost = store->lost.at[i] + (lives ? old : 0.0);
        store->lost.at[i] = lost;
        lost_kg[i] = lost - store->lost_before.at[i];
        oldest->kg.at[i] = lives ? 0.0 : old;
        oldest->kcal.at[i] = oldest->protein_g.at[i] = 0; /* those of trials that are over feed nobody */
    }
}

/* What is on the shelf: kg, and whole fruits. */
BASE_PART void take_stock(const struct store_abreast *store, double *restrict kg, double *restrict whole)
{
    BASE_SIDE_BY_SIDE(i)
        kg[i] = whole[i] = 0;
    for (int c = 0; c < store->cuttings_n; c++)
        BASE_SIDE_BY_SIDE(i) {
            kg[i] += store->cutting[c].kg.at[i] * store->cutting[c].now.at[i];
            whole[i] += store->cutting[c].n.at[i];
        }
    for (int slot = 0; slot < store->cut_slots; slot++)
        BASE_SIDE_BY_SIDE(i)
            kg[i] += store->cut[slot].kg.at[i];
}

/* A week's end, and the notes of the trials whose weeks are not over. Bits of those that have any left. meals: NULL: none was
 * wanted. */
BASE_VECTOR static unsigned end_week(struct store_abreast *store, int week, const struct serving *meals,
                                     const struct store_side *end, const struct store_weeks *weeks)
{
    const size_t row = (size_t)week * SIDE;
    const double *restrict want_kg = weeks->want_kg + row, next = week + 1;
    double *restrict eaten_kg = weeks->eaten_kg + row, *restrict stock_kg = weeks->stock_kg + row;
    double *restrict lost_kg = weeks->lost_kg + row, kg[SIDE], whole[SIDE];
    int32_t *restrict count = weeks->count + row;
    uint64_t bits = 0;
    lose_oldest(store, week, end, lost_kg);
    take_stock(store, kg, whole);
    BASE_SIDE_BY_SIDE(i)
        eaten_kg[i] = 0;
    if (meals)
        BASE_SIDE_BY_SIDE(i) {
            eaten_kg[i] = want_kg[i] - meals->left.at[i];
            store->eaten.at[i] += eaten_kg[i];
            store->lost_while_wanted.at[i] += lost_kg[i];
        }
    BASE_SIDE_BY_SIDE(i) {
        bool lives = end->at[i] > week;
        double stock = lives ? kg[i] : 0.0, n = lives ? whole[i] : 0.0;
        stock_kg[i] = stock;
        whole[i] = n;
        store->stocked_end.at[i] = stock + lost_kg[i] + eaten_kg[i] + n > 0 ? next : store->stocked_end.at[i];
    }
    BASE_SIDE_BY_SIDE(i)
        count[i] = (int32_t)whole[i];
    BASE_SIDE_BY_SIDE(i)
        bits |= stock_kg[i] + whole[i] > 0 ? BASE_SIDE_BIT[i] : 0;
    return (unsigned)bits;
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
static bool live_week(const struct plan *plan, struct store_abreast *store, int week, const struct store_side *end,
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
    struct store_side ends = { { 0 } };
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
