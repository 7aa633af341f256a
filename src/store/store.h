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

struct store_fruit {
    double kg;                          /* at ref_week, from which its drying counts */
    double end;                         /* week (not whole) in which its life ends */
    int ref_week;
    int next, next_found;               /* in its group; in its week of being found */
    int group;
    int16_t planting, place;
    bool whole;                         /* still on the shelf */
};

/* Fruits that are eaten one after the other: same cure, rank, keeping factor, cutting day and planting. */
struct store_group { uint64_t key; int head, tail, ready_week; };

/* Cut flesh of one week, mixed. */
struct store_cut { double kg, kcal_per_kg, protein_g_per_kg; };

struct store_squash {
    int n, most, groups_n, order_n, order_first;
    struct store_fruit *fruit;          /* [most] */
    struct store_group *group;          /* [most_groups] */
    int *order;                         /* groups by key, from order_first */
    int *found;                         /* [weeks] first fruit that the look-over of that week will find, -1: none */
    int whole_n;
    int *planted_n;                     /* [plantings] whole fruits of each */
    double *planted_kg;                 /* [plantings] their mass now */
    int *place_n;                       /* [places] */
    struct store_cut *cut;              /* [cut_keeps_weeks + 1] flesh by weeks since it was cut */
    int cut_slots, cut_n;               /* cut_n: slots up to which there may be some */
    double salvage_log2;                /* of salvage_share, when look-overs are rarer than weekly */
};

/* ---- beans ------------------------------------------------------------------------------------ */

struct store_jar { double kg; int fails_week, begun_week, next; };

/* A planting's season of beans. */
struct store_heap { int season, planting, head, tail; struct chance_pcg jars; };

struct store_beans {
    int jars_n;                         /* with something in them */
    int most_jars, most_heaps, heaps_n;
    int touched, unused;                /* jars ever begun in this trial; first of those free again, -1: none */
    struct store_jar *jar;
    struct store_heap *heap;            /* oldest season first, then planting */
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
void store_dry(const struct plan *plan, struct store *store, struct store_books *books);
/* Looks the squash over in week `week` (only if it is a week for it). */
void store_look_over(const struct plan *plan, struct store *store, int week, struct store_books *books);
/* Takes up to `want_kg` of flesh: cut flesh, oldest first, then whole fruits in their order. Returns what it got. */
double store_take_squash(const struct plan *plan, struct store *store, int week, double want_kg,
                         struct store_books *books);
/* Cut flesh past keeping is lost; the rest is a week older. */
void store_age_cut(struct store *store, struct store_books *books);
/* kg on the shelf: whole fruits and cut flesh. And the flesh of it all. */
double store_squash_kg(const struct plan *plan, const struct store *store);
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
/* Jars whose time has come by `week` are lost. */
void store_fail_jars(struct store *store, int week, struct store_books *books);
/* Takes up to want_kg, the oldest season first, then planting, then jar. Returns what it got. */
double store_take_beans(const struct plan *plan, struct store *store, double want_kg, struct store_books *books);
/* Takes up to want_kg of a crop's seed from its jars, the latest season first, then the latest begun. */
double store_take_seed(const struct plan *plan, struct store *store, const char *crop, double want_kg,
                       struct store_books *books);
/* Throws out beans of seasons before `oldest_season`. */
void store_throw_out_beans(struct store *store, int oldest_season, struct store_books *books);

#endif
