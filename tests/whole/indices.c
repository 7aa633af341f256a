/* indices.c: the program's own estimator of indices on values from elsewhere. Arguments: trials, groups; standard input, a trial a line:
 * f(A), f(B), f(AB_i) of each group. Prints first low high total low high for each group. */
#include "decide/sobol.h"

#include <stdlib.h>

enum { MOST_GROUPS = 16 };

int main(int argc, char **argv)
{
    long trials = argc == 3 ? atol(argv[1]) : 0;
    int groups = argc == 3 ? atoi(argv[2]) : 0;
    struct base_arena arena = { 0 };
    struct decide_sobol sobol;
    if (trials < 1 || groups < 1 || groups > MOST_GROUPS || !decide_sobol_make(&arena, groups, &sobol))
        return 2;
    for (long t = 0; t < trials; t++) {
        double a, b, ab[MOST_GROUPS];
        if (scanf("%lf %lf", &a, &b) != 2)
            return 2;
        for (int g = 0; g < groups; g++)
            if (scanf("%lf", &ab[g]) != 1)
                return 2;
        decide_sobol_add(&sobol, (uint64_t)t, (uint64_t)trials, a, b, ab);
    }
    for (int g = 0; g < groups; g++) {
        struct decide_index first = decide_sobol_first(&sobol, g), total = decide_sobol_total(&sobol, g);
        printf("%.17g %.17g %.17g %.17g %.17g %.17g\n", first.value, first.low, first.high, total.value, total.low, total.high);
    }
    base_arena_free(&arena);
    return 0;
}
