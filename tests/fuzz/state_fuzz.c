/* state_fuzz.c: any bytes as a run's state file: as they are where the first one is even, else under a right checksum. Figures that
 * are taken are read as the tables would be, packed and taken again; settings that are not the plan's own are loaded, now and then.
 * A run of up to four trials keeps every value, one of more keeps histograms. The plan is of one planting and a time line of a few
 * weeks only, so that a state has a few kilobytes. FUZZ_SEEDS: states of real trials, cut to those weeks, go to that folder. */
#include "memory.h"

#include <stdlib.h>
#include <string.h>

#include "records/records.h"
#include "report/report.h"

int LLVMFuzzerInitialize(int *arguments, char ***argument);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t most, unsigned seed);
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t most) __attribute__((weak));     /* libFuzzer's, AFL has none */

enum { DIGITS = 64, WEEKS = 6, MOST_KEPT = 4, ONE_IN = 4 };
static const char settings[] =
    "climate={last_frost=\"05-10\";first_hard_frost=\"10-20\";tmin_c=[1,1,3,4,7,10,12,11,9,7,4,2];"
    "tmax_c=[7,8,10,13,16,19,21,21,18,14,10,7];};household={eaters=({count=2;});meals={beans={meals_per_week=1;"
    "portion_kg=0.06;};};};crops={b={kind=\"beans\";base_c=8;unit_kg=0.5;heat_to_dry=780;};};"
    "plantings={p={crop=\"b\";count=1;pick_until=\"11-05\";plant_out=\"05-25\";};};";

/* The plan that figures are of, and what tallies that keep every value share, by trials; made once. */
struct ready { struct base_arena arena; struct plan *plan; struct tally_shared *shared[MOST_KEPT + 1]; };

/* Runs n real trials, and cuts their block to the first weeks of the food year. */
static void run(struct ready *ready, int n, struct future_block *block)
{
    struct future_trial *trial = future_room(&ready->arena, ready->plan);
    if (!trial)
        abort();
    *block = *future_run_block(ready->plan, trial, 1, 0, n);
    int from = block->first_week;
    block->first_week = 0;
    block->end_week = WEEKS;
    for (int c = 0; c <= n; c++) {
        struct future_columns *columns = c < n ? &block->ledger[c].at : &block->columns;
        for (int food = 0; food < FUTURE_FOODS; food++)
            columns->is_short[food] += from * PLAN_ABREAST;
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            double **const column[] = { &columns->stock_kg[food], &columns->wanted_kg[food], &columns->eaten_kg[food],
                                        &columns->lost_kg[food] };
            for (size_t i = 0; i < sizeof column / sizeof column[0]; i++)
                *column[i] += from * PLAN_ABREAST;
            columns->count[food] += from * PLAN_ABREAST;
        }
    }
    for (int t = 0; t < n; t++) {
        struct future_ledger *ledger = &block->ledger[t];
        ledger->first_week = ledger->year->first_week = 0;
        ledger->end_week = ledger->year->weeks = WEEKS;
        for (int food = 0; food < SCENARIO_FOODS; food++)
            ledger->stocked_end[food] = ledger->stocked_end[food] > from ? WEEKS : 0;
        for (int food = 0; food < FUTURE_FOODS; food++)
            ledger->year->first_short[food] = t % 2 ? SCENARIO_NEVER : t % WEEKS;
    }
}

static void write_seed(struct ready *ready, const char *folder, int64_t trials, const struct future_block *block)
{
    struct tally_shared *shared = trials <= MOST_KEPT ? ready->shared[trials] : NULL;
    struct base_arena arena = { 0 };
    struct base_packed packed = { 0 };
    struct tally_doubt doubt = { 0 };
    struct report_state state = { .version = "1", .name = "n", .scenario_sha256 = "s", .records_sha256 = "", .settings = settings,
                                  .trials = trials, .part = 1, .parts = 1, .done = block->n, .until = trials };
    char path[1000];
    struct tally *tally = tally_make(&arena, ready->plan, shared);
    tally_add(tally, ready->plan, block, 0);
    report_state_pack(&state, tally, &doubt, &packed);
    if (packed.failed || report_state_unpack(packed.bytes, packed.n, &state)
        || !report_state_add(&state, tally_make(&arena, ready->plan, shared), &doubt))
        abort();                            /* a seed must be one that is taken */
    snprintf(path, sizeof path, "%s/%d", folder, (int)trials);
    FILE *to = fopen(path, "w");
    if (!to || fputc(1, to) == EOF || fwrite(packed.bytes, 1, packed.n - DIGITS, to) != packed.n - DIGITS
        || fclose(to) != 0)
        abort();
    base_packed_free(&packed);
    base_arena_free(&arena);
}

static void make_ready(struct ready *ready, const char *seeds)
{
    struct base_complaints complaints = { 0 };
    struct scenario_request request = { .path = "a state", .text = settings };
    const struct scenario *scenario;
    struct plan_usual usual = { 0 };
    struct future_block block[PLAN_ABREAST + 1];
    chance_start();
    if (scenario_load(&ready->arena, &request, &scenario, &complaints) != BASE_OK)
        abort();
    ready->plan = plan_make(&ready->arena, scenario, NULL, NULL, &complaints);
    if (!ready->plan || plan_settle(&ready->arena, ready->plan, &usual, &complaints) != BASE_OK)
        abort();
    for (int n = 1; seeds && n <= PLAN_ABREAST; n++)
        run(ready, n, &block[n]);
    ready->plan->weeks = WEEKS;             /* from here on only tallies are made of it */
    for (int64_t trials = 1; trials <= MOST_KEPT; trials++)
        if (!(ready->shared[trials] = tally_share(&ready->arena, ready->plan, trials)))
            abort();
    for (int64_t trials = 1; seeds && trials <= 4096; trials *= 2)
        write_seed(ready, seeds, trials, &block[trials < PLAN_ABREAST ? trials : PLAN_ABREAST]);
}

static const struct ready *get_ready(void)
{
    static struct ready ready;
    if (!ready.plan)
        make_ready(&ready, getenv("FUZZ_SEEDS"));
    return &ready;
}

int LLVMFuzzerInitialize(int *arguments, char ***argument)
{
    (void)arguments;
    (void)argument;
    get_ready();
    return 0;
}

static void read_tables(const struct ready *ready, const struct tally *tally)
{
    struct report_file *nowhere = report_memory_open();
    struct report_csv csv = report_csv_begin(nowhere, false);
    report_summary(&csv, ready->plan, tally);
    report_weeks(&csv, ready->plan, tally);
    report_memory_free(nowhere);
}

/* What was taken packs into figures that are taken again. */
static void take_again(const struct ready *ready, const struct report_state *state, struct tally *tally,
                       const struct tally_doubt *doubt, struct tally_shared *shared)
{
    struct base_arena arena = { 0 };
    struct base_packed again = { 0 };
    struct tally_doubt second_doubt = { 0 };
    tally_doubt_pack(doubt, &again);
    tally_pack(tally, state->first, &again);
    struct report_state second = *state;
    second.figures = again.bytes;
    second.figures_n = again.n;
    if (!report_state_add(&second, tally_make(&arena, ready->plan, shared), &second_doubt))
        abort();
    base_packed_free(&again);
    base_arena_free(&arena);
}

/* Adds the figures to an empty tally. Of histograms, whose reading takes long, some are read. */
static void take(const struct ready *ready, const struct report_state *state, bool some)
{
    struct base_arena arena = { 0 };
    struct tally_doubt doubt = { 0 };
    struct tally_shared *shared = state->trials <= MOST_KEPT ? ready->shared[state->trials] : NULL;
    struct tally *tally = tally_make(&arena, ready->plan, shared);
    if (report_state_add(state, tally, &doubt) && tally_trials(tally) > 0 && (shared || some)) {
        read_tables(ready, tally);
        take_again(ready, state, tally, &doubt, shared);
    }
    base_arena_free(&arena);
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
    const struct ready *ready = get_ready();
    struct report_state state;
    struct base_sha256 sha;
    char hex[DIGITS + 1] = "0";
    if (size == 0)
        return 0;
    bool mended = data[0] % 2 == 1;
    size_t n = size - 1 + (mended ? DIGITS : 0);
    unsigned char *bytes = malloc(n > 0 ? n : 1);   /* of exactly that size, so that the sanitizer sees where it ends */
    if (!bytes)
        abort();
    memcpy(bytes, data + 1, size - 1);
    if (mended) {
        base_sha256_start(&sha);
        base_sha256_add(&sha, bytes, size - 1);
        base_sha256_hex(&sha, hex);
        memcpy(bytes + size - 1, hex, DIGITS);
    }
    if (!report_state_unpack(bytes, n, &state)) {
        bool some = hex[0] % ONE_IN == 0;   /* of like bytes always, or never */
        take(ready, &state, some);
        if (some && strcmp(state.settings, settings) != 0)
            load(&state);
    }
    free(bytes);
    return 0;
}

/* Most of a state is numbers of eight bytes, of which those near 0 and near the trials are telling, and as good as never hit by
 * changing bytes: every other time one of them is made so, as many eights before the end as where every value is kept. */
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t most, unsigned seed)
{
    static const int64_t near[] = { -4, -2, -1, 0, 1, 2, 3, 4, 5, 8, 64, INT32_MAX, INT64_MAX, INT64_MIN };
    static const double real[] = { -1, 0.5, 1, 1e9, 3e9, 1e300, -1e300 };
    size_t wholes = sizeof near / sizeof near[0], reals = sizeof real / sizeof real[0], numbers = size / sizeof near[0];
    if (seed % 2 == 0 || numbers == 0)
        return LLVMFuzzerMutate(data, size, most);
    size_t pick = seed / 2 % (wholes + reals);
    memcpy(data + size - (1 + seed / 64 % numbers) * sizeof near[0],
           pick < wholes ? (const void *)&near[pick] : (const void *)&real[pick - wholes], sizeof near[0]);
    return size;
}
