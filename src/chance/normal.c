/* normal.c: standard normal scores as tables, and the Cholesky factor that joins three of them. */
#include "chance/inside.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* Phi from LEAST to LEAST + CELLS / PER_CELL, cells an exact binary fraction wide. */
enum { LEAST = -9, PER_CELL = 64, CELLS = 592, BITS = 26 };

static const struct chance_cdf_table *lower_tail(struct base_arena *arena)
{
    struct chance_cdf_table *table = base_arena_take(arena, sizeof *table);
    double (*cubic)[4] = base_arena_array(arena, CELLS, sizeof *cubic);
    if (!table || !cubic)
        return NULL;
    const double h = 1.0 / PER_CELL, per_root_two_pi = 0.39894228040143267794;
    double v[CELLS + 1], m[CELLS + 1];
    for (int i = 0; i <= CELLS; i++) {
        double z = LEAST + h * i;
        v[i] = chance_round_bits(gsl_cdf_ugaussian_P(z), BITS);
        m[i] = chance_round_bits(h * per_root_two_pi * exp(-0.5 * z * z), BITS);
    }
    for (int i = 0; i < CELLS; i++)
        chance_cubic(v[i], v[i + 1], m[i], m[i + 1], cubic[i]);
    *table = (struct chance_cdf_table){
        .kind = CHANCE_CURVE, .least = LEAST, .most = LEAST + h * CELLS, .per_cell = PER_CELL, .n = CELLS,
        .cubic = (const double (*)[4])cubic
    };
    return table;
}

const struct chance_normal *chance_normal_make(struct base_arena *arena)
{
    const struct scenario_distribution spec = { .set = true, .shape = SCENARIO_NORMAL, .a = { 0.0, 1.0 } };
    struct base_complaints complaints = { .errors = 0 };
    struct chance_normal *normal = base_arena_take(arena, sizeof *normal);
    const struct chance_distribution *d = chance_make(arena, &spec, &complaints);
    const struct chance_table *table = d ? chance_table_make(arena, d) : NULL;
    base_complaints_free(&complaints);
    if (!normal || !table)
        return NULL;
    normal->score = table->cubic;
    normal->lower = lower_tail(arena);
    return normal->lower ? normal : NULL;
}

uint64_t chance_normal_word(const struct chance_normal *normal, double z)
{
    uint64_t nearer = chance_word(chance_cdf_at(normal->lower, z > 0.0 ? -z : z));
    return z > 0.0 ? ~nearer : nearer;
}

bool chance_cholesky(const double correlation[3][3], double lower[3][3])
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            double sum = correlation[i][j];
            lower[i][j] = 0.0;
            for (int k = 0; k < j && j <= i; k++)
                sum -= lower[i][k] * lower[j][k];
            if (j == i && !(sum > 1e-12))
                return false;
            if (j <= i)
                lower[i][j] = j == i ? sqrt(sum) : sum / lower[j][j];
        }
    return true;
}
