/* engine.h: blocks of trials over threads, progress, interrupts. Knows nothing of what is being counted: the same
 * bytes for any number of threads, because what it is given to do merges exactly or is written in order. */
#ifndef TIDEOVER_ENGINE_H
#define TIDEOVER_ENGINE_H

#include "base/base.h"

/* What is to be done for every trial. `whole` is shared by all threads, `own` is one thread's. */
struct engine_work {
    uint64_t first, trials;              /* numbers first .. first + trials - 1 */
    uint64_t before;                     /* trials done earlier, for the bar */
    double most_seconds;                 /* no further block is begun after so long; 0: all are */
    int threads;                         /* at least 1 */
    int together;                        /* at most so many trials are given at a time; 0: one */
    int least;                           /* trials a block at the least; 0: 16 */
    bool ends_blocks;                    /* an interrupt waits for the blocks under way; else it drops them */
    bool shows_progress;                 /* a bar on stderr, if that is a terminal */
    const char *doing;                   /* what the bar says */
    void *whole;
    /* Makes a thread's own things; NULL when memory runs out. Called one thread at a time. */
    void *(*begin)(void *whole);
    /* Runs trials first .. first + n - 1, which stand in one block. */
    void (*run)(void *whole, void *own, uint64_t first, int n);
    /* After a block, in the order of blocks, one thread at a time; may be NULL. False: stop, it failed. */
    bool (*block_done)(void *whole, void *own, uint64_t first, uint64_t n);
    /* Hands a thread's results over and frees its own things. Called one thread at a time, in no order. */
    void (*end)(void *whole, void *own);
};

/* Whether it ends early or not, every trial before the last one done has been done.
 * BASE_OK; BASE_FAILED (memory, threads, a block_done that failed) or BASE_INTERRUPTED. In every case `end` has been
 * called for each `begin`. */
enum base_result engine_run(const struct engine_work *work);

/* Threads to use when none is asked for: processors online. */
int engine_processors(void);

/* From here on SIGINT, SIGTERM and SIGHUP only set a flag, which ends engine_run; SIGPIPE is ignored. */
void engine_catch_signals(void);
bool engine_interrupted(void);
/* The signal that came, 0 when none did. */
int engine_signal(void);

#endif
