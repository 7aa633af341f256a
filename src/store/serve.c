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

/* Opens a fruit whole: all its flesh, dead or sound, becomes cut flesh of this week. */
static inline void open_fruit(const struct plan *plan, struct store_squash *squash, int f, int week, struct store_books *books)
{
    const struct scenario_crop *crop = squash->lots[squash->lot[f]].of->crop;
    if (squash->end[f] <= week) {
        store_open_dead(plan, squash, f, week, books);
        return;
    }
    double kg = store_leave_shelf(squash, f, week), flesh = kg * crop->flesh_share;
    books->trimmed += kg - flesh;
    store_cut_up(squash, crop, flesh);
}

/* Opens whole fruits, group by group, until what is left of the want is met; returns what is still left. */
static double open_fruits(const struct plan *plan, struct store_squash *squash, int week, double left,
                          struct store_books *books)
{
    for (int i = squash->order_first; i < squash->order_n && left > CRUMB_KG; i++) {
        int g = squash->order[i];
        struct store_group *group = &squash->group[g];
        squash->order_first += group->left == 0 && i == squash->order_first;
        if (group->ready_week > week)
            continue;
        while (group->left > 0 && left > CRUMB_KG) {
            while (squash->cure[group->at] != g % 3)
                group->at++;
            open_fruit(plan, squash, group->at, week, books);
            left -= take(&squash->cut[squash->cut_now], left, books);
        }
    }
    return left;
}

double store_take_squash(const struct plan *plan, struct store *store, int week, double want_kg,
                         struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    double left = want_kg;
    if (squash->cut_weeks > 0)
        for (int n = 0, slot = squash->cut_now; n < squash->cut_slots; n++) { /* the oldest is next in the ring */
            slot = slot + 1 < squash->cut_slots ? slot + 1 : 0;
            left -= take(&squash->cut[slot], left, books);
        }
    if (left > CRUMB_KG && squash->whole_n > 0)
        left = open_fruits(plan, squash, week, left, books);
    books->eaten += want_kg - left;
    return want_kg - left;
}
