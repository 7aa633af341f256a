/* crops.c: the crops of a settings file that need be no whole scenario: one of the library's, or a fit. */
#include "scenario/inside.h"

enum base_result scenario_load_crops(struct base_arena *arena, const struct scenario_request *request,
                                     const struct scenario **out, struct base_complaints *complaints)
{
    struct scenario_reading reading = {
        .arena = arena, .complaints = complaints, .configs_dir = request->configs_dir};
    int errors = complaints->errors;
    base_sha256_start(&reading.sha);
    struct scenario_tree *root = scenario_read_layers(&reading, request->path);
    struct scenario *scenario = scenario_take(&reading, 1, sizeof *scenario);
    if (root != NULL && scenario != NULL) {
        struct scenario_binding binding = {&reading, root, scenario};
        scenario->name = request->path;
        scenario->year_starts = base_day_of_year("03-01");
        scenario_bind_entities(&binding);
    }
    if (reading.out_of_memory || complaints->out_of_memory) {
        base_complain(complaints, BASE_ERROR, NULL, 0, NULL, "memory ran out while the crops were read");
        return BASE_FAILED;
    }
    if (root == NULL || scenario == NULL || complaints->errors > errors) {
        return BASE_WRONG;
    }
    char *hex = scenario_take(&reading, 65, 1);
    if (hex == NULL) {
        return BASE_FAILED;
    }
    base_sha256_hex(&reading.sha, hex);
    scenario->sha256 = hex;
    *out = scenario;
    return BASE_OK;
}
