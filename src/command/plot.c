/* plot.c: --plot: the pictures of an output directory, drawn by plots/draw. */
#include "command/command.h"

#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum base_result command_plot(struct base_arena *arena, const struct command_options *options)
{
    const char *configs = command_configs_dir(arena, NULL); /* plots lie beside configs, installed or not */
    char *draw = configs ? base_arena_print(arena, "%s/../plots/draw", configs) : NULL;
    struct stat status;
    if (!draw || stat(draw, &status) != 0) {
        fputs("tideover: the scripts of the pictures were not found (plots/draw)\n", stderr);
        return BASE_FAILED;
    }
    fflush(NULL);
    pid_t child = fork();
    if (child == 0) {
        if (options->quiet && !freopen("/dev/null", "w", stdout))
            _exit(127);
        execl(draw, draw, options->out, (char *)NULL);
        _exit(127);
    }
    int how = 0;
    if (child < 0 || waitpid(child, &how, 0) < 0 || !WIFEXITED(how) || WEXITSTATUS(how) != 0) {
        fputs("tideover: the pictures could not be drawn; the files are written\n", stderr);
        return BASE_FAILED;
    }
    return BASE_OK;
}
