#include "command/command.h"
enum base_result command_fit(const struct command_options *options)
{
    (void)options;
    return BASE_WRONG;
}
