/* tree.c: settings as our own tree, so that nothing hangs on libconfig's memory. */
#include "scenario/inside.h"

#include <inttypes.h>
#include <stdarg.h>
#include <string.h>

void *scenario_take(struct scenario_reading *reading, size_t n, size_t size)
{
    void *memory = base_arena_array(reading->arena, n, size);
    if (memory == NULL) {
        reading->out_of_memory = true;
    }
    return memory;
}

const char *scenario_print(struct scenario_reading *reading, const char *format, ...)
{
    va_list list, again;
    va_start(list, format);
    va_copy(again, list);
    int length = vsnprintf(NULL, 0, format, list);
    va_end(list);
    char *text = scenario_take(reading, length < 0 ? 1 : (size_t)length + 1, 1);
    if (text != NULL && length >= 0) {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    return text != NULL ? text : "";
}

struct scenario_tree *scenario_tree_new(struct scenario_reading *reading, enum scenario_node type,
                                        const char *name)
{
    struct scenario_tree *node = scenario_take(reading, 1, sizeof *node);
    if (node != NULL) {
        node->type = type;
        node->name = name;
    }
    return node;
}

void scenario_tree_add(struct scenario_tree *parent, struct scenario_tree *child)
{
    child->next = NULL;
    if (parent->last == NULL) {
        parent->first = child;
    } else {
        parent->last->next = child;
    }
    parent->last = child;
    parent->n++;
}

/* The child before `old`; NULL when it is the first. */
static struct scenario_tree *before(const struct scenario_tree *parent, const struct scenario_tree *old)
{
    struct scenario_tree *previous = NULL;
    for (struct scenario_tree *child = parent->first; child != NULL && child != old; child = child->next) {
        previous = child;
    }
    return previous;
}

void scenario_tree_replace(struct scenario_tree *parent, const struct scenario_tree *old,
                           struct scenario_tree *child)
{
    struct scenario_tree *previous = before(parent, old);
    child->next = old->next;
    if (previous == NULL) {
        parent->first = child;
    } else {
        previous->next = child;
    }
    if (parent->last == old) {
        parent->last = child;
    }
}

void scenario_tree_remove(struct scenario_tree *parent, const struct scenario_tree *old)
{
    struct scenario_tree *previous = before(parent, old);
    if (previous == NULL) {
        parent->first = old->next;
    } else {
        previous->next = old->next;
    }
    if (parent->last == old) {
        parent->last = previous;
    }
    parent->n--;
}

struct scenario_tree *scenario_tree_member(const struct scenario_tree *group, const char *name)
{
    if (group == NULL || group->type != SCENARIO_GROUP) {
        return NULL;
    }
    for (struct scenario_tree *child = group->first; child != NULL; child = child->next) {
        if (strcmp(child->name, name) == 0) {
            return child;
        }
    }
    return NULL;
}

struct scenario_tree *scenario_tree_element(const struct scenario_tree *list, int i)
{
    struct scenario_tree *child = list->type == SCENARIO_LIST && i >= 0 ? list->first : NULL;
    for (; child != NULL && i > 0; i--) {
        child = child->next;
    }
    return child;
}

struct scenario_tree *scenario_tree_copy(struct scenario_reading *reading, const struct scenario_tree *from)
{
    struct scenario_tree *copy = scenario_tree_new(reading, from->type, from->name);
    if (copy == NULL) {
        return NULL;
    }
    *copy = *from;
    copy->first = copy->last = copy->next = NULL;
    copy->n = 0;
    for (const struct scenario_tree *child = from->first; child != NULL; child = child->next) {
        struct scenario_tree *one = scenario_tree_copy(reading, child);
        if (one == NULL) {
            return NULL;
        }
        scenario_tree_add(copy, one);
    }
    return copy;
}

bool scenario_tree_number(const struct scenario_tree *node, double *value)
{
    if (node->type == SCENARIO_WHOLE) {
        *value = (double)node->whole;
        return true;
    }
    if (node->type == SCENARIO_REAL) {
        *value = node->real;
        return true;
    }
    return false;
}

const char *scenario_tree_shown(struct scenario_reading *reading, const struct scenario_tree *node)
{
    char text[40];
    size_t n, shown;
    switch (node->type) {
    case SCENARIO_WHOLE:
        return scenario_print(reading, "%" PRId64, node->whole);
    case SCENARIO_REAL:
        scenario_real_text(node->real, text);
        return scenario_print(reading, "%s", text);
    case SCENARIO_TRUTH:
        return node->truth ? "true" : "false";
    case SCENARIO_TEXT:
        n = strlen(node->text);
        shown = scenario_shown_bytes(node->text, n, 60);
        return scenario_print(reading, "\"%.*s%s\"", (int)shown, node->text, shown < n ? "..." : "");
    case SCENARIO_LIST:
        return scenario_print(reading, "a list of %d", node->n);
    case SCENARIO_GROUP:
        break;
    }
    return "a group";
}
