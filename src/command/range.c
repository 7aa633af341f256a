/* range.c: the values that a setting is to take. */
#include "command/command.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_VALUES = 2000 };
static const double MOST = 1e15;        /* of a figure: whole ones up to here are exact */

static enum base_result wrong(const char *option, const char *text, const char *why)
{
    return command_refuse("--%s %.200s: %s (wanted: PATH=1..10, PATH=1..10:0.5, PATH=05-10..06-10:7 or PATH=a,b,c)", option, text, why);
}

static bool number(const char *text, double *value)
{
    char *end;
    *value = strtod(text, &end);
    return text[0] != '\0' && *end == '\0' && fabs(*value) <= MOST && strspn(text, "0123456789.eE+-") == strlen(text);
}

static bool is_whole(const char *text) { return strspn(text, "+-0123456789") == strlen(text); }

static enum base_result add(struct base_arena *arena, struct command_range *range, const char *value)
{
    range->value[range->n] = base_arena_text(arena, value);
    return range->value[range->n++] ? BASE_OK : BASE_FAILED;
}

/* a,b,c */
static enum base_result read_list(struct base_arena *arena, const char *option, const char *text, char *list,
                                  struct command_range *range)
{
    for (char *at = list; at;) {
        char *comma = strchr(at, ',');
        if (comma)
            *comma = '\0';
        if (at[0] == '\0' || range->n == MOST_VALUES)
            return wrong(option, text, at[0] ? "has too many values" : "has an empty value");
        for (int i = 0; i < range->n; i++)
            if (strcmp(range->value[i], at) == 0)
                return wrong(option, text, "names a value twice");
        enum base_result result = add(arena, range, at);
        if (result != BASE_OK)
            return result;
        at = comma ? comma + 1 : NULL;
    }
    return BASE_OK;
}

/* Dates from one to another by days, over the year's end if need be. */
static enum base_result read_dates(struct base_arena *arena, const char *option, const char *text, int from, int to,
                                   double step, struct command_range *range)
{
    int days = (to - from + SCENARIO_DAYS) % SCENARIO_DAYS;
    if (step < 1 || step > SCENARIO_DAYS || step != floor(step))
        return wrong(option, text, "steps by something else than whole days, 365 at the most");
    for (int day = 0; day <= days; day += (int)step) {
        char mm_dd[6];
        base_mm_dd((from + day) % SCENARIO_DAYS, mm_dd);
        enum base_result result = add(arena, range, mm_dd);
        if (result != BASE_OK)
            return result;
    }
    return BASE_OK;
}

static enum base_result read_steps(struct base_arena *arena, const char *option, const char *text, const char *from_text,
                                   const char *to_text, const char *step_text, struct command_range *range)
{
    double from, to, step = 1;
    if (step_text && (!number(step_text, &step) || step <= 0))
        return wrong(option, text, "has no step above 0 after the colon");
    int from_day = strlen(from_text) == 5 ? base_day_of_year(from_text) : -1;
    int to_day = strlen(to_text) == 5 ? base_day_of_year(to_text) : -1;
    if (from_day >= 0 && to_day >= 0)
        return read_dates(arena, option, text, from_day, to_day, step, range);
    if (!number(from_text, &from) || !number(to_text, &to))
        return wrong(option, text, "has no numbers (up to 1e15) or dates (MM-DD) about the two points");
    if (to < from)
        return wrong(option, text, "runs backwards");
    bool whole = is_whole(from_text) && (!step_text || is_whole(step_text));
    double steps = floor((to - from) / step + 1e-9);
    if (steps >= MOST_VALUES)
        return wrong(option, text, "has too many steps (2,000 at most)");
    for (int i = 0; i <= (int)steps; i++) {
        char value[40];
        snprintf(value, sizeof value, whole ? "%.0f" : "%.10g", from + i * step);
        if (!whole && !strpbrk(value, ".e"))
            strcat(value, ".0");
        enum base_result result = add(arena, range, value);
        if (result != BASE_OK)
            return result;
    }
    return BASE_OK;
}

enum base_result command_read_range(struct base_arena *arena, const char *text, const char *option,
                                    struct command_range *range)
{
    char *copy = base_arena_text(arena, text);
    *range = (struct command_range){ .value = base_arena_array(arena, MOST_VALUES + 1, sizeof *range->value) };
    if (!copy || !range->value)
        return BASE_FAILED;
    char *equals = strchr(copy, '=');
    if (!equals || equals == copy)
        return wrong(option, text, "names no setting before an equals sign");
    *equals = '\0';
    range->path = copy;
    char *points = strstr(equals + 1, "..");
    if (!points)
        return read_list(arena, option, text, equals + 1, range);
    *points = '\0';
    char *colon = strchr(points + 2, ':');
    if (colon)
        *colon++ = '\0';
    return read_steps(arena, option, text, equals + 1, points + 2, colon, range);
}
