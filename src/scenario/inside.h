/* inside.h: what the files of the room "scenario" share; no other room includes it.
 *
 *   text.c, scan.c, number.c, path.c    a file and what it includes -> clean text with a line map
 *   parse.c, tree.c                     clean text -> our own tree
 *   merge.c, set.c                      trees laid over one another; the command line's settings
 *   schema*.c                           the table that says what may be set
 *   bind.c, value.c, distribution.c,    tree -> struct scenario, and all that is wrong with it
 *   entities.c, shelf.c, cross*.c
 *   effective.c, explain.c,             what is written out again
 *   reference.c */
#ifndef TIDEOVER_SCENARIO_INSIDE_H
#define TIDEOVER_SCENARIO_INSIDE_H

#include "scenario/scenario.h"

/* One loading under way. Memory comes from `arena`; when it runs out, functions return NULL or false and
 * out_of_memory says why. */
struct scenario_reading {
    struct base_arena *arena;
    struct base_complaints *complaints;
    const char *configs_dir;       /* NULL: none */
    const char *given;             /* the scenario file's text; NULL: it is read */
    struct base_sha256 sha;        /* of every text read so far */
    int files;                     /* read so far */
    bool out_of_memory;
};

/* Zeroed memory for n elements from the reading's arena; notes that it ran out. */
void *scenario_take(struct scenario_reading *reading, size_t n, size_t size);
/* printf into the reading's arena; notes that memory ran out, and returns "" then. */
const char *scenario_print(struct scenario_reading *reading, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* ---- clean text ------------------------------------------------------------------------------------ */

enum {
    SCENARIO_MOST_BYTES = 4 * 1024 * 1024, /* of one file, and of a file with all it includes */
    SCENARIO_MOST_INCLUDES = 10,           /* nested */
    SCENARIO_MOST_DEPTH = 32,              /* brackets nested */
    SCENARIO_MOST_SETTINGS = 10000,        /* in one text: libconfig's time grows with their square */
    SCENARIO_MOST_VALUES = 200000,         /* in one text */
    SCENARIO_MOST_FILES = 200,             /* in one loading */
    SCENARIO_MOST_EXTENDS = 10,            /* a chain of bases */
    SCENARIO_MOST_NAME = 64                /* bytes of a setting's name */
};

struct scenario_line {
    const char *file;              /* NULL: the command line */
    int line;
};

/* What libconfig is given: comments dropped, includes put in, numbers normalised, arrays written as lists. */
struct scenario_text {
    char *bytes;
    size_t size, room;
    struct scenario_line *lines;   /* line k of bytes (from 0) was written there */
    size_t lines_n, lines_room;
    int settings, values;          /* so far */
};

/* Adds bytes; false when memory runs out. */
bool scenario_text_add(struct scenario_reading *reading, struct scenario_text *text, const char *bytes,
                       size_t n);
/* Ends the line; the next one was written at file:line. */
bool scenario_text_newline(struct scenario_reading *reading, struct scenario_text *text, const char *file,
                           int line);
/* Reads a file and what it includes. False when anything is wrong (complained of). `by_file`/`by_line` say
 * who asks for the file (NULL: the command line). */
bool scenario_text_read(struct scenario_reading *reading, const char *path, const char *by_file, int by_line,
                        struct scenario_text *text);
/* The same for a text given instead of the file `path`; it includes nothing. */
bool scenario_text_given(struct scenario_reading *reading, const char *path, const char *given,
                         struct scenario_text *text);
/* The text `v = VALUE` for a value given on the command line for `setting`. */
bool scenario_text_value(struct scenario_reading *reading, const char *setting, const char *value,
                         struct scenario_text *text);

/* A file being scanned, and the ones that include it. */
struct scenario_source {
    const struct scenario_source *includer;
    const char *file;              /* as shown to the user; NULL: the command line */
    const char *real;              /* resolved path, to know loops by */
    const char *root;              /* resolved folder that no include may leave */
    const char *setting;           /* the command line's setting, or NULL */
    const char *bytes;             /* NUL-terminated */
    size_t size;
    int depth;                     /* of includes */
    int brackets;                  /* open in the includers */
};
/* Checks the source token by token and adds it, cleaned, to `text`. False when anything was wrong. */
bool scenario_scan(struct scenario_reading *reading, const struct scenario_source *source,
                   struct scenario_text *text);
/* Bytes of the UTF-8 character at `at`; 0 when it is none, or a control character (C0, DEL, C1). */
size_t scenario_character(const char *at);
/* How many of the n bytes to show when at most `most` are: no character is cut in two. */
size_t scenario_shown_bytes(const char *text, size_t n, size_t most);
/* Puts in the file named by an @include on `line` of `source`. */
bool scenario_text_include(struct scenario_reading *reading, const struct scenario_source *source, int line,
                           int brackets, const char *name, struct scenario_text *text);
/* Folder of a path: "a/b" -> "a", "b" -> ".". */
const char *scenario_folder(struct scenario_reading *reading, const char *path);
/* Absolute path without links; NULL when there is no such file. */
const char *scenario_resolved(struct scenario_reading *reading, const char *path);

/* Judges a number as written, n bytes at `from`; writes what libconfig is to read into clean[64]. Returns
 * NULL, or what is wrong with it. */
const char *scenario_number(const char *from, size_t n, char clean[64]);
/* A real number with the fewest digits that read back as the same, always with a point or an exponent. */
void scenario_real_text(double x, char text[40]);

/* ---- the tree -------------------------------------------------------------------------------------- */

enum scenario_node {
    SCENARIO_GROUP,
    SCENARIO_LIST,
    SCENARIO_WHOLE,
    SCENARIO_REAL,
    SCENARIO_TRUTH,
    SCENARIO_TEXT
};

struct scenario_tree {
    enum scenario_node type;
    const char *name;              /* NULL: the root, or an element of a list */
    const char *file;              /* NULL: the command line or a default */
    int line;
    bool is_default;
    bool is_one_value;             /* a group that is a distribution: replaced and shown whole */
    bool is_faulty;                /* complained of already */
    int64_t whole;
    double real;
    bool truth;
    const char *text;
    struct scenario_tree *first, *last, *next;
    int n;                         /* of members or elements */
};

struct scenario_tree *scenario_tree_new(struct scenario_reading *reading, enum scenario_node type,
                                        const char *name);
void scenario_tree_add(struct scenario_tree *parent, struct scenario_tree *child);
/* Puts `child` where `old`, a child of parent, was. */
void scenario_tree_replace(struct scenario_tree *parent, const struct scenario_tree *old,
                           struct scenario_tree *child);
void scenario_tree_remove(struct scenario_tree *parent, const struct scenario_tree *old);
/* Member of a group by name; NULL when there is none, or when `group` is NULL or no group. */
struct scenario_tree *scenario_tree_member(const struct scenario_tree *group, const char *name);
/* Element i of a list; NULL when there is none. */
struct scenario_tree *scenario_tree_element(const struct scenario_tree *list, int i);
struct scenario_tree *scenario_tree_copy(struct scenario_reading *reading, const struct scenario_tree *from);
/* A real or whole number's value. */
bool scenario_tree_number(const struct scenario_tree *node, double *value);
/* What is there, for messages: 3.5, "beans", a group, ... */
const char *scenario_tree_shown(struct scenario_reading *reading, const struct scenario_tree *node);

/* Parses clean text; NULL when it is wrong or memory ran out (complained of). The only place that uses
 * libconfig. */
struct scenario_tree *scenario_parse(struct scenario_reading *reading, const struct scenario_text *text,
                                     const char *setting);

/* ---- the table of settings ------------------------------------------------------------------------- */

enum scenario_type {
    SCENARIO_TYPE_REAL,
    SCENARIO_TYPE_WHOLE /* int */,
    SCENARIO_TYPE_LONG /* int64_t */,
    SCENARIO_TYPE_HOLDS /* a whole number in a double */,
    SCENARIO_TYPE_TRUTH,
    SCENARIO_TYPE_DATE,
    SCENARIO_TYPE_TEXT,
    SCENARIO_TYPE_CHOICE,
    SCENARIO_TYPE_DISTRIBUTION,
    SCENARIO_TYPE_MONTHS /* 12 reals */,
    SCENARIO_TYPE_MATRIX /* 3 x 3 reals */,
    SCENARIO_TYPE_FILES /* extends */,
    SCENARIO_TYPE_GROUP,
    SCENARIO_TYPE_NAMED /* a group of groups, named by the user */,
    SCENARIO_TYPE_LIST
};

enum {
    SCENARIO_REQUIRED = 1,
    SCENARIO_FOR_BEANS = 2, SCENARIO_FOR_SQUASH = 4, /* of one kind of crop only */
    SCENARIO_ABOVE = 8,            /* the lower limit itself is not allowed */
    SCENARIO_OVERRIDE = 16,        /* in a planting: the crop's own stands when it is absent */
    SCENARIO_NOT_STORED = 32,      /* read by hand, or not at all (note, source, who) */
    SCENARIO_IS_DATE = 64,         /* a distribution of dates */
    SCENARIO_BEFORE_DAY_0 = 128,   /* dates past day 182 are read as before day 0 */
    SCENARIO_MAY_LACK = 256,       /* a group that is not made up from defaults when it is absent */
    SCENARIO_MAY_DOUBT = 512       /* a distribution that may say from how many records it comes */
};

/* An element of household.eaters. */
struct scenario_eater { double count, portion; };

struct scenario_group;
struct scenario_setting {
    const char *name;
    enum scenario_type type;
    unsigned flags;
    const char *unit;              /* NULL: a pure number */
    double least, most;            /* of plain numbers */
    const char *fallback;          /* the default as text; NULL: none */
    const char *meaning;           /* ends with a full stop */
    size_t offset;                 /* in the struct that the group is read into */
    double absent;                 /* what the struct gets when the setting is absent and has no default */
    enum scenario_bound bound;     /* of a distribution */
    const char *choices;           /* "each|shared", in the order of the enum */
    const struct scenario_group *inside;
};
struct scenario_group {
    const char *meaning;
    const struct scenario_setting *settings;
    size_t n;
};

/* Two rows that every group has. */
#define SCENARIO_NOTES \
    {.name = "note", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_NOT_STORED, \
     .meaning = "Anything worth remembering. It changes nothing."}, \
    {.name = "source", .type = SCENARIO_TYPE_TEXT, .flags = SCENARIO_NOT_STORED, \
     .meaning = "Where the figures come from. It changes nothing."}

/* The table's root, and its groups. */
extern const struct scenario_group scenario_group_root, scenario_group_climate, scenario_group_crop,
    scenario_group_planting, scenario_group_household, scenario_group_eater, scenario_group_away,
    scenario_group_place, scenario_group_store, scenario_group_shelf, scenario_group_shelf_squash,
    scenario_group_shelf_beans;

const struct scenario_setting *scenario_setting_of(const struct scenario_group *group, const char *name);
/* Name in the group that is written most like `name`, or NULL when none is near. */
const char *scenario_nearest_setting(const struct scenario_group *group, const char *name);
/* True when `candidate` is nearer to `name` than *best (edit distance; start with a large one), and near
 * at all. */
bool scenario_is_nearer(const char *name, const char *candidate, int *best);
/* A node with the setting's default; NULL when it has none (or memory ran out). */
struct scenario_tree *scenario_fallback(struct scenario_reading *reading,
                                        const struct scenario_setting *setting);
/* The setting at a path through groups (names of crops and plantings, and [i], are passed over); NULL when
 * none is. *group is the group that was looked in last, *missing (may be NULL) the name not found. */
const struct scenario_setting *scenario_schema_find(const char *path, const struct scenario_group **group,
                                                    char missing[SCENARIO_MOST_NAME]);
/* "0..1", ">0..10 kg"; "" when there are no limits. */
void scenario_limits_text(const struct scenario_setting *setting, char text[80]);
/* ", 0..1, default 1.0, of beans only": what of it there is. */
void scenario_print_limits(const struct scenario_setting *setting, FILE *to);
const char *scenario_type_text(const struct scenario_setting *setting);

/* ---- layers ---------------------------------------------------------------------------------------- */

/* Reads a scenario file with all that it extends into one tree. */
struct scenario_tree *scenario_read_layers(struct scenario_reading *reading, const char *path);
/* Applies one "path=VALUE", "+=" or "-=" of the command line. False when it is wrong (complained of). */
bool scenario_set(struct scenario_reading *reading, struct scenario_tree *root, const char *option);

/* ---- binding --------------------------------------------------------------------------------------- */

struct scenario_binding {
    struct scenario_reading *reading;
    struct scenario_tree *root;
    struct scenario *scenario;
};

/* Complains of a node; `path` is its whole path. Marks it faulty. */
void scenario_wrong(struct scenario_binding *binding, struct scenario_tree *node, const char *path,
                    const char *format, ...) __attribute__((format(printf, 4, 5)));
struct scenario_origin scenario_origin_of(const struct scenario_tree *node, const char *path);
const char *scenario_path(struct scenario_binding *binding, const char *path, const char *name);

/* Reads the group `node` (NULL: absent, all defaults) into the struct at `base` by the table; complains of
 * unknown and missing settings. Settings with a flag of `not_here` are refused; with `kind_unknown`
 * nothing of one kind is asked for or made up. */
struct scenario_bind {
    const struct scenario_group *group;
    struct scenario_tree *node;
    const char *path;
    void *base;
    unsigned not_here;
    const char *not_here_text;
    bool kind_unknown;
};
void scenario_bind_group(struct scenario_binding *binding, const struct scenario_bind *bind);
/* Reads one value into the struct field at `field`. */
void scenario_bind_value(struct scenario_binding *binding, const struct scenario_setting *setting,
                         struct scenario_tree *node, const char *path, void *field);
/* What an absent setting without default leaves in the struct, or its default. */
void scenario_bind_absent(struct scenario_binding *binding, const struct scenario_setting *setting,
                          void *field);
void scenario_bind_distribution(struct scenario_binding *binding, const struct scenario_setting *setting,
                                struct scenario_tree *node, const char *path,
                                struct scenario_distribution *to);
/* Form i of a distribution as text, `shape = "normal"; mean; sd`; false when there is none. */
bool scenario_form_text(int i, char text[80], bool *for_dates);
/* A "MM-DD" node as day of the simulation year; -1 and a complaint when it is none. */
int scenario_bind_date(struct scenario_binding *binding, struct scenario_tree *node, const char *path);
/* Text without control characters; NULL and a complaint when it is none. */
const char *scenario_bind_text(struct scenario_binding *binding, struct scenario_tree *node,
                               const char *path);
/* The lists and named groups of the root. */
void scenario_bind_entities(struct scenario_binding *binding);
void scenario_bind_shelf(struct scenario_binding *binding);
/* Everything, from the merged tree; complains of all that is wrong. NULL only when memory ran out. */
struct scenario *scenario_bind(struct scenario_reading *reading, struct scenario_tree *root,
                               const char *name);
/* Takes away what a records_file from another file makes of no use, with a warning; before binding. */
void scenario_drop_unused_climate(struct scenario_binding *binding);
void scenario_cross_check(struct scenario_binding *binding);
void scenario_cross_climate(struct scenario_binding *binding);
void scenario_cross_plantings(struct scenario_binding *binding);
void scenario_cross_amounts(struct scenario_binding *binding);

/* Writes a value on one line as libconfig text. */
void scenario_write_value(const struct scenario_tree *node, FILE *to);

#endif
