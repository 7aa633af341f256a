/* main.c: which command was asked. */
#include "command/command.h"

#include <string.h>

#include "engine/engine.h"

static void usage(FILE *to)
{
    fputs("tideover: will the dry beans and winter squash that we grow carry us to the next harvest?\n\n"
          "Usage: tideover COMMAND [OPTIONS] ARGUMENTS\n\nCommands:\n", to);
    for (int c = 0; c < command_table_n; c++)
        fprintf(to, "  %-9s %-30s %s\n", command_table[c].name, command_table[c].arguments, command_table[c].summary);
    fputc('\n', to);
    command_print_options(to);
    fputs("\nExit codes: 0 done, 1 it could not be done (input, output, memory), 2 the request was wrong, 130 interrupted.\n"
          "See tideover(1) and tideover-scenario(5).\n", to);
}

static const struct command *find(const char *name)
{
    for (int c = 0; c < command_table_n; c++)
        if (strcmp(command_table[c].name, name) == 0)
            return &command_table[c];
    return NULL;
}

int main(int argc, char **argv)
{
    if (argc < 2) {
        usage(stderr);
        return BASE_WRONG;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        usage(stdout);
        return command_end_output(BASE_OK);
    }
    if (strcmp(argv[1], "--version") == 0 || strcmp(argv[1], "-V") == 0) {
        printf("tideover %s\n", COMMAND_VERSION);
        return command_end_output(BASE_OK);
    }
    const struct command *command = find(argv[1]);
    if (!command)
        return command_refuse("there is no command \"%s\"; see tideover --help", argv[1]);
    struct command_options options;
    bool wants_help;
    enum base_result result = command_read_options(argc - 1, argv + 1, &options, &wants_help);
    if (result != BASE_OK)
        return result;
    if (wants_help) {
        usage(stdout);
        return command_end_output(BASE_OK);
    }
    engine_catch_signals();
    scenario_start();
    chance_start();
    result = command->run(&options);
    return result == BASE_INTERRUPTED ? 128 + engine_signal() : (int)result;
}
