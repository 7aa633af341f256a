/* fit.c: tideover fit: the household's notebook and its daily weather become settings. */
#include "command/fit.h"

#include <math.h>
#include <string.h>

static const struct scenario_crop *crop_of(const struct scenario *scenario, const char *name)
{
    for (int c = 0; scenario && c < scenario->crops_n; c++)
        if (strcmp(scenario->crops[c].name, name) == 0)
            return &scenario->crops[c];
    return NULL;
}

/* ---- what is read -------------------------------------------------------------------------------------------- */

static bool is_there(const char *path)
{
    FILE *file = path ? fopen(path, "r") : NULL;
    if (file)
        fclose(file);
    return file != NULL;
}

/* A file as named, or in the library, with or without .cfg. */
static const char *find_file(const struct command_fit *fit, const char *path)
{
    const char *configs = command_configs_dir(fit->arena, fit->options->configs);
    const char *const folders[] = { "", configs };
    for (int f = 0; f < 2 && folders[f]; f++)
        for (int ending = 0; ending < 2; ending++) {
            const char *whole = base_arena_print(fit->arena, "%s%s%s%s", folders[f], f ? "/" : "", path, ending ? ".cfg" : "");
            if (is_there(whole))
                return whole;
        }
    return path;
}

static enum base_result load_crops(const struct command_fit *fit, const char *path, const struct scenario **crops)
{
    struct base_complaints complaints = { 0 };
    struct scenario_request request = { .path = find_file(fit, path),
                                        .configs_dir = command_configs_dir(fit->arena, fit->options->configs) };
    enum base_result result = scenario_load_crops(fit->arena, &request, crops, &complaints);
    enum base_result said = command_said(&complaints, result == BASE_OK);
    return result == BASE_FAILED ? result : said;
}

static const struct scenario_place *place_of(const struct scenario *scenario, const char *name)
{
    if (name[0] == '\0' && scenario->places_n > 0)
        return &scenario->places[0];
    for (int p = 0; p < scenario->places_n; p++)
        if (scenario->places[p].name && strcmp(scenario->places[p].name, name) == 0)
            return &scenario->places[p];
    return NULL;
}

/* Factor on a fruit's life: of its place and of how it cured, as the scenario has them. */
static double life_factor(const void *context, const struct records_note *note)
{
    const struct scenario *scenario = context;
    const struct scenario_crop *crop = crop_of(scenario, note->crop);
    const struct scenario_place *place = place_of(scenario, note->place);
    double factor = place ? place->keeps_factor : 1;
    if (crop && note->cured != SCENARIO_WELL)
        factor *= note->cured == SCENARIO_POOR ? crop->poor_cure_factor : crop->unripe_factor;
    return factor;
}

static enum base_result check_factors(const struct command_fit *fit)
{
    for (int i = 0; fit->factors && i < fit->notebook->n; i++) {
        const struct records_note *note = &fit->notebook->note[i];
        if (note->kind != RECORDS_KEPT)
            continue;
        if (!crop_of(fit->factors, note->crop))
            return command_refuse("%s:%d: the scenario has no crop \"%s\"", fit->options->args[0], note->line, note->crop);
        if (note->place[0] && !place_of(fit->factors, note->place))
            return command_refuse("%s:%d: the scenario has no place \"%s\"", fit->options->args[0], note->line, note->place);
        if (!(life_factor(fit->factors, note) > 0))
            return command_refuse("%s:%d: the scenario's factor on this fruit's life is 0", fit->options->args[0], note->line);
    }
    return BASE_OK;
}

static enum base_result check_prior(const struct command_fit *fit)
{
    bool any = fit->prior == NULL;
    for (int i = 0; fit->prior && i < fit->notebook->n; i++)
        any |= crop_of(fit->prior, fit->notebook->note[i].crop) != NULL;
    return any ? BASE_OK : command_refuse("%s has none of the notebook's crops: they go by the same name in both",
                                          fit->options->prior);
}

static enum base_result read_all(struct command_fit *fit)
{
    const struct command_options *options = fit->options;
    struct base_complaints complaints = { 0 };
    static const struct records_notebook none;
    fit->notebook = fit->has_notebook ? records_read_notebook(fit->arena, options->args[0], &complaints) : &none;
    enum base_result result = command_said(&complaints, fit->notebook != NULL);
    if (result == BASE_OK && options->args_n > 1)
        result = load_crops(fit, options->args[1], &fit->factors);
    if (result == BASE_OK && options->prior)
        result = load_crops(fit, options->prior, &fit->prior);
    if (result == BASE_OK && options->weather)
        result = command_read_record(fit->arena, options, options->weather, &fit->made_up, fit->weather_sha256, &fit->weather);
    if (result == BASE_OK)
        result = check_factors(fit);
    return result == BASE_OK ? check_prior(fit) : result;
}

/* ---- samples and verdicts --------------------------------------------------------------------------------------- */

/* Of a crop's kept fruit, one life with known factors if there is one; else the well-cured at the place with most spoiled. */
static bool is_used(const struct command_fit *fit, const struct records_sample *sample, int n, int at)
{
    if (sample[at].kind != RECORDS_KEPT || sample[at].one_life)
        return true;
    if (fit->factors || sample[at].cured != SCENARIO_WELL)
        return false;
    for (int s = 0; s < n; s++) {
        bool rival = s != at && sample[s].kind == RECORDS_KEPT && sample[s].cured == SCENARIO_WELL
                     && strcmp(sample[s].crop, sample[at].crop) == 0;
        if (rival && (sample[s].events > sample[at].events || (sample[s].events == sample[at].events && s < at)))
            return false;
    }
    return true;
}

static const struct scenario_distribution *prior_of(const struct scenario_crop *crop, enum records_kind kind)
{
    const struct scenario_distribution *spec = kind == RECORDS_UNIT_KG    ? &crop->unit_kg
                                               : kind == RECORDS_FRUITS   ? &crop->fruits
                                               : kind == RECORDS_FRUIT_KG ? &crop->fruit_kg
                                                                          : &crop->keeps_weeks;
    return spec->set ? spec : NULL;
}

static enum base_result blend(const struct command_fit *fit, struct command_fit_item *item)
{
    const struct scenario_crop *crop = item->used ? crop_of(fit->prior, item->sample.crop) : NULL;
    struct base_complaints complaints = { 0 };
    item->prior_spec = crop ? prior_of(crop, item->sample.kind) : NULL;
    item->prior_mean = item->apart = NAN;
    if (!item->prior_spec)
        return BASE_OK;
    const struct chance_distribution *prior = chance_make(fit->arena, item->prior_spec, &complaints);
    if (prior) {
        records_add_prior(&item->sample, prior, (int)fit->options->weight);
        item->prior_mean = chance_mean(prior);
    }
    return command_said(&complaints, prior != NULL);
}

static enum base_result judge_all(struct command_fit *fit)
{
    int n;
    struct records_sample *sample = records_gather(fit->arena, fit->notebook, fit->prior ? (int)fit->options->weight : 0,
                                                   fit->factors ? life_factor : NULL, fit->factors, &n);
    fit->item = base_arena_array(fit->arena, sample ? (size_t)n : 1, sizeof *fit->item);
    if (!sample || !fit->item)
        return BASE_FAILED;
    fit->items_n = n;
    for (int i = 0; i < n; i++) {
        struct command_fit_item *item = &fit->item[i];
        item->sample = sample[i];
        item->used = is_used(fit, sample, n, i);
        enum base_result result = blend(fit, item);
        if (result != BASE_OK)
            return result;
        if (!records_judge(fit->arena, &item->sample, &item->verdict))
            return BASE_FAILED;
        item->apart = (item->verdict.own_mean - item->prior_mean) / item->verdict.own_mean_error;
    }
    return BASE_OK;
}

static enum base_result judge_warmth(struct command_fit *fit)
{
    fit->warmth = base_arena_array(fit->arena, (size_t)fit->items_n + 1, sizeof *fit->warmth);
    if (!fit->warmth)
        return BASE_FAILED;
    for (int i = 0; fit->weather && i < fit->items_n; i++) {
        const struct records_sample *sample = &fit->item[i].sample;
        struct command_fit_warmth *to = &fit->warmth[fit->warmths_n];
        if (sample->kind != RECORDS_UNIT_KG && sample->kind != RECORDS_FRUIT_KG)
            continue;
        *to = (struct command_fit_warmth){ .crop = sample->crop, .kind = sample->kind };
        if (!records_warmth_of(fit->notebook, to->crop, to->kind, fit->weather, fit->options->year_starts, &to->warmth))
            return BASE_FAILED;
        fit->warmths_n++;
    }
    return BASE_OK;
}

/* ---- the answer --------------------------------------------------------------------------------------------------- */

static void tell_item(const struct command_fit *fit, const struct command_fit_item *item)
{
    const struct records_sample *sample = &item->sample;
    char origin[COMMAND_FIT_ORIGIN], value[COMMAND_FIT_VALUE];
    command_fit_origin(fit, item, origin);
    printf("\n%s.%s", sample->crop, command_fit_setting(sample->kind));
    if (sample->kind == RECORDS_KEPT && !sample->one_life)
        printf(" of fruit cured %s%s%s", command_cure_name(sample->cured), sample->place[0] ? ", kept in " : "", sample->place);
    if (command_fit_value(item, value))
        printf(" = %s%s", value, item->used ? "" : "   (told only, it becomes no setting)");
    printf("\n  %s\n", origin);
}

static void tell(const struct command_fit *fit)
{
    if (fit->has_notebook)
        printf("%s: %d row%s\n", fit->options->args[0], fit->notebook->n, fit->notebook->n == 1 ? "" : "s");
    for (int i = 0; i < fit->items_n; i++)
        tell_item(fit, &fit->item[i]);
    for (int i = 0; i < fit->warmths_n; i++) {
        const struct command_fit_warmth *w = &fit->warmth[i];
        printf("\n%s.follows_warmth", w->crop);
        if (isnan(w->warmth.correlation))
            printf(": not said from %d years that the notebook and the weather record have in common (%d are wanted)\n",
                   w->warmth.years, (int)RECORDS_WARMTH_YEARS);
        else
            printf(" = %.2f, between %.2f and %.2f with 95 %% confidence, from %d years\n", w->warmth.correlation, w->warmth.low,
                   w->warmth.high, w->warmth.years);
    }
    if (fit->climate)
        command_fit_tell_climate(fit);
    printf("\nFiles: %s/fit.cfg (to lay over a scenario%s: extends), fit.csv%s%s, datapackage.json\n", fit->options->out,
           fit->has_notebook ? " or a library's crop" : "", fit->has_notebook ? ", keeping.csv" : "",
           fit->has_notebook && fit->weather ? ", warmth.csv" : "");
}

enum base_result command_fit(const struct command_options *options)
{
    if (options->args_n > 2 || (options->args_n == 0 && !options->weather))
        return command_refuse("fit wants a notebook (CSV), and may have a scenario with the places' and cures' factors; or a daily "
                              "record alone (--weather); see tideover --help");
    if (options->prior && options->args_n == 0)
        return command_refuse("--prior wants a notebook to blend with: a daily record alone says nothing of crops");
    if ((options->prior != NULL) != (options->weight > 0))
        return command_refuse("--prior and --weight go together: how many records is the library's figure worth?");
    struct base_arena arena = { 0 };
    struct command_fit fit = { .arena = &arena, .options = options, .has_notebook = options->args_n > 0 };
    enum base_result result = read_all(&fit);
    if (result == BASE_OK) {
        result = judge_all(&fit);
        if (result == BASE_OK)
            result = judge_warmth(&fit);
        if (result == BASE_OK)
            result = command_fit_judge_climate(&fit);
        if (result == BASE_FAILED)
            fputs("tideover: memory ran out\n", stderr);
    }
    if (result == BASE_OK)
        result = command_fit_write(&fit);
    if (result == BASE_OK && !options->quiet)
        tell(&fit);
    if (result == BASE_OK && options->plot)
        result = command_plot(&arena, options);
    base_arena_free(&arena);
    return command_end_output(result);
}
