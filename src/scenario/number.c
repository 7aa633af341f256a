/* number.c: numbers as users write them. libconfig 1.5 lets whole numbers wrap, reads 1e999 as infinity
 * and a lone dot as 0, so every number is judged here and handed on in a form that it reads exactly. */
#include "scenario/inside.h"

#include <errno.h>
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_DIGITS = 60 };

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_hex_digit(char c)
{
    return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}

static size_t digits(const char *at)
{
    size_t n = 0;
    while (is_digit(at[n])) {
        n++;
    }
    return n;
}

/* "L" or "LL" may end a whole number. */
static bool ends_whole(const char *at)
{
    return strcmp(at, "") == 0 || strcmp(at, "L") == 0 || strcmp(at, "LL") == 0;
}

/* libconfig reads 32 bits without the suffix and 64 with it. */
static void write_whole(int64_t value, char clean[64])
{
    bool wide = value > INT32_MAX || value < INT32_MIN;
    snprintf(clean, 64, "%" PRId64 "%s", value, wide ? "L" : "");
}

static const char *whole(const char *text, int base, char clean[64])
{
    errno = 0;
    int64_t value = strtoll(text, NULL, base);
    if (errno == ERANGE) {
        return "is too large for a whole number (at most 9223372036854775807)";
    }
    write_whole(value, clean);
    return NULL;
}

static bool is_date(const char *text)
{
    return strlen(text) == 5 && digits(text) == 2 && text[2] == '-' && digits(text + 3) == 2;
}

/* Shape of a real number after its sign: digits with a point, an exponent, or both; at least one digit. */
static bool is_real(const char *text)
{
    size_t before = digits(text), after = 0;
    text += before;
    if (*text == '.') {
        after = digits(text + 1);
        text += 1 + after;
    }
    if (before + after == 0) {
        return false;
    }
    if (*text == 'e' || *text == 'E') {
        text++;
        if (*text == '+' || *text == '-') {
            text++;
        }
        size_t exponent = digits(text);
        if (exponent == 0) {
            return false;
        }
        text += exponent;
    }
    return *text == '\0';
}

static const char *real(const char *text, char clean[64])
{
    double value = strtod(text, NULL);
    if (!isfinite(value)) {
        return "is too large for a number (at most 1.7e308)";
    }
    size_t mantissa = strcspn(text, "eE");
    if (fabs(value) < 2.3e-308 && strcspn(text, "123456789") < mantissa) {
        return "is too small for a number (write 0, or at least 2.3e-308)";
    }
    scenario_real_text(value, clean);
    return NULL;
}

const char *scenario_number(const char *from, size_t n, char clean[64])
{
    char text[MOST_DIGITS + 1];
    if (n > MOST_DIGITS) {
        return "has too many digits for a number";
    }
    memcpy(text, from, n);
    text[n] = '\0';
    const char *bare = text + (text[0] == '+' || text[0] == '-');

    if (bare[0] == '0' && (bare[1] == 'x' || bare[1] == 'X') && is_hex_digit(bare[2])) {
        const char *end = bare + 2;
        while (is_hex_digit(*end)) {
            end++;
        }
        return ends_whole(end) && bare == text ? whole(text, 16, clean) : "is not a number";
    }
    if (is_digit(bare[0]) && ends_whole(bare + digits(bare))) {
        return whole(text, 10, clean);
    }
    if (is_real(bare)) {
        return real(text, clean);
    }
    if (is_date(text)) {
        return "is a date, and dates stand in quotes: \"MM-DD\"";
    }
    return "is not a number (words and dates stand in quotes)";
}

void scenario_real_text(double x, char text[40])
{
    for (int precision = 15; precision <= 17; precision++) {
        snprintf(text, 40, "%.*g", precision, x);
        if (strtod(text, NULL) == x) {
            break;
        }
    }
    if (strchr(text, '.') != NULL || !isfinite(x)) {
        return;
    }
    /* "5" would read as a whole number, and libconfig's reals with an exponent want a point as well. */
    char *exponent = strchr(text, 'e');
    char tail[16] = "";
    if (exponent != NULL) {
        snprintf(tail, sizeof tail, "%s", exponent);
        *exponent = '\0';
    }
    size_t length = strlen(text);
    snprintf(text + length, 40 - length, ".0%s", tail);
}
