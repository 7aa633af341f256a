/* run.c: threads take blocks of trials; results merge exactly, rows are written in the order of blocks. */
#include "engine/engine.h"

#include <pthread.h>
#include <time.h>
#include <unistd.h>

#include "engine/progress.h"

enum { LEAST_BLOCK = 16, MOST_BLOCK = 1024, MOST_THREADS = 64 };

struct pool {
    const struct engine_work *work;
    pthread_mutex_t lock;
    pthread_cond_t changed;
    uint64_t block, next, written;      /* trials a block; next trial to take; trials whose block is done */
    struct timespec until;              /* no block is begun after it; work->most_seconds */
    enum base_result result;
};

static bool is_late(const struct pool *pool)
{
    struct timespec now;
    if (pool->work->most_seconds <= 0)
        return false;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec > pool->until.tv_sec || (now.tv_sec == pool->until.tv_sec && now.tv_nsec >= pool->until.tv_nsec);
}

/* At least one block is done however short the time, so that work in stages ends. */
static bool stopped(const struct pool *pool)
{
    return pool->result != BASE_OK || engine_interrupted() || (pool->next > 0 && is_late(pool));
}

/* Takes a block; false when there is none left or the work has stopped. */
static bool take_block(struct pool *pool, uint64_t *first, uint64_t *n)
{
    pthread_mutex_lock(&pool->lock);
    uint64_t left = pool->work->trials - pool->next;
    *first = pool->next;
    *n = left < pool->block ? left : pool->block;
    bool good = *n > 0 && !stopped(pool);
    if (good)
        pool->next += *n;
    pthread_mutex_unlock(&pool->lock);
    return good;
}

/* Waits for the blocks before this one, then lets it be written. */
static void finish_block(struct pool *pool, void *own, uint64_t first, uint64_t n)
{
    const struct engine_work *work = pool->work;
    pthread_mutex_lock(&pool->lock);
    if (work->block_done) {
        while (pool->written != first && pool->result == BASE_OK)
            pthread_cond_wait(&pool->changed, &pool->lock);
        if (pool->result == BASE_OK && (work->ends_blocks || !engine_interrupted())
            && !work->block_done(work->whole, own, work->first + first, n))
            pool->result = BASE_FAILED;
    }
    pool->written += n;
    pthread_cond_broadcast(&pool->changed);
    pthread_mutex_unlock(&pool->lock);
}

static void run_block(const struct engine_work *work, void *own, uint64_t first, uint64_t n)
{
    uint64_t together = work->together > 0 ? (uint64_t)work->together : 1;
    for (uint64_t t = 0; t < n && (work->ends_blocks || !engine_interrupted()); t += together)
        work->run(work->whole, own, first + t, (int)(n - t < together ? n - t : together));
}

static uint64_t written_of(struct pool *pool)
{
    pthread_mutex_lock(&pool->lock);
    uint64_t written = pool->written;
    pthread_mutex_unlock(&pool->lock);
    return written;
}

/* One thread's blocks; `bar` is shown after each, NULL: none. */
static void work_on(struct pool *pool, struct engine_progress *bar)
{
    const struct engine_work *work = pool->work;
    pthread_mutex_lock(&pool->lock);
    void *own = work->begin(work->whole);
    if (!own)
        pool->result = BASE_FAILED;
    pthread_mutex_unlock(&pool->lock);
    for (uint64_t first, n; own && take_block(pool, &first, &n);) {
        run_block(work, own, work->first + first, n);
        finish_block(pool, own, first, n);
        if (bar)
            engine_progress_show(bar, written_of(pool));
    }
    pthread_mutex_lock(&pool->lock);
    if (own)
        work->end(work->whole, own);
    pthread_mutex_unlock(&pool->lock);
}

static void *help(void *context)
{
    work_on(context, NULL);
    return NULL;
}

/* Starts threads beside the caller's; fewer than asked for give the same bytes. */
static int start(struct pool *pool, pthread_t *thread, int threads)
{
    int started = 0;
    while (started < threads && pthread_create(&thread[started], NULL, help, pool) == 0)
        started++;
    return started;
}

static uint64_t block_size(const struct engine_work *work, int threads)
{
    uint64_t least = work->least > 0 ? (uint64_t)work->least : LEAST_BLOCK, block = work->trials / ((uint64_t)threads * 8) + 1;
    block = (block + least - 1) / least * least;
    return block > MOST_BLOCK ? MOST_BLOCK : block;
}

static void set_time(struct pool *pool)
{
    double seconds = pool->work->most_seconds;
    clock_gettime(CLOCK_MONOTONIC, &pool->until);
    pool->until.tv_sec += (time_t)seconds;
    pool->until.tv_nsec += (long)((seconds - (double)(time_t)seconds) * 1e9);
    pool->until.tv_sec += pool->until.tv_nsec / 1000000000;
    pool->until.tv_nsec %= 1000000000;
}

enum base_result engine_run(const struct engine_work *work)
{
    int threads = work->threads < 1 ? 1 : work->threads > MOST_THREADS ? MOST_THREADS : work->threads;
    struct pool pool = { .work = work, .block = block_size(work, threads), .result = BASE_OK };
    pthread_t thread[MOST_THREADS];
    set_time(&pool);
    pthread_mutex_init(&pool.lock, NULL);
    pthread_cond_init(&pool.changed, NULL);
    struct engine_progress bar;
    engine_progress_begin(&bar, work);
    int started = start(&pool, thread, threads - 1);
    work_on(&pool, &bar);
    engine_progress_end(&bar);
    for (int t = 0; t < started; t++)
        pthread_join(thread[t], NULL);
    pthread_cond_destroy(&pool.changed);
    pthread_mutex_destroy(&pool.lock);
    if (pool.result == BASE_OK && engine_interrupted())
        return BASE_INTERRUPTED;
    return pool.result;
}
