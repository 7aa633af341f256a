/* arena_test.c: memory that is given back all at once. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"

enum { TAKEN = 3000 };

/* Pieces are aligned, zeroed, and do not overlap: each is filled with its own byte and looked at at the
 * end. */
static void pieces_are_apart(void **state)
{
    (void)state;
    struct base_arena arena = {0};
    static unsigned char *pieces[TAKEN];
    for (size_t i = 0; i < TAKEN; i++) {
        size_t bytes = i * 7919 % 701;
        pieces[i] = base_arena_take(&arena, bytes);
        assert_non_null(pieces[i]);
        assert_true((uintptr_t)pieces[i] % 64 == 0);
        for (size_t j = 0; j < bytes; j++) {
            assert_int_equal(pieces[i][j], 0);
        }
        memset(pieces[i], (int)(i % 255 + 1), bytes);
    }
    for (size_t i = 0; i < TAKEN; i++) {
        for (size_t j = 0; j < i * 7919 % 701; j++) {
            assert_int_equal(pieces[i][j], i % 255 + 1);
        }
    }
    assert_true(arena.bytes >= TAKEN * 64);
    base_arena_free(&arena);
    assert_true(arena.bytes == 0);
}

static void large_pieces(void **state)
{
    (void)state;
    struct base_arena arena = {0};
    char *large = base_arena_take(&arena, 5000000);
    assert_non_null(large);
    memset(large, 1, 5000000);
    assert_non_null(base_arena_take(&arena, 1));
    base_arena_free(&arena);
    assert_non_null(base_arena_take(&arena, 10)); /* and again */
    base_arena_free(&arena);
}

static void sizes_that_cannot_be(void **state)
{
    (void)state;
    struct base_arena arena = {0};
    assert_null(base_arena_array(&arena, SIZE_MAX / 2, 3));
    assert_null(base_arena_take(&arena, SIZE_MAX));
    assert_null(base_arena_take(&arena, SIZE_MAX - 100));
    assert_non_null(base_arena_array(&arena, 0, 8));
    base_arena_free(&arena);
}

/* What was taken from one arena lasts as long as the other, which goes on giving. */
static void joined(void **state)
{
    (void)state;
    for (int empty = 0; empty < 4; empty++) {
        struct base_arena into = {0}, from = {0};
        unsigned char *pieces[3] = {NULL};
        if (!(empty & 1)) {
            pieces[0] = memset(base_arena_take(&into, 1000), 1, 1000);
        }
        for (int i = 0; i < 300 && !(empty & 2); i++) { /* several chunks */
            pieces[1] = memset(base_arena_take(&from, 1000), 2, 1000);
        }
        size_t bytes = into.bytes + from.bytes;
        base_arena_join(&into, &from);
        assert_true(into.bytes == bytes && from.bytes == 0 && from.last == NULL);
        pieces[2] = memset(base_arena_take(&into, 1000), 3, 1000);
        base_arena_free(&from);
        for (int p = 0; p < 3; p++) {
            for (int i = 0; i < 1000 && pieces[p] != NULL; i++) {
                assert_int_equal(pieces[p][i], p + 1);
            }
        }
        base_arena_free(&into);
    }
}

static void texts(void **state)
{
    (void)state;
    struct base_arena arena = {0};
    char original[] = "beans";
    char *copy = base_arena_text(&arena, original);
    original[0] = 'm';
    assert_string_equal(copy, "beans");
    assert_null(base_arena_text(&arena, NULL));
    assert_string_equal(base_arena_print(&arena, "%d %s of %5.2f kg", 6, "jars", 0.75), "6 jars of  0.75 kg");
    assert_string_equal(base_arena_print(&arena, "%s", ""), "");
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(pieces_are_apart), cmocka_unit_test(large_pieces),
                                       cmocka_unit_test(sizes_that_cannot_be), cmocka_unit_test(joined),
                                       cmocka_unit_test(texts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
