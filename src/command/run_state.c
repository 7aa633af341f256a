/* run_state.c: parts of a run, and runs that go on where they stopped. */
#include "command/run.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

enum { MOST_BYTES = 512 << 20, SHOWN = 100 };

/* ---- parts ------------------------------------------------------------------------------------------- */

int64_t command_most_parts(int64_t trials)
{
    int64_t blocks = (trials + COMMAND_PART_BLOCK - 1) / COMMAND_PART_BLOCK;
    return blocks < COMMAND_MOST_PARTS ? blocks : COMMAND_MOST_PARTS;
}

bool command_part_trials(int64_t trials, int64_t part, int64_t parts, int64_t *first, int64_t *end)
{
    int64_t blocks = (trials + COMMAND_PART_BLOCK - 1) / COMMAND_PART_BLOCK, last = 0;
    if (parts < 1 || parts > command_most_parts(trials) || part < 1 || part > parts)
        return false;
    /* block b is of part b * parts / blocks, rounded down, in whole numbers that do not overflow */
    *first = blocks / parts * (part - 1) + blocks % parts * (part - 1) / parts;
    last = blocks / parts * part + blocks % parts * part / parts;
    *first *= COMMAND_PART_BLOCK;
    *end = last * COMMAND_PART_BLOCK < trials ? last * COMMAND_PART_BLOCK : trials;
    return true;
}

enum base_result command_state_allowed(const struct command_options *options)
{
    const char *with = options->parts > 0 ? "part" : "state";
    if (options->parts == 0 && !options->state)
        return BASE_OK;
    if (options->per_trial)
        return command_refuse("--%s cannot go with --per-trial: a state file keeps sums and counts, no single trials", with);
    if (options->parts > 0 && options->precision > 0)
        return command_refuse("--part cannot go with --precision, which looks at all trials; say how many with --trials");
    if (options->parts > 0 && options->plot)
        return command_refuse("--part cannot go with --plot; give --plot to merge");
    if (options->state && (options->state[0] == '\0' || options->state[strlen(options->state) - 1] == '/'))
        return command_refuse("--state wants the name of a file (got \"%s\")", options->state);
    return BASE_OK;
}

/* ---- which run --------------------------------------------------------------------------------------- */

/* What this run's state says of it, its figures aside. */
static struct report_state state_of(const struct command_run *run)
{
    const struct command_options *options = run->options;
    const struct scenario *scenario = run->loaded.scenario;
    return (struct report_state){
        .version = COMMAND_VERSION, .stream_version = CHANCE_STREAM_VERSION, .name = scenario->name,
        .scenario_sha256 = scenario->sha256, .records_sha256 = run->loaded.has_records ? run->loaded.records_sha256 : "",
        .settings = run->settings, .random_seed = scenario->random_seed, .trials = run->trials,
        .precision = options->precision > 0 ? options->precision : 0, .part = options->parts > 0 ? options->part : 1,
        .parts = options->parts > 0 ? options->parts : 1, .first = run->first,
        .done = run->tally ? tally_trials(run->tally) : 0, .until = run->until };
}

/* A setting's length as it is shown: not too long, no character cut in two. */
static int shown(const char *line)
{
    size_t n = strcspn(line, "\n");
    n -= n > 0 && line[n - 1] == ';';
    if (n > SHOWN)
        for (n = SHOWN; n > 0 && ((unsigned char)line[n] & 0xc0) == 0x80;)
            n--;
    return (int)n;
}

/* The first line of `text` that `other` does not have, without what it is indented by; NULL when there is none among
 * the first LINES. */
static const char *own_line(const char *text, const char *other)
{
    enum { LINES = 300, LONGEST = 200 };
    char line[LONGEST];
    for (int i = 0; i < LINES && *text != '\0'; i++) {
        size_t n = strcspn(text, "\n");
        snprintf(line, sizeof line, "\n%.*s%s", (int)(n < LONGEST ? n : LONGEST), text, text[n] ? "\n" : "");
        if (!strstr(other, line))
            return text + strspn(text, " ");
        text += n + (text[n] != '\0');
    }
    return NULL;
}

/* In what two texts of settings differ. */
static void different_settings(const char *ours, const char *theirs, char why[600])
{
    const char *a = ours, *b = theirs;
    for (size_t i = 0; ours[i] != '\0' && ours[i] == theirs[i]; i++)
        if (ours[i] == '\n') {
            a = ours + i + 1;
            b = theirs + i + 1;
        }
    a = own_line(a, ours == a ? theirs : theirs + (a - ours) - 1);
    b = own_line(b, theirs == b ? ours : ours + (b - theirs) - 1);
    if (a && b)
        snprintf(why, 600, "it has \"%.*s\" where this has \"%.*s\"", shown(b), b, shown(a), a);
    else if (a || b)
        snprintf(why, 600, "%s has \"%.*s\"", b ? "only it" : "only this", shown(b ? b : a), b ? b : a);
    else
        snprintf(why, 600, "its settings are others, or stand in another order");
}

bool command_state_differs(const struct report_state *ours, const struct report_state *state, char why[600])
{
    const char *what = NULL;
    if (strcmp(ours->version, state->version) != 0 || ours->stream_version != state->stream_version)
        snprintf(why, 600, "it was written by tideover %.40s, this is %.40s", state->version, ours->version);
    else if (strcmp(ours->settings, state->settings) != 0)
        different_settings(ours->settings, state->settings, why);
    else if (strcmp(ours->records_sha256, state->records_sha256) != 0)
        what = "its weather records are others";
    else if (strcmp(ours->name, state->name) != 0)
        snprintf(why, 600, "it is of the scenario %.100s, this is %.100s", state->name, ours->name);
    else if (strcmp(ours->scenario_sha256, state->scenario_sha256) != 0)
        what = "its settings files are others, though all settings are the same";
    else if (ours->random_seed != state->random_seed || ours->trials != state->trials || ours->precision != state->precision)
        what = "its random seed, trials or precision are others";
    else if (ours->parts != state->parts)
        snprintf(why, 600, "it is of a run in %lld parts, this is one in %lld", (long long)state->parts, (long long)ours->parts);
    else
        return false;
    if (what)
        snprintf(why, 600, "%s", what);
    return true;
}

enum base_result command_state_read(struct base_arena *arena, const char *path, struct report_state *state,
                                    struct base_complaints *complaints)
{
    size_t n = 0;
    const char *why = NULL;
    errno = 0;
    const char *bytes = base_read_file(arena, path, MOST_BYTES, &n, &why);
    if (bytes)
        why = report_state_unpack((const unsigned char *)bytes, n, state);
    if (!why)
        return BASE_OK;
    base_complain(complaints, BASE_ERROR, path, 0, NULL, bytes ? "%s" : "cannot be read: %s", why);
    return !bytes && (errno == ENOMEM || errno == EIO) ? BASE_FAILED : BASE_WRONG;
}

/* ---- --state ----------------------------------------------------------------------------------------- */

/* Whether this is the state of this very run, or part of it; why not. */
static bool is_ours(const struct command_run *run, const struct report_state *state, char why[600])
{
    struct report_state ours = state_of(run);
    if (command_state_differs(&ours, state, why))
        return false;
    snprintf(why, 600, "it is of part %lld, this is %lld", (long long)state->part, (long long)ours.part);
    return state->part == ours.part;
}

/* Takes the run up where its state leaves it. */
static enum base_result take_up(struct command_run *run, struct base_complaints *complaints)
{
    struct base_arena arena = { 0 };
    struct report_state state;
    const char *path = run->options->state;
    char why[600];
    enum base_result result = command_state_read(&arena, path, &state, complaints);
    if (result == BASE_OK && !is_ours(run, &state, why)) {
        base_complain(complaints, BASE_ERROR, path, 0, "--state", "is the state of another run: %s; name another "
                      "file, or remove it", why);
        result = BASE_WRONG;
    }
    if (result == BASE_OK && (state.first != run->first || state.until > run->end
                              || !report_state_add(&state, run->tally, &run->doubt))) {
        base_complain(complaints, BASE_ERROR, path, 0, NULL, "is damaged: its figures make no sense");
        result = BASE_WRONG;
    }
    if (result == BASE_OK)
        run->until = state.until;
    base_arena_free(&arena);
    return result;
}

bool command_run_tally(struct command_run *run)
{
    run->tally = tally_make(&run->tally_arena, run->loaded.plan, run->shared);
    return run->tally != NULL;
}

enum base_result command_state_begin(struct command_run *run, struct base_complaints *complaints)
{
    if (!command_run_tally(run))
        return BASE_FAILED;
    bool is_new = access(run->options->state, F_OK) != 0 && errno == ENOENT;
    return is_new ? command_state_save(run, complaints) : take_up(run, complaints);
}

void command_state_end(const struct command_run *run)
{
    if (run->options->state && unlink(run->options->state) != 0 && errno != ENOENT)
        fprintf(stderr, "tideover: note: could not remove %s: %s\n", run->options->state, strerror(errno));
}

/* ---- writing ----------------------------------------------------------------------------------------- */

static enum base_result write_state(struct command_run *run, struct report_output *output, const char *name,
                                    struct base_complaints *complaints)
{
    struct report_state state = state_of(run);
    struct base_packed packed = { 0 };
    report_state_pack(&state, run->tally, &run->doubt, &packed);
    enum base_result result = packed.failed ? BASE_FAILED : BASE_OK;
    if (result == BASE_OK) {
        report_write(report_output_file(output, name), (const char *)packed.bytes, packed.n);
        result = report_output_commit(output, complaints);
    }
    base_packed_free(&packed);
    return result;
}

enum base_result command_state_save(struct command_run *run, struct base_complaints *complaints)
{
    struct base_arena arena = { 0 };
    struct report_output *output = NULL;
    const char *path = run->options->state, *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dir = !slash ? "." : slash == path ? "/" : base_arena_print(&arena, "%.*s", (int)(slash - path), path);
    enum base_result result = dir ? report_output_open_as(&arena, dir, REPORT_FREELY, "--state", complaints, &output)
                                  : BASE_FAILED;
    if (result == BASE_OK)
        result = write_state(run, output, name, complaints);
    report_output_close(output);
    base_arena_free(&arena);
    return result;
}

enum base_result command_part_write(struct command_run *run, struct report_output *output, struct base_complaints *complaints,
                                    char name[64])
{
    int digits = snprintf(NULL, 0, "%d", run->options->parts);
    snprintf(name, 64, "part-%0*d-of-%d.tideover-state", digits, run->options->part, run->options->parts);
    return write_state(run, output, name, complaints);
}
