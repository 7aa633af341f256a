/* store.h: squash in places and beans in jars: keeping, losing, taking the next one. Knows nothing of who eats.
 * Weeks are counted from the beginning of season 0; all masses are kg. One store belongs to one trial at a time. */
#ifndef TIDEOVER_STORE_H
#define TIDEOVER_STORE_H

#include "plan/plan.h"

/* What came and went of one food, by name. A food year's books balance:
 * opening + in = eaten + dried_away + trimmed + lost + given_away + thrown_out + seed + left. */
struct store_books {
    double opening, in, eaten, dried_away, trimmed, lost, given_away, thrown_out, seed, left;
    double lost_while_wanted;           /* part of lost */
    double kcal, protein_g;             /* of what was eaten */
    double grown, field_loss, sorted_out; /* before the store */
};

/* ---- squash ----------------------------------------------------------------------------------- */

/* Fruits that came into one place together: a stretch of the rows below. */
struct store_lot { const struct plan_planting *of; int place, ref_week /* their masses are of it */, from, until; };

/* Those of a lot that cured alike: eaten one after the other. Group number: 3 * lot + cure. */
struct store_group { uint64_t key; int at /* none is whole before */, left, ready_week; };

/* Cut flesh of one week, mixed. */
struct store_cut { double kg, kcal_per_kg, protein_g_per_kg; };

enum { STORE_GONE = 3 };                /* beyond enum scenario_cure: no longer on the shelf */

/* A planting's whole fruits. */
struct store_planted { double kg /* now */, keeps_mass; int n; };

struct store_squash {
    /* rows, one place a fruit, in the order in which they came */
    int n;
    double *kg;                         /* in its lot's week */
    double *end;                        /* week (not whole) in which its life ends */
    uint8_t *cure;                      /* or STORE_GONE */
    int *lot, *next_found;              /* next_found: of those that one look-over will find; -1: none */
    int *found;                         /* [weeks + 1] the first such by week; in the last slot those never found */
    int lots_n, order_n, order_first;
    struct store_lot *lots;
    struct store_group *group;
    int *order;                         /* groups by key, from order_first */
    int whole_n;
    double whole_kg;
    struct store_planted *planted;      /* [plan->squash_n] */
    int *place_n;                       /* [places] */
    struct store_cut *cut;              /* [cut_slots] a ring of cut_keeps_weeks + 1 weeks */
    int cut_slots, cut_now, cut_weeks;  /* this week's slot; weeks until the ring is empty for certain */
    double salvage_log2;                /* of salvage_share, when look-overs are rarer than weekly */
};

/* ---- beans ------------------------------------------------------------------------------------ */

struct store_jar { double kg; int fails_week, begun_week, next; };

/* A planting's season of beans: jars in the order in which they were begun; 0: none, jar 0 stays empty. */
struct store_heap { int planting, season, head, tail; struct chance_pcg jars; };

struct store_beans {
    int jars_n;                         /* with something in them */
    int most_jars, heaps_n;
    int first_heap;                     /* none before it has anything */
    int touched, unused;                /* jars ever begun in this trial; first of those free again, 0: none */
    struct store_jar *jar;
    struct store_heap *heap;            /* [season since plan->oldest_season][plan->beans]: oldest first */
    double kg;
    int next_failure;                   /* week before which no jar fails */
};

struct store { struct store_squash squash; struct store_beans beans; };

/* Workspace; false when memory runs out. */
bool store_room(struct base_arena *arena, const struct plan *plan, struct store *store);
/* Empties it for the next trial. */
void store_clear(const struct plan *plan, struct store *store);

/* ---- squash: store/squash.c, store/serve.c ------------------------------------------------------ */

/* A planting's fruits of one season, as cut in `week`. */
struct store_load {
    int planting, week, cut_day /* counted from season 0's day 0 */, n;
    const double *kg, *life_weeks;
    const uint8_t *cure;
};
/* Finds places for them in order; what finds none is given away. */
void store_bring_squash(const struct plan *plan, struct store *store, const struct store_load *load,
                        struct store_books *books);
/* One counted fruit: its place is known, its life ends in week `end`. */
void store_put_squash(const struct plan *plan, struct store *store, const struct plan_shelf_fruit *item, double end,
                      int week, struct store_books *books);
/* A week passes: whole fruit dries. */
static inline void store_dry(const struct plan *plan, struct store *store, struct store_books *books)
{
    double kg = 0, dried = 0;
    for (int i = 0; i < plan->squash_n; i++) {
        struct store_planted *planted = &store->squash.planted[i];
        double left = planted->kg * planted->keeps_mass;
        dried += planted->kg - left;
        planted->kg = left;
        kg += left;
    }
    books->dried_away += dried;
    store->squash.whole_kg = kg;
}
/* Will a look-over in week `week` find anything? */
static inline bool store_finds(const struct store *store, int week) { return store->squash.found[week] >= 0; }
/* Looks the squash over in week `week`; finds nothing in a week without a look-over. */
void store_look_over(const struct plan *plan, struct store *store, int week, struct store_books *books);
/* Takes up to `want_kg` of flesh: cut flesh, oldest first, then whole fruits in their order. Returns what it got. */
double store_take_squash(const struct plan *plan, struct store *store, int week, double want_kg,
                         struct store_books *books);
/* Cut flesh past keeping is lost; the rest is a week older. */
static inline void store_age_cut(struct store *store, struct store_books *books)
{
    struct store_squash *squash = &store->squash;
    if (squash->cut_weeks == 0)
        return;
    squash->cut_weeks--;
    squash->cut_now = squash->cut_now + 1 < squash->cut_slots ? squash->cut_now + 1 : 0;
    books->lost += squash->cut[squash->cut_now].kg;
    squash->cut[squash->cut_now] = (struct store_cut){ 0 };
}
/* kg of cut flesh. */
static inline double store_cut_kg(const struct store_squash *squash)
{
    double kg = 0;
    if (squash->cut_weeks > 0)
        for (int slot = 0; slot < squash->cut_slots; slot++)
            kg += squash->cut[slot].kg;
    return kg;
}
/* kg on the shelf: whole fruits and cut flesh. And the flesh of it all. */
static inline double store_squash_kg(const struct plan *plan, const struct store *store)
{
    (void)plan;
    return store->squash.whole_kg + store_cut_kg(&store->squash);
}
double store_flesh_kg(const struct plan *plan, const struct store *store);
/* Drops what is gone, so that another season's fruits find room in the workspace. */
void store_compact(const struct plan *plan, struct store *store);

/* ---- beans: store/beans.c ------------------------------------------------------------------------- */

/* Puts up kg of a planting's season; jars' lives come from the season's own stream. */
void store_bring_beans(const struct plan *plan, struct store *store, int planting, int season, int week, double kg,
                       uint64_t season_key, struct store_books *books);
/* One counted jar, which fails in week `fails_week`. */
void store_put_jar(const struct plan *plan, struct store *store, const struct plan_shelf_jar *item, int fails_week,
                   struct store_books *books);
/* Jars whose time has come by `week` are lost; none has before next_failure. */
void store_fail_jars(struct store *store, int week, struct store_books *books);
/* Takes up to want_kg, the oldest season first, then planting, then jar. Returns what it got. */
double store_take_beans(const struct plan *plan, struct store *store, double want_kg, struct store_books *books);
/* Takes up to want_kg of a crop's seed from its jars, the latest season first, then the latest begun. */
double store_take_seed(const struct plan *plan, struct store *store, const char *crop, double want_kg,
                       struct store_books *books);
/* Throws out beans of seasons before `oldest_season`. */
void store_throw_out_beans(struct store *store, int oldest_season, struct store_books *books);

#endif
