/* set.c: settings of the command line, "path=VALUE", "path+=VALUE" and "path-=VALUE". */
#include "scenario/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One option under way. */
struct option {
    struct scenario_reading *reading;
    struct scenario_tree *root;
    const char *path;              /* without the sign */
    const char *value;
    int sign;                      /* 0: =, 1: +=, -1: -= */
};

static bool complain(const struct option *option, const char *words)
{
    base_complain(option->reading->complaints, BASE_ERROR, NULL, 0, option->path, "%s", words);
    return false;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Copy of n bytes without blanks at the ends. */
static const char *trimmed(struct scenario_reading *reading, const char *from, size_t n)
{
    while (n > 0 && is_blank(*from)) {
        from++;
        n--;
    }
    while (n > 0 && is_blank(from[n - 1])) {
        n--;
    }
    return scenario_print(reading, "%.*s", (int)n, from);
}

/* Takes "name" or "[3]" off the path. False when neither stands there. */
static bool take_step(const char **path, const char **name, size_t *n, int *index)
{
    const char *at = *path;
    *index = -1;
    if (*at == '[') {
        char *end;
        long value = at[1] >= '0' && at[1] <= '9' ? strtol(at + 1, &end, 10) : -1;
        if (value < 0 || value > 1000000 || *end != ']') {
            return false;
        }
        *index = (int)value;
        *path = end + 1;
        return true;
    }
    at += *at == '.';
    *name = at;
    *n = strspn(at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-*");
    *path = at + *n;
    return *n > 0 && *n < SCENARIO_MOST_NAME;
}

/* Where an option's value goes. */
struct target {
    struct scenario_tree *parent, *node;   /* node NULL: a new member */
    const char *name;                      /* NULL: an element of a list */
};

/* A planting or crop that the scenario does not have: its name is misspelt, unless the option says what it is (.crop, .kind). */
static bool is_stranger(const struct option *option, const struct target *target)
{
    static const char *const named[] = {"plantings", "crops"};
    const char *last = strrchr(option->path, '.');
    if (last != NULL && (strcmp(last, ".crop") == 0 || strcmp(last, ".kind") == 0)) {
        return false;
    }
    for (size_t i = 0; i < sizeof named / sizeof named[0]; i++) {
        const struct scenario_tree *group = scenario_tree_member(option->root, named[i]);
        if (group != NULL && target->parent == group) {
            const char *there = "";
            for (const struct scenario_tree *one = group->first; one != NULL; one = one->next) {
                there = scenario_print(option->reading, "%s%s%s", there, there[0] != '\0' ? ", " : "", one->name);
            }
            return !complain(option, scenario_print(option->reading, "%s has no %s (there are %s)", named[i], target->name, there));
        }
    }
    return false;
}

/* Follows one step from the group or list target->node; makes missing groups on the way. */
static bool follow(const struct option *option, struct target *target, const char *name, size_t n, int index)
{
    struct scenario_reading *reading = option->reading;
    if (target->node == NULL && index >= 0) {
        return complain(option, "the list is not given in the scenario, and only what is there can be set");
    }
    if (target->node == NULL && is_stranger(option, target)) {
        return false;
    }
    if (target->node == NULL) {
        target->node = scenario_tree_new(reading, SCENARIO_GROUP, target->name);
        if (target->node == NULL) {
            return false;
        }
        scenario_tree_add(target->parent, target->node);
    }
    target->parent = target->node;
    if (index >= 0) {
        target->name = NULL;
        target->node = scenario_tree_element(target->parent, index);
        if (target->node == NULL) {
            return complain(option, scenario_print(reading, "there is no [%d] in %s (the first is [0])",
                                                   index, scenario_tree_shown(reading, target->parent)));
        }
        return true;
    }
    target->name = scenario_print(reading, "%.*s", (int)n, name);
    target->node = scenario_tree_member(target->parent, target->name);
    if (target->parent->type != SCENARIO_GROUP) {
        return complain(option, scenario_print(reading, "%s cannot be set in %s: it is not a group",
                                               target->name, scenario_tree_shown(reading, target->parent)));
    }
    return true;
}

static bool find_target(const struct option *option, struct target *target)
{
    const char *path = option->path, *name = NULL;
    size_t n = 0;
    int index;
    *target = (struct target){.node = option->root};
    while (*path != '\0') {
        if ((path != option->path && *path != '.' && *path != '[') || !take_step(&path, &name, &n, &index)) {
            return complain(option, "is no path of a setting (as in places[1].holds)");
        }
        if (!follow(option, target, name, n, index)) {
            return false;
        }
    }
    return target->parent != NULL || complain(option, "names no setting");
}

/* ---- the value ------------------------------------------------------------------------------------ */

/* What is a text by the table is one as it stands, whatever it looks like ("6 wigwams"). */
static bool wants_text(const struct option *option)
{
    const struct scenario_group *group;
    const struct scenario_setting *setting = scenario_schema_find(option->path, &group, NULL);
    bool text = setting != NULL &&
                (setting->type == SCENARIO_TYPE_TEXT || setting->type == SCENARIO_TYPE_CHOICE ||
                 setting->type == SCENARIO_TYPE_DATE);
    return text && option->sign == 0 && option->value[0] != '"';
}

/* Words and dates need no quotes here: the shell has taken them away. */
static bool is_bare_text(const char *value)
{
    bool date = strlen(value) == 5 && value[2] == '-' && strspn(value, "0123456789") == 2 &&
                strspn(value + 3, "0123456789") == 2;
    if (date || value[0] == '\0') {
        return true;
    }
    return strcmp(value, "true") != 0 && strcmp(value, "false") != 0 &&
           strchr("\"{[(+-.0123456789", value[0]) == NULL;
}

static struct scenario_tree *parse_value(const struct option *option, const char *name)
{
    struct scenario_reading *reading = option->reading;
    if (is_bare_text(option->value) || wants_text(option)) {
        struct scenario_tree *node = scenario_tree_new(reading, SCENARIO_TEXT, name);
        if (node != NULL) {
            node->text = option->value;
        }
        return node;
    }
    struct scenario_text text = {0};
    if (!scenario_text_value(reading, option->path, option->value, &text)) {
        return NULL;
    }
    struct scenario_tree *tree = scenario_parse(reading, &text, option->path);
    if (tree == NULL) {
        return NULL;
    }
    if (tree->n != 1) {
        complain(option, "takes one value");
        return NULL;
    }
    tree->first->name = name;
    return tree->first;
}

/* ---- += and -= ------------------------------------------------------------------------------------- */

/* What an absent setting of a planting comes to: its crop's, or the crop's default. */
static struct scenario_tree *of_crop(const struct option *option, const struct target *target)
{
    const struct scenario_tree *crop = scenario_tree_member(target->parent, "crop");
    if (crop == NULL || crop->type != SCENARIO_TEXT) {
        return NULL;
    }
    const struct scenario_tree *crops = scenario_tree_member(option->root, "crops");
    const struct scenario_tree *own = scenario_tree_member(scenario_tree_member(crops, crop->text),
                                                           target->name);
    if (own != NULL) {
        return scenario_tree_copy(option->reading, own);
    }
    const struct scenario_setting *setting = scenario_setting_of(&scenario_group_crop, target->name);
    return setting == NULL ? NULL : scenario_fallback(option->reading, setting);
}

/* The absent setting's default as a new member; NULL and a complaint when it has none. */
static struct scenario_tree *make_up(const struct option *option, const struct target *target)
{
    const struct scenario_group *group;
    const struct scenario_setting *setting = scenario_schema_find(option->path, &group, NULL);
    struct scenario_tree *node = NULL;
    if (setting != NULL && setting->flags & SCENARIO_OVERRIDE) {
        node = of_crop(option, target);
    } else if (setting != NULL) {
        node = scenario_fallback(option->reading, setting);
    }
    if (node == NULL) {
        complain(option, setting == NULL ? "is not a known setting" : "has no value that could be changed");
        return NULL;
    }
    node->is_default = false;
    scenario_tree_add(target->parent, node);
    return node;
}

static bool shift_date(const struct option *option, struct scenario_tree *node,
                       const struct scenario_tree *by)
{
    if (by->type != SCENARIO_WHOLE || by->whole < -SCENARIO_DAYS || by->whole > SCENARIO_DAYS) {
        return complain(option, "a date is moved by a whole number of days, at most 365");
    }
    char date[6];
    base_mm_dd(base_day_of_year(node->text) + SCENARIO_DAYS + option->sign * (int)by->whole, date);
    node->text = scenario_print(option->reading, "%s", date);
    return true;
}

static bool shift_number(const struct option *option, struct scenario_tree *node,
                         const struct scenario_tree *by)
{
    double value, change;
    if (!scenario_tree_number(node, &value) || !scenario_tree_number(by, &change)) {
        return complain(option, scenario_print(option->reading,
                                               "+= and -= work on plain numbers and dates (here: %s and %s)",
                                               scenario_tree_shown(option->reading, node),
                                               scenario_tree_shown(option->reading, by)));
    }
    bool whole = node->type == SCENARIO_WHOLE && by->type == SCENARIO_WHOLE, over = false;
    struct scenario_tree sum = *node;
    if (whole) {
        over = option->sign > 0 ? __builtin_add_overflow(node->whole, by->whole, &sum.whole)
                                : __builtin_sub_overflow(node->whole, by->whole, &sum.whole);
    } else {
        sum.type = SCENARIO_REAL;
        sum.real = value + option->sign * change;
        over = !isfinite(sum.real);
    }
    if (over) {
        return complain(option, "becomes too large");
    }
    *node = sum;
    return true;
}

static bool shift(const struct option *option, struct target *target, const struct scenario_tree *by)
{
    struct scenario_tree *node = target->node != NULL ? target->node : make_up(option, target);
    if (node == NULL) {
        return false;
    }
    node->file = NULL;
    node->line = 0;
    if (node->type == SCENARIO_TEXT && base_day_of_year(node->text) >= 0) {
        return shift_date(option, node, by);
    }
    return shift_number(option, node, by);
}

/* ---- one option ------------------------------------------------------------------------------------ */

bool scenario_set(struct scenario_reading *reading, struct scenario_tree *root, const char *text)
{
    struct option option = {.reading = reading, .root = root, .path = text};
    base_sha256_add(&reading->sha, text, strlen(text) + 1);
    const char *equals = strchr(text, '=');
    if (equals == NULL || equals == text) {
        return complain(&option, "is no setting of the form path=VALUE, path+=VALUE or path-=VALUE");
    }
    size_t n = (size_t)(equals - text);
    option.sign = text[n - 1] == '+' ? 1 : text[n - 1] == '-' ? -1 : 0;
    option.path = trimmed(reading, text, n - (option.sign != 0));
    option.value = trimmed(reading, equals + 1, strlen(equals + 1));
    if (strcmp(option.path, "extends") == 0) {
        return complain(&option, "can only be said in a file");
    }
    struct target target;
    if (!find_target(&option, &target)) {
        return false;
    }
    struct scenario_tree *node = parse_value(&option, target.name);
    if (node == NULL) {
        return false;
    }
    if (option.sign != 0) {
        return shift(&option, &target, node);
    }
    if (target.node != NULL) {
        scenario_tree_replace(target.parent, target.node, node);
    } else {
        scenario_tree_add(target.parent, node);
    }
    return true;
}
