/* explain.c: what a setting means, from the table. */
#include "scenario/inside.h"

#include <string.h>

static void print_facts(const struct scenario_setting *setting, FILE *to)
{
    fprintf(to, "    a %s", scenario_type_text(setting));
    if (setting->choices != NULL) {
        fprintf(to, ": %s", setting->choices);
    }
    scenario_print_limits(setting, to);
    fputc('\n', to);
}

static void print_members(const struct scenario_group *group, FILE *to)
{
    fprintf(to, "    %s\n    Settings in it:\n", group->meaning);
    for (size_t i = 0; i < group->n; i++) {
        fprintf(to, "      %-22s %s\n", group->settings[i].name, group->settings[i].meaning);
    }
}

static void print_forms(const struct scenario_setting *setting, FILE *to)
{
    char text[80];
    bool for_dates;
    fputs("    A distribution is one of these groups; at_least and at_most may cut it off:\n", to);
    for (int i = 0; scenario_form_text(i, text, &for_dates); i++) {
        if (for_dates || !(setting->flags & SCENARIO_IS_DATE)) {
            fprintf(to, "      { %s; }\n", text);
        }
    }
    if (setting->flags & SCENARIO_MAY_DOUBT) {
        fputs("    A fitted one may say from_records = N; each trial then draws its parameters anew, as N records leave "
              "them in doubt.\n", to);
    }
}

/* A name that was taken for a crop's or planting's may have been meant for a setting. */
static void print_hint(const struct scenario_setting *setting, const char *path, FILE *to)
{
    const char *dot = strrchr(path, '.');
    if (setting->type == SCENARIO_TYPE_NAMED && dot != NULL) {
        const char *nearest = scenario_nearest_setting(setting->inside, dot + 1);
        if (nearest != NULL) {
            fprintf(to, "    (%s is taken for a name; did you mean the setting %s?)\n", dot + 1, nearest);
        }
    }
}

enum base_result scenario_explain(const char *path, FILE *to)
{
    const struct scenario_group *group;
    char missing[SCENARIO_MOST_NAME] = "";
    const struct scenario_setting *setting = scenario_schema_find(path, &group, missing);
    if (setting == NULL) {
        const char *nearest = scenario_nearest_setting(group, missing);
        fprintf(to, "%s: there is no such setting", path);
        if (nearest != NULL) {
            fprintf(to, " (did you mean %s?)", nearest);
        }
        fputc('\n', to);
        return BASE_WRONG;
    }
    fprintf(to, "%s\n    %s\n", path, setting->meaning);
    print_facts(setting, to);
    if (setting->type == SCENARIO_TYPE_DISTRIBUTION) {
        print_forms(setting, to);
    }
    if (setting->inside != NULL) {
        print_members(setting->inside, to);
        print_hint(setting, path, to);
    }
    return BASE_OK;
}
