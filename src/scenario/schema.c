/* schema.c: the table of settings: climate, places, store and shelf. One row a setting; it drives reading,
 * checking, the command line's settings, what is written out, the explanations and the reference. */
#include "scenario/inside.h"

#include <math.h>

#define SIZE(array) (sizeof (array) / sizeof (array)[0])

#define GENERATOR(field) offsetof(struct scenario_generator, field)
static const struct scenario_setting generator_settings[] = {
    {.name = "seasons", .type = SCENARIO_TYPE_WHOLE, .unit = "seasons", .most = 10000,
     .fallback = "2000", .offset = GENERATOR(seasons),
     .meaning = "How many seasons are made up, 100 at the least. Each trial takes one of them with equal chance. 0 takes "
                "the generator away."},
    {.name = "tmin_sd_c", .type = SCENARIO_TYPE_MONTHS, .unit = "degrees C", .most = 20,
     .offset = GENERATOR(tmin_sd_c),
     .meaning = "Standard deviation of daily minima about their normal, January first. Without records only, and "
                "then it must be given."},
    {.name = "tmax_sd_c", .type = SCENARIO_TYPE_MONTHS, .unit = "degrees C", .most = 20,
     .offset = GENERATOR(tmax_sd_c),
     .meaning = "The same of daily maxima."},
    {.name = "lag_one", .type = SCENARIO_TYPE_REAL, .most = 0.99, .fallback = "0.6", .offset = GENERATOR(lag_one),
     .meaning = "Correlation of a day's departure from the normal with the next day's. Without records only."},
    {.name = "same_day", .type = SCENARIO_TYPE_REAL, .least = -0.99, .most = 0.99, .fallback = "0.55",
     .offset = GENERATOR(same_day),
     .meaning = "Correlation of a day's minimum with its maximum, as departures. Without records only."},
    {.name = "year_sd_c", .type = SCENARIO_TYPE_REAL, .unit = "degrees C", .most = 10, .fallback = "0.0",
     .offset = GENERATOR(year_sd_c),
     .meaning = "Standard deviation of a season's departure as a whole, which days that follow one another do not "
                "bring about. Without records only."},
    SCENARIO_NOTES,
};
static const struct scenario_group scenario_group_generator = {
    "Seasons made up day by day.", generator_settings, SIZE(generator_settings)};

#define THIS_SEASON(field) offsetof(struct scenario_this_season, field)
static const struct scenario_setting this_season_settings[] = {
    {.name = "last_frost", .type = SCENARIO_TYPE_DATE, .offset = THIS_SEASON(last_frost),
     .meaning = "Date of this spring's last air frost, when it is past."},
    {.name = "warmth", .type = SCENARIO_TYPE_REAL, .unit = "degrees C", .least = -20, .most = 20,
     .offset = THIS_SEASON(warmth_c),
     .meaning = "This season's departure from the monthly normals so far: the mean over days 61 (1 May, or 1 November in the "
                "south) to as_of. The rest of the season's is drawn given it."},
    {.name = "as_of", .type = SCENARIO_TYPE_DATE, .absent = -1, .offset = THIS_SEASON(as_of),
     .meaning = "The day until which warmth is known. Without it, on_shelf.as_of; without either, or after day 213, warmth is the "
                "whole season's."},
    SCENARIO_NOTES,
};
static const struct scenario_group scenario_group_this_season = {
    "What is known already of season 0.", this_season_settings, SIZE(this_season_settings)};

#define CLIMATE(field) offsetof(struct scenario_climate, field)
static const struct scenario_setting climate_settings[] = {
    {.name = "last_frost", .type = SCENARIO_TYPE_DISTRIBUTION,
     .flags = SCENARIO_IS_DATE | SCENARIO_BEFORE_DAY_0 | SCENARIO_MAY_DOUBT, .bound = SCENARIO_UNBOUNDED,
     .offset = CLIMATE(last_frost),
     .meaning = "Date of the last spring air frost, at or below 0 degrees C. A date in the second half of "
                "the simulation year is read as before its beginning: there is none."},
    {.name = "first_hard_frost", .type = SCENARIO_TYPE_DISTRIBUTION,
     .flags = SCENARIO_IS_DATE | SCENARIO_MAY_DOUBT,
     .bound = SCENARIO_UNBOUNDED, .offset = CLIMATE(first_hard_frost),
     .meaning = "Date of the first autumn minimum at or below hard_frost_c."},
    {.name = "warmth", .type = SCENARIO_TYPE_DISTRIBUTION, .flags = SCENARIO_MAY_DOUBT,
     .bound = SCENARIO_UNBOUNDED, .unit = "degrees C",
     .least = -20, .most = 20, .fallback = "0.0", .offset = CLIMATE(warmth),
     .meaning = "The season's departure from the monthly normals. Drawn once a season."},
    {.name = "correlation", .type = SCENARIO_TYPE_MATRIX, .least = -1, .most = 1,
     .offset = CLIMATE(correlation),
     .meaning = "Correlation, of normal scores, of last_frost, first_hard_frost and warmth, in that order: "
                "three rows of three. Without it there is none."},
    {.name = "tmin_c", .type = SCENARIO_TYPE_MONTHS, .unit = "degrees C", .least = -60, .most = 60,
     .offset = CLIMATE(tmin_c),
     .meaning = "Monthly normals of the daily minimum, January first."},
    {.name = "tmax_c", .type = SCENARIO_TYPE_MONTHS, .unit = "degrees C", .least = -60, .most = 60,
     .offset = CLIMATE(tmax_c),
     .meaning = "Monthly normals of the daily maximum, January first."},
    {.name = "hard_frost_c", .type = SCENARIO_TYPE_REAL, .unit = "degrees C", .least = -30, .most = 10,
     .fallback = "-2.0", .offset = CLIMATE(hard_frost_c),
     .meaning = "What counts as a hard frost."},
    {.name = "records_file", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_NOT_STORED,
     .meaning = "CSV file of daily minimum and maximum temperatures, beside the file that names it. Its "
                "seasons are then drawn instead of last_frost, first_hard_frost and warmth. An empty text "
                "means none."},
    {.name = "date_column", .type = SCENARIO_TYPE_TEXT, .fallback = "date", .offset = CLIMATE(date_column),
     .meaning = "Heading of the records' column of ISO dates."},
    {.name = "tmin_column", .type = SCENARIO_TYPE_TEXT, .fallback = "tmin", .offset = CLIMATE(tmin_column),
     .meaning = "Heading of the records' column of daily minima."},
    {.name = "tmax_column", .type = SCENARIO_TYPE_TEXT, .fallback = "tmax", .offset = CLIMATE(tmax_column),
     .meaning = "Heading of the records' column of daily maxima."},
    {.name = "temperature_unit", .type = SCENARIO_TYPE_CHOICE, .choices = "C|F", .fallback = "C",
     .offset = CLIMATE(temperature_unit),
     .meaning = "What the records' temperatures are written in: degrees C (Celsius) or F (Fahrenheit)."},
    {.name = "generator", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK,
     .inside = &scenario_group_generator, .offset = CLIMATE(generator),
     .meaning = "Makes seasons up day by day, instead of taking recorded ones or drawing frost dates: fitted to "
                "records_file where there is one (five seasons at the least), else about tmin_c and tmax_c with the "
                "figures here. Frost dates and heat then come out of one weather."},
    {.name = "this_season", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK,
     .inside = &scenario_group_this_season, .offset = CLIMATE(this_season),
     .meaning = "What is known already of the first season; the rest of it is drawn given that. With frost dates and warmth "
                "from distributions only."},
    {.name = "max_missing_days", .type = SCENARIO_TYPE_WHOLE, .unit = "days", .most = 200, .fallback = "5",
     .offset = CLIMATE(max_missing_days),
     .meaning = "A recorded season with more days missing than this, from spring to the end of autumn, is "
                "left out."},
    SCENARIO_NOTES,
};

#define PLACE(field) offsetof(struct scenario_place, field)
static const struct scenario_setting place_settings[] = {
    {.name = "name", .type = SCENARIO_TYPE_TEXT, .offset = PLACE(name),
     .meaning = "What the place is called. Without it, place 1, place 2, and so on."},
    {.name = "holds", .type = SCENARIO_TYPE_HOLDS, .unit = "fruits", .most = 1000000, .absent = HUGE_VAL,
     .offset = PLACE(holds),
     .meaning = "How many whole squash it has room for. Without it, any number."},
    {.name = "keeps_factor", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_ABOVE, .most = 10,
     .fallback = "1.0", .offset = PLACE(keeps_factor),
     .meaning = "Factor on how long squash keeps there."},
    SCENARIO_NOTES,
};

#define STORE(field) offsetof(struct scenario_store, field)
static const struct scenario_setting store_settings[] = {
    {.name = "look_over_weeks", .type = SCENARIO_TYPE_WHOLE, .unit = "weeks", .least = 1, .most = 52,
     .fallback = "1", .offset = STORE(look_over_weeks),
     .meaning = "How often the squash are looked over for rot."},
    {.name = "salvage_share", .type = SCENARIO_TYPE_REAL, .most = 1, .fallback = "0.0",
     .offset = STORE(salvage_share),
     .meaning = "Share of a spoiled squash's flesh that can still be kept, for each week that it lay so. "
                "What smells, tastes bitter or is mouldy through is thrown away."},
    {.name = "cut_keeps_weeks", .type = SCENARIO_TYPE_WHOLE, .unit = "weeks", .most = 52, .fallback = "1",
     .offset = STORE(cut_keeps_weeks),
     .meaning = "Weeks after the one of cutting in which cut flesh may be eaten."},
    {.name = "jar_kg", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_ABOVE, .unit = "kg", .most = 1000,
     .fallback = "1.0", .offset = STORE(jar_kg),
     .meaning = "Dry beans that a jar holds."},
    {.name = "jar_keeps_weeks", .type = SCENARIO_TYPE_DISTRIBUTION, .bound = SCENARIO_POSITIVE,
     .unit = "weeks", .most = 100000, .offset = STORE(jar_keeps_weeks),
     .meaning = "How long a jar keeps before damp or insects get into it. Without it, for ever. Drawn for "
                "each jar."},
    {.name = "beans_keep_seasons", .type = SCENARIO_TYPE_WHOLE, .unit = "seasons", .most = 50,
     .absent = SCENARIO_NEVER, .offset = STORE(beans_keep_seasons),
     .meaning = "Beans older than this are thrown out when a food year begins. Without it, there is no "
                "limit."},
    SCENARIO_NOTES,
};

#define FRUIT(field) offsetof(struct scenario_shelf_squash, field)
static const struct scenario_setting shelf_squash_settings[] = {
    {.name = "planting", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_REQUIRED | SCENARIO_NOT_STORED,
     .meaning = "Name of the planting that they came from."},
    {.name = "fruits", .type = SCENARIO_TYPE_WHOLE, .flags = SCENARIO_REQUIRED, .unit = "fruits", .least = 0,
     .most = 100000, .offset = FRUIT(fruits),
     .meaning = "How many there are."},
    {.name = "kg", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED | SCENARIO_ABOVE, .unit = "kg",
     .most = 1000, .offset = FRUIT(kg),
     .meaning = "Weight of one of them at the count."},
    {.name = "cut", .type = SCENARIO_TYPE_DATE, .flags = SCENARIO_REQUIRED, .offset = FRUIT(cut),
     .meaning = "Date on which they were cut."},
    {.name = "cured", .type = SCENARIO_TYPE_CHOICE, .choices = "unripe|poor|well", .fallback = "well",
     .offset = FRUIT(cured),
     .meaning = "Ripe and cured well, ripe and cured badly, or unripe."},
    {.name = "place", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_NOT_STORED,
     .meaning = "Name of the place where they lie. Without it, the first."},
    SCENARIO_NOTES,
};
const struct scenario_group scenario_group_shelf_squash = {
    "Squash that are alike.",
    shelf_squash_settings, SIZE(shelf_squash_settings)};

#define JAR(field) offsetof(struct scenario_shelf_beans, field)
static const struct scenario_setting shelf_beans_settings[] = {
    {.name = "planting", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_REQUIRED | SCENARIO_NOT_STORED,
     .meaning = "Name of the planting that they came from."},
    {.name = "kg", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED, .unit = "kg", .most = 100000,
     .offset = JAR(kg),
     .meaning = "Dry beans that there are."},
    {.name = "seasons_old", .type = SCENARIO_TYPE_WHOLE, .flags = SCENARIO_REQUIRED, .unit = "seasons",
     .most = 50, .offset = JAR(seasons_old),
     .meaning = "0: of the season of this simulation year; 1: of the one before; and so on."},
    {.name = "begun", .type = SCENARIO_TYPE_DATE, .absent = -1, .offset = JAR(begun),
     .meaning = "Date on which the jar was begun. Without it, the week in which its season's beans usually "
                "begin."},
    SCENARIO_NOTES,
};
const struct scenario_group scenario_group_shelf_beans = {
    "Beans of one planting and season.",
    shelf_beans_settings, SIZE(shelf_beans_settings)};

static const struct scenario_setting shelf_settings[] = {
    {.name = "as_of", .type = SCENARIO_TYPE_DATE, .absent = -1,
     .offset = offsetof(struct scenario_shelf, as_of),
     .meaning = "Date of the count: the time line begins there. Without it, the shelf is what is left when "
                "the first produce of season 0 arrives."},
    {.name = "squash", .type = SCENARIO_TYPE_LIST, .flags = SCENARIO_NOT_STORED,
     .inside = &scenario_group_shelf_squash,
     .meaning = "The squash there are."},
    {.name = "beans", .type = SCENARIO_TYPE_LIST, .flags = SCENARIO_NOT_STORED,
     .inside = &scenario_group_shelf_beans,
     .meaning = "The dry beans there are."},
    SCENARIO_NOTES,
};

const struct scenario_group scenario_group_climate = {
    "The weather of the seasons: frost dates, warmth and monthly normals, or a file of records.",
    climate_settings, SIZE(climate_settings)};
const struct scenario_group scenario_group_place = {
    "A place where squash are kept.",
    place_settings, SIZE(place_settings)};
const struct scenario_group scenario_group_store = {
    "How the stores are kept.",
    store_settings, SIZE(store_settings)};
const struct scenario_group scenario_group_shelf = {
    "What is in store already.",
    shelf_settings, SIZE(shelf_settings)};
