/* check.c: tideover check: a scenario's settings, where each came from, and what they imply before any trial is believed. */
#include "command/command.h"

#include <stdlib.h>
#include <string.h>

#include "harvest/harvest.h"

enum { SEASONS = 400 };
static const uint64_t CHECK_SEED = 0x636865636bu; /* fixed: a check says the same for any random seed */

/* What a planting brought in so many seasons. */
struct sample { double grown[SEASONS], share_ripe[SEASONS]; int out[SEASONS], done[SEASONS], bore_n; };

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static int by_day(const void *a, const void *b) { return *(const int *)a - *(const int *)b; }

static void day_text(const struct plan *plan, int day, char text[32])
{
    char mm_dd[6];
    base_mm_dd(((day + plan->scenario->year_starts) % SCENARIO_DAYS + SCENARIO_DAYS) % SCENARIO_DAYS, mm_dd);
    snprintf(text, 32, "%s", mm_dd);
}

struct sampling { struct sample *sample; int n; };

/* What a season brought: the watch of a trial. Ripe: whole fruits; for beans, the share of the seed brought in. */
static void note(void *context, const struct plan *plan, const struct future_season *season)
{
    struct sampling *sampling = context;
    for (int p = 0; p < plan->plantings_n; p++) {
        const struct harvest *harvest = &season->harvest[p];
        struct sample *sample = &sampling->sample[p];
        const struct scenario_crop *crop = plan->plantings[p].crop;
        bool beans = crop->kind == SCENARIO_KIND_BEANS;
        int after_frost = season->weather->last_frost + 1, ripe = 0;
        for (int f = 0; !beans && f < harvest->n; f++)
            ripe += harvest->cure[f] != SCENARIO_UNRIPE;
        double brought = harvest->grown_kg > 0 ? 1 - harvest->field_loss_kg / harvest->grown_kg : 0;
        sample->grown[sampling->n] = harvest->grown_kg;
        if (beans ? harvest->grown_kg > 0 : harvest->n > 0) /* a season that bears nothing says nothing of ripeness */
            sample->share_ripe[sample->bore_n++] = beans ? brought : (double)ripe / harvest->n;
        sample->out[sampling->n] = crop->waits_for_frost && after_frost > crop->plant_out ? after_frost : crop->plant_out;
        sample->done[sampling->n] = beans ? 7 * harvest->first_week : harvest->cut_day;
    }
    sampling->n++;
}

static void print_planting(const struct plan *plan, int p, struct sample *sample, int n)
{
    const struct plan_planting *planting = &plan->plantings[p];
    bool beans = planting->crop->kind == SCENARIO_KIND_BEANS;
    char out[32], done[32];
    qsort(sample->grown, (size_t)n, sizeof *sample->grown, by_value);
    qsort(sample->share_ripe, (size_t)sample->bore_n, sizeof *sample->share_ripe, by_value);
    qsort(sample->out, (size_t)n, sizeof *sample->out, by_day);
    qsort(sample->done, (size_t)n, sizeof *sample->done, by_day);
    day_text(plan, sample->out[n / 2], out);
    day_text(plan, sample->done[n / 2], done);
    printf("  %s: %g x %s of %s\n", planting->planting->name, planting->planting->count, planting->crop->unit,
           planting->crop->name);
    printf("    planted out about %s; %s about %s\n", out, beans ? "first beans in jars" : "cut",
           beans && sample->done[n / 2] >= 7 * SCENARIO_WEEKS * 2 ? "never" : done);
    printf("    grows %.3g kg in a usual year (%.3g to %.3g in 8 years of 10)\n", sample->grown[n / 2], sample->grown[n / 10],
           sample->grown[n - 1 - n / 10]);
    if (sample->bore_n == 0)
        printf("    bears nothing in any of these seasons\n");
    else
        printf("    %s: %.0f %% in a usual year, %.0f %% in a bad one (one in ten)\n",
               beans ? "brought in dry or finished indoors" : "ripe when cut", 100 * sample->share_ripe[sample->bore_n / 2],
               100 * sample->share_ripe[sample->bore_n / 10]);
}

static void print_weather(const struct plan *plan)
{
    int last[SEASONS], hard[SEASONS];
    double heat[SEASONS];
    for (int n = 0; n < SEASONS; n++) {
        struct season season;
        season_draw(plan_of_trial(plan, CHECK_SEED, (uint64_t)n), chance_season_key(CHECK_SEED, (uint64_t)n, 0), NULL, &season);
        last[n] = season.last_frost;
        hard[n] = season.first_hard_frost;
        heat[n] = plan->weather.bases > 0 ? season_heat(plan, &season, 0, SCENARIO_DAYS) : 0;
    }
    qsort(last, SEASONS, sizeof last[0], by_day);
    qsort(hard, SEASONS, sizeof hard[0], by_day);
    qsort(heat, SEASONS, sizeof heat[0], by_value);
    char day[6][32];
    for (int i = 0; i < 3; i++) {
        int at = i == 0 ? SEASONS / 10 : i == 1 ? SEASONS / 2 : SEASONS - 1 - SEASONS / 10;
        day_text(plan, last[at], day[i]);
        day_text(plan, hard[at], day[3 + i]);
    }
    printf("\nWhat these settings imply (from %d seasons; one year in ten before the first, one after the last)\n", SEASONS);
    printf("  last spring frost: %s, %s, %s; first hard frost: %s, %s, %s\n", day[0], day[1], day[2], day[3], day[4], day[5]);
    if (plan->weather.bases > 0)
        printf("  heat of the year above %g degrees C: %.0f, %.0f, %.0f degree-days\n", plan->weather.base_c[0],
               heat[SEASONS / 10], heat[SEASONS / 2], heat[SEASONS - 1 - SEASONS / 10]);
}

static void print_wants(const struct plan *plan)
{
    static const char *const names[SCENARIO_FOODS] = { "dry beans", "squash flesh" };
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        double kg = 0;
        const struct scenario_household *household = &plan->scenario->household;
        for (int week = 0; week < SCENARIO_WEEKS; week++)
            kg += (plan->portions[food][week] + household->guests_chance * plan->guest_portions[food][week])
                  * household->meal[food].portion_kg;
        if (kg > 0)
            printf("  the household wants %.3g kg of %s a year\n", kg, names[food]);
    }
}

static enum base_result imply(struct base_arena *arena, const struct plan *plan)
{
    struct future_trial *trial = future_room(arena, plan);
    struct sampling sampling = { base_arena_array(arena, (size_t)plan->plantings_n + 1, sizeof(struct sample)), 0 };
    if (!trial || !sampling.sample)
        return BASE_FAILED;
    print_weather(plan);
    future_sample_seasons(plan, trial, CHECK_SEED, SEASONS, note, &sampling);
    for (int p = 0; p < plan->plantings_n; p++)
        print_planting(plan, p, &sampling.sample[p], sampling.n);
    print_wants(plan);
    return BASE_OK;
}

enum base_result command_check(const struct command_options *options)
{
    if (options->args_n != 1)
        return command_refuse("check wants one scenario file; see tideover --help");
    struct base_arena arena = { 0 };
    struct command_loaded loaded;
    enum base_result result = command_load(&arena, options, options->args[0], NULL, 0, &loaded);
    if (result == BASE_OK && !options->quiet) {
        scenario_print_settings(loaded.scenario, stdout);
        result = imply(&arena, loaded.plan);
    }
    base_arena_free(&arena);
    return command_end_output(result);
}
