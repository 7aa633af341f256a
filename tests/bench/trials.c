/* trials.c: what a trial costs, by parts: `trials SCENARIO CONFIGS N` prints nanoseconds of processor time a trial for the
 * future alone, with the headline chance counted, and with all measures and the weekly table; the fastest of several runs.
 * In a build that counts draws (count.h) it prints words and look-ups a trial instead. */
#include "tally/tally.h"

#include <stdlib.h>
#include <time.h>

#ifdef BENCH_COUNT_H
uint64_t bench_words, bench_lookups;
#else
enum { RUNS = 5 };
#endif

struct bench { const struct plan *plan; struct future_trial *trial; struct tally *tally; uint64_t seed; int64_t shorts; };

static void future_alone(struct bench *bench, uint64_t number)
{
    (void)future_run_block(bench->plan, bench->trial, bench->seed, number, PLAN_ABREAST);
}

#ifdef BENCH_COUNT_H
/* Someone who watches makes trials run one by one, where each draw is counted. */
static void watch(void *context, const struct plan *plan, const struct future_season *season)
{
    (void)context, (void)plan, (void)season;
}

static void print_costs(struct bench *bench, uint64_t n)
{
    bench_words = bench_lookups = 0;
    future_set_watch(bench->trial, watch, NULL);
    for (uint64_t number = 0; number < n; number += PLAN_ABREAST)
        future_alone(bench, number);
    printf("words %.2f\nlookups %.2f\n", (double)bench_words / (double)n, (double)bench_lookups / (double)n);
}
#else
static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void headline(struct bench *bench, uint64_t number)
{
    const struct future_block *block = future_run_block(bench->plan, bench->trial, bench->seed, number, PLAN_ABREAST);
    for (int place = 0; place < PLAN_ABREAST; place++)
        for (int y = 0; y < block->ledger[place].years_n; y++)
            bench->shorts += block->ledger[place].year[y].short_weeks[FUTURE_ANY] > 0;
}

static void everything(struct bench *bench, uint64_t number)
{
    tally_add(bench->tally, bench->plan,
              future_run_block(bench->plan, bench->trial, bench->seed, number, PLAN_ABREAST), number);
}

static double fastest_ns(struct bench *bench, uint64_t n, void (*trial)(struct bench *, uint64_t))
{
    double best = 1e9;
    for (int run = 0; run < RUNS; run++) {
        double began = seconds();
        for (uint64_t number = 0; number < n; number += PLAN_ABREAST)
            trial(bench, number);
        double took = seconds() - began;
        best = took < best ? took : best;
    }
    return best / (double)n * 1e9;
}

static void print_costs(struct bench *bench, uint64_t n)
{
    printf("future %.1f\nheadline %.1f\neverything %.1f\n", fastest_ns(bench, n, future_alone), fastest_ns(bench, n, headline),
           fastest_ns(bench, n, everything));
}
#endif

int main(int argc, char **argv)
{
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    const struct scenario *scenario;
    if (argc != 4)
        return 2;
    chance_start();
    struct scenario_request request = { .path = argv[1], .configs_dir = argv[2] };
    if (scenario_load(&arena, &request, &scenario, &complaints) != BASE_OK)
        return 2;
    struct plan *plan = plan_make(&arena, scenario, NULL, NULL, &complaints);
    struct plan_usual usual;
    if (!plan || (plan->usual_needed && (future_pilot(plan, &usual) != BASE_OK
                                         || plan_settle(&arena, plan, &usual, &complaints) != BASE_OK)))
        return 1;
    struct bench bench = { plan, future_room(&arena, plan), tally_make(&arena, plan, NULL), (uint64_t)scenario->random_seed, 0 };
    if (!bench.trial || !bench.tally)
        return 1;
    print_costs(&bench, strtoull(argv[3], NULL, 10) / PLAN_ABREAST * PLAN_ABREAST);
    base_arena_free(&arena);
    base_complaints_free(&complaints);
    return 0;
}
