/* fit.h: what the files that fit share among themselves. */
#ifndef TIDEOVER_RECORDS_FIT_H
#define TIDEOVER_RECORDS_FIT_H

#include "records/records.h"

/* Whether the search's coordinate is the parameter's logarithm. */
bool records_fit_is_log(enum records_shape shape, int parameter);
/* Coordinates of the search to parameters as the settings have them, and back; false when there are none. */
void records_fit_parameters(enum records_shape shape, const double at[2], double p[2]);
bool records_fit_coordinates(enum records_shape shape, const double p[2], double at[2]);
double records_fit_log_density(enum records_shape shape, const double p[2], double x);
/* P(X <= x) and P(X > x). */
double records_fit_lower(enum records_shape shape, const double p[2], double x);
double records_fit_upper(enum records_shape shape, const double p[2], double x);
void records_fit_moments(enum records_shape shape, const double p[2], double *mean, double *sd);
/* How many parameters. */
int records_fit_count(enum records_shape shape);

#endif
