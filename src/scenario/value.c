/* value.c: one node of the tree into one field of a struct, judged by its row of the table. */
#include "scenario/inside.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void scenario_wrong(struct scenario_binding *binding, struct scenario_tree *node, const char *path,
                    const char *format, ...)
{
    char text[400];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    node->is_faulty = true;
    base_complain(binding->reading->complaints, BASE_ERROR, node->file, node->line, path, "%s", text);
}

struct scenario_origin scenario_origin_of(const struct scenario_tree *node, const char *path)
{
    return (struct scenario_origin){node != NULL ? node->file : NULL, node != NULL ? node->line : 0, path};
}

const char *scenario_path(struct scenario_binding *binding, const char *path, const char *name)
{
    if (path[0] == '\0') {
        return name;
    }
    return scenario_print(binding->reading, "%s.%s", path, name);
}

/* Says what was found and what is allowed. */
static void refuse(struct scenario_binding *binding, const struct scenario_setting *setting,
                   struct scenario_tree *node, const char *path, const char *what)
{
    char limits[80];
    scenario_limits_text(setting, limits);
    scenario_wrong(binding, node, path, "%s (got %s%s%s)", what, scenario_tree_shown(binding->reading, node),
                   limits[0] != '\0' ? ", allowed " : "", limits);
}

static bool in_limits(const struct scenario_setting *setting, double value)
{
    if (setting->most <= setting->least) {
        return isfinite(value);
    }
    bool low = setting->flags & SCENARIO_ABOVE ? value > setting->least : value >= setting->least;
    return low && value <= setting->most;
}

/* A number within the setting's limits; false and a complaint when it is none. */
static bool number(struct scenario_binding *binding, const struct scenario_setting *setting,
                   struct scenario_tree *node, const char *path, double *value)
{
    if (!scenario_tree_number(node, value)) {
        refuse(binding, setting, node, path, "is not a number");
        return false;
    }
    if (!in_limits(setting, *value)) {
        refuse(binding, setting, node, path, "is out of range");
        return false;
    }
    return true;
}

static bool whole(struct scenario_binding *binding, const struct scenario_setting *setting,
                  struct scenario_tree *node, const char *path, int64_t *value)
{
    if (node->type != SCENARIO_WHOLE) {
        refuse(binding, setting, node, path, "is not a whole number");
        return false;
    }
    if (!in_limits(setting, (double)node->whole)) {
        refuse(binding, setting, node, path, "is out of range");
        return false;
    }
    *value = node->whole;
    return true;
}

int scenario_bind_date(struct scenario_binding *binding, struct scenario_tree *node, const char *path)
{
    int day = node->type == SCENARIO_TEXT ? base_day_of_year(node->text) : -1;
    if (day < 0) {
        scenario_wrong(binding, node, path, "is not a date \"MM-DD\" (got %s)",
                       scenario_tree_shown(binding->reading, node));
        return -1;
    }
    return (day - binding->scenario->year_starts + SCENARIO_DAYS) % SCENARIO_DAYS;
}

const char *scenario_bind_text(struct scenario_binding *binding, struct scenario_tree *node, const char *path)
{
    if (node->type != SCENARIO_TEXT) {
        scenario_wrong(binding, node, path, "is not text in quotes (got %s)",
                       scenario_tree_shown(binding->reading, node));
        return NULL;
    }
    for (const char *at = node->text; *at != '\0';) {
        size_t n = scenario_character(at);
        if (n == 0) {
            scenario_wrong(binding, node, path, "is not UTF-8 or has a control character in it");
            return NULL;
        }
        at += n;
    }
    return node->text;
}

static void choice(struct scenario_binding *binding, const struct scenario_setting *setting,
                   struct scenario_tree *node, const char *path, int *to)
{
    const char *at = setting->choices;
    for (int i = 0; node->type == SCENARIO_TEXT && *at != '\0'; i++) {
        size_t n = strcspn(at, "|");
        if (strlen(node->text) == n && memcmp(node->text, at, n) == 0) {
            *to = i;
            return;
        }
        at += n + (at[n] == '|');
    }
    scenario_wrong(binding, node, path, "is none of the words %s (got %s)", setting->choices,
                   scenario_tree_shown(binding->reading, node));
}

/* A list of n numbers; complains at the list's line, with the element's place. */
static void numbers(struct scenario_binding *binding, const struct scenario_setting *setting,
                    struct scenario_tree *node, const char *path, int n, double *to)
{
    if (node->type != SCENARIO_LIST || node->n != n) {
        scenario_wrong(binding, node, path, "is not a list of %d numbers (got %s)", n,
                       scenario_tree_shown(binding->reading, node));
        return;
    }
    int i = 0;
    for (struct scenario_tree *one = node->first; one != NULL; one = one->next, i++) {
        const char *its_path = scenario_print(binding->reading, "%s[%d]", path, i);
        if (!number(binding, setting, one, its_path, &to[i])) {
            node->is_faulty = true;
        }
    }
}

static void matrix(struct scenario_binding *binding, const struct scenario_setting *setting,
                   struct scenario_tree *node, const char *path, double to[3][3])
{
    if (node->type != SCENARIO_LIST || node->n != 3) {
        scenario_wrong(binding, node, path, "is not a list of three rows (got %s)",
                       scenario_tree_shown(binding->reading, node));
        return;
    }
    int i = 0;
    for (struct scenario_tree *row = node->first; row != NULL; row = row->next, i++) {
        numbers(binding, setting, row, scenario_print(binding->reading, "%s[%d]", path, i), 3, to[i]);
        node->is_faulty = node->is_faulty || row->is_faulty;
    }
}

void scenario_bind_absent(struct scenario_binding *binding, const struct scenario_setting *setting,
                          void *field)
{
    struct scenario_tree *node = scenario_fallback(binding->reading, setting);
    if (setting->type == SCENARIO_TYPE_DISTRIBUTION) {
        *(struct scenario_distribution *)field = (struct scenario_distribution){
            .bound = setting->bound, .is_date = (setting->flags & SCENARIO_IS_DATE) != 0};
    }
    if (node != NULL) {
        scenario_bind_value(binding, setting, node, setting->name, field);
        return;
    }
    switch (setting->type) {
    case SCENARIO_TYPE_REAL:
    case SCENARIO_TYPE_HOLDS:
        *(double *)field = setting->absent;
        break;
    case SCENARIO_TYPE_WHOLE:
    case SCENARIO_TYPE_DATE:
        *(int *)field = (int)setting->absent;
        break;
    case SCENARIO_TYPE_MATRIX:
        for (int i = 0; i < 3; i++) {
            ((double (*)[3])field)[i][i] = 1.0;
        }
        break;
    default:
        break; /* the struct was zeroed */
    }
}

/* The types that are plain numbers. */
static void bind_number(struct scenario_binding *binding, const struct scenario_setting *setting,
                        struct scenario_tree *node, const char *path, void *field)
{
    double real;
    int64_t value;
    if (setting->type == SCENARIO_TYPE_REAL) {
        if (number(binding, setting, node, path, &real)) {
            *(double *)field = real;
        }
    } else if (whole(binding, setting, node, path, &value)) {
        if (setting->type == SCENARIO_TYPE_LONG) {
            *(int64_t *)field = value;
        } else if (setting->type == SCENARIO_TYPE_HOLDS) {
            *(double *)field = (double)value;
        } else {
            *(int *)field = (int)value;
        }
    }
}

static void bind_truth(struct scenario_binding *binding, struct scenario_tree *node, const char *path,
                       bool *to)
{
    if (node->type == SCENARIO_TRUTH) {
        *to = node->truth;
    } else {
        scenario_wrong(binding, node, path, "is neither true nor false (got %s)",
                       scenario_tree_shown(binding->reading, node));
    }
}

void scenario_bind_value(struct scenario_binding *binding, const struct scenario_setting *setting,
                         struct scenario_tree *node, const char *path, void *field)
{
    int day;
    switch (setting->type) {
    case SCENARIO_TYPE_REAL:
    case SCENARIO_TYPE_WHOLE:
    case SCENARIO_TYPE_LONG:
    case SCENARIO_TYPE_HOLDS:
        bind_number(binding, setting, node, path, field);
        break;
    case SCENARIO_TYPE_TRUTH:
        bind_truth(binding, node, path, field);
        break;
    case SCENARIO_TYPE_DATE:
        day = scenario_bind_date(binding, node, path);
        if (day >= 0) {
            *(int *)field = day;
        }
        break;
    case SCENARIO_TYPE_TEXT:
        *(const char **)field = scenario_bind_text(binding, node, path);
        break;
    case SCENARIO_TYPE_CHOICE:
        choice(binding, setting, node, path, field);
        break;
    case SCENARIO_TYPE_DISTRIBUTION:
        scenario_bind_distribution(binding, setting, node, path, field);
        break;
    case SCENARIO_TYPE_MONTHS:
        numbers(binding, setting, node, path, 12, field);
        break;
    case SCENARIO_TYPE_MATRIX:
        matrix(binding, setting, node, path, field);
        break;
    case SCENARIO_TYPE_FILES:
    case SCENARIO_TYPE_GROUP:
    case SCENARIO_TYPE_NAMED:
    case SCENARIO_TYPE_LIST:
        break; /* read by hand */
    }
}
