/* points.c: which draws a trial does not draw on its own, because trials share them out (the setting `sampling`), and their
 * words. */
#include "plan/internal.h"

#include <math.h>
#include <string.h>

enum { MOST_CLASSES = 10 };

/* Words of a full season as they are handed out, class after class: what matters most stands first. */
struct layout { int n, classes, end[MOST_CLASSES]; };

static void end_class(struct layout *layout) { layout->end[layout->classes++] = layout->n; }

static bool varies(const struct chance_table *table) { return table && table->kind != CHANCE_CONSTANT; }

/* The next n words' place; 0, which is the weather's, where nothing is drawn. */
static int take(struct layout *layout, bool drawn, int n)
{
    int at = layout->n;
    layout->n += drawn ? n : 0;
    return drawn ? at : 0;
}

static void lay_plantings(struct plan *plan, struct layout *layout)
{
    struct plan_planting *p = plan->plantings, *end = p + plan->plantings_n;
    for (p = plan->plantings; p < end; p++) {
        int groups = (plan_units(p->planting->count) + PLAN_GROUP_UNITS - 1) / PLAN_GROUP_UNITS;
        p->points.groups = groups < PLAN_MOST_GROUPS ? groups : PLAN_MOST_GROUPS;
        p->points.units = take(layout, varies(p->unit_kg) || varies(p->fruits), p->points.groups);
    }
    end_class(layout);
    for (p = plan->plantings; p < end; p++)
        p->points.fruit_kg = take(layout, varies(p->fruit_kg), 1);
    end_class(layout);
    for (p = plan->plantings; p < end; p++) {
        p->points.wind = take(layout, p->wind_may && p->crop->support == SCENARIO_SHARED, 1);
        p->points.stands = take(layout, varies(p->stands), 1);
        p->points.sorted_out = take(layout, varies(p->sorted_out), 1);
    }
    end_class(layout);
    for (p = plan->plantings; p < end; p++)
        p->points.keeps_weeks = take(layout, varies(p->keeps_weeks), 1);
    end_class(layout);
}

static void lay_out(struct plan *plan, struct layout *layout)
{
    layout->n = plan->weather.recorded && plan->weather.this_season.known_n == 0 ? 1 : 3;
    end_class(layout);
    for (int c = 0; c < plan->crops_n; c++)
        plan->crops[c].point = take(layout, varies(plan->crops[c].year_factor), 1);
    end_class(layout);
    lay_plantings(plan, layout);
}

/* Dimensions of the Sobol sequence, the earliest to what matters most, as far as they go; last to the weather of the season that
 * only ends the last food year, of which nothing else is drawn. Returns how many. */
static int give_dimensions(const struct layout *layout, int seasons, int16_t *dimension)
{
    int given = 0, from = 0, last = (seasons - 1) * layout->n;
    for (int class = 0; class < layout->classes; from = layout->end[class++])
        for (int season = 0; season < seasons - 1; season++)
            for (int word = from; word < layout->end[class]; word++)
                dimension[season * layout->n + word] = (int16_t)(given < CHANCE_SOBOL_DIMENSIONS ? given++ : -1);
    for (int word = 0; word < layout->n; word++)
        dimension[last + word] = (int16_t)(given < CHANCE_SOBOL_DIMENSIONS && word < layout->end[0] ? given++ : -1);
    return given;
}

bool plan_make_points(struct base_arena *arena, struct plan *plan)
{
    const struct scenario *scenario = plan->scenario;
    struct layout layout = { 0 };
    if (scenario->sampling == SCENARIO_INDEPENDENT)
        return true;
    lay_out(plan, &layout);
    int seasons = scenario->food_years + 1;
    struct plan_points *points = base_arena_take(arena, sizeof *points);
    int16_t *dimension = base_arena_array(arena, (size_t)(layout.n * seasons), sizeof *dimension);
    if (!points || !dimension)
        return false;
    *points = (struct plan_points){ .sampling = scenario->sampling, .random_seed = (uint64_t)scenario->random_seed, .n = layout.n,
                                    .key = chance_stream_key("sampling", PLAN_POINTS), .seasons = seasons, .dimension = dimension };
    plan->points = points;
    if (scenario->sampling != SCENARIO_SOBOL)
        return true;
    return chance_sobol_make(arena, points->random_seed, points->key, give_dimensions(&layout, seasons, dimension), &points->sobol);
}

/* Independent words of each trial, or of each pair of trials: in the second the complements. */
BASE_VECTOR static void draw_rows(const uint64_t *restrict first_state, const uint64_t *restrict inc, const uint64_t *restrict flip, int n,
                                  uint64_t *restrict word)
{
    uint64_t state[PLAN_ABREAST];
    for (int i = 0; i < PLAN_ABREAST; i++)
        state[i] = first_state[i];
    for (int w = 0; w < n; w++, word += PLAN_ABREAST)
        for (int i = 0; i < PLAN_ABREAST; i++) {
            word[i] = chance_pcg_output(state[i]) ^ flip[i];
            state[i] = state[i] * CHANCE_PCG_MULTIPLIER + inc[i];
        }
}

/* Does a reflection move a word's score? */
static bool moves(const double mirror[PLAN_AXES])
{
    bool any = false;
    for (int axis = 0; axis < PLAN_AXES; axis++)
        any |= mirror[axis] != 0;
    return any;
}

/* Reflects a score of each trial: x - 2 v (v x) for each axis, the last one first; `n` of words. */
BASE_VECTOR static void reflect(const double (*mirror)[PLAN_AXES], int n, double *restrict score)
{
    for (int axis = PLAN_AXES - 1; axis >= 0; axis--) {
        double twice[PLAN_ABREAST] = { 0 };
        for (int w = 0; w < n; w++)
            for (int i = 0; i < PLAN_ABREAST; i++)
                twice[i] += 2 * mirror[w][axis] * score[w * PLAN_ABREAST + i];
        for (int w = 0; w < n; w++)
            for (int i = 0; i < PLAN_ABREAST; i++)
                score[w * PLAN_ABREAST + i] -= mirror[w][axis] * twice[i];
    }
}

static void turn(const struct chance_normal *normal, const double (*mirror)[PLAN_AXES], int n, uint64_t *word, double *score)
{
    for (int w = 0; w < n; w++)
        if (moves(mirror[w]))
            chance_curve_row(normal->score, word + w * PLAN_ABREAST, PLAN_ABREAST, score + w * PLAN_ABREAST);
        else
            memset(score + w * PLAN_ABREAST, 0, PLAN_ABREAST * sizeof *score);
    reflect(mirror, n, score);
    for (int w = 0; w < n; w++)
        if (moves(mirror[w]))
            chance_normal_word_row(normal, score + w * PLAN_ABREAST, PLAN_ABREAST, word + w * PLAN_ABREAST);
}

void plan_draw_points(const struct plan *plan, int season, uint64_t first, int n, uint64_t *word, double *score)
{
    const struct plan_points *points = plan->points;
    uint64_t key[PLAN_ABREAST], state[PLAN_ABREAST], inc[PLAN_ABREAST], flip[PLAN_ABREAST];
    bool pairs = points->sampling == SCENARIO_ANTITHETIC;
    for (uint64_t i = 0; i < PLAN_ABREAST; i++) {
        uint64_t trial = first + i;
        key[i] = chance_season_key(points->random_seed, pairs ? trial / 2 : trial, season);
        flip[i] = pairs && (trial & 1) ? UINT64_MAX : 0;
    }
    chance_stream_row(key, points->key, PLAN_ABREAST, state, inc);
    draw_rows(state, inc, flip, points->n, word);
    if (points->sampling != SCENARIO_SOBOL)
        return;
    const int16_t *dimension = points->dimension + season * points->n;
    for (int w = 0; w < points->n; w++)
        if (dimension[w] >= 0)
            chance_sobol_row(&points->sobol, dimension[w], first, n, word + w * PLAN_ABREAST);
    if (season < points->turned)
        turn(plan->normal, points->mirror + season * points->n, points->n, word, score);
}

/* ---- directions that matter -------------------------------------------------------------------- */

/* The mirror (Householder 1958, Journal of the ACM 5:339-342) that turns the direction of word number `axis` into that of u, the
 * words before it left as they are. */
static void set_mirror(const double *u, int n, int axis, double (*mirror)[PLAN_AXES])
{
    double length = 0, own = 0;
    for (int w = axis; w < n; w++)
        length += u[w] * u[w];
    if (!(length > 0))
        return;
    double to = u[axis] > 0 ? -sqrt(length) : sqrt(length);
    for (int w = axis; w < n; w++) {
        mirror[w][axis] = (w == axis) - u[w] / to;
        own += mirror[w][axis] * mirror[w][axis];
    }
    for (int w = axis; w < n; w++)
        mirror[w][axis] /= sqrt(own);
}

/* What u is before the reflection. */
static void look_through(const double (*mirror)[PLAN_AXES], int n, int axis, double *u)
{
    double twice = 0;
    for (int w = 0; w < n; w++)
        twice += 2 * mirror[w][axis] * u[w];
    for (int w = 0; w < n; w++)
        u[w] -= mirror[w][axis] * twice;
}

/* The first word goes along the first direction, the second along the part of the other that is across it. */
static void set_mirrors(double *const along[PLAN_AXES], int n, double (*mirror)[PLAN_AXES])
{
    for (int axis = 0; axis < PLAN_AXES && axis < n; axis++) {
        for (int before = 0; before < axis; before++)
            look_through((const double (*)[PLAN_AXES])mirror, n, before, along[axis]);
        set_mirror(along[axis], n, axis, mirror);
    }
}

bool plan_turn_points(struct base_arena *arena, struct plan_points *points, double *const *along)
{
    double (*mirror)[PLAN_AXES] = base_arena_array(arena, (size_t)(points->seasons * points->n), sizeof *mirror);
    if (!mirror)
        return false;
    points->mirror = (const double (*)[PLAN_AXES])mirror;
    points->turned = points->seasons - 1;
    for (int season = 0; season < points->turned; season++)
        set_mirrors(along + season * PLAN_AXES, points->n, mirror + season * points->n);
    return true;
}
