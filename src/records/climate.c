/* climate.c: what a daily record says of a climate: frost dates, the season's warmth, monthly normals, how the three go together. */
#include "records/fit.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>

enum { MONTHS = 12 };

bool records_can_be_said(enum records_kind kind, enum records_shape shape, const double p[])
{
    bool is_date = kind != RECORDS_SEASON_WARMTH;
    double first = kind == RECORDS_LAST_FROST ? -(SCENARIO_DAYS / 2) : 0, rounded[RECORDS_MOST_PARAMETERS];
    double last = kind == RECORDS_LAST_FROST ? SCENARIO_DAYS / 2 : SCENARIO_DAYS - 1;
    for (int i = 0; i < (shape == RECORDS_NORMAL ? 1 : 3); i++) {
        rounded[i] = is_date ? floor(p[i] + 0.5) : p[i];
        if (is_date && !(rounded[i] >= first && rounded[i] <= last))
            return false;
    }
    return shape == RECORDS_NORMAL || isfinite(records_triplet_log_density(rounded, rounded[1]));
}

/* ---- normals -------------------------------------------------------------------------------------------------- */

/* Month of a day of the simulation year, 0..11. */
static int month_of(int day, int year_starts)
{
    char mm_dd[6];
    base_mm_dd((year_starts + day) % SCENARIO_DAYS, mm_dd);
    return atoi(mm_dd) - 1;
}

static void take_normals(const struct plan_records *records, int year_starts, struct records_climate *climate)
{
    double sum[2][MONTHS] = { { 0 } };
    int days[MONTHS] = { 0 };
    for (int s = 0; s < records->n; s++) {
        const struct plan_recorded_season *season = &records->season[s];
        bool has[MONTHS] = { false };
        for (int day = 0; day < season->known_days; day++) {
            int month = month_of(day, year_starts);
            sum[0][month] += season->tmin_c[day];
            sum[1][month] += season->tmax_c[day];
            days[month]++;
            climate->normal_seasons[month] += !has[month];
            has[month] = true;
        }
    }
    for (int v = 0; v < 2; v++)
        for (int month = 0; month < MONTHS; month++)
            climate->normal_c[v][month] = days[month] > 0 ? floor(100 * sum[v][month] / days[month] + 0.5) / 100 : NAN;
}

/* Mean of the normals' daily means over the days of heat; months that these do not touch may be missing. */
static double normal_mean(const struct records_climate *climate, int year_starts)
{
    double sum = 0;
    for (int v = 0; v < 2; v++) {
        double monthly[MONTHS], daily[SCENARIO_DAYS];
        for (int month = 0; month < MONTHS; month++)
            monthly[month] = isnan(climate->normal_c[v][month]) ? 0 : climate->normal_c[v][month];
        plan_daily_normals(monthly, year_starts, daily);
        for (int day = RECORDS_HEAT_FROM; day <= RECORDS_HEAT_UNTIL; day++)
            sum += daily[day] / 2;
    }
    return sum / (RECORDS_HEAT_UNTIL - RECORDS_HEAT_FROM + 1);
}

static double season_mean(const struct plan_recorded_season *season)
{
    double sum = 0;
    for (int day = RECORDS_HEAT_FROM; day <= RECORDS_HEAT_UNTIL; day++)
        sum += (season->tmin_c[day] + season->tmax_c[day]) / 2;
    return sum / (RECORDS_HEAT_UNTIL - RECORDS_HEAT_FROM + 1);
}

/* ---- figures of the seasons ------------------------------------------------------------------------------------- */

static struct records_observation exact(double value) { return (struct records_observation){ value, value }; }

/* Drawn dates are rounded to the day, so that what is before day 0 is below -0.5. */
static struct records_observation last_frost(const struct records_season *season)
{
    return season->last_frost < 0 ? (struct records_observation){ -HUGE_VAL, -0.5 } : exact(season->last_frost);
}

static struct records_observation hard_frost(const struct records_season *season, int known_days)
{
    return season->first_hard_frost >= known_days ? (struct records_observation){ known_days - 0.5, HUGE_VAL }
                                                  : exact(season->first_hard_frost);
}

static void note_lacking(struct records_climate *climate, int which, int *years, int year)
{
    years[climate->lacking[which]++] = year;
    climate->lacking_year[which] = years;
}

static bool take_room(struct base_arena *arena, int n, struct records_climate *climate, int *years[2])
{
    static const enum records_kind kinds[RECORDS_FIGURES] = { RECORDS_LAST_FROST, RECORDS_FIRST_HARD_FROST, RECORDS_SEASON_WARMTH };
    bool good = true;
    for (int i = 0; i < RECORDS_FIGURES; i++) {
        climate->sample[i] = (struct records_sample){ .kind = kinds[i], .crop = "", .place = "", .n = n, .years = n,
                                                      .seen = base_arena_array(arena, (size_t)n, sizeof(struct records_observation)) };
        good &= climate->sample[i].seen != NULL;
    }
    for (int i = 0; i < 2; i++) {
        years[i] = base_arena_array(arena, (size_t)n, sizeof *years[i]);
        good &= years[i] != NULL;
    }
    return good;
}

static bool take_figures(struct base_arena *arena, const struct plan_records *records, double hard_frost_c, int year_starts,
                         struct records_climate *climate)
{
    int *years[2];
    if (!take_room(arena, records->n, climate, years))
        return false;
    double normal = normal_mean(climate, year_starts);
    for (int s = 0; s < records->n; s++) {
        const struct plan_recorded_season *season = &records->season[s];
        struct records_season figures;
        records_season_figures(season, hard_frost_c, NULL, 0, &figures);
        climate->sample[RECORDS_AT_LAST_FROST].seen[s] = last_frost(&figures);
        climate->sample[RECORDS_AT_HARD_FROST].seen[s] = hard_frost(&figures, season->known_days);
        climate->sample[RECORDS_AT_WARMTH].seen[s] = exact(season_mean(season) - normal);
        if (figures.last_frost < 0)
            note_lacking(climate, 0, years[0], season->label_year);
        if (figures.first_hard_frost >= season->known_days && season->known_days == SCENARIO_DAYS)
            note_lacking(climate, 1, years[1], season->label_year);
        climate->cut_short += figures.first_hard_frost >= season->known_days && season->known_days < SCENARIO_DAYS;
    }
    for (int i = 0; i < RECORDS_FIGURES; i++)
        for (int s = 0; s < records->n; s++)
            climate->sample[i].events += climate->sample[i].seen[s].low == climate->sample[i].seen[s].high;
    return true;
}

/* ---- how they go together --------------------------------------------------------------------------------------------- */

/* A figure's place among the others: what lies beyond an end counts as at it. */
static double placed(const struct records_observation *seen) { return isinf(seen->low) ? seen->high : seen->low; }

/* Is all known of a season: its hard frost, or that it had none? */
static bool is_whole(const struct plan_records *records, const struct records_climate *climate, int s)
{
    return records->season[s].known_days == SCENARIO_DAYS || !isinf(climate->sample[RECORDS_AT_HARD_FROST].seen[s].high);
}

static void correlate(struct records_climate *climate, const double *score, int i, int j)
{
    int n = climate->correlated;
    double r = gsl_stats_correlation(score + i * n, 1, score + j * n, 1, (size_t)n);
    double reach = gsl_cdf_ugaussian_Pinv(0.975) / sqrt(n - 3);
    climate->correlation[i][j] = climate->correlation[j][i] = r;
    climate->low[i][j] = climate->low[j][i] = tanh(atanh(r) - reach);
    climate->high[i][j] = climate->high[j][i] = tanh(atanh(r) + reach);
}

static bool take_correlation(const struct plan_records *records, struct records_climate *climate)
{
    double *value = base_alloc((RECORDS_FIGURES + 1) * (size_t)records->n * sizeof *value), *score = value + records->n;
    if (!value)
        return false;
    for (int i = 0; i < RECORDS_FIGURES; i++)
        for (int j = 0; j < RECORDS_FIGURES; j++)
            climate->correlation[i][j] = climate->low[i][j] = climate->high[i][j] = i == j ? 1 : NAN;
    for (int s = 0; s < records->n; s++)
        climate->correlated += is_whole(records, climate, s);
    int n = climate->correlated;
    for (int i = 0; i < RECORDS_FIGURES && n >= RECORDS_WARMTH_YEARS; i++) {
        for (int s = 0, at = 0; s < records->n; s++)
            if (is_whole(records, climate, s))
                value[at++] = placed(&climate->sample[i].seen[s]);
        records_to_scores(value, n, score + i * n);
        for (int j = 0; j < i; j++)
            correlate(climate, score, i, j);
    }
    base_free(value);
    return true;
}

const struct records_climate *records_climate_of(struct base_arena *arena, const struct plan_records *records,
                                                 double hard_frost_c, int year_starts)
{
    struct records_climate *climate = base_arena_take(arena, sizeof *climate);
    if (!climate)
        return NULL;
    climate->seasons = records->n;
    climate->first_year = records->season[0].label_year;
    climate->last_year = records->season[records->n - 1].label_year;
    take_normals(records, year_starts, climate);
    bool good = take_figures(arena, records, hard_frost_c, year_starts, climate) && take_correlation(records, climate);
    return good ? climate : NULL;
}
