/* load.c: from a file's name to a plan. */
#include "command/command.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "engine/engine.h"
#include "records/records.h"

static bool is_dir(const char *path)
{
    struct stat status;
    return path && stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

const char *command_configs_dir(struct base_arena *arena, const char *asked)
{
    static const char *const places[] = { "%s/../share/tideover/configs", "%s/../configs", "%s/configs" };
    char program[4096];
    if (asked)
        return asked;
    ssize_t n = readlink("/proc/self/exe", program, sizeof program - 1);
    if (n <= 0)
        return NULL;
    program[n] = '\0';
    char *slash = strrchr(program, '/');
    if (slash)
        *slash = '\0';
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        char path[4200];
        snprintf(path, sizeof path, places[i], program);
        if (is_dir(path))
            return base_arena_text(arena, path);
    }
    return NULL;
}

static enum base_result say(struct base_complaints *complaints, enum base_result result)
{
    base_complaints_print(complaints, stderr);
    if (complaints->out_of_memory || (result == BASE_FAILED && complaints->errors == 0))
        fputs("tideover: memory ran out\n", stderr);
    if (complaints->out_of_memory)
        result = BASE_FAILED;
    if (complaints->errors > 0 && result == BASE_OK)
        result = BASE_WRONG;
    base_complaints_free(complaints);
    return result;
}

static enum base_result read_scenario(struct base_arena *arena, const struct command_options *options, const char *path,
                                      const char *const *more, int more_n, const struct scenario **scenario,
                                      struct base_complaints *complaints)
{
    int n = options->sets_n + more_n;
    const char **sets = base_arena_array(arena, (size_t)n + 1, sizeof *sets);
    if (!sets)
        return BASE_FAILED;
    memcpy(sets, options->sets, (size_t)options->sets_n * sizeof *sets);
    for (int i = 0; i < more_n; i++)
        sets[options->sets_n + i] = more[i];
    struct scenario_request request = { .path = path, .configs_dir = command_configs_dir(arena, options->configs),
                                        .sets_n = n, .sets = sets };
    return scenario_load(arena, &request, scenario, complaints);
}

/* ---- tables on several threads, before the plan asks for them ----------------------------------------------- */

struct ahead { struct base_arena *arena; struct plan_tables tables; };

static void *begin_tables(void *context)
{
    (void)context;
    return base_alloc(sizeof(struct base_arena));
}

static void make_tables(void *context, void *own, uint64_t first, int n)
{
    const struct ahead *ahead = context;
    for (int i = 0; i < n; i++)
        plan_make_listed(&ahead->tables, (int)first + i, own);
}

static void end_tables(void *context, void *own)
{
    const struct ahead *ahead = context;
    base_arena_join(ahead->arena, own);
    base_free(own);
}

/* What goes wrong here goes wrong again where the plan asks for it, and is complained of there. */
static void make_ahead(struct base_arena *arena, const struct scenario *scenario, int threads, struct plan_share *share)
{
    enum { WORTH_A_THREAD = 4 };
    struct ahead ahead = { .arena = arena };
    if (threads < 2 || !plan_list_tables(arena, scenario, share, &ahead.tables))
        return;
    int worth = ahead.tables.n / WORTH_A_THREAD;
    struct engine_work work = { .trials = (uint64_t)ahead.tables.n, .threads = worth < threads ? worth : threads, .least = 1,
                                .whole = &ahead, .begin = begin_tables, .run = make_tables, .end = end_tables };
    if (worth > 1)
        (void)engine_run(&work);
}

static enum base_result make_plan(struct base_arena *arena, struct command_loaded *loaded, int threads, struct plan_share *share,
                                  struct base_complaints *complaints)
{
    struct plan_share own = { 0 };
    share = share ? share : &own;
    make_ahead(arena, loaded->scenario, threads, share);
    const struct plan_records *records = NULL;
    if (loaded->scenario->climate.records_file) {
        records = records_read_weather(arena, loaded->scenario, loaded->records_sha256, complaints);
        loaded->has_records = true;
        if (!records)
            return complaints->errors > 0 ? BASE_WRONG : BASE_FAILED;
    }
    loaded->plan = plan_make(arena, loaded->scenario, records, share, complaints);
    if (!loaded->plan)
        return complaints->errors > 0 ? BASE_WRONG : BASE_FAILED;
    struct plan_usual usual = { 0 };
    enum base_result result = loaded->plan->usual_needed ? future_pilot(loaded->plan, &usual) : BASE_OK;
    result = result == BASE_OK ? plan_settle(arena, loaded->plan, &usual, complaints) : result;
    return result == BASE_OK ? future_turn_points(arena, loaded->plan) : result;
}

enum base_result command_load_sharing(struct base_arena *arena, const struct command_options *options, const char *path,
                                      const char *const *more, int more_n, struct plan_share *share,
                                      struct command_loaded *loaded)
{
    struct base_complaints complaints = { 0 };
    *loaded = (struct command_loaded){ 0 };
    enum base_result result = read_scenario(arena, options, path, more, more_n, &loaded->scenario, &complaints);
    if (result == BASE_OK)
        result = make_plan(arena, loaded, options->threads, share, &complaints);
    return say(&complaints, result);
}

enum base_result command_load(struct base_arena *arena, const struct command_options *options, const char *path,
                              const char *const *more, int more_n, struct command_loaded *loaded)
{
    return command_load_sharing(arena, options, path, more, more_n, NULL, loaded);
}

enum base_result command_load_state(struct base_arena *arena, const char *path, const struct report_state *state,
                                    struct command_loaded *loaded)
{
    struct base_complaints complaints = { 0 };
    struct scenario_request request = { .path = path, .text = state->settings };
    struct scenario *named = base_arena_take(arena, sizeof *named);
    *loaded = (struct command_loaded){ 0 };
    enum base_result result = named ? scenario_load(arena, &request, &loaded->scenario, &complaints) : BASE_FAILED;
    if (result == BASE_OK) {
        *named = *loaded->scenario;
        named->name = state->name;
        named->sha256 = state->scenario_sha256;
        loaded->scenario = named;
        result = make_plan(arena, loaded, 1, NULL, &complaints);
    }
    if (result == BASE_OK && strcmp(loaded->has_records ? loaded->records_sha256 : "", state->records_sha256) != 0) {
        base_complain(&complaints, BASE_ERROR, path, 0, "climate.records_file", "the records in %s are not those of the run any "
                      "more", loaded->has_records ? loaded->scenario->climate.records_file : "\"\"");
        result = BASE_WRONG;
    }
    if (result == BASE_OK)              /* what was worth a warning was said when the part was run */
        base_complaints_free(&complaints);
    return result == BASE_OK ? BASE_OK : say(&complaints, result);
}

enum base_result command_end_output(enum base_result so_far)
{
    if (so_far == BASE_FAILED)
        fputs("tideover: it could not be done (see above; if nothing is said there, memory ran out)\n", stderr);
    bool bad = ferror(stdout) != 0;
    bad |= fflush(stdout) != 0;
    if (!bad || so_far != BASE_OK)
        return so_far;
    perror("tideover: could not write to standard output");
    return BASE_FAILED;
}

struct report_style command_style(const struct command_options *options)
{
    const char *no_colour = getenv("NO_COLOR"); /* https://no-color.org */
    bool colour = isatty(STDOUT_FILENO) == 1 && !(no_colour && no_colour[0]);
    return (struct report_style){ .pounds = options->pounds, .colour = colour, .width = 100 };
}
