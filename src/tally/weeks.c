/* weeks.c: the weekly table's accumulators. */
#include "tally/internal.h"

#include <string.h>

/* At most this many trials of at most 2^28 kg a week fit the narrow sums (2^28 2^20 2^14 < 2^63, 2^14 < 2^16). */
enum { MOST_RECENT = 1 << 14 };
/* A trial that does not cover a week has no value there: what small runs keep is then below any stock. */
static const double NOT_COVERED = -1.0;

static bool make_columns(struct base_arena *arena, struct tally_weeks *weeks, size_t n)
{
    bool good = (weeks->cell = base_arena_array(arena, n, sizeof *weeks->cell)) != NULL;
    good &= (weeks->cover_step = base_arena_array(arena, n + 1, sizeof *weeks->cover_step)) != NULL;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        good &= (weeks->recent_shorts[food] = base_arena_array(arena, n, sizeof *weeks->recent_shorts[food])) != NULL;
        good &= (weeks->shorts[food] = base_arena_array(arena, n, sizeof *weeks->shorts[food])) != NULL;
        good &= (weeks->by_now_step[food] = base_arena_array(arena, n + 1, sizeof *weeks->by_now_step[food])) != NULL;
    }
    for (int food = 0; food < SCENARIO_FOODS; food++)
        for (int c = 0; c < TALLY_COLUMNS; c++) {
            good &= (weeks->recent[food][c] = base_arena_array(arena, n, sizeof *weeks->recent[food][c])) != NULL;
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
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        weeks->stock_kg[food] = base_arena_array(arena, n, sizeof *weeks->stock_kg[food]);
        weeks->count[food] = base_arena_array(arena, n, sizeof *weeks->count[food]);
        good = good && weeks->stock_kg[food] && weeks->count[food]
               && tally_make_quantities(arena, shared, next, TALLY_SCALED, n, weeks->stock_kg[food])
               && tally_make_quantities(arena, shared, next, TALLY_WHOLE, n, weeks->count[food]);
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

static void add_cells(struct tally_weeks *weeks, const struct future_ledger *ledger, int food, int first, int n)
{
    uint32_t *stock = weeks->stock_cells[food], *counts = weeks->count_cells[food];
    const int *count = ledger->count[food] + first;
    tally_scaled_cells(ledger->stock_kg[food] + first, n, weeks->cell);
    for (int i = 0; i < n; i++)
        stock[tally_tiled((size_t)(first + i), (size_t)weeks->cell[i])]++;
    for (int i = 0; i < n; i++) {
        size_t cell = count[i] < TALLY_WHOLE_CELLS ? (size_t)count[i] : tally_cell(TALLY_WHOLE, count[i]);
        counts[tally_tiled((size_t)(first + i), cell)]++;
    }
}

static void keep_values(struct tally_weeks *weeks, const struct future_ledger *ledger, int food, int64_t place)
{
    for (int w = 0; w < weeks->n; w++) {
        bool covered = w >= ledger->first_week && w < ledger->end_week;
        weeks->stock_kg[food][w].values[place] = covered ? ledger->stock_kg[food][w] : NOT_COVERED;
        weeks->count[food][w].values[place] = covered ? ledger->count[food][w] : NOT_COVERED;
    }
}

/* So many weeks, or some more, so that vector loops end evenly; at most n. */
static int whole_vectors(int weeks, int n)
{
    int more = weeks > 0 ? (weeks + 15) / 16 * 16 : 0;
    return more < n ? more : n;
}

/* Short weeks of a food year. "By then" counts within it. */
static void add_shorts(struct tally_weeks *weeks, const struct future_ledger *ledger, const struct future_year *year)
{
    int end = year->first_week + year->weeks;
    for (int food = 0; food < FUTURE_FOODS; food++) {
        int first = year->first_short[food];
        if (first == SCENARIO_NEVER)
            continue;
        add_flags(weeks->recent_shorts[food] + first, ledger->is_short[food] + first, end - first);
        weeks->by_now_step[food][first]++;
        weeks->by_now_step[food][end]--;
    }
}

void tally_add_weeks(struct tally_weeks *weeks, const struct future_ledger *ledger, int64_t place, bool exact)
{
    int first = ledger->first_week, n = ledger->end_week - first;
    if (++weeks->recent_trials == MOST_RECENT)
        tally_pour_weeks(weeks);
    weeks->cover_step[first]++;
    weeks->cover_step[ledger->end_week]--;
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        int stocked = whole_vectors(ledger->stocked_end[food] - first, n);
        add_quanta(weeks->recent[food][TALLY_WANTED] + first, ledger->wanted_kg[food] + first, n);
        add_quanta(weeks->recent[food][TALLY_STOCK] + first, ledger->stock_kg[food] + first, stocked);
        add_quanta(weeks->recent[food][TALLY_EATEN] + first, ledger->eaten_kg[food] + first, stocked);
        add_quanta(weeks->recent[food][TALLY_LOST] + first, ledger->lost_kg[food] + first, stocked);
        if (exact)
            keep_values(weeks, ledger, food, place);
        else
            add_cells(weeks, ledger, food, first, stocked);
    }
    for (int y = 0; y < ledger->years_n; y++)
        add_shorts(weeks, ledger, &ledger->year[y]);
}

void tally_pour_weeks(struct tally_weeks *weeks)
{
    weeks->recent_trials = 0;
    for (int w = 0; w < weeks->n; w++) {
        for (int food = 0; food < SCENARIO_FOODS; food++)
            for (int c = 0; c < TALLY_COLUMNS; c++) {
                weeks->sum[food][c][w] += weeks->recent[food][c][w];
                weeks->recent[food][c][w] = 0;
            }
        for (int food = 0; food < FUTURE_FOODS; food++) {
            weeks->shorts[food][w] += weeks->recent_shorts[food][w];
            weeks->recent_shorts[food][w] = 0;
        }
    }
}

void tally_merge_weeks(struct tally_weeks *into, struct tally_weeks *from)
{
    tally_pour_weeks(into);
    tally_pour_weeks(from);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        tally_merge_cells(into->stock_cells[food], from->stock_cells[food], tally_cells_of((size_t)into->n));
        tally_merge_cells(into->count_cells[food], from->count_cells[food], tally_cells_of((size_t)into->n));
    }
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
