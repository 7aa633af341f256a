/* curve.c: a continuous quantile function as cubics on cells that halve towards both ends; where a cell
 * is not enough (a kink, a steep place), it is divided. */
#include "chance/inside.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* Nodes from the median (0) outwards to mass 2^-44. */
enum { NODES = CHANCE_OCTAVES * CHANCE_SUBCELLS + 1, NODE_NEAR_TENTH = 40, MOST_DIVISIONS = 24 };

/* Error aimed at, of the larger of the spread and the distance from the median; the promise is 1e-6. */
#define AIM 5e-7
/* Beyond 1e-9 nothing is promised. */
#define AIM_FAR 1e-5
#define FAR_MASS 0x1p-31

/* Quantiles and their derivatives by the mass of the end that they are nearer to, and the third derivative of the cubic
 * between each node and the one before. */
struct side { double x[NODES], slope[NODES], third[NODES]; };

struct draft {
    const struct chance_distribution *d;
    struct side side[2];            /* lower, upper */
    double mass[NODES];
    struct chance_mass at[NODES];
    double median, spread, grid;
    double (*part)[5];              /* divisions so far */
    size_t parts, room;
    bool no_memory;
};

/* ---- cubics ------------------------------------------------------------------------------------- */

static void hermite(double v0, double rise, double m0, double m1, double c[4])
{
    c[0] = v0;
    c[1] = m0;
    c[2] = 3.0 * rise - 2.0 * m0 - m1;
    c[3] = m0 + m1 - 2.0 * rise;
}

/* Least derivative in the rise's direction is at least a 64th of the coefficients' sum: see the header. */
static bool rises_enough(const double c[4], double rise)
{
    double sign = rise > 0.0 ? 1.0 : -1.0, sum = fabs(c[1]) + fabs(c[2]) + fabs(c[3]);
    double least = fmin(sign * c[1], sign * (c[1] + 2.0 * c[2] + 3.0 * c[3]));
    double turn = -c[2] / (3.0 * c[3]);
    if (turn > 0.0 && turn < 1.0)
        least = fmin(least, sign * (c[1] + turn * (2.0 * c[2] + 3.0 * turn * c[3])));
    return isfinite(sum) && least >= sum / 64.0;
}

/* An end's derivative as a share of the mean one, drawn into the square in which a cubic is monotone
 * (Fritsch & Carlson 1980, "Monotone Piecewise Cubic Interpolation", SIAM J. Numer. Anal. 17(2):238-246:
 * both squares' sum at most 9), less a margin. */
static double drawn_in(double m, double rise)
{
    double share = m / rise;
    if (isnan(share))
        return rise;
    return rise * (share < 0.15 ? 0.15 : share > 2.0 ? 2.0 : share);
}

void chance_cubic(double v0, double v1, double m0, double m1, double c[4])
{
    double rise = v1 - v0;
    hermite(v0, rise, m0, m1, c);
    if (rise != 0.0 && rises_enough(c, rise))
        return;
    if (rise != 0.0) {
        hermite(v0, rise, drawn_in(m0, rise), drawn_in(m1, rise), c);
        if (rises_enough(c, rise))
            return;
    }
    hermite(v0, rise, rise, rise, c);
}

double chance_cubic_at(const double c[4], double t)
{
    return c[0] + t * (c[1] + t * (c[2] + t * c[3]));
}

/* ---- nodes -------------------------------------------------------------------------------------- */

static double node_mass(int m)
{
    if (m == 0)
        return 0.5;
    int octave = (m - 1) / CHANCE_SUBCELLS, subcell = CHANCE_SUBCELLS - 1 - (m - 1) % CHANCE_SUBCELLS;
    return ldexp(1.0 + (double)subcell / CHANCE_SUBCELLS, -(octave + 2));
}

static double cell_width(const struct draft *draft, int m) { return draft->mass[m - 1] - draft->mass[m]; }

/* Third derivative of the cubic between nodes m and m-1. */
static double third(const struct draft *draft, const struct side *side, int m)
{
    double h = cell_width(draft, m), fall = side->x[m] - side->x[m - 1];
    return 6.0 * (2.0 * fall + h * (side->slope[m] + side->slope[m - 1])) / (h * h * h);
}

static double within(const struct chance_distribution *d, double x)
{
    return x < d->least ? d->least : x > d->most ? d->most : x;
}

static struct chance_mass mass_at(const struct chance_distribution *d, bool upper, double mass)
{
    return upper ? chance_uncut(d, 1.0 - mass, mass) : chance_uncut(d, mass, 1.0 - mass);
}

static void fill_side(struct draft *draft, bool upper)
{
    const struct chance_distribution *d = draft->d;
    struct side *side = &draft->side[upper];
    for (int m = 0; m < NODES; m++)
        draft->at[m] = mass_at(d, upper, draft->mass[m]);
    if (d->family->line)
        chance_line_march(d, NODES, draft->at, side->x, side->slope);
    for (int m = 0; m < NODES; m++) {
        if (!d->family->line) {
            side->x[m] = d->family->quantile(d, draft->at[m].p, draft->at[m].s);
            side->slope[m] = d->family->slope(d, draft->at[m].p, draft->at[m].s, side->x[m]);
        }
        side->x[m] = within(d, side->x[m]);
        side->slope[m] *= upper ? -d->kept : d->kept;
    }
    for (int m = 1; m < NODES; m++)
        side->third[m] = third(draft, side, m);
}

/* The larger of the middle eight tenths' width and a sixteenth of the standard deviation, a little more
 * than true so that round figures stand clear of the powers of two at which the grid changes. */
static double spread_of(const struct draft *draft)
{
    double width = draft->side[1].x[NODE_NEAR_TENTH] - draft->side[0].x[NODE_NEAR_TENTH], square = 0.0;
    for (int upper = 0; upper < 2; upper++)
        for (int m = 1; m < NODES; m++) {
            double near = draft->side[upper].x[m - 1] - draft->median,
                   far = draft->side[upper].x[m] - draft->median;
            square += 0.5 * cell_width(draft, m) * (near * near + far * far);
        }
    double spread = 1.037 * fmax(width, sqrt(square) / 16.0);
    return spread > DBL_MIN ? spread : DBL_MIN;
}

static void set_scale(struct draft *draft)
{
    int exponent;
    draft->median = draft->side[0].x[0];
    draft->spread = spread_of(draft);
    frexp(draft->spread, &exponent);
    draft->grid = ldexp(1.0, exponent - 25);
}

/* To the grid, or to 48 bits where that is coarser; never beyond the support. */
static double snapped(const struct draft *draft, double x)
{
    int exponent;
    double step = draft->grid;
    if (!(fabs(x) < 0x1p48 * step)) {
        frexp(x, &exponent);
        step = ldexp(1.0, exponent - 48);
    }
    double to = floor(x / step + 0.5) * step;
    if (to > draft->d->most)
        return to - step;
    return to < draft->d->least ? to + step : to;
}

static void snapped_cubic(const struct draft *draft, double x0, double x1, double m0, double m1, double c[4])
{
    double v0 = snapped(draft, x0), v1 = snapped(draft, x1), step = draft->grid;
    chance_cubic(v0, v1, floor(m0 / step + 0.5) * step, floor(m1 / step + 0.5) * step, c);
}

/* ---- errors and divisions ----------------------------------------------------------------------- */

static double allowed(const struct draft *draft, double mass, double x)
{
    return (mass < FAR_MASS ? AIM_FAR : AIM) * fmax(draft->spread, fabs(x - draft->median));
}

/* Error of the cubic by the fourth derivative, |f''''| h^4/384, itself from the jump of the third to a
 * neighbour. Of a smooth function the third derivative changes by less than itself from cell to cell; where
 * it jumps there is a kink, whose error is up to 4/27 of h^3/6 of the jump, ten times as much. */
static double error_beside(const struct draft *draft, const struct side *side, int m, int neighbour)
{
    if (neighbour < 1 || neighbour >= NODES)
        return 0.0;
    double h = cell_width(draft, m), here = side->third[m], there = side->third[neighbour];
    double jump = fabs(here - there), apart = 0.5 * (h + cell_width(draft, neighbour));
    if (jump > 0.7 * fmax(fabs(here), fabs(there)))
        return jump * (h * h * h) * 4.0 / 162.0;
    return jump / apart * (h * h * h * h) / 384.0;
}

static bool suspicious(const struct draft *draft, const struct side *side, int m)
{
    double error = fmax(error_beside(draft, side, m, m - 1), error_beside(draft, side, m, m + 1));
    return !(error <= 0.25 * allowed(draft, draft->mass[m], side->x[m])) || !isfinite(side->slope[m]);
}

struct point { double mass, x, slope; };

static struct point point_at(const struct draft *draft, bool upper, double mass)
{
    const struct chance_distribution *d = draft->d;
    struct chance_mass at = mass_at(d, upper, mass);
    double x = d->family->quantile(d, at.p, at.s), slope = d->family->slope(d, at.p, at.s, x);
    return (struct point){ mass, within(d, x), upper ? -d->kept * slope : d->kept * slope };
}

static bool close_enough(const struct draft *draft, bool upper, const double c[4], const struct point *a,
                         const struct point *b)
{
    for (int i = 1; i < 16; i++) {
        double t = i / 16.0, mass = a->mass + t * (b->mass - a->mass);
        struct chance_mass at = mass_at(draft->d, upper, mass);
        double x = within(draft->d, draft->d->family->quantile(draft->d, at.p, at.s));
        if (!(fabs(chance_cubic_at(c, t) - x) <= allowed(draft, mass, x)))
            return false;
    }
    return true;
}

static void keep_part(struct draft *draft, double t, const double c[4])
{
    if (draft->parts == draft->room) {
        size_t room = draft->room ? 2 * draft->room : 64;
        double (*more)[5] = base_realloc(draft->part, room * sizeof *more);
        if (!more) {
            draft->no_memory = true;
            return;
        }
        draft->part = more;
        draft->room = room;
    }
    draft->part[draft->parts][0] = t;
    memcpy(draft->part[draft->parts++] + 1, c, 4 * sizeof *c);
}

/* Halves [t, t + width) of a cell until its cubics are close enough. */
static void divide(struct draft *draft, bool upper, const struct point *a, const struct point *b, double t,
                   double width, int left)
{
    double c[4], h = b->mass - a->mass;
    snapped_cubic(draft, a->x, b->x, h * a->slope, h * b->slope, c);
    if (draft->no_memory)
        return;
    if (left == 0 || close_enough(draft, upper, c, a, b)) {
        keep_part(draft, t, c);
        return;
    }
    struct point middle = point_at(draft, upper, a->mass + 0.5 * h);
    divide(draft, upper, a, &middle, t, 0.5 * width, left - 1);
    divide(draft, upper, &middle, b, t + 0.5 * width, 0.5 * width, left - 1);
}

/* One cell: its cubic, and its divisions where one is not enough. */
static void fill_cell(struct draft *draft, bool upper, int m, double c[4])
{
    const struct side *side = &draft->side[upper];
    size_t were = draft->parts;
    double h = cell_width(draft, m);
    snapped_cubic(draft, side->x[m], side->x[m - 1], h * side->slope[m], h * side->slope[m - 1], c);
    if (!suspicious(draft, side, m))
        return;
    struct point a = { draft->mass[m], side->x[m], side->slope[m] };
    struct point b = { draft->mass[m - 1], side->x[m - 1], side->slope[m - 1] };
    divide(draft, upper, &a, &b, 0.0, 1.0, MOST_DIVISIONS);
    if (draft->parts == were + 1)
        draft->parts = were;
}

static bool fill_cells(struct base_arena *arena, struct draft *draft, struct chance_table *table)
{
    double (*cubic)[4] = base_arena_array(arena, CHANCE_CELLS_N, sizeof *cubic);
    uint32_t *divided = base_arena_array(arena, CHANCE_CELLS_N + 1, sizeof *divided);
    if (!cubic || !divided)
        return false;
    for (int cell = 0; cell < CHANCE_CELLS_N; cell++) {
        int octave = cell / (2 * CHANCE_SUBCELLS), subcell = cell % CHANCE_SUBCELLS;
        divided[cell] = (uint32_t)draft->parts;
        fill_cell(draft, cell / CHANCE_SUBCELLS % 2 != 0, (octave + 1) * CHANCE_SUBCELLS - subcell,
                  cubic[cell]);
    }
    divided[CHANCE_CELLS_N] = (uint32_t)draft->parts;
    table->cubic = (const double (*)[4])cubic;
    if (draft->no_memory || draft->parts == 0)
        return !draft->no_memory;
    double (*part)[5] = base_arena_array(arena, draft->parts, sizeof *part);
    if (!part)
        return false;
    memcpy(part, draft->part, draft->parts * sizeof *part);
    table->part = (const double (*)[5])part;
    table->divided = divided;
    return true;
}

bool chance_curve_fill(struct base_arena *arena, const struct chance_distribution *d,
                       struct chance_table *table)
{
    struct draft *draft = base_alloc(sizeof *draft);
    if (!draft)
        return false;
    draft->d = d;
    for (int m = 0; m < NODES; m++)
        draft->mass[m] = node_mass(m);
    fill_side(draft, false);
    fill_side(draft, true);
    set_scale(draft);
    bool filled = fill_cells(arena, draft, table);
    base_free(draft->part);
    base_free(draft);
    return filled;
}
