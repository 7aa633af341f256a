/* samples.c: rows of the notebook that belong together; a prior's pseudo-records; how years go with the warmth. */
#include "records/records.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <string.h>

static bool belongs(const struct records_sample *sample, const struct records_note *note)
{
    if (sample->kind != note->kind || strcmp(sample->crop, note->crop) != 0)
        return false;
    return note->kind != RECORDS_KEPT || sample->one_life
           || (strcmp(sample->place, note->place) == 0 && sample->cured == note->cured);
}

static bool is_there(const struct records_sample *sample, int n, const struct records_sample *wanted)
{
    for (int s = 0; s < n; s++)
        if (sample[s].kind == wanted->kind && sample[s].one_life == wanted->one_life
            && strcmp(sample[s].crop, wanted->crop) == 0
            && (wanted->one_life || (strcmp(sample[s].place, wanted->place) == 0 && sample[s].cured == wanted->cured)))
            return true;
    return false;
}

static int years_of(const struct records_sample *sample, const struct records_notebook *notebook)
{
    int years = 0;
    for (int i = 0; i < notebook->n; i++) {
        const struct records_note *note = &notebook->note[i];
        bool fresh = note->year != 0 && belongs(sample, note);
        for (int j = 0; j < i && fresh; j++)
            fresh = !belongs(sample, &notebook->note[j]) || notebook->note[j].year != note->year;
        years += fresh;
    }
    return years;
}

/* Lays the notes' figures out, alike ones several times. */
static bool fill(struct base_arena *arena, const struct records_notebook *notebook, int room, records_factor *factor,
                 const void *context, struct records_sample *sample)
{
    size_t n = (size_t)room + 1;
    for (int i = 0; i < notebook->n; i++)
        n += belongs(sample, &notebook->note[i]) ? (size_t)notebook->note[i].count : 0;
    sample->seen = base_arena_array(arena, n, sizeof *sample->seen);
    if (!sample->seen)
        return false;
    for (int i = 0; i < notebook->n; i++) {
        const struct records_note *note = &notebook->note[i];
        for (int k = 0; k < note->count && belongs(sample, note); k++) {
            double by = sample->one_life ? factor(context, note) : 1;
            sample->seen[sample->n++] = (struct records_observation){ note->seen.low / by, note->seen.high / by };
            sample->events += !isinf(note->seen.high);
        }
    }
    sample->years = years_of(sample, notebook);
    return true;
}

struct records_sample *records_gather(struct base_arena *arena, const struct records_notebook *notebook, int room,
                                      records_factor *factor, const void *context, int *n)
{
    struct records_sample *sample = base_arena_array(arena, 2 * (size_t)notebook->n + 1, sizeof *sample);
    *n = 0;
    for (int i = 0; sample && i < notebook->n; i++) {
        const struct records_note *note = &notebook->note[i];
        for (int whole = 0; whole <= (factor != NULL && note->kind == RECORDS_KEPT); whole++) {
            bool kept = note->kind == RECORDS_KEPT && !whole;
            struct records_sample fresh = { .kind = note->kind, .crop = note->crop, .place = kept ? note->place : "",
                                            .cured = kept ? note->cured : SCENARIO_WELL, .one_life = whole };
            if (is_there(sample, *n, &fresh))
                continue;
            if (!fill(arena, notebook, room, factor, context, &fresh))
                return NULL;
            sample[(*n)++] = fresh;
        }
    }
    return sample;
}

void records_add_prior(struct records_sample *sample, const struct chance_distribution *prior, int n)
{
    for (int i = 0; i < n; i++) {
        double value = chance_quantile(prior, (i + 0.5) / n);
        value = sample->kind == RECORDS_FRUITS ? floor(value + 0.5) : value;
        sample->seen[sample->n + sample->prior_n++] = (struct records_observation){ value, value };
    }
}

/* ---- warmth --------------------------------------------------------------------------------------------------- */

/* The year of the season that a date lies in. */
static int season_year(const struct records_note *note, int year_starts)
{
    return note->year - (note->of_year < year_starts);
}

void records_to_scores(const double *value, int n, double *score)
{
    for (int i = 0; i < n; i++) {
        double rank = 0;
        for (int j = 0; j < n; j++)
            rank += value[j] < value[i] ? 1 : value[j] == value[i] ? 0.5 : 0;
        score[i] = gsl_cdf_ugaussian_Pinv(rank / n);
    }
}

/* Mean log of a crop's figures in a season; false when there are none. */
static bool year_mean(const struct records_notebook *notebook, const char *crop, enum records_kind kind, int year,
                      int year_starts, double *mean)
{
    double sum = 0;
    int n = 0;
    for (int i = 0; i < notebook->n; i++) {
        const struct records_note *note = &notebook->note[i];
        if (note->kind != kind || strcmp(note->crop, crop) != 0 || note->year == 0 || season_year(note, year_starts) != year)
            continue;
        sum += note->count * log(note->seen.low);
        n += note->count;
    }
    *mean = n > 0 ? sum / n : NAN;
    return n > 0;
}

bool records_warmth_of(const struct records_notebook *notebook, const char *crop, enum records_kind kind,
                       const struct plan_records *records, int year_starts, struct records_warmth *warmth)
{
    const double base_c = 10;
    double *room = base_alloc(4 * (size_t)records->n * sizeof *room);
    *warmth = (struct records_warmth){ 0, NAN, NAN, NAN };
    if (!room)
        return false;
    double *yields = room, *heat = room + records->n, *scores = room + 2 * records->n, *heat_scores = room + 3 * records->n;
    for (int s = 0; s < records->n; s++) {
        struct records_season season;
        if (!year_mean(notebook, crop, kind, records->season[s].label_year, year_starts, &yields[warmth->years]))
            continue;
        records_season_figures(&records->season[s], 0, &base_c, 1, &season);
        heat[warmth->years++] = season.heat[0];
    }
    int n = warmth->years;
    if (n >= RECORDS_WARMTH_YEARS) {
        records_to_scores(yields, n, scores);
        records_to_scores(heat, n, heat_scores);
        double r = gsl_stats_correlation(scores, 1, heat_scores, 1, (size_t)n);
        double reach = gsl_cdf_ugaussian_Pinv(0.975) / sqrt(n - 3);
        *warmth = (struct records_warmth){ n, r, tanh(atanh(r) - reach), tanh(atanh(r) + reach) };
    }
    base_free(room);
    return true;
}
