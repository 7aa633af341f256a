/* cross.c: checks across settings: household, plantings and their crops. */
#include "scenario/inside.h"

#include <string.h>

/* ---- household --------------------------------------------------------------------------------------- */

static void check_eaters(struct scenario_binding *binding, const struct scenario_tree *household)
{
    struct scenario_tree *eaters = scenario_tree_member(household, "eaters");
    if (eaters == NULL || eaters->is_faulty) {
        return;
    }
    for (const struct scenario_tree *eater = eaters->first; eater != NULL; eater = eater->next) {
        if (eater->is_faulty) {
            return;
        }
        for (const struct scenario_tree *setting = eater->first; setting != NULL; setting = setting->next) {
            if (setting->is_faulty) {
                return;
            }
        }
    }
    if (!(binding->scenario->household.eaters_portions > 0)) {
        scenario_wrong(binding, eaters, "household.eaters",
                       "nobody eats: at least one eater with a portion is needed");
    }
}

static void check_window(struct scenario_binding *binding, struct scenario_tree *meal, const char *path)
{
    struct scenario_tree *from = scenario_tree_member(meal, "from"),
                         *until = scenario_tree_member(meal, "until");
    if ((from == NULL) != (until == NULL)) {
        scenario_wrong(binding, from != NULL ? from : until, path,
                       "from and until go together; only one is given");
    }
}

static void check_meals(struct scenario_binding *binding, const struct scenario_tree *household)
{
    struct scenario_tree *meals = scenario_tree_member(household, "meals");
    struct scenario_tree *beans = scenario_tree_member(meals, "beans"),
                         *squash = scenario_tree_member(meals, "squash");
    if (meals == NULL || meals->is_faulty) {
        return;
    }
    check_window(binding, beans, "household.meals.beans");
    check_window(binding, squash, "household.meals.squash");
    bool wanted = false;
    for (int i = 0; i < SCENARIO_FOODS; i++) {
        struct scenario_tree *meal = i == SCENARIO_BEANS ? beans : squash;
        struct scenario_tree *often = scenario_tree_member(meal, "meals_per_week");
        wanted = wanted ||
                 (meal != NULL && (meal->type != SCENARIO_GROUP || often == NULL || often->is_faulty)) ||
                 binding->scenario->household.meal[i].meals_per_week > 0;
    }
    if (!wanted) {
        scenario_wrong(binding, meals, "household.meals",
                       "no food is wanted: beans or squash needs meals_per_week above 0");
    }
}

/* Each eked week is then a short one: most likely not what was meant. */
static void check_eking(struct scenario_binding *binding)
{
    const struct scenario_household *household = &binding->scenario->household;
    if (household->ekes_out && household->eke_least < household->enough) {
        base_complain(binding->reading->complaints, BASE_WARNING, household->eke_origin.file,
                      household->eke_origin.line, "household.eke_out.least",
                      "is under household.enough, so that a week eked out so far counts as short (%g and %g)",
                      household->eke_least, household->enough);
    }
}

/* ---- crops and plantings ------------------------------------------------------------------------------ */

static void check_seed(struct scenario_binding *binding, const struct scenario_crop *crop,
                       struct scenario_tree *node)
{
    const struct scenario_tree *seed = scenario_tree_member(node, "seed_kg_per_unit");
    if (crop->saves_seed && (seed == NULL || seed->is_default)) {
        scenario_wrong(binding, node, scenario_path(binding, crop->origin.path, "seed_kg_per_unit"),
                       "is missing: saves_seed is true");
    }
}

/* The setting as given by the planting, else by its crop. */
static struct scenario_tree *given(const struct scenario_tree *planting, const struct scenario_tree *crop,
                                   const char *name)
{
    struct scenario_tree *own = scenario_tree_member(planting, name);
    return own != NULL ? own : scenario_tree_member(crop, name);
}

/* A planting's date `name`, which it or its crop must give; NULL when it is absent or faulty. */
static struct scenario_tree *needed_date(struct scenario_binding *binding,
                                         const struct scenario_planting *planting, struct scenario_tree *node,
                                         const struct scenario_tree *crop, const char *name)
{
    struct scenario_tree *date = given(node, crop, name);
    if (date == NULL) {
        scenario_wrong(binding, node, scenario_path(binding, planting->origin.path, name),
                       "is missing: neither the planting nor its crop %s gives it", planting->crop.name);
        return NULL;
    }
    return date->is_faulty ? NULL : date;
}

static void check_planting(struct scenario_binding *binding, const struct scenario_planting *planting,
                           struct scenario_tree *node)
{
    const struct scenario_tree *crops = scenario_tree_member(binding->root, "crops");
    if (planting->crop.name == NULL) {
        return; /* its crop is unknown: complained of already */
    }
    const struct scenario_tree *crop = scenario_tree_member(crops, planting->crop.name);
    const struct scenario_tree *kind = scenario_tree_member(crop, "kind");
    bool beans = planting->crop.kind == SCENARIO_KIND_BEANS;
    struct scenario_tree *out = needed_date(binding, planting, node, crop, "plant_out");
    if (kind == NULL || kind->is_faulty) {
        return;
    }
    const char *name = beans ? "pick_until" : "cut_by";
    int day = beans ? planting->crop.pick_until : planting->crop.cut_by;
    struct scenario_tree *end = needed_date(binding, planting, node, crop, name);
    if (out != NULL && end != NULL && day <= planting->crop.plant_out) {
        struct scenario_tree *own = scenario_tree_member(node, name);
        struct scenario_tree *at = own != NULL ? own : scenario_tree_member(node, "plant_out");
        scenario_wrong(binding, at != NULL ? at : node, scenario_path(binding, planting->origin.path, name),
                       "is not later in the simulation year than plant_out (got \"%s\" and \"%s\")",
                       end->text, out->text);
    }
}

void scenario_cross_plantings(struct scenario_binding *binding)
{
    const struct scenario *scenario = binding->scenario;
    struct scenario_tree *crops = scenario_tree_member(binding->root, "crops");
    struct scenario_tree *plantings = scenario_tree_member(binding->root, "plantings");
    if (crops != NULL && crops->type == SCENARIO_GROUP && crops->n == 0) {
        scenario_wrong(binding, crops, "crops", "is empty: at least one crop is needed");
    }
    if (plantings != NULL && plantings->type == SCENARIO_GROUP && plantings->n == 0) {
        scenario_wrong(binding, plantings, "plantings", "is empty: at least one planting is needed");
    }
    for (int i = 0; i < scenario->crops_n; i++) {
        check_seed(binding, &scenario->crops[i], scenario_tree_member(crops, scenario->crops[i].name));
    }
    for (int i = 0; i < scenario->plantings_n; i++) {
        const struct scenario_planting *planting = &scenario->plantings[i];
        check_planting(binding, planting, scenario_tree_member(plantings, planting->name));
    }
}

void scenario_cross_check(struct scenario_binding *binding)
{
    const struct scenario_tree *household = scenario_tree_member(binding->root, "household");
    struct scenario_tree *places = scenario_tree_member(binding->root, "places");
    check_eaters(binding, household);
    check_meals(binding, household);
    check_eking(binding);
    if (places != NULL && places->type == SCENARIO_LIST && places->n == 0) {
        scenario_wrong(binding, places, "places",
                       "is empty: leave it out for one place with room for any number");
    }
    scenario_cross_climate(binding);
    scenario_cross_plantings(binding);
    scenario_cross_amounts(binding);
}
