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
        for (int i = 0; i < SIDE; i++) {
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

/* What is dry in the weeks of picking, one trial after the other: trial i's begins at place at[i], in week from[i]. */
struct dried { int at[SIDE + 1], from[SIDE]; double dry[SIDE * HARVEST_HEATS]; };

static void dry(const struct plan *plan, const struct plan_planting *p, const struct season_abreast *season,
                const struct harvest_stands *stands, const struct harvest_pickings *pickings, int n, struct dried *dried)
{
    enum { FEW = 16 };                      /* as many are copied at once: hardly ever are there more */
    double heat[HARVEST_HEATS + FEW], heats[SIDE * HARVEST_HEATS + FEW];
    memset(heat, 0, sizeof heat);
    dried->at[0] = 0;
    for (int i = 0; i < n; i++) {
        struct season own = season_at(season, i);
        struct harvest_picking picking = harvest_picking_at(pickings, stands->out, i);
        int weeks = harvest_heat_by_week(plan, p, &own, &picking, heat, &dried->from[i]);
        double *to = heats + dried->at[i], *from = heat + dried->from[i];
        memcpy(to, from, FEW * sizeof *to);
        if (weeks > FEW)
            memcpy(to + FEW, from + FEW, (size_t)(weeks - FEW) * sizeof *to);
        dried->at[i + 1] = dried->at[i] + weeks;
    }
    chance_cdf_row(p->dry, heats, dried->at[n], dried->dry);
}

void harvest_beans_abreast(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                           const struct season_abreast *season, const double *year_factor, int n, struct harvest *const *out)
{
    struct harvest_stands stands;
    struct harvest_pickings pickings;
    struct dried dried;
    uint64_t word[SIDE];
    double grown[SIDE], down[SIDE], sorted_out[SIDE];
    harvest_begin_abreast(p, season_key, season, n, &stands);
    bear(plan, p, season->point, &stands, grown, down);
    harvest_pickings(plan, p, season, stands.out, &pickings);
    dry(plan, p, season, &stands, &pickings, n, &dried);
    harvest_words(season_key, p->sorting_key, season->point, p->points.sorted_out, word);
    chance_draw_row(p->sorted_out, word, SIDE, sorted_out);
    for (int i = 0; i < n; i++) {
        double to_kg = year_factor[i] * p->crop->left_to_dry;
        double blown_kg = down[i] * to_kg * p->crop->blow_down_loses, kg = grown[i] * to_kg - blown_kg;
        struct harvest_picking picking = harvest_picking_at(&pickings, stands.out, i);
        double brought = harvest_lay_pickings(p, &picking, dried.from[i], dried.dry + dried.at[i], kg, out[i]);
        out[i]->sorted_out = sorted_out[i];
        out[i]->grown_kg = grown[i] * to_kg;
        out[i]->field_loss_kg = blown_kg + kg * (1 - brought);
    }
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

static void beans_first_weeks(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                              const struct season_abreast *season, int *first)
{
    struct harvest_stands stands;
    struct harvest_pickings pickings;
    int from[SIDE];
    bool brings[SIDE];
    double heat[HARVEST_HEATS], begins[SIDE], dry[SIDE];
    harvest_begin_abreast(p, season_key, season, SIDE, &stands);
    harvest_pickings(plan, p, season, stands.out, &pickings);
    for (int i = 0; i < SIDE; i++) {
        struct season own = season_at(season, i);
        struct harvest_picking picking = harvest_picking_at(&pickings, stands.out, i);
        harvest_heat_by_week(plan, p, &own, &picking, heat, &from[i]);
        begins[i] = heat[from[i]];
    }
    chance_cdf_row(p->dry, begins, SIDE, dry);
    bring_first(p, &stands, brings);
    for (int i = 0; i < SIDE; i++) {
        int week = from[i] + p->crop->indoor_drying_weeks;
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
    for (int i = 0; i < plan->beans_n; i++)                  /* beans first: squash is hardly ever earlier */
        if (!of || of[plan->beans[i]] == is)
            beans_first_weeks(plan, &plan->plantings[plan->beans[i]], season_key, season, first);
    for (int i = 0; i < plan->squash_n; i++)
        if (!of || of[plan->squash[i]] == is)
            squash_first_weeks(plan, &plan->plantings[plan->squash[i]], season_key, season, first);
}

void harvest_copy_beans(const struct harvest *from, struct harvest *to)
{
    double *arrives_kg = to->arrives_kg;
    *to = *from;
    to->arrives_kg = arrives_kg;
    for (int week = from->first_week; week <= from->last_week; week++)
        arrives_kg[week] = from->arrives_kg[week];
}
