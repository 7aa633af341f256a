/* abreast.c: the weather of trials side by side: the words that each would draw on its own. */
#include "season/season.h"

#include <string.h>

enum { SIDE = PLAN_ABREAST, FAR_DAY = 10000 };

BASE_VECTOR static void draw_words(const uint64_t *restrict state, const uint64_t *restrict inc, uint64_t *restrict word)
{
    BASE_SIDE_BY_SIDE(i) {
        uint64_t second = state[i] * CHANCE_PCG_MULTIPLIER + inc[i], third = second * CHANCE_PCG_MULTIPLIER + inc[i];
        word[i] = chance_pcg_output(state[i]);
        word[SIDE + i] = chance_pcg_output(second);
        word[2 * SIDE + i] = chance_pcg_output(third);
    }
}

/* Independent scores in, those that go together out; the first stays. */
BASE_VECTOR static void mix(const double (*mix)[3], double *restrict z)
{
    BASE_SIDE_BY_SIDE(i) {
        z[2 * SIDE + i] = mix[2][0] * z[i] + mix[2][1] * z[SIDE + i] + mix[2][2] * z[2 * SIDE + i];
        z[SIDE + i] = mix[1][0] * z[i] + mix[1][1] * z[SIDE + i];
    }
}

BASE_VECTOR static void whole_days(const double *restrict day, int *restrict whole)
{
    BASE_SIDE_BY_SIDE(i) {
        double near = day[i] > FAR_DAY ? FAR_DAY : day[i];
        whole[i] = (int)(near < -FAR_DAY ? -FAR_DAY : near);
    }
}

/* Where each trial's warmth lies among the rows: see season.c. */
BASE_VECTOR static void place_warmth(const struct plan_weather *weather, const double *restrict warmth_c,
                                     struct season_abreast *restrict season)
{
    const double first = weather->first_warmth, step = weather->warmth_step, rows = weather->rows;
    const int last = weather->rows - 2;
    BASE_SIDE_BY_SIDE(i) {
        double at = (warmth_c[i] - first) / step;
        at = at < 0 ? 0 : at;
        at = at > rows - 1 ? rows - 1 : at;
        int row = (int)at;
        row = row > last ? last : row;
        double t = at - row, t2 = t * t, t3 = t2 * t;
        season->at[i] = (size_t)row * PLAN_HEAT_ROW;
        season->next[i] = PLAN_HEAT_ROW;
        season->weight[0][i] = 2 * t3 - 3 * t2 + 1;
        season->weight[1][i] = (t3 - 2 * t2 + t) * step;
        season->weight[2][i] = 3 * t2 - 2 * t3;
        season->weight[3][i] = (t3 - t2) * step;
    }
}

static void draw_from_distributions(const struct plan *plan, const uint64_t key[SIDE], const uint64_t *point,
                                    struct season_abreast *out)
{
    const struct plan_weather *weather = &plan->weather;
    uint64_t state[SIDE], inc[SIDE], word[3 * SIDE];
    double z[3 * SIDE], day[SIDE], warmth_c[SIDE];
    if (point)
        memcpy(word, point, sizeof word);
    else {
        chance_stream_row(key, weather->key, SIDE, state, inc);
        draw_words(state, inc, word);
    }
    if (weather->independent)
        chance_curve_row(plan->normal->score, word + 2 * SIDE, SIDE, z + 2 * SIDE);
    else {
        chance_curve_row(plan->normal->score, word, 3 * SIDE, z);
        mix(weather->mix, z);
        chance_normal_word_row(plan->normal, z + SIDE, 2 * SIDE, word + SIDE);
    }
    chance_draw_row(weather->last_frost, word, SIDE, day);
    whole_days(day, out->last_frost);
    chance_draw_row(weather->first_hard_frost, word + SIDE, SIDE, day);
    whole_days(day, out->first_hard_frost);
    for (int i = 0; i < SIDE; i++)
        out->score[i] = z[2 * SIDE + i];
    chance_draw_row(weather->warmth, word + 2 * SIDE, SIDE, warmth_c);
    place_warmth(weather, warmth_c, out);
}

static void put(const struct season *season, int place, struct season_abreast *out)
{
    out->last_frost[place] = season->last_frost;
    out->first_hard_frost[place] = season->first_hard_frost;
    out->score[place] = season->score;
    out->at[place] = season->at;
    out->next[place] = season->next;
    for (int k = 0; k < 4; k++)
        out->weight[k][place] = season->weight[k];
}

void season_draw_abreast(const struct plan *plan, int number, const uint64_t key[SIDE], const uint64_t *point,
                         struct season_abreast *out)
{
    out->point = point;
    bool known = number == 0 && plan->weather.this_season.known_n > 0;
    if (!known && !plan->weather.recorded) {
        draw_from_distributions(plan, key, point, out);
        return;
    }
    for (int i = 0; i < SIDE; i++) {
        struct season season;
        const uint64_t *own = point ? point + i : NULL;
        if (known)
            season_draw_known(plan, key[i], own, &season);
        else
            season_draw(plan, key[i], own, &season);
        put(&season, i, out);
    }
}

/* Heats of eight weeks of a trial. */
BASE_PART void reckon_eight(const struct plan_heat *here, const struct plan_heat *there, double a, double b, double c, double d,
                            double *restrict heat)
{
    BASE_SIDE_BY_SIDE(w)
        heat[w] = a * here[w].heat + b * here[w].slope + c * there[w].heat + d * there[w].slope;
}

/* The same of all trials, week by week. */
BASE_VECTOR static void reckon_eights(const struct season_abreast *season, const struct plan_heat *rows, double *restrict heat)
{
    double own[SIDE * SIDE];
    for (int i = 0; i < SIDE; i++) {
        const struct plan_heat *here = rows + season->at[i];
        reckon_eight(here, here + season->next[i], season->weight[0][i], season->weight[1][i], season->weight[2][i],
                     season->weight[3][i], own + i * SIDE);
    }
    for (int w = 0; w < SIDE; w++)
        BASE_SIDE_BY_SIDE(i)
            heat[w * SIDE + i] = own[i * SIDE + w];
}

void season_reckon_weeks(const struct plan *plan, const struct season_abreast *season, int base, int week,
                         struct season_weeks *weeks)
{
    const int from = week < 3 ? 0 : 3 + (week - 3) / SIDE * SIDE;       /* eight weeks, none beyond week 50 */
    weeks->known = (weeks->base == base ? weeks->known : 0) | UINT64_C(255) << from;
    weeks->base = base;
    reckon_eights(season, plan->weather.heat[base] + PLAN_WEEK_HEATS + from, weeks->heat + from * SIDE);
}

BASE_VECTOR void season_heat_abreast(const struct plan *plan, const struct season_abreast *season, int base, const int day[SIDE],
                                     double heat[SIDE])
{
    const struct plan_heat *rows = plan->weather.heat[base];
    BASE_SIDE_BY_SIDE(i) {
        int within = day[i] < 0 ? 0 : day[i] > SCENARIO_DAYS ? SCENARIO_DAYS : day[i];
        const struct plan_heat *here = rows + season->at[i] + within, *there = here + season->next[i];
        heat[i] = season->weight[0][i] * here->heat + season->weight[1][i] * here->slope + season->weight[2][i] * there->heat
                  + season->weight[3][i] * there->slope;
    }
}
