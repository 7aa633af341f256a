/* path.c: paths of files. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "scenario/inside.h"

#include <stdlib.h>
#include <string.h>

const char *scenario_folder(struct scenario_reading *reading, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (slash == NULL) {
        return ".";
    }
    if (slash == path) {
        return "/";
    }
    return scenario_print(reading, "%.*s", (int)(slash - path), path);
}

const char *scenario_resolved(struct scenario_reading *reading, const char *path)
{
    char *found = realpath(path, NULL);
    if (found == NULL) {
        return NULL;
    }
    const char *copy = scenario_print(reading, "%s", found);
    free(found);
    return copy;
}
