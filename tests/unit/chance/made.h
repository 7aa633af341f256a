/* made.h: distributions for the tests of this room. */
#ifndef TIDEOVER_CHANCE_MADE_H
#define TIDEOVER_CHANCE_MADE_H

#include "chance/chance.h"
#include "unit/check.h"

#include <stdlib.h>
#include <string.h>

static inline struct scenario_distribution made_spec(enum scenario_shape shape, enum scenario_bound bound,
                                                     double a0, double a1, double a2)
{
    return (struct scenario_distribution){
        .set = true, .shape = shape, .bound = bound, .a = { a0, a1, a2 },
        .origin = { "scenario.cfg", 7, "crops.bean.unit_kg" }
    };
}

/* Whatever was complained of as one text, empty when nothing was; static buffer, tests are single-
 * threaded. */
static inline const char *made_text(const struct base_complaints *complaints)
{
    static char text[4096];
    memset(text, 0, sizeof text);
    FILE *to = fmemopen(text, sizeof text - 1, "w");
    assert_non_null(to);
    base_complaints_print(complaints, to);
    fclose(to);
    return text;
}

/* Fails with the complaint when the distribution is refused. */
static inline const struct chance_distribution *made(struct base_arena *arena,
                                                     const struct scenario_distribution *spec)
{
    struct base_complaints complaints = { .errors = 0 };
    const struct chance_distribution *d = chance_make(arena, spec, &complaints);
    if (!d)
        print_error("refused: %s\n", made_text(&complaints));
    assert_non_null(d);
    assert_int_equal(complaints.errors + complaints.warnings, 0);
    base_complaints_free(&complaints);
    return d;
}

static inline const struct chance_distribution *made_of(struct base_arena *arena, enum scenario_shape shape,
                                                        enum scenario_bound bound, double a0, double a1,
                                                        double a2)
{
    struct scenario_distribution spec = made_spec(shape, bound, a0, a1, a2);
    return made(arena, &spec);
}

/* The distribution is refused with one error at its setting, whose text holds `words`. */
static inline void made_refused(const struct scenario_distribution *spec, const char *words)
{
    struct base_arena arena = { .last = NULL };
    struct base_complaints complaints = { .errors = 0 };
    const struct chance_distribution *d = chance_make(&arena, spec, &complaints);
    const char *text = made_text(&complaints);
    if (d || complaints.errors != 1 || !strstr(text, words)
        || !strstr(text, "scenario.cfg:7: crops.bean.unit_kg")) {
        print_error("%s, errors %d, wanted \"%s\", said \"%s\"\n", d ? "accepted" : "refused",
                    complaints.errors, words, text);
        fail();
    }
    base_complaints_free(&complaints);
    base_arena_free(&arena);
}

/* Words spread evenly by a Weyl sequence, for sweeps. */
static inline uint64_t made_word(uint64_t i) { return chance_mix(i * 0x9e3779b97f4a7c15u + 1u); }

#endif
