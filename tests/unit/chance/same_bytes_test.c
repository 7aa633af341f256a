/* Tables are the same bytes whichever variants of exp, log and pow the C library picks for the processor:
 * this program runs itself again with glibc's FMA and AVX2 variants masked (GLIBC_TUNABLES) and compares
 * hashes of many tables. */
#include "unit/chance/made.h"

enum { ROUNDS = 40, SHAPES = 8 };

static double between(uint64_t *at, double low, double high)
{
    return low + (high - low) * chance_uniform(made_word((*at)++));
}

static struct scenario_distribution any_spec(int shape, uint64_t *at)
{
    double mean = between(at, 0.5, 50.0), ratio = between(at, 0.05, 1.5), share = between(at, 0.1, 0.9);
    switch (shape) {
    case 0: return made_spec(SCENARIO_NORMAL, SCENARIO_UNBOUNDED, mean, mean * ratio, 0);
    case 1: return made_spec(SCENARIO_LOGNORMAL, SCENARIO_POSITIVE, mean, mean * ratio, 0);
    case 2: return made_spec(SCENARIO_GAMMA, SCENARIO_POSITIVE, mean, mean * ratio, 0);
    case 3: return made_spec(SCENARIO_BETA, SCENARIO_SHARE, share, 0.3 * ratio * fmin(share, 1.0 - share), 0);
    case 4: return made_spec(SCENARIO_WEIBULL, SCENARIO_POSITIVE, mean, mean * ratio, 0);
    case 5:
        return made_spec(SCENARIO_TRIPLET, SCENARIO_POSITIVE, mean, mean * (1.15 + 0.6 * share), mean * 2.0);
    case 6: return made_spec(SCENARIO_TRIPLET, SCENARIO_SHARE, 0.5 * share, share, 0.5 + 0.5 * share);
    default: return made_spec(SCENARIO_PERT, SCENARIO_POSITIVE, mean, mean + share, mean + 1.0 + ratio);
    }
}

static uint64_t hashed(uint64_t hash, const void *bytes, size_t n)
{
    const unsigned char *c = bytes;
    for (size_t i = 0; i < n; i++)
        hash = (hash ^ c[i]) * 1099511628211u;
    return hash;
}

static uint64_t hash_of(const struct scenario_distribution *spec)
{
    struct base_arena arena = { .last = NULL };
    const struct chance_distribution *d = made(&arena, spec);
    const struct chance_table *table = chance_table_make(&arena, d);
    const struct chance_cdf_table *cdf = chance_cdf_table_make(&arena, d);
    uint64_t hash = hashed(14695981039346656037u, table->cubic, CHANCE_CELLS_N * sizeof *table->cubic);
    if (table->divided)
        hash = hashed(hash, table->part, table->divided[CHANCE_CELLS_N] * sizeof *table->part);
    hash = hashed(hash, cdf->cubic, cdf->n * sizeof *cdf->cubic);
    hash = hashed(hash, &cdf->least, sizeof cdf->least);
    double old = chance_quantile_given(d, chance_quantile(d, 0.9), 0.3);
    hash = hashed(hash, &old, sizeof old);
    base_arena_free(&arena);
    return hash;
}

static int print_hashes(void)
{
    uint64_t at = 0, raw = 0;
    for (int round = 0; round < ROUNDS; round++)
        for (int shape = 0; shape < SHAPES; shape++) {
            struct scenario_distribution spec = any_spec(shape, &at);
            printf("%016llx\n", (unsigned long long)hash_of(&spec));
        }
    for (int i = 1; i < 20000; i++) { /* the library's own last digits, which should differ */
        volatile double x = i * 1e-3;
        double y[2] = { exp(x), log(x) };
        raw = hashed(raw, y, sizeof y);
    }
    printf("%016llx\n", (unsigned long long)raw);
    return 0;
}

static void masked_variants_make_the_same_tables(void **state)
{
    char command[600], lines[2][32];
    const char *self = *state;
    int differ = 0, raw_differs = 0;
    snprintf(command, sizeof command, "'%s' --hashes", self);
    FILE *plain = popen(command, "r");
    snprintf(command, sizeof command,
             "GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4,-AVX2_Usable,-FMA_Usable,"
             "-FMA4_Usable '%s' --hashes",
             self);
    FILE *masked = popen(command, "r");
    assert_true(plain && masked);
    for (int i = 0; i <= ROUNDS * SHAPES; i++) {
        assert_true(fgets(lines[0], sizeof lines[0], plain) && fgets(lines[1], sizeof lines[1], masked));
        *(i < ROUNDS * SHAPES ? &differ : &raw_differs) += strcmp(lines[0], lines[1]) != 0;
    }
    assert_true(pclose(plain) == 0 && pclose(masked) == 0);
    if (!raw_differs)
        print_message("masking changed nothing in this C library: nothing was shown\n");
    assert_int_equal(differ, 0);
}

int main(int argc, char **argv)
{
    chance_start();
    if (argc > 1 && strcmp(argv[1], "--hashes") == 0)
        return print_hashes();
    struct CMUnitTest tests[] = { cmocka_unit_test_prestate(masked_variants_make_the_same_tables, argv[0]) };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
