/* shelf.c: what is in store already. */
#include "scenario/inside.h"

#include <string.h>

/* Index of the planting that the group names, which must be of the kind; -1 and a complaint when there is
 * none. */
static int planting_named(struct scenario_binding *binding, struct scenario_tree *group, const char *path,
                          enum scenario_kind kind)
{
    const struct scenario *scenario = binding->scenario;
    struct scenario_tree *name = scenario_tree_member(group, "planting");
    path = scenario_path(binding, path, "planting");
    if (name == NULL || name->type != SCENARIO_TEXT) {
        return -1; /* complained of with the other settings */
    }
    for (int i = 0; i < scenario->plantings_n; i++) {
        if (strcmp(scenario->plantings[i].name, name->text) != 0) {
            continue;
        }
        if (scenario->plantings[i].crop.name != NULL && scenario->plantings[i].crop.kind != kind) {
            scenario_wrong(binding, name, path, "is not a planting of %s (got \"%s\")",
                           kind == SCENARIO_KIND_BEANS ? "beans" : "squash", name->text);
            return -1;
        }
        return i;
    }
    scenario_wrong(binding, name, path, "names none of the plantings (got %s)",
                   scenario_tree_shown(binding->reading, name));
    return -1;
}

/* Index of the place that the group names; the first when it names none. */
static int place_named(struct scenario_binding *binding, struct scenario_tree *group, const char *path)
{
    const struct scenario *scenario = binding->scenario;
    struct scenario_tree *name = scenario_tree_member(group, "place");
    if (name == NULL || name->type != SCENARIO_TEXT) {
        return 0;
    }
    for (int i = 0; i < scenario->places_n; i++) {
        if (scenario->places[i].name != NULL && strcmp(scenario->places[i].name, name->text) == 0) {
            return i;
        }
    }
    scenario_wrong(binding, name, scenario_path(binding, path, "place"), "names none of the places (got %s)",
                   scenario_tree_shown(binding->reading, name));
    return 0;
}

/* The shelf's list `name`; NULL when it is absent or none. */
static struct scenario_tree *list_of(struct scenario_binding *binding, struct scenario_tree *shelf,
                                     const char *name)
{
    struct scenario_tree *list = scenario_tree_member(shelf, name);
    if (list != NULL && list->type != SCENARIO_LIST) {
        scenario_wrong(binding, list, scenario_path(binding, "on_shelf", name),
                       "is not a list ( { ... }, { ... } ) (got %s)",
                       scenario_tree_shown(binding->reading, list));
        return NULL;
    }
    return list;
}

/* True when the element is a group. */
static bool is_group(struct scenario_binding *binding, struct scenario_tree *node, const char *path)
{
    if (node->type == SCENARIO_GROUP) {
        return true;
    }
    scenario_wrong(binding, node, path, "is not a group { ... } (got %s)",
                   scenario_tree_shown(binding->reading, node));
    return false;
}

static void bind_squash(struct scenario_binding *binding, struct scenario_tree *shelf)
{
    struct scenario_tree *list = list_of(binding, shelf, "squash");
    struct scenario_shelf_squash *squash =
        scenario_take(binding->reading, list != NULL ? (size_t)list->n : 0, sizeof *squash);
    int i = 0;
    binding->scenario->shelf.squash = squash;
    for (struct scenario_tree *node = list != NULL ? list->first : NULL; squash != NULL && node != NULL;
         node = node->next, i++) {
        const char *path = scenario_print(binding->reading, "on_shelf.squash[%d]", i);
        if (!is_group(binding, node, path)) {
            continue;
        }
        struct scenario_shelf_squash *one = &squash[binding->scenario->shelf.squash_n++];
        struct scenario_bind bind = {
            .group = &scenario_group_shelf_squash, .node = node, .path = path, .base = one};
        scenario_bind_group(binding, &bind);
        one->planting = planting_named(binding, node, path, SCENARIO_KIND_SQUASH);
        one->place = place_named(binding, node, path);
        one->origin = scenario_origin_of(node, path);
    }
}

static void bind_beans(struct scenario_binding *binding, struct scenario_tree *shelf)
{
    struct scenario_tree *list = list_of(binding, shelf, "beans");
    struct scenario_shelf_beans *beans =
        scenario_take(binding->reading, list != NULL ? (size_t)list->n : 0, sizeof *beans);
    int i = 0;
    binding->scenario->shelf.beans = beans;
    for (struct scenario_tree *node = list != NULL ? list->first : NULL; beans != NULL && node != NULL;
         node = node->next, i++) {
        const char *path = scenario_print(binding->reading, "on_shelf.beans[%d]", i);
        if (!is_group(binding, node, path)) {
            continue;
        }
        struct scenario_shelf_beans *one = &beans[binding->scenario->shelf.beans_n++];
        struct scenario_bind bind = {
            .group = &scenario_group_shelf_beans, .node = node, .path = path, .base = one};
        scenario_bind_group(binding, &bind);
        one->planting = planting_named(binding, node, path, SCENARIO_KIND_BEANS);
        one->origin = scenario_origin_of(node, path);
    }
}

void scenario_bind_shelf(struct scenario_binding *binding)
{
    struct scenario_tree *shelf = scenario_tree_member(binding->root, "on_shelf");
    bind_squash(binding, shelf);
    bind_beans(binding, shelf);
    binding->scenario->shelf.has_as_of = scenario_tree_member(shelf, "as_of") != NULL;
    binding->scenario->shelf.origin = scenario_origin_of(shelf, "on_shelf");
}
