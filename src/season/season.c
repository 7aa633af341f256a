/* season.c: frost dates and warmth drawn jointly, or one recorded season taken whole. */
#include "season/season.h"

enum { FAR_DAY = 10000 };

static int whole_day(double day)
{
    return day > FAR_DAY ? FAR_DAY : day < -FAR_DAY ? -FAR_DAY : (int)day;
}

/* Where the season's warmth lies among the rows, as the weights of a cubic through both rows' heat and slope
 * (Hermite): the single sine has a continuous derivative by warmth, which the rows hold. */
static void place_warmth(const struct plan_weather *weather, double warmth_c, struct season *season)
{
    double at = (warmth_c - weather->first_warmth) / weather->warmth_step;
    at = at < 0 ? 0 : at > weather->rows - 1 ? weather->rows - 1 : at;
    int row = (int)at;
    row = row > weather->rows - 2 ? weather->rows - 2 : row;
    double t = at - row, t2 = t * t, t3 = t2 * t;
    season->at = (size_t)row * PLAN_HEAT_ROW;
    season->next = PLAN_HEAT_ROW;
    season->weight[0] = 2 * t3 - 3 * t2 + 1;
    season->weight[1] = (t3 - 2 * t2 + t) * weather->warmth_step;
    season->weight[2] = 3 * t2 - 2 * t3;
    season->weight[3] = (t3 - t2) * weather->warmth_step;
}

/* The weather's words: the first of the shared ones, or its stream's. */
static void draw_words(const struct plan *plan, uint64_t season_key, const uint64_t *point, int n, uint64_t *word)
{
    struct chance_pcg pcg = chance_stream(season_key, plan->weather.key);
    for (int i = 0; i < n; i++)
        word[i] = point ? point[i * PLAN_ABREAST] : chance_pcg_next(&pcg);
}

static void draw_from_distributions(const struct plan *plan, uint64_t *word, struct season *season)
{
    const struct plan_weather *weather = &plan->weather;
    double z[3];
    z[2] = chance_curve(plan->normal->score, word[2]);
    if (!weather->independent) {
        z[0] = chance_curve(plan->normal->score, word[0]);
        z[1] = chance_curve(plan->normal->score, word[1]);
        z[2] = weather->mix[2][0] * z[0] + weather->mix[2][1] * z[1] + weather->mix[2][2] * z[2];
        z[1] = weather->mix[1][0] * z[0] + weather->mix[1][1] * z[1];
        word[1] = chance_normal_word(plan->normal, z[1]);
        word[2] = chance_normal_word(plan->normal, z[2]);
    }
    season->last_frost = whole_day(chance_draw(weather->last_frost, word[0]));
    season->first_hard_frost = whole_day(chance_draw(weather->first_hard_frost, word[1]));
    season->score = z[2];
    place_warmth(weather, chance_draw(weather->warmth, word[2]), season);
}

/* Season 0 when something of it is known: scores in the order that has what is known first, then as in any season. */
void season_draw_known(const struct plan *plan, uint64_t season_key, const uint64_t *point, struct season *season)
{
    const struct plan_weather *weather = &plan->weather;
    const struct plan_this_season *known = &weather->this_season;
    uint64_t word[3];
    double own[3], part[PLAN_MOST_SCORES], z[PLAN_MOST_SCORES];
    draw_words(plan, season_key, point, 3, word);
    for (int i = 0; i < 3; i++)
        own[i] = chance_curve(plan->normal->score, word[i]);
    for (int k = 0; k < known->n; k++)
        part[k] = k < known->known_n ? known->part[k] : own[known->order[k]];
    for (int k = 0; k < known->n; k++) {
        z[known->order[k]] = 0;
        for (int c = 0; c <= k; c++)
            z[known->order[k]] += known->mix[k][c] * part[c];
    }
    uint64_t frost = chance_normal_word(plan->normal, z[0]), warm = chance_normal_word(plan->normal, z[2]);
    season->last_frost = known->knows_last_frost ? known->last_frost : whole_day(chance_draw(weather->last_frost, frost));
    season->first_hard_frost = whole_day(chance_draw(weather->first_hard_frost, chance_normal_word(plan->normal, z[1])));
    season->score = z[2];
    place_warmth(weather, known->knows_warmth ? known->warmth_c : chance_draw(weather->warmth, warm), season);
    season->point = point;
}

void season_draw(const struct plan *plan, uint64_t season_key, const uint64_t *point, struct season *season)
{
    const struct plan_weather *weather = &plan->weather;
    uint64_t word[3];
    draw_words(plan, season_key, point, weather->recorded ? 1 : 3, word);
    if (!weather->recorded) {
        draw_from_distributions(plan, word, season);
        season->point = point;
        return;
    }
    int row = (int)(chance_uniform(word[0]) * weather->rows);
    row = row < weather->rows ? row : weather->rows - 1;
    *season = (struct season){
        .last_frost = weather->row_last_frost[row], .first_hard_frost = weather->row_first_hard_frost[row],
        .score = weather->row_score[row], .at = (size_t)row * PLAN_HEAT_ROW, .weight = { 1, 0, 0, 0 },
        .point = point,
    };
}

BASE_VECTOR int season_week_heats(const struct plan *plan, const struct season *season, int base, int first, int end, double less,
                                  double least, double *restrict heat)
{
    /* whole eights of weeks where the year has so many before the last: nothing is left over for slower instructions */
    const int eights = end - ((end - first + 7) & ~7), from = eights < 0 ? first : eights, n = end - from;
    const struct plan_heat *here = season_row(plan, season, base) + PLAN_WEEK_HEATS + from, *there = here + season->next;
    const double a = season->weight[0], b = season->weight[1], c = season->weight[2], d = season->weight[3];
    int64_t after = first - from;
    heat += from;
    for (int64_t w = 0; w < n; w++) {
        double h = a * here[w].heat + b * here[w].slope + c * there[w].heat + d * there[w].slope - less;
        int64_t below = h < least ? w + 1 : 0;
        heat[w] = h;
        after = below > after ? below : after;
    }
    return from + (int)after;
}
