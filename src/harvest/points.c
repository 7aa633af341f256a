/* points.c: the mean of the normal scores of many like draws exchanged for one that trials share out.
 *
 * Of n independent standard normal scores the mean is normal with variance 1/n, and independent of what each departs from it by.
 * So departures from the mean of a trial's own scores and another mean of that variance together are independent standard normal
 * scores again: one word decides most of what a sum of like draws is. */
#include "harvest/internal.h"

#include <math.h>

enum { SIDE = PLAN_ABREAST };

double harvest_shift(const struct plan *plan, uint64_t point, double sum, int n)
{
    return n > 0 ? chance_curve(plan->normal->score, point) / sqrt(n) - sum / n : 0.0;
}

uint64_t harvest_shifted(const struct chance_normal *normal, uint64_t word, double shift)
{
    return chance_normal_word(normal, chance_curve(normal->score, word) + shift);
}

void harvest_share_row(const struct plan *plan, uint64_t point, int n, uint64_t *word, double *score)
{
    double sum = 0;
    chance_curve_row(plan->normal->score, word, n, score);
    for (int i = 0; i < n; i++)
        sum += score[i];
    double shift = harvest_shift(plan, point, sum, n);
    for (int i = 0; i < n; i++)
        score[i] += shift;
    chance_normal_word_row(plan->normal, score, n, word);
}

void harvest_share_rows(const struct plan *plan, const uint64_t *point, int n, uint64_t *word)
{
    double score[PLAN_GROUP_UNITS * SIDE], shift[SIDE] = { 0 };
    chance_curve_row(plan->normal->score, word, n * SIDE, score);
    for (int row = 0; row < n; row++)
        for (int i = 0; i < SIDE; i++)
            shift[i] += score[row * SIDE + i];
    for (int i = 0; i < SIDE; i++)
        shift[i] = harvest_shift(plan, point[i], shift[i], n);
    for (int row = 0; row < n; row++)
        for (int i = 0; i < SIDE; i++)
            score[row * SIDE + i] += shift[i];
    chance_normal_word_row(plan->normal, score, n * SIDE, word);
}
