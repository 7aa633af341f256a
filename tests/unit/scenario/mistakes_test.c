/* mistakes_test.c: every mistake is told, with its file and line, and nothing else is. Each file of
 * data/wrong says itself what is to be said of it, in lines `//! FILE:LINE: TEXT` (FILE from data/wrong;
 * TEXT a part of the message). The traps of libconfig 1.5 that have a file here were tried on Debian 12's
 * library. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <dirent.h>

#include "scenario/scenario.h"

#define FOLDER "tests/unit/scenario/data/wrong"
enum { MOST = 4 * 1024 * 1024, FILES = 48 };

/* What loading the file says, as printed. The caller frees it. */
static char *said_of(const char *path, enum base_result *result, int *errors)
{
    struct base_arena arena = {0};
    struct base_complaints complaints = {0};
    struct scenario_request request = {.path = path};
    const struct scenario *scenario = NULL;
    char *text = NULL;
    size_t size = 0;
    *result = scenario_load(&arena, &request, &scenario, &complaints);
    assert_null(scenario);
    *errors = complaints.errors;
    FILE *to = open_memstream(&text, &size);
    assert_non_null(to);
    base_complaints_print(&complaints, to);
    assert_int_equal(fclose(to), 0);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return text;
}

/* True when one line of `said` begins with the folder and the place, and has the text. */
static bool is_said(const char *said, const char *place, size_t place_n, const char *text, size_t text_n)
{
    char begins[300], part[300];
    int n = snprintf(begins, sizeof begins, "%s/%.*s", FOLDER, (int)place_n, place);
    snprintf(part, sizeof part, "%.*s", (int)text_n, text);
    for (const char *line = said; *line != '\0'; line += strcspn(line, "\n") + 1) {
        const char *found = strncmp(line, begins, (size_t)n) == 0 ? strstr(line + n, part) : NULL;
        if (found != NULL && found < line + strcspn(line, "\n")) {
            return true;
        }
    }
    return false;
}

/* Checks one `//! FILE:LINE: TEXT`. */
static int check_line(const char *file, const char *line, const char *said)
{
    size_t n = strcspn(line, "\n");
    const char *colon = memchr(line, ':', n);
    colon = colon != NULL ? strstr(colon + 1, ": ") : NULL;
    assert_non_null(colon);
    const char *text = colon + 2;
    if (is_said(said, line, (size_t)(colon - line), text, n - (size_t)(text - line))) {
        return 0;
    }
    print_error("%s: not said: %.*s\nbut:\n%s", file, (int)n, line, said);
    return 1;
}

/* How many expectations of the file are not met; one more when as many are not said. */
static int check_file(const char *name)
{
    char path[300];
    struct base_arena arena = {0};
    enum base_result result;
    const char *why;
    size_t size;
    int errors, expected = 0, wrong = 0;
    snprintf(path, sizeof path, "%s/%s", FOLDER, name);
    char *said = said_of(path, &result, &errors);
    const char *text = base_read_file(&arena, path, MOST, &size, &why);
    assert_non_null(text);
    for (const char *at = text; (at = strstr(at, "//! ")) != NULL; at += 4) {
        wrong += check_line(name, at + 4, said);
        expected++;
    }
    if (expected != errors || result != BASE_WRONG || expected == 0) {
        print_error("%s: %d mistakes expected, %d said, result %d:\n%s", name, expected, errors, (int)result,
                    said);
        wrong++;
    }
    free(said);
    base_arena_free(&arena);
    return wrong;
}

static void every_mistake_is_told(void **state)
{
    (void)state;
    DIR *folder = opendir(FOLDER);
    int files = 0, wrong = 0;
    assert_non_null(folder);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        const char *dot = strrchr(entry->d_name, '.');
        if (dot != NULL && strcmp(dot, ".cfg") == 0) {
            wrong += check_file(entry->d_name);
            files++;
        }
    }
    closedir(folder);
    assert_true(files >= FILES);
    assert_int_equal(wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_mistake_is_told)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
