/* text_test.c: files as editors and strangers leave them. Bytes that do not belong into a repository are
 * written here into a folder of their own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sys/stat.h>
#include <unistd.h>

#include "scenario/inside.h"

struct place {
    char folder[40];
    struct base_arena arena;
    struct base_complaints complaints;
    struct scenario_reading reading;
};

static int set_up(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    strcpy(place->folder, "/tmp/tideover-test-XXXXXX");
    assert_non_null(mkdtemp(place->folder));
    place->reading = (struct scenario_reading){.arena = &place->arena, .complaints = &place->complaints};
    base_sha256_start(&place->reading.sha);
    *state = place;
    return 0;
}

static int tear_down(void **state)
{
    struct place *place = *state;
    char command[80];
    snprintf(command, sizeof command, "rm -r '%s'", place->folder);
    assert_int_equal(system(command), 0);
    base_complaints_free(&place->complaints);
    base_arena_free(&place->arena);
    free(place);
    return 0;
}

static const char *path_of(struct place *place, const char *name)
{
    return scenario_print(&place->reading, "%s/%s", place->folder, name);
}

static const char *write_file(struct place *place, const char *name, const char *bytes, size_t n)
{
    const char *path = path_of(place, name);
    FILE *to = fopen(path, "wb");
    assert_non_null(to);
    assert_int_equal(fwrite(bytes, 1, n, to), n);
    assert_int_equal(fclose(to), 0);
    return path;
}

static struct scenario_tree *parse(struct place *place, const char *path)
{
    struct scenario_text text = {0};
    if (!scenario_text_read(&place->reading, path, NULL, 0, &text)) {
        return NULL;
    }
    return scenario_parse(&place->reading, &text, NULL);
}

static struct scenario_tree *parse_bytes(struct place *place, const char *bytes)
{
    return parse(place, write_file(place, "main.cfg", bytes, strlen(bytes)));
}

/* All complaints as printed, in the arena. */
static const char *said(struct place *place)
{
    char *text = NULL;
    size_t size = 0;
    FILE *to = open_memstream(&text, &size);
    assert_non_null(to);
    base_complaints_print(&place->complaints, to);
    fclose(to);
    const char *copy = scenario_print(&place->reading, "%s", text);
    free(text);
    return copy;
}

static void is_said(struct place *place, const char *part)
{
    if (strstr(said(place), part) == NULL) {
        fail_msg("not said: %s; but: %s", part, said(place));
    }
}

static int64_t whole(const struct scenario_tree *tree, const char *name)
{
    const struct scenario_tree *node = scenario_tree_member(tree, name);
    assert_non_null(node);
    assert_int_equal(node->type, SCENARIO_WHOLE);
    return node->whole;
}

static void byte_order_mark(void **state)
{
    const struct scenario_tree *tree = parse_bytes(*state, "\xef\xbb\xbf" "a = 1;\n");
    assert_non_null(tree);
    assert_int_equal(whole(tree, "a"), 1);
}

static void ends_of_lines(void **state)
{
    const struct scenario_tree *tree = parse_bytes(*state, "a = 1; // one\r\nb = 2; # two\rc = 3; // no end");
    assert_non_null(tree);
    assert_int_equal(whole(tree, "b"), 2);
    assert_int_equal(whole(tree, "c"), 3);
    assert_int_equal(scenario_tree_member(tree, "c")->line, 3);
}

static void empty_file(void **state)
{
    const struct scenario_tree *tree = parse_bytes(*state, "");
    assert_non_null(tree);
    assert_int_equal(tree->n, 0);
}

static void zero_byte(void **state)
{
    struct place *place = *state;
    static const char bytes[] = "a = 1;\n\0b = 2;\n";
    assert_null(parse(place, write_file(place, "main.cfg", bytes, sizeof bytes - 1)));
    is_said(place, "/main.cfg: has a zero byte in it");
}

static void latin_1(void **state)
{
    assert_null(parse_bytes(*state, "a = 1;\ntitle = \"caf\xe9\"; // \xe9 in a comment does no harm\n"));
    is_said(*state, "/main.cfg:2: text is not UTF-8");
    assert_int_equal(((struct place *)*state)->complaints.errors, 1);
}

/* The Unicode Standard, table 3-7: overlong forms, surrogates and what is beyond U+10FFFF are not
 * well-formed. */
static void characters(void **state)
{
    (void)state;
    assert_int_equal(scenario_character("a"), 1);
    assert_int_equal(scenario_character("\xc3\xa9"), 2);
    assert_int_equal(scenario_character("\xe2\x82\xac"), 3);
    assert_int_equal(scenario_character("\xf0\x9f\x8e\x83"), 4);
    static const char *const bad[] = {"\x1f",
                                      "\x7f",
                                      "\x80",
                                      "\xc0\xaf",
                                      "\xc1\xbf",
                                      "\xc2\x85",
                                      "\xe0\x9f\x80",
                                      "\xed\xa0\x80",
                                      "\xf0\x8f\x80\x80",
                                      "\xf4\x90\x80\x80",
                                      "\xf5\x80\x80\x80",
                                      "\xe2\x82",
                                      "\xc3"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(scenario_character(bad[i]), 0);
    }
}

static void text_with_marks(void **state)
{
    const struct scenario_tree *tree = parse_bytes(
        *state, "a = \"/* no comment */ // # { [ 1, @include \\\" \\\\ \xc3\xa9\"; b = \"one \"\n \"two\";");
    assert_non_null(tree);
    assert_string_equal(scenario_tree_member(tree, "a")->text,
                        "/* no comment */ // # { [ 1, @include \" \\ \xc3\xa9");
    assert_string_equal(scenario_tree_member(tree, "b")->text, "one two");
}

static void comments(void **state)
{
    const struct scenario_tree *tree = parse_bytes(
        *state, "/* a\n * b \" { */ a = 1; /**/ b /* = 3; */ = 2; // @include \"x\"\n# /*\nc = 3; //*/\n");
    assert_non_null(tree);
    assert_int_equal(whole(tree, "b"), 2);
    assert_int_equal(scenario_tree_member(tree, "a")->line, 2);
    assert_int_equal(scenario_tree_member(tree, "c")->line, 4);
}

static void arrays_may_mix(void **state)
{
    const struct scenario_tree *tree = parse_bytes(
        *state, "a = [ 1, 2.5, -3, 4e0 ]; b = ( [ 1.0, 2 ], { c = 3; } );");
    assert_non_null(tree);
    const struct scenario_tree *a = scenario_tree_member(tree, "a");
    static const double expected[] = {1, 2.5, -3, 4};
    for (int i = 0; i < 4; i++) {
        double value = 0;
        assert_true(scenario_tree_number(scenario_tree_element(a, i), &value));
        assert_true(value == expected[i]);
    }
    assert_int_equal(whole(scenario_tree_element(scenario_tree_member(tree, "b"), 1), "c"), 3);
}

static void wide_numbers(void **state)
{
    const struct scenario_tree *tree = parse_bytes(
        *state, "a = 3000000000; b = -9223372036854775808; c = 9223372036854775807L; d = 0x1FFFFFFFF;"
                "e = 2147483648; f = 010; g = 0xff; h = 4294967396LL;");
    assert_non_null(tree);
    assert_true(whole(tree, "a") == INT64_C(3000000000));
    assert_true(whole(tree, "b") == INT64_MIN);
    assert_true(whole(tree, "c") == INT64_MAX);
    assert_true(whole(tree, "d") == INT64_C(0x1FFFFFFFF));
    assert_true(whole(tree, "e") == INT64_C(2147483648));
    assert_true(whole(tree, "f") == 10);
    assert_true(whole(tree, "g") == 255);
    assert_true(whole(tree, "h") == INT64_C(4294967396));
}

static void what_is_no_file(void **state)
{
    struct place *place = *state;
    assert_null(parse(place, place->folder));
    is_said(place, "it is a folder, not a file");
    assert_null(parse(place, path_of(place, "nowhere.cfg")));
    is_said(place, "nowhere.cfg: there is no such file");
    const char *pipe = path_of(place, "pipe");
    assert_int_equal(mkfifo(pipe, 0600), 0);
    assert_null(parse(place, pipe));
    is_said(place, "it is not a regular file");
}

static void too_large(void **state)
{
    struct place *place = *state;
    const char *path = path_of(place, "large.cfg");
    FILE *to = fopen(path, "w");
    assert_non_null(to);
    assert_int_equal(fseek(to, SCENARIO_MOST_BYTES, SEEK_SET), 0);
    assert_int_equal(fputc('\n', to), '\n');
    assert_int_equal(fclose(to), 0);
    assert_null(parse(place, path));
    is_said(place, "it is larger than 4194304 bytes");
}

/* libconfig's time grows with the square of the settings in a group, so their number is bounded. */
static void too_many(void **state)
{
    struct place *place = *state;
    const char *path = path_of(place, "many.cfg");
    FILE *to = fopen(path, "w");
    for (int i = 0; i <= SCENARIO_MOST_SETTINGS; i++) {
        fprintf(to, "a%d = 1;\n", i);
    }
    assert_int_equal(fclose(to), 0);
    assert_null(parse(place, path));
    is_said(place, "many.cfg:10001: there are too many settings (at most 10000)");
    to = fopen(path, "w");
    fputs("a = (", to);
    for (int i = 0; i <= SCENARIO_MOST_VALUES; i++) {
        fputs("1,", to);
    }
    assert_int_equal(fclose(to), 0);
    assert_null(parse(place, path));
    is_said(place, "there are too many values (at most 200000)");
}

static void includes_keep_their_lines(void **state)
{
    static const char A_INC[] = "b = 2;\n@include \"c.inc\" // beside this one\ne = 5;";
    static const char C_INC[] = "\nc = 3; // no end of line";
    struct place *place = *state;
    assert_int_equal(mkdir(path_of(place, "parts"), 0700), 0);
    write_file(place, "parts/a.inc", A_INC, sizeof A_INC - 1);
    write_file(place, "parts/c.inc", C_INC, sizeof C_INC - 1);
    const struct scenario_tree *tree =
        parse_bytes(place, "a = 1;\ng = {\n  @include \"parts/a.inc\"\n  f = 6;\n};\nh = 7;\n");
    assert_non_null(tree);
    const struct scenario_tree *g = scenario_tree_member(tree, "g");
    assert_int_equal(whole(g, "b") + whole(g, "c") + whole(g, "e") + whole(g, "f"), 2 + 3 + 5 + 6);
    assert_string_equal(scenario_tree_member(g, "c")->file, path_of(place, "parts/c.inc"));
    assert_int_equal(scenario_tree_member(g, "c")->line, 2);
    assert_string_equal(scenario_tree_member(g, "e")->file, path_of(place, "parts/a.inc"));
    assert_int_equal(scenario_tree_member(g, "e")->line, 3);
    assert_string_equal(scenario_tree_member(g, "f")->file, path_of(place, "main.cfg"));
    assert_int_equal(scenario_tree_member(g, "f")->line, 4);
    assert_int_equal(scenario_tree_member(tree, "h")->line, 6);
}

/* Chains one longer than allowed, and a link that leads out of the folder. */
static void includes_that_go_too_far(void **state)
{
    struct place *place = *state;
    for (int i = 1; i <= SCENARIO_MOST_INCLUDES + 1; i++) {
        const char *text = scenario_print(&place->reading, "@include \"%d.inc\"\n", i + 1);
        write_file(place, scenario_print(&place->reading, "%d.inc", i), text, strlen(text));
    }
    write_file(place, "12.inc", "", 0);
    assert_null(parse_bytes(place, "@include \"1.inc\"\n"));
    is_said(place, "/10.inc:1: cannot include");
    is_said(place, "files are included more than 10 deep");
    assert_int_equal(place->complaints.errors, 1);
    assert_non_null(parse_bytes(place, "@include \"3.inc\"\n")); /* to 12.inc: ten deep */
    assert_int_equal(symlink("/etc/hostname", path_of(place, "link.inc")), 0);
    assert_null(parse_bytes(place, "@include \"link.inc\"\n"));
    is_said(place, "link.inc: it is not in the scenario's folder");
}

/* A file that includes two that include two ...: 2^10 files must not be read. */
static void includes_that_multiply(void **state)
{
    struct place *place = *state;
    for (int i = 1; i <= SCENARIO_MOST_INCLUDES; i++) {
        const char *text = scenario_print(&place->reading, "@include \"%d.inc\"\n@include \"%d.inc\"\n",
                                          i + 1, i + 1);
        write_file(place, scenario_print(&place->reading, "%d.inc", i), text,
                   i < SCENARIO_MOST_INCLUDES ? strlen(text) : 0);
    }
    assert_null(parse_bytes(place, "@include \"1.inc\"\n@include \"1.inc\"\n"));
    is_said(place, "more than 200 files are read for one scenario");
    assert_true(place->reading.files < 2000);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {TEST(byte_order_mark),
                                       TEST(ends_of_lines),
                                       TEST(empty_file),
                                       TEST(zero_byte),
                                       TEST(latin_1),
                                       TEST(characters),
                                       TEST(text_with_marks),
                                       TEST(comments),
                                       TEST(arrays_may_mix),
                                       TEST(wide_numbers),
                                       TEST(what_is_no_file),
                                       TEST(too_large),
                                       TEST(too_many),
                                       TEST(includes_keep_their_lines),
                                       TEST(includes_that_go_too_far),
                                       TEST(includes_that_multiply)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
