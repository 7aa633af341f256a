/* triplet.c: the three-term metalog through p10, p50 and p90 (Keelin 2016, "The Metalog Distributions",
 * Decision Analysis 13(4):243-277): on the line, M(t) = a1 + a2 t + a3 (y - 1/2) t with t = ln(y/(1-y));
 * of positives the logarithm, of shares the logit has that form. */
#include "chance/inside.h"

#include <math.h>

/* The quantile function rises everywhere if |a3/a2| is less than this: the reciprocal of the maximum over
 * t of (y - 1/2) + t y (1-y), at t = 2.39936 (computed; the paper's 1.66711). */
#define MOST_BEND 1.667113119
/* So (p50 - p10)/(p90 - p10) lies between this and one less it: (1 - 0.4 * MOST_BEND) / 2. */
#define LEAST_SHARE 0.1665773762

enum { LOCATION, SCALE, BEND };

/* ---- the metalog on the line -------------------------------------------------------------------- */

static double line_quantile(const struct chance_distribution *d, double p, double s)
{
    double t = log(p / s);
    return d->a[LOCATION] + (d->a[SCALE] + d->a[BEND] * 0.5 * (p - s)) * t;
}

static double line_slope(const struct chance_distribution *d, double p, double s)
{
    double t = log(p / s), per = 1.0 / p / s;
    return d->a[SCALE] * per + d->a[BEND] * (t + 0.5 * (p - s) * per);
}

static double at_logit(const struct chance_distribution *d, double t, double *slope)
{
    double y = 1.0 / (1.0 + exp(-t));
    *slope = d->a[SCALE] + d->a[BEND] * (y - 0.5 + t * y * (1.0 - y));
    return d->a[LOCATION] + (d->a[SCALE] + d->a[BEND] * (y - 0.5)) * t;
}

/* The t with M(t) = m: Newton's steps within a bracket, since a2 + a3 (y - 1/2) lies within |a3|/2 of a2. The last step is
 * so small that its square is below rounding. */
static double logit_of(const struct chance_distribution *d, double m)
{
    double rest = m - d->a[LOCATION], half = 0.5 * fabs(d->a[BEND]), slope;
    double near = rest / (d->a[SCALE] + half), far = rest / (d->a[SCALE] - half);
    double low = fmin(near, far), high = fmax(near, far), t = rest / d->a[SCALE];
    for (int i = 0; i < 200 && low < high; i++) {
        double excess = at_logit(d, t, &slope) - m;
        *(excess > 0.0 ? &high : &low) = t;
        double move = excess / slope, next = t - move;
        if (fabs(move) <= 1e-9 * (1.0 + fabs(t)))
            return next;
        t = next > low && next < high ? next : 0.5 * (low + high);
    }
    return t;
}

static double mass_to(const struct chance_distribution *d, double m, bool upper)
{
    if (!isfinite(m))
        return (m > 0.0) != upper ? 1.0 : 0.0;
    double t = logit_of(d, m);
    return 1.0 / (1.0 + exp(upper ? t : -t));
}

/* ---- unbounded ---------------------------------------------------------------------------------- */

static double free_lower(const struct chance_distribution *d, double x) { return mass_to(d, x, false); }
static double free_upper(const struct chance_distribution *d, double x) { return mass_to(d, x, true); }

static double free_slope(const struct chance_distribution *d, double p, double s, double x)
{
    (void)x;
    return line_slope(d, p, s);
}

/* Integrals of M and of (M - mean)^2 over y: the mean is a1 + a3/2, the variance
 * pi^2 a2^2/3 + (1/12 + pi^2/36) a3^2 (derived; checked against quadrature in the tests). */
static void free_moments(const struct chance_distribution *d, double *mean, double *variance)
{
    const double pi2 = 9.8696044010893586188;
    *mean = d->a[LOCATION] + 0.5 * d->a[BEND];
    *variance = pi2 / 3.0 * d->a[SCALE] * d->a[SCALE] + (1.0 / 12.0 + pi2 / 36.0) * d->a[BEND] * d->a[BEND];
}

/* ---- positive ----------------------------------------------------------------------------------- */

static double positive_lower(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? mass_to(d, log(x), false) : 0.0;
}

static double positive_upper(const struct chance_distribution *d, double x)
{
    return x > 0.0 ? mass_to(d, log(x), true) : 1.0;
}

static double positive_quantile(const struct chance_distribution *d, double p, double s)
{
    return exp(line_quantile(d, p, s));
}

static double positive_slope(const struct chance_distribution *d, double p, double s, double x)
{
    return x * line_slope(d, p, s);
}

/* ---- shares ------------------------------------------------------------------------------------- */

static double share_mass(const struct chance_distribution *d, double x, bool upper)
{
    if (x <= 0.0 || x >= 1.0)
        return (x >= 1.0) != upper ? 1.0 : 0.0;
    return mass_to(d, log(x / (1.0 - x)), upper);
}

static double share_lower(const struct chance_distribution *d, double x) { return share_mass(d, x, false); }
static double share_upper(const struct chance_distribution *d, double x) { return share_mass(d, x, true); }

static double share_quantile(const struct chance_distribution *d, double p, double s)
{
    return 1.0 / (1.0 + exp(-line_quantile(d, p, s)));
}

static double share_slope(const struct chance_distribution *d, double p, double s, double x)
{
    return x / (1.0 + exp(line_quantile(d, p, s))) * line_slope(d, p, s);
}

static const struct chance_family unbounded = {
    .lower = free_lower, .upper = free_upper, .quantile = line_quantile, .slope = free_slope,
    .moments = free_moments
};
static const struct chance_family positive = {
    .lower = positive_lower, .upper = positive_upper, .quantile = positive_quantile, .slope = positive_slope
};
static const struct chance_family share = {
    .lower = share_lower, .upper = share_upper, .quantile = share_quantile, .slope = share_slope
};

/* ---- judging ------------------------------------------------------------------------------------ */

enum form { UNBOUNDED, POSITIVE, SHARE };

static double to_line(enum form form, double x)
{
    return form == UNBOUNDED ? x : form == POSITIVE ? log(x) : log(x / (1.0 - x));
}

static double from_line(enum form form, double m)
{
    return form == UNBOUNDED ? m : form == POSITIVE ? exp(m) : 1.0 / (1.0 + exp(-m));
}

/* A bound cannot be a percentile: 0 asks for another way of saying it. */
static bool judge_bound(struct chance_judge *judge, enum form form)
{
    const double *a = judge->spec->a;
    if (form == UNBOUNDED)
        return true;
    if (a[0] < 0.0)
        return chance_wrong(judge, "p10 is %g, but this quantity cannot be below 0", a[0]);
    if (form == SHARE && a[2] > 1.0)
        return chance_wrong(judge, "p90 is %g, but this quantity lies between 0 and 1", a[2]);
    if (a[0] == 0.0) {
        double small = form == POSITIVE ? a[1] * a[1] / a[2] : 0.1 * a[1];
        return chance_wrong(judge,
                            "p10 is 0, but nothing can be less than 0: give %s`records`, or a small number "
                            "instead of 0, such as %.2g",
                            judge->spec->bound == SCENARIO_COUNT ? "`counts` with weights, " : "", small);
    }
    if (form == SHARE && a[2] == 1.0)
        return chance_wrong(judge,
                            "p90 is 1, which nothing exceeds: give `records`, or a number a little less, "
                            "such as %.3g",
                            1.0 - 0.1 * (1.0 - a[1]));
    return true;
}

/* Says between which figures p50 would do, with no more decimals than their distance asks for, and rounded
 * inwards so that what is offered does. Dates are offered as days later or earlier than written. */
static bool offer_p50(struct chance_judge *judge, double low, double high)
{
    const double p50 = judge->spec->a[1];
    const bool late = p50 < low;
    if (judge->spec->is_date) {
        double from = late ? ceil(low - p50) : ceil(p50 - high),
               until = late ? floor(high - p50) : floor(p50 - low);
        if (until < from)
            return chance_wrong(judge, "p10, p50 and p90 lie too near each other: spread them");
        return chance_wrong(judge, "p50 is too near %s for a smooth curve: move it %.0f to %.0f days %s",
                            late ? "p10" : "p90", from, until, late ? "later" : "earlier");
    }
    int decimals = (int)ceil(2.0 - log10(high - low));
    decimals = decimals < 0 ? 0 : decimals > 15 ? 15 : decimals;
    double unit = pow(10.0, decimals);
    return chance_wrong(
        judge, "p50 = %g is too near %s for a smooth curve through the three: move p50 into %.*f..%.*f", p50,
        late ? "p10" : "p90", decimals, ceil(low * unit) / unit, decimals, floor(high * unit) / unit);
}

static bool judge_bend(struct chance_judge *judge, enum form form, double low, double middle, double high)
{
    double least = low + LEAST_SHARE * (high - low), most = high - LEAST_SHARE * (high - low);
    if (middle > least && middle < most)
        return true;
    return offer_p50(judge, from_line(form, least), from_line(form, most));
}

/* The logarithm's upper tail is (a2 + a3/2) ln(1/s), so s^-(a2 + a3/2) has a variance if twice that is
 * below 1. */
static bool judge_tail(struct chance_judge *judge, const struct chance_distribution *d, enum form form)
{
    if (form != POSITIVE || judge->spec->has_most || d->a[SCALE] + 0.5 * d->a[BEND] < 0.5)
        return true;
    const double *a = judge->spec->a;
    return chance_wrong(judge,
                        "p90 = %g is so far above p10 = %g that the tail above it has no end (no variance): "
                        "give at_most, the most that could ever be",
                        a[2], a[0]);
}

bool chance_prepare_triplet(struct chance_judge *judge, struct chance_distribution *d)
{
    static const struct chance_family *const families[] = { &unbounded, &positive, &share };
    const double *a = judge->spec->a;
    const enum scenario_bound bound = judge->spec->bound;
    enum form form = bound == SCENARIO_UNBOUNDED ? UNBOUNDED : bound == SCENARIO_SHARE ? SHARE : POSITIVE;
    if (!(a[0] < a[1] && a[1] < a[2]))
        return chance_wrong(judge, "p10 must be less than p50, and p50 less than p90%s",
                            judge->spec->is_date ? " (later in the simulation year is greater)" : "");
    if (!judge_bound(judge, form))
        return false;
    double low = to_line(form, a[0]), middle = to_line(form, a[1]), high = to_line(form, a[2]);
    if (!judge_bend(judge, form, low, middle, high))
        return false;
    /* Keelin 2016, the symmetric percentile triplet at alpha = 0.1: c = ln 9, 1 - 2 alpha = 0.8 */
    const double c = 2.1972245773362193828;
    d->family = families[form];
    d->a[LOCATION] = middle;
    d->a[SCALE] = (high - low) / (2.0 * c);
    d->a[BEND] = ((high - middle) - (middle - low)) / (0.8 * c);
    d->least = form == UNBOUNDED ? -HUGE_VAL : 0.0;
    d->most = form == SHARE ? 1.0 : HUGE_VAL;
    return judge_tail(judge, d, form);
}
