/* text.c: files into clean text. Includes are put in here and not by libconfig, which looks for them from the
 * wrong folder and ends the process when one is a folder. */
#include "scenario/inside.h"

#include <errno.h>
#include <string.h>

bool scenario_text_add(struct scenario_reading *reading, struct scenario_text *text, const char *bytes,
                       size_t n)
{
    if (text->room - text->size <= n) {
        size_t room = (text->size + n + 1) * 2;
        char *more = scenario_take(reading, room, 1);
        if (more == NULL) {
            return false;
        }
        if (text->size > 0) {
            memcpy(more, text->bytes, text->size);
        }
        text->bytes = more;
        text->room = room;
    }
    memcpy(text->bytes + text->size, bytes, n);
    text->size += n;
    text->bytes[text->size] = '\0';
    return true;
}

/* Notes where the line that begins now was written. */
static bool begin_line(struct scenario_reading *reading, struct scenario_text *text, const char *file,
                       int line)
{
    if (text->lines_n == text->lines_room) {
        size_t room = text->lines_room * 2 + 64;
        struct scenario_line *more = scenario_take(reading, room, sizeof *more);
        if (more == NULL) {
            return false;
        }
        if (text->lines_n > 0) {
            memcpy(more, text->lines, text->lines_n * sizeof *more);
        }
        text->lines = more;
        text->lines_room = room;
    }
    text->lines[text->lines_n++] = (struct scenario_line){file, line};
    return true;
}

bool scenario_text_newline(struct scenario_reading *reading, struct scenario_text *text, const char *file,
                           int line)
{
    return scenario_text_add(reading, text, "\n", 1) && begin_line(reading, text, file, line);
}

/* The first line of a text; from here on its bytes are never NULL. */
static bool begin(struct scenario_reading *reading, struct scenario_text *text, const char *file, int line)
{
    return scenario_text_add(reading, text, "", 0) && begin_line(reading, text, file, line);
}

/* The hash covers each file's base name and its text. */
static void hash(struct scenario_reading *reading, const char *path, const char *bytes, size_t size)
{
    const char *slash = strrchr(path, '/');
    const char *base = slash != NULL ? slash + 1 : path;
    base_sha256_add(&reading->sha, base, strlen(base) + 1);
    base_sha256_add(&reading->sha, bytes, size + 1);
}

/* Reads the source's file; the byte order mark that some editors write is passed over. */
static bool load(struct scenario_reading *reading, const struct scenario_line *by,
                 struct scenario_source *source)
{
    const char *why = NULL;
    if (reading->files++ >= SCENARIO_MOST_FILES) {
        base_complain(reading->complaints, BASE_ERROR, by->file, by->line, NULL,
                      "more than %d files are read for one scenario", SCENARIO_MOST_FILES);
        return false;
    }
    source->bytes = base_read_file(reading->arena, source->file, SCENARIO_MOST_BYTES, &source->size, &why);
    if (source->bytes == NULL) {
        reading->out_of_memory |= errno == ENOMEM;
        base_complain(reading->complaints, BASE_ERROR, by->file, by->line, NULL, "cannot read %s: %s",
                      source->file, why);
        return false;
    }
    hash(reading, source->file, source->bytes, source->size);
    if (strncmp(source->bytes, "\xef\xbb\xbf", 3) == 0) {
        source->bytes += 3;
        source->size -= 3;
    }
    if (memchr(source->bytes, '\0', source->size) != NULL) {
        base_complain(reading->complaints, BASE_ERROR, source->file, 0, NULL,
                      "has a zero byte in it: it is no text file, or not saved as UTF-8");
        return false;
    }
    return true;
}

bool scenario_text_read(struct scenario_reading *reading, const char *path, const char *by_file, int by_line,
                        struct scenario_text *text)
{
    struct scenario_source source = {.file = scenario_print(reading, "%s", path)};
    struct scenario_line by = {by_file, by_line};
    if (!load(reading, &by, &source)) {
        return false;
    }
    source.real = scenario_resolved(reading, source.file);
    source.root = scenario_resolved(reading, scenario_folder(reading, source.file));
    if (source.real == NULL || source.root == NULL) {
        base_complain(reading->complaints, BASE_ERROR, source.file, 0, NULL, "its folder cannot be found");
        return false;
    }
    return begin(reading, text, source.file, 1) && scenario_scan(reading, &source, text);
}

bool scenario_text_given(struct scenario_reading *reading, const char *path, const char *given,
                         struct scenario_text *text)
{
    struct scenario_source source = {.file = scenario_print(reading, "%s", path), .bytes = given,
                                     .size = strlen(given)};
    source.real = source.file;
    if (source.size > SCENARIO_MOST_BYTES) {
        base_complain(reading->complaints, BASE_ERROR, source.file, 0, NULL, "its settings are longer than %d bytes",
                      SCENARIO_MOST_BYTES);
        return false;
    }
    hash(reading, source.file, source.bytes, source.size);
    return begin(reading, text, source.file, 1) && scenario_scan(reading, &source, text);
}

bool scenario_text_value(struct scenario_reading *reading, const char *setting, const char *value,
                         struct scenario_text *text)
{
    struct scenario_source source = {.setting = setting};
    source.bytes = scenario_print(reading, "v = %s", value);
    source.size = strlen(source.bytes);
    return begin(reading, text, NULL, 0) && scenario_scan(reading, &source, text);
}

/* True when `path` lies in the folder `root`; both resolved. */
static bool is_inside(const char *root, const char *path)
{
    size_t n = strlen(root);
    return strcmp(root, "/") == 0 || (strncmp(root, path, n) == 0 && path[n] == '/');
}

/* Why this include is refused, or NULL. */
static const char *refuse(struct scenario_reading *reading, const struct scenario_source *source,
                          const struct scenario_source *next)
{
    if (next->depth > SCENARIO_MOST_INCLUDES) {
        return scenario_print(reading, "files are included more than %d deep", SCENARIO_MOST_INCLUDES);
    }
    if (source->root == NULL) {
        return "settings that are no file of their own include nothing";
    }
    if (next->real == NULL) {
        return "there is no such file";
    }
    if (!is_inside(source->root, next->real)) {
        return scenario_print(reading, "it is not in the scenario's folder %s", source->root);
    }
    for (const struct scenario_source *up = source; up != NULL; up = up->includer) {
        if (strcmp(up->real, next->real) == 0) {
            return "it includes itself";
        }
    }
    return NULL;
}

bool scenario_text_include(struct scenario_reading *reading, const struct scenario_source *source, int line,
                           int brackets, const char *name, struct scenario_text *text)
{
    struct scenario_line by = {source->file, line};
    if (name[0] == '/' || name[0] == '\0') {
        base_complain(reading->complaints, BASE_ERROR, by.file, line, NULL,
                      "@include wants a path from the including file's folder (got \"%s\")", name);
        return false;
    }
    struct scenario_source next = {.includer = source, .root = source->root, .depth = source->depth + 1,
                                   .brackets = brackets};
    const char *folder = scenario_folder(reading, source->file);
    next.file = strchr(source->file, '/') == NULL ? scenario_print(reading, "%s", name)
                                                  : scenario_print(reading, "%s/%s", folder, name);
    next.real = scenario_resolved(reading, next.file);
    const char *why = refuse(reading, source, &next);
    if (why != NULL) {
        base_complain(reading->complaints, BASE_ERROR, by.file, line, NULL, "cannot include %s: %s",
                      next.file, why);
        return false;
    }
    return load(reading, &by, &next) && scenario_text_newline(reading, text, next.file, 1) &&
           scenario_scan(reading, &next, text) && scenario_text_newline(reading, text, by.file, line);
}
