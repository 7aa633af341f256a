/* this_season.c: what is already known of season 0, its last frost and its warmth or that of a part of it; the rest is drawn given
 * that.
 *
 * Warmth so far: the season's departure is the mean of its days', of which a share f is past. Departures are taken as independent
 * from day to day, so that the mean of the past ones has a variance 1/f times the season's, and the correlation of the two is
 * sqrt(f): given a departure k so far the season's is, of a normal, f k + (1 - f) mean, with (1 - f) of its variance. */
#include "plan/internal.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

enum { LAST_FROST, HARD_FROST, WARMTH, SO_FAR, FIRST_DAY = 61, LAST_DAY = 213 }; /* the days that count for warmth */

/* The normal score of a known value: that of the middle of the mass at it; false with a complaint when it cannot be. */
static bool score_of(const struct plan_maker *make, const struct scenario_distribution *spec,
                     const struct chance_distribution *d, double value, const char *name, double *score)
{
    double u = (chance_below(d, value) + chance_cdf(d, value)) / 2;
    if (!(u > 0 && u < 1)) {
        base_complain(make->complaints, BASE_ERROR, spec->origin.file, spec->origin.line, "climate.this_season",
                      "%s is beyond all that climate.%s can be: mend the one or the other", name, name);
        return false;
    }
    *score = plan_round(gsl_cdf_ugaussian_Pinv(u));
    return true;
}

/* Share of the season's days, of those that count for warmth, that are past. */
static double share_past(const struct scenario *scenario, const struct scenario_this_season *given)
{
    int as_of = given->as_of >= 0 ? given->as_of : scenario->shelf.has_as_of ? scenario->shelf.as_of : SCENARIO_DAYS;
    double share = (as_of - FIRST_DAY + 1.0) / (LAST_DAY - FIRST_DAY + 1);
    return share < 0 ? 0 : share > 1 ? 1 : share;
}

/* Warmth can be known once its days have begun. */
static bool has_begun(const struct plan_maker *make, const struct scenario *scenario, const struct scenario_climate *climate,
                      double share)
{
    char first[6];
    if (share > 0)
        return true;
    base_mm_dd((scenario->year_starts + FIRST_DAY) % SCENARIO_DAYS, first);
    base_complain(make->complaints, BASE_ERROR, climate->origin.file, climate->origin.line, "climate.this_season.warmth",
                  "cannot be known yet: it is counted from %s, which is after as_of", first);
    return false;
}

/* The score of what is known of warmth: the season's, or of a share of it, whose distance from the mean says as much as sqrt(share)
 * times that of a whole season's would. A warmth that is certain moves with what is known. */
static bool score_warmth(const struct plan_maker *make, const struct scenario_climate *climate, double share,
                         struct plan_this_season *this_season, double *score)
{
    const struct scenario_distribution *spec = &climate->warmth;
    const struct chance_distribution *d = chance_make(make->arena, spec, make->complaints);
    if (!d)
        return false;
    double usual = plan_round(chance_mean(d)), so_far = climate->this_season.warmth_c;
    this_season->knows_warmth = share >= 1 || spec->shape == SCENARIO_CERTAIN;
    this_season->warmth_c = share * so_far + (1 - share) * usual;
    *score = 0;
    return spec->shape == SCENARIO_CERTAIN
           || score_of(make, spec, d, share >= 1 ? so_far : usual + sqrt(share) * (so_far - usual), "warmth", score);
}

static bool score_frost(const struct plan_maker *make, const struct scenario_climate *climate, int day, double *score)
{
    const struct scenario_distribution *spec = &climate->last_frost;
    const struct chance_distribution *d = chance_make(make->arena, spec, make->complaints);
    *score = 0;
    return d && (spec->shape == SCENARIO_CERTAIN || score_of(make, spec, d, day, "last_frost", score));
}

/* Correlations of all scores: what is known of a share of the season goes with the others by sqrt(share). */
static void correlate(const struct scenario_climate *climate, double share, double r[PLAN_MOST_SCORES][PLAN_MOST_SCORES])
{
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++)
            r[i][j] = climate->correlation[i][j];
        r[i][SO_FAR] = r[SO_FAR][i] = sqrt(share) * climate->correlation[i][WARMTH];
    }
    r[SO_FAR][SO_FAR] = 1;
}

/* Orders the scores so that the known ones come first, and takes the Cholesky factor: these then fix their own independent parts, and
 * the others are drawn given them. False when the matrix is not positive definite. */
static bool order_known_first(double r[PLAN_MOST_SCORES][PLAN_MOST_SCORES], const bool known[PLAN_MOST_SCORES],
                              struct plan_this_season *this_season)
{
    int n = 0;
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < this_season->n; i++)
            if (known[i] == (pass == 0))
                this_season->order[n++] = i;
    for (int i = 0; i < n; i++)
        for (int j = 0; j <= i; j++) {
            double rest = r[this_season->order[i]][this_season->order[j]];
            for (int k = 0; k < j; k++)
                rest -= this_season->mix[i][k] * this_season->mix[j][k];
            if (i == j && !(rest > 1e-12))
                return false;
            this_season->mix[i][j] = i == j ? sqrt(rest) : rest / this_season->mix[j][j];
        }
    return true;
}

bool plan_make_this_season(const struct plan_maker *make, const struct scenario *scenario, const struct scenario_climate *climate,
                           struct plan_weather *weather)
{
    const struct scenario_this_season *given = &climate->this_season;
    struct plan_this_season *this_season = &weather->this_season;
    double score[PLAN_MOST_SCORES] = { 0 }, r[PLAN_MOST_SCORES][PLAN_MOST_SCORES], share = share_past(scenario, given);
    *this_season = (struct plan_this_season){ .n = 3, .known_n = given->has_last_frost + given->has_warmth };
    if (this_season->known_n == 0)
        return true;
    this_season->last_frost = given->last_frost > SCENARIO_DAYS / 2 ? given->last_frost - SCENARIO_DAYS : given->last_frost;
    this_season->knows_last_frost = given->has_last_frost;
    if ((given->has_last_frost && !score_frost(make, climate, this_season->last_frost, &score[LAST_FROST]))
        || (given->has_warmth && !has_begun(make, scenario, climate, share))
        || (given->has_warmth && !score_warmth(make, climate, share, this_season, &score[WARMTH])))
        return false;
    bool partly = given->has_warmth && !this_season->knows_warmth;
    bool known[PLAN_MOST_SCORES] = { given->has_last_frost, false, given->has_warmth && !partly, partly };
    score[SO_FAR] = score[WARMTH];
    this_season->n = partly ? PLAN_MOST_SCORES : 3;
    correlate(climate, share, r);
    if (!order_known_first(r, known, this_season)) {
        base_complain(make->complaints, BASE_ERROR, NULL, 0, "climate.correlation", "is not positive definite");
        return false;
    }
    for (int k = 0; k < this_season->known_n; k++) {    /* forward substitution: mix e = score */
        double rest = score[this_season->order[k]];
        for (int before = 0; before < k; before++)
            rest -= this_season->mix[k][before] * this_season->part[before];
        this_season->part[k] = plan_round(rest / this_season->mix[k][k]);
    }
    return true;
}
