/* tables.c: a distribution's tables, made once for all plans that have it. */
#include "plan/internal.h"

#include <string.h>

struct plan_shared_table {
    struct plan_shared_table *next;
    struct scenario_distribution spec;
    const struct chance_distribution *distribution;
    const struct chance_table *table;       /* NULL: not asked for yet */
    const struct chance_cdf_table *cdf;
};

static bool same_list(const double *a, const double *b, size_t n)
{
    return (!a && !b) || (a && b && memcmp(a, b, n * sizeof *a) == 0);
}

static bool same(const struct scenario_distribution *a, const struct scenario_distribution *b)
{
    return a->set == b->set && a->shape == b->shape && a->bound == b->bound && a->is_date == b->is_date && a->n == b->n
           && a->smooth == b->smooth && a->has_least == b->has_least && a->has_most == b->has_most
           && a->at_least == b->at_least && a->at_most == b->at_most && memcmp(a->a, b->a, sizeof a->a) == 0
           && same_list(a->list, b->list, a->n) && same_list(a->weights, b->weights, a->n);
}

/* The entry of a distribution, new if there is none; NULL with a complaint when it is wrong, or without memory. */
static struct plan_shared_table *entry_of(const struct plan_maker *make, const struct scenario_distribution *spec)
{
    struct plan_shared_table *entry = make->share ? make->share->tables : NULL;
    while (entry && !same(&entry->spec, spec))
        entry = entry->next;
    if (entry)
        return entry;
    const struct chance_distribution *d = chance_make(make->arena, spec, make->complaints);
    entry = d ? base_arena_take(make->arena, sizeof *entry) : NULL;
    if (!entry)
        return NULL;
    *entry = (struct plan_shared_table){ .spec = *spec, .distribution = d };
    if (make->share) {
        entry->next = make->share->tables;
        make->share->tables = entry;
    }
    return entry;
}

const struct chance_table *plan_table(const struct plan_maker *make, const struct scenario_distribution *spec)
{
    struct plan_shared_table *entry = entry_of(make, spec);
    if (entry && !entry->table)
        entry->table = chance_table_make(make->arena, entry->distribution);
    return entry ? entry->table : NULL;
}

const struct chance_cdf_table *plan_cdf_table(const struct plan_maker *make, const struct scenario_distribution *spec,
                                              const struct chance_distribution **d)
{
    struct plan_shared_table *entry = entry_of(make, spec);
    if (!entry)
        return NULL;
    if (!entry->cdf)
        entry->cdf = chance_cdf_table_make(make->arena, entry->distribution);
    *d = entry->distribution;
    return entry->cdf;
}
