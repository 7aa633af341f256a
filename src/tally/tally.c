/* tally.c: a run's accumulators: food years by measure, weeks by food. */
#include "tally/tally.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { EXACT_TRIALS = 2048, EXACT_VALUES = 4 << 20 }; /* small runs keep every value, at most 32 MiB of them */
static const double WEEK_P[5] = { 0.05, 0.25, 0.50, 0.75, 0.95 };

/* A quantity whose quantiles are wanted: a histogram, or every trial's value. */
struct quantity { enum tally_cells kind; uint32_t *cells; double *values; };

struct of_measure { struct tally_sum sum; int64_t happened; struct quantity quantity; };

struct of_week {
    int64_t trials, shorts[FUTURE_FOODS], shorts_by_now[FUTURE_FOODS];
    tally_wide stock[SCENARIO_FOODS], wanted[SCENARIO_FOODS], eaten[SCENARIO_FOODS], lost[SCENARIO_FOODS];
    struct quantity stock_kg[SCENARIO_FOODS], count[SCENARIO_FOODS];
};

struct of_year {
    struct of_measure *measure;         /* [measure * FUTURE_FOODS + food] */
    int64_t weeks, *begins;             /* [weeks] trials in which it begins there */
};

struct tally_shared { int64_t trials; double *values; size_t next, quantities; };

struct tally {
    int64_t trials, unbalanced, short_ever[FUTURE_FOODS];
    int years_n, weeks_n;
    int64_t exact;                      /* trials whose values are kept; 0: histograms */
    struct of_year *year;
    struct of_week *week;
};

static size_t quantities_of(const struct plan *plan)
{
    size_t n = 0;
    for (int m = 0; m < tally_measures_n; m++)
        if (tally_measures[m].quantiles != TALLY_NO_QUANTILES)
            n += FUTURE_FOODS;
    return n * (size_t)plan->scenario->food_years + 4 * (size_t)plan->weeks;
}

struct tally_shared *tally_share(struct base_arena *arena, const struct plan *plan, int64_t trials)
{
    struct tally_shared *shared = base_arena_take(arena, sizeof *shared);
    if (!shared)
        return NULL;
    size_t n = quantities_of(plan);
    if (trials > EXACT_TRIALS || (uint64_t)trials * n > EXACT_VALUES)
        return shared;
    shared->trials = trials;
    shared->quantities = n;
    shared->values = base_arena_array(arena, n * (size_t)trials, sizeof *shared->values);
    return shared->values ? shared : NULL;
}

/* Room for a quantity: its own cells, or the next row of the values that all threads share. */
static bool make_quantity(struct base_arena *arena, struct tally_shared *shared, size_t *next, enum tally_cells kind,
                          struct quantity *quantity)
{
    quantity->kind = kind;
    if (shared && shared->trials > 0) {
        quantity->values = shared->values + *next * (size_t)shared->trials;
        ++*next;
        return true;
    }
    quantity->cells = base_arena_array(arena, TALLY_CELLS + 1, sizeof *quantity->cells);
    return quantity->cells != NULL;
}

static bool make_year(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      struct of_year *year)
{
    year->measure = base_arena_array(arena, (size_t)tally_measures_n * FUTURE_FOODS, sizeof *year->measure);
    year->begins = base_arena_array(arena, (size_t)plan->weeks + 1, sizeof *year->begins);
    if (!year->measure || !year->begins)
        return false;
    for (int m = 0; m < tally_measures_n; m++)
        for (int food = 0; food < FUTURE_FOODS; food++)
            if (tally_measures[m].quantiles != TALLY_NO_QUANTILES && tally_measures[m].foods >> food & 1
                && !make_quantity(arena, shared, next, tally_measures[m].cells,
                                  &year->measure[m * FUTURE_FOODS + food].quantity))
                return false;
    return true;
}

struct tally *tally_make(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared)
{
    struct tally *tally = base_arena_take(arena, sizeof *tally);
    if (!tally)
        return NULL;
    size_t next = 0;
    tally->years_n = plan->scenario->food_years;
    tally->weeks_n = plan->weeks;
    tally->exact = shared ? shared->trials : 0;
    tally->year = base_arena_array(arena, (size_t)tally->years_n, sizeof *tally->year);
    tally->week = base_arena_array(arena, (size_t)tally->weeks_n, sizeof *tally->week);
    bool good = tally->year && tally->week;
    for (int y = 0; good && y < tally->years_n; y++)
        good = make_year(arena, plan, shared, &next, &tally->year[y]);
    for (int w = 0; good && w < tally->weeks_n; w++)
        for (int food = 0; good && food < SCENARIO_FOODS; food++)
            good = make_quantity(arena, shared, &next, TALLY_SCALED, &tally->week[w].stock_kg[food])
                   && make_quantity(arena, shared, &next, TALLY_WHOLE, &tally->week[w].count[food]);
    return good ? tally : NULL;
}

static void add_quantity(struct quantity *quantity, double value, int64_t place)
{
    if (quantity->values)
        quantity->values[place] = value;
    else
        quantity->cells[tally_cell(quantity->kind, value)]++;
}

static int64_t quanta(double kg) { return (int64_t)(kg * 0x1p20 + 0.5); }

/* A trial that does not cover the week has no value there: what small runs keep is then below any stock. */
static const double NOT_COVERED = -1.0;

static void add_week(struct of_week *week, const struct future_ledger *ledger, int w, int64_t place, bool by_now[FUTURE_FOODS])
{
    week->trials++;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        by_now[food] |= ledger->is_short[food][w];
        week->shorts[food] += ledger->is_short[food][w];
        week->shorts_by_now[food] += by_now[food];
    }
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        week->stock[food] += quanta(ledger->stock_kg[food][w]);
        week->wanted[food] += quanta(ledger->wanted_kg[food][w]);
        week->eaten[food] += quanta(ledger->eaten_kg[food][w]);
        week->lost[food] += quanta(ledger->lost_kg[food][w]);
        add_quantity(&week->stock_kg[food], ledger->stock_kg[food][w], place);
        add_quantity(&week->count[food], ledger->count[food][w], place);
    }
}

static void add_weeks(struct tally *tally, const struct future_ledger *ledger, int64_t place)
{
    bool by_now[FUTURE_FOODS] = { false };
    int year = 0;
    for (int w = ledger->first_week; w < ledger->end_week; w++) {
        if (year + 1 < ledger->years_n && w == ledger->year[year + 1].first_week) {
            year++;
            memset(by_now, 0, sizeof by_now); /* "by then" counts from the food year's beginning */
        }
        add_week(&tally->week[w], ledger, w, place, by_now);
    }
    if (tally->exact == 0)
        return;
    for (int w = 0; w < tally->weeks_n; w++)
        if (w < ledger->first_week || w >= ledger->end_week)
            for (int food = 0; food < SCENARIO_FOODS; food++) {
                tally->week[w].stock_kg[food].values[place] = NOT_COVERED;
                tally->week[w].count[food].values[place] = NOT_COVERED;
            }
}

static void add_year(struct of_year *of, const struct plan *plan, const struct future_year *year, int64_t place)
{
    of->begins[year->first_week]++;
    of->weeks += year->weeks;
    for (int m = 0; m < tally_measures_n; m++) {
        const struct tally_measure *measure = &tally_measures[m];
        for (int food = 0; food < FUTURE_FOODS; food++) {
            if (!(measure->foods >> food & 1))
                continue;
            struct of_measure *into = &of->measure[m * FUTURE_FOODS + food];
            double value = measure->value(plan, year, food);
            if (measure->is_chance)
                into->happened += value > 0;
            else if (measure->has_mean)
                tally_sum_add(&into->sum, value);
            if (measure->quantiles != TALLY_NO_QUANTILES)
                add_quantity(&into->quantity, value, place);
        }
    }
}

void tally_add(struct tally *tally, const struct plan *plan, const struct future_ledger *ledger, uint64_t number)
{
    int64_t place = (int64_t)number;
    tally->trials++;
    tally->unbalanced += !ledger->balanced;
    bool ever[FUTURE_FOODS] = { false };
    for (int y = 0; y < ledger->years_n; y++) {
        add_year(&tally->year[y], plan, &ledger->year[y], place);
        for (int food = 0; food < FUTURE_FOODS; food++)
            ever[food] |= ledger->year[y].short_weeks[food] > 0;
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        tally->short_ever[food] += ever[food];
    add_weeks(tally, ledger, place);
}

static void merge_quantity(struct quantity *into, const struct quantity *from)
{
    for (size_t cell = 0; into->cells && cell <= TALLY_CELLS; cell++)
        into->cells[cell] += from->cells[cell];
}

static void merge_week(struct of_week *into, const struct of_week *from)
{
    if (from->trials == 0)
        return;
    into->trials += from->trials;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        into->shorts[food] += from->shorts[food];
        into->shorts_by_now[food] += from->shorts_by_now[food];
    }
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        into->stock[food] += from->stock[food];
        into->wanted[food] += from->wanted[food];
        into->eaten[food] += from->eaten[food];
        into->lost[food] += from->lost[food];
        merge_quantity(&into->stock_kg[food], &from->stock_kg[food]);
        merge_quantity(&into->count[food], &from->count[food]);
    }
}

void tally_merge(struct tally *into, const struct tally *from)
{
    into->trials += from->trials;
    into->unbalanced += from->unbalanced;
    for (int food = 0; food < FUTURE_FOODS; food++)
        into->short_ever[food] += from->short_ever[food];
    for (int y = 0; y < into->years_n; y++) {
        into->year[y].weeks += from->year[y].weeks;
        for (int w = 0; w <= into->weeks_n; w++)
            into->year[y].begins[w] += from->year[y].begins[w];
        for (int i = 0; i < tally_measures_n * FUTURE_FOODS; i++) {
            struct of_measure *to = &into->year[y].measure[i];
            const struct of_measure *of = &from->year[y].measure[i];
            to->happened += of->happened;
            tally_sum_merge(&to->sum, &of->sum);
            if (to->quantity.cells)
                merge_quantity(&to->quantity, &of->quantity);
        }
    }
    for (int w = 0; w < into->weeks_n; w++)
        merge_week(&into->week[w], &from->week[w]);
}

/* ---- reading ------------------------------------------------------------------------------------ */

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Value at a rank of n values (those not covered left out, being below all others). */
static double value_at_rank(const struct tally *tally, const struct quantity *quantity, int64_t n, int64_t rank)
{
    if (quantity->cells)
        return tally_histogram_at(quantity->kind, quantity->cells, rank);
    size_t all = (size_t)tally->trials;
    double *sorted = base_alloc((all + 1) * sizeof *sorted);
    if (!sorted)
        return NAN;
    memcpy(sorted, quantity->values, all * sizeof *sorted);
    qsort(sorted, all, sizeof *sorted, by_value);
    double value = sorted[(int64_t)all - n + rank];
    base_free(sorted);
    return value;
}

static double quantile(const struct tally *tally, const struct quantity *quantity, int64_t n, double p)
{
    return value_at_rank(tally, quantity, n, (int64_t)floor((double)(n - 1) * p + 1e-9));
}

/* A quantile with the order statistics that hold it with 95 % confidence (normal approximation of the binomial). */
static void quantile_figure(const struct tally *tally, const struct quantity *quantity, double p, struct tally_figure *figure)
{
    int64_t n = tally->trials;
    double half = tally_z(0.05) * sqrt((double)n * p * (1 - p)), middle = (double)n * p;
    int64_t low = (int64_t)floor(middle - half), high = (int64_t)ceil(middle + half);
    low = low < 0 ? 0 : low;
    high = high > n - 1 ? n - 1 : high;
    figure->value = quantile(tally, quantity, n, p);
    figure->never = figure->value == HUGE_VAL;
    figure->low = value_at_rank(tally, quantity, n, low);
    figure->high = value_at_rank(tally, quantity, n, high);
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
        return true;
    }
    const struct of_measure *from = &tally->year[year].measure[measure * FUTURE_FOODS + food];
    figure->is_week = of->is_date;
    if (which >= 0)
        quantile_figure(tally, &from->quantity, p[which], figure);
    else if (of->is_chance)
        chance_figure(from->happened, tally->trials, figure);
    else
        mean_figure(&from->sum, tally->trials, figure);
    return true;
}

int64_t tally_trials(const struct tally *tally) { return tally->trials; }
int64_t tally_unbalanced(const struct tally *tally) { return tally->unbalanced; }

int tally_first_week(const struct tally *tally, int year)
{
    int64_t before = 0;
    for (int w = 0; w <= tally->weeks_n; w++) {
        before += tally->year[year].begins[w];
        if (before > (tally->trials - 1) / 2)
            return w;
    }
    return 0;
}

double tally_year_weeks(const struct tally *tally, int year)
{
    return tally->trials > 0 ? (double)tally->year[year].weeks / (double)tally->trials : 0.0;
}

void tally_weeks_range(const struct tally *tally, int *first, int *end)
{
    int w = 0, last = tally->weeks_n;
    while (w < tally->weeks_n && tally->week[w].trials == 0)
        w++;
    while (last > w && tally->week[last - 1].trials == 0)
        last--;
    *first = w;
    *end = last;
}

bool tally_week(const struct tally *tally, int w, int food, struct tally_week *row)
{
    const struct of_week *week = &tally->week[w];
    double n = (double)week->trials;
    *row = (struct tally_week){ .trials = week->trials };
    if (week->trials == 0)
        return false;
    row->chance_short = (double)week->shorts[food] / n;
    row->chance_short_by_now = (double)week->shorts_by_now[food] / n;
    if (food >= SCENARIO_FOODS)
        return true;
    row->stock_kg_mean = (double)week->stock[food] / n * 0x1p-20;
    row->wanted_kg = (double)week->wanted[food] / n * 0x1p-20;
    row->eaten_kg = (double)week->eaten[food] / n * 0x1p-20;
    row->lost_kg = (double)week->lost[food] / n * 0x1p-20;
    for (int i = 0; i < 5; i++)
        row->stock_kg_quantile[i] = quantile(tally, &week->stock_kg[food], week->trials, WEEK_P[i]);
    row->count_p50 = quantile(tally, &week->count[food], week->trials, 0.5);
    return true;
}
