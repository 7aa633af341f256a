/* load.c: a scenario from its files and the command line's settings. */
#include "scenario/scenario.h"

#include "scenario/inside.h"

#include <string.h>

/* The file's base name without .cfg: what the scenario is called in tables. */
static const char *scenario_name(struct scenario_reading *reading, const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *base = slash != NULL ? slash + 1 : path;
    size_t n = strlen(base);
    if (n > 4 && strcmp(base + n - 4, ".cfg") == 0) {
        n -= 4;
    }
    char *name = scenario_take(reading, n + 1, 1);
    if (name == NULL) {
        return "";
    }
    for (size_t i = 0; i < n;) {
        size_t bytes = scenario_character(base + i);
        if (bytes == 0) {
            name[i++] = '?'; /* names of files may hold anything; what is written out may not */
            continue;
        }
        memcpy(name + i, base + i, bytes);
        i += bytes;
    }
    return name;
}

static enum base_result out_of_memory(struct base_complaints *complaints)
{
    base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "memory ran out while the scenario was read");
    return BASE_FAILED;
}

static enum base_result failed(const struct scenario_reading *reading)
{
    if (reading->out_of_memory || reading->complaints->out_of_memory) {
        return out_of_memory(reading->complaints);
    }
    return BASE_WRONG;
}

/* All layers and settings as one tree; NULL when a layer is wrong. A setting that is wrong is told and left out, so that
 * mistakes elsewhere are told with it. */
static struct scenario_tree *read_tree(struct scenario_reading *reading,
                                       const struct scenario_request *request)
{
    struct scenario_tree *root = scenario_read_layers(reading, request->path);
    if (root == NULL) {
        return NULL;
    }
    for (int i = 0; i < request->sets_n; i++) {
        scenario_set(reading, root, request->sets[i]);
    }
    return root;
}

enum base_result scenario_load(struct base_arena *arena, const struct scenario_request *request,
                               const struct scenario **out, struct base_complaints *complaints)
{
    struct scenario_reading reading = {
        .arena = arena, .complaints = complaints, .configs_dir = request->configs_dir,
        .given = request->text};
    int errors = complaints->errors;
    base_sha256_start(&reading.sha);
    struct scenario_tree *root = read_tree(&reading, request);
    if (root == NULL || reading.out_of_memory) {
        return failed(&reading);
    }
    struct scenario *scenario = scenario_bind(&reading, root, scenario_name(&reading, request->path));
    if (scenario == NULL || complaints->out_of_memory) {
        return out_of_memory(complaints);
    }
    char *hex = scenario_take(&reading, 65, 1);
    if (hex == NULL) {
        return out_of_memory(complaints);
    }
    base_sha256_hex(&reading.sha, hex);
    scenario->sha256 = hex;
    if (complaints->errors > errors) {
        return BASE_WRONG;
    }
    *out = scenario;
    return BASE_OK;
}
