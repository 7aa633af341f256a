/* fit_climate.c: what tideover fit makes of a daily record: the settings of a climate, and what it says of them. */
#include "command/fit.h"

#include <math.h>
#include <string.h>

enum base_result command_fit_judge_climate(struct command_fit *fit)
{
    const struct command_options *options = fit->options;
    if (!fit->weather)
        return BASE_OK;
    fit->climate = records_climate_of(fit->arena, fit->weather, options->hard_frost_c, options->year_starts);
    if (!fit->climate)
        return BASE_FAILED;
    for (int i = 0; i < RECORDS_FIGURES; i++) {
        struct command_fit_item *item = &fit->climate_item[i];
        *item = (struct command_fit_item){ .sample = fit->climate->sample[i], .prior_mean = NAN, .apart = NAN };
        if (!records_judge(fit->arena, &item->sample, &item->verdict))
            return BASE_FAILED;
        item->used = item->verdict.chosen >= 0 || item->verdict.has_triplet;
    }
    return BASE_OK;
}

/* ---- dates ------------------------------------------------------------------------------------------------------ */

static bool is_date(const struct command_fit_item *item) { return item->sample.kind != RECORDS_SEASON_WARMTH; }

/* "05-12" of a day of the simulation year, which may be before its beginning. */
static void day_text(const struct command_fit *fit, double day, char text[6])
{
    int of_year = (fit->options->year_starts + (int)floor(day + 0.5)) % SCENARIO_DAYS;
    base_mm_dd(of_year < 0 ? of_year + SCENARIO_DAYS : of_year, text);
}

/* A figure as the settings have it: a date in quotation marks, or a number. */
static void figure(const struct command_fit *fit, const struct command_fit_item *item, double value, char text[16])
{
    char date[6];
    if (is_date(item)) {
        day_text(fit, value, date);
        snprintf(text, 16, "\"%s\"", date);
    } else {
        snprintf(text, 16, "%.6g", value);
    }
}

/* ---- a figure's setting --------------------------------------------------------------------------------------------- */

static void add_triplet(const struct command_fit *fit, const struct command_fit_item *item, const double p[3],
                        struct command_fit_words *words)
{
    static const char *const names[3] = { "p10", "p50", "p90" };
    for (int i = 0; i < 3; i++) {
        char text[16];
        figure(fit, item, p[i], text);
        command_fit_add(words, "%s = %s; ", names[i], text);
    }
}

static void add_normal(const struct command_fit *fit, const struct command_fit_item *item, double mean, double sd,
                       struct command_fit_words *words)
{
    char text[16];
    figure(fit, item, mean, text);
    command_fit_add(words, "shape = \"normal\"; mean = %s; sd = %.6g; ", text, sd);
}

/* A last frost is one of spring, a hard frost one of autumn: by definition neither lies beyond the day that parts them. */
static void add_bound(const struct command_fit *fit, const struct command_fit_item *item, struct command_fit_words *words)
{
    char date[6];
    bool last = item->sample.kind == RECORDS_LAST_FROST;
    day_text(fit, last ? RECORDS_LAST_SPRING_DAY : RECORDS_LAST_SPRING_DAY + 1, date);
    if (is_date(item))
        command_fit_add(words, "%s = \"%s\"; ", last ? "at_most" : "at_least", date);
}

/* Few records: a triplet, or where its ends are no dates of the year, the normal of the same three. */
static void add_few(const struct command_fit *fit, const struct command_fit_item *item, struct command_fit_words *words)
{
    const double z90 = 1.2815515655446004, *t = item->verdict.triplet;
    if (records_can_be_said(item->sample.kind, RECORDS_TRIPLET, t))
        add_triplet(fit, item, t, words);
    else
        add_normal(fit, item, t[1], (t[2] - t[0]) / (2 * z90), words);
}

static bool value_of(const struct command_fit *fit, const struct command_fit_item *item, char text[COMMAND_FIT_ORIGIN])
{
    const struct records_verdict *verdict = &item->verdict;
    struct command_fit_words words = { text, 0 };
    if (!item->used)
        return false;
    command_fit_add(&words, "{ ");
    if (verdict->chosen == RECORDS_TRIPLET)
        add_triplet(fit, item, verdict->fit[RECORDS_TRIPLET].p, &words);
    else if (verdict->chosen >= 0)
        add_normal(fit, item, verdict->fit[verdict->chosen].p[0], verdict->fit[verdict->chosen].p[1], &words);
    else
        add_few(fit, item, &words);
    add_bound(fit, item, &words);
    if (verdict->chosen >= 0)
        command_fit_add(&words, "from_records = %d; ", item->sample.events);
    command_fit_add(&words, "}");
    return true;
}

/* ---- words ---------------------------------------------------------------------------------------------------- */

static void add_years(const int *years, int n, struct command_fit_words *words)
{
    enum { MOST = 8 };
    for (int i = 0; i < n && i < MOST; i++)
        command_fit_add(words, "%s%d", i == 0 ? "" : ", ", years[i]);
    if (n > MOST)
        command_fit_add(words, " and %d more", n - MOST);
}

/* Seasons without the frost, and those that the record leaves too soon. */
static void say_lacking(const struct command_fit *fit, const struct command_fit_item *item, struct command_fit_words *words)
{
    const struct records_climate *climate = fit->climate;
    bool last = item->sample.kind == RECORDS_LAST_FROST;
    int n = climate->lacking[last ? 0 : 1];
    if (n > 0) {
        command_fit_add(words, "; %d without (", n);
        add_years(climate->lacking_year[last ? 0 : 1], n, words);
        command_fit_add(words, "), taken as %s the simulation year", last ? "before" : "after");
    }
    if (!last && climate->cut_short > 0)
        command_fit_add(words, "; in %d the record ends before one, taken as after that", climate->cut_short);
}

static void say_figure(const struct command_fit *fit, const struct command_fit_item *item, const char *name, double value,
                       double std_error, struct command_fit_words *words)
{
    char date[6];
    if (is_date(item)) {
        day_text(fit, value, date);
        command_fit_add(words, "; %s %s", name, date);
    } else {
        command_fit_add(words, "; %s %.3g C", name, value);
    }
    if (isfinite(std_error))
        command_fit_add(words, ", standard error %.2g%s", std_error, is_date(item) ? " days" : "");
}

/* The shape and how well it goes; with the figures, which the printed answer has in rows of their own. */
static void say_fit(const struct command_fit *fit, const struct command_fit_item *item, bool with_figures,
                    struct command_fit_words *words)
{
    const struct records_verdict *verdict = &item->verdict;
    const struct records_fit *best = &verdict->fit[verdict->chosen];
    const char *unit = is_date(item) ? "days" : "C";
    int shapes = verdict->fitted[RECORDS_NORMAL] + verdict->fitted[RECORDS_TRIPLET];
    command_fit_add(words, ": %s, %s by AICc (%.2f)", records_shape_name(best->shape),
                    shapes == 1 ? "the only shape that dates of the year can say," : "the better of 2 shapes", best->aicc);
    if (with_figures && verdict->chosen == RECORDS_TRIPLET) {
        for (int i = 0; i < 3; i++)
            say_figure(fit, item, records_parameter_name(best->shape, i), best->p[i], best->std_error[i], words);
    } else if (with_figures) {
        say_figure(fit, item, "mean", best->p[0], best->std_error[0], words);
        command_fit_add(words, "; sd %.3g %s, %.3g to %.3g with 95 %% confidence", best->p[1], unit, verdict->low[verdict->chosen][1],
                        verdict->high[verdict->chosen][1]);
    }
    command_fit_add(words, "; %s %.3g.", verdict->statistic_name, verdict->statistic[verdict->chosen]);
}

static void say_none(const struct command_fit_item *item, struct command_fit_words *words)
{
    const struct records_sample *sample = &item->sample;
    if (sample->n < 2)
        command_fit_add(words, ": too few to say how it spreads, so that it is no setting.");
    else if (sample->events < RECORDS_FEWEST)
        command_fit_add(words, ": too few with one to say how its date spreads, so that it is no setting; climate.records_file takes "
                        "the seasons as they are, with and without.");
    else
        command_fit_add(words, ": its usual date would lie beyond the simulation year, so that it is no setting; "
                        "climate.records_file takes the seasons as they are.");
}

static void origin_of(const struct command_fit *fit, const struct command_fit_item *item, bool with_figures,
                      char text[COMMAND_FIT_ORIGIN])
{
    struct command_fit_words words = { text, 0 };
    const struct records_sample *sample = &item->sample;
    command_fit_add(&words, "From %d season%s", sample->n, sample->n == 1 ? "" : "s");
    if (is_date(item) && sample->events < sample->n) {
        command_fit_add(&words, ", %d of them with one", sample->events);
        say_lacking(fit, item, &words);
    } else if (!is_date(item)) {
        char from[6], until[6];
        day_text(fit, RECORDS_HEAT_FROM, from);
        day_text(fit, RECORDS_HEAT_UNTIL, until);
        command_fit_add(&words, ", each one's daily means from %s to %s less the normals below", from, until);
    }
    if (item->verdict.chosen >= 0)
        say_fit(fit, item, with_figures, &words);
    else if (item->verdict.has_triplet)
        command_fit_add(&words, ": too few for a shape, so %s widened for so few (where one more would lie, by Student's t).",
                        records_can_be_said(sample->kind, RECORDS_TRIPLET, item->verdict.triplet) ? "a triplet" : "a normal");
    else
        say_none(item, &words);
}

/* ---- how they go together, and the normals --------------------------------------------------------------------------- */

static bool has_correlation(const struct records_climate *climate)
{
    double lower[3][3], rounded[3][3];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            rounded[i][j] = floor(1000 * climate->correlation[i][j] + 0.5) / 1000;
    return isfinite(climate->correlation[0][1] + climate->correlation[0][2] + climate->correlation[1][2])
           && chance_cholesky((const double(*)[3])rounded, lower);
}

static void correlation_origin(const struct records_climate *climate, char text[COMMAND_FIT_ORIGIN])
{
    static const char *const pairs[3] = { "last with first hard frost", "last frost with warmth", "first hard frost with warmth" };
    static const int at[3][2] = { { 0, 1 }, { 0, 2 }, { 1, 2 } };
    struct command_fit_words words = { text, 0 };
    command_fit_add(&words, "From %d season%s", climate->correlated, climate->correlated == 1 ? "" : "s");
    if (climate->correlated < RECORDS_WARMTH_YEARS)
        command_fit_add(&words, " in which all three are known: %d are wanted to say how they go together.", (int)RECORDS_WARMTH_YEARS);
    else if (!has_correlation(climate))
        command_fit_add(&words, ": no correlation can be said, as one of the three is always the same or goes wholly with another.");
    else
        for (int k = 0; k < 3; k++) {
            int i = at[k][0], j = at[k][1];
            command_fit_add(&words, "%s %s %.2f (%.2f to %.2f)", k == 0 ? ", of normal scores, with 95 % intervals:" : ",", pairs[k],
                            climate->correlation[i][j], climate->low[i][j], climate->high[i][j]);
        }
}

/* January first, as tmin_c stands in the settings; false where a month is missing. */
static bool has_normals(const struct records_climate *climate)
{
    bool good = true;
    for (int month = 0; month < 12; month++)
        good &= climate->normal_seasons[month] > 0;
    return good;
}

static void normals_origin(const struct records_climate *climate, char text[COMMAND_FIT_ORIGIN])
{
    static const char *const names[12] = { "January", "February", "March", "April", "May", "June", "July", "August", "September",
                                           "October", "November", "December" };
    struct command_fit_words words = { text, 0 };
    int fewer = 0;
    command_fit_add(&words, "Means by month, January first, from %d season%s", climate->seasons, climate->seasons == 1 ? "" : "s");
    for (int month = 0; month < 12; month++)
        if (climate->normal_seasons[month] < climate->seasons)
            command_fit_add(&words, "%s%s %d", fewer++ == 0 ? " (" : ", ", names[month], climate->normal_seasons[month]);
    if (has_normals(climate))
        command_fit_add(&words, "%s. Normals without day-to-day swings understate heat by 2 to 8 %%.", fewer > 0 ? ")" : "");
    else
        command_fit_add(&words, "): a month is missing, so that they are no settings.");
}

/* ---- fit.cfg --------------------------------------------------------------------------------------------------------- */

static void monthly(struct report_file *file, const char *name, const double normal_c[12])
{
    report_print(file, "    %s = [ ", name);
    for (int month = 0; month < 12; month++)
        report_print(file, "%.2f%s", normal_c[month], month < 11 ? ", " : " ];\n");
}

static void correlation(struct report_file *file, const struct records_climate *climate)
{
    report_print(file, "    correlation = ( ");
    for (int i = 0; i < 3; i++)
        report_print(file, "[ %.3f, %.3f, %.3f ]%s", climate->correlation[i][0], climate->correlation[i][1],
                     climate->correlation[i][2], i < 2 ? ", " : " );\n");
}

static void seasons_text(const struct command_fit *fit, char text[COMMAND_FIT_ORIGIN])
{
    struct command_fit_words words = { text, 0 };
    const struct records_climate *climate = fit->climate;
    command_fit_add(&words, "%d season%s, %d", climate->seasons, climate->seasons == 1 ? "" : "s", climate->first_year);
    if (climate->seasons > 1)
        command_fit_add(&words, " to %d", climate->last_year);
    if (fit->weather->left_out_n > 0) {
        command_fit_add(&words, "; left out, as too many days are missing: ");
        add_years(fit->weather->left_out, fit->weather->left_out_n, &words);
    }
}

void command_fit_climate_settings(const struct command_fit *fit, struct report_file *file)
{
    char text[COMMAND_FIT_ORIGIN], starts[6];
    const struct records_climate *climate = fit->climate;
    base_mm_dd(fit->options->year_starts, starts);
    if (strcmp(starts, "03-01") != 0)
        report_print(file, "year_starts = \"%s\";\n", starts);
    seasons_text(fit, text);
    command_fit_comment(file, "", text);
    report_print(file, "climate = {\n    // What counted as a hard frost.\n    hard_frost_c = %.6g;\n", fit->options->hard_frost_c);
    for (int i = 0; i < RECORDS_FIGURES; i++) {
        const struct command_fit_item *item = &fit->climate_item[i];
        origin_of(fit, item, true, text);
        if (!item->used)
            report_print(file, "    // %s:\n", records_kind_name(item->sample.kind));
        command_fit_comment(file, "    ", text);
        if (value_of(fit, item, text))
            report_print(file, "    %s = %s;\n", records_kind_name(item->sample.kind), text);
    }
    correlation_origin(climate, text);
    command_fit_comment(file, "    ", text);
    if (has_correlation(climate))
        correlation(file, climate);
    normals_origin(climate, text);
    command_fit_comment(file, "    ", text);
    if (has_normals(climate)) {
        monthly(file, "tmin_c", climate->normal_c[0]);
        monthly(file, "tmax_c", climate->normal_c[1]);
    }
    report_print(file, "};\n");
}

/* ---- the answer -------------------------------------------------------------------------------------------------------- */

/* A figure of a row: a date, or a number with its unit. */
static void told(const struct command_fit *fit, const struct command_fit_item *item, bool spread, double value, char text[24])
{
    if (is_date(item) && !spread)
        day_text(fit, value, text);
    else
        snprintf(text, 24, "%.3g %s", value, is_date(item) ? "days" : "C");
}

/* A line of the table: a parameter with its error and its range. */
static void tell_row(const struct command_fit *fit, const struct command_fit_item *item, int parameter)
{
    int shape = item->verdict.chosen;
    const struct records_fit *best = &item->verdict.fit[shape];
    const char *name = records_parameter_name(best->shape, parameter);
    bool spread = strcmp(name, "sd") == 0;
    double low = item->verdict.low[shape][parameter], high = item->verdict.high[shape][parameter];
    char value[24], error[24], from[24], until[24];
    told(fit, item, spread, best->p[parameter], value);
    told(fit, item, true, best->std_error[parameter], error);
    told(fit, item, spread, low, from);
    told(fit, item, spread, high, until);
    printf("    %-5s %-10s", name, value);
    if (isfinite(best->std_error[parameter]))
        printf(" standard error %s", error);
    if (isfinite(low) && isfinite(high))
        printf("%*s95 %% range %s to %s", isfinite(best->std_error[parameter]) ? (int)(12 - strlen(error)) : 28, "", from, until);
    putchar('\n');
}

static void tell_item(const struct command_fit *fit, const struct command_fit_item *item)
{
    char text[COMMAND_FIT_ORIGIN];
    printf("\nclimate.%s", records_kind_name(item->sample.kind));
    if (value_of(fit, item, text))
        printf(" = %s", text);
    origin_of(fit, item, false, text);
    printf("\n  %s\n", text);
    for (int i = 0; item->verdict.chosen >= 0 && i < item->verdict.fit[item->verdict.chosen].parameters; i++)
        tell_row(fit, item, i);
}

void command_fit_tell_climate(const struct command_fit *fit)
{
    char text[COMMAND_FIT_ORIGIN];
    seasons_text(fit, text);
    printf("%s%s: %s\n", fit->has_notebook ? "\n" : "", fit->options->weather, text);
    for (int i = 0; i < RECORDS_FIGURES; i++)
        tell_item(fit, &fit->climate_item[i]);
    correlation_origin(fit->climate, text);
    printf("\nclimate.correlation\n  %s\n", text);
    normals_origin(fit->climate, text);
    printf("\nclimate.tmin_c, tmax_c\n  %s\n", text);
}
