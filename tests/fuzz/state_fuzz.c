/* state_fuzz.c: any bytes as a run's state file, as they are and under a right checksum. What is taken is read as the
 * tables would be, packed and taken again, and its settings are loaded.
 * clang -fsanitize=fuzzer,address,undefined; run it from the repository's root. */
#include <stdlib.h>
#include <string.h>

#include "records/records.h"
#include "report/report.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { DIGITS = 64, TRIALS = 2 };
static const int64_t trials[TRIALS] = { 2, 3000 };  /* every value kept, and histograms */

/* The plan that figures are of; made once. */
struct ready { struct base_arena arena; struct plan *plan; struct tally_shared *shared[TRIALS]; };

static const struct ready *make_ready(void)
{
    static struct ready ready;
    struct base_complaints complaints = { 0 };
    struct scenario_request request = { .path = "tests/reference/scenarios/16_every_shape.cfg" };
    const struct scenario *scenario;
    struct plan_usual usual = { 0 };
    if (ready.plan)
        return &ready;
    chance_start();
    if (scenario_load(&ready.arena, &request, &scenario, &complaints) != BASE_OK)
        abort();
    ready.plan = plan_make(&ready.arena, scenario, NULL, NULL, &complaints);
    if (!ready.plan || plan_settle(&ready.arena, ready.plan, &usual, &complaints) != BASE_OK)
        abort();
    for (int i = 0; i < TRIALS; i++)
        if (!(ready.shared[i] = tally_share(&ready.arena, ready.plan, trials[i])))
            abort();
    return &ready;
}

/* Adds the figures to an empty tally; one that took them can be read, and packs into the same figures again. */
static void take(const struct ready *ready, const struct report_state *state)
{
    for (int i = 0; i < TRIALS; i++) {
        struct base_arena arena = { 0 };
        struct tally_doubt doubt = { 0 };
        struct report_state fits = *state;
        struct tally *tally = tally_make(&arena, ready->plan, ready->shared[i]);
        fits.trials = trials[i];
        fits.first = fits.first % (trials[i] + 1);
        fits.done = fits.done < trials[i] - fits.first ? fits.done : trials[i] - fits.first;
        if (report_state_add(&fits, tally, &doubt) && tally_trials(tally) > 0) {
            struct report_file *nowhere = report_memory_open();
            struct report_csv csv = report_csv_begin(nowhere, false);
            struct base_packed again = { 0 };
            report_summary(&csv, ready->plan, tally);
            report_weeks(&csv, ready->plan, tally);
            report_memory_free(nowhere);
            tally_doubt_pack(&doubt, &again);
            tally_pack(tally, fits.first, &again);
            struct base_unpacking from = { again.bytes, again.bytes + again.n, false };
            struct tally *second = tally_make(&arena, ready->plan, ready->shared[i]);
            if (!tally_doubt_unpack(&doubt, trials[i], &from) || !tally_unpack(second, fits.first, fits.done, &from))
                abort();
            base_packed_free(&again);
        }
        base_arena_free(&arena);
    }
}

static void load(const struct report_state *state)
{
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    const struct scenario *scenario;
    struct scenario_request request = { .path = "a state", .text = state->settings };
    enum base_result result = scenario_load(&arena, &request, &scenario, &complaints);
    if ((result == BASE_OK) != (complaints.errors == 0))
        abort();
    base_complaints_free(&complaints);
    base_arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const struct ready *ready = make_ready();
    struct report_state state;
    struct base_sha256 sha;
    char hex[65];
    uint8_t *copy = malloc(size + 1);
    if (!copy)
        abort();
    memcpy(copy, data, size);
    report_state_unpack(copy, size, &state);
    if (size >= DIGITS) {
        base_sha256_start(&sha);
        base_sha256_add(&sha, copy, size - DIGITS);
        base_sha256_hex(&sha, hex);
        memcpy(copy + size - DIGITS, hex, DIGITS);
        if (!report_state_unpack(copy, size, &state)) {
            take(ready, &state);
            load(&state);
        }
    }
    free(copy);
    return 0;
}
