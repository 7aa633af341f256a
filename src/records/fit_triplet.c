/* fit_triplet.c: the unbounded triplet as a shape that can be fitted: the three-term metalog through p10, p50 and p90 (Keelin 2016,
 * Decision Analysis 13(4):243-277), M(t) = a1 + (a2 + a3 (y - 1/2)) t with t the logit of y. */
#include "records/fit.h"

#include <math.h>

struct metalog { double location, scale, bend; };

/* The quantile function rises everywhere while |a3/a2| is below this (Keelin 2016, as in the room "chance"). */
static const double MOST_BEND = 1.667113119;

static bool metalog_of(const double p[], struct metalog *m)
{
    const double c = 2.1972245773362193828; /* ln 9 */
    m->location = p[1];
    m->scale = (p[2] - p[0]) / (2 * c);
    m->bend = (p[0] + p[2] - 2 * p[1]) / (0.8 * c);
    return p[0] < p[1] && p[1] < p[2] && fabs(m->bend) < MOST_BEND * m->scale;
}

/* Coordinates: log (p90 - p10), p50, and the logit of where p50 lies between a quarter and three quarters of the way. */
void records_triplet_parameters(const double at[], double p[])
{
    double width = exp(at[0]), share = 0.25 + 0.5 / (1 + exp(-at[2]));
    p[0] = at[1] - share * width;
    p[1] = at[1];
    p[2] = at[1] + (1 - share) * width;
}

bool records_triplet_coordinates(const double p[], double at[])
{
    double share = ((p[1] - p[0]) / (p[2] - p[0]) - 0.25) / 0.5;
    at[0] = log(p[2] - p[0]);
    at[1] = p[1];
    at[2] = log(share / (1 - share));
    return p[2] > p[0] && share > 0 && share < 1;
}

static double at_logit(const struct metalog *m, double t, double *slope)
{
    double y = 1 / (1 + exp(-t)), tail = y / (1 + exp(t));
    *slope = m->scale + m->bend * (y - 0.5 + t * tail);
    return m->location + (m->scale + m->bend * (y - 0.5)) * t;
}

/* The t with M(t) = x: Newton's steps within a bracket. */
static double logit_of(const struct metalog *m, double x, double *slope)
{
    enum { MOST_STEPS = 200 };
    double low = -1, high = 1, t;
    while (at_logit(m, low, slope) > x && low > -1e6)
        low *= 2;
    while (at_logit(m, high, slope) < x && high < 1e6)
        high *= 2;
    t = (low + high) / 2;
    for (int i = 0; i < MOST_STEPS; i++) {
        double excess = at_logit(m, t, slope) - x, next = t - excess / *slope;
        *(excess > 0 ? &high : &low) = t;
        if (!(next > low && next < high))
            next = (low + high) / 2;
        if (fabs(next - t) <= 1e-14 * (1 + fabs(t)))
            break;
        t = next;
    }
    return t;
}

/* dy/dx = y (1 - y) / (dM/dt), as a logarithm: y (1 - y) from |t|, which does not underflow. */
double records_triplet_log_density(const double p[], double x)
{
    struct metalog m;
    double slope;
    if (!metalog_of(p, &m))
        return -HUGE_VAL;
    double t = logit_of(&m, x, &slope);
    return -fabs(t) - 2 * log1p(exp(-fabs(t))) - log(slope);
}

double records_triplet_mass(const double p[], double x, bool upper)
{
    struct metalog m;
    double slope;
    if (!metalog_of(p, &m))
        return NAN;
    if (isinf(x))
        return (x > 0) != upper ? 1 : 0;
    double t = logit_of(&m, x, &slope);
    return 1 / (1 + exp(upper ? t : -t));
}

/* Integrals of M and of its square over y: a1 + a3/2, and pi^2 a2^2/3 + (1/12 + pi^2/36) a3^2 about it. */
void records_triplet_moments(const double p[], double *mean, double *sd)
{
    const double pi2 = 9.8696044010893586188;
    struct metalog m;
    bool is_one = metalog_of(p, &m);
    *mean = is_one ? m.location + m.bend / 2 : NAN;
    *sd = is_one ? sqrt(pi2 / 3 * m.scale * m.scale + (1.0 / 12 + pi2 / 36) * m.bend * m.bend) : NAN;
}
