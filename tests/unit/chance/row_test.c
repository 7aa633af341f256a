/* Rows of words and values: to the last bit what the same look-ups give one after the other, for every kind of table and
 * every length, so that whole vectors and what is left over are both looked at. */
#include "unit/chance/made.h"

enum { MOST = 203 };

static const double figures[] = { 3.5, 1.0, 4.0, 1.5, 9.0, 2.6, 5.3, 5.8, 9.7, 9.3, 2.3, 8.4 };

#define PLAIN .set = true, .origin = { "scenario.cfg", 7, "crops.bean.unit_kg" }
static const struct scenario_distribution specs[] = {
    { PLAIN, .shape = SCENARIO_NORMAL, .a = { 0, 1 } },
    { PLAIN, .shape = SCENARIO_TRIPLET, .bound = SCENARIO_POSITIVE, .a = { 1, 3, 8.9 } },
    { PLAIN, .shape = SCENARIO_TRIPLET, .bound = SCENARIO_POSITIVE, .a = { 1, 20, 400 }, .has_most = true, .at_most = 1000 },
    { PLAIN, .shape = SCENARIO_TRIANGULAR, .a = { -1, 2, 4 } },
    { PLAIN, .shape = SCENARIO_TRIPLET, .bound = SCENARIO_COUNT, .a = { 4, 10, 22 } },
    { PLAIN, .shape = SCENARIO_NORMAL, .is_date = true, .a = { 70, 9 }, .has_most = true, .at_most = 90 },
    { PLAIN, .shape = SCENARIO_POISSON, .bound = SCENARIO_COUNT, .a = { 3 } },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures },
    { PLAIN, .shape = SCENARIO_RECORDS, .n = 12, .list = figures, .smooth = true },
    { PLAIN, .shape = SCENARIO_CERTAIN, .a = { 4 } },
};

/* Words of all sizes: both tails are looked at as closely as the middle. */
static void some_words(uint64_t *word)
{
    struct chance_pcg pcg = chance_pcg_seeded(5, 7);
    for (int i = 0; i < MOST; i++) {
        uint64_t x = chance_pcg_next(&pcg) >> (i % 64);
        word[i] = i % 2 ? x : ~x;
    }
    word[0] = 0;
    word[1] = UINT64_MAX;
}

static void same_quantiles(void **state)
{
    uint64_t word[MOST];
    double row[MOST + 1];
    unsigned kinds = 0;
    (void)state;
    some_words(word);
    for (size_t s = 0; s < sizeof specs / sizeof specs[0]; s++) {
        struct base_arena arena = { .last = NULL };
        const struct chance_table *table = chance_table_make(&arena, made(&arena, &specs[s]));
        assert_non_null(table);
        kinds |= 1u << table->kind;
        for (int n = 0; n <= MOST; n++) {
            row[n] = -77.5;
            chance_draw_row(table, word, n, row);
            for (int i = 0; i < n; i++)
                assert_true(row[i] == chance_draw(table, word[i]));
            assert_true(row[n] == -77.5);
        }
        base_arena_free(&arena);
    }
    assert_int_equal(kinds, (2u << CHANCE_LINES) - 1); /* every kind has been looked at */
}

static void same_shares(void **state)
{
    double x[MOST], row[MOST + 1];
    (void)state;
    for (size_t s = 0; s < sizeof specs / sizeof specs[0]; s++) {
        struct base_arena arena = { .last = NULL };
        const struct chance_distribution *d = made(&arena, &specs[s]);
        const struct chance_cdf_table *table = chance_cdf_table_make(&arena, d);
        double median = chance_quantile(d, 0.5), width = chance_quantile(d, 0.999) - median;
        assert_non_null(table);
        for (int i = 0; i < MOST; i++)
            x[i] = median + (i - MOST / 2) * (width + 0.01) / 60;
        x[MOST - 1] = table->least;
        x[MOST - 2] = table->most;
        for (int n = 0; n <= MOST; n++) {
            row[n] = -77.5;
            chance_cdf_row(table, x, n, row);
            for (int i = 0; i < n; i++)
                assert_true(row[i] == chance_cdf_at(table, x[i]));
            assert_true(row[n] == -77.5);
        }
        base_arena_free(&arena);
    }
}

static void same_words(void **state)
{
    struct base_arena arena = { .last = NULL };
    const struct chance_normal *normal = chance_normal_make(&arena);
    double u[MOST], z[MOST];
    uint64_t row[MOST], state_row[MOST], inc[MOST], key[MOST];
    (void)state;
    assert_non_null(normal);
    some_words(key);
    for (int i = 0; i < MOST; i++) {
        u[i] = (i - 3) / (MOST - 6.0);
        z[i] = (i - MOST / 2) * 0.1 + 0.003;
    }
    z[3] = 0;
    for (int n = 0; n <= MOST; n++) {
        chance_word_row(u, n, row);
        for (int i = 0; i < n; i++)
            assert_true(row[i] == chance_word(u[i]));
        chance_normal_word_row(normal, z, n, row);
        for (int i = 0; i < n; i++)
            assert_true(row[i] == chance_normal_word(normal, z[i]));
        chance_stream_row(key, 991, n, state_row, inc);
        for (int i = 0; i < n; i++) {
            struct chance_pcg pcg = chance_stream(key[i], 991);
            assert_true(state_row[i] == pcg.state && inc[i] == pcg.inc);
        }
    }
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = { cmocka_unit_test(same_quantiles), cmocka_unit_test(same_shares), cmocka_unit_test(same_words) };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
