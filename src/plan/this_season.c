/* this_season.c: what is already known of season 0: its last frost, its warmth; the rest is drawn given that. */
#include "plan/internal.h"

#include <gsl/gsl_cdf.h>

enum { LAST_FROST, HARD_FROST, WARMTH };

/* The normal score of a known value: that of the middle of the mass at it; false with a complaint when it cannot be. */
static bool score_of(const struct plan_maker *make, const struct scenario_distribution *spec, double value, const char *name,
                     double *score)
{
    const struct chance_distribution *d = chance_make(make->arena, spec, make->complaints);
    if (!d)
        return false;
    double u = (chance_below(d, value) + chance_cdf(d, value)) / 2;
    if (!(u > 0 && u < 1)) {
        base_complain(make->complaints, BASE_ERROR, spec->origin.file, spec->origin.line, "climate.this_season",
                      "%s is beyond all that climate.%s can be: mend the one or the other", name, name);
        return false;
    }
    *score = plan_round(gsl_cdf_ugaussian_Pinv(u));
    return true;
}

/* Rows and columns of the correlation in an order that has what is known first, and its Cholesky factor: the known scores then fix
 * their own independent parts, and the others are drawn given them. */
static bool order_known_first(const struct plan_maker *make, const double correlation[3][3], const bool known[3],
                              struct plan_this_season *this_season)
{
    double ordered[3][3];
    int n = 0;
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < 3; i++)
            if (known[i] == (pass == 0))
                this_season->order[n++] = i;
    for (int r = 0; r < 3; r++)
        for (int c = 0; c < 3; c++)
            ordered[r][c] = correlation[this_season->order[r]][this_season->order[c]];
    if (chance_cholesky((const double(*)[3])ordered, this_season->mix))
        return true;
    base_complain(make->complaints, BASE_ERROR, NULL, 0, "climate.correlation", "is not positive definite");
    return false;
}

bool plan_make_this_season(const struct plan_maker *make, const struct scenario_climate *climate, struct plan_weather *weather)
{
    struct plan_this_season *this_season = &weather->this_season;
    bool known[3] = { climate->this_season.has_last_frost, false, climate->this_season.has_warmth };
    double score[3] = { 0, 0, 0 };
    *this_season = (struct plan_this_season){ .known_n = known[LAST_FROST] + known[WARMTH] };
    if (this_season->known_n == 0)
        return true;
    int frost = climate->this_season.last_frost;
    this_season->last_frost = frost > SCENARIO_DAYS / 2 ? frost - SCENARIO_DAYS : frost;
    this_season->warmth_c = climate->this_season.warmth_c;
    this_season->knows_last_frost = known[LAST_FROST];
    this_season->knows_warmth = known[WARMTH];
    if ((known[LAST_FROST] && climate->last_frost.shape != SCENARIO_CERTAIN
         && !score_of(make, &climate->last_frost, this_season->last_frost, "last_frost", &score[LAST_FROST]))
        || (known[WARMTH] && climate->warmth.shape != SCENARIO_CERTAIN
            && !score_of(make, &climate->warmth, this_season->warmth_c, "warmth", &score[WARMTH]))
        || !order_known_first(make, climate->correlation, known, this_season))
        return false;
    for (int k = 0; k < this_season->known_n; k++) {    /* forward substitution: mix e = score */
        double rest = score[this_season->order[k]];
        for (int before = 0; before < k; before++)
            rest -= this_season->mix[k][before] * this_season->part[before];
        this_season->part[k] = plan_round(rest / this_season->mix[k][k]);
    }
    return true;
}
