/* file_test.c: whole files into memory, and what is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/base.h"

struct place { char folder[40], path[80]; struct base_arena arena; };

static int set_up(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    strcpy(place->folder, "/tmp/tideover-test-XXXXXX");
    assert_non_null(mkdtemp(place->folder));
    snprintf(place->path, sizeof place->path, "%s/file", place->folder);
    *state = place;
    return 0;
}

static int tear_down(void **state)
{
    struct place *place = *state;
    unlink(place->path);
    assert_int_equal(rmdir(place->folder), 0);
    base_arena_free(&place->arena);
    free(place);
    return 0;
}

static void write_bytes(const struct place *place, const char *bytes, size_t n)
{
    FILE *to = fopen(place->path, "wb");
    assert_non_null(to);
    assert_int_equal(fwrite(bytes, 1, n, to), n);
    assert_int_equal(fclose(to), 0);
}

static void refused(struct place *place, const char *path, size_t most, const char *expected)
{
    const char *why = NULL;
    size_t size = 0;
    assert_null(base_read_file(&place->arena, path, most, &size, &why));
    assert_string_equal(why, expected);
}

static void bytes_as_they_are(void **state)
{
    struct place *place = *state;
    static const char bytes[] = "one\r\n\0two\xff";
    const char *why = NULL;
    size_t size = 0;
    write_bytes(place, bytes, sizeof bytes - 1);
    char *text = base_read_file(&place->arena, place->path, sizeof bytes - 1, &size, &why);
    assert_non_null(text);
    assert_int_equal(size, sizeof bytes - 1);
    assert_memory_equal(text, bytes, sizeof bytes); /* and a NUL after it */
}

static void empty_file(void **state)
{
    struct place *place = *state;
    const char *why = NULL;
    size_t size = 1;
    write_bytes(place, "", 0);
    char *text = base_read_file(&place->arena, place->path, 10, &size, &why);
    assert_non_null(text);
    assert_int_equal(size, 0);
    assert_int_equal(text[0], '\0');
}

static void what_is_refused(void **state)
{
    struct place *place = *state;
    refused(place, place->path, 10, "there is no such file");
    refused(place, place->folder, 10, "it is a folder, not a file");
    refused(place, "/dev/null", 10, "it is not a regular file");
    write_bytes(place, "12345678901", 11);
    refused(place, place->path, 10, "it is larger than 10 bytes");
    unlink(place->path);
    /* Nobody writes to this pipe: it must not be waited for. */
    assert_int_equal(mkfifo(place->path, 0600), 0);
    refused(place, place->path, 10, "it is not a regular file");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test_setup_teardown(bytes_as_they_are, set_up, tear_down),
                                       cmocka_unit_test_setup_teardown(empty_file, set_up, tear_down),
                                       cmocka_unit_test_setup_teardown(what_is_refused, set_up, tear_down)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
