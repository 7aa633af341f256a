/* state.c: a run's state as one file: a first line that says what it is, what run it is of, its figures, and the
 * SHA-256 of all that in 64 hexadecimal digits. */
#include "report/report.h"

#include <string.h>

/* The number is the format's: another one is read by other programs. */
static const char FIRST_LINE[] = "tideover-state 2\n";
enum { NAMED = 15, FIRST = sizeof FIRST_LINE - 1, DIGITS = 64 };

static void hash(const unsigned char *bytes, size_t n, char hex[65])
{
    struct base_sha256 sha;
    base_sha256_start(&sha);
    base_sha256_add(&sha, bytes, n);
    base_sha256_hex(&sha, hex);
}

void report_state_pack(const struct report_state *state, struct tally *tally, const struct tally_doubt *doubt,
                       struct base_packed *packed)
{
    const char *const texts[] = { state->version, state->name, state->scenario_sha256, state->records_sha256,
                                  state->settings };
    const int64_t numbers[] = { state->stream_version, state->random_seed, state->trials, state->part, state->parts,
                                state->first, state->done, state->until };
    char hex[65];
    base_pack(packed, FIRST_LINE, FIRST);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        base_pack_text(packed, texts[i]);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        base_pack_whole(packed, (uint64_t)numbers[i]);
    base_pack_real(packed, state->precision);
    tally_doubt_pack(doubt, packed);
    tally_pack(tally, state->first, packed);
    if (packed->failed)
        return;
    hash(packed->bytes, packed->n, hex);
    base_pack(packed, hex, DIGITS);
}

/* The parts of a state that are numbers make sense by themselves. */
static bool is_sane(const struct report_state *state)
{
    const int64_t most_trials = (int64_t)1 << 40;
    return state->random_seed >= 0 && state->trials > 0 && state->trials <= most_trials && state->part >= 1
           && state->part <= state->parts && state->first >= 0 && state->first <= state->trials && state->done >= 0
           && state->done <= state->trials - state->first && state->until >= state->first + state->done
           && state->until <= state->trials && state->precision >= 0 && state->precision <= 1;
}

const char *report_state_unpack(const unsigned char *bytes, size_t n, struct report_state *state)
{
    char hex[65];
    if (n < FIRST || memcmp(bytes, FIRST_LINE, NAMED) != 0)
        return "is no state file of tideover";
    if (memcmp(bytes, FIRST_LINE, FIRST) != 0)
        return "is a state file that this version of tideover cannot read, or damaged";
    if (n < FIRST + DIGITS)
        return "is cut short";
    hash(bytes, n - DIGITS, hex);
    if (memcmp(bytes + n - DIGITS, hex, DIGITS) != 0)
        return "is damaged or cut short: its checksum is wrong";
    struct base_unpacking from = { bytes + FIRST, bytes + n - DIGITS, false };
    const char **const texts[] = { &state->version, &state->name, &state->scenario_sha256, &state->records_sha256,
                                   &state->settings };
    int64_t *const numbers[] = { &state->stream_version, &state->random_seed, &state->trials, &state->part, &state->parts,
                                 &state->first, &state->done, &state->until };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        *texts[i] = base_unpack_text(&from);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
        *numbers[i] = (int64_t)base_unpack_whole(&from);
    state->precision = base_unpack_real(&from);
    state->figures = from.at;
    state->figures_n = (size_t)(from.end - from.at);
    return from.failed || !is_sane(state) ? "is damaged: it contradicts itself" : NULL;
}

bool report_state_add(const struct report_state *state, struct tally *tally, struct tally_doubt *doubt)
{
    struct base_unpacking from = { state->figures, state->figures + state->figures_n, false };
    int64_t before = tally_trials(tally);
    return tally_doubt_unpack(doubt, state->done, &from) && tally_unpack(tally, state->first, state->done, &from)
           && from.at == from.end && tally_trials(tally) - before == state->done;
}
