/* sha256.c: the Secure Hash Algorithm with 256 bits. Names of functions and constants, and section
 * numbers, are those of FIPS PUB 180-4, "Secure Hash Standard" (NIST, August 2015). */
#include "base/base.h"

#include <string.h>

enum { BLOCK = 64, LENGTH_AT = 56, ROUNDS = 64 };

static uint32_t rotr(uint32_t x, int n)
{
    return (x >> n) | (x << (32 - n));
}

static uint32_t big_endian(const unsigned char *at)
{
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | (uint32_t)at[3];
}

/* Section 4.2.2: the first 32 bits of the fractional parts of the cube roots of the first 64 primes. */
static const uint32_t K[ROUNDS] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
};

/* Section 6.2.2, step 1: the message schedule. */
static void schedule(const unsigned char block[BLOCK], uint32_t w[ROUNDS])
{
    for (int t = 0; t < 16; t++) {
        w[t] = big_endian(block + 4 * t);
    }
    for (int t = 16; t < ROUNDS; t++) {
        uint32_t s0 = rotr(w[t - 15], 7) ^ rotr(w[t - 15], 18) ^ (w[t - 15] >> 3);
        uint32_t s1 = rotr(w[t - 2], 17) ^ rotr(w[t - 2], 19) ^ (w[t - 2] >> 10);
        w[t] = s1 + w[t - 7] + s0 + w[t - 16];
    }
}

/* Section 6.2.2, steps 2 to 4. v = a, b, c, d, e, f, g, h; instead of all of them moving on by one each round, the place of a
 * moves back by one. */
static void digest(uint32_t state[8], const unsigned char block[BLOCK])
{
    uint32_t w[ROUNDS], v[8];
    schedule(block, w);
    memcpy(v, state, sizeof v);
    for (unsigned t = 0; t < ROUNDS; t++) {
        uint32_t a = v[-t % 8], b = v[(1 - t) % 8], c = v[(2 - t) % 8];
        uint32_t e = v[(4 - t) % 8], f = v[(5 - t) % 8], g = v[(6 - t) % 8];
        uint32_t *d = &v[(3 - t) % 8], *h = &v[(7 - t) % 8]; /* which are the next round's e and a */
        uint32_t sum1 = rotr(e, 6) ^ rotr(e, 11) ^ rotr(e, 25);
        uint32_t ch = (e & f) ^ (~e & g);
        uint32_t t1 = *h + sum1 + ch + K[t] + w[t];
        uint32_t sum0 = rotr(a, 2) ^ rotr(a, 13) ^ rotr(a, 22);
        uint32_t maj = (a & b) ^ (a & c) ^ (b & c);
        *d += t1;
        *h = t1 + sum0 + maj;
    }
    for (int i = 0; i < 8; i++) {
        state[i] += v[i];
    }
}

void base_sha256_start(struct base_sha256 *sha)
{
    /* Section 5.3.3: the square roots of the first eight primes. */
    static const uint32_t H0[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                   0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
    *sha = (struct base_sha256){0};
    memcpy(sha->h, H0, sizeof H0);
}

void base_sha256_add(struct base_sha256 *sha, const void *data, size_t bytes)
{
    const unsigned char *from = data;
    size_t filled = sha->length % BLOCK;
    sha->length += bytes;
    while (bytes > 0) {
        size_t part = BLOCK - filled < bytes ? BLOCK - filled : bytes;
        memcpy(sha->block + filled, from, part);
        from += part;
        bytes -= part;
        filled += part;
        if (filled == BLOCK) {
            digest(sha->h, sha->block);
            filled = 0;
        }
    }
}

/* Section 5.1.1: a one bit, zeros, and the length in bits as 64 bits. */
static void pad(struct base_sha256 *sha)
{
    static const unsigned char padding[BLOCK] = {0x80};
    uint64_t bits = sha->length * 8;
    size_t filled = sha->length % BLOCK;
    unsigned char length[8];
    for (int i = 0; i < 8; i++) {
        length[i] = (unsigned char)(bits >> (56 - 8 * i));
    }
    base_sha256_add(sha, padding, filled < LENGTH_AT ? LENGTH_AT - filled : BLOCK + LENGTH_AT - filled);
    base_sha256_add(sha, length, sizeof length);
}

void base_sha256_hex(struct base_sha256 *sha, char hex[65])
{
    static const char digits[] = "0123456789abcdef";
    pad(sha);
    for (int i = 0; i < 64; i++) {
        hex[i] = digits[sha->h[i / 8] >> (28 - 4 * (i % 8)) & 15u];
    }
    hex[64] = '\0';
}
