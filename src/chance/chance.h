/* chance.h: PCG, addresses, distributions and their tables. Knows nothing of what the numbers are for. */
#ifndef TIDEOVER_CHANCE_H
#define TIDEOVER_CHANCE_H

#include "base/side.h"
#include "scenario/scenario.h"

/* Once, first thing in main: turns GSL's error handler off, which is a setting of the whole process (GSL
 * would otherwise abort on a domain error or an underflow; this room looks at the results itself). */
void chance_start(void);

/* ---- the generator ---------------------------------------------------------------------------
 * PCG-RXS-M-XS 64/64 with selectable streams (O'Neill 2014, HMC-CS-2014-0905, sections 6.3.4 and 5.5):
 * 64 bits of state, 64 bits out. Written from the paper. */

struct chance_pcg { uint64_t state, inc; };

/* Changes when the same random seed would give other futures. */
enum { CHANCE_STREAM_VERSION = 1 };

#define CHANCE_PCG_MULTIPLIER 6364136223846793005u

/* The word that a state gives. Two shifts for one by (state >> 59) + 5: a sum would be made an int, which vector instructions
 * take long to make wide again. */
static inline uint64_t chance_pcg_output(uint64_t state)
{
    uint64_t word = ((state >> 5 >> (state >> 59)) ^ state) * 12605985483714917081u;
    return (word >> 43) ^ word;
}

static inline uint64_t chance_pcg_next(struct chance_pcg *pcg)
{
    uint64_t s = pcg->state;
    pcg->state = s * CHANCE_PCG_MULTIPLIER + pcg->inc;
    return chance_pcg_output(s);
}

/* Passes a word over. */
static inline void chance_pcg_skip(struct chance_pcg *pcg)
{
    pcg->state = pcg->state * CHANCE_PCG_MULTIPLIER + pcg->inc;
}

/* Seeds as the paper does: state 0, step, add initstate, step; inc = 2 initseq + 1. */
struct chance_pcg chance_pcg_seeded(uint64_t initstate, uint64_t initseq);
/* Moves on by `steps` in O(log steps) (Brown 1994, "Random Number Generation with Arbitrary Strides"). */
void chance_pcg_advance(struct chance_pcg *pcg, uint64_t steps);

/* A move of so many steps made once for many streams: state * multiplier + inc * sum. */
struct chance_jump { uint64_t multiplier, sum; };
struct chance_jump chance_jump(uint64_t steps);
static inline struct chance_pcg chance_jumped(struct chance_pcg pcg, struct chance_jump jump)
{
    pcg.state = pcg.state * jump.multiplier + pcg.inc * jump.sum;
    return pcg;
}

/* ---- addresses ---------------------------------------------------------------------------------
 * A draw's address is (random seed, trial, season, entity name, purpose; unit, index). Everything before
 * the semicolon is hashed into both words of a stream; unit and index are the position in it: unit u
 * begins at u * CHANCE_UNIT_STRIDE. The stride is odd, so that the multiplier over a stride is as good as
 * the generator's. */

enum { CHANCE_UNIT_STRIDE = 4099 };

/* A good 64-bit mixer (a bijection: Stafford's variant 13 of the murmur3 finaliser, as used by
 * SplitMix64). */
static inline uint64_t chance_mix(uint64_t x)
{
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
    return x ^ (x >> 31);
}

/* Key of an entity's purpose: a 64-bit hash of the name's bytes and the purpose's number. */
uint64_t chance_stream_key(const char *entity, unsigned purpose);

/* Key of one trial's season (season may be negative: -1 is the one before the time line). */
static inline uint64_t chance_season_key(uint64_t random_seed, uint64_t trial, int season)
{
    uint64_t k = chance_mix(random_seed + 0x9e3779b97f4a7c15u);
    k = chance_mix(k ^ (trial + 0xd1b54a32d192ed03u));
    return chance_mix(k ^ ((uint64_t)(int64_t)season * 0x9e3779b97f4a7c15u + 0x8cb92ba72f3d8dd7u));
}

static inline struct chance_pcg chance_stream(uint64_t season_key, uint64_t stream_key)
{
    uint64_t k = chance_mix(season_key ^ stream_key);
    return (struct chance_pcg){ chance_mix(k + 0x9e3779b97f4a7c15u),
                                chance_mix(k + 0x3c6ef372fe94f82au) | 1u };
}

/* The same of n seasons. */
void chance_stream_row(const uint64_t *season_key, uint64_t stream_key, int n, uint64_t *state,
                       uint64_t *inc);

/* With a the multiplier and all modulo 2^64: a^4099 and (a^4099 - 1)/(a - 1), the sum of a^0 .. a^4098. */
#define CHANCE_STRIDE_MULTIPLIER 0x2fc1fb4f011068f5u
#define CHANCE_STRIDE_INCREMENT 0x4f0a1aa10d5b9d17u

/* The same stream at the next unit: one multiply and add (constants checked in the tests against advance). */
static inline struct chance_pcg chance_next_unit(struct chance_pcg at_unit)
{
    at_unit.state = at_unit.state * CHANCE_STRIDE_MULTIPLIER + at_unit.inc * CHANCE_STRIDE_INCREMENT;
    return at_unit;
}

/* 64 bits to a uniform in (0,1): 52 bits and a half (with 53 the last half would round up to 1). */
static inline double chance_uniform(uint64_t x) { return ((double)(x >> 12) + 0.5) * 0x1p-52; }
/* A uniform in (0,1) back to 64 bits, so that chance_uniform(chance_word(u)) is u up to 2^-53; all zeros for
 * u <= 0, all ones for u >= 1. */
uint64_t chance_word(double u);
/* The same for n uniforms. */
void chance_word_row(const double *u, int n, uint64_t *word);
/* What happens with chance p: where the bits of a word that are read are below a threshold (p <= 0: never; p >= 1: none are read,
 * and it always happens). */
struct chance_bernoulli { uint64_t below, read; };
struct chance_bernoulli chance_bernoulli(double p);
static inline bool chance_happens(const struct chance_bernoulli *b, uint64_t x)
{
    return (x & b->read) < b->below;
}

/* Whether it happens at each of n jumps of a stream, 0 or 1. */
void chance_happens_at(const struct chance_bernoulli *b, struct chance_pcg pcg, const struct chance_jump *jump, int n,
                       uint8_t *happens);

/* ---- the Sobol sequence ---------------------------------------------------------------------------
 * Trial t is point t / CHANCE_REPLICATES of replicate t % CHANCE_REPLICATES of the Sobol sequence (Sobol 1967, USSR
 * Computational Mathematics and Mathematical Physics 7(4):86-112; direction numbers of Joe & Kuo 2008). Each replicate and
 * dimension is scrambled on its own by a random lower triangular matrix over {0, 1} (Matousek 1998, Journal of Complexity
 * 14:527-556) and a random digital shift: each word is uniform, and the variance of a mean is that of Owen's nested uniform
 * scrambling (Owen 2003, ACM TOMACS 13:363-378). */

enum { CHANCE_REPLICATES = 16, CHANCE_SOBOL_DIMENSIONS = 256, CHANCE_SOBOL_BITS = 31 };

/* What scrambling leaves of the directions; immutable. */
struct chance_sobol {
    int dimensions;
    const uint64_t *shift;        /* [dimension * CHANCE_REPLICATES + replicate] */
    const uint64_t *direction;    /* [(dimension * CHANCE_SOBOL_BITS + bit of the point's number) * CHANCE_REPLICATES + replicate] */
};

/* Direction numbers of a dimension (0 .. CHANCE_SOBOL_DIMENSIONS - 1): number b is XORed into the points whose number has bit b;
 * the highest of a word's bits is worth 1/2. */
void chance_sobol_directions(int dimension, uint64_t direction[CHANCE_SOBOL_BITS]);
/* Scrambles the first so many dimensions. False when memory runs out. */
bool chance_sobol_make(struct base_arena *arena, uint64_t random_seed, uint64_t stream_key, int dimensions,
                       struct chance_sobol *sobol);
/* A dimension's words of n trials: first, first + 1 ... */
void chance_sobol_row(const struct chance_sobol *sobol, int dimension, uint64_t first, int n, uint64_t word[BASE_SIDE]);

/* ---- exact distributions (GSL; slow, may be used at setting-up only) ---------------------------- */

struct chance_distribution;   /* opaque, from an arena, immutable */

/* Judges and prepares (`arena` keeps what is returned; freed with it): feasibility of triplets (after log
 * or logit; Keelin 2016, Decision Analysis 13(4)), parameters, cut-offs (renormalised), mass beyond the
 * natural bound (more than 1e-6: error; less: cut off), variance of the tail. Everything wrong is
 * complained of with the setting's origin and says what would do instead; then NULL is returned, as it is
 * when memory runs out (complaints->out_of_memory). */
const struct chance_distribution *chance_make(struct base_arena *arena,
                                              const struct scenario_distribution *spec,
                                              struct base_complaints *complaints);
/* Q(u), u in (0,1). Counts: smallest k with F(k) >= u. */
double chance_quantile(const struct chance_distribution *d, double u);
/* The same from the upper tail, Q(1-s), exact for tiny s (whole-number shapes: down to 1e-30). */
double chance_upper_quantile(const struct chance_distribution *d, double s);
/* P(X <= x), P(X < x) and P(X > x), the last exact in the far tail. */
double chance_cdf(const struct chance_distribution *d, double x);
double chance_below(const struct chance_distribution *d, double x);
double chance_survival(const struct chance_distribution *d, double x);
/* Smallest and greatest possible value (may be infinite), mean and standard deviation (by formula or
 * quadrature). */
void chance_support(const struct chance_distribution *d, double *least, double *most);
double chance_mean(const struct chance_distribution *d);
double chance_sd(const struct chance_distribution *d);

/* ---- quantile tables: what the trials use ------------------------------------------------------
 * Deterministic: built from the exact quantiles rounded to about 2^-26 of the distribution's spread (so
 * that the last digits of a library's functions, which differ between processors, never reach a result),
 * evaluated with + - * / only. The word stands for the uniform word / 2^64, its complement for the upper
 * tail's mass.
 *
 * Monotone in the word, adjacent words included: each cell's cubic has a derivative of at least 1/64 of
 * the sum of its coefficients' sizes, and t has 44 bits, so that a step in t outweighs the rounding of
 * four operations.
 *
 * Error at most 1e-6 of the larger of the distance from the median and the spread, over 1e-9 .. 1-1e-9;
 * the spread is the larger of the width of the middle eight tenths and a sixteenth of the standard
 * deviation. Below 2^-44 and above 1-2^-44 the curve is level. */

enum chance_table_kind {
    CHANCE_CONSTANT,
    CHANCE_CURVE,      /* smooth quantile functions: cubics on cells that halve towards both ends */
    CHANCE_CELLS,      /* the same with cells divided further (kinks, steep places), or rounded to wholes */
    CHANCE_STEPS,      /* whole-number shapes: a guide table, then a search among the cumulative words */
    CHANCE_POINTS,     /* records as they are: x[floor(n u)] of the sorted */
    CHANCE_LINES       /* piecewise linear between knots evenly spaced in u (smooth records, uniform) */
};

enum { CHANCE_SUBCELLS = 16, CHANCE_OCTAVES = 43, CHANCE_GUIDES = 256,
       CHANCE_CELLS_N = CHANCE_OCTAVES * 2 * CHANCE_SUBCELLS };

struct chance_table {
    enum chance_table_kind kind;
    bool whole;                     /* CELLS, LINES: rounded to the nearest whole number */
    double constant;
    const double (*cubic)[4];       /* CURVE, CELLS: [chance_cell], t in [0,1) */
    const uint32_t *divided;        /* CELLS: cell c's divisions are divided[c] until divided[c+1] */
    const double (*part)[5];        /* CELLS: t at which a division begins, then its cubic */
    size_t n;                       /* STEPS, POINTS, LINES: of values */
    const double *values;
    const uint64_t *cumulative;     /* STEPS: value k is drawn for words < cumulative[k] (last: the rest) */
    const uint32_t *guide;          /* STEPS: first k to look at for the word's top 8 bits; then the last */
    double from, width;             /* LINES: place among the knots is from + width * u */
    double least, most;             /* LINES: nothing beyond these */
};

/* Cell of a word and the place t in [0,1) in it. Cell = (octave * 2 + upper) * CHANCE_SUBCELLS + subcell. */
static inline size_t chance_cell(uint64_t word, double *t)
{
    uint64_t upper = word >> 63;
    uint64_t y = word ^ (0 - upper);                 /* distance from the nearer end, below 2^63 */
    y = y > (UINT64_C(1) << 20) ? y : UINT64_C(1) << 20;
    unsigned z = (unsigned)__builtin_clzll(y);       /* 1 .. CHANCE_OCTAVES */
    y <<= z;                                         /* the leading one is now bit 63 */
    *t = (double)(int64_t)((y << 5) >> 20) * 0x1p-44;
    return (((size_t)(z - 1) * 2 + upper) * CHANCE_SUBCELLS) + ((y >> 59) & 15u);
}

static inline double chance_curve(const double (*cubic)[4], uint64_t word)
{
    double t;
    const double *c = cubic[chance_cell(word, &t)];
    return c[0] + t * (c[1] + t * (c[2] + t * c[3]));
}

/* Every kind but CHANCE_CURVE and CHANCE_CONSTANT. */
double chance_draw_other(const struct chance_table *table, uint64_t word);

/* The quantile at the uniform that `word` stands for. */
static inline double chance_draw(const struct chance_table *table, uint64_t word)
{
    if (table->kind == CHANCE_CURVE)
        return chance_curve(table->cubic, word);
    if (table->kind == CHANCE_CONSTANT)
        return table->constant;
    return chance_draw_other(table, word);
}

/* The same for n words; of a curve. */
void chance_curve_row(const double (*cubic)[4], const uint64_t *word, int n, double *out);
void chance_draw_row(const struct chance_table *table, const uint64_t *word, int n, double *out);

/* Builds (about 0.1 to 1 ms); NULL when memory runs out. Continuous shapes drawn for counts are rounded
 * to the nearest whole after the cut-off (halves up); dates likewise to the nearest day. Shapes with
 * kinks in their quantile function (triangular, cut-off records) keep their accuracy. */
const struct chance_table *chance_table_make(struct base_arena *arena, const struct chance_distribution *d);

/* A value given that it exceeds `age` (age >= 0): Q of the upper tail, Q(1 - v S(age)), v uniform in
 * (0,1). Exact, slow; for the few counted fruits and jars of a shelf. The result's last digits are
 * rounded to 2^-26 relative. Where chance_survival(d, age) is 0 nothing can be that old, which the caller
 * must have said: NaN. */
double chance_quantile_given(const struct chance_distribution *d, double age, double v);

/* Distribution function as a table: at most 1e-7 absolute error, monotone, 0 and 1 outside the support. */
struct chance_cdf_table {
    enum chance_table_kind kind;    /* CURVE (even cells), CELLS (uneven ones), STEPS (whole numbers and
                                     * records: exact), LINES (smooth records, uniform: exact) */
    double least, most, per_cell;   /* 1 / cell width */
    size_t n;
    const double (*cubic)[4];       /* CURVE, CELLS */
    const double *values;           /* STEPS: points; LINES: knots; CELLS: where cells begin, and `most` */
    const double *cumulative;       /* STEPS, LINES: P(X <= values[i]) */
};
/* Builds; NULL when memory runs out. */
const struct chance_cdf_table *chance_cdf_table_make(struct base_arena *arena,
                                                     const struct chance_distribution *d);
/* Every kind but CHANCE_CURVE. */
double chance_cdf_steps(const struct chance_cdf_table *table, double x);
static inline double chance_cdf_at(const struct chance_cdf_table *table, double x)
{
    if (table->kind != CHANCE_CURVE)
        return chance_cdf_steps(table, x);
    if (!(x > table->least))
        return 0.0;
    if (x >= table->most)
        return 1.0;
    double at = (x - table->least) * table->per_cell;
    size_t cell = (size_t)at;
    double t = at - (double)cell;
    const double *c = table->cubic[cell < table->n ? cell : table->n - 1];
    return c[0] + t * (c[1] + t * (c[2] + t * c[3]));
}

/* The same for n values. */
void chance_cdf_row(const struct chance_cdf_table *table, const double *x, int n, double *p);

/* Standard normal scores: quantile by chance_curve(score, word); distribution function as a word. */
struct chance_normal {
    const double (*score)[4];
    const struct chance_cdf_table *lower; /* Phi over -9 .. 1/4 */
};
/* NULL when memory runs out. */
const struct chance_normal *chance_normal_make(struct base_arena *arena);
/* Word of the uniform Phi(z), monotone in z: relative accuracy 1e-6 of the nearer tail's mass to 1e-9. */
uint64_t chance_normal_word(const struct chance_normal *normal, double z);
/* The same for n scores. */
void chance_normal_word_row(const struct chance_normal *normal, const double *z, int n, uint64_t *word);
/* Cholesky factor (lower) of a 3x3 correlation matrix; false when it is not positive definite. */
bool chance_cholesky(const double correlation[3][3], double lower[3][3]);

#endif
