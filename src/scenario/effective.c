/* effective.c: the settings as they were used, written out again. */
#include "scenario/inside.h"

#include <inttypes.h>
#include <string.h>

static void write_text(const char *text, FILE *to)
{
    fputc('"', to);
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '"' || *c == '\\') {
            fputc('\\', to);
        }
        fputc(*c, to);
    }
    fputc('"', to);
}

/* libconfig reads whole numbers beyond 32 bits rightly only with an L. */
static void write_whole(int64_t value, FILE *to)
{
    bool wide = value > INT32_MAX || value < INT32_MIN;
    fprintf(to, "%" PRId64 "%s", value, wide ? "L" : "");
}

static void write_inside(const struct scenario_tree *node, FILE *to)
{
    bool group = node->type == SCENARIO_GROUP;
    fputs(group ? "{ " : "( ", to);
    for (const struct scenario_tree *child = node->first; child != NULL; child = child->next) {
        if (group) {
            fprintf(to, "%s = ", child->name);
        }
        scenario_write_value(child, to);
        fputs(group ? "; " : child->next != NULL ? ", " : " ", to);
    }
    fputs(group ? "}" : ")", to);
}

void scenario_write_value(const struct scenario_tree *node, FILE *to)
{
    char text[40];
    switch (node->type) {
    case SCENARIO_WHOLE:
        write_whole(node->whole, to);
        break;
    case SCENARIO_REAL:
        scenario_real_text(node->real, text);
        fputs(text, to);
        break;
    case SCENARIO_TRUTH:
        fputs(node->truth ? "true" : "false", to);
        break;
    case SCENARIO_TEXT:
        write_text(node->text, to);
        break;
    case SCENARIO_GROUP:
    case SCENARIO_LIST:
        write_inside(node, to);
        break;
    }
}

/* A value that is shown and compared whole: everything but groups of settings and lists of groups. */
static bool is_leaf(const struct scenario_tree *node)
{
    if (node->type == SCENARIO_LIST) {
        return node->first == NULL || node->first->type != SCENARIO_GROUP;
    }
    return node->type != SCENARIO_GROUP || node->is_one_value;
}

static void indent(int depth, FILE *to)
{
    fprintf(to, "%*s", 2 * depth, "");
}

static void write_node(const struct scenario_tree *node, int depth, FILE *to);

static void write_list_of_groups(const struct scenario_tree *node, int depth, FILE *to)
{
    fputs("(\n", to);
    for (const struct scenario_tree *child = node->first; child != NULL; child = child->next) {
        indent(depth + 1, to);
        scenario_write_value(child, to);
        fputs(child->next != NULL ? ",\n" : "\n", to);
    }
    indent(depth, to);
    fputs(");\n", to);
}

/* One setting on lines of its own. */
static void write_node(const struct scenario_tree *node, int depth, FILE *to)
{
    indent(depth, to);
    fprintf(to, "%s = ", node->name);
    if (is_leaf(node)) {
        scenario_write_value(node, to);
        fputs(";\n", to);
    } else if (node->type == SCENARIO_LIST) {
        write_list_of_groups(node, depth, to);
    } else {
        fputs("{\n", to);
        for (const struct scenario_tree *child = node->first; child != NULL; child = child->next) {
            write_node(child, depth + 1, to);
        }
        indent(depth, to);
        fputs("};\n", to);
    }
}

void scenario_write_effective(const struct scenario *scenario, FILE *to)
{
    fputs("// Every setting as it was used, defaults included.\n", to);
    for (const struct scenario_tree *child = scenario->tree->first; child != NULL; child = child->next) {
        write_node(child, 0, to);
    }
}

/* ---- one line a setting -------------------------------------------------------------------------------- */

/* A path under way: a setting and the ones that it is in. */
struct step {
    const struct step *outer;
    const char *name;              /* NULL: element i */
    int i;
};

static void write_path(const struct step *step, FILE *to)
{
    if (step->outer != NULL) {
        write_path(step->outer, to);
    }
    if (step->name == NULL) {
        fprintf(to, "[%d]", step->i);
    } else {
        fprintf(to, "%s%s", step->outer != NULL ? "." : "", step->name);
    }
}

static void print_setting(const struct scenario_tree *node, const struct step *step, FILE *to)
{
    if (!is_leaf(node)) {
        int i = 0;
        for (const struct scenario_tree *child = node->first; child != NULL; child = child->next, i++) {
            struct step inner = {step, child->name, i};
            print_setting(child, &inner, to);
        }
        return;
    }
    write_path(step, to);
    fputs(" = ", to);
    scenario_write_value(node, to);
    if (node->is_default) {
        fputs("   # default\n", to);
    } else if (node->file == NULL) {
        fputs("   # command line\n", to);
    } else {
        fprintf(to, "   # %s:%d\n", node->file, node->line);
    }
}

void scenario_print_settings(const struct scenario *scenario, FILE *to)
{
    for (const struct scenario_tree *child = scenario->tree->first; child != NULL; child = child->next) {
        struct step step = {NULL, child->name, 0};
        print_setting(child, &step, to);
    }
}

/* ---- differences ----------------------------------------------------------------------------------- */

static bool is_number(const struct scenario_tree *node)
{
    return node->type == SCENARIO_WHOLE || node->type == SCENARIO_REAL;
}

static const struct scenario_tree *counterpart(const struct scenario_tree *in,
                                               const struct scenario_tree *child, int i)
{
    if (in == NULL || child == NULL) {
        return NULL;
    }
    return child->name != NULL ? scenario_tree_member(in, child->name) : scenario_tree_element(in, i);
}

/* Equal in what they say; 1 and 1.0 are, and so are groups in another order. */
static bool same(const struct scenario_tree *a, const struct scenario_tree *b)
{
    double x = 0, y = 0;
    if (is_number(a) && is_number(b) && a->type != b->type) {
        return scenario_tree_number(a, &x) && scenario_tree_number(b, &y) && x == y;
    }
    if (a->type != b->type || a->n != b->n) {
        return false;
    }
    switch (a->type) {
    case SCENARIO_WHOLE: return a->whole == b->whole;
    case SCENARIO_REAL: return a->real == b->real;
    case SCENARIO_TRUTH: return a->truth == b->truth;
    case SCENARIO_TEXT: return strcmp(a->text, b->text) == 0;
    case SCENARIO_GROUP:
    case SCENARIO_LIST: break;
    }
    int i = 0;
    for (const struct scenario_tree *child = a->first; child != NULL; child = child->next, i++) {
        const struct scenario_tree *other = counterpart(b, child, i);
        if (other == NULL || !same(child, other)) {
            return false;
        }
    }
    return true;
}

bool scenario_same(const struct scenario *a, const struct scenario *b, const char *group, const char *member)
{
    const struct scenario_tree *x = scenario_tree_member(a->tree, group), *y = scenario_tree_member(b->tree, group);
    if (member != NULL) {
        x = x != NULL ? scenario_tree_member(x, member) : NULL;
        y = y != NULL ? scenario_tree_member(y, member) : NULL;
    }
    return x == NULL || y == NULL ? x == y : same(x, y);
}

static int print_difference(const struct scenario_tree *a, const struct scenario_tree *b,
                            const struct step *step, FILE *to);

/* Differences of the children of two nodes that are no leaves; either may be absent. */
static int print_inner(const struct scenario_tree *a, const struct scenario_tree *b, const struct step *step,
                       FILE *to)
{
    int n = 0, i = 0;
    for (const struct scenario_tree *child = a != NULL ? a->first : NULL; child != NULL;
         child = child->next, i++) {
        struct step inner = {step, child->name, i};
        n += print_difference(child, counterpart(b, child, i), &inner, to);
    }
    i = 0;
    for (const struct scenario_tree *child = b != NULL ? b->first : NULL; child != NULL;
         child = child->next, i++) {
        struct step inner = {step, child->name, i};
        n += counterpart(a, child, i) == NULL ? print_difference(NULL, child, &inner, to) : 0;
    }
    return n;
}

static void print_value(const struct scenario_tree *node, FILE *to)
{
    if (node == NULL) {
        fputs("(absent)", to);
    } else {
        scenario_write_value(node, to);
    }
}

/* A setting in both scenarios, or NULL where it is absent. Returns how many lines it wrote. */
static int print_difference(const struct scenario_tree *a, const struct scenario_tree *b,
                            const struct step *step, FILE *to)
{
    bool leaf_a = a == NULL || is_leaf(a), leaf_b = b == NULL || is_leaf(b);
    if ((!leaf_a && (b == NULL || !leaf_b)) || (!leaf_b && a == NULL)) {
        return print_inner(a, b, step, to);
    }
    if (a != NULL && b != NULL && same(a, b)) {
        return 0;
    }
    write_path(step, to);
    fputs(": ", to);
    print_value(a, to);
    fputs(" -> ", to);
    print_value(b, to);
    fputc('\n', to);
    return 1;
}

int scenario_print_differences(const struct scenario *a, const struct scenario *b, FILE *to)
{
    int n = 0;
    for (const struct scenario_tree *child = a->tree->first; child != NULL; child = child->next) {
        struct step step = {NULL, child->name, 0};
        n += print_difference(child, counterpart(b->tree, child, 0), &step, to);
    }
    for (const struct scenario_tree *child = b->tree->first; child != NULL; child = child->next) {
        struct step step = {NULL, child->name, 0};
        n += counterpart(a->tree, child, 0) == NULL ? print_difference(NULL, child, &step, to) : 0;
    }
    return n;
}
