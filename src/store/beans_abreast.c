/* beans_abreast.c: trials' jars side by side. All of it is done by vector instructions but what befalls jars that fail. */
#include "store/beans_abreast.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST, MOST_FAILING = 1000 };
static const double CRUMB_KG = 1e-12; /* no jar is begun for a rounding error */

/* The least word that gives a jar at least so many weeks: quantiles do not fall as words rise. All ones if none does. */
static uint64_t least_lasting(const struct chance_table *keeps_weeks, double weeks)
{
    uint64_t low = 0, high = UINT64_MAX;
    while (low < high) {
        uint64_t middle = low + (high - low) / 2;
        if (chance_draw(keeps_weeks, middle) >= weeks)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

bool store_beans_room(struct base_arena *arena, const struct plan *plan, struct store_beans_abreast *beans)
{
    *beans = (struct store_beans_abreast){ .plantings_n = plan->beans_n, .jar_kg = plan->scenario->store.jar_kg,
                                           .jar_keeps_weeks = plan->jar_keeps_weeks };
    beans->lasting_word = base_arena_array(arena, (size_t)plan->weeks + 1, sizeof *beans->lasting_word);
    for (int weeks = 0; beans->lasting_word && plan->jar_keeps_weeks && weeks <= plan->weeks; weeks++)
        beans->lasting_word[weeks] = least_lasting(plan->jar_keeps_weeks, weeks);
    beans->most_failing = plan->most_jars_a_season < MOST_FAILING ? plan->most_jars_a_season : MOST_FAILING;
    beans->of = base_arena_array(arena, (size_t)plan->beans_n + 1, sizeof *beans->of);
    bool good = beans->of && beans->lasting_word;
    for (int h = 0; good && h < plan->beans_n; h++) {
        const struct plan_planting *p = &plan->plantings[plan->beans[h]];
        struct store_jars *jars = &beans->of[h];
        *jars = (struct store_jars){ .kcal_per_kg = p->crop->kcal_per_kg, .protein_g_per_kg = p->crop->protein_g_per_kg,
                                     .key = p->jars_key };
        jars->failing = base_arena_array(arena, ((size_t)beans->most_failing + 1) * SIDE, sizeof *jars->failing);
        good = jars->failing != NULL;
    }
    return good;
}

void store_beans_clear(struct store_beans_abreast *beans, const uint64_t *season_key, int n, int until)
{
    uint64_t key[SIDE] = { 0 };
    memcpy(key, season_key, (size_t)n * sizeof *key);
    beans->alone = 0;
    beans->until = until;
    beans->soonest_failure = SCENARIO_NEVER;
    beans->kg = beans->jars = beans->eaten = beans->lost = (struct store_side){ { 0 } };
    for (int i = 0; i < SIDE; i++)
        beans->next_failure.at[i] = SCENARIO_NEVER;
    for (int h = 0; h < beans->plantings_n; h++) {
        struct store_jars *jars = &beans->of[h];
        jars->any = false;
        jars->n = jars->begun = jars->first_kg = jars->last_kg = jars->eaten = (struct store_side){ { 0 } };
        memset(jars->failing_n, 0, sizeof jars->failing_n);
        memset(jars->failed, 0, sizeof jars->failed);
        if (beans->jar_keeps_weeks)
            chance_stream_row(key, jars->key, SIDE, jars->state, jars->inc);
    }
}

/* ---- putting up ---------------------------------------------------------------------------------- */

/* Fills the last jars up. */
BASE_PART void top_up(struct store_jars *restrict jars, double jar_kg, double *restrict all_kg, double *restrict kg)
{
    double last[SIDE];
    BASE_SIDE_BY_SIDE(i) {
        double first = jars->first_kg.at[i], of_more = jars->last_kg.at[i];
        last[i] = jars->n.at[i] > 1 ? of_more : first;
    }
    BASE_SIDE_BY_SIDE(i) {
        double comes = kg[i], room = jar_kg - last[i], put = room > 0 ? room : 0.0;
        put = comes - CRUMB_KG <= room ? comes : put;
        put = ((jars->n.at[i] > 0) & (comes > 0)) ? put : 0.0;
        all_kg[i] += comes;
        kg[i] = comes - put;
        jars->last_kg.at[i] = last[i] += put;
    }
    BASE_SIDE_BY_SIDE(i) {
        double first = jars->first_kg.at[i];
        jars->first_kg.at[i] = jars->n.at[i] > 1 ? first : last[i];
    }
}

/* Words for the lives of the next jars, wherever kg > 0. Bits of those below `lasting`. */
BASE_PART uint64_t next_words(struct store_jars *restrict jars, uint64_t lasting, const double *restrict kg,
                              uint64_t *restrict word)
{
    uint64_t next[SIDE], bits = 0;
    BASE_SIDE_BY_SIDE(i)
        word[i] = chance_pcg_output(jars->state[i]);
    BASE_SIDE_BY_SIDE(i)
        next[i] = jars->state[i] * CHANCE_PCG_MULTIPLIER + jars->inc[i];
    BASE_SIDE_BY_SIDE(i) {
        uint64_t state = jars->state[i];
        jars->state[i] = kg[i] > 0 ? next[i] : state;
    }
    BASE_SIDE_BY_SIDE(i)
        bits |= ((kg[i] > 0) & (word[i] < lasting)) ? BASE_SIDE_BIT[i] : 0u;
    return bits;
}

/* Begins a jar wherever kg > 0; is anything left for others? */
BASE_PART bool begin_jars(struct store_jars *restrict jars, double jar_kg, double *restrict all_jars,
                          double *restrict kg)
{
    double left[SIDE], one[SIDE];
    uint64_t any = 0;
    BASE_SIDE_BY_SIDE(i) {
        double rest = kg[i], first = jars->first_kg.at[i], last = jars->last_kg.at[i];
        double put = jar_kg < rest - CRUMB_KG ? jar_kg : rest;
        jars->first_kg.at[i] = jars->n.at[i] > 0 ? first : put;
        jars->last_kg.at[i] = put > 0 ? put : last;
        one[i] = rest > 0 ? 1.0 : 0.0;
        kg[i] = left[i] = rest - put;
    }
    BASE_SIDE_BY_SIDE(i) {
        jars->n.at[i] += one[i];
        jars->begun.at[i] += one[i];
        all_jars[i] += one[i];
        any |= left[i] > 0 ? 1u : 0u;
    }
    return any;
}

/* Notes when the jar begun last fails, before `until`. */
static void note_failing(struct store_beans_abreast *beans, struct store_jars *jars, int trial, int week, uint64_t word)
{
    double life = chance_draw(beans->jar_keeps_weeks, word);
    if (jars->failing_n[trial] == beans->most_failing) {
        beans->alone |= 1u << trial;
        return;
    }
    int whole = (int)life, fails = week + whole + (whole < life), jar = (int)jars->begun.at[trial] - 1 - jars->failed[trial];
    jars->failing[jars->failing_n[trial]++ * SIDE + trial] = (struct store_failing){ jar, fails };
    if (fails < beans->next_failure.at[trial])
        beans->next_failure.at[trial] = fails;
    beans->soonest_failure = fails < beans->soonest_failure ? fails : beans->soonest_failure;
}

BASE_VECTOR void store_bring_abreast(struct store_beans_abreast *beans, int among, int week, double kg[SIDE])
{
    struct store_jars *jars = &beans->of[among];
    uint64_t word[SIDE], failing = 0;
    bool more;
    jars->any = true;
    top_up(jars, beans->jar_kg, beans->kg.at, kg);
    do {
        if (beans->jar_keeps_weeks)
            failing = next_words(jars, beans->lasting_word[beans->until - week], kg, word);
        more = begin_jars(jars, beans->jar_kg, beans->jars.at, kg);
        for (; failing > 0; failing &= failing - 1)
            note_failing(beans, jars, __builtin_ctzll(failing), week, word[__builtin_ctzll(failing)]);
    } while (more);
}

/* ---- eating -------------------------------------------------------------------------------------- */

/* Takes from the first jar of each trial, then from the next one. 1: in a trial that has another jar of this planting more is
 * wanted, or it was emptied; 2: more is wanted in one that has any; else 0. */
BASE_PART int eat_first(struct store_jars *restrict jars, double jar_kg, double *restrict all_jars,
                        double *restrict all_kg, double *restrict left)
{
    uint64_t another = 0, more = 0;
    double of_next[SIDE], next[SIDE], rest[SIDE], got[SIDE], also[SIDE], one[SIDE];
    BASE_SIDE_BY_SIDE(i) {                          /* were the first one emptied: reckoned first, so that neither waits */
        double last = jars->last_kg.at[i], full = jars->n.at[i] > 2 ? jar_kg : last, kg = jars->n.at[i] > 1 ? full : 0.0;
        double wants = left[i] - jars->first_kg.at[i], least = kg < wants ? kg : wants;
        of_next[i] = least;
        next[i] = kg - least;
        rest[i] = wants - least;
    }
    BASE_SIDE_BY_SIDE(i) {
        double kg = jars->first_kg.at[i], wants = left[i], stays = kg - wants;
        one[i] = ((jars->n.at[i] > 0) & (stays <= 0)) ? 1.0 : 0.0;
        got[i] = kg < wants ? kg : wants;
        also[i] = stays > 0 ? 0.0 : of_next[i];
        jars->first_kg.at[i] = stays > 0 ? stays : next[i];
        left[i] = stays > 0 ? 0.0 : rest[i];
    }
    BASE_SIDE_BY_SIDE(i) {
        double n = jars->n.at[i] - one[i], all = all_jars[i] - one[i], sum = all_kg[i] - got[i] - also[i];
        double wants = left[i], first = jars->first_kg.at[i];
        jars->n.at[i] = n;
        jars->eaten.at[i] = jars->eaten.at[i] + got[i] + also[i];
        all_jars[i] = all;
        all_kg[i] = all > 0 ? sum : 0.0;            /* no dust of rounding in an empty store */
        another |= (n > 0) & ((wants > 0) | (first <= 0)) ? 1u : 0u;
        more |= ((wants > 0) & (all > 0)) ? 1u : 0u;
    }
    return another ? 1 : more ? 2 : 0;
}

BASE_VECTOR void store_eat_abreast(struct store_beans_abreast *beans, double left[SIDE])
{
    int more = 2;
    for (int h = 0; h < beans->plantings_n && more > 0; h++)
        while (beans->of[h].any
               && (more = eat_first(&beans->of[h], beans->jar_kg, beans->jars.at, beans->kg.at, left)) == 1)
            ;
}

/* ---- failing ------------------------------------------------------------------------------------- */

/* A trial's jar is lost, by its place among those that are there. Returns what was in it. */
static double lose_jar(struct store_beans_abreast *beans, struct store_jars *jars, int trial, int place)
{
    double n = --jars->n.at[trial], *first_kg = &jars->first_kg.at[trial], *last_kg = &jars->last_kg.at[trial];
    double kg = place == 0 ? *first_kg : place == n ? *last_kg : beans->jar_kg;
    if (place == 0)
        *first_kg = n > 1 ? beans->jar_kg : n > 0 ? *last_kg : 0.0;
    else if (place == n)
        *last_kg = beans->jar_kg;
    jars->failed[trial]++;
    beans->jars.at[trial]--;
    return kg;
}

/* A planting's jars whose time has come are lost, as if they had not been begun; those eaten up are noted no longer. Returns the
 * first week in which another one is lost. */
static int fail_jars(struct store_beans_abreast *beans, struct store_jars *jars, int trial, int week)
{
    int next = SCENARIO_NEVER, lost = 0, kept = 0, begun = (int)jars->begun.at[trial] - jars->failed[trial];
    int eaten_up = begun - (int)jars->n.at[trial];
    for (int k = 0; k < jars->failing_n[trial]; k++) {
        struct store_failing failing = jars->failing[k * SIDE + trial];
        failing.jar -= lost;
        if (failing.jar < eaten_up)
            continue;
        if (failing.week > week) {
            next = failing.week < next ? failing.week : next;
            jars->failing[kept++ * SIDE + trial] = failing;
            continue;
        }
        double kg = lose_jar(beans, jars, trial, failing.jar - eaten_up);
        lost++;
        beans->lost.at[trial] += kg;
        beans->kg.at[trial] = beans->jars.at[trial] > 0 ? beans->kg.at[trial] - kg : 0.0;
    }
    jars->failing_n[trial] = kept;
    return next;
}

void store_fail_abreast(struct store_beans_abreast *beans, int trial, int week)
{
    int next = SCENARIO_NEVER;
    for (int h = 0; h < beans->plantings_n; h++) {
        int of = fail_jars(beans, &beans->of[h], trial, week);
        next = of < next ? of : next;
    }
    beans->next_failure.at[trial] = next;
    beans->soonest_failure = SCENARIO_NEVER;
    for (int i = 0; i < SIDE; i++)
        if (beans->next_failure.at[i] < beans->soonest_failure)
            beans->soonest_failure = (int)beans->next_failure.at[i];
}
