/* start.c: tideover start: a short scenario of one's own that runs at once. */
#include "command/command.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

static const char scenario_text[] =
    "// My garden and my stores. It runs as it is:   tideover run %s\n"
    "// Change it line by line, from the top; after each change, tideover check tells what it implies.\n"
    "\n"
    "// 1. Where you are and what you grow: `tideover library` lists what there is. Take the climate nearest to yours.\n"
    "extends = (\n"
    "  \"climates/cool_maritime.cfg\",\n"
    "  \"households/couple.cfg\",\n"
    "  \"crops/climbing_french_bean.cfg\",\n"
    "  \"crops/buttercup_squash.cfg\"\n"
    ");\n"
    "title = \"Will our beans and squash last to the next harvest?\";\n"
    "\n"
    "// 2. How much you plant: wigwams of beans, plants of squash, and the day they go out.\n"
    "plantings = {\n"
    "  beans  = { crop = \"climbing_french_bean\"; count = 5; plant_out = \"05-27\"; };\n"
    "  squash = { crop = \"buttercup_squash\";     count = 8; plant_out = \"05-30\"; };\n"
    "};\n"
    "\n"
    "// 3. Who eats, and how often: meals a week, kilograms of dry beans or of squash flesh to a portion, from when to when.\n"
    "household = {\n"
    "  eaters = ( { who = \"adults\"; count = 2; portion = 1.0; } );\n"
    "  meals = {\n"
    "    beans  = { meals_per_week = 1.0; portion_kg = 0.060; from = \"11-01\"; until = \"06-30\"; };\n"
    "    squash = { meals_per_week = 1.5; portion_kg = 0.200; from = \"11-08\"; until = \"02-28\"; };\n"
    "  };\n"
    "};\n"
    "\n"
    "// 4. Where squash is kept, the best place first: how many it holds, and how long they keep there (1.0: as the crop says).\n"
    "places = (\n"
    "  { name = \"spare room\"; holds = 30; keeps_factor = 1.0; },\n"
    "  { name = \"shed\"; keeps_factor = 0.6; }\n"
    ");\n"
    "\n"
    "// 5. Your jars, and how often you look the squash over.\n"
    "store = { jar_kg = 0.75; look_over_weeks = 1; salvage_share = 0.5; };\n"
    "\n"
    "// 6. What your own garden gives, when you know it: one year in ten less than p10, half the years p50, nine in ten p90.\n"
    "//    Take the two slashes away and put your figures in.\n"
    "// crops = { climbing_french_bean = { unit_kg = { p10 = 0.7; p50 = 1.2; p90 = 1.7; }; }; };\n";

enum base_result command_start(const struct command_options *options)
{
    if (options->args_n != 1)
        return command_refuse("start wants the name of a new file, such as mine.cfg");
    const char *path = options->args[0];
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666); /* never over a file that is there */
    if (fd < 0 && errno == EEXIST)
        return command_refuse("%s is there already; start writes new files only", path);
    FILE *file = fd < 0 ? NULL : fdopen(fd, "w");
    bool good = file && fprintf(file, scenario_text, path) > 0;
    if (file)
        good = fclose(file) == 0 && good;
    if (!good) {
        fprintf(stderr, "tideover: could not write %s: %s\n", path, strerror(errno));
        if (file)
            unlink(path);
        return BASE_FAILED;
    }
    if (!options->quiet)
        printf("%s is written. It runs at once:  tideover run %s\nOpen it in an editor: it says, from the top, what to change first.\n",
               path, path);
    return command_end_output(BASE_OK);
}
