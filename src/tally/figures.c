/* figures.c: what a tally has to say. */
#include "tally/internal.h"

#include <math.h>

static const double WEEK_P[5] = { 0.05, 0.25, 0.50, 0.75, 0.95 };

/* A quantile with the order statistics that hold it with 95 % confidence (normal approximation of the binomial). */
static void quantile_figure(const struct tally *tally, const struct tally_quantity *quantity, double p, struct tally_figure *figure)
{
    struct tally_ranked ranked;
    int64_t n = tally->trials;
    double half = tally_z(0.05) * sqrt((double)n * p * (1 - p)), middle = (double)n * p;
    int64_t low = (int64_t)floor(middle - half), high = (int64_t)ceil(middle + half);
    low = low < 0 ? 0 : low;
    high = high > n - 1 ? n - 1 : high;
    tally_rank(tally, quantity, n, &ranked);
    figure->value = tally_ranked_quantile(&ranked, p);
    figure->never = figure->value == HUGE_VAL;
    figure->low = tally_ranked_at(&ranked, low);
    figure->high = tally_ranked_at(&ranked, high);
    figure->has_interval = true;
}

static void mean_figure(const struct tally_sum *sum, int64_t n, struct tally_figure *figure)
{
    figure->value = tally_sum_mean(sum, n);
    figure->std_error = tally_sum_error(sum, n);
    figure->has_error = figure->has_interval = n > 1;
    figure->low = figure->value - tally_z(0.05) * figure->std_error;
    figure->high = figure->value + tally_z(0.05) * figure->std_error;
}

static void chance_figure(int64_t happened, int64_t n, struct tally_figure *figure)
{
    figure->value = (double)happened / (double)n;
    figure->std_error = sqrt(figure->value * (1 - figure->value) / (double)n);
    figure->has_error = figure->has_interval = true;
    tally_wilson(happened, n, 0.05, &figure->low, &figure->high);
}

bool tally_figure(const struct tally *tally, int year, int food, int measure, int which, struct tally_figure *figure)
{
    const struct tally_measure *of = &tally_measures[measure];
    const double *p;
    int quantiles = tally_quantile_set(of->quantiles, &p);
    *figure = (struct tally_figure){ .trials = tally->trials };
    if (!(of->foods >> food & 1) || which >= quantiles || (which < 0 && !of->has_mean) || tally->trials == 0)
        return false;
    if (year == TALLY_ALL_YEARS) {
        if (measure != tally_find_measure("chance_short") || which >= 0)
            return false;
        chance_figure(tally->short_ever[food], tally->trials, figure);
        if (tally->sampling != SCENARIO_INDEPENDENT)
            tally_replicates_chance(tally, tally->short_ever[food], tally->replicate_ever + food * CHANCE_REPLICATES, figure);
        return true;
    }
    int line = tally->lines.of[measure * FUTURE_FOODS + food];
    const struct tally_of_measure *from = &tally->year[year].line[line];
    const tally_wide *replicate = tally->year[year].replicate ? tally->year[year].replicate + line * CHANCE_REPLICATES : NULL;
    figure->is_week = of->is_date;
    if (which >= 0)
        quantile_figure(tally, &from->quantity, p[which], figure);
    else if (of->is_chance)
        chance_figure(from->happened, tally->trials, figure);
    else
        mean_figure(&from->sum, tally->trials, figure);
    if (which < 0 && replicate && of->is_chance)
        tally_replicates_chance(tally, from->happened, replicate, figure);
    else if (which < 0 && replicate)
        tally_replicates_mean(tally, replicate, figure);
    return true;
}

int64_t tally_trials(const struct tally *tally) { return tally->trials; }
int64_t tally_unbalanced(const struct tally *tally) { return tally->unbalanced; }

int tally_first_week(const struct tally *tally, int year)
{
    int64_t before = 0;
    for (int w = 0; w <= tally->weeks.n; w++) {
        before += tally->year[year].begins[w];
        if (before > (tally->trials - 1) / 2)
            return w;
    }
    return 0;
}

/* Running sum of the steps up to a week. */
static int64_t steps_to(const int64_t *step, int week)
{
    int64_t sum = 0;
    for (int w = 0; w <= week; w++)
        sum += step[w];
    return sum;
}

void tally_weeks_range(const struct tally *tally, int *first, int *end)
{
    int64_t covering = 0;
    *first = tally->weeks.n;
    *end = 0;
    for (int w = 0; w < tally->weeks.n; w++) {
        covering += tally->weeks.cover_step[w];
        if (covering > 0) {
            *first = w < *first ? w : *first;
            *end = w + 1;
        }
    }
}

static double mean(const struct tally_weeks *weeks, int food, enum tally_column column, int week, double n)
{
    tally_wide sum = weeks->sum[food][column][week];
    for (int place = 0; place < PLAN_ABREAST; place++)
        sum += weeks->recent[food][column][week * PLAN_ABREAST + place];
    return (double)sum / n * 0x1p-20;
}

static int64_t shorts(const struct tally_weeks *weeks, int food, int week)
{
    int64_t sum = weeks->shorts[food][week];
    for (int place = 0; place < PLAN_ABREAST; place++)
        sum += weeks->recent_shorts[food][week * PLAN_ABREAST + place];
    return sum;
}

bool tally_week(const struct tally *tally, int w, int food, struct tally_week *row)
{
    const struct tally_weeks *weeks = &tally->weeks;
    struct tally_ranked ranked;
    int64_t trials = steps_to(weeks->cover_step, w);
    double n = (double)trials;
    *row = (struct tally_week){ .trials = trials };
    if (trials == 0)
        return false;
    row->chance_short = (double)shorts(weeks, food, w) / n;
    row->chance_short_by_now = (double)steps_to(weeks->by_now_step[food], w) / n;
    if (food >= SCENARIO_FOODS)
        return true;
    row->stock_kg_mean = mean(weeks, food, TALLY_STOCK, w, n);
    row->wanted_kg = mean(weeks, food, TALLY_WANTED, w, n);
    row->eaten_kg = mean(weeks, food, TALLY_EATEN, w, n);
    row->lost_kg = mean(weeks, food, TALLY_LOST, w, n);
    tally_rank(tally, &weeks->stock_kg[food][w], trials, &ranked);
    for (int i = 0; i < 5; i++)
        row->stock_kg_quantile[i] = tally_ranked_quantile(&ranked, WEEK_P[i]);
    tally_rank(tally, &weeks->count[food][w], trials, &ranked);
    row->count_p50 = tally_ranked_quantile(&ranked, 0.5);
    return true;
}
