/* cross_amounts.c: keeps what has to be followed one by one, fruits and jars, within memory. */
#include "scenario/inside.h"

#include <math.h>

/* Every unit, fruit and jar of a trial is followed on its own. BYTES_EACH is a round figure for the
 * message. */
enum { MOST_UNITS = 100000, MOST_FRUITS = 1000000, MOST_JARS = 100000, BYTES_EACH = 100 };

static double largest(const struct scenario_distribution *d)
{
    double most = 0;
    for (size_t i = 0; i < d->n && d->list != NULL; i++) {
        most = fmax(most, d->list[i]);
    }
    return most;
}

/* A middling to large figure of the distribution, for an estimate of memory; not its mean. */
static double middle(const struct scenario_distribution *d)
{
    double value = d->a[0];
    switch (d->shape) {
    case SCENARIO_TRIPLET:
    case SCENARIO_UNIFORM:
        value = d->a[1];
        break;
    case SCENARIO_TRIANGULAR:
    case SCENARIO_PERT:
        value = d->a[2];
        break;
    case SCENARIO_LOGNORMAL_LOG:
        value = exp(d->a[0] + d->a[1] * d->a[1] / 2);
        break;
    case SCENARIO_GAMMA_SHAPE:
        value = d->a[0] * d->a[1];
        break;
    case SCENARIO_WEIBULL_SHAPE:
        value = d->a[1];
        break;
    case SCENARIO_BETA_SHAPE:
        value = 1;
        break;
    case SCENARIO_COUNTS:
    case SCENARIO_RECORDS:
        value = largest(d);
        break;
    default:
        break;
    }
    return d->has_most ? fmin(value, d->at_most) : value;
}

static void check(struct scenario_binding *binding, double amount, double most, const char *what)
{
    struct scenario_tree *plantings = scenario_tree_member(binding->root, "plantings");
    if (plantings != NULL && amount > most) {
        scenario_wrong(
            binding, plantings, "plantings",
            "come to about %.3g %s, which would take about %.3g MB of memory a thread (allowed 0..%.7g)",
            amount, what, amount * BYTES_EACH / 1e6, most);
    }
}

/* Fruits of one kind of place on the shelf, against what the place holds: a count is a count, so only
 * warned of. */
static void check_room(struct scenario_binding *binding)
{
    const struct scenario *scenario = binding->scenario;
    for (int i = 0; i < scenario->places_n; i++) {
        double fruits = 0;
        for (int j = 0; j < scenario->shelf.squash_n; j++) {
            fruits += scenario->shelf.squash[j].place == i ? scenario->shelf.squash[j].fruits : 0;
        }
        if (fruits > scenario->places[i].holds) {
            base_complain(binding->reading->complaints, BASE_WARNING, scenario->shelf.origin.file,
                          scenario->shelf.origin.line, "on_shelf.squash",
                          "puts %.0f fruits in %s, which holds %.0f", fruits, scenario->places[i].name,
                          scenario->places[i].holds);
        }
    }
}

void scenario_cross_amounts(struct scenario_binding *binding)
{
    const struct scenario *scenario = binding->scenario;
    double units = 0, fruits = 0, beans_kg = 0;
    for (int i = 0; i < scenario->plantings_n; i++) {
        const struct scenario_planting *planting = &scenario->plantings[i];
        units += planting->count;
        fruits += ceil(planting->count) * fmax(0, middle(&planting->crop.fruits));
        beans_kg += planting->count * fmax(0, middle(&planting->crop.unit_kg));
    }
    for (int i = 0; i < scenario->shelf.squash_n; i++) {
        fruits += scenario->shelf.squash[i].fruits;
    }
    for (int i = 0; i < scenario->shelf.beans_n; i++) {
        beans_kg += scenario->shelf.beans[i].kg;
    }
    check(binding, units, MOST_UNITS, "units");
    check(binding, fruits, MOST_FRUITS, "fruits");
    check(binding, scenario->store.jar_kg > 0 ? beans_kg / scenario->store.jar_kg : 0, MOST_JARS,
          "jars of beans");
    check_room(binding);
}
