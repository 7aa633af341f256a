/* pack_test.c: what is packed comes out again, in bytes fixed here, and nothing is read past the end. */
#include "unit/check.h"

#include "base/base.h"

#include <string.h>

static void known_bytes(void **state)
{
    /* The number 0x0102030405060708, lowest byte first; 12857, whose unsigned LEB128 is b9 64 (DWARF's own example,
     * from memory); 1.5, whose IEEE 754 binary64 is 3ff8000000000000. */
    static const unsigned char wanted[] = { 8, 7, 6, 5, 4, 3, 2, 1, 0xb9, 0x64, 0, 0, 0, 0, 0, 0, 0xf8, 0x3f,
                                            3, 0, 0, 0, 0, 0, 0, 0, 'h', 'i', 0 };
    struct base_packed packed = { 0 };
    (void)state;
    base_pack_whole(&packed, 0x0102030405060708u);
    base_pack_short(&packed, 12857);
    base_pack_real(&packed, 1.5);
    base_pack_text(&packed, "hi");
    assert_false(packed.failed);
    assert_int_equal(packed.n, sizeof wanted);
    assert_memory_equal(packed.bytes, wanted, sizeof wanted);
    base_packed_free(&packed);
}

static void out_again(void **state)
{
    static const uint64_t whole[] = { 0, 1, 127, 128, 16383, 16384, UINT32_MAX, (uint64_t)1 << 63, UINT64_MAX };
    static const double real[] = { 0.0, -0.0, 1.0 / 3, -1e308, 5e-324, HUGE_VAL };
    enum { WHOLES = sizeof whole / sizeof whole[0], REALS = sizeof real / sizeof real[0] };
    struct base_packed packed = { 0 };
    (void)state;
    for (int i = 0; i < 2000; i++) {
        base_pack_whole(&packed, whole[i % WHOLES]);
        base_pack_short(&packed, whole[i % WHOLES]);
        base_pack_real(&packed, real[i % REALS]);
        base_pack_text(&packed, i % 2 ? "" : "squash");
    }
    struct base_unpacking from = { packed.bytes, packed.bytes + packed.n, false };
    for (int i = 0; i < 2000; i++) {
        assert_true(base_unpack_whole(&from) == whole[i % WHOLES]);
        assert_true(base_unpack_short(&from) == whole[i % WHOLES]);
        double value = base_unpack_real(&from);
        assert_memory_equal(&value, &real[i % REALS], sizeof value);
        assert_string_equal(base_unpack_text(&from), i % 2 ? "" : "squash");
    }
    assert_false(from.failed);
    assert_ptr_equal(from.at, from.end);
    base_packed_free(&packed);
}

/* Whatever is cut off, or claims more than there is, fails and stays failed. */
static void past_the_end(void **state)
{
    static const unsigned char bytes[] = { 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255, 255 };
    (void)state;
    for (size_t n = 0; n < sizeof bytes; n++) {
        struct base_unpacking from = { bytes, bytes + n, false };
        base_unpack_short(&from);
        assert_true(from.failed);           /* never ends within 10 bytes */
        from = (struct base_unpacking){ bytes, bytes + n, false };
        assert_string_equal(base_unpack_text(&from), "");
        assert_true(from.failed);
        from = (struct base_unpacking){ bytes, bytes + n, false };
        assert_null(base_unpack(&from, n + 1));
        assert_null(base_unpack(&from, 0));
        assert_true(base_unpack_whole(&from) == 0 && from.failed);
    }
    static const unsigned char unended[] = { 2, 0, 0, 0, 0, 0, 0, 0, 'h', 'i' }, early[] = { 2, 0, 0, 0, 0, 0, 0, 0, 0, 0 };
    struct base_unpacking from = { unended, unended + sizeof unended, false };
    assert_string_equal(base_unpack_text(&from), "");
    assert_true(from.failed);
    from = (struct base_unpacking){ early, early + sizeof early, false };
    assert_string_equal(base_unpack_text(&from), "");
    assert_true(from.failed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_bytes), cmocka_unit_test(out_again), cmocka_unit_test(past_the_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
