/* pack.c: numbers and text as bytes that mean the same on every machine, and back. */
#include "base/base.h"

#include <string.h>

enum { FIRST_ROOM = 4096, MOST_SHORT_BYTES = 10 };

void base_pack(struct base_packed *to, const void *data, size_t n)
{
    if (to->room - to->n < n) {
        size_t room = 2 * (to->n + n) + FIRST_ROOM;
        unsigned char *larger = to->failed ? NULL : base_realloc(to->bytes, room);
        if (larger == NULL) {
            to->failed = true;
            return;
        }
        to->bytes = larger;
        to->room = room;
    }
    if (n > 0) {
        memcpy(to->bytes + to->n, data, n);
    }
    to->n += n;
}

void base_pack_whole(struct base_packed *to, uint64_t value)
{
    unsigned char bytes[8];
    for (int i = 0; i < 8; i++) {
        bytes[i] = (unsigned char)(value >> 8 * i);
    }
    base_pack(to, bytes, sizeof bytes);
}

void base_pack_short(struct base_packed *to, uint64_t value)
{
    unsigned char bytes[MOST_SHORT_BYTES];
    size_t n = 0;
    for (; value > 0x7f; value >>= 7) {
        bytes[n++] = (unsigned char)(value & 0x7f) | 0x80;
    }
    bytes[n++] = (unsigned char)value;
    base_pack(to, bytes, n);
}

void base_pack_real(struct base_packed *to, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    base_pack_whole(to, bits);
}

void base_pack_text(struct base_packed *to, const char *text)
{
    size_t n = strlen(text) + 1;
    base_pack_whole(to, n);
    base_pack(to, text, n);
}

void base_packed_free(struct base_packed *packed)
{
    base_free(packed->bytes);
    *packed = (struct base_packed){0};
}

const unsigned char *base_unpack(struct base_unpacking *from, uint64_t n)
{
    if (from->failed || n > (size_t)(from->end - from->at)) {
        from->failed = true;
        return NULL;
    }
    const unsigned char *bytes = from->at;
    from->at += n;
    return bytes;
}

uint64_t base_unpack_whole(struct base_unpacking *from)
{
    const unsigned char *bytes = base_unpack(from, 8);
    uint64_t value = 0;
    for (int i = 0; bytes != NULL && i < 8; i++) {
        value |= (uint64_t)bytes[i] << 8 * i;
    }
    return value;
}

uint64_t base_unpack_short(struct base_unpacking *from)
{
    uint64_t value = 0;
    for (int shift = 0; shift < 64; shift += 7) {
        const unsigned char *byte = base_unpack(from, 1);
        if (byte == NULL) {
            return 0;
        }
        value |= (uint64_t)(*byte & 0x7f) << shift;
        if (*byte < 0x80) {
            return value;
        }
    }
    from->failed = true;
    return 0;
}

double base_unpack_real(struct base_unpacking *from)
{
    uint64_t bits = base_unpack_whole(from);
    double value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

const char *base_unpack_text(struct base_unpacking *from)
{
    uint64_t n = base_unpack_whole(from);
    const unsigned char *bytes = n > 0 ? base_unpack(from, n) : NULL;
    if (bytes == NULL || memchr(bytes, '\0', n) != bytes + n - 1) {
        from->failed = true;
        return "";
    }
    return (const char *)bytes;
}
