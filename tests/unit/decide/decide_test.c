/* decide_test.c: tests of deciding: exact tests against hand-made figures, and the rules' actual error where the truth is
 * known: zeros and ones, and normal values, drawn from addressed streams. */
#include "check.h"

#include "chance/chance.h"
#include "decide/decide.h"

enum { REPEATS = 2000 };

static struct chance_pcg stream(uint64_t repeat, unsigned purpose)
{
    return chance_stream(chance_season_key(77, repeat, 0), chance_stream_key("decide test", purpose));
}

static double uniform(struct chance_pcg *pcg) { return chance_uniform(chance_pcg_next(pcg)); }

/* Standard error of a share found in so many repeats. */
static double share_error(double share, int repeats) { return sqrt(share * (1 - share) / repeats); }

/* ---- against figures from outside ------------------------------------------------------------------------------ */

/* Binomial(10, 1/2): P(X <= 2) = 56/1024, by Pascal's triangle; Binomial(5, 1/2): P(X <= 0) = 1/32. */
static void exact_conditional_test(void **state)
{
    (void)state;
    check_near(decide_turned_p(2, 8), 2 * 56.0 / 1024, 1e-12);
    check_near(decide_turned_p(8, 2), 2 * 56.0 / 1024, 1e-12);
    check_near(decide_turned_p(0, 5), 2.0 / 32, 1e-12);
    check_near(decide_turned_p(0, 0), 1.0, 0);
    check_near(decide_turned_p(5, 5), 1.0, 0);
}

/* Clopper-Pearson limits of the cases of Newcombe 1998 (Statistics in Medicine 17:857-872), 95 % two-sided. */
static void exact_bounds(void **state)
{
    (void)state;
    check_within(decide_lower_bound(81, 263, 0.025), 0.252737, 1e-6);
    check_within(decide_upper_bound(81, 263, 0.025), 0.367622, 1e-6);
    check_within(decide_lower_bound(15, 148, 0.025), 0.057844, 1e-6);
    check_within(decide_upper_bound(15, 148, 0.025), 0.161650, 1e-6);
    check_within(decide_upper_bound(0, 20, 0.025), 0.168433, 1e-6);
    check_within(decide_lower_bound(29, 29, 0.025), 0.880555, 1e-6);
    check_near(decide_lower_bound(0, 20, 0.025), 0, 0);
    check_near(decide_upper_bound(29, 29, 0.025), 1, 0);
    check_within(decide_upper_bound(17800, 200000, 1e-4), 0.0913936, 2e-5); /* normal approximation of a large sample */
}

static void spent_error_never_exceeds(void **state)
{
    (void)state;
    double sum = 0;
    for (int look = 1; look <= 100000; look++)
        sum += decide_spend(0.05, look);
    assert_true(sum <= 0.05);
    assert_true(sum > 0.0499);
}

/* ---- rules where the truth is known ---------------------------------------------------------------------------- */

struct table { struct base_arena arena; struct decide_list list; struct decide_sums base, other; struct decide_pairs pairs; };

static void make_table(struct table *t, const char *measure)
{
    *t = (struct table){ 0 };
    t->list.item = base_arena_array(&t->arena, 1, sizeof *t->list.item);
    t->list.item[0] = (struct decide_item){ 0, tally_find_measure(measure), FUTURE_ANY };
    t->list.n = 1;
    assert_true(decide_sums_make(&t->arena, &t->list, &t->base) && decide_sums_make(&t->arena, &t->list, &t->other)
                && decide_pairs_make(&t->arena, &t->list, &t->pairs));
}

static void add_trial(struct table *t, double base, double other)
{
    const double bases[PLAN_ABREAST] = { base }, others[PLAN_ABREAST] = { other };
    decide_add(&t->list, &t->base, bases);
    decide_add(&t->list, &t->other, others);
    decide_add_pair(&t->list, &t->pairs, bases, others);
}

/* Last digits, in which the order of a sum shows, turn no trial; a gram does. */
static void last_digits_turn_nothing(void **state)
{
    (void)state;
    struct table t;
    make_table(&t, "kg_grown");
    add_trial(&t, 72.5, 72.5 * (1 + 4e-16));
    add_trial(&t, 0, 1e-15);
    add_trial(&t, HUGE_VAL, HUGE_VAL);
    assert_true(t.pairs.up[0] == 0 && t.pairs.down[0] == 0 && t.pairs.difference[0].sum == 0);
    add_trial(&t, 72.5, 72.501);
    add_trial(&t, 72.501, 72.5);
    add_trial(&t, 72.5, HUGE_VAL);
    assert_true(t.pairs.up[0] == 2 && t.pairs.down[0] == 1);
    base_arena_free(&t.arena);
}

/* A trial of two scenarios: both short with chance `both`, the base alone `down`, the other alone `up`. */
static void draw_pair(struct table *t, struct chance_pcg *pcg, double both, double down, double up)
{
    double u = uniform(pcg);
    add_trial(t, u < both + down, u < both || (u >= both + down && u < both + down + up));
}

static double coverage_of_difference(int n, double both, double down, double up)
{
    int covered = 0;
    for (int r = 0; r < REPEATS; r++) {
        struct table t;
        struct chance_pcg pcg = stream((uint64_t)r, 1);
        make_table(&t, "chance_short");
        for (int i = 0; i < n; i++)
            draw_pair(&t, &pcg, both, down, up);
        struct decide_difference d = decide_difference(&t.list, &t.base, &t.other, &t.pairs, 0, n, 0.05);
        covered += d.low <= up - down && up - down <= d.high;
        base_arena_free(&t.arena);
    }
    return (double)covered / REPEATS;
}

/* At least nominal per pair, less four standard errors of the finding. */
static void difference_intervals_cover(void **state)
{
    (void)state;
    const double cases[][4] = { { 1000, 0.1, 0.05, 0.02 }, { 1000, 0.2, 0.01, 0.01 }, { 400, 0.0, 0.10, 0.03 },
                                { 2000, 0.3, 0.004, 0.001 } };
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        double coverage = coverage_of_difference((int)cases[c][0], cases[c][1], cases[c][2], cases[c][3]);
        print_message("coverage of the paired difference at n = %g, turned %g and %g: %.4f\n", cases[c][0], cases[c][2],
                      cases[c][3], coverage);
        assert_true(coverage >= 0.95 - 4 * share_error(0.95, REPEATS));
    }
}

/* Wilson's coverage computed exactly for n and p (sum of binomial chances whose interval holds p), against that found. */
static double binomial_chance(int n, int k, double p)
{
    return exp(lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0) + k * log(p) + (n - k) * log1p(-p));
}

static void wilson_covers_as_computed(void **state)
{
    (void)state;
    const double cases[][2] = { { 1000, 0.001 }, { 1000, 0.003 }, { 1000, 0.2 }, { 200, 0.05 } };
    for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
        int n = (int)cases[c][0], covered = 0;
        double p = cases[c][1], exact = 0, low, high;
        for (int k = 0; k <= n; k++) {
            tally_wilson(k, n, 0.05, &low, &high);
            exact += low <= p && p <= high ? binomial_chance(n, k, p) : 0;
        }
        for (int r = 0; r < REPEATS; r++) {
            struct chance_pcg pcg = stream((uint64_t)r, 2);
            int k = 0;
            for (int i = 0; i < n; i++)
                k += uniform(&pcg) < p;
            tally_wilson(k, n, 0.05, &low, &high);
            covered += low <= p && p <= high;
        }
        print_message("Wilson at n = %d, p = %g: covers %.4f, exactly %.4f\n", n, p, (double)covered / REPEATS, exact);
        check_within((double)covered / REPEATS, exact, 4 * share_error(exact, REPEATS) + 1e-9);
    }
}

/* --precision: trials are added until the half width is reached; the interval then must still cover. */
static void precision_rule_covers(void **state)
{
    (void)state;
    const double truths[] = { 0.05, 0.2, 0.5 };
    for (size_t c = 0; c < sizeof truths / sizeof truths[0]; c++) {
        int covered = 0;
        for (int r = 0; r < REPEATS; r++) {
            struct chance_pcg pcg = stream((uint64_t)r, 3);
            int64_t n = 0, next = 500, k = 0;
            double low = 0, high = 1;
            while ((high - low) / 2 > 0.015 && n < 100000) {
                for (; n < next; n++)
                    k += uniform(&pcg) < truths[c];
                tally_wilson(k, n, 0.05, &low, &high);
                next = decide_next_trials(n, (high - low) / 2, 0.015, 100000);
            }
            covered += low <= truths[c] && truths[c] <= high;
        }
        double coverage = (double)covered / REPEATS;
        print_message("precision rule at p = %g: covers %.4f\n", truths[c], coverage);
        check_within(coverage, 0.95, 0.01 + 2 * share_error(0.95, REPEATS));
    }
}

/* Looks until told apart; returns the verdict. */
static enum decide_verdict until_clear(uint64_t repeat, double down, double up, double worth, int most)
{
    struct table t;
    struct chance_pcg pcg = stream(repeat, 4);
    enum decide_verdict verdict = DECIDE_OPEN;
    make_table(&t, "chance_short");
    int n = 0;
    for (int look = 1, next = 500; verdict == DECIDE_OPEN && next <= most; look++, next *= 2) {
        for (; n < next; n++)
            draw_pair(&t, &pcg, 0.1, down, up);
        double alpha = decide_spend(0.05, look);
        struct decide_difference d = decide_difference(&t.list, &t.base, &t.other, &t.pairs, 0, n, alpha);
        verdict = decide_judge(&t.list, 0, &d, n, worth, alpha);
    }
    base_arena_free(&t.arena);
    return verdict;
}

static void looks_do_not_add_false_verdicts(void **state)
{
    (void)state;
    int wrong = 0, right = 0, within = 0;
    for (int r = 0; r < REPEATS; r++) {
        enum decide_verdict even = until_clear((uint64_t)r, 0.02, 0.02, 0.0, 16000);
        wrong += even == DECIDE_BETTER || even == DECIDE_WORSE;
        if (r >= REPEATS / 10)
            continue;
        right += until_clear((uint64_t)r, 0.04, 0.01, 0.001, 64000) == DECIDE_BETTER;
        within += until_clear((uint64_t)r, 0.002, 0.002, 0.01, 64000) == DECIDE_NOT_WORTH;
    }
    print_message("false verdicts over six looks: %.4f (at most 0.05)\n", (double)wrong / REPEATS);
    assert_true(wrong <= 0.05 * REPEATS + 4 * sqrt(0.05 * REPEATS));
    assert_true(right >= 0.95 * REPEATS / 10);
    assert_true(within >= 0.95 * REPEATS / 10);
}

/* Ranking and selection: a base and seven others that are worse by exactly the worth; all seven must be told so. */
static double normal(struct chance_pcg *pcg)
{
    double u = uniform(pcg), v = uniform(pcg);
    return sqrt(-2 * log(u)) * cos(6.283185307179586 * v); /* Box & Muller 1958 */
}

static bool picks_the_base(uint64_t repeat, double worth, double spread)
{
    for (unsigned other = 0; other < 7; other++) {
        struct chance_pcg pcg = stream(repeat, 10 + other);
        double first[20], sum = 0;
        int r = 20, verdict = 0;
        for (int b = 0; b < r; b++)
            sum += first[b] = worth + spread * normal(&pcg);
        struct decide_kn kn = decide_kn_begin(first, r, worth, 0.05 / 7);
        while ((verdict = decide_kn_look(&kn, sum / r, r)) == 0)
            for (int more = r; more > 0; more--, r++)
                sum += worth + spread * normal(&pcg);
        if (verdict < 0)
            return false;
    }
    return true;
}

static void best_of_eight_is_selected(void **state)
{
    (void)state;
    int right = 0;
    for (int r = 0; r < REPEATS; r++)
        right += picks_the_base((uint64_t)r, 1.0, 3.0);
    print_message("best of eight selected: %.4f (at least 0.95)\n", (double)right / REPEATS);
    assert_true(right >= 0.95 * REPEATS - 4 * sqrt(0.05 * REPEATS));
}

static void sizing_seldom_errs(void **state)
{
    (void)state;
    int wrong = 0, met = 0;
    for (int r = 0; r < REPEATS; r++) {
        struct chance_pcg pcg = stream((uint64_t)r, 5);
        int k = 0, fewer = 0;
        for (int i = 0; i < 2000; i++) {
            double u = uniform(&pcg);
            k += u < 0.1001;
            fewer += u < 0.07;
        }
        wrong += decide_size(k, 2000, 0.10, 0.05) == DECIDE_MEETS;
        met += decide_size(fewer, 2000, 0.10, 0.05) == DECIDE_MEETS;
    }
    assert_true(wrong <= 0.05 * REPEATS + 4 * sqrt(0.05 * REPEATS));
    assert_true(met > 0.9 * REPEATS);
}

static void the_same_is_a_tie(void **state)
{
    (void)state;
    struct table t;
    struct chance_pcg pcg = stream(1, 6);
    make_table(&t, "meals_short");
    for (int i = 0; i < 1000; i++) {
        double x = 10 * uniform(&pcg);
        add_trial(&t, x, x);
    }
    struct decide_difference d = decide_difference(&t.list, &t.base, &t.other, &t.pairs, 0, 1000, 0.05);
    check_near(d.value, 0, 0);
    check_near(d.std_error, 0, 0);
    assert_int_equal(decide_judge(&t.list, 0, &d, 1000, 0.1, 0.05), DECIDE_SAME);
    base_arena_free(&t.arena);
}

int main(void)
{
    chance_start();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(last_digits_turn_nothing), cmocka_unit_test(exact_conditional_test), cmocka_unit_test(exact_bounds), cmocka_unit_test(spent_error_never_exceeds),
        cmocka_unit_test(difference_intervals_cover), cmocka_unit_test(wilson_covers_as_computed),
        cmocka_unit_test(precision_rule_covers), cmocka_unit_test(looks_do_not_add_false_verdicts),
        cmocka_unit_test(best_of_eight_is_selected), cmocka_unit_test(sizing_seldom_errs), cmocka_unit_test(the_same_is_a_tie),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
