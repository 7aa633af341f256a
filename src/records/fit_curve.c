/* fit_curve.c: curves of what was seen, without a shape; how far a fit is from them. */
#include "records/fit.h"

#include <gsl/gsl_math.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* An end of an interval. At one value an exact figure's left end comes first, then right ends (closed), then left ends of
 * intervals that are open there: a fruit eaten sound on a day outlived one that spoiled on it. */
struct end { double value; int rank; };
enum { EXACT_LEFT, RIGHT, OPEN_LEFT };

static int by_place(const void *a, const void *b)
{
    const struct end *x = a, *y = b;
    if (x->value != y->value)
        return x->value < y->value ? -1 : 1;
    return x->rank - y->rank;
}

static struct end left_of(const struct records_observation *seen)
{
    return (struct end){ seen->low, seen->low == seen->high ? EXACT_LEFT : OPEN_LEFT };
}

static struct end right_of(const struct records_observation *seen) { return (struct end){ seen->high, RIGHT }; }

/* Innermost intervals: a left end with a right end next to it. Returns how many. */
static int innermost(const struct records_observation *seen, int n, struct end *ends, struct end *left, struct end *right)
{
    int found = 0;
    for (int i = 0; i < n; i++) {
        ends[2 * i] = left_of(&seen[i]);
        ends[2 * i + 1] = right_of(&seen[i]);
    }
    qsort(ends, 2 * (size_t)n, sizeof *ends, by_place);
    for (int i = 0; i + 1 < 2 * n; i++)
        if (ends[i].rank != RIGHT && ends[i + 1].rank == RIGHT) {
            left[found] = ends[i];
            right[found++] = ends[i + 1];
        }
    return found;
}

/* Innermost intervals that lie within what was seen: from first to last, a run. */
static void run_within(const struct records_observation *seen, const struct end *left, const struct end *right, int steps,
                       int *first, int *last)
{
    struct end own_left = left_of(seen), own_right = right_of(seen);
    *first = steps;
    *last = -1;
    for (int s = 0; s < steps; s++)
        if (by_place(&left[s], &own_left) >= 0 && by_place(&right[s], &own_right) <= 0) {
            *first = s < *first ? s : *first;
            *last = s;
        }
}

/* Turnbull's self-consistent masses: each record spreads itself over its innermost intervals in their proportion. */
static void spread(const int *first, const int *last, int n, double *mass, double *next, int steps)
{
    enum { MOST_ROUNDS = 20000 };
    for (int s = 0; s < steps; s++)
        mass[s] = 1.0 / steps;
    for (int round = 0; round < MOST_ROUNDS; round++) {
        double change = 0;
        memset(next, 0, (size_t)steps * sizeof *next);
        for (int i = 0; i < n; i++) {
            double sum = 0;
            for (int s = first[i]; s <= last[i]; s++)
                sum += mass[s];
            for (int s = first[i]; s <= last[i] && sum > 0; s++)
                next[s] += mass[s] / sum / n;
        }
        for (int s = 0; s < steps; s++) {
            change = fmax(change, fabs(next[s] - mass[s]));
            mass[s] = next[s];
        }
        if (change < 1e-12)
            break;
    }
}

/* Kaplan and Meier's product with Greenwood's sum (Greenwood 1926); the steps are exact figures. */
static void product(const struct records_observation *seen, int n, struct records_curve *curve)
{
    double sound = 1, sum = 0;
    for (int s = 0; s < curve->n; s++) {
        int at_risk = 0, spoiled = 0;
        for (int i = 0; i < n; i++) {
            at_risk += seen[i].low >= curve->until[s];
            spoiled += seen[i].low == curve->until[s] && seen[i].high == curve->until[s];
        }
        sound *= 1 - (double)spoiled / at_risk;
        sum += at_risk > spoiled ? (double)spoiled / ((double)at_risk * (at_risk - spoiled)) : 0;
        curve->at_risk[s] = at_risk;
        curve->sound[s] = sound;
        curve->std_error[s] = sound * sqrt(sum);
    }
}

static bool take_room(struct base_arena *arena, int steps, struct records_curve *curve)
{
    size_t n = (size_t)steps + 1;
    curve->from = base_arena_array(arena, n, sizeof *curve->from);
    curve->until = base_arena_array(arena, n, sizeof *curve->until);
    curve->sound = base_arena_array(arena, n, sizeof *curve->sound);
    curve->std_error = base_arena_array(arena, n, sizeof *curve->std_error);
    curve->at_risk = base_arena_array(arena, n, sizeof *curve->at_risk);
    return curve->from && curve->until && curve->sound && curve->std_error && curve->at_risk;
}

/* Lays the masses out as steps; mass at infinity is what was still sound at the end. */
static bool lay_out(struct base_arena *arena, const struct records_observation *seen, int n, struct records_curve *curve)
{
    struct end *ends = base_arena_array(arena, 2 * (size_t)n, sizeof *ends);
    struct end *left = base_arena_array(arena, (size_t)n + 1, sizeof *left);
    struct end *right = base_arena_array(arena, (size_t)n + 1, sizeof *right);
    int *first = base_arena_array(arena, (size_t)n, sizeof *first), *last = base_arena_array(arena, (size_t)n, sizeof *last);
    double *mass = base_arena_array(arena, 2 * (size_t)n, sizeof *mass);
    if (!ends || !left || !right || !first || !last || !mass)
        return false;
    int steps = innermost(seen, n, ends, left, right);
    if ((double)steps * n > 2e8 || !take_room(arena, steps, curve))
        return false;
    for (int i = 0; i < n; i++)
        run_within(&seen[i], left, right, steps, &first[i], &last[i]);
    if (curve->has_intervals)
        spread(first, last, n, mass, mass + n, steps);
    double sound = 1;
    for (int s = 0; s < steps && !isinf(right[s].value); s++) {
        sound -= mass[s];
        curve->from[s] = left[s].value;
        curve->until[s] = right[s].value;
        curve->sound[s] = fmax(0, sound);
        curve->std_error[s] = NAN;
        curve->n++;
        for (int i = 0; i < n; i++)
            curve->at_risk[s] += seen[i].low >= left[s].value;
    }
    return true;
}

bool records_curve_of(struct base_arena *arena, const struct records_observation *seen, int n, struct records_curve *curve)
{
    *curve = (struct records_curve){ 0 };
    for (int i = 0; i < n; i++)
        curve->has_intervals |= seen[i].low != seen[i].high && !isinf(seen[i].high);
    if (n < 1 || !lay_out(arena, seen, n, curve))
        return n < 1;
    if (!curve->has_intervals)
        product(seen, n, curve);
    return true;
}

/* ---- how far a fit is from the records ---------------------------------------------------------------------- */

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double records_anderson_darling(const struct records_fit *fit, const struct records_observation *seen, int n)
{
    double *sorted = base_alloc((size_t)n * sizeof *sorted + 1), sum = 0;
    if (!sorted)
        return NAN;
    for (int i = 0; i < n; i++)
        sorted[i] = seen[i].low;
    qsort(sorted, (size_t)n, sizeof *sorted, ascending);
    for (int i = 0; i < n; i++)
        sum += (2 * i + 1) * (log(records_fit_lower(fit->shape, fit->p, sorted[i]))
                              + log(records_fit_upper(fit->shape, fit->p, sorted[n - 1 - i])));
    base_free(sorted);
    return -n - sum / n;
}

double records_kolmogorov(const struct records_fit *fit, const struct records_curve *curve)
{
    double farthest = 0;
    bool whole = records_fit_is_count(fit->shape);
    for (int s = 0; s < curve->n; s++) {
        double before = s > 0 ? curve->sound[s - 1] : 1, from = whole ? curve->from[s] - 1 : curve->from[s];
        double at_from = records_survival(fit, from), at_until = records_survival(fit, curve->until[s]);
        farthest = fmax(farthest, fmax(fabs(before - at_from), fabs(curve->sound[s] - at_until)));
    }
    return farthest;
}
