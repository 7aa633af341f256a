/* state.c: a tally as bytes, and added up from bytes again. One walk over all that a tally keeps serves both ways, so
 * that what is packed and what is taken out cannot part company. Everything is an exact integer, or in small runs each
 * trial's own value, so that the order in which parts are added changes nothing. */
#include "tally/internal.h"

#include <math.h>

enum { SUM_BITS = 48, SQUARE_BITS = 96 };   /* of a value of 2^28 in quanta of 2^-20, and of its square */

/* A walk under way: packing when `from` is NULL. */
struct walk {
    struct base_packed *to;
    struct base_unpacking *from;
    int64_t first, trials;                  /* those that the bytes are about */
    bool good;                              /* what was taken out may be */
};

static void whole(struct walk *walk, int64_t *at, int64_t least, int64_t most)
{
    if (!walk->from) {
        base_pack_whole(walk->to, (uint64_t)*at);
        return;
    }
    int64_t value = (int64_t)base_unpack_whole(walk->from);
    walk->good = walk->good && value >= least && value <= most;
    if (walk->good)
        *at += value;
}

/* Counts of trials. */
static void counts(struct walk *walk, int64_t *at, size_t n)
{
    for (size_t i = 0; i < n; i++)
        whole(walk, &at[i], 0, walk->trials);
}

/* Steps up and down, whose running sums are counts of trials. */
static void steps(struct walk *walk, int64_t *at, size_t n)
{
    int64_t running = 0;
    for (size_t i = 0; i < n; i++) {
        int64_t before = at[i];
        whole(walk, &at[i], -walk->trials, walk->trials);
        running += at[i] - before;
        walk->good = walk->good && running >= 0 && running <= walk->trials;
    }
}

static tally_wide_positive wide(struct walk *walk, tally_wide_positive value)
{
    if (!walk->from) {
        base_pack_whole(walk->to, (uint64_t)value);
        base_pack_whole(walk->to, (uint64_t)(value >> 64));
        return 0;
    }
    tally_wide_positive low = base_unpack_whole(walk->from);
    return low | (tally_wide_positive)base_unpack_whole(walk->from) << 64;
}

static void sums(struct walk *walk, tally_wide *at, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        tally_wide value = (tally_wide)wide(walk, (tally_wide_positive)at[i]);
        tally_wide most = (tally_wide)walk->trials << SUM_BITS;
        walk->good = walk->good && value >= -most && value <= most;
        if (walk->good)
            at[i] += value;
    }
}

static void squares(struct walk *walk, tally_wide_positive *at)
{
    tally_wide_positive value = wide(walk, *at);
    walk->good = walk->good && value >> SQUARE_BITS <= (tally_wide_positive)walk->trials;
    if (walk->good)
        *at += value;
}

/* Each trial's value; dates and whole numbers end up in an int. */
static void values(struct walk *walk, const struct tally_quantity *quantity)
{
    for (int64_t i = 0; i < walk->trials && !(walk->from && walk->from->failed); i++) {
        double *at = &quantity->values[walk->first + i];
        if (!walk->from) {
            base_pack_real(walk->to, *at);
            continue;
        }
        double value = base_unpack_real(walk->from);
        bool is_whole = quantity->kind == TALLY_WHOLE;
        bool fits = fabs(value) <= (is_whole ? INT32_MAX : 0x1p52) || (is_whole && value == HUGE_VAL);
        walk->good = walk->good && fits;
        if (walk->good)
            *at = value;
    }
}

/* Cells that hold something (cell 0 counts nothing): their number, then of each how many empty ones are before it, and
 * its count. */
static void pack_cells(struct walk *walk, const struct tally_quantity *quantity)
{
    uint64_t held = 0, gap = 0;
    for (size_t cell = 1; cell < TALLY_ROW; cell++)
        held += quantity->cells[cell * (size_t)quantity->stride] != 0;
    base_pack_short(walk->to, held);
    for (size_t cell = 1; cell < TALLY_ROW; cell++) {
        uint32_t count = quantity->cells[cell * (size_t)quantity->stride];
        gap++;
        if (count == 0)
            continue;
        base_pack_short(walk->to, gap - 1);
        base_pack_short(walk->to, count);
        gap = 0;
    }
}

static void unpack_cells(struct walk *walk, const struct tally_quantity *quantity)
{
    uint64_t held = base_unpack_short(walk->from), cell = 0, left = (uint64_t)walk->trials;
    for (; held > 0 && walk->good; held--) {
        uint64_t gap = base_unpack_short(walk->from), count = base_unpack_short(walk->from);
        walk->good = !walk->from->failed && gap < TALLY_ROW - 1 - cell && count > 0 && count <= left;
        cell += gap + 1;
        left -= count;
        if (walk->good)
            quantity->cells[cell * (size_t)quantity->stride] += (uint32_t)count;
        if (walk->good && quantity->highest && (int32_t)cell > *quantity->highest)
            *quantity->highest = (int32_t)cell;
    }
}

static void quantity(struct walk *walk, const struct tally_quantity *quantity)
{
    if (quantity->values)
        values(walk, quantity);
    else if (!quantity->cells)
        return;                             /* a figure without quantiles */
    else if (walk->from)
        unpack_cells(walk, quantity);
    else
        pack_cells(walk, quantity);
}

/* No date lies beyond what an int holds. */
static bool dates_are_weeks(const struct tally_line *line, const struct tally_of_measure *of)
{
    for (size_t cell = TALLY_CELLS - 1; line->measure->is_date && of->quantity.cells && cell > 0; cell--) {
        if (tally_cell_value(TALLY_WHOLE, cell) <= SCENARIO_NEVER)
            break;
        if (of->quantity.cells[cell] != 0)
            return false;
    }
    return true;
}

static void year(struct walk *walk, const struct tally *tally, struct tally_of_year *of)
{
    counts(walk, of->begins, (size_t)tally->weeks.n + 1);
    for (int i = 0; i < tally->lines.n && walk->good; i++) {
        struct tally_of_measure *line = &of->line[i];
        sums(walk, &line->sum.sum, 1);
        squares(walk, &line->sum.square);
        counts(walk, &line->happened, 1);
        quantity(walk, &line->quantity);
        walk->good = walk->good && dates_are_weeks(&tally->lines.line[i], line);
    }
}

/* Sums of values are bounded as those of all trials; counts too. */
static void replicates(struct walk *walk, struct tally *tally)
{
    counts(walk, tally->replicate_trials, CHANCE_REPLICATES);
    sums(walk, tally->replicate_ever, FUTURE_FOODS * CHANCE_REPLICATES);
    for (int y = 0; y < tally->years_n && walk->good; y++)
        sums(walk, tally->year[y].replicate, (size_t)tally->lines.n * CHANCE_REPLICATES);
}

static void weeks(struct walk *walk, const struct tally_weeks *of)
{
    size_t n = (size_t)of->n;
    steps(walk, of->cover_step, n + 1);
    for (int food = 0; food < FUTURE_FOODS; food++) {
        counts(walk, of->shorts[food], n);
        steps(walk, of->by_now_step[food], n + 1);
    }
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        for (int c = 0; c < TALLY_COLUMNS; c++)
            sums(walk, of->sum[food][c], n);
        for (size_t w = 0; w < n && walk->good; w++) {
            quantity(walk, &of->stock_kg[food][w]);
            quantity(walk, &of->count[food][w]);
        }
    }
}

/* Figures that must be the same where it was packed: of what shape the tally is. */
static bool same_shape(struct walk *walk, const struct tally *tally)
{
    const int64_t shape[] = { tally_measures_n, TALLY_CELLS, tally->years_n, tally->lines.n, tally->weeks.n,
                              tally->exact, (int64_t)tally->sampling };
    bool same = true;
    for (size_t i = 0; i < sizeof shape / sizeof shape[0]; i++)
        if (walk->from)
            same &= base_unpack_whole(walk->from) == (uint64_t)shape[i];
        else
            base_pack_whole(walk->to, (uint64_t)shape[i]);
    return same;
}

static void everything(struct walk *walk, struct tally *tally)
{
    counts(walk, &tally->unbalanced, 1);
    counts(walk, tally->short_ever, FUTURE_FOODS);
    for (int y = 0; y < tally->years_n && walk->good; y++)
        year(walk, tally, &tally->year[y]);
    if (walk->good && tally->sampling != SCENARIO_INDEPENDENT)
        replicates(walk, tally);
    if (walk->good)
        weeks(walk, &tally->weeks);
}

void tally_pack(struct tally *tally, int64_t first, struct base_packed *to)
{
    struct walk walk = { .to = to, .first = first, .trials = tally->trials, .good = true };
    tally_pour_weeks(&tally->weeks);
    same_shape(&walk, tally);
    base_pack_whole(to, (uint64_t)tally->trials);
    everything(&walk, tally);
}

bool tally_unpack(struct tally *tally, int64_t first, int64_t most_trials, struct base_unpacking *from)
{
    struct walk walk = { .from = from, .first = first, .good = true };
    tally_pour_weeks(&tally->weeks);
    if (!same_shape(&walk, tally))
        return false;
    walk.trials = (int64_t)base_unpack_whole(from);
    if (walk.trials < 0 || walk.trials > most_trials
        || (tally->exact > 0 && (first < 0 || first > tally->exact - walk.trials)))
        return false;
    everything(&walk, tally);
    tally->trials += walk.trials;
    return walk.good && !from->failed;
}

void tally_doubt_pack(const struct tally_doubt *doubt, struct base_packed *to)
{
    for (int r = 0; r < PLAN_READINGS; r++) {
        base_pack_whole(to, (uint64_t)doubt->n[r]);
        base_pack_whole(to, (uint64_t)doubt->shorts[r]);
    }
}

bool tally_doubt_unpack(struct tally_doubt *doubt, int64_t most_trials, struct base_unpacking *from)
{
    for (int r = 0; r < PLAN_READINGS; r++) {
        uint64_t n = base_unpack_whole(from), shorts = base_unpack_whole(from);
        if (from->failed || n > (uint64_t)most_trials || shorts > n)
            return false;
        doubt->n[r] += (int64_t)n;
        doubt->shorts[r] += (int64_t)shorts;
    }
    return true;
}
