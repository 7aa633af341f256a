/* figures.c: values and differences with their intervals, and the verdict on a difference. */
#include "decide/decide.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

struct decide_figure decide_value(const struct decide_list *list, const struct decide_sums *sums, int i, int64_t n,
                                  double alpha)
{
    const struct tally_sum *sum = &sums->sum[i];
    struct decide_figure figure = { .value = tally_sum_mean(sum, n), .std_error = tally_sum_error(sum, n) };
    if (decide_is_chance(&list->item[i])) {
        int64_t k = (int64_t)llround(figure.value * (double)n);
        tally_wilson(k, n, alpha, &figure.low, &figure.high);
        figure.std_error = sqrt(figure.value * (1 - figure.value) / (double)n);
        return figure;
    }
    figure.low = figure.value - tally_z(alpha) * figure.std_error;
    figure.high = figure.value + tally_z(alpha) * figure.std_error;
    return figure;
}

/* Agresti & Min 2005: half a trial is added to each of the four cells of the pairs' table before Wald's interval. */
static void chance_interval(struct decide_difference *difference, double n, double alpha)
{
    double up = (double)difference->up + 0.5, down = (double)difference->down + 0.5, total = n + 2;
    double middle = (up - down) / total;
    double half = tally_z(alpha) * sqrt((up + down) / total - middle * middle) / sqrt(total);
    difference->low = middle - half < -1 ? -1 : middle - half;
    difference->high = middle + half > 1 ? 1 : middle + half;
}

double decide_turned_p(int64_t up, int64_t down)
{
    int64_t turned = up + down, fewer = up < down ? up : down;
    if (turned == 0)
        return 1.0;
    double tail = turned < INT32_MAX ? gsl_cdf_binomial_P((unsigned)fewer, 0.5, (unsigned)turned)
                                     : gsl_cdf_ugaussian_P(((double)fewer + 0.5 - 0.5 * (double)turned)
                                                           / (0.5 * sqrt((double)turned)));
    return 2 * tail > 1 ? 1.0 : 2 * tail;
}

struct decide_difference decide_difference(const struct decide_list *list, const struct decide_sums *base,
                                           const struct decide_sums *other, const struct decide_pairs *pairs, int i,
                                           int64_t n, double alpha)
{
    double sd_base = tally_sum_sd(&base->sum[i], n), sd_other = tally_sum_sd(&other->sum[i], n);
    double sd = tally_sum_sd(&pairs->difference[i], n), apart = sd_base * sd_base + sd_other * sd_other;
    struct decide_difference d = { .value = tally_sum_mean(&pairs->difference[i], n), .up = pairs->up[i], .down = pairs->down[i],
                                   .std_error = n > 1 ? sd / sqrt((double)n) : 0 };
    d.correlation = sd_base > 0 && sd_other > 0 ? (apart - sd * sd) / (2 * sd_base * sd_other) : NAN;
    d.variance_ratio = sd > 0 ? apart / (sd * sd) : apart > 0 ? HUGE_VAL : NAN;
    if (decide_is_chance(&list->item[i])) {
        chance_interval(&d, (double)n, alpha);
        d.p = decide_turned_p(d.up, d.down);
        return d;
    }
    d.low = d.value - tally_z(alpha) * d.std_error;
    d.high = d.value + tally_z(alpha) * d.std_error;
    d.p = d.std_error > 0 ? 2 * gsl_cdf_ugaussian_Q(fabs(d.value) / d.std_error) : d.value == 0 ? 1.0 : 0.0;
    return d;
}

const char *decide_words(enum decide_verdict verdict)
{
    static const char *const words[] = {
        [DECIDE_SAME] = "the same in every trial", [DECIDE_BETTER] = "better", [DECIDE_WORSE] = "worse",
        [DECIDE_MORE] = "more", [DECIDE_LESS] = "less", [DECIDE_NOT_WORTH] = "no difference worth telling",
        [DECIDE_OPEN] = "not yet told apart",
    };
    return words[verdict];
}

/* A difference told apart, in the words of what is good for the household. */
static enum decide_verdict direction(const struct decide_item *item, double value)
{
    int better = decide_better(item);
    if (better == 0)
        return value > 0 ? DECIDE_MORE : DECIDE_LESS;
    return (value > 0) == (better > 0) ? DECIDE_BETTER : DECIDE_WORSE;
}

/* With few trials that turned, the interval of a chance's difference is not to be trusted: then the share of trials that
 * turned at all, bounded exactly, must be within worth. */
static bool within_worth(const struct decide_list *list, int i, const struct decide_difference *difference, int64_t n,
                         double worth, double alpha)
{
    enum { ENOUGH_TURNED = 30 };
    int64_t turned = difference->up + difference->down;
    if (decide_is_chance(&list->item[i]) && turned < ENOUGH_TURNED)
        return decide_upper_bound(turned, n, alpha) <= worth;
    return difference->low >= -worth && difference->high <= worth;
}

enum decide_verdict decide_judge(const struct decide_list *list, int i, const struct decide_difference *difference,
                                 int64_t n, double worth, double alpha)
{
    if (!decide_is_chance(&list->item[i]) && difference->up == 0 && difference->down == 0)
        return DECIDE_SAME;
    if (within_worth(list, i, difference, n, worth, alpha))
        return DECIDE_NOT_WORTH;
    return difference->p <= alpha ? direction(&list->item[i], difference->value) : DECIDE_OPEN;
}

double decide_default_worth(const struct decide_item *item)
{
    const char *unit = tally_measures[item->measure].unit;
    if (unit[0] == 's')                 /* share */
        return 0.01;
    if (unit[0] == 'w' || unit[0] == 'm')/* weeks, meals */
        return 0.1;
    return unit[0] == 'k' && unit[1] == 'g' ? 0.05 : 10.0; /* kg; kcal and g */
}
