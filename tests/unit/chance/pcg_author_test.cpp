// The generator word for word against its author's own library: Debian's libpcg-cpp-dev, pcg_random.hpp,
// pcg_engines::setseq_rxs_m_xs_64_64 (PCG-RXS-M-XS 64/64 with selectable streams). Build with g++ (GNU
// dialect: the header under test is C).
extern "C" {
#include "chance/chance.h"
}

#include <cstdio>
#include <pcg_random.hpp>

// Returns the number of words that differ.
static long differences(uint64_t initstate, uint64_t initseq, uint64_t ahead, int words)
{
    struct chance_pcg ours = chance_pcg_seeded(initstate, initseq);
    pcg_engines::setseq_rxs_m_xs_64_64 theirs(initstate, initseq);
    chance_pcg_advance(&ours, ahead);
    theirs.advance(ahead);
    long wrong = 0;
    for (int i = 0; i < words; i++)
        wrong += chance_pcg_next(&ours) != theirs();
    return wrong;
}

int main()
{
    long wrong = differences(42, 54, 0, 1000000);
    for (uint64_t i = 0; i < 2000; i++) {
        uint64_t initstate = chance_mix(i), initseq = chance_mix(~i);
        wrong += differences(initstate, initseq, 0, 100);
        wrong += differences(initstate, initseq, CHANCE_UNIT_STRIDE * i, 20);
        wrong += differences(initstate, initseq, chance_mix(initseq), 20);
    }
    std::printf("%ld words differ from the author's library\n", wrong);
    return wrong != 0;
}
