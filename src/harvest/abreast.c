/* abreast.c: the fruits of a planting in trials side by side: the words that each trial would draw on its own, drawn by
 * vector instructions. */
#include "harvest/internal.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST };

/* Streams at the current unit's beginning, and the current unit. */
struct units {
    struct harvest_stands stand;
    struct harvest_fates now;
    uint64_t ripening[SIDE], ripening_inc[SIDE], keeping[SIDE], keeping_inc[SIDE], field[SIDE], field_inc[SIDE];
    uint64_t ripe_below[SIDE];
    bool looks;                             /* may a fruit be lost in the field? */
};

/* Words of fruits, a row of them for all trials: a unit has as many rows as it bears where it bears most, so that a trial's
 * fruits stand in some of them: its bits in `borne`. */
struct harvest_rows {
    int n, units;
    int *bears;                             /* [unit * SIDE + trial] */
    uint64_t *borne;                        /* [row / 64 * SIDE + trial] */
    uint64_t *mass_word, *life_word;        /* [row * SIDE + trial] */
    uint8_t *cure;
    uint64_t *mass, *life;                  /* [fruit] the same in their order, and what they stand for */
    double *fruit_kg, *keeps_weeks;
    uint8_t *fate;                          /* enum harvest_fate, where fruits may be lost in the field */
};

bool harvest_abreast_room(struct base_arena *arena, const struct plan_planting *p, struct harvest_abreast *out)
{
    double part;
    size_t units = (size_t)harvest_units(p->planting->count, &part), rows = units * (size_t)p->most_fruits + 1, most = rows * SIDE;
    struct harvest_rows *r = out->rows = base_arena_take(arena, sizeof *out->rows);
    out->kg = base_arena_array(arena, most, sizeof *out->kg);
    out->life_weeks = base_arena_array(arena, most, sizeof *out->life_weeks);
    out->cure = base_arena_array(arena, most, sizeof *out->cure);
    if (!r || !out->kg || !out->life_weeks || !out->cure)
        return false;
    r->bears = base_arena_array(arena, (units + 1) * SIDE, sizeof *r->bears);
    r->borne = base_arena_array(arena, (rows / 64 + 2) * SIDE, sizeof *r->borne);
    r->mass_word = base_arena_array(arena, most, sizeof *r->mass_word);
    r->life_word = base_arena_array(arena, most, sizeof *r->life_word);
    r->cure = base_arena_array(arena, most, sizeof *r->cure);
    r->fate = base_arena_array(arena, most, sizeof *r->fate);
    r->mass = base_arena_array(arena, most, sizeof *r->mass);
    r->life = base_arena_array(arena, most, sizeof *r->life);
    r->fruit_kg = base_arena_array(arena, most, sizeof *r->fruit_kg);
    r->keeps_weeks = base_arena_array(arena, most, sizeof *r->keeps_weeks);
    return r->bears && r->borne && r->mass_word && r->life_word && r->cure && r->fate && r->mass && r->life && r->fruit_kg
           && r->keeps_weeks;
}

/* Plantings as a whole: what has happened to them by the day on which they are cut. */
static void begin(const struct plan *plan, const struct plan_planting *p, const uint64_t *key, const struct season_abreast *season,
                  int n, struct units *units, struct harvest_abreast *out)
{
    double heat_out[SIDE], heat[SIDE], ripe[SIDE];
    harvest_begin_abreast(p, key, season, n, &units->stand);
    chance_stream_row(key, p->ripening_key, SIDE, units->ripening, units->ripening_inc);
    chance_stream_row(key, p->keeping_key, SIDE, units->keeping, units->keeping_inc);
    if (units->looks)
        chance_stream_row(key, p->field_key, SIDE, units->field, units->field_inc);
    harvest_cutting_days(plan, p, key, season, units->stand.out, out->cut_day);
    season_heat_abreast(plan, season, p->base, units->stand.out, heat_out);
    season_heat_abreast(plan, season, p->base, out->cut_day, heat);
    for (int i = 0; i < SIDE; i++) {
        heat[i] -= heat_out[i];
        out->cut_week[i] = plan_week(out->cut_day[i]);
    }
    chance_cdf_row(p->ripe, heat, SIDE, ripe);
    chance_word_row(ripe, SIDE, units->ripe_below);
}

/* Streams go on to the next unit, whose fate is drawn. */
BASE_VECTOR static void next_unit(const struct plan_planting *p, struct units *u)
{
    harvest_next_units(p, &u->stand, &u->now);
    for (int i = 0; i < SIDE; i++) {
        u->ripening[i] = u->ripening[i] * CHANCE_STRIDE_MULTIPLIER + u->ripening_inc[i] * CHANCE_STRIDE_INCREMENT;
        u->keeping[i] = u->keeping[i] * CHANCE_STRIDE_MULTIPLIER + u->keeping_inc[i] * CHANCE_STRIDE_INCREMENT;
    }
    for (int i = 0; u->looks && i < SIDE; i++)
        u->field[i] = u->field[i] * CHANCE_STRIDE_MULTIPLIER + u->field_inc[i] * CHANCE_STRIDE_INCREMENT;
}

/* Words of the current unit's fruits, and how they cure: three streams, each read in a row. */
BASE_VECTOR static void draw_words(const struct units *u, const struct plan_planting *p, int rows, uint64_t *restrict mass_word,
                                   uint64_t *restrict life_word, uint8_t *restrict cure)
{
    const uint64_t a = CHANCE_PCG_MULTIPLIER;
    const struct chance_bernoulli well = p->cures_well;
    uint64_t mass[SIDE], ripening[SIDE], keeping[SIDE];
    memcpy(mass, u->now.fruits, sizeof mass);
    memcpy(ripening, u->ripening, sizeof ripening);
    memcpy(keeping, u->keeping, sizeof keeping);
    for (int row = 0; row < rows; row++) {
        uint64_t cured[SIDE];
        for (int i = 0; i < SIDE; i++) {
            uint64_t ripe = chance_pcg_output(ripening[i]) <= u->ripe_below[i];
            uint64_t cures = chance_happens(&well, chance_pcg_output(keeping[i]));
            uint64_t life = keeping[i] * a + u->keeping_inc[i];
            mass_word[i] = chance_pcg_output(mass[i]);
            life_word[i] = chance_pcg_output(life);
            cured[i] = ripe + (ripe & cures);
            mass[i] = mass[i] * a + u->stand.inc[i];
            ripening[i] = ripening[i] * a + u->ripening_inc[i];
            keeping[i] = life * a + u->keeping_inc[i];
        }
        for (int i = 0; i < SIDE; i++)
            cure[i] = (uint8_t)cured[i];
        mass_word += SIDE;
        life_word += SIDE;
        cure += SIDE;
    }
}

/* Sets each trial's bits of as many rows from `row` on as a unit bears there. Words that none reaches are left alone. */
BASE_VECTOR static void note_borne(uint64_t *borne, int row, const int *bears, int most)
{
    for (int at = 0; at < most; at += 64 - (row + at) % 64) {
        const int bit = (row + at) % 64;
        uint64_t *word = borne + (row + at) / 64 * SIDE;
        for (int i = 0; i < SIDE; i++) {
            int n = bears[i] - at;
            uint64_t some = n <= 0 ? 0 : n >= 64 ? ~UINT64_C(0) : (UINT64_C(1) << n) - 1;
            word[i] |= some << bit;
        }
    }
}

/* Draws the words of the current unit's fruits in rows of their own. */
static void bear(const struct plan_planting *p, const struct units *u, struct harvest_rows *rows)
{
    int most = 0, *bears = rows->bears + rows->units++ * SIDE;
    size_t from = (size_t)rows->n * SIDE;
    for (int i = 0; i < SIDE; i++) {
        bears[i] = u->now.stands[i] ? (int)chance_draw(p->fruits, u->now.bears[i]) : 0;
        most = bears[i] > most ? bears[i] : most;
    }
    for (int word = rows->n / 64 + 1; word <= (rows->n + most) / 64; word++)
        memset(rows->borne + word * SIDE, 0, SIDE * sizeof *rows->borne);
    note_borne(rows->borne, rows->n, bears, most);
    draw_words(u, p, most, rows->mass_word + from, rows->life_word + from, rows->cure + from);
    rows->n += most;
}

/* The words of a group of units' fruits, the first unit being number u, have their mean from the season's shared ones. */
static void share_units(const struct plan *plan, const struct plan_planting *p, const uint64_t *point, struct harvest_stands ahead,
                        int u, int units, uint64_t *bears)
{
    int n = units - u < PLAN_GROUP_UNITS ? units - u : PLAN_GROUP_UNITS, group = u / PLAN_GROUP_UNITS;
    for (int k = 0; k < n; k++) {
        struct harvest_fates fates;
        harvest_next_units(p, &ahead, &fates);
        memcpy(bears + k * SIDE, fates.bears, sizeof fates.bears);
    }
    if (p->points.units && group < p->points.groups)
        harvest_share_rows(plan, point + (p->points.units + group) * SIDE, n, bears);
}

/* All units, one after the other, bear. */
static void bear_all(const struct plan *plan, const struct plan_planting *p, const uint64_t *point, int count, struct units *units,
                     struct harvest_rows *rows)
{
    uint64_t bears[PLAN_GROUP_UNITS * SIDE];
    for (int u = 0; u < count; u++) {
        int of_group = u % PLAN_GROUP_UNITS;
        if (point && of_group == 0)
            share_units(plan, p, point, units->stand, u, count, bears);
        next_unit(p, units);
        if (point)
            memcpy(units->now.bears, bears + of_group * SIDE, sizeof units->now.bears);
        bear(p, units, rows);
    }
}

/* Masses and lives of one trial's fruits have their means from the season's shared words. */
static void share_fruits(const struct plan *plan, const struct plan_planting *p, const uint64_t *point, int trial,
                         struct harvest_abreast *out)
{
    int from = out->start[trial], n = out->start[trial + 1] - from;
    struct harvest_rows *rows = out->rows;
    if (p->points.fruit_kg)
        harvest_share_row(plan, point[p->points.fruit_kg * SIDE + trial], n, rows->mass + from, rows->fruit_kg + from);
    if (p->points.keeps_weeks)
        harvest_share_row(plan, point[p->points.keeps_weeks * SIDE + trial], n, rows->life + from, rows->keeps_weeks + from);
}

/* Takes one trial's fruits out of the rows, into their order from number `at` on; returns the number after the last. */
static int take_out(const struct harvest_rows *rows, int trial, int at, uint8_t *restrict cure)
{
    const uint64_t *restrict mass_word = rows->mass_word + trial, *restrict life_word = rows->life_word + trial;
    const uint8_t *restrict cures = rows->cure + trial;
    uint64_t *restrict mass = rows->mass, *restrict life = rows->life;
    size_t to = (size_t)at;
    for (size_t row = 0; row < (size_t)rows->n; row += 64)
        for (uint64_t bits = rows->borne[row / 64 * SIDE + (size_t)trial]; bits > 0; bits &= bits - 1, to++) {
            size_t from = (row + (size_t)__builtin_ctzll(bits)) * SIDE;
            mass[to] = mass_word[from];
            life[to] = life_word[from];
            cure[to] = cures[from];
        }
    return (int)to;
}

/* The fate in the field of one trial's fruits of the current unit, the first of which is number `at`. */
static void sift(const struct plan_planting *p, const struct units *u, double share, int trial, int n, int at,
                 struct harvest_abreast *out)
{
    struct harvest_unit unit = { .share = share, .down = u->now.down[trial] };
    struct chance_pcg stream = { u->field[trial], u->field_inc[trial] };
    struct harvest_field field = harvest_field_of(p, stream, &unit);
    for (int f = at; f < at + n; f++)
        out->rows->fate[f] = (uint8_t)harvest_fruit_fate(p, &field);
}

/* May fruits be taken in summer, lost to the wind, or be wanting on a part of a plant? */
static bool may_be_lost(const struct plan_planting *p, double last_part)
{
    return p->crop->left_to_store < 1 || last_part < 1 || p->wind_may;
}

/* The fates of all fruits, unit by unit once more. */
static void sift_all(const struct plan_planting *p, struct units units, double last_part, int n, struct harvest_abreast *out)
{
    int at[SIDE];
    memcpy(at, out->start, sizeof at);
    for (int u = 0; u < out->rows->units; u++) {
        const int *bears = out->rows->bears + u * SIDE;
        next_unit(p, &units);
        for (int t = 0; t < n; t++) {
            sift(p, &units, u == out->rows->units - 1 ? last_part : 1.0, t, bears[t], at[t], out);
            at[t] += bears[t];
        }
    }
}

/* Masses and lives of eight fruits from what the tables gave. */
BASE_PART void finish_eight(const struct plan_planting *p, const struct harvest_rows *rows, double year_factor, int f,
                            struct harvest_abreast *out)
{
    const double unripe = p->life_factor[SCENARIO_UNRIPE], poorly = p->life_factor[SCENARIO_POOR];
    const double well = p->life_factor[SCENARIO_WELL], *restrict fruit_kg = rows->fruit_kg + f;
    const double *restrict keeps_weeks = rows->keeps_weeks + f;
    uint64_t cure[SIDE];
    double *restrict kg = out->kg + f, *restrict life_weeks = out->life_weeks + f;
    base_side_spread(cure, out->cure + f);
    BASE_SIDE_BY_SIDE(i) {
        kg[i] = fruit_kg[i] * year_factor;
        life_weeks[i] = keeps_weeks[i] * (cure[i] == SCENARIO_WELL ? well : cure[i] == SCENARIO_POOR ? poorly : unripe);
    }
}

/* Masses and lives of all trials' fruits; what of them was grown. Eight fruits at a time: what goes beyond a trial's last one is
 * written anew for the next. */
BASE_VECTOR static void finish(const struct plan_planting *p, const double *year_factor, int n, struct harvest_abreast *out)
{
    for (int t = 0; t < n; t++) {
        double grown[SIDE] = { 0 }, sum = 0;
        int f = out->start[t], left = out->start[t + 1] - f;
        out->n[t] = left;
        for (; left > 0; left -= SIDE, f += SIDE) {
            const double *restrict kg = out->kg + f;
            finish_eight(p, out->rows, year_factor[t], f, out);
            BASE_SIDE_BY_SIDE(i)
                grown[i] += i < left ? kg[i] : 0.0;
        }
        for (int k = 0; k < SIDE; k++)
            sum += grown[k];
        out->grown_kg[t] = out->home_kg[t] = sum;
        out->field_loss_kg[t] = 0;
    }
}

/* One trial's fruits are weighed; those that do not come home are dropped. */
static void weigh_lossy(struct harvest_abreast *cut, int trial)
{
    double grown = 0, lost = 0, home = 0;
    int to = cut->start[trial];
    for (int f = cut->start[trial]; f < cut->start[trial + 1]; f++) {
        grown += cut->rows->fate[f] != HARVEST_GONE ? cut->kg[f] : 0.0;
        lost += cut->rows->fate[f] == HARVEST_LOST ? cut->kg[f] : 0.0;
        home += cut->rows->fate[f] == HARVEST_HOME ? cut->kg[f] : 0.0;
        cut->kg[to] = cut->kg[f];
        cut->life_weeks[to] = cut->life_weeks[f];
        cut->cure[to] = cut->cure[f];
        to += cut->rows->fate[f] == HARVEST_HOME;
    }
    cut->grown_kg[trial] = grown;
    cut->field_loss_kg[trial] = lost;
    cut->home_kg[trial] = home;
    cut->n[trial] = to - cut->start[trial];
}

void harvest_copy_abreast(const struct harvest_abreast *from, struct harvest_abreast *to)
{
    const struct harvest_abreast own = *to;
    size_t n = (size_t)from->start[SIDE];
    *to = *from;
    to->rows = own.rows;
    to->kg = memcpy(own.kg, from->kg, n * sizeof *own.kg);
    to->life_weeks = memcpy(own.life_weeks, from->life_weeks, n * sizeof *own.life_weeks);
    to->cure = memcpy(own.cure, from->cure, n);
}

void harvest_squash_abreast(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                            const struct season_abreast *season, const double *year_factor, int n,
                            struct harvest_abreast *out)
{
    struct harvest_rows *rows = out->rows;
    struct units units;
    double last_part = 1;
    int count = harvest_units(p->planting->count, &last_part);
    rows->n = rows->units = out->start[0] = 0;
    memset(rows->borne, 0, SIDE * sizeof *rows->borne);
    units.looks = may_be_lost(p, last_part);
    begin(plan, p, season_key, season, n, &units, out);
    const struct units first = units;           /* streams are read again where fruits may be lost in the field */
    bear_all(plan, p, season->point, count, &units, rows);
    for (int t = 0; t < SIDE; t++)
        out->start[t + 1] = t < n ? take_out(rows, t, out->start[t], out->cure) : out->start[t];
    for (int t = 0; season->point && t < n; t++)
        share_fruits(plan, p, season->point, t, out);
    chance_draw_row(p->fruit_kg, rows->mass, out->start[n], rows->fruit_kg);
    chance_draw_row(p->keeps_weeks, rows->life, out->start[n], rows->keeps_weeks);
    finish(p, year_factor, n, out);
    if (!units.looks)
        return;
    sift_all(p, first, last_part, n, out);
    for (int t = 0; t < n; t++)
        weigh_lossy(out, t);
}
