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

bool harvest_abreast_room(struct base_arena *arena, const struct plan_planting *p, struct harvest_abreast *out)
{
    double part;
    size_t units = (size_t)harvest_units(p->planting->count, &part), most = (units * (size_t)p->most_fruits + 1) * SIDE;
    out->first_row = base_arena_array(arena, units + 1, sizeof *out->first_row);
    out->bears = base_arena_array(arena, (units + 1) * SIDE, sizeof *out->bears);
    out->mass_word = base_arena_array(arena, most, sizeof *out->mass_word);
    out->life_word = base_arena_array(arena, most, sizeof *out->life_word);
    out->kg = base_arena_array(arena, most, sizeof *out->kg);
    out->life = base_arena_array(arena, most, sizeof *out->life);
    out->life_weeks = base_arena_array(arena, most, sizeof *out->life_weeks);
    out->cure = base_arena_array(arena, most, sizeof *out->cure);
    out->fate = base_arena_array(arena, most, sizeof *out->fate);
    return out->first_row && out->bears && out->mass_word && out->life_word && out->kg && out->life && out->life_weeks && out->cure && out->fate;
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

/* Words of the current unit's fruits, and what needs no table: three streams, each read in a row. life_weeks: its factor. */
BASE_VECTOR static void draw_words(const struct units *u, const struct plan_planting *p, int rows, uint64_t *restrict mass_word,
                                   uint64_t *restrict life_word, double *restrict life_weeks, uint8_t *restrict cure)
{
    const uint64_t a = CHANCE_PCG_MULTIPLIER, well_below = p->cures_well.below, well_always = p->cures_well.always;
    const double unripe = p->life_factor[0], poorly = p->life_factor[1], well = p->life_factor[2];
    uint64_t mass[SIDE], ripening[SIDE], keeping[SIDE];
    memcpy(mass, u->now.fruits, sizeof mass);
    memcpy(ripening, u->ripening, sizeof ripening);
    memcpy(keeping, u->keeping, sizeof keeping);
    for (int row = 0; row < rows; row++) {
        uint64_t cured[SIDE];
        for (int i = 0; i < SIDE; i++) {
            uint64_t ripe = chance_pcg_output(ripening[i]) <= u->ripe_below[i];
            uint64_t cures = (chance_pcg_output(keeping[i]) < well_below) | well_always;
            uint64_t life = keeping[i] * a + u->keeping_inc[i];
            mass_word[i] = chance_pcg_output(mass[i]);
            life_word[i] = chance_pcg_output(life);
            cured[i] = ripe + (ripe & cures);
            life_weeks[i] = cured[i] == 0 ? unripe : cured[i] == 1 ? poorly : well;
            mass[i] = mass[i] * a + u->stand.inc[i];
            ripening[i] = ripening[i] * a + u->ripening_inc[i];
            keeping[i] = life * a + u->keeping_inc[i];
        }
        for (int i = 0; i < SIDE; i++)
            cure[i] = (uint8_t)cured[i];
        mass_word += SIDE;
        life_word += SIDE;
        life_weeks += SIDE;
        cure += SIDE;
    }
}

/* The fate in the field of one trial's fruits of the current unit; how many come home. */
static int sift(const struct plan_planting *p, const struct units *u, int place, double share, int n, uint8_t *fate)
{
    struct harvest_unit unit = { .share = share, .down = u->now.down[place] };
    struct chance_pcg at = { u->field[place], u->field_inc[place] };
    struct harvest_field field = harvest_field_of(p, at, &unit);
    int home = 0;
    for (int f = 0; f < n; f++) {
        enum harvest_fate of = harvest_fruit_fate(p, &field);
        fate[f * SIDE + place] = (uint8_t)of;
        home += of == HARVEST_HOME;
    }
    return home;
}

/* Draws the current unit's fruits in rows of their own. */
static void bear(const struct plan_planting *p, const struct units *u, double share, struct harvest_abreast *out)
{
    int rows = 0, *bears = out->bears + out->units * SIDE;
    size_t from = (size_t)out->rows * SIDE;
    for (int i = 0; i < SIDE; i++) {
        bears[i] = u->now.stands[i] ? (int)chance_draw(p->fruits, u->now.bears[i]) : 0;
        rows = bears[i] > rows ? bears[i] : rows;
    }
    draw_words(u, p, rows, out->mass_word + from, out->life_word + from, out->life_weeks + from, out->cure + from);
    memset(out->fate + from, HARVEST_IS_HOME, (size_t)rows * SIDE);
    for (int i = 0; i < SIDE; i++) {
        bool sifts = p->crop->left_to_store < 1 || share < 1 || u->now.down[i];
        out->sifted |= (unsigned)sifts << i;
        out->n[i] += sifts ? sift(p, u, i, share, bears[i], out->fate + from) : bears[i];
    }
    out->rows += rows;
    out->first_row[++out->units] = out->rows;
}

/* Lives and masses from what the tables gave, in place of the factors and the words. */
BASE_VECTOR static void finish(const double *restrict factor, int n, const double *restrict life, double *restrict life_weeks,
                               double *restrict kg)
{
    for (int i = 0; i < n; i++)
        life_weeks[i] *= life[i];
    for (int row = 0; row < n / SIDE; row++, kg += SIDE)
        for (int i = 0; i < SIDE; i++)
            kg[i] *= factor[i];
}

/* What the fruits of each trial weigh together, were none lost in the field. */
BASE_VECTOR static void weigh(const struct harvest_abreast *cut, double *restrict grown_kg)
{
    double sum[SIDE] = { 0 };
    for (int u = 0; u < cut->units; u++) {
        const double *kg = cut->kg + (size_t)cut->first_row[u] * SIDE;
        const int *bears = cut->bears + u * SIDE;
        int rows = cut->first_row[u + 1] - cut->first_row[u];
        for (int row = 0; row < rows; row++, kg += SIDE)
            for (int i = 0; i < SIDE; i++)
                sum[i] += row < bears[i] ? kg[i] : 0.0;
    }
    memcpy(grown_kg, sum, sizeof sum);
}

/* The same for one trial of whose fruits some do not come home. */
static void weigh_sifted(const struct harvest_abreast *cut, int place, double *grown_kg, double *field_loss_kg)
{
    double grown = 0, lost = 0;
    for (int u = 0; u < cut->units; u++) {
        size_t at = (size_t)cut->first_row[u] * SIDE + (size_t)place;
        for (int f = 0; f < cut->bears[u * SIDE + place]; f++, at += SIDE) {
            grown += cut->fate[at] != HARVEST_GONE ? cut->kg[at] : 0.0;
            lost += cut->fate[at] == HARVEST_LOST ? cut->kg[at] : 0.0;
        }
    }
    *grown_kg = grown;
    *field_loss_kg = lost;
}

void harvest_squash_abreast(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                            const struct season_abreast *season, const double *year_factor, int n,
                            struct harvest_abreast *out)
{
    struct units units;
    double last_part = 1, factor[SIDE] = { 0 };
    int count = harvest_units(p->planting->count, &last_part);
    memset(out->n, 0, sizeof out->n);
    out->rows = out->units = out->first_row[0] = 0;
    out->sifted = 0;
    units.looks = p->crop->left_to_store < 1 || last_part < 1 || p->wind_may;
    begin(plan, p, season_key, season, n, &units, out);
    memcpy(factor, year_factor, (size_t)n * sizeof *factor);
    for (int u = 1; u <= count; u++) {
        next_unit(p, &units);
        bear(p, &units, u == count ? last_part : 1.0, out);
    }
    chance_draw_row(p->fruit_kg, out->mass_word, out->rows * SIDE, out->kg);
    chance_draw_row(p->keeps_weeks, out->life_word, out->rows * SIDE, out->life);
    finish(factor, out->rows * SIDE, out->life, out->life_weeks, out->kg);
    weigh(out, out->grown_kg);
    for (int i = 0; i < n; i++) {
        out->field_loss_kg[i] = 0;
        if (out->sifted >> i & 1)
            weigh_sifted(out, i, &out->grown_kg[i], &out->field_loss_kg[i]);
    }
}
