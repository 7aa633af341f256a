/* replicates.c: what each replicate of trials that share words out came to, and what their spread says: within a replicate trials
 * are not independent of one another, replicates are. */
#include "tally/internal.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

enum { R = CHANCE_REPLICATES };
static const int64_t FEW = 5 * R;           /* so few trials that ran short, or did not, tell nothing of a spread */

bool tally_make_replicates(struct base_arena *arena, const struct plan *plan, struct tally *tally)
{
    bool good = true;
    tally->sampling = plan->points ? plan->points->sampling : SCENARIO_INDEPENDENT;
    for (int y = 0; y < tally->years_n && plan->points; y++) {
        tally->year[y].replicate = base_arena_array(arena, (size_t)tally->lines.n * R, sizeof *tally->year[y].replicate);
        good &= tally->year[y].replicate != NULL;
    }
    return good;
}

/* What a figure of a trial adds to its sum: quanta, or 1 where it happened. */
static int64_t share_of(const struct tally *tally, int i, const struct future_year *year, int t)
{
    const struct tally_line *line = &tally->lines.line[i];
    if (i < tally->lines.means_n)
        return tally->quanta[i * PLAN_ABREAST + t];
    if (line->where == TALLY_SHORT_WEEKS)
        return line->at < 0 ? year->short_weeks[line->food] == 0 : year->short_weeks[line->food] > line->at;
    return line->measure->has_mean ? (int64_t)*(const int *)((const char *)year + line->at) * (1 << 20) : 0;
}

void tally_add_replicates(struct tally *tally, int y, const struct future_block *block, uint64_t number)
{
    for (int i = 0; i < tally->lines.n; i++)
        for (int t = 0; t < block->n; t++)
            tally->year[y].replicate[i * R + plan_replicate(tally->sampling, number + (uint64_t)t)]
                += share_of(tally, i, &block->ledger[t].year[y], t);
}

void tally_merge_replicates(struct tally *into, const struct tally *from)
{
    for (int r = 0; r < R; r++)
        into->replicate_trials[r] += from->replicate_trials[r];
    for (int i = 0; i < FUTURE_FOODS * R; i++)
        into->replicate_ever[i] += from->replicate_ever[i];
    for (int y = 0; y < into->years_n && into->year[y].replicate; y++)
        for (int i = 0; i < into->lines.n * R; i++)
            into->year[y].replicate[i] += from->year[y].replicate[i];
}

/* Standard error of the mean over all trials, from the replicates' sums in units of `unit`. Replicates differ in size by a few
 * trials at the most: each counts by its size. */
static double error_of(const struct tally *tally, const tally_wide *replicate, double unit)
{
    double n = (double)tally->trials, all = 0, spread = 0;
    for (int r = 0; r < R; r++)
        all += (double)replicate[r] * unit;
    for (int r = 0; r < R; r++) {
        double away = ((double)replicate[r] * unit - all / n * (double)tally->replicate_trials[r]) / n;
        spread += away * away;
    }
    return sqrt(spread * R / (R - 1));
}

/* The figure's value and the standard error that independent trials would have are set. */
static void set_interval(double error, struct tally_figure *figure)
{
    double independent = figure->std_error, t = gsl_cdf_tdist_Qinv(0.025, R - 1);
    figure->std_error = error;
    figure->low = figure->value - t * error;
    figure->high = figure->value + t * error;
    figure->has_gain = independent > 0 && error > 0;
    figure->gain = figure->has_gain ? independent * independent / (error * error) : 0;
    figure->gain_low = figure->gain * gsl_cdf_chisq_Pinv(0.025, R - 1) / (R - 1);
    figure->gain_high = figure->gain * gsl_cdf_chisq_Qinv(0.025, R - 1) / (R - 1);
}

void tally_replicates_mean(const struct tally *tally, const tally_wide *replicate, struct tally_figure *figure)
{
    set_interval(error_of(tally, replicate, 0x1p-20), figure);
}

void tally_replicates_chance(const struct tally *tally, int64_t happened, const tally_wide *replicate, struct tally_figure *figure)
{
    if (happened < FEW || tally->trials - happened < FEW)
        return;                             /* as of independent trials, which are spread more */
    set_interval(error_of(tally, replicate, 1), figure);
    figure->low = fmax(0, figure->low);
    figure->high = fmin(1, figure->high);
}
