/* parse.c: the only place that uses libconfig. It is given clean text once, and what it found is copied
 * into our own tree at once. */
#include "scenario/inside.h"

#include <libconfig.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct scenario_line written_at(const struct scenario_text *text, int line)
{
    size_t at = line > 0 ? (size_t)line - 1 : 0;
    if (at >= text->lines_n) {
        at = text->lines_n - 1;
    }
    return text->lines[at];
}

static enum scenario_node node_type(const config_setting_t *setting)
{
    switch (config_setting_type(setting)) {
    case CONFIG_TYPE_INT:
    case CONFIG_TYPE_INT64:
        return SCENARIO_WHOLE;
    case CONFIG_TYPE_FLOAT:
        return SCENARIO_REAL;
    case CONFIG_TYPE_BOOL:
        return SCENARIO_TRUTH;
    case CONFIG_TYPE_STRING:
        return SCENARIO_TEXT;
    case CONFIG_TYPE_GROUP:
        return SCENARIO_GROUP;
    default:
        return SCENARIO_LIST;
    }
}

static bool copy_value(struct scenario_reading *reading, const config_setting_t *setting,
                       struct scenario_tree *node)
{
    switch (node->type) {
    case SCENARIO_WHOLE:
        node->whole = config_setting_type(setting) == CONFIG_TYPE_INT ? config_setting_get_int(setting)
                                                                      : config_setting_get_int64(setting);
        return true;
    case SCENARIO_REAL:
        node->real = config_setting_get_float(setting);
        return true;
    case SCENARIO_TRUTH:
        node->truth = config_setting_get_bool(setting) != 0;
        return true;
    case SCENARIO_TEXT:
        node->text = scenario_print(reading, "%s", config_setting_get_string(setting));
        return !reading->out_of_memory;
    case SCENARIO_GROUP:
    case SCENARIO_LIST:
        break;
    }
    return true;
}

/* libconfig leaves out a name or a text that it got no memory for. */
static bool has_its_words(const config_setting_t *setting)
{
    const config_setting_t *parent = config_setting_parent(setting);
    bool wants_name = parent != NULL && config_setting_type(parent) == CONFIG_TYPE_GROUP;
    bool wants_text = config_setting_type(setting) == CONFIG_TYPE_STRING;
    return (!wants_name || config_setting_name(setting) != NULL)
           && (!wants_text || config_setting_get_string(setting) != NULL);
}

/* Copies a setting and all inside it. Depth is bounded: the scanner refuses deep nesting. */
static struct scenario_tree *copy(struct scenario_reading *reading, const struct scenario_text *text,
                                  const config_setting_t *setting, struct scenario_line parent)
{
    const char *name = config_setting_name(setting);
    struct scenario_tree *node = scenario_tree_new(reading, node_type(setting), NULL);
    if (node == NULL || !has_its_words(setting)
        || (name != NULL && (node->name = base_arena_text(reading->arena, name)) == NULL)) {
        reading->out_of_memory = true;
        return NULL;
    }
    struct scenario_line at = written_at(text, (int)config_setting_source_line(setting));
    /* libconfig gives a string in a list the line of whatever comes next: the list's own line is nearer. */
    if (name == NULL && node->type == SCENARIO_TEXT) {
        at = parent;
    }
    node->file = at.file;
    node->line = at.line;
    if (!copy_value(reading, setting, node)) {
        return NULL;
    }
    int n = node->type == SCENARIO_GROUP || node->type == SCENARIO_LIST ? config_setting_length(setting) : 0;
    for (int i = 0; i < n; i++) {
        struct scenario_tree *child =
            copy(reading, text, config_setting_get_elem(setting, (unsigned)i), at);
        if (child == NULL) {
            return NULL;
        }
        scenario_tree_add(node, child);
    }
    return node;
}

static void complain(struct scenario_reading *reading, const struct scenario_text *text,
                     const config_t *config, const char *setting)
{
    struct scenario_line at = written_at(text, config_error_line(config));
    const char *why = config_error_text(config);
    bool twice = why != NULL && strcmp(why, "duplicate setting name") == 0;
    const char *words = twice
                            ? "a setting of this name stands in this group already"
                            : "syntax error (a missing = or ; or quote, or a value where a name should be?)";
    if (at.file == NULL) {
        base_complain(reading->complaints, BASE_ERROR, NULL, 0, setting, "%s", words);
    } else {
        base_complain(reading->complaints, BASE_ERROR, at.file, at.line, NULL, "at or before line %d: %s",
                      at.line, words);
    }
}

/* libconfig 1.5 does not look whether it got its memory, and crashes or exits where it did not. So as much as it can
 * take for a text (at most 43 times its size was measured) is asked for beforehand, and given back. */
static bool has_room(size_t bytes)
{
    enum { BYTES_A_BYTE = 64, BYTES_MORE = 256 * 1024 };
    void *room = base_realloc(NULL, BYTES_A_BYTE * bytes + BYTES_MORE);
    base_free(room);
    return room != NULL;
}

/* Should it get none all the same, the program ends here, with words. Nothing has been written yet when settings are read. */
static void broke_off(int number)
{
    static const char words[] = "tideover: libconfig broke off while it read the settings: memory ran out, as far as "
                                "can be told\n";
    (void)number;
    (void)!write(STDERR_FILENO, words, sizeof words - 1);
    _exit(BASE_FAILED);
}

static int parse(config_t *config, const char *bytes)
{
    struct sigaction action, before;
    memset(&action, 0, sizeof action);
    action.sa_handler = broke_off;
    sigemptyset(&action.sa_mask);
    sigaction(SIGSEGV, &action, &before);
    config_init(config);
    int result = config_read_string(config, bytes);
    sigaction(SIGSEGV, &before, NULL);
    return result;
}

/* At the program's end: was that libconfig's doing? While it reads, a crash is to be told of. */
static void look_who_exits(void)
{
    struct sigaction now;
    if (sigaction(SIGSEGV, NULL, &now) == 0 && now.sa_handler == broke_off) {
        broke_off(0);
    }
}

void scenario_start(void)
{
    (void)atexit(look_who_exits);
}

struct scenario_tree *scenario_parse(struct scenario_reading *reading, const struct scenario_text *text,
                                     const char *setting)
{
    config_t config;
    struct scenario_tree *tree = NULL;
    if (!has_room(text->size)) {
        reading->out_of_memory = true;
        return NULL;
    }
    if (parse(&config, text->bytes) == CONFIG_TRUE) {
        tree = copy(reading, text, config_root_setting(&config), text->lines[0]);
    } else {
        complain(reading, text, &config, setting);
    }
    config_destroy(&config);
    return tree;
}
