/* fit_words.c: what tideover fit says of a figure of the notebook, and the setting that it becomes. */
#include "command/fit.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

const char *command_fit_setting(enum records_kind kind)
{
    return kind == RECORDS_KEPT ? "keeps_weeks" : records_kind_name(kind);
}

const char *command_cure_name(enum scenario_cure cured)
{
    static const char *const names[] = { "unripe", "poor", "well" };
    return names[cured];
}

static const char *unit_of(enum records_kind kind)
{
    return kind == RECORDS_FRUITS ? "fruits" : kind == RECORDS_KEPT ? "weeks" : "kg";
}

/* ---- words ---------------------------------------------------------------------------------------------------- */

bool command_fit_value(const struct command_fit_item *item, char text[COMMAND_FIT_VALUE])
{
    const struct records_verdict *verdict = &item->verdict;
    if (verdict->chosen >= 0) {
        const struct records_fit *fit = &verdict->fit[verdict->chosen];
        int n = snprintf(text, COMMAND_FIT_VALUE, "{ shape = \"%s\"; %s = %.6g; ", records_shape_name(fit->shape),
                         records_parameter_name(fit->shape, 0), fit->p[0]);
        if (fit->parameters > 1)
            n += snprintf(text + n, COMMAND_FIT_VALUE - (size_t)n, "%s = %.6g; ", records_parameter_name(fit->shape, 1), fit->p[1]);
        /* Censored lives say little: what spoiled counts. */
        int records = item->sample.events + item->sample.prior_n;
        snprintf(text + n, COMMAND_FIT_VALUE - (size_t)n, "from_records = %d; }", records);
        return true;
    }
    if (!verdict->has_triplet)
        return false;
    /* A tail so wide may have no variance, and reaches anywhere: it is cut at twice its p90. */
    const double *t = verdict->triplet;
    snprintf(text, COMMAND_FIT_VALUE, "{ p10 = %.4g; p50 = %.4g; p90 = %.4g; at_most = %.4g; }", t[0], t[1], t[2], ceil(200 * t[2]) / 100);
    return true;
}

void command_fit_add(struct command_fit_words *words, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    int n = vsnprintf(words->text + words->n, COMMAND_FIT_ORIGIN - words->n, format, args);
    va_end(args);
    words->n = n < 0 || words->n + (size_t)n >= COMMAND_FIT_ORIGIN ? COMMAND_FIT_ORIGIN - 1 : words->n + (size_t)n;
}

static void say_records(const struct records_sample *sample, struct command_fit_words *words)
{
    command_fit_add(words, "From %d record%s", sample->n, sample->n == 1 ? "" : "s");
    if (sample->years > 0)
        command_fit_add(words, " in %d year%s", sample->years, sample->years == 1 ? "" : "s");
    if (sample->kind == RECORDS_KEPT)
        command_fit_add(words, " (%d spoiled, the others were eaten or are still sound)", sample->events);
    if (sample->kind == RECORDS_KEPT && sample->one_life)
        command_fit_add(words, ", all places and cures as one life with the scenario's factors");
    else if (sample->kind == RECORDS_KEPT)
        command_fit_add(words, ", cured %s%s%s", command_cure_name(sample->cured), sample->place[0] ? ", kept in " : "",
                        sample->place);
}

static void say_fit(const struct records_verdict *verdict, const struct records_sample *sample, struct command_fit_words *words)
{
    const struct records_fit *fit = &verdict->fit[verdict->chosen];
    int others = 0;
    for (int s = 0; s < RECORDS_SHAPES; s++)
        others += verdict->fitted[s];
    command_fit_add(words, ": %s, the best of %d shape%s by AICc (%.2f); mean %.3g %s, standard error %.2g; %s %.3g.",
                    records_shape_name(fit->shape), others, others == 1 ? "" : "s", fit->aicc, fit->mean, unit_of(sample->kind),
                    fit->mean_std_error, verdict->statistic_name, verdict->statistic[verdict->chosen]);
}

void command_fit_origin(const struct command_fit *fit, const struct command_fit_item *item, char text[COMMAND_FIT_ORIGIN])
{
    struct command_fit_words words = { text, 0 };
    const struct records_sample *sample = &item->sample;
    say_records(sample, &words);
    if (sample->prior_n > 0)
        command_fit_add(&words, " and the library's figure as %d more", sample->prior_n);
    if (item->verdict.chosen >= 0)
        say_fit(&item->verdict, sample, &words);
    else if (sample->kind == RECORDS_KEPT)
        command_fit_add(&words, ": fewer than %d spoiled, which is too few to say how long it keeps.", (int)RECORDS_FEWEST);
    else if (item->verdict.has_triplet)
        command_fit_add(&words, ": %s for a shape, so a triplet widened for so few (where one more would lie, by Student's t, cut "
                        "at twice the p90).",
                        sample->n < RECORDS_FEWEST ? "too few" : "they differ too little");
    else
        command_fit_add(&words, ": too few to say how they spread.");
    if (sample->kind == RECORDS_KEPT && item->verdict.chosen >= 0)
        command_fit_add(&words, " Fruit that is eaten because it looks worst makes this too long.");
    if (!isnan(item->apart))
        command_fit_add(&words, " Your mean %.3g (standard error %.2g), the library's %.3g: %.1f standard errors apart%s.",
                        item->verdict.own_mean, item->verdict.own_mean_error, item->prior_mean, fabs(item->apart),
                        fabs(item->apart) > 2 ? ", more than chance would bring" : "");
    bool weights = sample->kind == RECORDS_UNIT_KG || sample->kind == RECORDS_FRUIT_KG;
    if (weights && sample->years > 1)
        command_fit_add(&words, " Its spread holds the difference of years: with year_factor beside it that counts twice.");
    if (sample->kind == RECORDS_KEPT && !sample->one_life && fit->factors == NULL && item->used && item->verdict.chosen >= 0)
        command_fit_add(&words, " The setting is for a place with keeps_factor 1: let this place have that factor.");
}

void command_fit_comment(struct report_file *file, const char *indent, const char *text)
{
    enum { WIDTH = 104 };
    while (*text) {
        size_t n = strlen(text), most = WIDTH - strlen(indent);
        if (n > most)
            for (n = most; n > 0 && text[n] != ' ';)
                n--;
        n = n == 0 ? (strlen(text) < most ? strlen(text) : most) : n;
        report_print(file, "%s// ", indent);
        for (size_t i = 0; i < n; i++)
            report_print(file, "%c", (unsigned char)text[i] < 0x20 || (unsigned char)text[i] > 0x7e ? '?' : text[i]);
        report_print(file, "\n");
        text += n;
        text += *text == ' ';
    }
}
