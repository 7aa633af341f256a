/* The generator against its author's published words, and what is built on it against itself. */
#include "chance/chance.h"
#include "unit/check.h"

/* imneme/pcg-c (O'Neill), test-low/expected/check-setseq-64-rxs-m-xs-64.out: seeded with 42 and 54; the
 * first six words of each of five rounds. A round draws 6 words, 65 coins, 33 dice and 51 cards, a word
 * each: 155. */
static const uint64_t published[5][6] = {
    { 0xe1cbc180b69606bb, 0x6573bce7abaee684, 0xc744f07442006076, 0x9e9f98ccbd60b8fc, 0xde693821ee9629ae,
      0x263cc2cdc66ebc25 },
    { 0x6869deb01736aa1d, 0x3976d7772b7283b6, 0xf192d7e3c132c7d9, 0x41b1b929e310e3c5, 0x6a48bd0efb5c699d,
      0x856a779cda69bfd0 },
    { 0x3f3dc8d4299c7a86, 0x3e076e65a0310764, 0x714322cce3e68f09, 0xe88471f1e7176e5e, 0x262c50673106006a,
      0xbcc19d6d0d1ca1c4 },
    { 0x24fccd9eb54476bf, 0x2c32833537b2ca5d, 0xfc4de62db8baf980, 0x66208e6be0123658, 0x9f4674d5c6e9485a,
      0x4e093c882196a5f3 },
    { 0x8205935a6e122e27, 0x70e48fea82d8d2f6, 0xa6114ae38986de05, 0x05cd66f6baa6aae4, 0x8aa8873d87856c4f,
      0xf9970ffeda4657e2 }
};
/* The first round's coins and dice from the same page (coin: word modulo 2, 1 is heads; die: word modulo
 * 6, plus 1). */
static const char coins[] = "THHHHTHHHHHTHTTHHHHTHHHTTTHTTHHTHTHTHHHHHHTHHTTHHTHHTHHTHHTTTHTTT";
static const char dice[] = "311613113114153126116146526223635";
enum { ROUND = 155 };

static void words_are_the_authors(void **state)
{
    (void)state;
    struct chance_pcg pcg = chance_pcg_seeded(42, 54);
    for (int round = 0; round < 5; round++)
        for (int i = 0; i < ROUND; i++) {
            uint64_t word = chance_pcg_next(&pcg);
            if (i < 6)
                assert_true(word == published[round][i]);
            else if (round == 0 && i < 6 + 65)
                assert_int_equal(word % 2 ? 'H' : 'T', coins[i - 6]);
            else if (round == 0 && i < 6 + 65 + 33)
                assert_int_equal('1' + (int)(word % 6), dice[i - 71]);
        }
}

static void advancing_is_stepping(void **state)
{
    (void)state;
    for (int round = 0; round < 5; round++)
        for (int i = 0; i < 6; i++) {
            struct chance_pcg pcg = chance_pcg_seeded(42, 54);
            chance_pcg_advance(&pcg, (uint64_t)(ROUND * round + i));
            assert_true(chance_pcg_next(&pcg) == published[round][i]);
        }
    /* the period is 2^64: forwards and the rest of the way round is nowhere */
    struct chance_pcg pcg = chance_pcg_seeded(42, 54), was = pcg;
    chance_pcg_advance(&pcg, 12345678901u);
    assert_true(pcg.state != was.state);
    chance_pcg_advance(&pcg, 0 - UINT64_C(12345678901));
    assert_true(pcg.state == was.state && pcg.inc == was.inc);
}

static void next_unit_is_a_stride(void **state)
{
    (void)state;
    for (uint64_t i = 0; i < 1000; i++) {
        struct chance_pcg pcg = chance_stream(chance_mix(i), chance_mix(~i)), advanced = pcg;
        pcg = chance_next_unit(chance_next_unit(pcg));
        chance_pcg_advance(&advanced, 2 * CHANCE_UNIT_STRIDE);
        assert_true(pcg.state == advanced.state && pcg.inc == advanced.inc);
    }
}

static void uniforms_lie_inside(void **state)
{
    (void)state;
    assert_true(chance_uniform(0) > 0.0 && chance_uniform(UINT64_MAX) < 1.0);
    assert_true(chance_word(-1.0) == 0 && chance_word(0.0) == 0 && chance_word(1.0) == UINT64_MAX);
    for (uint64_t i = 0; i < 100000; i++) {
        double u = chance_uniform(chance_mix(i)), small = u * 1e-9;
        check_within(chance_uniform(chance_word(u)), u, 0x1p-53);
        check_within(chance_uniform(chance_word(small)), small, 0x1p-53);
        check_within((double)chance_word(small) * 0x1p-64, small, 0x1p-64);
    }
}

static void chances_happen_as_often(void **state)
{
    (void)state;
    static const double chances[] = { 1e-3, 0.2, 0.5, 0.97 };
    const struct chance_bernoulli never = chance_bernoulli(0.0), below = chance_bernoulli(-1.0);
    const struct chance_bernoulli always = chance_bernoulli(1.0);
    assert_false(chance_happens(&never, 0) || chance_happens(&below, 0)
                 || chance_happens(&never, UINT64_MAX));
    assert_true(chance_happens(&always, 0) && chance_happens(&always, UINT64_MAX));
    for (size_t i = 0; i < sizeof chances / sizeof *chances; i++) {
        const double p = chances[i], n = 1e6;
        const struct chance_bernoulli b = chance_bernoulli(p);
        struct chance_pcg pcg = chance_pcg_seeded(1, i);
        int happened = 0;
        for (int k = 0; k < (int)n; k++)
            happened += chance_happens(&b, chance_pcg_next(&pcg));
        check_within(happened, n * p, 5.0 * sqrt(n * p * (1.0 - p)));
        check_near((double)b.below * 0x1p-64, p, 1e-15);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_are_the_authors), cmocka_unit_test(advancing_is_stepping),
        cmocka_unit_test(next_unit_is_a_stride), cmocka_unit_test(uniforms_lie_inside),
        cmocka_unit_test(chances_happen_as_often)
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
