/* beans_abreast.c: beans of a planting in trials side by side. */
#include "harvest/internal.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST, UNITS = PLAN_GROUP_UNITS };

/* Some units of every trial. */
struct some { uint64_t bears[UNITS * SIDE], stands[UNITS * SIDE], down[UNITS * SIDE]; double kg[UNITS * SIDE]; };

BASE_VECTOR static void draw_units(const struct plan_planting *p, int units, struct harvest_stands *stands, struct some *some)
{
    for (int u = 0; u < units; u++) {
        struct harvest_fates fates;
        harvest_next_units(p, stands, &fates);
        memcpy(some->bears + u * SIDE, fates.bears, sizeof fates.bears);
        memcpy(some->stands + u * SIDE, fates.stands, sizeof fates.stands);
        memcpy(some->down + u * SIDE, fates.down, sizeof fates.down);
    }
}

/* Adds what they bear, of the last of them a part. */
BASE_VECTOR static void sum_units(const struct some *some, int units, double last_part, double *restrict grown, double *restrict down)
{
    for (int u = 0; u < units; u++) {
        const double part = u == units - 1 ? last_part : 1.0;
        BASE_SIDE_BY_SIDE(i) {
            double kg = some->stands[u * SIDE + i] ? some->kg[u * SIDE + i] * part : 0.0;
            grown[i] += kg;
            down[i] += some->down[u * SIDE + i] ? kg : 0.0;
        }
    }
}

static void bear(const struct plan *plan, const struct plan_planting *p, const uint64_t *point, struct harvest_stands *stands,
                 double *grown, double *down)
{
    struct some some;
    double last_part = 1;
    int units = harvest_units(p->planting->count, &last_part);
    memset(grown, 0, SIDE * sizeof *grown);
    memset(down, 0, SIDE * sizeof *down);
    for (int u = 0; u < units; u += UNITS) {
        int n = units - u < UNITS ? units - u : UNITS;
        draw_units(p, n, stands, &some);
        if (point && p->points.units && u < p->points.groups * UNITS)
            harvest_share_rows(plan, point + (p->points.units + u / UNITS) * SIDE, n, some.bears);
        chance_draw_row(p->unit_kg, some.bears, n * SIDE, some.kg);
        sum_units(&some, n, u + n == units ? last_part : 1.0, grown, down);
    }
}

/* What is borne, and of it what is left on its feet to be picked. */
BASE_VECTOR static void weigh(const struct plan_planting *p, const double *restrict year_factor, const double *restrict down,
                              double *restrict grown_kg, double *restrict blown_kg, double *restrict kg)
{
    const double left_to_dry = p->crop->left_to_dry, loses = p->crop->blow_down_loses;
    BASE_SIDE_BY_SIDE(i) {
        double to_kg = year_factor[i] * left_to_dry, grown = grown_kg[i] * to_kg, blown = down[i] * to_kg * loses;
        grown_kg[i] = grown;
        blown_kg[i] = blown;
        kg[i] = grown - blown;
    }
}

/* Lays the pickings of `kg` of seed into the weeks of arrival, of which so much is dry at the pickings' heats: see lay_pickings in
 * beans.c. What was not brought in is lost in the field, as what was blown down is. */
BASE_VECTOR static void lay_pickings(const struct plan_planting *p, const struct harvest_pickings *restrict pickings,
                                     const double *restrict dry, const double *restrict kg, const double *restrict blown_kg,
                                     struct harvest_picked *restrict out)
{
    const double finish_share = harvest_finishes(p) ? p->crop->finish_share : 0.0, never = SCENARIO_NEVER;
    const double *finished = dry + (pickings->last + 1 - pickings->first) * SIDE;
    const int drying = p->crop->indoor_drying_weeks;
    double taken[SIDE] = { 0 }, brought[SIDE] = { 0 }, first[SIDE];
    BASE_SIDE_BY_SIDE(i)
        first[i] = never;
    for (int w = pickings->first; w <= pickings->last; w++, dry += SIDE) {
        const double now = w, arrives = w + drying;
        double *arrives_kg = out->arrives_kg + (w + drying) * SIDE, comes[SIDE];
        BASE_SIDE_BY_SIDE(i) {
            double from = pickings->from[i], end = pickings->end[i], before = taken[i];
            double green = finish_share * (finished[i] - dry[i]), share = dry[i] - before + (now == end ? green : 0.0);
            share = ((now >= from) & (now <= end)) ? share : 0.0;
            taken[i] = now >= from ? dry[i] : before;
            brought[i] += share;
            comes[i] = kg[i] * share;
        }
        BASE_SIDE_BY_SIDE(i) {
            double soonest = first[i] < arrives ? first[i] : arrives;
            first[i] = comes[i] > HARVEST_SPECK_KG ? soonest : first[i];
        }
        BASE_SIDE_BY_SIDE(i)
            arrives_kg[i] = first[i] <= arrives ? comes[i] : 0.0;
    }
    BASE_SIDE_BY_SIDE(i) {
        out->first_week[i] = first[i];
        out->last_week[i] = pickings->end[i] + drying;
        out->field_loss_kg[i] = blown_kg[i] + kg[i] * (1 - brought[i]);
    }
}

bool harvest_picked_room(struct base_arena *arena, struct harvest_picked *picked)
{
    picked->arrives_kg = base_arena_array(arena, PLAN_SEASON_SLOTS * SIDE, sizeof *picked->arrives_kg);
    return picked->arrives_kg != NULL;
}

void harvest_beans_abreast(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                           const struct season_abreast *season, const double *year_factor, int n, struct season_weeks *weeks,
                           struct harvest_picked *out)
{
    struct harvest_stands stands;
    struct harvest_pickings pickings;
    uint64_t word[SIDE];
    double down[SIDE], blown_kg[SIDE], kg[SIDE], dry[(HARVEST_HEATS + 1) * SIDE];
    harvest_begin_abreast(p, season_key, season, n, &stands);
    bear(plan, p, season->point, &stands, out->grown_kg, down);
    harvest_pickings(plan, p, season, stands.out, weeks, &pickings);
    out->first = pickings.first + p->crop->indoor_drying_weeks;
    out->last = pickings.last + p->crop->indoor_drying_weeks;
    chance_cdf_row(p->dry, pickings.heat + pickings.first * SIDE, (pickings.last + 2 - pickings.first) * SIDE, dry);
    harvest_words(season_key, p->sorting_key, season->point, p->points.sorted_out, word);
    chance_draw_row(p->sorted_out, word, SIDE, out->sorted_out);
    weigh(p, year_factor, down, out->grown_kg, blown_kg, kg);
    lay_pickings(p, &pickings, dry, kg, blown_kg, out);
}

/* ---- first weeks -------------------------------------------------------------------------------- */

/* Whether each trial's first unit brings seed. */
static void bring_first(const struct plan_planting *p, struct harvest_stands *stands, bool *brings)
{
    struct some some;
    double last_part;
    bool any = p->crop->left_to_dry > 0 && harvest_units(p->planting->count, &last_part) > 0;
    bool blown = p->crop->blow_down_loses >= 1;
    draw_units(p, 1, stands, &some);
    chance_draw_row(p->unit_kg, some.bears, SIDE, some.kg);
    for (int i = 0; i < SIDE; i++)
        brings[i] = any & (some.stands[i] != 0) & (some.kg[i] > 0) & !(some.down[i] & blown);
}

/* May picking begin in time to bring something before week first[i] in any trial? It does not if by the end of the week before that
 * too few are dry, and picking does not end there. */
static bool may_be_earlier(const struct plan *plan, const struct plan_planting *p, const struct season_abreast *season,
                           const int out[SIDE], const int first[SIDE])
{
    int day[SIDE], until = p->crop->pick_until;
    double heat_out[SIDE], heat[SIDE];
    bool may = false;
    for (int i = 0; i < SIDE; i++) {
        int end = season->first_hard_frost[i] - 1;
        end = until < end ? until : end;
        day[i] = 7 * (first[i] - p->crop->indoor_drying_weeks);
        may |= day[i] / 7 > plan_week(end);
    }
    if (may)
        return true;
    season_heat_abreast(plan, season, p->base, out, heat_out);
    season_heat_abreast(plan, season, p->base, day, heat);
    for (int i = 0; i < SIDE; i++)
        may |= heat[i] - heat_out[i] >= p->first_pick_heat;
    return may;
}

static void beans_first_weeks(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                              const struct season_abreast *season, struct season_weeks *weeks, int *first)
{
    struct harvest_stands stands;
    struct harvest_pickings pickings;
    bool brings[SIDE];
    double begins[SIDE], dry[SIDE];
    uint64_t frosted[SIDE];
    int out[SIDE];
    harvest_out_days(p, season, out, frosted);
    if (!may_be_earlier(plan, p, season, out, first))
        return;
    harvest_begin_abreast(p, season_key, season, SIDE, &stands);
    harvest_pickings(plan, p, season, stands.out, weeks, &pickings);
    for (int i = 0; i < SIDE; i++)
        begins[i] = pickings.heat[(int)pickings.from[i] * SIDE + i];
    chance_cdf_row(p->dry, begins, SIDE, dry);
    bring_first(p, &stands, brings);
    for (int i = 0; i < SIDE; i++) {
        int week = (int)pickings.from[i] + p->crop->indoor_drying_weeks;
        if (week >= first[i])
            continue;
        if (!(brings[i] && dry[i] > 0)) { /* not at once, or not of the first unit */
            struct season own = season_at(season, i);
            week = harvest_beans_first_week(plan, p, p->planting->count, season_key[i], &own, first[i]);
        }
        first[i] = week < first[i] ? week : first[i];
    }
}

static void squash_first_weeks(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                               const struct season_abreast *season, int *first)
{
    uint64_t frosted[SIDE];
    int out[SIDE], cut_day[SIDE];
    harvest_out_days(p, season, out, frosted);
    harvest_cutting_days(plan, p, season_key, season, out, cut_day);
    for (int i = 0; i < SIDE; i++)
        if (plan_week(cut_day[i]) < first[i]) {
            struct season own = season_at(season, i);
            int week = harvest_squash_first_week(plan, p, p->planting->count, season_key[i], &own, first[i]);
            first[i] = week < first[i] ? week : first[i];
        }
}

void harvest_first_weeks(const struct plan *plan, const uint64_t *season_key, const struct season_abreast *season, const bool *of,
                         bool is, int first[SIDE])
{
    struct season_weeks weeks;
    season_forget_weeks(&weeks);
    for (int i = 0; i < plan->beans_n; i++)                  /* beans first: squash is hardly ever earlier */
        if (!of || of[plan->beans[i]] == is)
            beans_first_weeks(plan, &plan->plantings[plan->beans[i]], season_key, season, &weeks, first);
    for (int i = 0; i < plan->squash_n; i++)
        if (!of || of[plan->squash[i]] == is)
            squash_first_weeks(plan, &plan->plantings[plan->squash[i]], season_key, season, first);
}

void harvest_copy_picked(const struct harvest_picked *from, struct harvest_picked *to)
{
    double *arrives_kg = to->arrives_kg;
    *to = *from;
    to->arrives_kg = arrives_kg;
    memcpy(arrives_kg + from->first * SIDE, from->arrives_kg + from->first * SIDE,
           (size_t)(from->last + 1 - from->first) * SIDE * sizeof *arrives_kg);
}
