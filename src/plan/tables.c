/* tables.c: a distribution's tables, made once for all plans that have it. */
#include "plan/internal.h"

#include <string.h>

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

/* ---- tables made beforehand --------------------------------------------------------------------------- */

enum { TABLES_BESIDE = 4, TABLES_A_CROP = 1, TABLES_A_PLANTING = 6 };

static void list(const struct plan_maker *make, const struct scenario_distribution *spec, bool is_cdf, struct plan_tables *tables)
{
    bool costs = spec->set && spec->shape != SCENARIO_CERTAIN;
    struct plan_shared_table *entry = costs ? entry_of(make, spec) : NULL;
    if (!entry || entry->is_listed || entry->table || entry->cdf)
        return;
    entry->is_listed = true;
    tables->listed[tables->n++] = (struct plan_listed){ entry, is_cdf };
}

static void list_planting(const struct plan_maker *make, const struct scenario_crop *crop, struct plan_tables *tables)
{
    list(make, &crop->stands, false, tables);
    if (crop->kind == SCENARIO_KIND_BEANS) {
        list(make, &crop->unit_kg, false, tables);
        list(make, &crop->sorted_out, false, tables);
        list(make, &crop->heat_to_dry, true, tables);
        return;
    }
    list(make, &crop->fruits, false, tables);
    list(make, &crop->fruit_kg, false, tables);
    list(make, &crop->keeps_weeks, false, tables);
    list(make, &crop->heat_to_ripen, true, tables);
    list(make, &crop->die_back_heat, false, tables);
}

bool plan_list_tables(struct base_arena *arena, const struct scenario *scenario, struct plan_share *share,
                      struct plan_tables *tables)
{
    struct base_complaints aside = { 0 };
    const struct plan_maker make = { arena, share, &aside };
    const struct scenario_climate *climate = &scenario->climate;
    size_t most = TABLES_BESIDE + (size_t)scenario->crops_n * TABLES_A_CROP + (size_t)scenario->plantings_n * TABLES_A_PLANTING;
    tables->n = 0;
    tables->listed = base_arena_array(arena, most, sizeof *tables->listed);
    if (!tables->listed)
        return false;
    if (!climate->records_file && !climate->generator.is_set) {
        list(&make, &climate->last_frost, false, tables);
        list(&make, &climate->first_hard_frost, false, tables);
        list(&make, &climate->warmth, false, tables);
    }
    list(&make, &scenario->store.jar_keeps_weeks, false, tables);
    for (int c = 0; c < scenario->crops_n; c++)
        list(&make, &scenario->crops[c].year_factor, false, tables);
    for (int p = 0; p < scenario->plantings_n; p++)
        list_planting(&make, &scenario->plantings[p].crop, tables);
    base_complaints_free(&aside);
    return true;
}

void plan_make_listed(const struct plan_tables *tables, int i, struct base_arena *arena)
{
    struct plan_shared_table *of = tables->listed[i].of;
    if (tables->listed[i].is_cdf)
        of->cdf = chance_cdf_table_make(arena, of->distribution);
    else
        of->table = chance_table_make(arena, of->distribution);
}
