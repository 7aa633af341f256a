/* schema_household.c: the settings of the household: who eats, what, and when. */
#include "scenario/inside.h"

#define AT(field) offsetof(struct scenario_household, field)
#define SIZE(array) (sizeof (array) / sizeof (array)[0])

static const struct scenario_setting eater_settings[] = {
    {.name = "who", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_NOT_STORED,
     .meaning = "Who they are. Only shown."},
    {.name = "count", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED, .most = 10000,
     .offset = offsetof(struct scenario_eater, count),
     .meaning = "How many of them there are."},
    {.name = "portion", .type = SCENARIO_TYPE_REAL, .most = 10, .fallback = "1.0",
     .offset = offsetof(struct scenario_eater, portion),
     .meaning = "How much each of them eats, of one portion."},
    SCENARIO_NOTES,
};
const struct scenario_group scenario_group_eater = {
    "People who eat alike.",
    eater_settings, SIZE(eater_settings)};

static const struct scenario_setting guest_settings[] = {
    {.name = "chance", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED, .most = 1,
     .offset = AT(guests_chance),
     .meaning = "Chance, each week, that there are guests."},
    {.name = "portions", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED, .unit = "portions",
     .most = 10000, .offset = AT(guests_portions),
     .meaning = "Portions that guests add to that week's meals."},
    SCENARIO_NOTES,
};
static const struct scenario_group guests = {
    "Guests who come by chance.",
    guest_settings, SIZE(guest_settings)};

#define MEAL(field) offsetof(struct scenario_meal, field)
static const struct scenario_setting meal_settings[] = {
    {.name = "meals_per_week", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED, .most = 1000,
     .offset = MEAL(meals_per_week),
     .meaning = "Meals of this food that the household wants in a week."},
    {.name = "portion_kg", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED | SCENARIO_ABOVE,
     .unit = "kg", .most = 10, .offset = MEAL(portion_kg),
     .meaning = "One portion in one meal: of dry seed, or of squash flesh."},
    {.name = "from", .type = SCENARIO_TYPE_DATE, .offset = MEAL(window.from),
     .meaning = "First day of the part of the year in which it is wanted. Together with until; without "
                "both, all year."},
    {.name = "until", .type = SCENARIO_TYPE_DATE, .offset = MEAL(window.until),
     .meaning = "Last day of the part of the year in which it is wanted. It may be before from: then over "
                "the turn of the year."},
    SCENARIO_NOTES,
};
static const struct scenario_group meal = {
    "How often and how much of a food is wanted.",
    meal_settings, SIZE(meal_settings)};

static const struct scenario_setting meals_settings[] = {
    {.name = "beans", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK, .inside = &meal,
     .offset = AT(meal[SCENARIO_BEANS]),
     .meaning = "Meals of dry beans."},
    {.name = "squash", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK, .inside = &meal,
     .offset = AT(meal[SCENARIO_SQUASH]),
     .meaning = "Meals of winter squash."},
    SCENARIO_NOTES,
};
static const struct scenario_group meals = {
    "The meals that are wanted from the stores; at least one food.",
    meals_settings, SIZE(meals_settings)};

static const struct scenario_setting away_settings[] = {
    {.name = "from", .type = SCENARIO_TYPE_DATE, .flags = SCENARIO_REQUIRED,
     .offset = offsetof(struct scenario_window, from),
     .meaning = "First day away."},
    {.name = "until", .type = SCENARIO_TYPE_DATE, .flags = SCENARIO_REQUIRED,
     .offset = offsetof(struct scenario_window, until),
     .meaning = "Last day away."},
    SCENARIO_NOTES,
};
const struct scenario_group scenario_group_away = {
    "A time away: in weeks whose first day is in it nobody eats from the stores.",
    away_settings, SIZE(away_settings)};

static const struct scenario_setting eke_settings[] = {
    {.name = "least", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_REQUIRED, .most = 1,
     .offset = AT(eke_least),
     .meaning = "When the stock will not do until the next harvest, a week's want is cut to what it allows, "
                "but not below this share."},
    SCENARIO_NOTES,
};
static const struct scenario_group eke_out = {
    "Whether the household ekes its stores out when it sees them going down.",
    eke_settings, SIZE(eke_settings)};

static const struct scenario_setting needs_settings[] = {
    {.name = "kcal_per_day", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_ABOVE, .unit = "kcal",
     .most = 20000, .offset = AT(kcal_per_day),
     .meaning = "Energy that one portion 1.0 needs in a day."},
    {.name = "protein_g_per_day", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_ABOVE, .unit = "g",
     .most = 1000, .offset = AT(protein_g_per_day),
     .meaning = "Protein that one portion 1.0 needs in a day."},
    SCENARIO_NOTES,
};
static const struct scenario_group needs = {
    "What an eater needs, to tell which share of it the stores gave.",
    needs_settings, SIZE(needs_settings)};

static const struct scenario_setting household_settings[] = {
    {.name = "eaters", .type = SCENARIO_TYPE_LIST, .flags = SCENARIO_REQUIRED | SCENARIO_NOT_STORED,
     .inside = &scenario_group_eater,
     .meaning = "Those who eat; at least one."},
    {.name = "guests", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK, .inside = &guests,
     .meaning = "Guests who come by chance."},
    {.name = "meals", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_REQUIRED, .inside = &meals,
     .meaning = "The meals that are wanted from the stores."},
    {.name = "beans_stand_in", .type = SCENARIO_TYPE_TRUTH, .fallback = "false", .offset = AT(beans_stand_in),
     .meaning = "Whether beans are served, portion for portion, where squash is short."},
    {.name = "squash_stands_in", .type = SCENARIO_TYPE_TRUTH, .fallback = "false",
     .offset = AT(squash_stands_in),
     .meaning = "Whether squash is served, portion for portion, where beans are short."},
    {.name = "enough", .type = SCENARIO_TYPE_REAL, .flags = SCENARIO_ABOVE, .most = 1, .fallback = "1.0",
     .offset = AT(enough),
     .meaning = "A week is short when less than this share of the wanted portions is served."},
    {.name = "away", .type = SCENARIO_TYPE_LIST, .flags = SCENARIO_NOT_STORED, .inside = &scenario_group_away,
     .meaning = "Times in which nobody eats from the stores."},
    {.name = "eke_out", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK, .inside = &eke_out,
     .meaning = "Eking out. Without it the household eats as it wants until the store is empty."},
    {.name = "needs", .type = SCENARIO_TYPE_GROUP, .flags = SCENARIO_MAY_LACK, .inside = &needs,
     .meaning = "What an eater needs in a day."},
    SCENARIO_NOTES,
};

const struct scenario_group scenario_group_household = {
    "The household: who eats, what, and when.",
    household_settings, SIZE(household_settings)};
