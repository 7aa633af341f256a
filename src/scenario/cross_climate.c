/* cross_climate.c: checks across a climate's settings. */
#include "scenario/inside.h"

#include <string.h>

enum { NEEDED = 4, OF_DISTRIBUTIONS = 6 };

/* What a climate without records is made of; the first NEEDED must be given. */
static const char *part(int i)
{
    static const char *const parts[OF_DISTRIBUTIONS] = {"last_frost", "first_hard_frost", "tmin_c",
                                                        "tmax_c",     "warmth",           "correlation"};
    return parts[i];
}

/* A generator without records is made of normals and of how days depart from them. */
static void check_generator(struct scenario_binding *binding, struct scenario_tree *climate)
{
    static const char *const normals[] = {"tmin_c", "tmax_c"}, *const spreads[] = {"tmin_sd_c", "tmax_sd_c"};
    struct scenario_tree *generator = scenario_tree_member(climate, "generator");
    if (scenario_tree_member(climate, "last_frost") != NULL || scenario_tree_member(climate, "first_hard_frost") != NULL) {
        base_complain(binding->reading->complaints, BASE_WARNING, generator->file, generator->line, "climate.generator",
                      "counts, and the climate's frost dates, warmth and correlation do not");
    }
    for (int i = 0; i < 2; i++) {
        if (scenario_tree_member(climate, normals[i]) == NULL) {
            base_complain(binding->reading->complaints, BASE_ERROR, climate->file, climate->line,
                          scenario_path(binding, "climate", normals[i]),
                          "is missing: a generator wants a records_file, or tmin_c and tmax_c");
        }
        if (scenario_tree_member(generator, spreads[i]) == NULL) {
            base_complain(binding->reading->complaints, BASE_ERROR, generator->file, generator->line,
                          scenario_path(binding, "climate.generator", spreads[i]),
                          "is missing: a generator without records_file wants tmin_sd_c and tmax_sd_c");
        }
    }
}

static void check_needed(struct scenario_binding *binding, struct scenario_tree *climate)
{
    if (binding->scenario->climate.generator.is_set) {
        check_generator(binding, climate);
        return;
    }
    for (int i = 0; i < NEEDED; i++) {
        if (scenario_tree_member(climate, part(i)) == NULL) {
            base_complain(binding->reading->complaints, BASE_ERROR, climate->file, climate->line,
                          scenario_path(binding, "climate", part(i)),
                          "is missing: a climate has either a records_file, or last_frost, first_hard_frost, "
                          "tmin_c and "
                          "tmax_c");
        }
    }
}

static bool same_file(const struct scenario_tree *a, const struct scenario_tree *b)
{
    return a->file == b->file || (a->file != NULL && b->file != NULL && strcmp(a->file, b->file) == 0);
}

/* The node of a records_file that is set; NULL when there is none, or "" takes it away. */
static struct scenario_tree *records_of(const struct scenario_tree *climate)
{
    struct scenario_tree *records = scenario_tree_member(climate, "records_file");
    bool none = records != NULL && records->type == SCENARIO_TEXT && records->text[0] == '\0';
    return none ? NULL : records;
}

/* A part that counts for something: not a default, and no warmth of 0, which records do not contradict. */
static struct scenario_tree *part_of(const struct scenario_tree *climate, int i)
{
    struct scenario_tree *node = scenario_tree_member(climate, part(i));
    double value;
    bool nothing = node == NULL || node->is_default ||
                   (strcmp(part(i), "warmth") == 0 && scenario_tree_number(node, &value) && value == 0);
    return nothing ? NULL : node;
}

void scenario_drop_unused_climate(struct scenario_binding *binding)
{
    struct scenario_tree *climate = scenario_tree_member(binding->root, "climate");
    struct scenario_tree *records = records_of(climate);
    bool dropped = false;
    for (int i = 0; i < OF_DISTRIBUTIONS && records != NULL; i++) {
        struct scenario_tree *other = part_of(climate, i);
        if (other != NULL && !same_file(records, other)) {
            scenario_tree_remove(climate, other);
            dropped = true;
        }
    }
    if (dropped) {
        base_complain(
            binding->reading->complaints, BASE_WARNING, records->file, records->line, "climate.records_file",
            "counts, and the climate's frost dates, warmth and normals laid over or under it do not");
    }
}

/* In one file, both are a mistake. */
static void check_either(struct scenario_binding *binding, struct scenario_tree *climate,
                         struct scenario_tree *records)
{
    for (int i = 0; i < OF_DISTRIBUTIONS; i++) {
        if (part_of(climate, i) != NULL) {
            scenario_wrong(
                binding, records, "climate.records_file",
                "stands beside climate.%s, and only one of them can count (\"\" takes records_file away)",
                part(i));
            return;
        }
    }
}

static bool is_right(const struct scenario_tree *node)
{
    return node != NULL && !node->is_faulty;
}

static void check_normals(struct scenario_binding *binding, struct scenario_tree *climate)
{
    static const char months[12][4] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                       "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    struct scenario_tree *tmin = scenario_tree_member(climate, "tmin_c");
    struct scenario_tree *tmax = scenario_tree_member(climate, "tmax_c");
    const struct scenario_climate *normals = &binding->scenario->climate;
    for (int i = 0; i < 12 && is_right(tmin) && is_right(tmax); i++) {
        if (normals->tmin_c[i] > normals->tmax_c[i]) {
            scenario_wrong(binding, tmin, "climate.tmin_c", "is above tmax_c in %s (got %g and %g)",
                           months[i], normals->tmin_c[i], normals->tmax_c[i]);
        }
    }
}

static void check_correlation(struct scenario_binding *binding, struct scenario_tree *climate)
{
    struct scenario_tree *node = scenario_tree_member(climate, "correlation");
    double r[3][3];
    if (!is_right(node)) {
        return;
    }
    memcpy(r, binding->scenario->climate.correlation, sizeof r);
    bool unit = r[0][0] == 1 && r[1][1] == 1 && r[2][2] == 1;
    bool symmetric = r[0][1] == r[1][0] && r[0][2] == r[2][0] && r[1][2] == r[2][1];
    /* Sylvester's criterion: leading minors above 0; the entries are within -1..1 already. */
    double minor = 1 - r[0][1] * r[0][1];
    double whole = 1 + 2 * r[0][1] * r[0][2] * r[1][2] - r[0][1] * r[0][1] - r[0][2] * r[0][2] -
                   r[1][2] * r[1][2];
    if (!unit) {
        scenario_wrong(binding, node, "climate.correlation", "has other figures than 1 on its diagonal");
    } else if (!symmetric) {
        scenario_wrong(binding, node, "climate.correlation", "is not symmetric");
    } else if (!(minor > 1e-12) || !(whole > 1e-12)) {
        scenario_wrong(binding, node, "climate.correlation",
                       "cannot be: no three quantities are correlated so (bring the figures nearer to 0)");
    }
}

/* Too few made-up seasons would have tails of their own. */
static void check_seasons(struct scenario_binding *binding, struct scenario_tree *climate)
{
    struct scenario_tree *node = scenario_tree_member(scenario_tree_member(climate, "generator"), "seasons");
    if (is_right(node) && node->whole > 0 && node->whole < 100) {
        scenario_wrong(binding, node, "climate.generator.seasons",
                       "is neither 0 nor 100 at the least (got %lld)", (long long)node->whole);
    }
}

void scenario_cross_climate(struct scenario_binding *binding)
{
    struct scenario_tree *climate = scenario_tree_member(binding->root, "climate");
    if (climate == NULL || climate->is_faulty) {
        return;
    }
    struct scenario_tree *records = records_of(climate);
    if (records != NULL) {
        check_either(binding, climate, records);
    } else {
        check_needed(binding, climate);
    }
    check_seasons(binding, climate);
    check_normals(binding, climate);
    check_correlation(binding, climate);
}
