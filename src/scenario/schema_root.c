/* schema_root.c: the root of the table of settings. */
#include "scenario/inside.h"

#define AT(field) offsetof(struct scenario, field)

static const struct scenario_setting root_settings[] = {
    {.name = "extends", .type = SCENARIO_TYPE_FILES, .flags = SCENARIO_NOT_STORED,
     .meaning = "A file, or a list of files laid over one another in order, that this one is laid over. "
                "Groups merge by name; lists and distributions replace what stood there. A name is looked "
                "for beside the file that says it, then in the library, with or without .cfg."},
    {.name = "title", .type = SCENARIO_TYPE_TEXT, .offset = AT(title),
     .meaning = "What the scenario is called, or the question that it asks. Without it, the file's name."},
    {.name = "year_starts", .type = SCENARIO_TYPE_DATE, .flags = SCENARIO_NOT_STORED, .fallback = "03-01",
     .meaning = "First day of the simulation year: within three weeks of 1 March, or of 1 September in the "
                "south."},
    {.name = "first_year", .type = SCENARIO_TYPE_WHOLE, .least = 1600, .most = 9000, .fallback = "2001",
     .offset = AT(first_year),
     .meaning = "Year that dates in the output are counted from."},
    {.name = "food_years", .type = SCENARIO_TYPE_WHOLE, .unit = "years", .least = 1,
     .most = SCENARIO_MOST_YEARS, .fallback = "1", .offset = AT(food_years),
     .meaning = "Food years in a row that one trial covers."},
    {.name = "trials", .type = SCENARIO_TYPE_LONG, .least = 1, .most = 1e10, .fallback = "100000",
     .offset = AT(trials),
     .meaning = "How many possible futures are drawn."},
    {.name = "random_seed", .type = SCENARIO_TYPE_LONG, .least = 0, .most = 0x1p63, .fallback = "1",
     .offset = AT(random_seed),
     .meaning = "Number that all luck hangs on: the same number gives the same luck."},
    {.name = "sampling", .type = SCENARIO_TYPE_CHOICE, .choices = "independent|sobol|antithetic", .fallback = "independent",
     .offset = AT(sampling),
     .meaning = "How the weather, the crops' years and the averages over a planting's units and fruits are drawn from trial to "
                "trial: independently; spread evenly by 16 replicates of a scrambled Sobol sequence (randomised "
                "quasi-Monte Carlo), so that fewer trials give as sure an answer; or in antithetic pairs. All else is drawn "
                "independently."},
    {.name = "household", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_REQUIRED,
     .inside = &scenario_group_household, .offset = AT(household),
     .meaning = "Who eats, what, and when."},
    {.name = "climate", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_REQUIRED,
     .inside = &scenario_group_climate, .offset = AT(climate),
     .meaning = "The weather of the seasons."},
    {.name = "crops", .type = SCENARIO_TYPE_NAMED, .flags = SCENARIO_REQUIRED | SCENARIO_NOT_STORED,
     .inside = &scenario_group_crop,
     .meaning = "The crops, each a group under a name of your own."},
    {.name = "plantings", .type = SCENARIO_TYPE_NAMED, .flags = SCENARIO_REQUIRED | SCENARIO_NOT_STORED,
     .inside = &scenario_group_planting,
     .meaning = "What is planted, each a group under a name of your own."},
    {.name = "places", .type = SCENARIO_TYPE_LIST, .flags = SCENARIO_NOT_STORED,
     .inside = &scenario_group_place,
     .meaning = "Where squash are kept. A fruit takes the first place with room when it comes in. Without "
                "it there is one place with room for any number."},
    {.name = "store", .type = SCENARIO_TYPE_GROUP, .inside = &scenario_group_store, .offset = AT(store),
     .meaning = "How the stores are kept."},
    {.name = "on_shelf", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK,
     .inside = &scenario_group_shelf, .offset = AT(shelf),
     .meaning = "What is in store already. Without it, nothing."},
    SCENARIO_NOTES,
};

const struct scenario_group scenario_group_root = {
    "A scenario: a household, its climate, its crops and its stores.",
    root_settings, sizeof root_settings / sizeof root_settings[0]};
