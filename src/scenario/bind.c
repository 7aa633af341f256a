/* bind.c: groups of the tree into structs by the table, and the whole scenario. */
#include "scenario/inside.h"

#include <string.h>

static void unknown(struct scenario_binding *binding, const struct scenario_bind *bind,
                    struct scenario_tree *node)
{
    const char *nearest = scenario_nearest_setting(bind->group, node->name);
    const char *path = scenario_path(binding, bind->path, node->name);
    if (nearest != NULL) {
        scenario_wrong(binding, node, path, "is not a known setting (did you mean %s?)", nearest);
    } else {
        scenario_wrong(binding, node, path, "is not a known setting");
    }
}

static void missing(struct scenario_binding *binding, const struct scenario_bind *bind,
                    const struct scenario_setting *setting)
{
    char limits[80];
    scenario_limits_text(setting, limits);
    base_complain(binding->reading->complaints, BASE_ERROR, bind->node->file, bind->node->line,
                  scenario_path(binding, bind->path, setting->name), "is missing (a %s%s%s)",
                  setting->choices != NULL ? setting->choices : scenario_type_text(setting),
                  limits[0] != '\0' ? ", " : "", limits);
}

/* Whether the setting is of a kind of crop that this group is not, or not known to be. */
static bool is_elsewhere(const struct scenario_bind *bind, const struct scenario_setting *setting)
{
    unsigned kinds = setting->flags & (SCENARIO_FOR_BEANS | SCENARIO_FOR_SQUASH);
    return kinds != 0 && (bind->kind_unknown || (kinds & bind->not_here) != 0);
}

static void bind_inner(struct scenario_binding *binding, const struct scenario_bind *bind,
                       const struct scenario_setting *setting, struct scenario_tree *child, void *field)
{
    struct scenario_bind inner = {.group = setting->inside, .node = child, .base = field,
                                  .path = scenario_path(binding, bind->path, setting->name)};
    if (child != NULL && child->type != SCENARIO_GROUP) {
        scenario_wrong(binding, child, inner.path, "is not a group { ... } (got %s)",
                       scenario_tree_shown(binding->reading, child));
        inner.node = NULL;
    }
    scenario_bind_group(binding, &inner);
}

/* Puts the setting's default, or an empty group to be filled with defaults, into the tree. */
static struct scenario_tree *add_default(struct scenario_binding *binding, const struct scenario_bind *bind,
                                         const struct scenario_setting *setting)
{
    struct scenario_tree *node = NULL;
    if (setting->type == SCENARIO_TYPE_GROUP && !(setting->flags & (SCENARIO_MAY_LACK | SCENARIO_REQUIRED))) {
        node = scenario_tree_new(binding->reading, SCENARIO_GROUP, setting->name);
        if (node != NULL) {
            node->is_default = true;
        }
    } else if (setting->fallback != NULL) {
        node = scenario_fallback(binding->reading, setting);
    }
    if (node != NULL) {
        scenario_tree_add(bind->node, node);
    }
    return node;
}

static void bind_setting(struct scenario_binding *binding, const struct scenario_bind *bind,
                         const struct scenario_setting *setting)
{
    struct scenario_tree *child = scenario_tree_member(bind->node, setting->name);
    void *field = (char *)bind->base + setting->offset;
    bool stored = !(setting->flags & SCENARIO_NOT_STORED);
    if (stored && setting->type != SCENARIO_TYPE_GROUP && !(setting->flags & SCENARIO_OVERRIDE)) {
        scenario_bind_absent(binding, setting, field);
    }
    if (child == NULL && bind->node != NULL && !is_elsewhere(bind, setting)) {
        if (setting->flags & SCENARIO_REQUIRED) {
            missing(binding, bind, setting);
        }
        child = add_default(binding, bind, setting);
    }
    if (setting->type == SCENARIO_TYPE_GROUP) {
        bind_inner(binding, bind, setting, child, field);
        return;
    }
    if (child == NULL) {
        return;
    }
    const char *path = scenario_path(binding, bind->path, setting->name);
    if (setting->flags & bind->not_here) {
        scenario_wrong(binding, child, path, "%s", bind->not_here_text);
    } else if (stored) {
        scenario_bind_value(binding, setting, child, path, field);
    } else if (setting->type == SCENARIO_TYPE_TEXT) {
        scenario_bind_text(binding, child, path);
    }
}

void scenario_bind_group(struct scenario_binding *binding, const struct scenario_bind *bind)
{
    for (size_t i = 0; i < bind->group->n; i++) {
        bind_setting(binding, bind, &bind->group->settings[i]);
    }
    for (struct scenario_tree *child = bind->node != NULL ? bind->node->first : NULL; child != NULL;
         child = child->next) {
        if (scenario_setting_of(bind->group, child->name) == NULL) {
            unknown(binding, bind, child);
        }
    }
}

/* All dates hang on year_starts, so it is read before anything else. */
static void bind_year_starts(struct scenario_binding *binding)
{
    const struct scenario_setting *setting = scenario_setting_of(&scenario_group_root, "year_starts");
    struct scenario_tree *node = scenario_tree_member(binding->root, setting->name);
    int march = base_day_of_year("03-01"), september = base_day_of_year("09-01");
    binding->scenario->year_starts = march;
    if (node == NULL) {
        node = scenario_fallback(binding->reading, setting);
        if (node == NULL) {
            return;
        }
        scenario_tree_add(binding->root, node);
    }
    int day = node->type == SCENARIO_TEXT ? base_day_of_year(node->text) : -1;
    bool near_march = day >= march - 21 && day <= march + 21;
    bool near_september = day >= september - 21 && day <= september + 21;
    if (!near_march && !near_september) {
        scenario_wrong(binding, node, setting->name,
                       "is not a date within three weeks of \"03-01\" or \"09-01\" (got %s)",
                       scenario_tree_shown(binding->reading, node));
        return;
    }
    binding->scenario->year_starts = day;
}

/* A scenario without a title is called by its file's name. */
static void bind_title(struct scenario_binding *binding)
{
    struct scenario *scenario = binding->scenario;
    if (scenario_tree_member(binding->root, "title") != NULL) {
        return;
    }
    scenario->title = scenario->name;
    struct scenario_tree *node = scenario_tree_new(binding->reading, SCENARIO_TEXT, "title");
    if (node != NULL) {
        node->text = scenario->name;
        node->is_default = true;
        scenario_tree_add(binding->root, node);
    }
}

/* A records_file is looked for beside the file that names it; from here on it is an absolute path. */
static void bind_records_file(struct scenario_binding *binding)
{
    struct scenario_climate *climate = &binding->scenario->climate;
    struct scenario_tree *group = scenario_tree_member(binding->root, "climate");
    struct scenario_tree *node = scenario_tree_member(group, "records_file");
    climate->origin = scenario_origin_of(group, "climate");
    climate->records_origin = scenario_origin_of(node, "climate.records_file");
    climate->correlation_origin =
        scenario_origin_of(scenario_tree_member(group, "correlation"), "climate.correlation");
    if (node == NULL || node->is_faulty || node->type != SCENARIO_TEXT || node->text[0] == '\0') {
        return;
    }
    const char *folder = node->file != NULL ? scenario_folder(binding->reading, node->file) : ".";
    const char *absolute = scenario_resolved(binding->reading, folder);
    if (node->text[0] != '/' && absolute != NULL) {
        node->text = scenario_print(binding->reading, "%s/%s", absolute, node->text);
    }
    climate->records_file = node->text;
}

/* What the struct says in a flag of its own. */
static void bind_presence(struct scenario_binding *binding)
{
    struct scenario *scenario = binding->scenario;
    struct scenario_tree *household = scenario_tree_member(binding->root, "household");
    struct scenario_tree *meals = scenario_tree_member(household, "meals");
    struct scenario_tree *needs = scenario_tree_member(household, "needs");
    struct scenario_tree *eke_out = scenario_tree_member(household, "eke_out");
    static const char *const foods[SCENARIO_FOODS] = {"beans", "squash"};
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        struct scenario_tree *meal = scenario_tree_member(meals, foods[food]);
        scenario->household.meal[food].has_window =
            scenario_tree_member(meal, "from") != NULL && scenario_tree_member(meal, "until") != NULL;
    }
    scenario->household.has_needs_kcal = scenario_tree_member(needs, "kcal_per_day") != NULL;
    scenario->household.has_needs_protein = scenario_tree_member(needs, "protein_g_per_day") != NULL;
    struct scenario_tree *climate = scenario_tree_member(binding->root, "climate");
    scenario->climate.generator.is_set = scenario_tree_member(climate, "generator") != NULL
                                         && scenario->climate.generator.seasons > 0;
    struct scenario_tree *this_season = scenario_tree_member(climate, "this_season");
    scenario->climate.this_season.has_last_frost = scenario_tree_member(this_season, "last_frost") != NULL;
    scenario->climate.this_season.has_warmth = scenario_tree_member(this_season, "warmth") != NULL;
    scenario->household.ekes_out = scenario_tree_member(eke_out, "least") != NULL;
    scenario->household.eke_origin = scenario_origin_of(eke_out, "household.eke_out");
    scenario->household.origin = scenario_origin_of(household, "household");
}

struct scenario *scenario_bind(struct scenario_reading *reading, struct scenario_tree *root, const char *name)
{
    struct scenario *scenario = scenario_take(reading, 1, sizeof *scenario);
    if (scenario == NULL) {
        return NULL;
    }
    struct scenario_binding binding = {reading, root, scenario};
    scenario->name = name;
    scenario->tree = root;
    bind_title(&binding);
    bind_year_starts(&binding);
    scenario_drop_unused_climate(&binding);
    struct scenario_bind bind = {.group = &scenario_group_root, .node = root, .path = "", .base = scenario};
    scenario_bind_group(&binding, &bind);
    bind_records_file(&binding);
    bind_presence(&binding);
    scenario_bind_entities(&binding);
    scenario_bind_shelf(&binding);
    if (!reading->out_of_memory) {
        scenario_cross_check(&binding);
    }
    return reading->out_of_memory ? NULL : scenario;
}
