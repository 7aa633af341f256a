/* notebook_test.c: what the household wrote down, as it is read; and every mistake, with the line it stands on. */
#include "unit/temporary.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "records/records.h"

#define HEADER "kind,crop,value,date,sound,spoiled,place,cured,count,note\n"

static const struct records_notebook *notebook_of(struct base_arena *arena, struct base_complaints *complaints, const char *text)
{
    char path[256];
    temporary_file(path, text);
    const struct records_notebook *notebook = records_read_notebook(arena, path, complaints);
    unlink(path);
    return notebook;
}

/* What is said of a text; the caller frees it. */
static char *said_of(const char *text, bool *taken)
{
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    char *said = NULL;
    size_t size = 0;
    *taken = notebook_of(&arena, &complaints, text) != NULL;
    FILE *to = open_memstream(&said, &size);
    assert_non_null(to);
    base_complaints_print(&complaints, to);
    assert_int_equal(fclose(to), 0);
    assert_true(*taken == (complaints.errors == 0));
    base_complaints_free(&complaints);
    base_arena_free(&arena);
    return said;
}

static void every_kind_of_row(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    const struct records_notebook *book = notebook_of(&arena, &complaints, HEADER
        "unit_kg,bean,0.75,2024-10-01,,,,,3,\"a \"\"fine\"\" year\"\n"
        "fruits,gourd,0,,,,,,,\n"
        "fruit_kg,gourd,1.25,2024-02-29,,,,,,\n"
        "kept,gourd,,2024-10-01,2024-12-10,2024-12-17,loft,poor,2,\n"
        "kept,gourd,,2024-10-01,2025-03-04,,,unripe,,\n"
        "kept,gourd,,2024-10-01,,2024-10-08,,well,,\n");
    assert_non_null(book);
    assert_int_equal(book->n, 6);
    const struct records_note *note = book->note;
    assert_true(note[0].kind == RECORDS_UNIT_KG && note[0].count == 3 && note[0].year == 2024 && note[0].line == 2);
    check_within(note[0].seen.low, 0.75, 0);
    check_within(note[0].seen.high, 0.75, 0);
    assert_true(note[1].kind == RECORDS_FRUITS && note[1].seen.low == 0 && note[1].year == 0 && note[1].count == 1);
    assert_int_equal(note[2].of_year, 58);                  /* 29 February is the 28th */
    assert_true(note[3].kind == RECORDS_KEPT && note[3].cured == SCENARIO_POOR && note[3].count == 2);
    assert_string_equal(note[3].place, "loft");
    check_within(note[3].seen.low, 10, 0);                  /* 70 days sound, spoiled by the 77th */
    check_within(note[3].seen.high, 11, 0);
    assert_true(note[4].cured == SCENARIO_UNRIPE && isinf(note[4].seen.high));
    check_within(note[4].seen.low, 22, 0);
    assert_true(note[5].cured == SCENARIO_WELL && note[5].seen.low == 0 && note[5].seen.high == 1);
    base_complaints_free(&complaints);
    base_arena_free(&arena);
}

/* Semicolons go with decimal commas; columns may stand in any order and be left out. */
static void other_layouts(void **state)
{
    (void)state;
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    const struct records_notebook *book = notebook_of(&arena, &complaints, "\xef\xbb\xbfvalue;crop;kind\r\n0,5;bean;unit_kg\r\n7;gourd;fruits\r\n");
    assert_non_null(book);
    assert_int_equal(book->n, 2);
    check_within(book->note[0].seen.low, 0.5, 0);
    check_within(book->note[1].seen.low, 7, 0);
    base_arena_free(&arena);
}

static void every_mistake(void **state)
{
    static const struct { const char *rows, *said; } wrong[] = {
        { "unit_kg,bean,1\n", NULL }, { "eaten,bean,1\n", "2: kind: \"eaten\" is none of" }, { ",bean,1\n", "kind: \"\" is none of" },
        { "unit_kg,,1\n", "cannot be a crop's name" }, { "unit_kg,2bean,1\n", "cannot be a crop's name" },
        { "unit_kg,my bean,1\n", "cannot be a crop's name" },
        { "unit_kg,aaaaaaaaaabbbbbbbbbbaaaaaaaaaabbbbbbbbbbaaaaaaaaaabbbbbbbbbbaaaa,1\n", "cannot be a crop's name" },
        { "unit_kg,bean,\n", "value: \"\" is no number" }, { "unit_kg,bean,much\n", "value: \"much\" is no number" },
        { "unit_kg,bean,\"0,5\"\n", "a decimal comma wants semicolons" }, { "unit_kg,bean,0\n", "a weight is above 0" },
        { "unit_kg,bean,-1\n", "a weight is above 0" }, { "fruit_kg,gourd,1000.1\n", "at most 1000 kg" },
        { "fruits,gourd,-1\n", "a whole number from 0" }, { "fruits,gourd,1.5\n", "a whole number from 0" },
        { "fruits,gourd,10001\n", "a whole number from 0" }, { "unit_kg,bean,1,2024-13-01\n", "date: \"2024-13-01\" is no date" },
        { "unit_kg,bean,1,2023-02-29\n", "is no date" }, { "unit_kg,bean,1,24-10-01\n", "is no date" },
        { "unit_kg,bean,1,,,,,soft\n", "cured: \"soft\" is none of" }, { "unit_kg,bean,1,,,,,,0\n", "count: how many were alike" },
        { "unit_kg,bean,1,,,,,,1.5\n", "count: how many" }, { "unit_kg,bean,1,,,,,,1001\n", "count: how many" },
        { "unit_kg,bean,1,,,,,,x\n", "count: how many" }, { "unit_kg,bean,1,,,,,,1,a,b\n", "has more cells than the header" },
        { "kept,gourd,,,2024-12-10\n", "kept wants the date of cutting" }, { "kept,gourd,,2024-10-01\n", "kept wants the date of cutting" },
        { "kept,gourd,,2024-10-01,2024-09-30\n", "do not follow one another" },
        { "kept,gourd,,2024-10-01,,2024-10-01\n", "do not follow one another" },
        { "kept,gourd,,2024-10-01,2024-12-10,2024-12-09\n", "do not follow one another" },
        { "kept,gourd,,no,2024-12-10\n", "date: \"no\" is no date" }, { "kept,gourd,,2024-10-01,no\n", "sound: \"no\" is no date" },
        { "kept,gourd,,2024-10-01,,no\n", "spoiled: \"no\" is no date" }, { "", "has no rows below its header" },
        { "unit_kg,bean,\"1\n", "is no CSV from here on" },
    };
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char text[1000];
        bool taken;
        snprintf(text, sizeof text, "%s%s", HEADER, wrong[i].rows);
        char *said = said_of(text, &taken);
        assert_true(taken == (wrong[i].said == NULL));
        if (wrong[i].said && !strstr(said, wrong[i].said))
            fail_msg("%s: not said: %s\nbut: %s", wrong[i].rows, wrong[i].said, said);
        free(said);
    }
}

/* A notebook as a whole: its columns, all its mistakes at once, its length. */
static void of_the_whole(void **state)
{
    (void)state;
    bool taken;
    char *said = said_of("kind,value\nunit_kg,1\n", &taken);
    assert_false(taken);
    assert_non_null(strstr(said, "1: there is no column \"crop\""));
    free(said);
    said = said_of("kind,crop,worth\nunit_kg,bean,1\n", &taken);
    assert_false(taken);
    assert_non_null(strstr(said, "the column \"worth\" is not known"));
    free(said);
    said = said_of(HEADER "unit_kg,bean,0\nfruits,gourd,x\nfruits,gourd,2\n", &taken);
    assert_false(taken);
    assert_non_null(strstr(said, ":2: value"));
    assert_non_null(strstr(said, ":3: value"));
    free(said);
    char text[2000] = HEADER;
    for (int i = 0; i < 11; i++)
        strcat(text, "unit_kg,bean,1,,,,,,1000\n");
    said = said_of(text, &taken);
    assert_false(taken);
    assert_non_null(strstr(said, "more than 10000 records"));
    free(said);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_of_row), cmocka_unit_test(other_layouts), cmocka_unit_test(every_mistake),
        cmocka_unit_test(of_the_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
