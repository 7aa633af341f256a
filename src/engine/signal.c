/* signal.c: an interrupt sets a flag. The flag is the program's only variable outside a function: a signal handler can
 * be given no other place to write to. */
#include "engine/engine.h"

#include <signal.h>
#include <string.h>
#include <unistd.h>

static volatile sig_atomic_t came;

static void note(int number) { came = number; }

void engine_catch_signals(void)
{
    static const int caught[] = { SIGINT, SIGTERM, SIGHUP };
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = note;
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof caught / sizeof caught[0]; i++)
        sigaction(caught[i], &action, NULL);
    action.sa_handler = SIG_IGN;
    sigaction(SIGPIPE, &action, NULL);
}

bool engine_interrupted(void) { return came != 0; }
int engine_signal(void) { return came; }

int engine_processors(void)
{
    long n = sysconf(_SC_NPROCESSORS_ONLN);
    return n < 1 ? 1 : n > 64 ? 64 : (int)n;
}
