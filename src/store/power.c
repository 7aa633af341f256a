/* power.c: a power of two that is the same on every machine. */
#include "store/internal.h"

double store_power_of_2(double x)
{
    if (!(x > -1000))
        return 0.0;
    int whole = (int)x - 1;                     /* x <= 0, so that 0 <= part <= 1 */
    double part = x - whole, y = part * 0.69314718055994530942;
    double sum = 1.0;                           /* the series of exp, from its far end */
    for (int k = 18; k >= 1; k--)
        sum = 1.0 + sum * y / k;
    for (; whole < 0; whole++)
        sum *= 0.5;
    return sum;
}
