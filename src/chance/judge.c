/* judge.c: what is wrong with a distribution as written, and judgements that several shapes share. */
#include "chance/inside.h"

#include <stdarg.h>
#include <stdio.h>

bool chance_wrong(struct chance_judge *judge, const char *format, ...)
{
    char text[600];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    const struct scenario_origin *origin = &judge->spec->origin;
    base_complain(judge->complaints, BASE_ERROR, origin->file, origin->line, origin->path, "%s", text);
    judge->wrong = true;
    return false;
}

bool chance_no_memory(struct chance_judge *judge)
{
    judge->complaints->out_of_memory = true;
    judge->wrong = true;
    return false;
}

bool chance_three_in_order(struct chance_judge *judge)
{
    const double *a = judge->spec->a;
    if (!(a[0] < a[2]))
        return chance_wrong(judge, "low must be less than high");
    if (a[1] < a[0] || a[1] > a[2])
        return chance_wrong(judge, "mode must lie from low to high");
    return true;
}

bool chance_positive_mean_sd(struct chance_judge *judge)
{
    const double *a = judge->spec->a;
    if (!(a[0] > 0.0))
        return chance_wrong(judge, "mean is %g, but must be greater than 0", a[0]);
    if (!(a[1] > 0.0))
        return chance_wrong(
            judge, "sd is %g, but must be greater than 0 (give a plain number for what is certain)", a[1]);
    return true;
}
