/* measures.c: the table of what is measured in a food year. A new measure is a line here and, where it is not one yet, a
 * function above it. */
#include "tally/tally.h"

#include <math.h>
#include <string.h>

typedef const struct plan *plan_in; /* shorthand of this file's many like signatures */
typedef const struct future_year *year_in;

static double books_sum(year_in year, int food, size_t offset)
{
    double sum = 0;
    for (int f = 0; f < SCENARIO_FOODS; f++)
        if (food == FUTURE_ANY || food == f)
            sum += *(const double *)((const char *)&year->books[f] + offset);
    return sum;
}

/* A line of the books: its function, and where it stands in a year's books (see tally_measure). */
#define BOOK(name, field) \
    enum { name##_at = offsetof(struct store_books, field) }; \
    static double name(plan_in plan, year_in year, int food) \
    { \
        (void)plan; \
        return books_sum(year, food, offsetof(struct store_books, field)); \
    }
BOOK(kg_grown, grown)
BOOK(kg_field_loss, field_loss)
BOOK(kg_sorted_out, sorted_out)
BOOK(kg_seed, seed)
BOOK(kg_in, in)
BOOK(kg_eaten, eaten)
BOOK(kg_dried_away, dried_away)
BOOK(kg_trimmed, trimmed)
BOOK(kg_store_loss, lost)
BOOK(kg_lost_while_wanted, lost_while_wanted)
BOOK(kg_given_away, given_away)
BOOK(kg_thrown_out, thrown_out)
BOOK(kg_left, left)
BOOK(kcal_served, kcal)
BOOK(protein_g_served, protein_g)

static double chance_short(plan_in plan, year_in year, int food) { (void)plan; return year->short_weeks[food] > 0; }
static double chance_over_4(plan_in plan, year_in year, int food) { (void)plan; return year->short_weeks[food] > 4; }
static double never_short(plan_in plan, year_in year, int food) { (void)plan; return year->short_weeks[food] == 0; }
static double short_weeks(plan_in plan, year_in year, int food) { (void)plan; return year->short_weeks[food]; }
static double meals_short(plan_in plan, year_in year, int food) { (void)plan; return year->meals_short[food]; }
static double jars_peak(plan_in plan, year_in year, int food) { (void)plan; (void)food; return year->jars_peak; }
static double fruits_peak(plan_in plan, year_in year, int food) { (void)plan; (void)food; return year->fruits_peak; }

static double first_short(plan_in plan, year_in year, int food)
{
    (void)plan;
    return year->first_short[food] == SCENARIO_NEVER ? HUGE_VAL : year->first_short[food];
}

static double frost_week(int week) { return week == SCENARIO_NEVER ? HUGE_VAL : week; }
static double last_frost(plan_in plan, year_in year, int food) { (void)plan; (void)food; return frost_week(year->last_frost_week); }

static double first_hard_frost(plan_in plan, year_in year, int food)
{
    (void)plan;
    (void)food;
    return frost_week(year->first_hard_frost_week);
}

/* Share of what the household needs in the days of the food year, guests left out. */
static double share_of_needs(plan_in plan, year_in year, double served, double per_day)
{
    double needs = plan->scenario->household.eaters_portions * per_day * year->days;
    return needs > 0 ? served / needs : 0.0;
}

static double kcal_share(plan_in plan, year_in year, int food)
{
    return share_of_needs(plan, year, kcal_served(plan, year, food), plan->scenario->household.kcal_per_day);
}

static double protein_share(plan_in plan, year_in year, int food)
{
    return share_of_needs(plan, year, protein_g_served(plan, year, food), plan->scenario->household.protein_g_per_day);
}

enum { BEANS = 1 << SCENARIO_BEANS, SQUASH = 1 << SCENARIO_SQUASH, BOTH = BEANS | SQUASH, ALL = BOTH | 1 << FUTURE_ANY };

#define YEAR(where, field) where, offsetof(struct future_year, field)
#define CHANCE(name, function, better, over, meaning) \
    { name, "share", meaning, better, ALL, true, true, false, TALLY_NO_QUANTILES, TALLY_WHOLE, function, TALLY_SHORT_WEEKS, over }
#define MASS(function, better, meaning) \
    { #function, "kg", meaning, better, BOTH, false, true, false, TALLY_10_50_90, TALLY_SCALED, function, \
      TALLY_IN_BOOKS, function##_at }
#define MEAN(function, unit, meaning, where, at) \
    { #function, unit, meaning, 1, ALL, false, true, false, TALLY_NO_QUANTILES, TALLY_SCALED, function, where, at }

const struct tally_measure tally_measures[] = {
    CHANCE("chance_short", chance_short, -1, 0, "chance of at least one short week in the food year"),
    CHANCE("chance_over_4_weeks_short", chance_over_4, -1, 4, "chance of more than four short weeks"),
    CHANCE("never_short", never_short, 1, -1, "share of trials without a short week"),
    { "short_weeks", "weeks", "weeks in which the meals wanted could not be served", -1, ALL, false, true, false,
      TALLY_50_90_95, TALLY_WHOLE, short_weeks, YEAR(TALLY_WHOLE_BY_FOOD, short_weeks) },
    { "meals_short", "meals", "household meals that could not be served", -1, ALL, false, true, false, TALLY_50_90_95,
      TALLY_SCALED, meals_short, YEAR(TALLY_BY_FOOD, meals_short) },
    { "first_short", "week", "first short week, over all trials; never is later than any", 1, ALL, false, false, true,
      TALLY_10_50_90, TALLY_WHOLE, first_short, YEAR(TALLY_WEEK_BY_FOOD, first_short) },
    { "last_frost", "week", "last spring frost of the season that begins the food year (none: that season's first week)", 0,
      1 << FUTURE_ANY, false, false, true, TALLY_10_50_90, TALLY_WHOLE, last_frost,
      YEAR(TALLY_WEEK_ONE, last_frost_week) },
    { "first_hard_frost", "week", "first hard frost of the season that begins the food year; never is later than any", 0,
      1 << FUTURE_ANY, false, false, true, TALLY_10_50_90, TALLY_WHOLE, first_hard_frost,
      YEAR(TALLY_WEEK_ONE, first_hard_frost_week) },
    MASS(kg_grown, 1, "seed or fruit that stood for the store, before the wind"),
    MASS(kg_field_loss, -1, "lost to wind, not dry in time, lost in finishing"),
    MASS(kg_sorted_out, -1, "beans taken out in sorting"),
    MASS(kg_seed, 0, "beans set aside as seed"),
    MASS(kg_in, 1, "put up or brought in, seed included"),
    MASS(kg_eaten, 1, "eaten"),
    MASS(kg_dried_away, 0, "water that squash lost in store"),
    MASS(kg_trimmed, 0, "rind and seeds of squash opened"),
    MASS(kg_store_loss, -1, "lost in store"),
    MASS(kg_lost_while_wanted, -1, "lost in store in weeks in which the food was wanted"),
    MASS(kg_given_away, 0, "given away for want of room"),
    MASS(kg_thrown_out, -1, "beans thrown out for age"),
    MASS(kg_left, 0, "left when the next harvest begins"),
    { "jars_peak", "jars", "most jars with something in them", 0, BEANS, false, false, false, TALLY_50_95, TALLY_WHOLE,
      jars_peak, YEAR(TALLY_WHOLE_ONE, jars_peak) },
    { "fruits_peak", "fruits", "most whole fruits on the shelf", 0, SQUASH, false, false, false, TALLY_50_95, TALLY_WHOLE,
      fruits_peak, YEAR(TALLY_WHOLE_ONE, fruits_peak) },
    MEAN(kcal_served, "kcal", "energy served", TALLY_IN_BOOKS, kcal_served_at),
    MEAN(protein_g_served, "g", "protein served", TALLY_IN_BOOKS, protein_g_served_at),
    MEAN(kcal_share, "share", "share of the household's energy needs", TALLY_BY_FUNCTION, 0),
    MEAN(protein_share, "share", "share of the household's protein needs", TALLY_BY_FUNCTION, 0),
};
const int tally_measures_n = (int)(sizeof tally_measures / sizeof tally_measures[0]);

int tally_find_measure(const char *name)
{
    for (int m = 0; m < tally_measures_n; m++)
        if (strcmp(tally_measures[m].name, name) == 0)
            return m;
    return -1;
}

int tally_quantile_set(enum tally_quantiles set, const double **p)
{
    static const double p_10_50_90[] = { 0.10, 0.50, 0.90 }, p_50_90_95[] = { 0.50, 0.90, 0.95 }, p_50_95[] = { 0.50, 0.95 };
    switch (set) {
    case TALLY_10_50_90: *p = p_10_50_90; return 3;
    case TALLY_50_90_95: *p = p_50_90_95; return 3;
    case TALLY_50_95: *p = p_50_95; return 2;
    case TALLY_NO_QUANTILES: break;
    }
    *p = NULL;
    return 0;
}
