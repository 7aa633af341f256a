/* schema_find.c: finding one's way in the table of settings. */
#include "scenario/inside.h"

#include <stdlib.h>
#include <string.h>

const struct scenario_setting *scenario_setting_of(const struct scenario_group *group, const char *name)
{
    for (size_t i = 0; i < group->n; i++) {
        if (strcmp(group->settings[i].name, name) == 0) {
            return &group->settings[i];
        }
    }
    return NULL;
}

static int least_of(int a, int b, int c)
{
    int ab = a < b ? a : b;
    return ab < c ? ab : c;
}

/* Edit distance (insertions, deletions, substitutions; Wagner & Fischer 1974, "The String-to-String
 * Correction Problem", JACM 21(1)), by rows. Names longer than the row are far from everything. */
static int edit_distance(const char *a, const char *b)
{
    int row[SCENARIO_MOST_NAME];
    size_t m = strlen(a), n = strlen(b);
    if (m >= SCENARIO_MOST_NAME || n >= SCENARIO_MOST_NAME) {
        return SCENARIO_MOST_NAME;
    }
    for (size_t j = 0; j <= n; j++) {
        row[j] = (int)j;
    }
    for (size_t i = 1; i <= m; i++) {
        int diagonal = row[0];
        row[0] = (int)i;
        for (size_t j = 1; j <= n; j++) {
            int kept = diagonal + (a[i - 1] != b[j - 1]);
            diagonal = row[j];
            row[j] = least_of(kept, row[j] + 1, row[j - 1] + 1);
        }
    }
    return row[n];
}

bool scenario_is_nearer(const char *name, const char *candidate, int *best)
{
    int distance = edit_distance(name, candidate);
    int near = (int)strlen(name) / 3;
    if (distance >= *best || distance > (near > 2 ? near : 2) || distance >= (int)strlen(candidate)) {
        return false;
    }
    *best = distance;
    return true;
}

const char *scenario_nearest_setting(const struct scenario_group *group, const char *name)
{
    const char *nearest = NULL;
    int best = SCENARIO_MOST_NAME;
    for (size_t i = 0; i < group->n; i++) {
        if (scenario_is_nearer(name, group->settings[i].name, &best)) {
            nearest = group->settings[i].name;
        }
    }
    return nearest;
}

/* A default as written in the table; words and dates become text. */
struct scenario_tree *scenario_fallback(struct scenario_reading *reading,
                                        const struct scenario_setting *setting)
{
    if (setting->fallback == NULL) {
        return NULL;
    }
    struct scenario_tree *node = scenario_tree_new(reading, SCENARIO_TEXT, setting->name);
    if (node == NULL) {
        return NULL;
    }
    node->is_default = true;
    node->text = setting->fallback;
    switch (setting->type) {
    case SCENARIO_TYPE_REAL:
    case SCENARIO_TYPE_DISTRIBUTION:
        node->type = SCENARIO_REAL;
        node->real = strtod(setting->fallback, NULL);
        break;
    case SCENARIO_TYPE_WHOLE:
    case SCENARIO_TYPE_LONG:
        node->type = SCENARIO_WHOLE;
        node->whole = strtoll(setting->fallback, NULL, 10);
        break;
    case SCENARIO_TYPE_TRUTH:
        node->type = SCENARIO_TRUTH;
        node->truth = strcmp(setting->fallback, "true") == 0;
        break;
    default:
        break;
    }
    return node;
}

/* Takes the next name of a path, indices passed over; false at the end of the path. */
static bool next_name(const char **path, char name[SCENARIO_MOST_NAME])
{
    const char *at = *path;
    if (*at == '\0') {
        return false;
    }
    size_t n = strcspn(at, ".[");
    size_t kept = n < SCENARIO_MOST_NAME - 1 ? n : SCENARIO_MOST_NAME - 1;
    memcpy(name, at, kept);
    name[kept] = '\0';
    at += n;
    at += strcspn(at, ".");
    *path = at + (*at == '.');
    return true;
}

const struct scenario_setting *scenario_schema_find(const char *path, const struct scenario_group **group,
                                                    char missing[SCENARIO_MOST_NAME])
{
    const struct scenario_setting *found = NULL;
    char name[SCENARIO_MOST_NAME];
    *group = &scenario_group_root;
    while (next_name(&path, name)) {
        bool at_leaf = found != NULL && found->inside == NULL;
        const struct scenario_setting *here = at_leaf ? NULL : scenario_setting_of(*group, name);
        if (here == NULL && found != NULL && found->type == SCENARIO_TYPE_NAMED && *group == found->inside) {
            /* The name of a crop or planting. */
            if (!next_name(&path, name)) {
                return found;
            }
            here = scenario_setting_of(*group, name);
        }
        if (here == NULL && found != NULL && found->type == SCENARIO_TYPE_DISTRIBUTION) {
            return found; /* a parameter of it */
        }
        if (here == NULL) {
            if (missing != NULL) {
                memcpy(missing, name, sizeof name);
            }
            return NULL;
        }
        found = here;
        if (here->inside != NULL) {
            *group = here->inside;
        }
    }
    return found;
}

void scenario_limits_text(const struct scenario_setting *setting, char text[80])
{
    bool has_unit = setting->unit != NULL;
    if (setting->most <= setting->least) {
        snprintf(text, 80, "%s", has_unit ? setting->unit : "");
    } else if (setting->most >= 0x1p63) {
        snprintf(text, 80, "%.10g..9223372036854775807", setting->least);
    } else {
        snprintf(text, 80, "%s%.12g..%.12g%s%s", setting->flags & SCENARIO_ABOVE ? ">" : "", setting->least,
                 setting->most, has_unit ? " " : "", has_unit ? setting->unit : "");
    }
}

void scenario_print_limits(const struct scenario_setting *setting, FILE *to)
{
    char limits[80];
    scenario_limits_text(setting, limits);
    if (limits[0] != '\0') {
        fprintf(to, ", %s", limits);
    }
    if (setting->fallback != NULL) {
        fprintf(to, ", default %s", setting->fallback);
    } else if (setting->flags & SCENARIO_REQUIRED) {
        fputs(", must be given", to);
    }
    if (setting->flags & (SCENARIO_FOR_BEANS | SCENARIO_FOR_SQUASH)) {
        fprintf(to, ", of %s only", setting->flags & SCENARIO_FOR_BEANS ? "beans" : "squash");
    }
}

const char *scenario_type_text(const struct scenario_setting *setting)
{
    switch (setting->type) {
    case SCENARIO_TYPE_REAL: return "number";
    case SCENARIO_TYPE_WHOLE:
    case SCENARIO_TYPE_LONG:
    case SCENARIO_TYPE_HOLDS: return "whole number";
    case SCENARIO_TYPE_TRUTH: return "true or false";
    case SCENARIO_TYPE_DATE: return "date \"MM-DD\"";
    case SCENARIO_TYPE_TEXT: return "text";
    case SCENARIO_TYPE_CHOICE: return "word";
    case SCENARIO_TYPE_DISTRIBUTION:
        return setting->flags & SCENARIO_IS_DATE ? "date or distribution of dates" : "number or distribution";
    case SCENARIO_TYPE_MONTHS: return "12 numbers";
    case SCENARIO_TYPE_MATRIX: return "3 rows of 3 numbers";
    case SCENARIO_TYPE_FILES: return "file name or list of them";
    case SCENARIO_TYPE_GROUP: return "group";
    case SCENARIO_TYPE_NAMED: return "group of named groups";
    case SCENARIO_TYPE_LIST: return "list of groups";
    }
    return "";
}
