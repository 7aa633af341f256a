/* salt.c: other luck for one crop's years. */
#include "plan/plan.h"

void plan_salt_year(struct plan *copy, int crop, uint64_t salt)
{
    copy->crops[crop].year_key = chance_mix(copy->crops[crop].year_key ^ chance_mix(salt));
}
