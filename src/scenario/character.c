/* character.c: the characters that text may be made of. */
#include "scenario/inside.h"

size_t scenario_character(const char *from)
{
    const unsigned char *at = (const unsigned char *)from;
    if (at[0] < 0x80) {
        return at[0] >= 0x20 && at[0] != 0x7f ? 1 : 0;
    }
    size_t n = at[0] >= 0xf0 ? 4 : at[0] >= 0xe0 ? 3 : 2;
    if (at[0] < 0xc2 || at[0] > 0xf4) {
        return 0;
    }
    for (size_t i = 1; i < n; i++) {
        if ((at[i] & 0xc0) != 0x80) {
            return 0;
        }
    }
    /* Overlong forms, surrogates, beyond U+10FFFF, and C1 controls (The Unicode Standard, table 3-7). */
    bool bad = (at[0] == 0xe0 && at[1] < 0xa0) || (at[0] == 0xed && at[1] > 0x9f) ||
               (at[0] == 0xf0 && at[1] < 0x90) || (at[0] == 0xf4 && at[1] > 0x8f) ||
               (at[0] == 0xc2 && at[1] < 0xa0);
    return bad ? 0 : n;
}

size_t scenario_shown_bytes(const char *text, size_t n, size_t most)
{
    if (n <= most) {
        return n;
    }
    /* Back from the middle of a character to its first byte. */
    while (most > 0 && ((unsigned char)text[most] & 0xc0) == 0x80) {
        most--;
    }
    return most;
}
