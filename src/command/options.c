/* options.c: the same options for every command. */
#include "command/command.h"

#include <errno.h>
#include <getopt.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "engine/engine.h"

enum { OPT_CONFIGS = 256, OPT_PER_TRIAL, OPT_TRIAL, OPT_DECIMAL_COMMA, OPT_POUNDS, OPT_PLOT, OPT_MEASURE, OPT_FOOD,
       OPT_FOOD_YEAR, OPT_VERSUS, OPT_OVER, OPT_BY, OPT_WORTH, OPT_UNTIL_CLEAR, OPT_MOST_TRIALS, OPT_RISK, OPT_CONFIDENCE,
       OPT_COST, OPT_PRECISION, OPT_BASE, OPT_HARD_FROST, OPT_YEAR_STARTS, OPT_FAHRENHEIT, OPT_DATE_COLUMN,
       OPT_TMIN_COLUMN, OPT_TMAX_COLUMN, OPT_WEATHER, OPT_PRIOR, OPT_WEIGHT, OPT_REFERENCE, OPT_GENERATE,
       OPT_PART, OPT_STATE };

static const struct option long_options[] = {
    { "trials", required_argument, NULL, 'n' },
    { "random-seed", required_argument, NULL, 'r' },
    { "threads", required_argument, NULL, 'j' },
    { "out", required_argument, NULL, 'o' },
    { "set", required_argument, NULL, 's' },
    { "per-trial", no_argument, NULL, OPT_PER_TRIAL },
    { "trial", required_argument, NULL, OPT_TRIAL },
    { "part", required_argument, NULL, OPT_PART },
    { "state", required_argument, NULL, OPT_STATE },
    { "measure", required_argument, NULL, OPT_MEASURE },
    { "food", required_argument, NULL, OPT_FOOD },
    { "food-year", required_argument, NULL, OPT_FOOD_YEAR },
    { "versus", required_argument, NULL, OPT_VERSUS },
    { "over", required_argument, NULL, OPT_OVER },
    { "by", required_argument, NULL, OPT_BY },
    { "worth", required_argument, NULL, OPT_WORTH },
    { "until-clear", no_argument, NULL, OPT_UNTIL_CLEAR },
    { "most-trials", required_argument, NULL, OPT_MOST_TRIALS },
    { "risk", required_argument, NULL, OPT_RISK },
    { "confidence", required_argument, NULL, OPT_CONFIDENCE },
    { "cost", required_argument, NULL, OPT_COST },
    { "precision", required_argument, NULL, OPT_PRECISION },
    { "base", required_argument, NULL, OPT_BASE },
    { "hard-frost", required_argument, NULL, OPT_HARD_FROST },
    { "year-starts", required_argument, NULL, OPT_YEAR_STARTS },
    { "fahrenheit", no_argument, NULL, OPT_FAHRENHEIT },
    { "date-column", required_argument, NULL, OPT_DATE_COLUMN },
    { "tmin-column", required_argument, NULL, OPT_TMIN_COLUMN },
    { "tmax-column", required_argument, NULL, OPT_TMAX_COLUMN },
    { "weather", required_argument, NULL, OPT_WEATHER },
    { "prior", required_argument, NULL, OPT_PRIOR },
    { "weight", required_argument, NULL, OPT_WEIGHT },
    { "generate", required_argument, NULL, OPT_GENERATE },
    { "reference", no_argument, NULL, OPT_REFERENCE },
    { "configs", required_argument, NULL, OPT_CONFIGS },
    { "decimal-comma", no_argument, NULL, OPT_DECIMAL_COMMA },
    { "pounds", no_argument, NULL, OPT_POUNDS },
    { "plot", no_argument, NULL, OPT_PLOT },
    { "quiet", no_argument, NULL, 'q' },
    { "help", no_argument, NULL, 'h' },
    { NULL, 0, NULL, 0 },
};

void command_print_options(FILE *to)
{
    fputs("Options:\n"
          "  -n, --trials N          how many possible futures to run (default: the scenario's)\n"
          "  -r, --random-seed N     another set of luck (default: the scenario's)\n"
          "  -j, --threads N         threads to use, 1 to 64 (default: all processors); the figures do not depend on it\n"
          "  -o, --out DIR           where the files go (default: out)\n"
          "  -s, --set PATH=VALUE    changes a setting; also PATH+=VALUE and PATH-=VALUE; may be repeated\n"
          "      --per-trial         also writes trials.csv, a row a trial and food year\n"
          "      --trial N           which trial the diary tells, counted from 0\n"
          "      --part K/N          run: only part K of N, from 1, into a file that merge takes\n"
          "      --state FILE        run: keeps what is done there, so that the same command goes on if it is interrupted\n"
          "      --precision P       adds trials until the headline chance is known to +-P (run, compare, vary, size)\n"
          "      --most-trials N     never more trials than this (default: 10,000,000; size: 1,000,000)\n"
          "      --measure NAME      what is judged (default: chance_short), with --food beans, squash or any and --food-year N\n"
          "      --versus PATH=VALUE compare: a change to the first scenario; may be repeated; several with ';' between them\n"
          "      --worth D           compare: a difference smaller than this is not worth telling\n"
          "      --until-clear       compare: adds trials until every pair is told apart or within --worth\n"
          "      --over PATH=RANGE   vary: 1..10, 1..10:0.5, 05-10..06-10:7 (days) or a,b,c; once or twice\n"
          "      --by PATH=RANGE     size: the settings to choose among; up to four times\n"
          "      --risk R            size: the chance of running short that is allowed, such as 0.10\n"
          "      --confidence C      size: how sure the answer must be (default: 0.95)\n"
          "      --cost WHAT         size: cheapest by bed_m2, hours or money of the crops\n"
          "      --base C            season: heat above this; may be repeated (default: 8 and 10)\n"
          "      --hard-frost C      season, fit: what counts as a hard frost (default: -2)\n"
          "      --year-starts MM-DD season, fit: near 03-01 (default), or 09-01 in the south\n"
          "      --fahrenheit        season, fit: the record is in degrees Fahrenheit\n"
          "      --date-column NAME  season, fit: the record's headings, also --tmin-column and --tmax-column\n"
          "      --generate N        season: also tells N seasons made up by the generator fitted to the record\n"
          "      --weather FILE      fit: a daily record, which becomes a climate; a notebook may go with it\n"
          "      --prior FILE        fit: a crop of the library to blend with, worth --weight N records\n"
          "      --configs DIR       the library of crops, climates and households\n"
          "      --decimal-comma     CSV with semicolons and decimal commas\n"
          "      --pounds            weights in pounds in the printed answer\n"
          "      --plot              draws the pictures too (needs gnuplot)\n"
          "  -q, --quiet             no answer and no progress on the terminal\n"
          "  -h, --help              this help\n"
          "  -V, --version           the version\n", to);
}

enum base_result command_refuse(const char *format, ...)
{
    char text[2000];                    /* what is longer is cut off */
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    fputs("tideover: ", stderr);
    base_print_plain(text, stderr);
    fputc('\n', stderr);
    return BASE_WRONG;
}

static bool whole(const char *text, int64_t least, int64_t most, int64_t *value)
{
    char *end;
    if (text[0] == '\0' || strspn(text, "0123456789") != strlen(text) || strlen(text) > 19)
        return false;
    errno = 0;
    *value = strtoll(text, &end, 10);
    return *end == '\0' && errno == 0 && *value >= least && *value <= most;
}

static bool add_set(struct command_options *options, const char *set)
{
    if (options->sets_n == COMMAND_MOST_SETS)
        return false;
    options->sets[options->sets_n++] = set;
    return true;
}

/* --trials and --random-seed are settings like any other, so that they stand in effective.cfg as they were used. */
static enum base_result set_whole(struct command_options *options, const char *setting, const char *option, const char *allowed,
                                  const char *text)
{
    int64_t value;
    if (!whole(text, 0, INT64_MAX, &value))
        return command_refuse("--%s wants a whole number %s (got \"%s\")", option, allowed, text);
    if (options->numbers_n == COMMAND_MOST_NUMBERS)
        return command_refuse("--%s is given too often", option);
    char *set = options->number[options->numbers_n++];
    snprintf(set, sizeof options->number[0], "%s=%lld", setting, (long long)value);
    return add_set(options, set) ? BASE_OK : command_refuse("more than %d settings on the command line", COMMAND_MOST_SETS);
}

static bool real(const char *text, double least, double most, double *value)
{
    char *end;
    if (text[0] == '\0' || strspn(text, "0123456789.eE-+") != strlen(text))
        return false;
    *value = strtod(text, &end);
    return *end == '\0' && *value >= least && *value <= most;
}

static enum base_result take_real(const char *option, const char *text, double least, double most, double *value)
{
    return real(text, least, most, value) ? BASE_OK : command_refuse("--%s wants a number from %g to %g (got \"%s\")", option,
                                                                     least, most, text);
}

static enum base_result add_to(const char **list, int *n, int most, const char *option, const char *value)
{
    if (*n == most)
        return command_refuse("--%s may be given %d times at the most", option, most);
    list[(*n)++] = value;
    return BASE_OK;
}

/* Options of the commands that decide. */
static enum base_result take_deciding(struct command_options *options, int option, const char *value)
{
    int64_t number;
    switch (option) {
    case OPT_MEASURE: options->measure = value; return BASE_OK;
    case OPT_FOOD: options->food = value; return BASE_OK;
    case OPT_FOOD_YEAR:
        if (!whole(value, 1, SCENARIO_MOST_YEARS, &number))
            return command_refuse("--food-year wants a whole number from 1 to %d (got \"%s\")", SCENARIO_MOST_YEARS, value);
        options->food_year = (int)number;
        return BASE_OK;
    case OPT_VERSUS: return add_to(options->versus, &options->versus_n, COMMAND_MOST_VARIANTS - 1, "versus", value);
    case OPT_OVER: return add_to(options->over, &options->over_n, 2, "over", value);
    case OPT_BY: return add_to(options->over, &options->over_n, COMMAND_MOST_RANGES, "by", value);
    case OPT_WORTH: return take_real("worth", value, 0, 1e9, &options->worth);
    case OPT_UNTIL_CLEAR: options->until_clear = true; return BASE_OK;
    case OPT_MOST_TRIALS:
        if (!whole(value, 1, 4000000000, &options->most_trials))
            return command_refuse("--most-trials wants a whole number from 1 to 4000000000 (got \"%s\")", value);
        return BASE_OK;
    case OPT_RISK: return take_real("risk", value, 0.000001, 0.999999, &options->risk);
    case OPT_CONFIDENCE: return take_real("confidence", value, 0.5, 0.999999, &options->confidence);
    case OPT_PRECISION: return take_real("precision", value, 0.00001, 0.5, &options->precision);
    case OPT_COST:
        options->cost = value;
        if (strcmp(value, "bed_m2") == 0 || strcmp(value, "hours") == 0 || strcmp(value, "money") == 0)
            return BASE_OK;
        return command_refuse("--cost is bed_m2, hours or money (got \"%s\")", value);
    default: return BASE_WRONG;
    }
}

/* Options of the commands that read the household's records. */
static enum base_result take_records(struct command_options *options, int option, const char *value)
{
    int64_t number;
    switch (option) {
    case OPT_BASE:
        if (options->bases_n == COMMAND_MOST_BASES)
            return command_refuse("--base may be given %d times at the most", COMMAND_MOST_BASES);
        return take_real("base", value, -20, 40, &options->base_c[options->bases_n++]);
    case OPT_HARD_FROST: return take_real("hard-frost", value, -30, 10, &options->hard_frost_c);
    case OPT_YEAR_STARTS: {
        int day = base_day_of_year(value), march = base_day_of_year("03-01"), september = base_day_of_year("09-01");
        options->year_starts = day;
        if (day >= 0 && (abs(day - march) <= 21 || abs(day - september) <= 21))
            return BASE_OK;
        return command_refuse("--year-starts wants a date, MM-DD, within three weeks of 03-01 or 09-01 (got \"%s\")", value);
    }
    case OPT_FAHRENHEIT: options->fahrenheit = true; return BASE_OK;
    case OPT_DATE_COLUMN: options->date_column = value; return BASE_OK;
    case OPT_TMIN_COLUMN: options->tmin_column = value; return BASE_OK;
    case OPT_TMAX_COLUMN: options->tmax_column = value; return BASE_OK;
    case OPT_WEATHER: options->weather = value; return BASE_OK;
    case OPT_PRIOR: options->prior = value; return BASE_OK;
    case OPT_GENERATE:
        if (!whole(value, 100, 10000, &number))
            return command_refuse("--generate wants a whole number of seasons from 100 to 10000 (got \"%s\")", value);
        options->generate = (int)number;
        return BASE_OK;
    case OPT_WEIGHT:
        if (!whole(value, 1, 10000, &options->weight))
            return command_refuse("--weight wants a whole number of records from 1 to 10000 (got \"%s\")", value);
        return BASE_OK;
    default: return take_deciding(options, option, value);
    }
}

/* "3/16" */
static enum base_result take_part(struct command_options *options, const char *value)
{
    char text[24] = "";
    int64_t part = 0, parts = 0;
    snprintf(text, sizeof text, "%s", value);
    char *slash = strlen(value) < sizeof text ? strchr(text, '/') : NULL;
    if (slash)
        *slash = '\0';
    if (!slash || !whole(slash + 1, 1, COMMAND_MOST_PARTS, &parts) || !whole(text, 1, parts, &part))
        return command_refuse("--part wants a part, counted from 1, and how many there are, at most %d, as 3/16 (got \"%s\")",
                              COMMAND_MOST_PARTS, value);
    options->part = (int)part;
    options->parts = (int)parts;
    return BASE_OK;
}

static enum base_result take(struct command_options *options, int option, const char *value, bool *wants_help)
{
    int64_t number;
    switch (option) {
    case 'n': return set_whole(options, "trials", "trials", "from 1 to 10000000000", value);
    case 'r': return set_whole(options, "random_seed", "random-seed", "from 0", value);
    case 'j':
        if (!whole(value, 1, 64, &number))
            return command_refuse("--threads wants a whole number from 1 to 64 (got \"%s\")", value);
        options->threads = (int)number;
        return BASE_OK;
    case OPT_TRIAL:
        if (!whole(value, 0, INT64_MAX, &options->trial))
            return command_refuse("--trial wants a whole number from 0 (got \"%s\")", value);
        return BASE_OK;
    case OPT_PART: return take_part(options, value);
    case OPT_STATE: options->state = value; return BASE_OK;
    case 'o': options->out = value; return BASE_OK;
    case 's':
        return add_set(options, value) ? BASE_OK
                                       : command_refuse("more than %d settings on the command line", COMMAND_MOST_SETS);
    case OPT_CONFIGS: options->configs = value; return BASE_OK;
    case OPT_PER_TRIAL: options->per_trial = true; return BASE_OK;
    case OPT_DECIMAL_COMMA: options->decimal_comma = true; return BASE_OK;
    case OPT_POUNDS: options->pounds = true; return BASE_OK;
    case OPT_PLOT: options->plot = true; return BASE_OK;
    case OPT_REFERENCE: options->reference = true; return BASE_OK;
    case 'q': options->quiet = true; return BASE_OK;
    case 'h': *wants_help = true; return BASE_OK;
    default: return take_records(options, option, value);
    }
}

enum base_result command_read_options(int argc, char **argv, struct command_options *options, bool *wants_help)
{
    *options = (struct command_options){ .out = "out", .threads = engine_processors(), .worth = -1, .risk = -1,
                                           .confidence = 0.95, .precision = -1, .hard_frost_c = -2,
                                           .year_starts = base_day_of_year("03-01"), .date_column = "date",
                                           .tmin_column = "tmin", .tmax_column = "tmax" };
    *wants_help = false;
    opterr = 0;
    for (int option; (option = getopt_long(argc, argv, ":n:r:j:o:s:qh", long_options, NULL)) != -1;) {
        if (option == ':')
            return command_refuse("%s needs a value; see tideover --help", argv[optind - 1]);
        if (option == '?')
            return command_refuse("there is no option %s; see tideover --help", argv[optind - 1]);
        enum base_result result = take(options, option, optarg, wants_help);
        if (result != BASE_OK)
            return result;
    }
    options->args = argv + optind;
    options->args_n = argc - optind;
    if ((options->parts > 0 || options->state) && !*wants_help && strcmp(argv[0], "run") != 0)
        return command_refuse("--%s is for run", options->parts > 0 ? "part" : "state");
    return BASE_OK;
}

int64_t command_most_trials(const struct command_options *options)
{
    enum { DEFAULT_MOST = 10000000 };
    return options->most_trials > 0 ? options->most_trials : DEFAULT_MOST;
}
