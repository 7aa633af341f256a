/* reference.c: the table of settings as a section of the manual page tideover-scenario(5), in mdoc. */
#include "scenario/inside.h"

#include <string.h>

/* Text: a leading dot or quote would be a macro, and a backslash an escape. Each sentence begins a new
 * line. */
static void write_text(const char *text, FILE *to)
{
    if (text[0] == '.' || text[0] == '\'') {
        fputs("\\&", to);
    }
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\\') {
            fputs("\\e", to);
        } else if (c[0] == '.' && c[1] == ' ' && c[2] >= 'A' && c[2] <= 'Z') {
            fputs(".\n", to);
            c++;
        } else {
            fputc(*c, to);
        }
    }
    fputc('\n', to);
}

/* "(number, 0..1, default 1.0)" */
static void write_facts(const struct scenario_setting *setting, FILE *to)
{
    fprintf(to, "(%s", setting->choices != NULL ? setting->choices : scenario_type_text(setting));
    scenario_print_limits(setting, to);
    fputs(")\n", to);
}

static bool is_note(const struct scenario_setting *setting)
{
    return strcmp(setting->name, "note") == 0 || strcmp(setting->name, "source") == 0;
}

static void write_group(const struct scenario_group *group, const char *path, FILE *to);

/* The groups inside come after the group itself. */
static void write_inner(const struct scenario_group *group, const char *path, FILE *to)
{
    for (size_t i = 0; i < group->n; i++) {
        const struct scenario_setting *setting = &group->settings[i];
        if (setting->inside == NULL) {
            continue;
        }
        char inner[200];
        const char *more = setting->type == SCENARIO_TYPE_NAMED  ? ".NAME"
                           : setting->type == SCENARIO_TYPE_LIST ? "[]"
                                                                 : "";
        snprintf(inner, sizeof inner, "%s%s%s%s", path, path[0] != '\0' ? "." : "", setting->name, more);
        write_group(setting->inside, inner, to);
    }
}

static void write_group(const struct scenario_group *group, const char *path, FILE *to)
{
    fprintf(to, ".Ss %s\n", path[0] != '\0' ? path : "The scenario itself");
    write_text(group->meaning, to);
    fputs(".Bl -tag -width Ds\n", to);
    for (size_t i = 0; i < group->n; i++) {
        const struct scenario_setting *setting = &group->settings[i];
        if (is_note(setting)) {
            continue;
        }
        fprintf(to, ".It Cm %s\n", setting->name);
        write_text(setting->meaning, to);
        write_facts(setting, to);
    }
    fputs(".El\n", to);
    write_inner(group, path, to);
}

static void write_forms(FILE *to)
{
    char text[80];
    bool for_dates;
    fputs(".Ss Distributions\n"
          "Where a distribution may stand, a plain number or date is certain.\n"
          "Otherwise it is one of these groups; the ones marked so may be of dates.\n"
          "Each may have\n.Cm at_least\nand\n.Cm at_most ,\nwhich cut it off.\n"
          "The settings last_frost, first_hard_frost, warmth, unit_kg, fruits, fruit_kg and keeps_weeks may say\n"
          ".Cm from_records ,\nthe number of records that a\n"
          "fitted shape comes from: each trial then draws its parameters anew, as so few records leave them in doubt.\n"
          ".Cm records\nmay have\n.Cm smooth .\n"
          ".Bl -item -compact\n", to);
    for (int i = 0; scenario_form_text(i, text, &for_dates); i++) {
        fputs(".It\n", to);
        fprintf(to, "{ %s; }%s\n", text, for_dates ? " (also of dates)" : "");
    }
    fputs(".El\n", to);
}

void scenario_write_reference(FILE *to)
{
    fputs(".Sh SETTINGS\n"
          "Every group may also have\n"
          ".Cm note\n"
          "and\n"
          ".Cm source ,\n"
          "texts that change nothing.\n", to);
    write_group(&scenario_group_root, "", to);
    write_forms(to);
}
