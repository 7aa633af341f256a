/* library.c: tideover library: what there is to build on, with each file's first comment. */
#include "command/command.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_FILES = 512, MOST_DEPTH = 4 };

struct listing { char *path[MOST_FILES]; int n; };

static int by_name(const void *a, const void *b) { return strcmp(*(char *const *)a, *(char *const *)b); }

static void gather(struct base_arena *arena, const char *root, const char *below, int depth, struct listing *listing)
{
    char *dir_path = base_arena_print(arena, "%s/%s", root, below);
    DIR *dir = dir_path && depth < MOST_DEPTH ? opendir(dir_path) : NULL;
    if (!dir)
        return;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        size_t n = strlen(entry->d_name);
        if (entry->d_name[0] == '.')
            continue;
        char *path = base_arena_print(arena, "%s%s%s", below, below[0] ? "/" : "", entry->d_name);
        if (path && n > 4 && strcmp(entry->d_name + n - 4, ".cfg") == 0 && listing->n < MOST_FILES)
            listing->path[listing->n++] = path;
        else if (path)
            gather(arena, root, path, depth + 1, listing);
    }
    closedir(dir);
}

/* The first comment line of a file says what it is. */
static void print_entry(const char *root, const char *path)
{
    char name[4200], line[160] = "";
    snprintf(name, sizeof name, "%s/%s", root, path);
    FILE *file = fopen(name, "r");
    if (file && !fgets(line, sizeof line, file))
        line[0] = '\0';
    if (file)
        fclose(file);
    line[strcspn(line, "\r\n")] = '\0';
    printf("  %-44s %s\n", path, line[0] == '/' ? line + strspn(line, "/ ") : "");
}

enum base_result command_library(const struct command_options *options)
{
    struct base_arena arena = { 0 };
    const char *root = command_configs_dir(&arena, options->configs);
    struct listing *listing = root ? base_arena_take(&arena, sizeof *listing) : NULL;
    if (!root)
        return command_refuse("no library of configs was found; --configs DIR names one");
    if (!listing)
        return BASE_FAILED;
    gather(&arena, root, "", 0, listing);
    qsort(listing->path, (size_t)listing->n, sizeof listing->path[0], by_name);
    printf("%s\nNames to extend in a scenario, as extends = (\"NAME\", \"NAME\");\n", root);
    for (int i = 0; i < listing->n; i++)
        print_entry(root, listing->path[i]);
    base_arena_free(&arena);
    return command_end_output(BASE_OK);
}
