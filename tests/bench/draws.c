/* Speed of drawing and of building tables: nanoseconds a draw in a bare loop (a word of PCG and one look-
 * up), and microseconds a table. Prints the fastest of several runs. `draws WORDS LOOKUPS` prints what so many
 * words, so many of them looked up, take in the fastest bare loop: the bound of a trial that draws as many. */
#include "chance/chance.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

enum { DRAWS = 20000000, RUNS = 5 };

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* One stream after another draw, as a trial does for one purpose of one unit after another. */
static double in_a_row(const struct chance_table *table, double *sum)
{
    struct chance_pcg pcg = chance_pcg_seeded(1, 2);
    double began = seconds();
    for (int i = 0; i < DRAWS; i++)
        *sum += chance_curve(table->cubic, chance_pcg_next(&pcg));
    return seconds() - began;
}

/* Through chance_draw, which asks for the kind. */
static double by_kind(const struct chance_table *table, double *sum)
{
    struct chance_pcg pcg = chance_pcg_seeded(1, 2);
    double began = seconds();
    for (int i = 0; i < DRAWS; i++)
        *sum += chance_draw(table, chance_pcg_next(&pcg));
    return seconds() - began;
}

/* A new stream for every draw: address, word, look-up. */
static double addressed(const struct chance_table *table, double *sum)
{
    double began = seconds();
    for (int i = 0; i < DRAWS; i++) {
        struct chance_pcg pcg = chance_stream(chance_season_key(1, (uint64_t)i, 0), 12345);
        *sum += chance_draw(table, chance_pcg_next(&pcg));
    }
    return seconds() - began;
}

static double fastest(double (*run)(const struct chance_table *, double *), const struct chance_table *table)
{
    double best = 1e9, sum = 0.0;
    for (int i = 0; i < RUNS; i++) {
        double took = run(table, &sum);
        best = took < best ? took : best;
    }
    if (!(sum > 0.0))
        printf("no sum: ");
    return best / DRAWS * 1e9;
}

static const struct { const char *name; struct scenario_distribution spec; } builds[] = {
    { "lognormal(1, 0.3)", { .shape = SCENARIO_LOGNORMAL, .bound = SCENARIO_POSITIVE, .a = { 1, 0.3 } } },
    { "triplet(2, 5, 10)", { .shape = SCENARIO_TRIPLET, .bound = SCENARIO_POSITIVE, .a = { 2, 5, 10 } } },
    { "gamma k 0.05", { .shape = SCENARIO_GAMMA_SHAPE, .bound = SCENARIO_POSITIVE, .a = { 0.05, 1 } } },
    { "gamma k 4", { .shape = SCENARIO_GAMMA_SHAPE, .bound = SCENARIO_POSITIVE, .a = { 4, 1 } } },
    { "gamma k 100", { .shape = SCENARIO_GAMMA_SHAPE, .bound = SCENARIO_POSITIVE, .a = { 100, 1 } } },
    { "gamma k 10000", { .shape = SCENARIO_GAMMA_SHAPE, .bound = SCENARIO_POSITIVE, .a = { 10000, 1 } } },
    { "beta(0.9, sd 0.05)", { .shape = SCENARIO_BETA, .bound = SCENARIO_SHARE, .a = { 0.9, 0.05 } } },
    { "beta(50, 20)", { .shape = SCENARIO_BETA_SHAPE, .bound = SCENARIO_SHARE, .a = { 50, 20 } } },
    { "pert(1, 2, 6)", { .shape = SCENARIO_PERT, .bound = SCENARIO_POSITIVE, .a = { 1, 2, 6 } } },
    { "triangular(1, 2, 6)", { .shape = SCENARIO_TRIANGULAR, .bound = SCENARIO_POSITIVE, .a = { 1, 2, 6 } } },
    { "weibull(20, 6)", { .shape = SCENARIO_WEIBULL, .bound = SCENARIO_POSITIVE, .a = { 20, 6 } } },
    { "poisson(4)", { .shape = SCENARIO_POISSON, .bound = SCENARIO_COUNT, .a = { 4 } } },
};

/* Judging and building; the distribution function's table beside it. */
static bool time_building(int i)
{
    double best = 1e9, best_cdf = 1e9;
    for (int run = 0; run < 20; run++) {
        struct base_arena arena = { .last = NULL };
        struct base_complaints complaints = { .errors = 0 };
        double began = seconds();
        const struct chance_distribution *d = chance_make(&arena, &builds[i].spec, &complaints);
        const struct chance_table *table = d ? chance_table_make(&arena, d) : NULL;
        double built = seconds();
        const struct chance_cdf_table *cdf = d ? chance_cdf_table_make(&arena, d) : NULL;
        double done = seconds();
        best = built - began < best ? built - began : best;
        best_cdf = done - built < best_cdf ? done - built : best_cdf;
        base_complaints_free(&complaints);
        base_arena_free(&arena);
        if (!table || !cdf)
            return false;
    }
    printf("%-22s %8.0f us quantiles, %8.0f us distribution function\n", builds[i].name, best * 1e6,
           best_cdf * 1e6);
    return true;
}

enum { LANES = 4, BOUND_TRIALS = 200000 };

/* Words of several streams by turns, so that none waits for the one before; the first of them looked up. */
static double bound_ns(const struct chance_table *table, int words, int lookups)
{
    struct chance_pcg pcg[LANES];
    double best = 1e9, sum = 0.0;
    uint64_t mixed = 0;
    for (int lane = 0; lane < LANES; lane++)
        pcg[lane] = chance_pcg_seeded(1, (uint64_t)lane);
    for (int run = 0; run < RUNS; run++) {
        double began = seconds();
        for (int trial = 0; trial < BOUND_TRIALS; trial++) {
            int i = 0;
            for (; i + LANES <= lookups; i += LANES)
                for (int lane = 0; lane < LANES; lane++)
                    sum += chance_curve(table->cubic, chance_pcg_next(&pcg[lane]));
            for (; i + LANES <= words; i += LANES)
                for (int lane = 0; lane < LANES; lane++)
                    mixed ^= chance_pcg_next(&pcg[lane]);
        }
        double took = seconds() - began;
        best = took < best ? took : best;
    }
    if (!(sum > 0.0) || mixed == 0)
        printf("nothing drawn: ");
    return best / BOUND_TRIALS * 1e9;
}

int main(int argc, char **argv)
{
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    chance_start();
    const struct chance_distribution *d = chance_make(&arena, &builds[0].spec, &complaints);
    const struct chance_table *table = d ? chance_table_make(&arena, d) : NULL;
    if (!table)
        return 1;
    if (argc == 3) {
        printf("bound %.1f\n", bound_ns(table, atoi(argv[1]), atoi(argv[2])));
        return 0;
    }
    printf("word and chance_curve   %.2f ns\n", fastest(in_a_row, table));
    printf("word and chance_draw    %.2f ns\n", fastest(by_kind, table));
    printf("address, word and draw  %.2f ns\n", fastest(addressed, table));
    bool fine = true;
    for (size_t i = 0; i < sizeof builds / sizeof *builds; i++)
        fine = fine && time_building((int)i);
    base_arena_free(&arena);
    base_complaints_free(&complaints);
    return fine ? 0 : 1;
}
