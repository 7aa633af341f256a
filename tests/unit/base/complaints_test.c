/* complaints_test.c: what is wrong with the user's input, said at once and in order. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"

static char *printed(const struct base_complaints *all)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    assert_non_null(to);
    base_complaints_print(all, to);
    assert_int_equal(fclose(to), 0);
    return text;
}

static void sorted_by_file_and_line(void **state)
{
    (void)state;
    struct base_complaints all = {0};
    base_complain(&all, BASE_ERROR, "b.cfg", 3, "trials", "is out of range (got %d)", 0);
    base_complain(&all, BASE_WARNING, "a.cfg", 12, "store.jar_kg", "is large");
    base_complain(&all, BASE_ERROR, "a.cfg", 2, NULL, "first of its line");
    base_complain(&all, BASE_ERROR, "a.cfg", 2, NULL, "second of its line");
    base_complain(&all, BASE_ERROR, NULL, 0, "title", "is no text");
    base_complain(&all, BASE_ERROR, "a.cfg", 0, NULL, "has a zero byte");
    char *text = printed(&all);
    assert_string_equal(text, "command line: title: is no text\n"
                              "a.cfg: has a zero byte\n"
                              "a.cfg:2: first of its line\n"
                              "a.cfg:2: second of its line\n"
                              "a.cfg:12: warning: store.jar_kg: is large\n"
                              "b.cfg:3: trials: is out of range (got 0)\n");
    assert_int_equal(all.errors, 5);
    assert_int_equal(all.warnings, 1);
    free(text);
    base_complaints_free(&all);
    assert_int_equal(all.errors, 0);
}

/* What a user wrote must not drive the terminal: ASCII's and Unicode's (U+0080 to U+009F) control
 * characters. */
static void control_characters(void **state)
{
    (void)state;
    struct base_complaints all = {0};
    base_complain(&all, BASE_ERROR, "a\033.cfg", 1, "b\nc", "got \"\t\x7f\xc2\x9b" "31m\xc3\xa9\"");
    char *text = printed(&all);
    assert_string_equal(text, "a?.cfg:1: b?c: got \"???31m\xc3\xa9\"\n");
    free(text);
    base_complaints_free(&all);
}

static void too_many_are_counted(void **state)
{
    (void)state;
    struct base_complaints all = {0};
    for (int i = 0; i < 1000; i++) {
        base_complain(&all, BASE_ERROR, "a.cfg", 1000 - i, NULL, "x");
    }
    char *text = printed(&all);
    assert_int_equal(all.errors, 1000);
    assert_int_equal(all.kept, BASE_COMPLAINTS_KEPT);
    assert_non_null(strstr(text, "\nand 800 more\n"));
    assert_true(strncmp(text, "a.cfg:801: x\n", 13) == 0);
    free(text);
    base_complaints_free(&all);
}

static void long_texts_are_cut(void **state)
{
    (void)state;
    struct base_complaints all = {0};
    char long_text[5000];
    memset(long_text, 'x', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    base_complain(&all, BASE_ERROR, NULL, 0, NULL, "%s", long_text);
    char *text = printed(&all);
    assert_true(strlen(text) > 900 && strlen(text) < 1100);
    free(text);
    base_complaints_free(&all);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sorted_by_file_and_line), cmocka_unit_test(control_characters),
        cmocka_unit_test(too_many_are_counted), cmocka_unit_test(long_texts_are_cut)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
