/* state_test.c: a run's state as bytes: parts added in any order are the whole to the last bit, every changed byte is
 * noticed, and what lies under a right checksum is refused where it cannot be. */
#include "unit/plan/planned.h"

#include "report/report.h"

enum { SEED = 3, DIGITS = 64 };

struct run { struct base_arena arena; struct plan *plan; struct future_trial *trial; struct tally_shared *shared; int64_t trials; };

static void begin_sampled(struct run *run, const char *scenario, const char *sampling, int64_t trials)
{
    *run = (struct run){ .trials = trials };
    run->plan = planned_file(&run->arena, scenario, &sampling, 1);
    run->trial = future_room(&run->arena, run->plan);
    run->shared = tally_share(&run->arena, run->plan, trials);
    assert_true(run->trial && run->shared);
}

static void begin(struct run *run, const char *scenario, int64_t trials)
{
    begin_sampled(run, scenario, "sampling=independent", trials);
}

static struct tally *fresh(struct run *run)
{
    struct tally *tally = tally_make(&run->arena, run->plan, run->shared);
    assert_non_null(tally);
    return tally;
}

/* The state of trials first .. first + n - 1, as bytes. */
static struct base_packed packed(struct run *run, int64_t first, int64_t n)
{
    struct base_packed bytes = { 0 };
    struct tally_doubt doubt = { 0 };
    struct tally *tally = fresh(run);
    for (int64_t t = first; t < first + n; t++) {
        const struct future_block *block = future_run_block(run->plan, run->trial, SEED, (uint64_t)t, 1);
        const struct future_ledger *ledger = block->ledger;
        tally_add(tally, run->plan, block, (uint64_t)t);
        tally_doubt_add(&doubt, run->plan, ledger, (uint64_t)t);
    }
    struct report_state state = { .version = "0", .name = "this one", .scenario_sha256 = "ab", .records_sha256 = "",
                                  .settings = "food_years = 1;\n", .stream_version = 1, .random_seed = SEED,
                                  .trials = run->trials, .part = 2, .parts = 5, .first = first, .done = n,
                                  .until = first + n };
    report_state_pack(&state, tally, &doubt, &bytes);
    assert_false(bytes.failed);
    return bytes;
}

/* Puts the right checksum under bytes that were changed. */
static void sign(struct base_packed *bytes)
{
    struct base_sha256 sha;
    char hex[65];
    base_sha256_start(&sha);
    base_sha256_add(&sha, bytes->bytes, bytes->n - DIGITS);
    base_sha256_hex(&sha, hex);
    memcpy(bytes->bytes + bytes->n - DIGITS, hex, DIGITS);
}

static bool add(struct run *run, const struct base_packed *bytes, struct tally *tally, struct tally_doubt *doubt)
{
    struct report_state state;
    (void)run;
    return !report_state_unpack(bytes->bytes, bytes->n, &state) && report_state_add(&state, tally, doubt);
}

static void the_same_text(void **unused)
{
    (void)unused;
    struct run run;
    struct report_state state;
    begin(&run, "tests/reference/scenarios/16_every_shape.cfg", 60);
    struct base_packed bytes = packed(&run, 16, 32);
    assert_null(report_state_unpack(bytes.bytes, bytes.n, &state));
    assert_string_equal(state.name, "this one");
    assert_string_equal(state.settings, "food_years = 1;\n");
    assert_string_equal(state.records_sha256, "");
    assert_true(state.part == 2 && state.parts == 5 && state.first == 16 && state.done == 32 && state.until == 48);
    assert_true(state.random_seed == SEED && state.trials == 60 && state.stream_version == 1);
    base_packed_free(&bytes);
    base_arena_free(&run.arena);
}

/* Three parts, added last first, against one tally of all: the bytes that they pack into are the same. */
static void parts_make_the_whole(void **unused)
{
    static const char *const scenarios[] = { "tests/reference/scenarios/06_own_seed_three_years.cfg",
                                             "tests/reference/scenarios/16_every_shape.cfg",
                                             "tests/reference/scenarios/10_counted_at_harvest.cfg" };
    static const char *const samplings[4] = { "sampling=independent", "sampling=independent", "sampling=independent",
                                              "sampling=sobol" };
    static const int64_t trials[2] = { 200, 2100 };    /* every value kept, and histograms */
    (void)unused;
    for (int s = 0; s < 4; s++)
        for (int n = 0; n < 2; n++) {
            struct run run;
            begin_sampled(&run, scenarios[s % 3], samplings[s], trials[n]);
            struct base_packed whole = packed(&run, 0, trials[n]), again = { 0 };
            const int64_t from[4] = { 0, 16, 112, trials[n] };
            struct tally_doubt doubt = { 0 };
            struct tally *tally = fresh(&run);
            for (int part = 2; part >= 0; part--) {
                struct base_packed bytes = packed(&run, from[part], from[part + 1] - from[part]);
                assert_true(add(&run, &bytes, tally, &doubt));
                base_packed_free(&bytes);
            }
            struct report_state state;
            assert_null(report_state_unpack(whole.bytes, whole.n, &state));
            report_state_pack(&state, tally, &doubt, &again);
            assert_int_equal(again.n, whole.n);
            assert_memory_equal(again.bytes, whole.bytes, whole.n);
            base_packed_free(&again);
            base_packed_free(&whole);
            base_arena_free(&run.arena);
        }
}

static void any_byte_changed(void **unused)
{
    (void)unused;
    struct run run;
    struct report_state state;
    begin(&run, "tests/reference/scenarios/01_beans_certain.cfg", 20);
    struct base_packed bytes = packed(&run, 0, 1);
    for (size_t i = 0; i < bytes.n; i += i < 600 || i + 100 > bytes.n ? 1 : 397) {
        bytes.bytes[i] ^= (unsigned char)(1 << i % 8);
        assert_non_null(report_state_unpack(bytes.bytes, bytes.n, &state));
        bytes.bytes[i] ^= (unsigned char)(1 << i % 8);
    }
    for (size_t n = 0; n < bytes.n; n += n < 600 || n + 100 > bytes.n ? 1 : 397)
        assert_non_null(report_state_unpack(bytes.bytes, n, &state));
    assert_null(report_state_unpack(bytes.bytes, bytes.n, &state));
    assert_non_null(strstr(report_state_unpack((const unsigned char *)"PK", 2, &state), "no state file"));
    base_packed_free(&bytes);
    base_arena_free(&run.arena);
}

/* Bytes changed at random under a right checksum: refused or taken, never more than the tally can hold; the figures are
 * read afterwards, which the sanitizers watch. */
static void forged(void **unused)
{
    static const int64_t trials[3] = { 40, 3000, 3000 };
    (void)unused;
    for (int n = 0; n < 3; n++) {
        struct run run;
        begin_sampled(&run, "tests/reference/scenarios/16_every_shape.cfg", n < 2 ? "sampling=independent" : "sampling=sobol", trials[n]);
        struct base_packed bytes = packed(&run, 0, 40);
        int refused = 0;
        struct chance_pcg luck = chance_pcg_seeded(20260701, (uint64_t)n);
        for (int try = 0; try < 60; try++) {
            size_t at = (size_t)(chance_pcg_next(&luck) % (bytes.n - DIGITS)), of = try % 2 ? at : at % 1500;
            unsigned char was = bytes.bytes[of];
            bytes.bytes[of] = (unsigned char)chance_pcg_next(&luck);
            sign(&bytes);
            struct tally_doubt doubt = { 0 };
            struct tally *tally = fresh(&run);
            if (!add(&run, &bytes, tally, &doubt))
                refused++;
            else if (tally_trials(tally) > 0) {
                struct report_file *nowhere = report_memory_open();
                struct report_csv csv = report_csv_begin(nowhere, false);
                report_summary(&csv, run.plan, tally);
                report_weeks(&csv, run.plan, tally);
                report_memory_free(nowhere);
            }
            bytes.bytes[of] = was;
        }
        assert_true(refused > 5);
        base_packed_free(&bytes);
        base_arena_free(&run.arena);
    }
}

/* What is right for one run is wrong for another: of other weeks or food years, of more trials, of histograms, of replicates. */
static void another_runs(void **unused)
{
    (void)unused;
    struct run one, longer, larger, shared;
    begin(&one, "tests/reference/scenarios/16_every_shape.cfg", 100);
    begin(&longer, "tests/reference/scenarios/06_own_seed_three_years.cfg", 100);
    begin(&larger, "tests/reference/scenarios/16_every_shape.cfg", 3000);
    begin_sampled(&shared, "tests/reference/scenarios/16_every_shape.cfg", "sampling=sobol", 100);
    struct base_packed bytes = packed(&one, 0, 50);
    struct tally_doubt doubt = { 0 };
    assert_false(add(&shared, &bytes, fresh(&shared), &doubt));
    assert_false(add(&longer, &bytes, fresh(&longer), &doubt));
    assert_false(add(&larger, &bytes, fresh(&larger), &doubt));
    assert_true(add(&one, &bytes, fresh(&one), &doubt));
    base_packed_free(&bytes);
    base_arena_free(&one.arena);
    base_arena_free(&longer.arena);
    base_arena_free(&larger.arena);
    base_arena_free(&shared.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_text), cmocka_unit_test(parts_make_the_whole), cmocka_unit_test(any_byte_changed),
        cmocka_unit_test(forged), cmocka_unit_test(another_runs),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
