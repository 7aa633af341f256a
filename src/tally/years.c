/* years.c: what is kept of food years. */
#include "tally/internal.h"

#include <math.h>

static bool has_cells(const struct tally_measure *measure)
{
    return measure->cells == TALLY_SCALED && measure->quantiles != TALLY_NO_QUANTILES;
}

static bool has_mean_only(const struct tally_measure *measure)
{
    return measure->cells == TALLY_SCALED && measure->quantiles == TALLY_NO_QUANTILES;
}

static bool is_other(const struct tally_measure *measure) { return measure->cells != TALLY_SCALED; }

/* Where a food's figure stands in struct future_year. */
static struct tally_line line_of(const struct tally_measure *measure, int food)
{
    struct tally_line line = { measure, food, measure->where, measure->at };
    switch (line.where) {
    case TALLY_IN_BOOKS:
        line.at += (int)offsetof(struct future_year, books) + food * (int)sizeof(struct store_books);
        line.where = food < SCENARIO_FOODS ? TALLY_BY_FOOD : TALLY_BY_FUNCTION; /* of both: their sum */
        break;
    case TALLY_BY_FOOD: line.at += food * (int)sizeof(double); break;
    case TALLY_WHOLE_BY_FOOD:
    case TALLY_WEEK_BY_FOOD: line.at += food * (int)sizeof(int); break;
    default: break;
    }
    return line;
}

/* Lists the figures of one sort. */
static void list_sort(struct tally_lines *lines, bool (*belongs)(const struct tally_measure *))
{
    for (int m = 0; m < tally_measures_n; m++)
        for (int food = 0; food < FUTURE_FOODS; food++) {
            const struct tally_measure *measure = &tally_measures[m];
            if (!belongs(measure) || !(measure->foods >> food & 1))
                continue;
            lines->of[m * FUTURE_FOODS + food] = lines->n;
            lines->line[lines->n++] = line_of(measure, food);
        }
}

static bool list_lines(struct base_arena *arena, struct tally *tally)
{
    struct tally_lines *lines = &tally->lines;
    size_t most = (size_t)tally_measures_n * FUTURE_FOODS;
    lines->line = base_arena_array(arena, most, sizeof *lines->line);
    lines->of = base_arena_array(arena, most, sizeof *lines->of);
    tally->value = base_arena_array(arena, most * PLAN_ABREAST, sizeof *tally->value);
    tally->quanta = base_arena_array(arena, most * PLAN_ABREAST, sizeof *tally->quanta);
    tally->cell = base_arena_array(arena, most * PLAN_ABREAST, sizeof *tally->cell);
    if (!lines->line || !lines->of || !tally->value || !tally->quanta || !tally->cell)
        return false;
    list_sort(lines, has_cells);
    lines->cells_n = lines->n;
    list_sort(lines, has_mean_only);
    lines->means_n = lines->n;
    list_sort(lines, is_other);
    return true;
}

static bool make_year(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      const struct tally_lines *lines, struct tally_of_year *year)
{
    year->line = base_arena_array(arena, (size_t)lines->n, sizeof *year->line);
    year->begins = base_arena_array(arena, (size_t)plan->weeks + 1, sizeof *year->begins);
    if (!year->line || !year->begins)
        return false;
    for (int i = 0; i < lines->n; i++) {
        const struct tally_measure *measure = lines->line[i].measure;
        if (measure->quantiles != TALLY_NO_QUANTILES
            && !tally_make_quantity(arena, shared, next, measure->cells, &year->line[i].quantity))
            return false;
    }
    return true;
}

bool tally_make_years(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      struct tally *tally)
{
    tally->year = base_arena_array(arena, (size_t)tally->years_n, sizeof *tally->year);
    bool good = tally->year && list_lines(arena, tally);
    for (int y = 0; good && y < tally->years_n; y++)
        good = make_year(arena, plan, shared, next, &tally->lines, &tally->year[y]);
    return good;
}

/* One figure of every trial of a block; 0 at places without one. */
static void read_values(const struct tally_line *line, const struct plan *plan, int y, const struct future_block *block,
                        double *value)
{
    for (int t = 0; t < block->n; t++) {
        const struct future_year *year = &block->ledger[t].year[y];
        value[t] = line->where == TALLY_BY_FOOD ? *(const double *)((const char *)year + line->at)
                                                : line->measure->value(plan, year, line->food);
    }
    for (int t = block->n; t < PLAN_ABREAST; t++)
        value[t] = 0;
}

void tally_values(const struct tally_measure *measure, int food, const struct plan *plan, int year,
                  const struct future_block *block, double value[PLAN_ABREAST])
{
    struct tally_line line = line_of(measure, food);
    read_values(&line, plan, year, block, value);
}

/* In how many trials so many weeks were short. */
static int64_t count_short(const struct tally_line *line, int y, const struct future_block *block)
{
    int64_t n = 0;
    for (int t = 0; t < block->n; t++) {
        int weeks = block->ledger[t].year[y].short_weeks[line->food];
        n += line->at < 0 ? weeks == 0 : weeks > line->at;
    }
    return n;
}

/* Whole numbers and weeks, SCENARIO_NEVER being never. */
static void add_whole(struct tally_of_measure *into, const struct tally_line *line, int y, const struct future_block *block,
                      int64_t place)
{
    bool is_week = line->where == TALLY_WEEK_BY_FOOD || line->where == TALLY_WEEK_ONE;
    for (int t = 0; t < block->n; t++) {
        int whole = *(const int *)((const char *)&block->ledger[t].year[y] + line->at);
        if (line->measure->has_mean)
            tally_sum_add_quanta(&into->sum, (int64_t)whole * (1 << 20));
        if (into->quantity.cells && whole < TALLY_WHOLE_CELLS)
            into->quantity.cells[whole]++;
        else
            tally_add_quantity(&into->quantity, is_week && whole == SCENARIO_NEVER ? HUGE_VAL : whole, place + t);
    }
}

static void count_cells(const struct tally *tally, struct tally_of_measure *line)
{
    for (int i = 0; i < tally->lines.cells_n; i++)
        for (int t = 0; t < PLAN_ABREAST; t++)
            line[i].quantity.cells[tally->cell[i * PLAN_ABREAST + t]]++;
}

static void keep_values(const struct tally *tally, struct tally_of_measure *line, int n, int64_t place)
{
    for (int i = 0; i < tally->lines.cells_n; i++)
        for (int t = 0; t < n; t++)
            line[i].quantity.values[place + t] = tally->value[i * PLAN_ABREAST + t];
}

void tally_add_years(struct tally *tally, const struct plan *plan, int y, const struct future_block *block, int64_t place)
{
    const struct tally_lines *lines = &tally->lines;
    struct tally_of_year *of = &tally->year[y];
    for (int t = 0; t < block->n; t++)
        of->begins[block->ledger[t].year[y].first_week]++;
    for (int i = 0; i < lines->means_n; i++)
        read_values(&lines->line[i], plan, y, block, tally->value + i * PLAN_ABREAST);
    tally_quanta(tally->value, lines->means_n * PLAN_ABREAST, tally->quanta);
    for (int i = 0; i < lines->means_n; i++)
        tally_sum_add_row(&of->line[i].sum, tally->quanta + i * PLAN_ABREAST);
    if (tally->exact)
        keep_values(tally, of->line, block->n, place);
    else {
        tally_scaled_cells(tally->value, lines->cells_n * PLAN_ABREAST, tally->cell);
        count_cells(tally, of->line);
    }
    for (int i = lines->means_n; i < lines->n; i++)
        if (lines->line[i].where == TALLY_SHORT_WEEKS)
            of->line[i].happened += count_short(&lines->line[i], y, block);
        else
            add_whole(&of->line[i], &lines->line[i], y, block, place);
    if (of->replicate)
        tally_add_replicates(tally, y, block, (uint64_t)place);
}

void tally_merge_year(struct tally *into, const struct tally *from, int y)
{
    struct tally_of_year *year = &into->year[y];
    const struct tally_of_year *other = &from->year[y];
    for (int w = 0; w <= into->weeks.n; w++)
        year->begins[w] += other->begins[w];
    for (int i = 0; i < into->lines.n; i++) {
        year->line[i].happened += other->line[i].happened;
        tally_sum_merge(&year->line[i].sum, &other->line[i].sum);
        tally_merge_cells(year->line[i].quantity.cells, other->line[i].quantity.cells, TALLY_ROW);
    }
}
