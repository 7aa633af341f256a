/* progress.c: trials done, rate, time left. */
#include "engine/progress.h"

#include <unistd.h>

enum { WIDTH = 24 };

static double seconds_since(const struct timespec *began)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)(now.tv_sec - began->tv_sec) + 1e-9 * (double)(now.tv_nsec - began->tv_nsec);
}

void engine_progress_begin(struct engine_progress *bar, const struct engine_work *work)
{
    *bar = (struct engine_progress){ .doing = work->doing ? work->doing : "trials", .before = work->before,
                                     .trials = work->trials,
                                     .shows = work->shows_progress && isatty(STDERR_FILENO) == 1 };
    clock_gettime(CLOCK_MONOTONIC, &bar->began);
}

void engine_progress_show(struct engine_progress *bar, uint64_t done)
{
    double seconds = seconds_since(&bar->began);
    if (!bar->shows || seconds < 0.5 || done == 0)
        return;
    char cells[WIDTH + 1];
    double share = (double)(bar->before + done) / (double)(bar->before + bar->trials), rate = (double)done / seconds;
    for (int i = 0; i < WIDTH; i++)
        cells[i] = i < (int)(share * WIDTH) ? '#' : '.';
    cells[WIDTH] = '\0';
    fprintf(stderr, "\r%s [%s] %3.0f %%  %.0f a second, %.0f s left \033[K", bar->doing, cells, 100 * share, rate,
            (double)(bar->trials - done) / rate);
    fflush(stderr);
    bar->drawn = true;
}

void engine_progress_end(struct engine_progress *bar)
{
    if (bar->drawn)
        fputs("\r\033[K", stderr);
}
