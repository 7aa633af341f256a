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

/* A planting's fruits of one season, or what was counted of it: they dry alike. */
struct store_batch {
    const struct plan_planting *of;
    int ref_week, n;                    /* whole fruits */
    double kg;                          /* of whole fruits, as it was in ref_week */
    double now, since;                  /* share of such a kg that is left: this week, and when drying was booked last */
};

/* Those of a batch in one place that cured alike: a stretch of the rows, eaten one after the other. */
struct store_group { uint64_t key; int place, at /* none is whole before */, until, ready_week; };

/* Cut flesh of one week, mixed. */
struct store_cut { double kg, kcal_per_kg, protein_g_per_kg; };

struct store_squash {
    /* rows, a place a fruit */
    int n;
    double *kg;                         /* in its batch's week */
    double *end;                        /* week (not whole) in which its life ends */
    uint8_t *gone;                      /* no longer on the shelf */
    int *batch_of, *next_found;         /* next_found: of those that one look-over will find; -1: none */
    int *found;                         /* [weeks + 1] the first such by week; in the last slot those never found */
    int *row_now;                       /* scratch */
    int batches_first, batches_n, groups_first, groups_n; /* nothing is whole before the first ones */
    struct store_batch *batch;          /* in the order in which they came */
    struct store_group *group;          /* in the order of eating */
    int whole_n;
    double whole_kg;
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
    double kg, jar_kg;                  /* in store; a full jar */
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
/* Whole fruits in a place. */
int store_in_place(const struct store_squash *squash, int place);
/* Week `week` begins: whole fruit has dried up to it. */
void store_come_to(struct store *store, int week);
/* Books what fruit now whole has dried away since the year's books were opened, or since it came. */
void store_book_drying(struct store *store, struct store_books *books);
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
static inline double store_squash_kg(const struct store *store)
{
    return store->squash.whole_kg + store_cut_kg(&store->squash);
}
double store_flesh_kg(const struct store *store);
/* Drops what is gone, so that another season's fruits find room in the workspace. */
void store_compact(const struct plan *plan, struct store *store);

/* ---- beans: store/beans.c ------------------------------------------------------------------------- */

/* Number of the heap of a planting's season. */
int store_heap_of(const struct plan *plan, int planting, int season);
/* Puts up kg > 0 onto a heap; jars' lives come from the season's own stream. */
void store_bring_beans(const struct plan *plan, struct store_beans *beans, int heap, int week, double kg, uint64_t season_key);
/* The jar that is eaten from; without one, an empty one. */
static inline struct store_jar *store_open_jar(struct store_beans *beans)
{
    return &beans->jar[beans->heap[beans->first_heap].head];
}
/* Over some weeks the open jar has come down to open_kg, the store to kg. */
void store_eat_open(const struct plan *plan, struct store_beans *beans, double eaten_kg, double open_kg, double kg,
                    struct store_books *books);
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
