/* harvest.c: a season of every planting; the table of kinds. */
#include "harvest/internal.h"

#include <string.h>

struct kind {
    void (*draw)(const struct plan *, const struct plan_planting *, double, uint64_t, const struct season *, double,
                 struct harvest *);
    int (*first_week)(const struct plan *, const struct plan_planting *, double, uint64_t, const struct season *, int);
};

static const struct kind kinds[] = {
    [SCENARIO_KIND_BEANS] = { harvest_beans, harvest_beans_first_week },
    [SCENARIO_KIND_SQUASH] = { harvest_squash, harvest_squash_first_week },
};

bool harvest_room(struct base_arena *arena, const struct plan *plan, struct harvest *by_planting)
{
    for (int i = 0; i < plan->plantings_n; i++) {
        const struct plan_planting *p = &plan->plantings[i];
        struct harvest *harvest = &by_planting[i];
        *harvest = (struct harvest){ 0 };
        if (p->crop->kind == SCENARIO_KIND_BEANS) {
            harvest->arrives_kg = base_arena_array(arena, PLAN_SEASON_SLOTS, sizeof *harvest->arrives_kg);
            if (!harvest->arrives_kg)
                return false;
            continue;
        }
        double part;
        size_t most = (size_t)harvest_units(p->planting->count, &part) * (size_t)p->most_fruits + 1;
        harvest->kg = base_arena_array(arena, most, sizeof *harvest->kg);
        harvest->cure = base_arena_array(arena, most, sizeof *harvest->cure);
        harvest->life_weeks = base_arena_array(arena, most, sizeof *harvest->life_weeks);
        if (!harvest->kg || !harvest->cure || !harvest->life_weeks)
            return false;
    }
    return true;
}

void harvest_year_factors(const struct plan *plan, uint64_t season_key, const struct season *season, double *year_factor)
{
    for (int c = 0; c < plan->crops_n; c++) {
        const struct plan_crop *crop = &plan->crops[c];
        struct chance_pcg pcg = chance_stream(season_key, crop->year_key);
        uint64_t word = season_word(season, crop->point, chance_pcg_next(&pcg));
        if (crop->follows != 0) {
            double own = chance_curve(plan->normal->score, word);
            word = chance_normal_word(plan->normal, crop->follows * season->score + crop->apart * own);
        }
        year_factor[c] = chance_draw(crop->year_factor, word);
    }
}

BASE_VECTOR static void follow_season(const struct plan_crop *crop, const double *restrict score, double *restrict own)
{
    const double follows = crop->follows, apart = crop->apart;
    for (int i = 0; i < PLAN_ABREAST; i++)
        own[i] = follows * score[i] + apart * own[i];
}

BASE_VECTOR static void first_words(const uint64_t *restrict state, uint64_t *restrict word)
{
    for (int i = 0; i < PLAN_ABREAST; i++)
        word[i] = chance_pcg_output(state[i]);
}

void harvest_words(const uint64_t *season_key, uint64_t stream_key, const uint64_t *point, int place, uint64_t word[PLAN_ABREAST])
{
    uint64_t state[PLAN_ABREAST], inc[PLAN_ABREAST];
    if (point && place) {
        memcpy(word, point + place * PLAN_ABREAST, PLAN_ABREAST * sizeof *word);
        return;
    }
    chance_stream_row(season_key, stream_key, PLAN_ABREAST, state, inc);
    first_words(state, word);
}

void harvest_year_factors_abreast(const struct plan *plan, const uint64_t *season_key, const struct season_abreast *season,
                                  double *year_factor)
{
    for (int c = 0; c < plan->crops_n; c++) {
        const struct plan_crop *crop = &plan->crops[c];
        uint64_t word[PLAN_ABREAST];
        double score[PLAN_ABREAST];
        harvest_words(season_key, crop->year_key, season->point, crop->point, word);
        if (crop->follows != 0) {
            chance_curve_row(plan->normal->score, word, PLAN_ABREAST, score);
            follow_season(crop, season->score, score);
            chance_normal_word_row(plan->normal, score, PLAN_ABREAST, word);
        }
        chance_draw_row(crop->year_factor, word, PLAN_ABREAST, year_factor + c * PLAN_ABREAST);
    }
}

void harvest_draw(const struct plan *plan, int planting, double count, uint64_t season_key, const struct season *season,
                  double year_factor, struct harvest *out)
{
    const struct plan_planting *p = &plan->plantings[planting];
    kinds[p->crop->kind].draw(plan, p, count, season_key, season, year_factor, out);
}

int harvest_week_before(const struct plan *plan, int planting, double count, uint64_t season_key,
                        const struct season *season, int before)
{
    const struct plan_planting *p = &plan->plantings[planting];
    return kinds[p->crop->kind].first_week(plan, p, count, season_key, season, before);
}
