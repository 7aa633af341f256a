/* table.c: the commands there are. A new one is a file and a line here. */
#include "command/command.h"

const struct command command_table[] = {
    { "start", "NEW.cfg", "writes a short scenario of your own that runs at once", command_start },
    { "run", "SCENARIO.cfg", "how likely the household is to run short, when, and by how much", command_run },
    { "merge", "STATE ...", "the answer of a run that was made in parts (run --part)", command_merge },
    { "compare", "BASE.cfg [OTHER.cfg ...]", "which scenario is better, on the same luck", command_compare },
    { "vary", "SCENARIO.cfg --over PATH=RANGE", "what each further step of a setting buys", command_vary },
    { "size", "SCENARIO.cfg --by PATH=RANGE --risk R", "how much is enough for a risk", command_size },
    { "why", "SCENARIO.cfg", "is it the weather, the harvest or the rot that decides?", command_why },
    { "check", "SCENARIO.cfg", "only checks a scenario; prints its settings and what they imply", command_check },
    { "diary", "SCENARIO.cfg", "tells one trial (--trial N) week by week", command_diary },
    { "season", "RECORDS.csv", "tells a daily weather record: frost dates, heat, their trend", command_season },
    { "fit", "[NOTEBOOK.csv [SCENARIO.cfg]]", "makes settings of the household's own notebook and weather record", command_fit },
    { "library", "", "lists the crops, climates and households to build on", command_library },
    { "explain", "SETTING", "says what a setting means, its unit, range and default", command_explain },
};
const int command_table_n = (int)(sizeof command_table / sizeof command_table[0]);
