/* pcg.c: the parts of the generator and of addresses that are not on the hot path. */
#include "chance/chance.h"

#include <gsl/gsl_errno.h>

void chance_start(void)
{
    gsl_set_error_handler_off();
}

struct chance_pcg chance_pcg_seeded(uint64_t initstate, uint64_t initseq)
{
    struct chance_pcg pcg = { 0, initseq << 1 | 1u };
    (void)chance_pcg_next(&pcg);
    pcg.state += initstate;
    (void)chance_pcg_next(&pcg);
    return pcg;
}

/* n steps of s -> a s + c are one step s -> A s + C c; those of 2n follow from those of n (Brown 1994). */
struct chance_jump chance_jump(uint64_t steps)
{
    struct chance_jump all = { 1, 0 }, some = { CHANCE_PCG_MULTIPLIER, 1 };
    for (; steps > 0; steps >>= 1) {
        if (steps & 1) {
            all.multiplier *= some.multiplier;
            all.sum = all.sum * some.multiplier + some.sum;
        }
        some.sum *= some.multiplier + 1;
        some.multiplier *= some.multiplier;
    }
    return all;
}

void chance_pcg_advance(struct chance_pcg *pcg, uint64_t steps)
{
    *pcg = chance_jumped(*pcg, chance_jump(steps));
}

BASE_VECTOR void (chance_happens_at)(const struct chance_bernoulli *b, struct chance_pcg pcg,
                                     const struct chance_jump *restrict jump, int n, uint8_t *restrict happens)
{
    const struct chance_bernoulli chance = *b;
    for (int i = 0; i < n; i++)
        happens[i] = chance_happens(&chance, chance_pcg_output(pcg.state * jump[i].multiplier + pcg.inc * jump[i].sum));
}

uint64_t chance_stream_key(const char *entity, unsigned purpose)
{
    uint64_t key = chance_mix((uint64_t)purpose + 0x9e3779b97f4a7c15u);
    for (const unsigned char *c = (const unsigned char *)entity; *c; c++)
        key = chance_mix((key ^ *c) + 0x9e3779b97f4a7c15u);
    return key;
}

uint64_t chance_word(double u)
{
    if (!(u > 0.0))
        return 0;
    if (u >= 1.0)
        return UINT64_MAX;
    return (uint64_t)(u * 0x1p64);
}

struct chance_bernoulli chance_bernoulli(double p)
{
    if (p >= 1.0)
        return (struct chance_bernoulli){ 1, 0 };
    return (struct chance_bernoulli){ chance_word(p), UINT64_MAX };
}
