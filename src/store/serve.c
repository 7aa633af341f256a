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
static void open_fruit(const struct plan *plan, struct store_squash *squash, int f, int week, struct store_books *books)
{
    if (squash->fruit[f].end <= week) {
        store_cut_up(plan, squash, f, store_salvage(plan, squash, f, week, books));
        return;
    }
    double kg = store_leave_shelf(plan, squash, f, week);
    double flesh = kg * plan->plantings[squash->fruit[f].planting].crop->flesh_share;
    books->trimmed += kg - flesh;
    store_cut_up(plan, squash, f, flesh);
}

/* The next whole fruit of a group, or -1; what has left the shelf meanwhile is passed over for good. */
static int next_whole(struct store_squash *squash, struct store_group *group)
{
    while (group->head >= 0 && !squash->fruit[group->head].whole)
        group->head = squash->fruit[group->head].next;
    if (group->head < 0)
        group->tail = -1;
    return group->head;
}

double store_take_squash(const struct plan *plan, struct store *store, int week, double want_kg,
                         struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    double left = want_kg;
    for (int age = squash->cut_n - 1; age >= 0 && left > 0; age--)
        left -= take(&squash->cut[age], left, books);
    for (int i = squash->order_first; i < squash->order_n && left > CRUMB_KG; i++) {
        struct store_group *group = &squash->group[squash->order[i]];
        int f = next_whole(squash, group);
        if (f < 0 && i == squash->order_first)
            squash->order_first++;
        if (group->ready_week > week)
            continue;
        for (; f >= 0 && left > CRUMB_KG; f = next_whole(squash, group)) {
            open_fruit(plan, squash, f, week, books);
            left -= take(&squash->cut[0], left, books);
        }
    }
    books->eaten += want_kg - left;
    return want_kg - left;
}

void store_age_cut(struct store *store, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    if (squash->cut_n == squash->cut_slots)
        books->lost += squash->cut[squash->cut_n - 1].kg;
    else
        squash->cut_n++;
    for (int age = squash->cut_n - 1; age > 0; age--)
        squash->cut[age] = squash->cut[age - 1];
    squash->cut[0] = (struct store_cut){ 0 };
    while (squash->cut_n > 0 && squash->cut[squash->cut_n - 1].kg <= 0)
        squash->cut_n--;
}
