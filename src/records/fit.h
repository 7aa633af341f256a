/* fit.h: what the files that fit share among themselves. */
#ifndef TIDEOVER_RECORDS_FIT_H
#define TIDEOVER_RECORDS_FIT_H

#include "records/records.h"

/* Whether the search's coordinate is the parameter's logarithm. */
bool records_fit_is_log(enum records_shape shape, int parameter);
bool records_fit_is_count(enum records_shape shape);
/* Shapes of figures above 0 alone. */
bool records_fit_is_positive(enum records_shape shape);
/* Coordinates of the search to parameters as the settings have them, and back; false when there are none. Arrays of
 * RECORDS_MOST_PARAMETERS. */
void records_fit_parameters(enum records_shape shape, const double at[], double p[]);
bool records_fit_coordinates(enum records_shape shape, const double p[], double at[]);
double records_fit_log_density(enum records_shape shape, const double p[], double x);
/* P(X <= x) and P(X > x). */
double records_fit_lower(enum records_shape shape, const double p[], double x);
double records_fit_upper(enum records_shape shape, const double p[], double x);
void records_fit_moments(enum records_shape shape, const double p[], double *mean, double *sd);
/* The triplet's, p = p10, p50, p90: fit_triplet.c. The search stays where neither side is more than three times as wide as the other:
 * beyond, the density has a spike upon which a single record may come to lie, and the likelihood no top. */
void records_triplet_parameters(const double at[], double p[]);
bool records_triplet_coordinates(const double p[], double at[]);
/* Log-density -HUGE_VAL where the three are none; `upper`: P(X > x). */
double records_triplet_log_density(const double p[], double x);
double records_triplet_mass(const double p[], double x, bool upper);
void records_triplet_moments(const double p[], double *mean, double *sd);
/* How many parameters. */
int records_fit_count(enum records_shape shape);

#endif
