/* Quantiles, masses, means and standard deviations of every shape against SciPy:
 * tests/reference/quantiles.csv and moments.csv, which tests/reference/quantiles.py makes. */
#include "unit/chance/made.h"

static const char *const shapes[] = { [SCENARIO_CERTAIN] = "certain",
                                      [SCENARIO_TRIPLET] = "triplet",
                                      [SCENARIO_NORMAL] = "normal",
                                      [SCENARIO_LOGNORMAL] = "lognormal",
                                      [SCENARIO_LOGNORMAL_LOG] = "lognormal_log",
                                      [SCENARIO_GAMMA] = "gamma",
                                      [SCENARIO_GAMMA_SHAPE] = "gamma_shape",
                                      [SCENARIO_BETA] = "beta",
                                      [SCENARIO_BETA_SHAPE] = "beta_shape",
                                      [SCENARIO_WEIBULL] = "weibull",
                                      [SCENARIO_WEIBULL_SHAPE] = "weibull_shape",
                                      [SCENARIO_EXPONENTIAL] = "exponential",
                                      [SCENARIO_UNIFORM] = "uniform",
                                      [SCENARIO_TRIANGULAR] = "triangular",
                                      [SCENARIO_PERT] = "pert",
                                      [SCENARIO_POISSON] = "poisson",
                                      [SCENARIO_NEGATIVE_BINOMIAL] = "negative_binomial" };

struct row { struct scenario_distribution spec; bool upper; double x[2]; };

static double field(char **cursor, bool *given)
{
    char *text = *cursor, *comma = strchr(text, ',');
    if (comma)
        *comma = 0;
    *cursor = comma ? comma + 1 : text + strlen(text);
    *given = *text && *text != '\n';
    return *given ? strtod(text, NULL) : 0.0;
}

/* shape,bound,a0,a1,a2,at_least,at_most,[tail,]two figures */
static void read_row(char *line, struct row *row)
{
    bool given;
    char *cursor = line, *bound = strchr(line, ',') + 1;
    memset(row, 0, sizeof *row);
    row->spec = made_spec(SCENARIO_CERTAIN, SCENARIO_UNBOUNDED, 0.0, 0.0, 0.0);
    bound[-1] = 0;
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        if (strcmp(line, shapes[i]) == 0)
            row->spec.shape = (enum scenario_shape)i;
    assert_true(row->spec.shape != SCENARIO_CERTAIN);
    row->spec.is_date = strncmp(bound, "date,", 5) == 0;
    row->spec.bound = *bound == 'p' ? SCENARIO_POSITIVE : *bound == 's' ? SCENARIO_SHARE
                    : *bound == 'c' ? SCENARIO_COUNT : SCENARIO_UNBOUNDED;
    cursor = strchr(bound, ',') + 1;
    for (int i = 0; i < 3; i++)
        row->spec.a[i] = field(&cursor, &given);
    row->spec.at_least = field(&cursor, &row->spec.has_least);
    row->spec.at_most = field(&cursor, &row->spec.has_most);
    if (strncmp(cursor, "lower,", 6) == 0 || strncmp(cursor, "upper,", 6) == 0) {
        row->upper = *cursor == 'u';
        cursor += 6;
    }
    row->x[0] = field(&cursor, &given);
    row->x[1] = field(&cursor, &given);
    assert_true(given);
}

static FILE *opened(const char *name, char *line, int size)
{
    FILE *file = fopen(name, "r");
    if (!file)
        print_error("%s: run from the project's folder\n", name);
    assert_non_null(file);
    assert_non_null(fgets(line, size, file));
    return file;
}

static void quantiles_are_scipys(void **state)
{
    char line[512];
    int rows = 0;
    (void)state;
    FILE *file = opened("tests/reference/quantiles.csv", line, sizeof line);
    for (; fgets(line, sizeof line, file); rows++) {
        struct row row;
        struct base_arena arena = { .last = NULL };
        char shown[512];
        snprintf(shown, sizeof shown, "%s", line);
        read_row(line, &row);
        const struct chance_distribution *d = made(&arena, &row.spec);
        double mass = row.x[0], x = row.x[1];
        double ours = row.upper ? chance_upper_quantile(d, mass) : chance_quantile(d, mass);
        /* just above a cut the quantile itself is a difference of nearly equal masses */
        if (!check_is_near(ours, x, 1e-9,
                           row.spec.has_least || row.spec.shape == SCENARIO_NORMAL ? 1e-13 : 1e-300)) {
            print_error("%sours %.17g\n", shown, ours);
            fail();
        }
        base_arena_free(&arena);
    }
    fclose(file);
    assert_true(rows > 800);
}

/* How much mass the last digits of x stand for. */
static double density_near(const struct chance_distribution *d, double x)
{
    double h = 1e-6 * fabs(x) + 1e-12;
    return fabs(chance_cdf(d, x + h) - chance_cdf(d, x - h)) / (2.0 * h);
}

/* The mass to (or beyond) a quantile is the mass that it was asked for; of whole numbers it is on either
 * side. */
static void masses_are_scipys(void **state)
{
    char line[512];
    (void)state;
    FILE *file = opened("tests/reference/quantiles.csv", line, sizeof line);
    while (fgets(line, sizeof line, file)) {
        struct row row;
        struct base_arena arena = { .last = NULL };
        read_row(line, &row);
        const struct chance_distribution *d = made(&arena, &row.spec);
        double mass = row.x[0], x = row.x[1];
        const bool whole = row.spec.bound == SCENARIO_COUNT || row.spec.is_date;
        double ours = row.upper ? chance_survival(d, x) : chance_cdf(d, x);
        /* a cut distribution's mass is a difference of masses */
        const bool cut = row.spec.has_least || row.spec.has_most ||
                         (row.spec.shape == SCENARIO_NORMAL && row.spec.bound == SCENARIO_POSITIVE);
        double ulps = (fabs(x) + fabs(row.spec.at_least)) * 1e-15 * density_near(d, x) + (cut ? 1e-14 : 0.0);
        if (whole && row.upper)
            assert_true(ours <= mass * 1.000001 && chance_survival(d, x - 1.0) >= mass * 0.999999);
        else if (whole)
            assert_true(ours >= mass * 0.999999 && chance_below(d, x) <= mass * 1.000001);
        else if (row.spec.bound != SCENARIO_SHARE || x < 1.0 - 1e-9)
            check_near_at(ours, mass, 1e-9, ulps, shapes[row.spec.shape], __FILE__, __LINE__);
        assert_true(whole || chance_below(d, x) == chance_cdf(d, x));
        base_arena_free(&arena);
    }
    fclose(file);
}

static void moments_are_scipys(void **state)
{
    char line[512];
    int rows = 0;
    (void)state;
    FILE *file = opened("tests/reference/moments.csv", line, sizeof line);
    for (; fgets(line, sizeof line, file); rows++) {
        struct row row;
        struct base_arena arena = { .last = NULL };
        read_row(line, &row);
        const struct chance_distribution *d = made(&arena, &row.spec);
        check_near_at(chance_mean(d), row.x[0], 1e-9, 1e-10, shapes[row.spec.shape], __FILE__, __LINE__);
        check_near_at(chance_sd(d), row.x[1], 1e-9, 0.0, shapes[row.spec.shape], __FILE__, __LINE__);
        base_arena_free(&arena);
    }
    fclose(file);
    assert_true(rows > 40);
}

/* S(x) = exp(-(x/scale)^k), so x given age is scale ((age/scale)^k - ln v)^(1/k): closed form. At three
 * times the scale S is 2e-14, where Q(F + u (1 - F)) would have no digits left. */
static void old_lives_keep_their_digits(void **state)
{
    struct base_arena arena = { .last = NULL };
    (void)state;
    const double k = 3.1, scale = 20.0;
    const struct chance_distribution *d = made_of(&arena, SCENARIO_WEIBULL_SHAPE, SCENARIO_POSITIVE, k, scale,
                                                  0.0);
    for (double age = 0.0; age <= 3.0 * scale; age += 7.5)
        for (double v = 0.001; v < 1.0; v += 0.0379) {
            double expected = scale * pow(pow(age / scale, k) - log(v), 1.0 / k);
            check_near(chance_quantile_given(d, age, v), expected, 2e-8);
            assert_true(chance_quantile_given(d, age, v) >= age);
        }
    assert_true(isnan(chance_quantile_given(d, 1e6, 0.5)));
    base_arena_free(&arena);
}

/* A life cut off at the top, and one from records. */
static void lives_end_where_they_end(void **state)
{
    static const double weeks[] = { 30, 10, 20 };
    struct base_arena arena = { .last = NULL };
    struct scenario_distribution spec = made_spec(SCENARIO_WEIBULL_SHAPE, SCENARIO_POSITIVE, 2.0, 20.0, 0.0);
    (void)state;
    spec.has_most = true;
    spec.at_most = 30.0;
    const struct chance_distribution *d = made(&arena, &spec);
    double left = exp(-pow(25.0 / 20.0, 2)), end = exp(-pow(30.0 / 20.0, 2));
    check_near(chance_survival(d, 25.0), (left - end) / (1.0 - end), 1e-12);
    check_near(chance_quantile_given(d, 25.0, 0.5), 20.0 * sqrt(-log(0.5 * (left + end))), 2e-8);
    assert_true(chance_survival(d, 30.0) == 0.0 && isnan(chance_quantile_given(d, 30.0, 0.5)));
    spec = made_spec(SCENARIO_RECORDS, SCENARIO_POSITIVE, 0.0, 0.0, 0.0);
    spec.n = 3;
    spec.list = weeks;
    d = made(&arena, &spec);
    assert_true(chance_quantile_given(d, 15.0, 0.25) == 30.0 && chance_quantile_given(d, 15.0, 0.75) == 20.0);
    assert_true(isnan(chance_quantile_given(d, 30.0, 0.5)));
    base_arena_free(&arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quantiles_are_scipys), cmocka_unit_test(masses_are_scipys),
        cmocka_unit_test(moments_are_scipys), cmocka_unit_test(old_lives_keep_their_digits),
        cmocka_unit_test(lives_end_where_they_end)
    };
    chance_start();
    return cmocka_run_group_tests(tests, NULL, NULL);
}
