/* sobol.c: points of the Sobol sequence, scrambled. */
#include "chance/inside.h"

/* Where a dimension's numbers begin in the table; the first of them is its polynomial, *degree what that is of. */
static const uint16_t *numbers_of(int dimension, int *degree)
{
    const uint16_t *at = chance_sobol_table;
    for (int d = 1;; d++) {
        *degree = 31 - __builtin_clz(*at);
        if (d == dimension)
            return at;
        at += 1 + *degree;
    }
}

/* The recurrence of Sobol (1967) as Bratley & Fox (1988, ACM TOMS 14:88-100, section 2) have it, with direction numbers
 * m / 2^(b + 1) as words. */
void chance_sobol_directions(int dimension, uint64_t direction[CHANCE_SOBOL_BITS])
{
    int degree = 0;
    const uint16_t *numbers = dimension > 0 ? numbers_of(dimension, &degree) : NULL;
    for (int b = 0; b < CHANCE_SOBOL_BITS; b++) {
        if (b < degree || !numbers) {
            direction[b] = (uint64_t)(numbers ? numbers[1 + b] : 1) << (63 - b);
            continue;
        }
        direction[b] = direction[b - degree] ^ direction[b - degree] >> degree;
        for (int k = 1; k < degree; k++)
            if (numbers[0] >> (degree - k) & 1)
                direction[b] ^= direction[b - k];
    }
}

/* The product of a random lower triangular matrix, whose columns have their highest bit on the diagonal, and the directions, into
 * every CHANCE_REPLICATES-th word; the shift is the stream's first word. */
static uint64_t scramble(const uint64_t *direction, struct chance_pcg pcg, uint64_t *scrambled)
{
    uint64_t shift = chance_pcg_next(&pcg);
    for (int row = 0; row < CHANCE_SOBOL_BITS; row++) {
        uint64_t top = UINT64_C(1) << (63 - row), column = top | (chance_pcg_next(&pcg) & (top - 1));
        for (int b = 0; b < CHANCE_SOBOL_BITS; b++)
            scrambled[b * CHANCE_REPLICATES] ^= direction[b] & top ? column : 0;
    }
    return shift;
}

bool chance_sobol_make(struct base_arena *arena, uint64_t random_seed, uint64_t stream_key, int dimensions,
                       struct chance_sobol *sobol)
{
    const size_t n = (size_t)dimensions * CHANCE_REPLICATES;
    uint64_t *shift = base_arena_array(arena, n, sizeof *shift);
    uint64_t *scrambled = base_arena_array(arena, n * CHANCE_SOBOL_BITS, sizeof *scrambled);
    if (!shift || !scrambled)
        return false;
    for (int d = 0; d < dimensions; d++) {
        uint64_t direction[CHANCE_SOBOL_BITS];
        chance_sobol_directions(d, direction);
        for (int r = 0; r < CHANCE_REPLICATES; r++)
            shift[d * CHANCE_REPLICATES + r]
                = scramble(direction, chance_stream(chance_season_key(random_seed, (uint64_t)r, d), stream_key),
                           scrambled + d * CHANCE_SOBOL_BITS * CHANCE_REPLICATES + r);
    }
    *sobol = (struct chance_sobol){ dimensions, shift, scrambled };
    return true;
}

/* Words of replicates that stand side by side, all at the same point. */
BASE_VECTOR static void same_point(const uint64_t *restrict direction, const uint64_t *restrict shift, uint64_t point,
                                   uint64_t *restrict word)
{
    uint64_t sum[BASE_SIDE];
    for (int i = 0; i < BASE_SIDE; i++)
        sum[i] = shift[i];
    for (; point > 0; point &= point - 1) {
        const uint64_t *of = direction + __builtin_ctzll(point) * CHANCE_REPLICATES;
        for (int i = 0; i < BASE_SIDE; i++)
            sum[i] ^= of[i];
    }
    for (int i = 0; i < BASE_SIDE; i++)
        word[i] = sum[i];
}

void chance_sobol_row(const struct chance_sobol *sobol, int dimension, uint64_t first, int n, uint64_t word[BASE_SIDE])
{
    const uint64_t *shift = sobol->shift + dimension * CHANCE_REPLICATES;
    const uint64_t *direction = sobol->direction + dimension * CHANCE_SOBOL_BITS * CHANCE_REPLICATES;
    if (n == BASE_SIDE && first % BASE_SIDE == 0) {
        size_t replicate = first % CHANCE_REPLICATES;
        same_point(direction + replicate, shift + replicate, first / CHANCE_REPLICATES, word);
        return;
    }
    for (uint64_t i = 0; i < (uint64_t)n; i++) {
        size_t replicate = (first + i) % CHANCE_REPLICATES;
        word[i] = shift[replicate];
        for (uint64_t point = (first + i) / CHANCE_REPLICATES; point > 0; point &= point - 1)
            word[i] ^= direction[(size_t)__builtin_ctzll(point) * CHANCE_REPLICATES + replicate];
    }
}
