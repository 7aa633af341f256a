/* count.h: laid before every source file of a build that counts draws (-include): words drawn, and quantiles looked up. */
#ifndef BENCH_COUNT_H
#define BENCH_COUNT_H
#define chance_pcg_next bench_bare_next
#define chance_draw bench_bare_draw
#include "chance/chance.h"
#undef chance_pcg_next
#undef chance_draw

extern uint64_t bench_words, bench_lookups;

static inline uint64_t chance_pcg_next(struct chance_pcg *pcg)
{
    bench_words++;
    return bench_bare_next(pcg);
}

#define chance_happens_at(b, pcg, jump, n, happens) \
    (bench_words += (uint64_t)(n), (chance_happens_at)(b, pcg, jump, n, happens))

static inline double chance_draw(const struct chance_table *table, uint64_t word)
{
    bench_lookups += table->kind != CHANCE_CONSTANT;
    return bench_bare_draw(table, word);
}

#endif
