/* stands.c: planting out in trials side by side. */
#include "harvest/internal.h"

enum { SIDE = PLAN_ABREAST };

BASE_VECTOR void harvest_out_days(const struct plan_planting *p, const struct season_abreast *season, int out[SIDE],
                                  uint64_t frosted[SIDE])
{
    const int waits = p->crop->waits_for_frost, day = p->crop->plant_out;
    BASE_SIDE_BY_SIDE(i) {
        int after_frost = season->last_frost[i] + 1;
        out[i] = waits && after_frost > day ? after_frost : day;
        frosted[i] = !waits && season->last_frost[i] >= day;
    }
}

/* Draws for the planting as a whole: the words of its stands; whether its shared support goes. */
BASE_VECTOR static void begin(const struct plan_planting *p, struct harvest_stands *restrict stands, uint64_t *restrict word)
{
    const uint64_t a = CHANCE_PCG_MULTIPLIER, shared = p->wind_may && p->crop->support == SCENARIO_SHARED;
    const struct chance_bernoulli blows = p->blow_down;
    BASE_SIDE_BY_SIDE(i) {
        uint64_t inc = stands->inc[i], wind = (stands->units[i] * a + inc) * a + inc;
        word[i] = chance_pcg_output(stands->units[i]);
        stands->all_down[i] = shared & chance_happens(&blows, chance_pcg_output(wind));
        stands->stride[i] = inc * CHANCE_STRIDE_INCREMENT;
        stands->to_bears[i] = inc * (a * a + a + 1);
    }
}

/* The same from words that trials share out. */
static void share_out(const struct plan_planting *p, const uint64_t *point, struct harvest_stands *stands, uint64_t *word)
{
    if (p->points.stands)
        memcpy(word, point + p->points.stands * SIDE, SIDE * sizeof *word);
    for (int i = 0; p->points.wind && i < SIDE; i++)
        stands->all_down[i] = chance_happens(&p->blow_down, point[p->points.wind * SIDE + i]);
}

void harvest_begin_abreast(const struct plan_planting *p, const uint64_t *season_key, const struct season_abreast *season, int n,
                           struct harvest_stands *stands)
{
    uint64_t word[SIDE], frosts = 0;
    double share[SIDE];
    harvest_out_days(p, season, stands->out, stands->frosted);
    chance_stream_row(season_key, p->yield_key, SIDE, stands->units, stands->inc);
    begin(p, stands, word);
    if (season->point)
        share_out(p, season->point, stands, word);
    chance_draw_row(p->stands, word, SIDE, share);
    chance_word_row(share, SIDE, stands->stands_below);
    for (int i = n; i < SIDE; i++)
        stands->stands_below[i] = 0;
    for (int i = 0; i < SIDE; i++)
        frosts |= stands->frosted[i];
    stands->may_stand = !p->stands_certainly;
    stands->may_freeze = frosts != 0;
    stands->each = p->wind_may && p->crop->support == SCENARIO_EACH;
}

BASE_VECTOR static void days_known(const struct plan_planting *p, const struct season_abreast *season, const int *restrict out,
                                   int *restrict cut_day)
{
    const int by = p->crop->cut_by, before = p->crop->cut_before_frost_days;
    BASE_SIDE_BY_SIDE(i) {
        int frost = season->first_hard_frost[i] - before, cut = frost < by ? frost : by;
        cut_day[i] = cut > out[i] ? cut : out[i];
    }
}

void harvest_cutting_days(const struct plan *plan, const struct plan_planting *p, const uint64_t *season_key,
                          const struct season_abreast *season, const int out[SIDE], int cut_day[SIDE])
{
    if (!p->die_back_heat) {
        days_known(p, season, out, cut_day);
        return;
    }
    for (int i = 0; i < SIDE; i++) {
        struct season own = season_at(season, i);
        cut_day[i] = harvest_cutting_day(plan, p, season_key[i], &own, out[i]);
    }
}

/* Days on which picking ends, and its weeks, were some dry from the beginning. */
BASE_VECTOR static void frame_picking(const struct plan_planting *p, const struct season_abreast *season, const int *restrict out,
                                      int *restrict end, struct harvest_pickings *restrict pickings)
{
    const int until = p->crop->pick_until;
    int first = SCENARIO_WEEKS, last = 0;
    BASE_SIDE_BY_SIDE(i) {
        int day = season->first_hard_frost[i] - 1;
        day = until < day ? until : day;
        day = day > out[i] ? day : out[i];
        int from = plan_week(out[i]), week = plan_week(day);
        end[i] = day;
        pickings->from[i] = from;
        pickings->end[i] = week;
        first = from < first ? from : first;
        last = week > last ? week : last;
    }
    pickings->first = first;
    pickings->last = last;
}

/* A week's heats since planting out. Picking begins after the last week with less than `least`: may that be before this one in any
 * trial? */
BASE_PART bool begins_before(int week, double least, const double *heats, const double *heat_out,
                             struct harvest_pickings *restrict pickings)
{
    const double now = week, after = week + 1;
    double from[SIDE];
    uint64_t before = 0;
    BASE_SIDE_BY_SIDE(i) {
        double heat = heats[i] - heat_out[i], begins = pickings->from[i], later = begins > after ? begins : after;
        pickings->heat[week * SIDE + i] = heat;
        from[i] = ((heat < least) & (now < pickings->end[i])) ? later : begins;
    }
    BASE_SIDE_BY_SIDE(i) {
        pickings->from[i] = from[i];
        before |= from[i] < now ? 1u : 0u;
    }
    return before;
}

/* Weeks are gone through from the last one back, as far as picking may begin. */
BASE_VECTOR static void begin_picking(const struct plan *plan, const struct plan_planting *p, const struct season_abreast *season,
                                      const double *restrict heat_out, struct season_weeks *weeks,
                                      struct harvest_pickings *restrict pickings)
{
    int week = pickings->last;
    for (bool before = true; before && week > pickings->first;) {
        const double *heats = season_week_heat(plan, season, p->base, --week, weeks);
        before = begins_before(week, p->first_pick_heat, heats, heat_out, pickings);
    }
    pickings->first = week;
}

/* Heats from the end of picking on. */
BASE_VECTOR static void end_picking(struct harvest_pickings *restrict pickings, const double *restrict heat_out,
                                    const double *restrict heat_end, double finish_heat)
{
    double end[SIDE], *last = pickings->heat + pickings->last * SIDE;
    BASE_SIDE_BY_SIDE(i) {
        last[i] = end[i] = heat_end[i] - heat_out[i];
        last[SIDE + i] = end[i] + finish_heat;
    }
    for (int w = pickings->first; w < pickings->last; w++) {
        const double now = w;
        BASE_SIDE_BY_SIDE(i) {
            double heat = pickings->heat[w * SIDE + i];
            pickings->heat[w * SIDE + i] = now < pickings->end[i] ? heat : end[i];
        }
    }
}

void harvest_pickings(const struct plan *plan, const struct plan_planting *p, const struct season_abreast *season,
                      const int out[SIDE], struct season_weeks *weeks, struct harvest_pickings *pickings)
{
    int end[SIDE];
    double heat_out[SIDE], heat_end[SIDE];
    frame_picking(p, season, out, end, pickings);
    season_heat_abreast(plan, season, p->base, out, heat_out);
    season_heat_abreast(plan, season, p->base, end, heat_end);
    begin_picking(plan, p, season, heat_out, weeks, pickings);
    end_picking(pickings, heat_out, heat_end, p->crop->finish_indoors_heat);
}
