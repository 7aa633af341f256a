/* tables.c: summary.csv, weeks.csv, trials.csv. */
#include "report/report.h"

#include <math.h>
#include <string.h>

const struct report_column report_summary_columns[] = {
    { "scenario", "string", NULL, "name of the scenario", NULL },
    { "food_year", "string", NULL, "food year, counted from 1; all: any of them", NULL },
    { "food", "string", NULL, "beans, squash, or any of the two", NULL },
    { "measure", "string", NULL, "what is measured; _p10 and the like are quantiles over the trials", NULL },
    { "unit", "string", NULL, "unit of value", NULL },
    { "value", "number", NULL, "the figure; for dates, the week of the food year, counted from its median beginning", "quantiles are cells of at most 0.8 % in runs of more than 2,048 trials" },
    { "std_error", "number", NULL, "standard error of the simulation", NULL },
    { "low", "number", NULL, "lower end of the 95 % interval (chances: Wilson; quantiles: order statistics)", NULL },
    { "high", "number", NULL, "upper end of the 95 % interval", NULL },
    { "date", "date", NULL, "first day of the week, for measures that are dates; empty: never", "a week" },
    { "trials", "integer", NULL, "trials that the figure comes from", NULL },
};
const int report_summary_columns_n = (int)(sizeof report_summary_columns / sizeof report_summary_columns[0]);

const struct report_column report_weeks_columns[] = {
    { "scenario", "string", NULL, "name of the scenario", NULL },
    { "week", "integer", NULL, "week of the time line, counted from the beginning of season 0", NULL },
    { "date", "date", NULL, "first day of the week", "a week" },
    { "food", "string", NULL, "beans, squash, or any of the two", NULL },
    { "trials", "integer", NULL, "trials whose food years cover the week", NULL },
    { "stock_kg_mean", "number", "kg", "in store after meals: dry beans; whole squash and cut flesh", NULL },
    { "stock_kg_p05", "number", "kg", "quantile over the trials", "at most 0.8 % in runs of more than 2,048 trials" },
    { "stock_kg_p25", "number", "kg", "quantile over the trials", "at most 0.8 % in runs of more than 2,048 trials" },
    { "stock_kg_p50", "number", "kg", "quantile over the trials", "at most 0.8 % in runs of more than 2,048 trials" },
    { "stock_kg_p75", "number", "kg", "quantile over the trials", "at most 0.8 % in runs of more than 2,048 trials" },
    { "stock_kg_p95", "number", "kg", "quantile over the trials", "at most 0.8 % in runs of more than 2,048 trials" },
    { "count_p50", "number", "jars or fruits", "median of jars with something in them, or of whole fruits", NULL },
    { "chance_short", "number", "share", "share of trials in which the week is short", NULL },
    { "chance_short_by_now", "number", "share", "share that has been short since the food year began", NULL },
    { "wanted_kg", "number", "kg", "mean of what was wanted", NULL },
    { "eaten_kg", "number", "kg", "mean of what was eaten", NULL },
    { "lost_kg", "number", "kg", "mean of what was lost in store", NULL },
};
const int report_weeks_columns_n = (int)(sizeof report_weeks_columns / sizeof report_weeks_columns[0]);

const struct report_column report_trials_columns[] = {
    { "scenario", "string", NULL, "name of the scenario", NULL },
    { "trial", "integer", NULL, "number of the trial, counted from 0", NULL },
    { "food_year", "integer", NULL, "food year, counted from 1", NULL },
    { "begins", "date", NULL, "first day of the week in which the food year begins", "a week" },
    { "weeks", "integer", "weeks", "weeks of the food year", NULL },
    { "beans_short_weeks", "integer", "weeks", "short weeks", NULL },
    { "squash_short_weeks", "integer", "weeks", "short weeks", NULL },
    { "any_short_weeks", "integer", "weeks", "short weeks", NULL },
    { "beans_meals_short", "number", "meals", "household meals short", NULL },
    { "squash_meals_short", "number", "meals", "household meals short", NULL },
    { "any_first_short", "date", NULL, "first day of the first short week; empty: never", "a week" },
    { "beans_kg_grown", "number", "kg", "dry seed that stood for the store, before the wind", NULL },
    { "squash_kg_grown", "number", "kg", "fruit that stood for the store, before the wind", NULL },
    { "beans_kg_in", "number", "kg", "put up", NULL },
    { "squash_kg_in", "number", "kg", "brought in", NULL },
    { "beans_kg_eaten", "number", "kg", "eaten", NULL },
    { "squash_kg_eaten", "number", "kg", "eaten", NULL },
    { "beans_kg_lost", "number", "kg", "lost in store", NULL },
    { "squash_kg_lost", "number", "kg", "lost in store", NULL },
    { "beans_kg_left", "number", "kg", "left at the next harvest", NULL },
    { "squash_kg_left", "number", "kg", "left at the next harvest", NULL },
    { "jars_peak", "integer", "jars", "most jars", NULL },
    { "fruits_peak", "integer", "fruits", "most whole fruits", NULL },
};
const int report_trials_columns_n = (int)(sizeof report_trials_columns / sizeof report_trials_columns[0]);

const char *report_food_name(int food)
{
    return food == SCENARIO_BEANS ? "beans" : food == SCENARIO_SQUASH ? "squash" : "any";
}

static void date_cell(struct report_csv *csv, const struct plan *plan, int week)
{
    char text[16];
    scenario_iso_date(plan->scenario, plan_season_of(week), 7 * plan_week_of(week), text);
    report_csv_text(csv, text);
}

/* Name of a figure: the measure's, with its quantile. */
static void figure_name(const struct tally_measure *measure, int which, char name[64])
{
    const double *p;
    tally_quantile_set(measure->quantiles, &p);
    if (which < 0)
        snprintf(name, 64, "%s", measure->name);
    else
        snprintf(name, 64, "%s_p%02.0f", measure->name, 100 * p[which]);
}

/* An absolute week as one of the food year, counted from the week in which half of the trials have begun it. */
static double week_of_year(const struct tally *tally, int year, double week)
{
    return week == HUGE_VAL ? HUGE_VAL : week - tally_first_week(tally, year);
}

static void summary_row(struct report_csv *csv, const struct plan *plan, const struct tally *tally, int year, int food,
                        int measure, int which)
{
    struct tally_figure figure;
    char name[64], number[16];
    if (!tally_figure(tally, year, food, measure, which, &figure))
        return;
    figure_name(&tally_measures[measure], which, name);
    snprintf(number, sizeof number, "%d", year + 1);
    report_csv_text(csv, plan->scenario->name);
    report_csv_text(csv, year == TALLY_ALL_YEARS ? "all" : number);
    report_csv_text(csv, report_food_name(food));
    report_csv_text(csv, name);
    report_csv_text(csv, tally_measures[measure].unit);
    bool week = figure.is_week;
    report_csv_number(csv, week ? week_of_year(tally, year, figure.value) : figure.value);
    report_csv_number(csv, figure.has_error ? figure.std_error : HUGE_VAL);
    report_csv_number(csv, week ? week_of_year(tally, year, figure.low) : figure.has_interval ? figure.low : HUGE_VAL);
    report_csv_number(csv, week ? week_of_year(tally, year, figure.high) : figure.has_interval ? figure.high : HUGE_VAL);
    if (week && !figure.never)
        date_cell(csv, plan, (int)figure.value);
    else
        report_csv_empty(csv);
    report_csv_whole(csv, figure.trials);
    report_csv_end(csv);
}

void report_summary(struct report_csv *csv, const struct plan *plan, const struct tally *tally)
{
    report_csv_header(csv, report_summary_columns, report_summary_columns_n);
    int years = plan->scenario->food_years;
    for (int year = years > 1 ? TALLY_ALL_YEARS : 0; year < years; year++)
        for (int measure = 0; measure < tally_measures_n; measure++)
            for (int food = 0; food < FUTURE_FOODS; food++)
                for (int which = -1; which < 3; which++)
                    summary_row(csv, plan, tally, year, food, measure, which);
}

static void week_row(struct report_csv *csv, const struct plan *plan, const struct tally *tally, int week, int food)
{
    struct tally_week row;
    if (!tally_week(tally, week, food, &row))
        return;
    bool stocked = food < SCENARIO_FOODS;
    report_csv_text(csv, plan->scenario->name);
    report_csv_whole(csv, week);
    date_cell(csv, plan, week);
    report_csv_text(csv, report_food_name(food));
    report_csv_whole(csv, row.trials);
    report_csv_number(csv, stocked ? row.stock_kg_mean : HUGE_VAL);
    for (int i = 0; i < 5; i++)
        report_csv_number(csv, stocked ? row.stock_kg_quantile[i] : HUGE_VAL);
    report_csv_number(csv, stocked ? row.count_p50 : HUGE_VAL);
    report_csv_number(csv, row.chance_short);
    report_csv_number(csv, row.chance_short_by_now);
    report_csv_number(csv, stocked ? row.wanted_kg : HUGE_VAL);
    report_csv_number(csv, stocked ? row.eaten_kg : HUGE_VAL);
    report_csv_number(csv, stocked ? row.lost_kg : HUGE_VAL);
    report_csv_end(csv);
}

void report_weeks(struct report_csv *csv, const struct plan *plan, const struct tally *tally)
{
    int first, end;
    report_csv_header(csv, report_weeks_columns, report_weeks_columns_n);
    tally_weeks_range(tally, &first, &end);
    for (int week = first; week < end; week++)
        for (int food = 0; food < FUTURE_FOODS; food++)
            week_row(csv, plan, tally, week, food);
}

void report_trial(struct report_csv *csv, const struct plan *plan, const struct future_ledger *ledger, uint64_t number)
{
    for (int y = 0; y < ledger->years_n; y++) {
        const struct future_year *year = &ledger->year[y];
        const struct store_books *beans = &year->books[SCENARIO_BEANS], *squash = &year->books[SCENARIO_SQUASH];
        report_csv_text(csv, plan->scenario->name);
        report_csv_whole(csv, (int64_t)number);
        report_csv_whole(csv, y + 1);
        date_cell(csv, plan, year->first_week);
        report_csv_whole(csv, year->weeks);
        for (int food = 0; food < FUTURE_FOODS; food++)
            report_csv_whole(csv, year->short_weeks[food]);
        report_csv_number(csv, year->meals_short[SCENARIO_BEANS]);
        report_csv_number(csv, year->meals_short[SCENARIO_SQUASH]);
        if (year->first_short[FUTURE_ANY] == SCENARIO_NEVER)
            report_csv_empty(csv);
        else
            date_cell(csv, plan, year->first_short[FUTURE_ANY]);
        const double kg[] = { beans->grown, squash->grown, beans->in, squash->in, beans->eaten, squash->eaten,
                              beans->lost, squash->lost, beans->left, squash->left };
        for (size_t i = 0; i < sizeof kg / sizeof kg[0]; i++)
            report_csv_number(csv, kg[i]);
        report_csv_whole(csv, year->jars_peak);
        report_csv_whole(csv, year->fruits_peak);
        report_csv_end(csv);
    }
}
