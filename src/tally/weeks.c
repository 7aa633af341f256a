/* weeks.c: the weekly table's accumulators. */
#include "tally/internal.h"

#include <string.h>

/* At most this many blocks of at most 2^28 kg a week fit the narrow sums (2^28 2^20 2^14 < 2^63, 2^14 < 2^16). */
enum { MOST_RECENT = 1 << 14 };
/* A trial that does not cover a week has no value there: what small runs keep is then below any stock. */
static const double NOT_COVERED = -1.0;

static bool make_columns(struct base_arena *arena, struct tally_weeks *weeks, size_t n)
{
    bool good = (weeks->cell = base_arena_array(arena, n * PLAN_ABREAST, sizeof *weeks->cell)) != NULL;
    good &= (weeks->row = base_arena_array(arena, n, sizeof *weeks->row)) != NULL;
    good &= (weeks->cover_step = base_arena_array(arena, n + 1, sizeof *weeks->cover_step)) != NULL;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        good &= (weeks->recent_shorts[food] = base_arena_array(arena, n * PLAN_ABREAST, sizeof *weeks->recent_shorts[food])) != NULL;
        good &= (weeks->shorts[food] = base_arena_array(arena, n, sizeof *weeks->shorts[food])) != NULL;
        good &= (weeks->by_now_step[food] = base_arena_array(arena, n + 1, sizeof *weeks->by_now_step[food])) != NULL;
    }
    for (int food = 0; food < SCENARIO_FOODS; food++)
        for (int c = 0; c < TALLY_COLUMNS; c++) {
            good &= (weeks->recent[food][c] = base_arena_array(arena, n * PLAN_ABREAST, sizeof *weeks->recent[food][c])) != NULL;
            good &= (weeks->sum[food][c] = base_arena_array(arena, n, sizeof *weeks->sum[food][c])) != NULL;
        }
    return good;
}

bool tally_make_weeks(struct base_arena *arena, const struct plan *plan, struct tally_shared *shared, size_t *next,
                      struct tally_weeks *weeks)
{
    size_t n = (size_t)plan->weeks;
    weeks->n = plan->weeks;
    bool good = make_columns(arena, weeks, n);
    for (size_t w = 0; good && w < n; w++)
        weeks->row[w] = tally_tiled(w, 0);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        weeks->stock_kg[food] = base_arena_array(arena, n, sizeof *weeks->stock_kg[food]);
        weeks->count[food] = base_arena_array(arena, n, sizeof *weeks->count[food]);
        good = good && weeks->stock_kg[food] && weeks->count[food]
               && tally_make_quantities(arena, shared, next, TALLY_SCALED, n, &weeks->stock_highest[food], weeks->stock_kg[food])
               && tally_make_quantities(arena, shared, next, TALLY_WHOLE, n, &weeks->count_highest[food], weeks->count[food]);
        weeks->stock_cells[food] = good ? weeks->stock_kg[food][0].cells : NULL;
        weeks->count_cells[food] = good ? weeks->count[food][0].cells : NULL;
    }
    return good;
}

/* Adds n values, rounded to quanta of 2^-20: the quanta are the low bits of value + 1.5 * 2^32 (round to nearest even). */
BASE_VECTOR static void add_quanta(int64_t *restrict sum, const double *restrict value, int n)
{
    const double magic = 0x1.8p32;
    int64_t magic_bits;
    memcpy(&magic_bits, &magic, sizeof magic_bits);
    for (int i = 0; i < n; i++) {
        double shifted = value[i] + magic;
        int64_t bits;
        memcpy(&bits, &shifted, sizeof bits);
        sum[i] += bits - magic_bits;
    }
}

static void add_flags(uint16_t *restrict sum, const uint8_t *restrict flag, int n)
{
    for (int i = 0; i < n; i++)
        sum[i] = (uint16_t)(sum[i] + flag[i]);
}

/* Counts one trial's weeks in their cells, in a food; `cell` is of its stock. Its weeks share no cell, so that none waits for
 * another. */
static void count_weeks(const struct tally_weeks *weeks, const struct future_ledger *ledger, int food, const int32_t *cell)
{
    uint32_t *stock = weeks->stock_cells[food], *counts = weeks->count_cells[food];
    const int32_t *count = ledger->at.count[food];
    for (int w = ledger->first_week; w < ledger->stocked_end[food]; w++) {
        int32_t n = count[w * PLAN_ABREAST];
        size_t row = weeks->row[w], whole = n < TALLY_WHOLE_CELLS ? (size_t)n : tally_cell(TALLY_WHOLE, n);
        stock[row + (size_t)cell[w * PLAN_ABREAST] * TALLY_TILE]++;
        counts[row + whole * TALLY_TILE]++;
    }
}

BASE_VECTOR static int32_t highest_of(int32_t highest, const int32_t *number, int n)
{
    for (int i = 0; i < n; i++)
        highest = number[i] > highest ? number[i] : highest;
    return highest;
}

/* Counts the weeks from the block's first to `end` in their cells. */
static void add_cells(struct tally_weeks *weeks, const struct future_block *block, int food, int end)
{
    size_t from = (size_t)block->first_week * PLAN_ABREAST, n = (size_t)end * PLAN_ABREAST - from;
    tally_scaled_cells(block->columns.stock_kg[food] + from, (int)n, weeks->cell + from);
    weeks->stock_highest[food] = highest_of(weeks->stock_highest[food], weeks->cell + from, (int)n);
    int32_t most = (int32_t)tally_cell(TALLY_WHOLE, highest_of(0, block->columns.count[food] + from, (int)n));
    weeks->count_highest[food] = most > weeks->count_highest[food] ? most : weeks->count_highest[food];
    for (int place = 0; place < block->n; place++)
        count_weeks(weeks, &block->ledger[place], food, weeks->cell + place);
}

static void keep_values(struct tally_weeks *weeks, const struct future_ledger *ledger, int food, int64_t place)
{
    for (int w = 0; w < weeks->n; w++) {
        bool covered = w >= ledger->first_week && w < ledger->end_week;
        weeks->stock_kg[food][w].values[place] = covered ? ledger->at.stock_kg[food][w * PLAN_ABREAST] : NOT_COVERED;
        weeks->count[food][w].values[place] = covered ? ledger->at.count[food][w * PLAN_ABREAST] : NOT_COVERED;
    }
}

/* Short weeks of all trials, and from when on each food year has had one. */
static void add_shorts(struct tally_weeks *weeks, const struct future_block *block, int food)
{
    int first_short = SCENARIO_NEVER;
    for (int place = 0; place < block->n; place++)
        for (int y = 0; y < block->ledger[place].years_n; y++) {
            const struct future_year *year = &block->ledger[place].year[y];
            int first = year->first_short[food];
            if (first == SCENARIO_NEVER)
                continue;
            first_short = first < first_short ? first : first_short;
            weeks->by_now_step[food][first]++;
            weeks->by_now_step[food][year->first_week + year->weeks]--;
        }
    if (first_short < SCENARIO_NEVER) {
        size_t from = (size_t)first_short * PLAN_ABREAST;
        add_flags(weeks->recent_shorts[food] + from, block->columns.is_short[food] + from,
                  (block->end_week - first_short) * PLAN_ABREAST);
    }
}

void tally_add_weeks(struct tally_weeks *weeks, const struct future_block *block, int64_t place, bool exact)
{
    size_t from = (size_t)block->first_week * PLAN_ABREAST;
    if (++weeks->recent_blocks == MOST_RECENT)
        tally_pour_weeks(weeks);
    for (int p = 0; p < block->n; p++) {
        weeks->cover_step[block->ledger[p].first_week]++;
        weeks->cover_step[block->ledger[p].end_week]--;
    }
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        const struct future_columns *columns = &block->columns;
        int end = future_stocked_end(block, food), n = (end - block->first_week) * PLAN_ABREAST;
        add_quanta(weeks->recent[food][TALLY_WANTED] + from, columns->wanted_kg[food] + from,
                   (block->end_week - block->first_week) * PLAN_ABREAST);
        add_quanta(weeks->recent[food][TALLY_STOCK] + from, columns->stock_kg[food] + from, n);
        add_quanta(weeks->recent[food][TALLY_EATEN] + from, columns->eaten_kg[food] + from, n);
        add_quanta(weeks->recent[food][TALLY_LOST] + from, columns->lost_kg[food] + from, n);
        if (!exact)
            add_cells(weeks, block, food, end);
        for (int p = 0; p < block->n && exact; p++)
            keep_values(weeks, &block->ledger[p], food, place + p);
    }
    for (int food = 0; food < FUTURE_FOODS; food++)
        add_shorts(weeks, block, food);
}

void tally_pour_weeks(struct tally_weeks *weeks)
{
    weeks->recent_blocks = 0;
    for (int i = 0; i < weeks->n * PLAN_ABREAST; i++) {
        int w = i / PLAN_ABREAST;
        for (int food = 0; food < SCENARIO_FOODS; food++)
            for (int c = 0; c < TALLY_COLUMNS; c++) {
                weeks->sum[food][c][w] += weeks->recent[food][c][i];
                weeks->recent[food][c][i] = 0;
            }
        for (int food = 0; food < FUTURE_FOODS; food++) {
            weeks->shorts[food][w] += weeks->recent_shorts[food][i];
            weeks->recent_shorts[food][i] = 0;
        }
    }
}

/* Adds cells of a tile up to the highest that counts anything. */
static void merge_tile(uint32_t *into, int32_t *highest, const uint32_t *from, int32_t from_highest, size_t at)
{
    tally_merge_cells(into + at, from + at, ((size_t)from_highest + 1) * TALLY_TILE);
    *highest = from_highest > *highest ? from_highest : *highest;
}

/* Cells of the tiles in whose weeks there is anything. */
static void merge_cells(struct tally_weeks *into, const struct tally_weeks *from)
{
    int64_t covering = 0;
    for (int w = 0; w < from->n; w += TALLY_TILE) {
        bool any = covering > 0;
        for (int of = w; of < w + TALLY_TILE && of < from->n; of++) {
            covering += from->cover_step[of];
            any |= covering > 0;
        }
        size_t at = tally_tiled((size_t)w, 0);
        for (int food = 0; any && food < SCENARIO_FOODS && from->stock_cells[food]; food++) {
            merge_tile(into->stock_cells[food], &into->stock_highest[food], from->stock_cells[food], from->stock_highest[food], at);
            merge_tile(into->count_cells[food], &into->count_highest[food], from->count_cells[food], from->count_highest[food], at);
        }
    }
}

void tally_merge_weeks(struct tally_weeks *into, struct tally_weeks *from)
{
    tally_pour_weeks(into);
    tally_pour_weeks(from);
    merge_cells(into, from);
    for (int w = 0; w <= into->n; w++) {
        into->cover_step[w] += from->cover_step[w];
        for (int food = 0; food < FUTURE_FOODS; food++)
            into->by_now_step[food][w] += from->by_now_step[food][w];
    }
    for (int w = 0; w < into->n; w++) {
        for (int food = 0; food < FUTURE_FOODS; food++)
            into->shorts[food][w] += from->shorts[food][w];
        for (int food = 0; food < SCENARIO_FOODS; food++) {
            for (int c = 0; c < TALLY_COLUMNS; c++)
                into->sum[food][c][w] += from->sum[food][c][w];
        }
    }
}
