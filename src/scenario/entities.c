/* entities.c: what a scenario has several of: crops, plantings, places, eaters, times away. */
#include "scenario/inside.h"

#include <string.h>

/* A list or a group of named groups: its nodes and paths, one after the other. */
struct several {
    struct scenario_binding *binding;
    struct scenario_tree *node;    /* the next one; NULL at the end */
    const char *path;              /* of the list */
    const char *its_path;          /* of the one that next() gave */
    int i;
};

/* Begins; complains when the node is not of the type. Returns how many there are. */
static int begin(struct several *several, struct scenario_binding *binding,
                 const struct scenario_tree *parent, const char *name, const char *path,
                 enum scenario_node type)
{
    struct scenario_tree *node = scenario_tree_member(parent, name);
    *several = (struct several){.binding = binding, .path = path, .i = -1};
    if (node == NULL) {
        return 0;
    }
    if (node->type != type) {
        scenario_wrong(binding, node, path, "is not %s (got %s)",
                       type == SCENARIO_LIST ? "a list ( { ... }, { ... } )"
                                             : "a group { ... } of named groups",
                       scenario_tree_shown(binding->reading, node));
        return 0;
    }
    several->node = node->first;
    return node->n;
}

/* The next one, which is a group; others are complained of and passed over. */
static struct scenario_tree *next(struct several *several)
{
    while (several->node != NULL) {
        struct scenario_tree *node = several->node;
        several->node = node->next;
        several->i++;
        several->its_path = node->name != NULL ? scenario_path(several->binding, several->path, node->name)
                                               : scenario_print(several->binding->reading, "%s[%d]",
                                                                several->path, several->i);
        if (node->type == SCENARIO_GROUP) {
            return node;
        }
        scenario_wrong(several->binding, node, several->its_path, "is not a group { ... } (got %s)",
                       scenario_tree_shown(several->binding->reading, node));
    }
    return NULL;
}

static void too_many(struct several *several, struct scenario_tree *node, int most)
{
    if (several->i == most) {
        scenario_wrong(several->binding, node, several->its_path, "is one too many (at most %d)", most);
    }
}

/* ---- crops and plantings ---------------------------------------------------------------------------- */

/* Makes the settings of the other kind refused ones; false when the kind is not known. */
static bool know_kind(const struct scenario_tree *crop, struct scenario_bind *bind)
{
    const struct scenario_tree *kind = scenario_tree_member(crop, "kind");
    bool beans = kind != NULL && kind->type == SCENARIO_TEXT && strcmp(kind->text, "beans") == 0;
    bool squash = kind != NULL && kind->type == SCENARIO_TEXT && strcmp(kind->text, "squash") == 0;
    bind->kind_unknown = !beans && !squash;
    if (beans) {
        bind->not_here = SCENARIO_FOR_SQUASH;
        bind->not_here_text = "is a setting of squash, and this crop is beans";
    } else if (squash) {
        bind->not_here = SCENARIO_FOR_BEANS;
        bind->not_here_text = "is a setting of beans, and this crop is squash";
    }
    return !bind->kind_unknown;
}

static void bind_crops(struct scenario_binding *binding)
{
    struct several several;
    int n = begin(&several, binding, binding->root, "crops", "crops", SCENARIO_GROUP);
    struct scenario_crop *crops = scenario_take(binding->reading, (size_t)n, sizeof *crops);
    struct scenario *scenario = binding->scenario;
    scenario->crops = crops;
    for (struct scenario_tree *node; crops != NULL && (node = next(&several)) != NULL;) {
        struct scenario_crop *crop = &crops[scenario->crops_n++];
        struct scenario_bind bind = {.group = &scenario_group_crop, .node = node, .path = several.its_path,
                                     .base = crop};
        crop->name = node->name;
        crop->origin = scenario_origin_of(node, several.its_path);
        know_kind(node, &bind);
        scenario_bind_group(binding, &bind);
    }
}

/* The crop a planting names; NULL and a complaint when there is none. */
static const struct scenario_crop *crop_named(struct scenario_binding *binding,
                                              struct scenario_tree *planting, const char *path)
{
    struct scenario_tree *name = scenario_tree_member(planting, "crop");
    const char *nearest = NULL;
    int best = SCENARIO_MOST_NAME;
    if (name == NULL || name->type != SCENARIO_TEXT) {
        return NULL; /* complained of with the other settings */
    }
    for (int i = 0; i < binding->scenario->crops_n; i++) {
        const struct scenario_crop *crop = &binding->scenario->crops[i];
        if (strcmp(crop->name, name->text) == 0) {
            return crop;
        }
        if (scenario_is_nearer(name->text, crop->name, &best)) {
            nearest = crop->name;
        }
    }
    scenario_wrong(binding, name, scenario_path(binding, path, "crop"),
                   "names none of the crops (got %s%s%s%s)", scenario_tree_shown(binding->reading, name),
                   nearest != NULL ? "; did you mean \"" : "", nearest != NULL ? nearest : "",
                   nearest != NULL ? "\"?" : "");
    return NULL;
}

static void bind_planting(struct scenario_binding *binding, struct scenario_tree *node, const char *path,
                          struct scenario_planting *planting)
{
    const struct scenario_crop *crop = crop_named(binding, node, path);
    struct scenario_bind bind = {.group = &scenario_group_planting,
                                 .node = node,
                                 .path = path,
                                 .base = planting,
                                 .kind_unknown = true};
    if (crop != NULL) {
        planting->crop = *crop;
        know_kind(scenario_tree_member(scenario_tree_member(binding->root, "crops"), crop->name), &bind);
    }
    planting->name = node->name;
    planting->origin = scenario_origin_of(node, path);
    struct scenario_tree *count = scenario_tree_member(node, "count");
    planting->count_origin = scenario_origin_of(count, scenario_path(binding, path, "count"));
    scenario_bind_group(binding, &bind);
}

static void bind_plantings(struct scenario_binding *binding)
{
    struct several several;
    int n = begin(&several, binding, binding->root, "plantings", "plantings", SCENARIO_GROUP);
    struct scenario *scenario = binding->scenario;
    struct scenario_planting *plantings = scenario_take(binding->reading, (size_t)n, sizeof *plantings);
    scenario->plantings = plantings;
    for (struct scenario_tree *node; plantings != NULL && (node = next(&several)) != NULL;) {
        too_many(&several, node, SCENARIO_MOST_PLANTINGS);
        bind_planting(binding, node, several.its_path, &plantings[scenario->plantings_n++]);
    }
}

/* ---- places ------------------------------------------------------------------------------------------ */

/* Gives a place without a name its number as one; in the tree too. */
static void name_place(struct scenario_binding *binding, struct scenario_tree *node,
                       struct scenario_place *place, int i)
{
    if (scenario_tree_member(node, "name") != NULL) {
        return;
    }
    place->name = scenario_print(binding->reading, "place %d", i + 1);
    struct scenario_tree *name = scenario_tree_new(binding->reading, SCENARIO_TEXT, "name");
    if (name != NULL) {
        name->text = place->name;
        name->is_default = true;
        scenario_tree_add(node, name);
    }
}

static void check_name(struct several *several, struct scenario_tree *node,
                       const struct scenario_place *places, int i)
{
    struct scenario_tree *name = scenario_tree_member(node, "name");
    for (int j = 0; j < i && places[i].name != NULL; j++) {
        if (places[j].name != NULL && strcmp(places[j].name, places[i].name) == 0) {
            scenario_wrong(several->binding, name, scenario_path(several->binding, several->its_path, "name"),
                           "is another place's name already (got \"%s\")", places[i].name);
            return;
        }
    }
}

/* Without places there is one, with room for any number of fruits. */
static void default_place(struct scenario_binding *binding)
{
    struct scenario_tree *list = scenario_tree_new(binding->reading, SCENARIO_LIST, "places");
    struct scenario_tree *place = scenario_tree_new(binding->reading, SCENARIO_GROUP, NULL);
    if (list != NULL && place != NULL) {
        list->is_default = place->is_default = true;
        scenario_tree_add(list, place);
        scenario_tree_add(binding->root, list);
    }
}

static void bind_places(struct scenario_binding *binding)
{
    struct several several;
    struct scenario *scenario = binding->scenario;
    if (scenario_tree_member(binding->root, "places") == NULL) {
        default_place(binding);
    }
    int n = begin(&several, binding, binding->root, "places", "places", SCENARIO_LIST);
    struct scenario_place *places = scenario_take(binding->reading, (size_t)n, sizeof *places);
    scenario->places = places;
    for (struct scenario_tree *node; places != NULL && (node = next(&several)) != NULL;) {
        int i = scenario->places_n++;
        struct scenario_bind bind = {.group = &scenario_group_place, .node = node, .path = several.its_path,
                                     .base = &places[i]};
        too_many(&several, node, SCENARIO_MOST_PLACES);
        scenario_bind_group(binding, &bind);
        name_place(binding, node, &places[i], several.i);
        if (i <= SCENARIO_MOST_PLACES) {
            check_name(&several, node, places, i);
        }
    }
}

/* ---- household ---------------------------------------------------------------------------------------- */

static void bind_eaters(struct scenario_binding *binding, const struct scenario_tree *household)
{
    struct several several;
    begin(&several, binding, household, "eaters", "household.eaters", SCENARIO_LIST);
    for (struct scenario_tree *node; (node = next(&several)) != NULL;) {
        struct scenario_eater eater = {0};
        struct scenario_bind bind = {.group = &scenario_group_eater, .node = node, .path = several.its_path,
                                     .base = &eater};
        scenario_bind_group(binding, &bind);
        binding->scenario->household.eaters_portions += eater.count * eater.portion;
    }
}

static void bind_away(struct scenario_binding *binding, const struct scenario_tree *household)
{
    struct several several;
    int n = begin(&several, binding, household, "away", "household.away", SCENARIO_LIST);
    struct scenario_window *away = scenario_take(binding->reading, (size_t)n, sizeof *away);
    binding->scenario->household.away = away;
    for (struct scenario_tree *node; away != NULL && (node = next(&several)) != NULL;) {
        struct scenario_bind bind = {.group = &scenario_group_away, .node = node, .path = several.its_path,
                                     .base = &away[binding->scenario->household.away_n++]};
        scenario_bind_group(binding, &bind);
    }
}

void scenario_bind_entities(struct scenario_binding *binding)
{
    const struct scenario_tree *household = scenario_tree_member(binding->root, "household");
    bind_crops(binding);
    bind_plantings(binding);
    bind_places(binding);
    bind_eaters(binding, household);
    bind_away(binding, household);
}
