/* explain.c: tideover explain: what a setting means. */
#include "command/command.h"

enum base_result command_explain(const struct command_options *options)
{
    if (options->reference) {               /* the manual page's section, when it is built */
        scenario_write_reference(stdout);
        return command_end_output(BASE_OK);
    }
    if (options->args_n != 1)
        return command_refuse("explain wants the name of one setting, such as plantings.count");
    return command_end_output(scenario_explain(options->args[0], stdout));
}
