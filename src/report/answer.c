/* answer.c: the printed answer, for someone who never heard of a quantile. */
#include "report/report.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

static const char *const FOOD_WORDS[FUTURE_FOODS] = { "dry beans", "winter squash", "either of them" };

struct answer {
    FILE *to;
    const struct plan *plan;
    const struct tally *tally;
    const struct report_style *style;
    int year;
};

static struct tally_figure figure_of(const struct answer *answer, int food, const char *measure, int which)
{
    struct tally_figure figure;
    tally_figure(answer->tally, answer->year, food, tally_find_measure(measure), which, &figure);
    return figure;
}

/* Prints words wrapped to the width, the first line after `indent` spaces, the others after `hang`. */
static void wrap(const struct answer *answer, int indent, int hang, const char *text)
{
    int column = 0, width = answer->style->width;
    for (const char *word = text; *word;) {
        int n = (int)strcspn(word, " ");
        if (column == 0 || column + 1 + n > width) {
            int margin = column ? hang : indent;
            fprintf(answer->to, "%s%*s", column ? "\n" : "", margin, "");
            column = margin;
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

/* A row of a table: a label, then cells padded to a width, nothing after the last that says something. */
static void row(const struct answer *answer, const char *label, int width, const char *const *cell, int n)
{
    while (n > 0 && cell[n - 1][0] == '\0')
        n--;
    fprintf(answer->to, "  %-*s", n ? 15 : 0, label);
    for (int i = 0; i < n; i++)
        fprintf(answer->to, " %-*s", i + 1 < n ? width : 0, cell[i]);
    fputc('\n', answer->to);
}

/* "2.1 weeks", "1 week", "12 meals": a tenth below ten, no more digits than a reader can use. */
static const char *counted_things(double value, const char *thing, char text[48])
{
    int decimals = value < 9.95 && fabs(value - floor(value + 0.5)) >= 0.05 ? 1 : 0;
    bool one = decimals == 0 && value >= 0.5 && value < 1.5;
    snprintf(text, 48, "%.*f %s%s", decimals, value, thing, one ? "" : "s");
    return text;
}

/* 100000 as "100,000". */
static const char *grouped(int64_t value, char text[32])
{
    char digits[24];
    int n = snprintf(digits, sizeof digits, "%lld", (long long)value), length = 0;
    for (int i = 0; i < n; i++) {
        if (i > 0 && (n - i) % 3 == 0)
            text[length++] = ',';
        text[length++] = digits[i];
    }
    text[length] = '\0';
    return text;
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

/* The date by which a share of the years has run short; "not so often": fewer years than that run short. */
static void first_short(const struct answer *answer, int food, int which, char day[32])
{
    struct tally_figure first = figure_of(answer, food, "first_short", which);
    if (first.never)
        snprintf(day, 32, "not so often");
    else
        report_day(answer->plan, (int)first.value, day);
}

static void how_much_short(const struct answer *answer)
{
    char weeks[48], meals[48], bad[48];
    double bad_meals = figure_of(answer, FUTURE_ANY, "meals_short", 1).value;
    counted_things(figure_of(answer, FUTURE_ANY, "short_weeks", -1).value, "week", weeks);
    counted_things(figure_of(answer, FUTURE_ANY, "meals_short", -1).value, "meal", meals);
    fprintf(answer->to, "  On average %s of the year %s short, and %s missing", weeks,
            strcmp(weeks, "1 week") ? "are" : "is", meals);
    if (bad_meals >= 0.5)
        fprintf(answer->to, "; in one year of ten, %s or more",
                counted_things(floor(bad_meals + 0.5), "meal", bad));
    fputs(".\n", answer->to);
}

static void until_when(const struct answer *answer)
{
    static const char *const shares[3] = { "1 year in 10", "half the years", "9 years in 10" };
    heading(answer, "Run short by this date (the first short week)");
    row(answer, "", 18, shares, 3);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        char day[3][32];
        if (!is_wanted(answer->plan, food))
            continue;
        for (int which = 0; which < 3; which++)
            first_short(answer, food, which, day[which]);
        row(answer, FOOD_WORDS[food], 18, (const char *const[]){ day[0], day[1], day[2] }, 3);
    }
    how_much_short(answer);
}

/* One line of the amounts: the middle, and one year in ten below and above. */
static void amount(const struct answer *answer, const char *what, const char *measure)
{
    char cells[SCENARIO_FOODS][112] = { "", "" };
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        char low[32], middle[32], high[32];
        if (is_wanted(answer->plan, food)) {
            report_mass(figure_of(answer, food, measure, 0).value, answer->style->pounds, low);
            report_mass(figure_of(answer, food, measure, 1).value, answer->style->pounds, middle);
            report_mass(figure_of(answer, food, measure, 2).value, answer->style->pounds, high);
            low[strcspn(low, " ")] = '\0';
            high[strcspn(high, " ")] = '\0';
            snprintf(cells[food], sizeof cells[0], "%s (%s to %s)", middle, low, high);
        }
    }
    row(answer, what, 28, (const char *const[]){ cells[0], cells[1] }, SCENARIO_FOODS);
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
    char cells[SCENARIO_FOODS][32] = { "", "" };
    for (int food = 0; food < SCENARIO_FOODS; food++)
        if (is_wanted(answer->plan, food))
            report_mass(counted_kg(answer->plan, food), answer->style->pounds, cells[food]);
    row(answer, answer->plan->stock_take ? "counted" : "on the shelf", 28,
        (const char *const[]){ cells[0], cells[1] }, SCENARIO_FOODS);
}

static void amounts(const struct answer *answer)
{
    const struct plan *plan = answer->plan;
    bool from_count = plan->stock_take && answer->year == 0;
    heading(answer, "Usual year (in brackets: one year in ten below, one in ten above)");
    const char *const names[SCENARIO_FOODS] = { is_wanted(plan, SCENARIO_BEANS) ? FOOD_WORDS[0] : "",
                                                is_wanted(plan, SCENARIO_SQUASH) ? FOOD_WORDS[1] : "" };
    row(answer, "", 28, names, SCENARIO_FOODS);
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

/* Three figures of a number that the tables of food do not know better, with its thousands apart. */
static const char *rounded(double value, char text[32])
{
    double step = pow(10, fmax(0, floor(log10(fmax(value, 1))) - 2));
    return grouped((int64_t)(floor(value / step + 0.5) * step), text);
}

/* Energy and protein served, and their share of what the household needs: how little two crops are. */
static void nourishment(const struct answer *answer)
{
    const struct scenario_household *household = &answer->plan->scenario->household;
    const struct { bool needed; const char *served, *share, *what, *of; } line[2] = {
        { household->has_needs_kcal, "kcal_served", "kcal_share", "kcal", "energy" },
        { household->has_needs_protein, "protein_g_served", "protein_share", "g of protein", "protein" } };
    char text[500] = "On average the meals served give", part[32], figure[32];
    if (!line[0].needed && !line[1].needed)
        return;
    heading(answer, "What it feeds");
    for (int i = 0; i < 2; i++) {
        if (!line[i].needed)
            continue;
        double share = figure_of(answer, FUTURE_ANY, line[i].share, -1).value;
        report_percent(share, share < 0.1 ? 0.004 : 0.04, part); /* tables of food know it no better */
        rounded(figure_of(answer, FUTURE_ANY, line[i].served, -1).value, figure);
        snprintf(text + strlen(text), sizeof text - strlen(text),
                 "%s %s %s (%s of the household's need of %s)",
                 i && line[0].needed ? " and" : "", figure, line[i].what, part, line[i].of);
    }
    strcat(text, ". Beans and squash cannot be a diet: everything else must come from other food.");
    wrap(answer, 2, 2, text);
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
    heading(answer, "Room to have ready (enough for the fullest week in 19 years of 20)");
    if (is_wanted(answer->plan, SCENARIO_BEANS))
        fprintf(answer->to, "  %.0f jar%s of %s\n", jars.value, jars.value == 1 ? "" : "s", jar);
    if (is_wanted(answer->plan, SCENARIO_SQUASH))
        fprintf(answer->to, "  shelf for %.0f squash\n", fruits.value);
    if (seed_kg(answer->plan) > 0)
        fprintf(answer->to, "  Seed to hold back from each harvest: %s of beans.\n", seed);
}

/* What the books say of a food that runs short: lost in the field, spoiled before its turn, or too little. */
static const char *remedy(const struct answer *answer, int food)
{
    double grown = figure_of(answer, food, "kg_grown", -1).value;
    double field = figure_of(answer, food, "kg_field_loss", -1).value;
    double in = figure_of(answer, food, "kg_in", -1).value;
    double lost = figure_of(answer, food, "kg_lost_while_wanted", -1).value;
    if (answer->year == 0)
        in += counted_kg(answer->plan, food);
    if (!answer->plan->stock_take && grown > 0 && field > 0.25 * grown)
        return "much is lost in the field (frost, wind, too little heat): start earlier, give shelter, or "
               "grow an earlier kind";
    if (lost <= 0.20 * in)
        return "grow more, or plan fewer meals a week";
    if (food == SCENARIO_BEANS)
        return "much spoils in the jars before its turn comes: dry it harder, and look at the jars "
               "more often";
    return "much rots before its turn comes: grow a kind that keeps longer, find a better place, or look it "
           "over more often";
}

/* Plain advice when the answer is bad: for each food that is short too often, or else for the worse one. */
static void advice(const struct answer *answer)
{
    enum { TOO_OFTEN_PERCENT = 10 };
    double short_chance[FUTURE_FOODS];
    for (int food = 0; food < FUTURE_FOODS; food++)
        short_chance[food] = 100 * figure_of(answer, food, "chance_short", -1).value;
    if (short_chance[FUTURE_ANY] <= TOO_OFTEN_PERCENT)
        return;
    heading(answer, "What could help");
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        char text[400];
        if (short_chance[food] <= TOO_OFTEN_PERCENT && short_chance[food] < short_chance[!food])
            continue;
        snprintf(text, sizeof text, "- %s: %s.", FOOD_WORDS[food], remedy(answer, food));
        wrap(answer, 2, 4, text);
    }
    wrap(answer, 2, 4,
         "- \"tideover why\" says what decides it, \"tideover vary\" what each further step of a "
         "setting buys.");
}

void report_cautions(FILE *to)
{
    fputs("\nCautions: soak dry beans 12 hours, throw the water away and boil them hard in fresh water for\n"
          "30 minutes, then cook them soft; never from raw in a slow cooker. Throw out mouldy beans, squash\n"
          "with mould or rot (do not trim it off) and any squash that tastes bitter. This plans stores, it\n"
          "guarantees no food: keep a reserve, and follow your local food-safety and growing advice.\n", to);
}

static void one_year(const struct answer *answer)
{
    if (answer->plan->scenario->food_years > 1)
        fprintf(answer->to, "\n== Food year %d ==\n", answer->year + 1);
    chances(answer);
    until_when(answer);
    amounts(answer);
    nourishment(answer);
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
    fprintf(answer->to, "  Short in at least one of %d food years: %s. Year by year:",
            answer->plan->scenario->food_years, chance);
    for (at.year = 0; at.year < answer->plan->scenario->food_years; at.year++) {
        struct tally_figure year = figure_of(&at, FUTURE_ANY, "chance_short", -1);
        report_percent(year.value, (year.high - year.low) / 2, chance);
        fprintf(answer->to, "%s %s", at.year ? "," : "", chance);
    }
    fprintf(answer->to, ".\n  Below: the worst of them.\n");
}

void report_answer(FILE *to, const struct plan *plan, const struct tally *tally,
                   const struct report_style *style)
{
    struct answer answer = { to, plan, tally, style, 0 };
    const struct scenario *scenario = plan->scenario;
    fprintf(to, "%s\n", scenario->title ? scenario->title : scenario->name);
    char from[64] = "the first produce of one harvest";
    if (plan->stock_take) {
        report_day(plan, plan->count_week, from);
        snprintf(from + strlen(from), sizeof from - strlen(from), " (the count)");
    }
    char trials[32], years[48];
    const char *until = plan->stock_take ? "the first produce of the next harvest" : "that of the next";
    fprintf(to, "%s possible future%s of %s, from %s to %s.\n",
            grouped(tally_trials(tally), trials), tally_trials(tally) == 1 ? "" : "s",
            counted_things(scenario->food_years, "food year", years), from, until);
    if (scenario->food_years > 1)
        all_years(&answer);
    answer.year = worst_year(&answer);
    one_year(&answer);
    advice(&answer);
    fputc('\n', to);
    wrap(&answer, 0, 0,
         "The figures after \"±\" are the simulation's own error (19 runs in 20). They do not cover doubt about "
         "the settings: your garden may differ from what the scenario says.");
    report_cautions(to);
}
