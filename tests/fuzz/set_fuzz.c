/* set_fuzz.c: any text as settings of the command line, one a line, on a small scenario; or, after a ?, as a path to explain. */
#include "memory.h"

#include "scenario/inside.h"

#include <stdlib.h>
#include <string.h>

enum { MOST_SETS = 16, WHOLE_ONE_IN = 16 };
static const char small[] =
    "household={eaters=({count=2;});meals={beans={meals_per_week=1;portion_kg=0.06;};squash={meals_per_week=2.0;portion_kg=0.2;};};};"
    "climate={last_frost={p10=\"04-20\";p50=\"05-10\";p90=\"05-30\";};first_hard_frost=\"10-20\";"
    "tmin_c=[1,1,3,4,7,10,12,11,9,7,4,2];tmax_c=[7,8,10,13,16,19,21,21,18,14,10,7];};"
    "crops={bean={kind=\"beans\";base_c=8;unit_kg=0.5;heat_to_dry=780;pick_until=\"11-05\";};"
    "pumpkin={kind=\"squash\";base_c=10;fruits=3;fruit_kg={p10=0.9;p50=1.4;p90=1.9;};heat_to_ripen=540;keeps_weeks=24;"
    "cut_by=\"10-20\";plant_out=\"05-30\";};};"
    "plantings={row={crop=\"bean\";count=4.5;plant_out=\"05-25\";};bed={crop=\"pumpkin\";count=3;};};";

/* Cuts the text into lines; returns how many. */
static int cut(char *text, const char *sets[MOST_SETS])
{
    int n = 0;
    for (char *line = text; line && n < MOST_SETS; n++) {
        sets[n] = line;
        line = strchr(line, '\n');
        if (line)
            *line++ = '\0';
    }
    return n;
}

static FILE *nowhere(void)
{
    static FILE *file;
    if (!file && !(file = fopen("/dev/null", "w")))
        abort();
    return file;
}

/* The small scenario's settings, read once. */
static const struct scenario_tree *small_tree(void)
{
    static const struct scenario_tree *tree;
    static struct base_arena arena;
    static struct base_complaints complaints;
    struct scenario_reading reading = { .arena = &arena, .complaints = &complaints, .given = small };
    if (!tree && !(tree = scenario_read_layers(&reading, "small")))
        abort();
    return tree;
}

static struct scenario_tree *copy(struct scenario_reading *reading, const struct scenario_tree *from)
{
    struct scenario_tree *to = scenario_tree_new(reading, from->type, from->name);
    *to = *from;
    to->first = to->last = to->next = NULL;
    to->n = 0;
    for (const struct scenario_tree *child = from->first; child; child = child->next)
        scenario_tree_add(to, copy(reading, child));
    return to;
}

/* What scenario_load does, but for reading the scenario. Returns whether it is right. */
static bool set(int n, const char *const *sets)
{
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    struct scenario_reading reading = { .arena = &arena, .complaints = &complaints };
    struct scenario_tree *root = copy(&reading, small_tree());
    bool right = true;
    for (int i = 0; i < n; i++)
        right = scenario_set(&reading, root, sets[i]) && right;
    if (reading.out_of_memory || right != (complaints.errors == 0))
        abort();                            /* wrong without a word, or taken with complaints */
    if (right) {
        struct scenario *scenario = scenario_bind(&reading, root, "small");
        right = complaints.errors == 0;
        if (!scenario)
            abort();
        if (right)
            scenario_write_effective(scenario, nowhere());
    }
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return right;
}

/* The whole way comes to the same. */
static void load(int n, const char *const *sets, bool right)
{
    struct base_arena arena = { 0 };
    struct base_complaints complaints = { 0 };
    const struct scenario *scenario = NULL;
    struct scenario_request request = { .path = "small", .text = small, .sets_n = n, .sets = sets };
    enum base_result result = scenario_load(&arena, &request, &scenario, &complaints);
    if (result != (right ? BASE_OK : BASE_WRONG) || right != (complaints.errors == 0))
        abort();
    base_complaints_free(&complaints);
    base_arena_free(&arena);
}

/* Of like bytes always the same. */
static unsigned sum_of(const uint8_t *data, size_t size)
{
    unsigned sum = 0;
    for (size_t i = 0; i < size; i++)
        sum = 31 * sum + data[i];
    return sum;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);
    if (!text)
        abort();
    if (size > 0)
        memcpy(text, data, size);
    text[size] = '\0';
    if (text[0] == '?') {
        scenario_explain(text + 1, nowhere());
    } else {
        const char *sets[MOST_SETS];
        int n = cut(text, sets);
        bool right = set(n, sets);
        if (sum_of(data, size) / 7 % WHOLE_ONE_IN == 0)
            load(n, sets, right);
    }
    free(text);
    return 0;
}
