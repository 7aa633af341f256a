/* engine_test.c: every trial exactly once, blocks in order, failures and interrupts that leave nothing
 * behind. */
#include "unit/check.h"

#include "engine/engine.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MOST = 20000 };

/* What the engine was seen to do; the engine calls begin, block_done and end one thread at a time. */
struct seen {
    uint64_t first;
    unsigned char done[MOST];           /* how often each trial ran; a trial is one thread's alone */
    uint64_t next_block, blocks, in_end;
    int begins, ends, fails_at_begin;   /* the how-manieth begin fails; 0: none */
    uint64_t fails_at_block;            /* block_done of the block that holds this trial fails; 0: none */
    uint64_t interrupts_at;             /* this trial raises a signal; 0: none */
    bool out_of_order;
    int together;                       /* as in struct engine_work */
};
struct mine { struct seen *seen; uint64_t trials; };

static void *begin(void *whole)
{
    struct seen *seen = whole;
    if (++seen->begins == seen->fails_at_begin)
        return NULL;
    struct mine *mine = calloc(1, sizeof *mine);
    mine->seen = seen;
    return mine;
}

static void note_trials(void *whole, void *own, uint64_t first, int n)
{
    struct seen *seen = whole;
    struct mine *mine = own;
    assert_ptr_equal(mine->seen, seen);
    assert_true(n >= 1 && n <= (seen->together > 0 ? seen->together : 1));
    for (uint64_t number = first; number < first + (uint64_t)n; number++) {
        seen->done[number - seen->first]++;
        mine->trials++;
        if (seen->interrupts_at && number == seen->interrupts_at)
            raise(SIGTERM);
    }
}

static bool block_done(void *whole, void *own, uint64_t first, uint64_t n)
{
    struct seen *seen = whole;
    (void)own;
    seen->out_of_order |= first != seen->next_block;
    seen->next_block = first + n;
    seen->blocks++;
    return !(seen->fails_at_block && first <= seen->fails_at_block && seen->fails_at_block < first + n);
}

static void end(void *whole, void *own)
{
    struct seen *seen = whole;
    seen->in_end += ((struct mine *)own)->trials;
    seen->ends++;
    free(own);
}

static enum base_result run(struct seen *seen, uint64_t first, uint64_t trials, int threads, bool ordered)
{
    seen->first = seen->next_block = first;
    struct engine_work work = { .first = first, .trials = trials, .threads = threads, .doing = "trials",
                                .together = seen->together, .whole = seen,
                                .begin = begin, .run = note_trials, .block_done = ordered ? block_done : NULL,
                                    .end = end };
    return engine_run(&work);
}

static struct seen *fresh(void)
{
    struct seen *seen = calloc(1, sizeof *seen);
    assert_non_null(seen);
    return seen;
}

static void each_trial_once(void **state)
{
    static const uint64_t trials[] = { 1, 2, 15, 16, 17, 127, 128, 1000, 4097, MOST };
    static const int threads[] = { 1, 2, 3, 7, 64 };
    (void)state;
    for (size_t n = 0; n < sizeof trials / sizeof trials[0]; n++)
        for (size_t t = 0; t < sizeof threads / sizeof threads[0]; t++)
            for (int ordered = 0; ordered < 2; ordered++) {
                struct seen *seen = fresh();
                uint64_t first = n % 2 ? 1000000007u : 0;
                seen->together = ordered ? 8 : (int)t;
                assert_int_equal(run(seen, first, trials[n], threads[t], ordered), BASE_OK);
                for (uint64_t i = 0; i < trials[n]; i++)
                    assert_int_equal(seen->done[i], 1);
                for (uint64_t i = trials[n]; i < MOST; i++)
                    assert_int_equal(seen->done[i], 0);
                assert_int_equal(seen->begins, seen->ends);
                assert_true(seen->begins >= 1 && seen->begins <= threads[t]);
                assert_true(seen->in_end == trials[n]);
                assert_false(seen->out_of_order);
                assert_true(!ordered || seen->next_block == first + trials[n]);
                free(seen);
            }
}

static void a_block_fails(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 7; threads += 2) {
        struct seen *seen = fresh();
        seen->fails_at_block = 5000;
        assert_int_equal(run(seen, 0, MOST, threads, true), BASE_FAILED);
        assert_int_equal(seen->begins, seen->ends);
        assert_false(seen->out_of_order);
        /* the failing block is the last */
        assert_true(seen->next_block > 5000 && seen->next_block < MOST);
        for (uint64_t i = 0; i <= 5000; i++)
            assert_int_equal(seen->done[i], 1);
        free(seen);
    }
}

static void a_thread_cannot_begin(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 5; threads += 2)
        for (int which = 1; which <= threads; which += 2) {
            struct seen *seen = fresh();
            seen->fails_at_begin = which;
            assert_int_equal(run(seen, 0, 3000, threads, true), BASE_FAILED);
            assert_int_equal(seen->ends, seen->begins - 1);
            assert_false(seen->out_of_order);
            free(seen);
        }
}

/* In a process of its own: a signal ends the work soon, cleanly, and says which it was. */
static void an_interrupt(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 4; threads += 3) {
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            struct seen *seen = fresh();
            engine_catch_signals();
            seen->interrupts_at = 3000;
            bool good = !engine_interrupted() && engine_signal() == 0;
            good &= run(seen, 0, MOST, threads, true) == BASE_INTERRUPTED;
            good &= engine_interrupted() && engine_signal() == SIGTERM;
            good &= seen->begins == seen->ends && !seen->out_of_order && seen->in_end < MOST
                && seen->in_end > 2000;
            _exit(good ? 0 : 1);
        }
        int status = 0;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    }
}

/* Work in stages: each ends soon after its time, with all trials up to some number done and none beyond. */
static void stages(void **state)
{
    (void)state;
    for (int threads = 1; threads <= 4; threads += 3) {
        struct seen *seen = fresh();
        uint64_t done = 0;
        int stage = 0;
        for (; done < MOST; stage++) {
            struct engine_work work = { .first = done, .trials = MOST - done, .before = done, .threads = threads,
                                        .most_seconds = stage < 20 ? 1e-9 : 1000, .whole = seen, .begin = begin,
                                        .run = note_trials, .end = end };
            seen->in_end = 0;
            assert_int_equal(engine_run(&work), BASE_OK);
            assert_true(seen->in_end > 0);
            done += seen->in_end;
            for (uint64_t i = 0; i < MOST; i++)
                assert_int_equal(seen->done[i], i < done);
        }
        assert_true(stage > 10);
        free(seen);
    }
}

/* A few pieces of long work are given out one by one, where that is asked for. */
static void short_blocks(void **state)
{
    (void)state;
    for (int least = 0; least <= 5; least++) {
        struct seen *seen = fresh();
        struct engine_work work = { .trials = 20, .threads = 4, .least = least, .whole = seen, .begin = begin, .run = note_trials,
                                    .block_done = block_done, .end = end };
        assert_int_equal(engine_run(&work), BASE_OK);
        assert_int_equal(seen->blocks, least > 0 ? (20 + least - 1) / least : 2);
        assert_true(seen->in_end == 20 && !seen->out_of_order);
        free(seen);
    }
}

static void processors(void **state)
{
    (void)state;
    assert_in_range(engine_processors(), 1, 64);
    struct seen *seen = fresh();
    assert_int_equal(run(seen, 0, 100, 0, false), BASE_OK);        /* at least one thread */
    assert_true(seen->in_end == 100);
    free(seen);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_trial_once), cmocka_unit_test(a_block_fails),
            cmocka_unit_test(a_thread_cannot_begin),
        cmocka_unit_test(an_interrupt), cmocka_unit_test(stages), cmocka_unit_test(short_blocks),
        cmocka_unit_test(processors),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
