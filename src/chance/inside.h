/* inside.h: what the files of this room share and no other room sees. */
#ifndef TIDEOVER_CHANCE_INSIDE_H
#define TIDEOVER_CHANCE_INSIDE_H

#include "chance/chance.h"

struct chance_distribution;

/* A continuous variable on a whole line (the logarithm of a gamma's, the logit of a beta's) whose density
 * is log-concave, so that the logarithms of both tails' masses are concave and Newton's steps on them
 * converge. */
struct chance_line {
    double (*log_lower)(const struct chance_distribution *d, double t);   /* ln P(T <= t) */
    double (*log_upper)(const struct chance_distribution *d, double t);   /* ln P(T > t) */
    double (*log_density)(const struct chance_distribution *d, double t);
    double (*drift)(const struct chance_distribution *d, double t);       /* the log density's derivative */
    double (*start)(const struct chance_distribution *d, double p, double s); /* a first guess */
    double (*value)(const struct chance_distribution *d, double t);       /* x at t */
    double (*stretch)(const struct chance_distribution *d, double t);     /* dx/dt */
    double (*place)(const struct chance_distribution *d, double x);       /* t at x */
};

/* One family of distributions: functions of the uncut distribution. Masses always come as a pair p + s =
 * 1, both exact, so that either tail keeps its digits. */
struct chance_family {
    double (*lower)(const struct chance_distribution *d, double x);       /* P(X <= x) */
    double (*below)(const struct chance_distribution *d, double x);       /* P(X < x); NULL: as lower */
    double (*upper)(const struct chance_distribution *d, double x);       /* P(X > x) */
    double (*quantile)(const struct chance_distribution *d, double p, double s);
    /* dQ/dp at x = Q(p), one over the density; NULL: no curve is made of this family */
    double (*slope)(const struct chance_distribution *d, double p, double s, double x);
    /* NULL: by quadrature */
    void (*moments)(const struct chance_distribution *d, double *mean, double *variance);
    const struct chance_line *line;                                       /* NULL: quantiles are cheap */
};

struct chance_distribution {
    const struct chance_family *family;
    bool listed;                    /* points with masses: values, lower, upper (already cut off) */
    bool as_they_are;               /* records: x[floor(n u)] */
    bool whole;                     /* a continuous shape, drawn values rounded to the nearest whole */
    double a[5];                    /* the family's own parameters */
    size_t n;                       /* of values */
    const double *values;           /* ascending: points, or a smooth record's knots */
    const double *lower, *upper;    /* points: P(X <= values[i]), P(X > values[i]) */
    double least, most;             /* support after the cut-off, before rounding */
    double cut_below, cut_above;    /* mass of the uncut distribution cut off on either side */
    double kept;                    /* and between */
};

/* Who is being judged: collects complaints about one setting. */
struct chance_judge {
    struct base_arena *arena;
    const struct scenario_distribution *spec;
    struct base_complaints *complaints;
    bool wrong;
};

/* Complains of the setting; returns false so that a caller may return it. */
bool chance_wrong(struct chance_judge *judge, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* Notes that memory ran out; returns false. */
bool chance_no_memory(struct chance_judge *judge);

/* Judge the parameters and fill `d` (family, parameters, support); false when wrong. */
bool chance_prepare_triplet(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_normal(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_lognormal(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_lognormal_log(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_gamma(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_gamma_shape(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_beta(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_beta_shape(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_pert(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_weibull(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_weibull_shape(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_exponential(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_uniform(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_triangular(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_certain(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_poisson(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_negative_binomial(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_counts(struct chance_judge *judge, struct chance_distribution *d);
bool chance_prepare_records(struct chance_judge *judge, struct chance_distribution *d);

/* Low <= mode <= high and low < high; complains otherwise. */
bool chance_three_in_order(struct chance_judge *judge);
/* Mean > 0 and sd > 0 (mean first of the parameters); complains otherwise. */
bool chance_positive_mean_sd(struct chance_judge *judge);

/* Cuts a continuous distribution off at at_least and at_most, judges what lies beyond the natural bounds. */
bool chance_cut(struct chance_judge *judge, struct chance_distribution *d);
/* The same for n points with weights, both ascending in value and taken over: fills the list. */
bool chance_cut_list(struct chance_judge *judge, struct chance_distribution *d, size_t n,
                     const double *values, const double *weights);
/* Least and greatest value that the quantity can have (counts: before rounding). */
void chance_natural_bounds(enum scenario_bound bound, double *least, double *most);

/* Quantile on a line by Newton's and Halley's steps. */
double chance_line_quantile(const struct chance_distribution *d, double p, double s);
double chance_line_slope(const struct chance_distribution *d, double p, double s, double x);
/* A place in a distribution by both its tails' masses, p + s = 1. */
struct chance_mass { double p, s; };
/* n quantiles, neighbours near each other, each from the one before. Masses of the uncut distribution. */
void chance_line_march(const struct chance_distribution *d, size_t n, const struct chance_mass *at, double *x,
                       double *slope);

/* Masses in the uncut distribution of the cut one's (p, s). */
struct chance_mass chance_uncut(const struct chance_distribution *d, double p, double s);
/* Quantile before rounding, of a continuous cut distribution. */
double chance_smooth_quantile(const struct chance_distribution *d, double p, double s);
/* Distribution function before rounding, of a continuous cut distribution; and from the uncut one's mass up to x. */
double chance_smooth_cdf(const struct chance_distribution *d, double x);
double chance_smooth_share(const struct chance_distribution *d, double x, double lower);

/* Cubic in t over [0,1] from values and t-derivatives at both ends, made monotone with the margin that
 * chance_curve needs: where the derivatives do not allow it they are drawn in, at last to a straight line. */
void chance_cubic(double v0, double v1, double m0, double m1, double c[4]);
double chance_cubic_at(const double c[4], double t);
/* Fills the table's cubic (and divided, part where needed) of a continuous distribution; false: no memory. */
bool chance_curve_fill(struct base_arena *arena, const struct chance_distribution *d,
                       struct chance_table *table);

/* Polynomials and first direction numbers of the Sobol sequence, dimension after dimension, the first one left out. */
extern const uint16_t chance_sobol_table[];
extern const size_t chance_sobol_table_n;

/* x to `bits` significant bits. */
double chance_round_bits(double x, int bits);

#endif
