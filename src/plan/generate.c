/* generate.c: seasons made up by the generator, once for a plan; the trials then take them as they take recorded ones. */
#include "plan/internal.h"

#include <math.h>
#include <string.h>

static double score(const struct chance_normal *normal, struct chance_pcg *pcg)
{
    return chance_curve(normal->score, chance_pcg_next(pcg));
}

/* A season's slow departures: the recorded years', each times a normal score over sqrt(n - 1): their own covariance. */
static void make_slow(const struct chance_normal *normal, const struct plan_generator *generator, struct chance_pcg *pcg,
                      double slow_c[PLAN_BLOCKS][2])
{
    memset(slow_c, 0, PLAN_BLOCKS * sizeof *slow_c);
    if (generator->years == 0) {
        double all = generator->year_sd_c * score(normal, pcg);
        for (int block = 0; block < PLAN_BLOCKS; block++)
            slow_c[block][0] = slow_c[block][1] = all;
        return;
    }
    for (int y = 0; y < generator->years; y++) {
        double weight = score(normal, pcg) / sqrt(generator->years - 1);
        for (int block = 0; block < PLAN_BLOCKS; block++)
            for (int v = 0; v < 2; v++)
                slow_c[block][v] += weight * generator->slow_c[y][block][v];
    }
}

static int block_of(int day) { return day / PLAN_BLOCK_DAYS < PLAN_BLOCKS ? day / PLAN_BLOCK_DAYS : PLAN_BLOCKS - 1; }

static double departure_of(const struct plan_generator *generator, int day, int v, double z)
{
    double share;
    const double *departure = generator->departure[plan_quarter_of(day)][v];
    int place = plan_score_place(z, &share);
    return departure[place] + share * (departure[place + 1] - departure[place]);
}

/* Fast departures as normal scores, after a month's running in; with slow ones of four weeks, about their own four-week means,
 * which the slow ones stand for. */
static void make_fast(const struct chance_normal *normal, const struct plan_generator *generator, struct chance_pcg *pcg,
                      double fast[SCENARIO_DAYS][2])
{
    enum { RUNNING_IN = 30 };
    double now[2] = { 0, 0 }, mean[PLAN_BLOCKS][2] = { { 0 } };
    int days[PLAN_BLOCKS] = { 0 };
    for (int day = -RUNNING_IN; day < SCENARIO_DAYS; day++) {
        double z[2] = { score(normal, pcg), score(normal, pcg) }, next[2];
        for (int v = 0; v < 2; v++)
            next[v] = generator->follows[v][0] * now[0] + generator->follows[v][1] * now[1] + generator->fresh[v][0] * z[0]
                      + generator->fresh[v][1] * z[1];
        memcpy(now, next, sizeof now);
        if (day < 0)
            continue;
        days[block_of(day)]++;
        for (int v = 0; v < 2; v++) {
            fast[day][v] = now[v];
            mean[block_of(day)][v] += now[v];
        }
    }
    for (int day = 0; day < SCENARIO_DAYS && generator->years > 0; day++)
        for (int v = 0; v < 2; v++)
            fast[day][v] -= mean[block_of(day)][v] / days[block_of(day)];
}

static void make_season(const struct chance_normal *normal, const struct plan_generator *generator, int number,
                        struct plan_recorded_season *season)
{
    struct chance_pcg pcg = chance_stream(chance_season_key(0, (uint64_t)number, 0), chance_stream_key("climate", PLAN_GENERATOR));
    double slow_c[PLAN_BLOCKS][2], fast[SCENARIO_DAYS][2];
    make_slow(normal, generator, &pcg, slow_c);
    make_fast(normal, generator, &pcg, fast);
    season->label_year = number;
    season->known_days = SCENARIO_DAYS;
    for (int day = 0; day < SCENARIO_DAYS; day++) {
        double t[2];
        for (int v = 0; v < 2; v++)
            t[v] = plan_round(generator->normal_c[v][day] + slow_c[block_of(day)][v]
                              + generator->sd_c[v][day] * departure_of(generator, day, v, fast[day][v]));
        /* A minimum above the maximum, as a dull winter's day may come out: they change places. */
        season->tmin_c[day] = fmin(t[0], t[1]);
        season->tmax_c[day] = fmax(t[0], t[1]);
    }
}

const struct plan_records *plan_generate(struct base_arena *arena, const struct chance_normal *normal,
                                         const struct plan_generator *generator, int n)
{
    struct plan_records *records = base_arena_take(arena, sizeof *records);
    struct plan_recorded_season *season = base_arena_array(arena, (size_t)n, sizeof *season);
    if (!records || !season)
        return NULL;
    for (int s = 0; s < n; s++)
        make_season(normal, generator, s, &season[s]);
    *records = (struct plan_records){ .n = n, .season = season };
    return records;
}

/* ---- in a plan ------------------------------------------------------------------------------------------------ */

/* Weather made for another plan of the same generator, hard frost, score days and bases. */
struct plan_shared_seasons { struct plan_shared_seasons *next; char made_of[65]; struct plan_weather weather; };

static void hash(const struct plan *plan, const struct plan_generator *generator, char hex[65])
{
    struct base_sha256 sha;
    const struct plan_weather *weather = &plan->weather;
    int seasons = plan->scenario->climate.generator.seasons;
    base_sha256_start(&sha);
    base_sha256_add(&sha, generator->normal_c, sizeof generator->normal_c);
    base_sha256_add(&sha, generator->sd_c, sizeof generator->sd_c);
    base_sha256_add(&sha, generator->follows, sizeof generator->follows);
    base_sha256_add(&sha, generator->fresh, sizeof generator->fresh);
    base_sha256_add(&sha, generator->departure, sizeof generator->departure);
    base_sha256_add(&sha, &generator->year_sd_c, sizeof generator->year_sd_c);
    if (generator->years > 0)
        base_sha256_add(&sha, generator->slow_c, (size_t)generator->years * sizeof *generator->slow_c);
    base_sha256_add(&sha, &seasons, sizeof seasons);
    base_sha256_add(&sha, &plan->scenario->climate.hard_frost_c, sizeof(double));
    base_sha256_add(&sha, weather->base_c, (size_t)weather->bases * sizeof *weather->base_c);
    base_sha256_hex(&sha, hex);
}

/* What the seasons gave; the days themselves are not kept. */
static bool make_weather(const struct plan_maker *make, struct plan *plan, const struct plan_generator *generator)
{
    struct base_arena days = { 0 };
    const struct plan_records *made = plan_generate(&days, plan->normal, generator, plan->scenario->climate.generator.seasons);
    bool good = made && plan_use_seasons(make, plan, made);
    base_arena_free(&days);
    return good;
}

bool plan_use_generator(const struct plan_maker *make, struct plan *plan, const struct plan_records *records)
{
    struct plan_generator *generator = base_arena_take(make->arena, sizeof *generator);
    if (!generator)
        return false;
    if (records && records->n < PLAN_FEWEST_SEASONS) {
        base_complain(make->complaints, BASE_ERROR, plan->scenario->climate.records_file, 0, NULL,
                      "has %d seasons, and climate.generator wants %d at the least", records->n, (int)PLAN_FEWEST_SEASONS);
        return false;
    }
    if (!records)
        plan_given_generator(plan->scenario, generator);
    else if (!plan_fit_generator(make->arena, records, generator))
        return false;
    struct plan_shared_seasons *shared = base_arena_take(make->arena, sizeof *shared), *like = make->share->seasons;
    if (!shared)
        return false;
    hash(plan, generator, shared->made_of);
    while (like && strcmp(like->made_of, shared->made_of) != 0)
        like = like->next;
    if (like) {
        uint64_t key = plan->weather.key;
        plan->weather = like->weather;
        plan->weather.key = key;
        return true;
    }
    if (!make_weather(make, plan, generator))
        return false;
    shared->weather = plan->weather;
    shared->next = make->share->seasons;
    make->share->seasons = shared;
    return true;
}
