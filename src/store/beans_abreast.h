/* beans_abreast.h: one season's jars of trials side by side. The same rules as beans.c has for one trial, for stores in which
 * nothing stands before the harvest and from which no seed is taken. */
#ifndef TIDEOVER_STORE_BEANS_ABREAST_H
#define TIDEOVER_STORE_BEANS_ABREAST_H

#include "store/abreast.h"

/* A jar that fails before the last week, by its place among those begun that have not failed. */
struct store_failing { int jar, week; };

/* A planting's jars in the order in which they were begun: the first is eaten from, the last is filled up, those between are
 * full. */
struct store_jars {
    struct store_side n;       /* with something in them */
    struct store_side begun, first_kg, eaten;
    struct store_side last_kg;              /* where there are two or more */
    uint64_t state[PLAN_ABREAST], inc[PLAN_ABREAST]; /* the streams of their lives */
    double kcal_per_kg, protein_g_per_kg;   /* its crop's */
    uint64_t key;                           /* of the jars' lives */
    bool any;                               /* has any been begun in any trial? */
    int failed[PLAN_ABREAST];
    int failing_n[PLAN_ABREAST];
    struct store_failing *failing;          /* [jar * PLAN_ABREAST + trial] in the order in which they were begun */
};

struct store_beans_abreast {
    struct store_side kg;      /* in store */
    struct store_side jars;                 /* with something in them */
    struct store_side next_failure;         /* week before which none fails */
    struct store_side eaten, lost;          /* books */
    int plantings_n, most_failing;
    int until;                              /* no trial's weeks go on from here */
    int soonest_failure;                    /* of all trials */
    double jar_kg;
    const struct chance_table *jar_keeps_weeks; /* NULL: for ever */
    uint64_t *lasting_word;                 /* [weeks + 1] words from here on give a jar a life of so many weeks */
    struct store_jars *of;                  /* [plan->beans_n] */
    unsigned alone;                         /* bits of trials in which more jars will fail than there is room to note */
};

/* Workspace; false when memory runs out. */
bool store_beans_room(struct base_arena *arena, const struct plan *plan, struct store_beans_abreast *beans);
/* Empties it for n trials with these seasons' keys, whose weeks are all before `until`. */
void store_beans_clear(struct store_beans_abreast *beans, const uint64_t *season_key, int n, int until);
/* Puts up kg[trial] >= 0 of the planting that is number `among` of its kind. */
void store_bring_abreast(struct store_beans_abreast *beans, int among, int week, double kg[PLAN_ABREAST]);
/* A trial's jars whose time has come by `week` are lost; none has before its next_failure. */
void store_fail_abreast(struct store_beans_abreast *beans, int trial, int week);
/* Takes up to left[trial] of each, the first planting's first; what could not be had stays in `left`. */
void store_eat_abreast(struct store_beans_abreast *beans, double left[PLAN_ABREAST]);

#endif
