/* abreast.h: one season's squash of trials side by side, from the cutting to the year's end. The same rules as squash.c and
 * serve.c have for one trial, for stores in which nothing stands before the harvest and that are looked over weekly. */
#ifndef TIDEOVER_STORE_ABREAST_H
#define TIDEOVER_STORE_ABREAST_H

#include "harvest/harvest.h"
#include "store/store.h"

/* One number for each trial. */
struct store_side { BASE_SIDE_ALIGNED double at[PLAN_ABREAST]; };
struct store_bits { BASE_SIDE_ALIGNED uint64_t at[PLAN_ABREAST]; };

/* A planting's fruits: what is cut when, and what of it is whole. */
struct store_cutting {
    const struct plan_planting *of;
    double keeps_mass, flesh_share, kcal_per_kg, protein_g_per_kg; /* its crop's */
    struct store_side week, in_kg, in_n;    /* SCENARIO_NEVER: nothing is cut */
    struct store_side kg, n, now;           /* as struct store_batch */
    struct store_side before;               /* kg when it was booked last what had left the shelf */
    struct store_side flesh;                /* in a kg as cut, this week */
};

/* Cut flesh of one week, and what it feeds. */
struct store_slices { struct store_side kg, kcal, protein_g; };

/* Fruits of one planting in one place that cured alike: eaten one after the other. */
struct store_class { uint64_t key; int cutting, place, cure; };

/* Fruits of a trial's cutting that go to one place: n from number `from` of the harvest's on. */
struct store_run { int cutting, place, from, n; };

struct store_abreast {
    int cuttings_n, classes_n, cut_slots, cut_now, weeks, last_cut, last_found;
    int all_ready;                          /* week in which all fruit is cured, in all trials */
    struct store_cutting *cutting;          /* [plan->squash_n] */
    struct store_class *class;              /* [cuttings * places * cures] in the order of eating, were all cut on one day */
    int *class_listed;                      /* [classes] their numbers: that order */
    int *class_of;                          /* [cutting][place][cure] */
    int *class_at, *class_n, *class_order;  /* [classes] scratch: of one trial */
    uint64_t *class_key;
    int latest_found[PLAN_ABREAST];         /* the last look-overs that find anything, some for all trials */
    int *found_in;                          /* [fruits] scratch: of one run */
    struct store_run *run;                  /* [cuttings * places] scratch: of one trial */
    int *room;                              /* [places] scratch */
    struct store_slices *cut;               /* [cut_slots] */
    /* fruits in the order of eating, [fruit * PLAN_ABREAST + trial] */
    double *kg;
    uint16_t *kind;                         /* of what cutting, cured how: see store_kind */
    int words;                              /* of 64 bits that hold a bit for each fruit of a trial */
    struct store_bits *whole, *dead;        /* [word] fruits on the shelf; what the week's look-over has found */
    struct store_bits *found;               /* [word * (weeks + 1) + week] which a look-over will find; clear but from the
                                             * trials' first weeks to last_found */
    /* books; lost_before: as the week began */
    struct store_side in, given_away, dried_away, eaten, trimmed, lost, lost_before, lost_while_wanted, kcal, protein_g, kg_left;
    struct store_side fruits_peak, stocked_end;
};

enum { STORE_KIND_CURES = 4 };
static inline uint16_t store_kind(int cutting, int cure) { return (uint16_t)(cutting * STORE_KIND_CURES + cure); }
static inline int store_cutting_of(uint16_t kind) { return kind / STORE_KIND_CURES; }
static inline int store_cure_of(uint16_t kind) { return kind % STORE_KIND_CURES; }

/* Columns of weeks, [week * PLAN_ABREAST + trial]; `want_kg` is read, and 0 outside a trial's weeks. */
struct store_weeks { const double *want_kg; double *eaten_kg, *stock_kg, *lost_kg; int32_t *count; };

/* Workspace; false when memory runs out. */
bool store_abreast_room(struct base_arena *arena, const struct plan *plan, struct store_abreast *store);
/* Lays the harvests of n trials ready for their places. A bit is set for each trial whose places depend on what is eaten
 * meanwhile: it must be run on its own. */
unsigned store_lay_ready(const struct plan *plan, struct store_abreast *store, const struct harvest_abreast *harvest, int n);
/* Lives weeks first[t] .. end[t] - 1 of each trial; fills the columns and the books. */
void store_live_abreast(const struct plan *plan, struct store_abreast *store, const int *first, const int *end, int n,
                        const struct store_weeks *weeks);
/* One trial's books. */
struct store_books store_books_of(const struct store_abreast *store, int trial);

#endif
