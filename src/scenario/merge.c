/* merge.c: a scenario file and the files that it extends, laid over one another. */
#include "scenario/inside.h"

#include <string.h>
#include <sys/stat.h>

/* Lays `over` on `under`: groups merge, everything else replaces. `group` is the table's group that both
 * are, NULL when the table knows none; `named` when it is the group around groups named by the user. */
static void lay(struct scenario_tree *under, struct scenario_tree *over, const struct scenario_group *group,
                bool named)
{
    struct scenario_tree *next;
    under->file = over->file;
    under->line = over->line;
    for (struct scenario_tree *child = over->first; child != NULL; child = next) {
        next = child->next;
        struct scenario_tree *old = scenario_tree_member(under, child->name);
        const struct scenario_setting *setting = named || group == NULL
                                                     ? NULL
                                                     : scenario_setting_of(group, child->name);
        bool whole = setting != NULL && setting->type == SCENARIO_TYPE_DISTRIBUTION;
        if (old == NULL) {
            scenario_tree_add(under, child);
        } else if (old->type == SCENARIO_GROUP && child->type == SCENARIO_GROUP && !whole) {
            const struct scenario_group *inside = named ? group : setting != NULL ? setting->inside : NULL;
            lay(old, child, inside, setting != NULL && setting->type == SCENARIO_TYPE_NAMED);
        } else {
            scenario_tree_replace(under, old, child);
        }
    }
}

/* A file being read, and the ones that extend it. */
struct layer {
    const struct layer *extended_by;
    const char *path, *real;
    int depth;
};

static bool is_file(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && !S_ISDIR(about.st_mode);
}

/* folder/name or folder/name.cfg, whichever is there; NULL when neither is. */
static const char *in_folder(struct scenario_reading *reading, const char *folder, const char *name)
{
    const char *path = strcmp(folder, ".") == 0 || name[0] == '/'
                           ? scenario_print(reading, "%s", name)
                           : scenario_print(reading, "%s/%s", folder, name);
    if (is_file(path)) {
        return path;
    }
    path = scenario_print(reading, "%s.cfg", path);
    return is_file(path) ? path : NULL;
}

static const char *find_base(struct scenario_reading *reading, const struct scenario_tree *node,
                             const char *file)
{
    const char *path = in_folder(reading, scenario_folder(reading, file), node->text);
    if (path == NULL && reading->configs_dir != NULL && node->text[0] != '/') {
        path = in_folder(reading, reading->configs_dir, node->text);
    }
    if (path == NULL) {
        base_complain(reading->complaints, BASE_ERROR, node->file, node->line, "extends",
                      "there is no file \"%s\" (with or without .cfg) beside %s%s%s", node->text, file,
                      reading->configs_dir != NULL ? " or in " : "",
                      reading->configs_dir != NULL ? reading->configs_dir : "");
    }
    return path;
}

static bool in_chain(const struct layer *layer, const char *real)
{
    for (; layer != NULL; layer = layer->extended_by) {
        if (strcmp(layer->real, real) == 0) {
            return true;
        }
    }
    return false;
}

static struct scenario_tree *read_layer(struct scenario_reading *reading, const struct layer *up,
                                        const char *path, const struct scenario_tree *by);

/* Reads one base that `node` names and lays it on *under. False when anything is wrong. */
static bool lay_base(struct scenario_reading *reading, const struct layer *layer,
                     const struct scenario_tree *node, struct scenario_tree *under)
{
    if (node->type != SCENARIO_TEXT || node->text[0] == '\0') {
        base_complain(reading->complaints, BASE_ERROR, node->file, node->line, "extends",
                      "is not a file name (got %s)", scenario_tree_shown(reading, node));
        return false;
    }
    const char *path = find_base(reading, node, node->file != NULL ? node->file : layer->path);
    struct scenario_tree *base = path == NULL ? NULL : read_layer(reading, layer, path, node);
    if (base == NULL) {
        return false;
    }
    lay(under, base, &scenario_group_root, false);
    return true;
}

static bool lay_bases(struct scenario_reading *reading, const struct layer *layer,
                      const struct scenario_tree *extends, struct scenario_tree *under)
{
    if (extends->type != SCENARIO_LIST) {
        return lay_base(reading, layer, extends, under);
    }
    bool right = true;
    for (const struct scenario_tree *node = extends->first; node != NULL; node = node->next) {
        right = lay_base(reading, layer, node, under) && right;
    }
    return right;
}

/* False, with a complaint, when this file must not be extended. */
static bool may_extend(struct scenario_reading *reading, const struct layer *layer,
                       const struct scenario_tree *by)
{
    const char *why = NULL;
    if (in_chain(layer->extended_by, layer->real)) {
        why = "extends itself, directly or by way of others";
    } else if (layer->depth > SCENARIO_MOST_EXTENDS) {
        why = "ends a chain of more than 10 files";
    }
    if (why != NULL) {
        base_complain(reading->complaints, BASE_ERROR, by->file, by->line, "extends", "%s %s", layer->path,
                      why);
    }
    return why == NULL;
}

static struct scenario_tree *parse_file(struct scenario_reading *reading, const char *path,
                                        const struct scenario_tree *by)
{
    struct scenario_text text = {0};
    bool read = scenario_text_read(reading, path, by != NULL ? by->file : NULL, by != NULL ? by->line : 0, &text);
    return read ? scenario_parse(reading, &text, NULL) : NULL;
}

/* The text given instead of the file `path`. */
static struct scenario_tree *parse_given(struct scenario_reading *reading, const char *path)
{
    struct scenario_text text = {0};
    bool read = scenario_text_given(reading, path, reading->given, &text);
    struct scenario_tree *own = read ? scenario_parse(reading, &text, NULL) : NULL;
    const struct scenario_tree *extends = scenario_tree_member(own, "extends");
    if (extends != NULL) {
        base_complain(reading->complaints, BASE_ERROR, extends->file, extends->line, "extends",
                      "settings that are no file of their own extend nothing");
        return NULL;
    }
    return own;
}

/* The file at `path` with all it extends; `by` is the node that names it, NULL for the scenario itself. */
static struct scenario_tree *read_layer(struct scenario_reading *reading, const struct layer *up,
                                        const char *path, const struct scenario_tree *by)
{
    struct layer layer = {.extended_by = up, .path = path, .depth = up != NULL ? up->depth + 1 : 0};
    layer.real = scenario_resolved(reading, path);
    if (layer.real == NULL) {
        layer.real = path;
    }
    if (by != NULL && !may_extend(reading, &layer, by)) {
        return NULL;
    }
    struct scenario_tree *own = reading->given != NULL ? parse_given(reading, path) : parse_file(reading, path, by);
    struct scenario_tree *merged = scenario_tree_new(reading, SCENARIO_GROUP, NULL);
    if (own == NULL || merged == NULL) {
        return NULL;
    }
    struct scenario_tree *extends = scenario_tree_member(own, "extends");
    if (extends != NULL) {
        scenario_tree_remove(own, extends);
        if (!lay_bases(reading, &layer, extends, merged)) {
            return NULL;
        }
    }
    lay(merged, own, &scenario_group_root, false);
    return merged;
}

struct scenario_tree *scenario_read_layers(struct scenario_reading *reading, const char *path)
{
    return read_layer(reading, NULL, path, NULL);
}
