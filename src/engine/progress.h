/* progress.h: private to the room "engine": a bar on stderr when that is a terminal. */
#ifndef TIDEOVER_ENGINE_PROGRESS_H
#define TIDEOVER_ENGINE_PROGRESS_H

#include "engine/engine.h"

#include <time.h>

struct engine_progress { const char *doing; uint64_t before, trials; bool shows, drawn; struct timespec began; };

void engine_progress_begin(struct engine_progress *bar, const struct engine_work *work);
void engine_progress_show(struct engine_progress *bar, uint64_t done);
/* Wipes the bar, so that what is printed next stands on a clean line. */
void engine_progress_end(struct engine_progress *bar);

#endif
