/* answer.c: the printed answer, for someone who never heard of a quantile. */
#include "report/report.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

static const char *const FOOD_WORDS[FUTURE_FOODS] = { "dry beans", "winter squash", "either of them" };

struct answer { FILE *to; const struct plan *plan; const struct tally *tally; const struct report_style *style; int year; };

static struct tally_figure figure_of(const struct answer *answer, int food, const char *measure, int which)
{
    struct tally_figure figure;
    tally_figure(answer->tally, answer->year, food, tally_find_measure(measure), which, &figure);
    return figure;
}

/* Prints words wrapped to the width, each line after `indent` spaces. */
static void wrap(const struct answer *answer, int indent, const char *text)
{
    int column = 0, width = answer->style->width;
    for (const char *word = text; *word;) {
        int n = (int)strcspn(word, " ");
        if (column == 0 || column + 1 + n > width) {
            fprintf(answer->to, "%s%*s", column ? "\n" : "", indent, "");
            column = indent;
        } else {
            fputc(' ', answer->to);
            column++;
        }
        fwrite(word, 1, (size_t)n, answer->to);
        column += n;
        word += n + (word[n] == ' ');
    }
    fputc('\n', answer->to);
}

static void heading(const struct answer *answer, const char *text)
{
    bool colour = answer->style->colour;
    fprintf(answer->to, "\n%s%s%s\n", colour ? "\033[1m" : "", text, colour ? "\033[0m" : "");
}

/* Is a food wanted in any week of the year? */
static bool is_wanted(const struct plan *plan, int food)
{
    bool wanted = food == FUTURE_ANY && is_wanted(plan, SCENARIO_BEANS) && is_wanted(plan, SCENARIO_SQUASH);
    for (int week = 0; week < SCENARIO_WEEKS && food < SCENARIO_FOODS; week++)
        wanted |= plan->portions[food][week] > 0;
    return wanted;
}

static void chances(const struct answer *answer)
{
    heading(answer, "Chance of running short before the next harvest");
    for (int food = 0; food < FUTURE_FOODS; food++) {
        char value[80], over[80];
        if (!is_wanted(answer->plan, food))
            continue;
        struct tally_figure chance = figure_of(answer, food, "chance_short", -1);
        struct tally_figure four = figure_of(answer, food, "chance_over_4_weeks_short", -1);
        report_chance(chance.value, chance.low, chance.high, value);
        report_chance(four.value, four.low, four.high, over);
        int pad = strstr(value, "±") ? 25 : 24; /* the sign is two bytes and one column */
        fprintf(answer->to, "  %-15s %-*s for more than 4 weeks: %s\n", FOOD_WORDS[food], pad, value, over);
    }
}

static void until_when(const struct answer *answer)
{
    heading(answer, "First short week");
    fprintf(answer->to, "  %-15s %-18s %-18s %-18s\n", "", "1 year in 10, by", "half the years, by", "9 years in 10, by");
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        if (!is_wanted(answer->plan, food))
            continue;
        fprintf(answer->to, "  %-15s", FOOD_WORDS[food]);
        for (int which = 0; which < 3; which++) {
            struct tally_figure first = figure_of(answer, food, "first_short", which);
            char day[32] = "lasts";
            if (!first.never)
                report_day(answer->plan, (int)first.value, day);
            fprintf(answer->to, " %-18s", day);
        }
        fputc('\n', answer->to);
    }
    struct tally_figure weeks = figure_of(answer, FUTURE_ANY, "short_weeks", -1);
    struct tally_figure meals = figure_of(answer, FUTURE_ANY, "meals_short", -1), bad = figure_of(answer, FUTURE_ANY, "meals_short", 1);
    fprintf(answer->to, "  Short on average %.1f week%s and %.1f meal%s a year; one year in ten %.0f meals or more.\n", weeks.value,
            weeks.value == 1 ? "" : "s", meals.value, meals.value == 1 ? "" : "s", bad.value);
}

/* One line of the amounts: mean, and one year in ten below and above. */
static void amount(const struct answer *answer, const char *what, const char *measure)
{
    fprintf(answer->to, "  %-15s", what);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        char low[32], middle[32], high[32], cell[112] = "";
        if (is_wanted(answer->plan, food)) {
            report_mass(figure_of(answer, food, measure, 0).value, answer->style->pounds, low);
            report_mass(figure_of(answer, food, measure, 1).value, answer->style->pounds, middle);
            report_mass(figure_of(answer, food, measure, 2).value, answer->style->pounds, high);
            low[strcspn(low, " ")] = '\0';
            high[strcspn(high, " ")] = '\0';
            snprintf(cell, sizeof cell, "%s (%s to %s)", middle, low, high);
        }
        fprintf(answer->to, " %-28s", cell);
    }
    fputc('\n', answer->to);
}

/* What a stock-take counted, kg. */
static double counted_kg(const struct plan *plan, int food)
{
    double kg = 0;
    for (int i = 0; food == SCENARIO_SQUASH && i < plan->shelf_fruits_n; i++)
        kg += plan->shelf_fruits[i].kg;
    for (int i = 0; food == SCENARIO_BEANS && i < plan->shelf_jars_n; i++)
        kg += plan->shelf_jars[i].kg;
    return kg;
}

static void counted(const struct answer *answer)
{
    fprintf(answer->to, "  %-15s", answer->plan->stock_take ? "counted" : "on the shelf");
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        char cell[32] = "";
        if (is_wanted(answer->plan, food))
            report_mass(counted_kg(answer->plan, food), answer->style->pounds, cell);
        fprintf(answer->to, " %-28s", cell);
    }
    fputc('\n', answer->to);
}

static void amounts(const struct answer *answer)
{
    const struct plan *plan = answer->plan;
    bool from_count = plan->stock_take && answer->year == 0;
    heading(answer, "Usual year (in brackets: one year in ten below, one in ten above)");
    fprintf(answer->to, "  %-15s %-28s %-28s\n", "", is_wanted(answer->plan, SCENARIO_BEANS) ? FOOD_WORDS[0] : "",
            is_wanted(answer->plan, SCENARIO_SQUASH) ? FOOD_WORDS[1] : "");
    if (answer->year == 0 && plan->shelf_fruits_n + plan->shelf_jars_n > 0)
        counted(answer);
    if (!from_count)                    /* what was grown before a count is in the count */
        amount(answer, "grown", "kg_grown");
    amount(answer, from_count ? "still comes in" : "brought in", "kg_in");
    amount(answer, "eaten", "kg_eaten");
    amount(answer, "lost in store", "kg_store_loss");
    amount(answer, "  while wanted", "kg_lost_while_wanted");
    amount(answer, "left over", "kg_left");
}

/* Seed that the plan holds back in a season. */
static double seed_kg(const struct plan *plan)
{
    double kg = 0;
    for (int p = 0; p < plan->plantings_n; p++)
        kg += plan->plantings[p].seed_due_kg;
    return kg;
}

static void room(const struct answer *answer)
{
    struct tally_figure jars = figure_of(answer, SCENARIO_BEANS, "jars_peak", 1);
    struct tally_figure fruits = figure_of(answer, SCENARIO_SQUASH, "fruits_peak", 1);
    char jar[32], seed[32];
    report_mass(answer->plan->scenario->store.jar_kg, answer->style->pounds, jar);
    report_mass(seed_kg(answer->plan), answer->style->pounds, seed);
    heading(answer, "Room for the fullest week of 19 years in 20");
    if (is_wanted(answer->plan, SCENARIO_BEANS))
        fprintf(answer->to, "  %.0f jar%s of %s\n", jars.value, jars.value == 1 ? "" : "s", jar);
    if (is_wanted(answer->plan, SCENARIO_SQUASH))
        fprintf(answer->to, "  shelf for %.0f squash\n", fruits.value);
    if (seed_kg(answer->plan) > 0)
        fprintf(answer->to, "  Seed to hold back from each harvest: %s of beans.\n", seed);
}

/* Plain advice when the answer is bad, from what the books say. */
static void advice(const struct answer *answer)
{
    struct tally_figure chance = figure_of(answer, FUTURE_ANY, "chance_short", -1);
    if (chance.value <= 0.10)
        return;
    heading(answer, "What could help");
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        if (figure_of(answer, food, "chance_short", -1).value <= 0.10)
            continue;
        double grown = figure_of(answer, food, "kg_grown", -1).value, field = figure_of(answer, food, "kg_field_loss", -1).value;
        double in = figure_of(answer, food, "kg_in", -1).value + (answer->year == 0 ? counted_kg(answer->plan, food) : 0);
        double lost = figure_of(answer, food, "kg_lost_while_wanted", -1).value;
        char text[400];
        const char *first = !answer->plan->stock_take && grown > 0 && field > 0.25 * grown
                                ? "much is lost in the field (frost, wind, too little heat): an earlier start, shelter or an earlier kind"
                            : in > 0 && lost > 0.20 * in
                                ? "much rots while it is wanted: a kind that keeps longer, a better place, or looking it over more often"
                                : "grow more of it, or want it in fewer meals a week";
        snprintf(text, sizeof text, "- %s: %s.", FOOD_WORDS[food], first);
        wrap(answer, 2, text);
    }
}

void report_cautions(FILE *to)
{
    fputs("\nCautions: soak dry beans 12 hours, throw the water away and boil them hard in fresh water for 30 minutes, then\n"
          "cook them soft; never from raw in a slow cooker. Throw out mouldy beans, squash with mould or rot (do not trim\n"
          "it off) and any squash that tastes bitter. This plans stores, it guarantees no food: keep a reserve, and follow\n"
          "your local food-safety and growing advice.\n", to);
}

static void one_year(const struct answer *answer)
{
    if (answer->plan->scenario->food_years > 1)
        fprintf(answer->to, "\n== Food year %d ==\n", answer->year + 1);
    chances(answer);
    until_when(answer);
    amounts(answer);
    room(answer);
}

/* The food year with the greatest chance of running short. */
static int worst_year(const struct answer *answer)
{
    struct answer at = *answer;
    int worst = 0;
    double most = -1;
    for (at.year = 0; at.year < answer->plan->scenario->food_years; at.year++) {
        double chance = figure_of(&at, FUTURE_ANY, "chance_short", -1).value;
        if (chance > most) {
            most = chance;
            worst = at.year;
        }
    }
    return worst;
}

static void all_years(const struct answer *answer)
{
    struct tally_figure all;
    char chance[32];
    struct answer at = *answer;
    tally_figure(answer->tally, TALLY_ALL_YEARS, FUTURE_ANY, tally_find_measure("chance_short"), -1, &all);
    report_percent(all.value, (all.high - all.low) / 2, chance);
    heading(answer, "Over all the food years");
    fprintf(answer->to, "  Short in at least one of %d food years: %s. Year by year:", answer->plan->scenario->food_years, chance);
    for (at.year = 0; at.year < answer->plan->scenario->food_years; at.year++) {
        struct tally_figure year = figure_of(&at, FUTURE_ANY, "chance_short", -1);
        report_percent(year.value, (year.high - year.low) / 2, chance);
        fprintf(answer->to, " %s", chance);
    }
    fprintf(answer->to, ".\n  Below: the worst of them.\n");
}

void report_answer(FILE *to, const struct plan *plan, const struct tally *tally, const struct report_style *style)
{
    struct answer answer = { to, plan, tally, style, 0 };
    const struct scenario *scenario = plan->scenario;
    fprintf(to, "%s\n", scenario->title ? scenario->title : scenario->name);
    char from[64] = "the first produce of one harvest";
    if (plan->stock_take) {
        report_day(plan, plan->count_week, from);
        snprintf(from + strlen(from), sizeof from - strlen(from), " (the count)");
    }
    fprintf(to, "%lld trials of %d food year%s, from %s to the first produce of the next.\n", (long long)tally_trials(tally),
            scenario->food_years, scenario->food_years == 1 ? "" : "s", from);
    if (scenario->food_years > 1)
        all_years(&answer);
    answer.year = worst_year(&answer);
    one_year(&answer);
    advice(&answer);
    fputc('\n', to);
    wrap(&answer, 0, "The figures after \"±\" are the simulation's own error (19 runs in 20). They do not cover doubt about "
                     "the settings: your garden may differ from what the scenario says.");
    report_cautions(to);
}
