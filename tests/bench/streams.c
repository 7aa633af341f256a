/* streams.c: words for a public battery, in the orders in which trials use them: `streams ORDER` writes 32-bit halves of words to
 * standard output for ever. Orders: row (one stream in a row), trials, units, seasons, seeds, names: the first word of each of a
 * great number of neighbouring streams. */
#include "chance/chance.h"

#include <stdio.h>
#include <string.h>

enum { WORDS = 4096 };

static uint64_t word_of(const char *order, uint64_t i)
{
    uint64_t key = chance_stream_key("wigwams", 3), season = chance_season_key(4201, 17, 0);
    if (strcmp(order, "trials") == 0)
        season = chance_season_key(4201, i, 0);
    else if (strcmp(order, "seasons") == 0)
        season = chance_season_key(4201, i >> 6, (int)(i & 63));
    else if (strcmp(order, "seeds") == 0)
        season = chance_season_key(i, 17, 0);
    else if (strcmp(order, "names") == 0) {
        char name[32];
        snprintf(name, sizeof name, "planting_%llu", (unsigned long long)(i >> 3));
        key = chance_stream_key(name, (unsigned)(i & 7) + 1);
    }
    struct chance_pcg pcg = chance_stream(season, key);
    return chance_pcg_next(&pcg);
}

int main(int argc, char **argv)
{
    const char *order = argc > 1 ? argv[1] : "row";
    struct chance_pcg row = chance_stream(chance_season_key(4201, 17, 0), chance_stream_key("wigwams", 3)), unit = row;
    uint64_t block[WORDS];
    for (uint64_t i = 0;;) {
        for (int w = 0; w < WORDS; w++, i++) {
            if (strcmp(order, "row") == 0)
                block[w] = chance_pcg_next(&row);
            else if (strcmp(order, "units") == 0) {
                struct chance_pcg at = unit;
                block[w] = chance_pcg_next(&at);
                unit = chance_next_unit(unit);
            } else
                block[w] = word_of(order, i);
        }
        if (fwrite(block, sizeof block, 1, stdout) != 1)
            return 0;
    }
}
