/* serve.c: taking squash for the table. */
#include "store/internal.h"

static const double CRUMB_KG = 1e-12; /* a want below this is met: no fruit is opened for a rounding error */

/* Takes cut flesh of one week. */
static inline double take(struct store_cut *from, double want_kg, struct store_books *books)
{
    double got = from->kg < want_kg ? from->kg : want_kg;
    from->kg -= got;
    books->kcal += got * from->kcal_per_kg;
    books->protein_g += got * from->protein_g_per_kg;
    return got;
}

/* Takes cut flesh, the oldest first; returns what is left of the want. */
static inline double take_cut(struct store_squash *squash, double left, struct store_books *books)
{
    for (int n = 0, slot = squash->cut_now; n < squash->cut_slots; n++) { /* the oldest is next in the ring */
        slot = slot + 1 < squash->cut_slots ? slot + 1 : 0;
        left -= take(&squash->cut[slot], left, books);
    }
    return left;
}

/* Opens a sound fruit when all cut flesh is eaten, and eats of it; the rest becomes cut flesh of this week. Returns what is
 * left of the want. */
static inline double open_fruit(struct store_squash *squash, int f, double left, struct store_books *books)
{
    const struct scenario_crop *crop = squash->batch[squash->batch_of[f]].of->crop;
    double kg = store_leave_shelf(squash, f, books), flesh = kg * crop->flesh_share;
    double got = flesh < left ? flesh : left;
    books->trimmed += kg - flesh;
    books->kcal += got * crop->kcal_per_kg;
    books->protein_g += got * crop->protein_g_per_kg;
    if (flesh > got) {
        squash->cut[squash->cut_now] = (struct store_cut){ flesh - got, crop->kcal_per_kg, crop->protein_g_per_kg };
        squash->cut_weeks = squash->cut_slots;
    }
    return left - got;
}

/* Opens whole fruits, group by group, until what is left of the want is met; returns what is still left. */
static double open_fruits(const struct plan *plan, struct store_squash *squash, int week, double left,
                          struct store_books *books)
{
    for (int g = squash->groups_first; g < squash->groups_n; g++) {
        struct store_group *group = &squash->group[g];
        for (; group->ready_week <= week && group->at < group->until; group->at++) {
            if (squash->gone[group->at])
                continue;
            if (!(left > CRUMB_KG))
                return left;
            if (squash->end[group->at] > week)
                left = open_fruit(squash, group->at, left, books);
            else {
                store_open_dead(plan, squash, group->at, week, books);
                left -= take(&squash->cut[squash->cut_now], left, books);
            }
        }
        squash->groups_first += group->at == group->until && g == squash->groups_first;
    }
    return left;
}

double store_take_squash(const struct plan *plan, struct store *store, int week, double want_kg,
                         struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    double left = want_kg;
    if (squash->cut_weeks > 0)
        left = take_cut(squash, left, books);
    if (left > CRUMB_KG && squash->whole_n > 0)
        left = open_fruits(plan, squash, week, left, books);
    books->eaten += want_kg - left;
    return want_kg - left;
}
