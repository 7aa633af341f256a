/* sobol_test.c: the estimators of why against functions whose indices are published: Ishigami's (a = 7, b = 0.1; Ishigami &
 * Homma 1990; indices as in facts of the OpenTURNS and SALib manuals, the rest by the same formulas) and Sobol's g-function
 * (Saltelli & Sobol 1995; V_i = 1 / (3 (1 + a_i)^2), V = prod(1 + V_i) - 1). */
#include "check.h"

#include "chance/chance.h"
#include "decide/sobol.h"

enum { TRIALS = 200000 };
static const double PI = 3.14159265358979323846;

static double ishigami(const double u[3])
{
    double x[3];
    for (int i = 0; i < 3; i++)
        x[i] = PI * (2 * u[i] - 1);
    return sin(x[0]) + 7 * sin(x[1]) * sin(x[1]) + 0.1 * pow(x[2], 4) * sin(x[0]);
}

static const double G_A[3] = { 0, 1, 4.5 };

static double g_function(const double u[3])
{
    double product = 1;
    for (int i = 0; i < 3; i++)
        product *= (fabs(4 * u[i] - 2) + G_A[i]) / (1 + G_A[i]);
    return product;
}

/* Pick-freeze on addressed luck: stream 0 is luck A, stream 1 luck B. */
static void estimate(double (*f)(const double[3]), struct decide_sobol *sobol)
{
    for (uint64_t t = 0; t < TRIALS; t++) {
        double a[3], b[3], ab[3];
        for (unsigned i = 0; i < 3; i++) {
            struct chance_pcg of_a = chance_stream(chance_season_key(5, t, 0), chance_stream_key("a", i));
            struct chance_pcg of_b = chance_stream(chance_season_key(5, t, 0), chance_stream_key("b", i));
            a[i] = chance_uniform(chance_pcg_next(&of_a));
            b[i] = chance_uniform(chance_pcg_next(&of_b));
        }
        for (int i = 0; i < 3; i++) {
            double mixed[3] = { a[0], a[1], a[2] };
            mixed[i] = b[i];
            ab[i] = f(mixed);
        }
        decide_sobol_add(sobol, t, TRIALS, f(a), f(b), ab);
    }
}

static void check_index(struct decide_index index, double truth)
{
    double se = (index.high - index.low) / (2 * 1.96);
    check_within(index.value, truth, 4.5 * se + 1e-6);
    assert_true(se < 0.01);
}

static void ishigami_indices(void **state)
{
    (void)state;
    struct base_arena arena = { 0 };
    struct decide_sobol sobol;
    assert_true(decide_sobol_make(&arena, 3, &sobol));
    estimate(ishigami, &sobol);
    check_within(decide_sobol_variance(&sobol), 13.8445879407, 0.15);
    const double first[3] = { 0.313905191, 0.442411145, 0 }, total[3] = { 0.557588855, 0.442411145, 0.243683664 };
    for (int i = 0; i < 3; i++) {
        check_index(decide_sobol_first(&sobol, i), first[i]);
        check_index(decide_sobol_total(&sobol, i), total[i]);
    }
    base_arena_free(&arena);
}

static void g_function_indices(void **state)
{
    (void)state;
    struct base_arena arena = { 0 };
    struct decide_sobol sobol;
    double v[3], all = 1;
    for (int i = 0; i < 3; i++) {
        v[i] = 1 / (3 * (1 + G_A[i]) * (1 + G_A[i]));
        all *= 1 + v[i];
    }
    assert_true(decide_sobol_make(&arena, 3, &sobol));
    estimate(g_function, &sobol);
    for (int i = 0; i < 3; i++) {
        check_index(decide_sobol_first(&sobol, i), v[i] / (all - 1));
        check_index(decide_sobol_total(&sobol, i), v[i] * all / (1 + v[i]) / (all - 1));
    }
    base_arena_free(&arena);
}

static void nothing_varies(void **state)
{
    (void)state;
    struct base_arena arena = { 0 };
    struct decide_sobol sobol;
    const double ab[1] = { 3 };
    assert_true(decide_sobol_make(&arena, 1, &sobol));
    for (uint64_t t = 0; t < 1000; t++)
        decide_sobol_add(&sobol, t, 1000, 3, 3, ab);
    check_near(decide_sobol_variance(&sobol), 0, 0);
    check_near(decide_sobol_total(&sobol, 0).value, 0, 0);
    base_arena_free(&arena);
}

/* The same trials in any split give the same sums. */
static void merging_is_exact(void **state)
{
    (void)state;
    struct base_arena arena = { 0 };
    struct decide_sobol whole, part[2];
    assert_true(decide_sobol_make(&arena, 2, &whole) && decide_sobol_make(&arena, 2, &part[0])
                && decide_sobol_make(&arena, 2, &part[1]));
    for (uint64_t t = 0; t < 5000; t++) {
        double a = chance_uniform(chance_mix(t)), b = chance_uniform(chance_mix(t + 9999)), ab[2] = { (a + b) / 2, a };
        decide_sobol_add(&whole, t, 5000, a, b, ab);
        decide_sobol_add(&part[t % 3 == 0], t, 5000, a, b, ab);
    }
    decide_sobol_merge(&part[0], &part[1]);
    for (int g = 0; g < 2; g++) {
        check_near(decide_sobol_first(&whole, g).value, decide_sobol_first(&part[0], g).value, 0);
        check_near(decide_sobol_total(&whole, g).high, decide_sobol_total(&part[0], g).high, 0);
    }
    base_arena_free(&arena);
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ishigami_indices), cmocka_unit_test(g_function_indices), cmocka_unit_test(nothing_varies),
        cmocka_unit_test(merging_is_exact),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
