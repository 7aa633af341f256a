/* Streams as trials use them: the first draws at neighbouring addresses are uncorrelated and uniform.
 * Bounds are five standard errors (0.25 of a million alarms falsely over all of these checks together). */
#include "unit/chance/made.h"

enum { PAIRS = 1 << 17, CELLS = 64 };

/* An address; one part of it is counted up, the others stay. */
struct address { uint64_t seed, trial; int season; char entity[32]; unsigned purpose; uint64_t unit, index; };

enum part { SEED, TRIAL, SEASON, ENTITY, PURPOSE, UNIT, INDEX, PARTS };
static const char *const names[PARTS] = { "seed", "trial", "season", "entity", "purpose", "unit", "index" };

static double drawn(const struct address *at)
{
    struct chance_pcg pcg = chance_stream(chance_season_key(at->seed, at->trial, at->season),
                                          chance_stream_key(at->entity, at->purpose));
    chance_pcg_advance(&pcg, at->unit * CHANCE_UNIT_STRIDE + at->index);
    return chance_uniform(chance_pcg_next(&pcg));
}

static struct address counted(enum part part, uint64_t i)
{
    struct address at = { 20260101u, 3, 1, "wigwams", 5, 2, 0 };
    switch (part) {
    case SEED: at.seed = i; break;
    case TRIAL: at.trial = i; break;
    case SEASON: at.season = (int)i - 10; break;
    case ENTITY: snprintf(at.entity, sizeof at.entity, "bed%llu", (unsigned long long)i); break;
    case PURPOSE: at.purpose = (unsigned)i; break;
    case UNIT: at.unit = i; break;
    default: at.index = i; break;
    }
    return at;
}

/* Correlation of draws a lag apart, in standard errors. */
static double correlation(const double *u, int lag)
{
    double sum = 0.0;
    for (int i = 0; i + lag < PAIRS; i++)
        sum += (u[i] - 0.5) * (u[i + lag] - 0.5) * 12.0;
    return sum / sqrt((double)(PAIRS - lag));
}

/* Chi-square of pairs a lag apart over a square of cells, in standard deviations from its mean. */
static double pair_excess(const double *u, int lag)
{
    static int seen[CELLS * CELLS];
    double expected = (double)(PAIRS - lag) / (CELLS * CELLS), chi = 0.0, freedom = CELLS * CELLS - 1;
    memset(seen, 0, sizeof seen);
    for (int i = 0; i + lag < PAIRS; i++)
        seen[(int)(u[i] * CELLS) * CELLS + (int)(u[i + lag] * CELLS)]++;
    for (int k = 0; k < CELLS * CELLS; k++)
        chi += (seen[k] - expected) * (seen[k] - expected) / expected;
    return (chi - freedom) / sqrt(2.0 * freedom);
}

static void neighbours_are_strangers(void **state)
{
    double *u = malloc(PAIRS * sizeof *u);
    (void)state;
    assert_non_null(u);
    for (int part = 0; part < PARTS; part++) {
        for (int i = 0; i < PAIRS; i++) {
            struct address at = counted((enum part)part, (uint64_t)i);
            u[i] = drawn(&at);
        }
        for (int lag = 1; lag <= 64; lag *= 2) {
            double z = correlation(u, lag), excess = pair_excess(u, lag);
            if (fabs(z) > 5.0 || fabs(excess) > 5.0) {
                print_error("%s, lag %d: correlation %.1f, chi-square %.1f sigma\n", names[part], lag, z,
                            excess);
                fail();
            }
        }
    }
    free(u);
}

/* Sums of a trial's draws over many units, purposes and seasons have the variance of independent ones. */
static void sums_spread_as_they_should(void **state)
{
    enum { TRIALS = 20000, UNITS = 12, PURPOSES = 3 };
    double square = 0.0, fourth = 0.0;
    (void)state;
    for (uint64_t trial = 0; trial < TRIALS; trial++) {
        uint64_t season = chance_season_key(1, trial, 0);
        double sum = 0.0;
        for (unsigned purpose = 0; purpose < PURPOSES; purpose++) {
            struct chance_pcg unit = chance_stream(season, chance_stream_key("wigwams", purpose));
            for (int i = 0; i < UNITS; i++, unit = chance_next_unit(unit)) {
                struct chance_pcg pcg = unit;
                sum += chance_uniform(chance_pcg_next(&pcg)) - 0.5;
            }
        }
        square += sum * sum;
        fourth += sum * sum * sum * sum;
    }
    double variance = square / TRIALS, error = sqrt((fourth / TRIALS - variance * variance) / TRIALS);
    check_within(variance, UNITS * PURPOSES / 12.0, 5.0 * error);
}

/* One bit of any part of the address changes half of the word's bits. */
static void every_bit_matters(void **state)
{
    (void)state;
    for (int part = SEED; part <= TRIAL; part++)
        for (int bit = 0; bit < 64; bit++) {
            int changed = 0;
            for (uint64_t i = 0; i < 200; i++) {
                struct address a = counted((enum part)part, chance_mix(i)), b = a;
                *(part == SEED ? &b.seed : &b.trial) ^= UINT64_C(1) << bit;
                struct chance_pcg x = chance_stream(chance_season_key(a.seed, a.trial, 0), 9);
                struct chance_pcg y = chance_stream(chance_season_key(b.seed, b.trial, 0), 9);
                changed += __builtin_popcountll(chance_pcg_next(&x) ^ chance_pcg_next(&y));
            }
            check_within(changed, 200 * 32, 6.0 * sqrt(200 * 16.0));
        }
}

static void keys_tell_entities_and_purposes_apart(void **state)
{
    static const char *const entities[] = { "",   "a",   "b",       "ab",     "ba",
                                            "aa", "aaa", "wigwams", "wigwam", "wigwamS" };
    enum { ENTITIES = sizeof entities / sizeof *entities, PURPOSES = 40, KEYS = ENTITIES * PURPOSES };
    uint64_t keys[KEYS];
    (void)state;
    for (int i = 0; i < KEYS; i++) {
        keys[i] = chance_stream_key(entities[i / PURPOSES], (unsigned)(i % PURPOSES));
        for (int k = 0; k < i; k++)
            assert_true(keys[k] != keys[i]);
        assert_true(keys[i] == chance_stream_key(entities[i / PURPOSES], (unsigned)(i % PURPOSES)));
    }
    assert_true(chance_season_key(1, 2, -1) != chance_season_key(1, 2, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(neighbours_are_strangers), cmocka_unit_test(sums_spread_as_they_should),
        cmocka_unit_test(every_bit_matters), cmocka_unit_test(keys_tell_entities_and_purposes_apart)
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
