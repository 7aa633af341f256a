/* shelf.c: what was counted, or what is left when the first produce arrives. */
#include "plan/internal.h"

#include <math.h>

/* Seasons back to the latest such week on or before the count; without a count it is the season before. */
static int cut_week(const struct plan *plan, int cut_day)
{
    int week = plan_week(cut_day);
    if (plan->stock_take && cut_day <= plan->scenario->shelf.as_of)
        return week;
    return week - SCENARIO_WEEKS;
}

/* Complains of something older than it can become; true if it may live on. */
static bool may_live(const struct chance_distribution *life, double factor, int age_weeks,
                     const struct scenario_origin *origin, struct base_complaints *complaints)
{
    double least, most;
    chance_support(life, &least, &most);
    if (age_weeks <= 0 || (factor * most > age_weeks && chance_survival(life, age_weeks / factor) > 0))
        return true;
    base_complain(complaints, BASE_ERROR, origin->file, origin->line, origin->path,
                  "is %d weeks old, but keeps at most %.4g weeks where and as it lies: mend the date or how long "
                  "the crop keeps", age_weeks, factor * most);
    return false;
}

/* Table of a life given the age: the distribution cut off below at it (strictly: what has that very life has ended). Where
 * hardly any reach that age there is none (*table NULL): trials ask the distribution's own upper tail. */
static bool table_given(struct base_arena *arena, const struct scenario_distribution *spec,
                        const struct chance_distribution *life, double age, const struct chance_table **table,
                        struct base_complaints *complaints)
{
    const double rare = 1e-5;
    struct scenario_distribution older = *spec;
    *table = NULL;
    if (chance_survival(life, age) < rare)
        return true;
    if (age > 0 && (!spec->has_least || spec->at_least <= age)) {
        older.has_least = true;
        older.at_least = nextafter(age, HUGE_VAL);
    }
    const struct chance_distribution *given = chance_make(arena, &older, complaints);
    *table = given ? chance_table_make(arena, given) : NULL;
    return *table != NULL;
}

bool plan_same_lot(const struct plan_shelf_fruit *a, const struct plan_shelf_fruit *b)
{
    return a->planting == b->planting && a->place == b->place && a->cure == b->cure && a->cut_day == b->cut_day
           && a->cut_week == b->cut_week && a->kg == b->kg && a->life == b->life;
}

bool plan_reread_fruit(struct base_arena *arena, const struct plan *plan, const struct scenario_distribution *keeps,
                       struct plan_shelf_fruit *fruit)
{
    struct base_complaints aside = { 0 };
    double age = ((plan->stock_take ? plan->count_week : plan->usual.first_any) - fruit->cut_week) / fruit->factor;
    const struct chance_distribution *life = chance_make(arena, keeps, &aside);
    const struct chance_table *given = NULL;
    bool lives = life && (age <= 0 || chance_survival(life, age) > 0);
    bool good = !lives || !plan->stock_take || table_given(arena, keeps, life, age, &given, &aside);
    if (lives && good) {
        fruit->life = life;
        fruit->life_given = given;
    }
    good = good && (life || aside.errors > 0);
    base_complaints_free(&aside);
    return good;
}

static bool squash_item(struct base_arena *arena, struct plan *plan, const struct scenario_shelf_squash *item,
                        struct plan_shelf_fruit *out, struct base_complaints *complaints)
{
    const struct plan_planting *p = &plan->plantings[item->planting];
    int week = cut_week(plan, item->cut);
    *out = (struct plan_shelf_fruit){
        .planting = item->planting, .place = item->place, .cure = item->cured, .kg = item->kg,
        .factor = p->life_factor[item->cured] * plan->places[item->place].keeps_factor,
        .cut_week = week, .cut_day = item->cut - (week < 0 ? SCENARIO_DAYS : 0),
        .life = chance_make(arena, &p->crop->keeps_weeks, complaints),
    };
    if (!out->life)
        return false;
    int age = (plan->stock_take ? plan->count_week : plan->usual.first_any) - week;
    if (!may_live(out->life, out->factor, age, &item->origin, complaints))
        return false;
    return !plan->stock_take || table_given(arena, &p->crop->keeps_weeks, out->life, age / out->factor, &out->life_given,
                                            complaints);
}

static int beans_begun_week(const struct plan *plan, const struct scenario_shelf_beans *item)
{
    int week = item->begun >= 0 ? plan_week(item->begun) : plan->usual.first[SCENARIO_BEANS];
    return week - SCENARIO_WEEKS * item->seasons_old;
}

/* Counted beans stand in jars: full ones, and the last with what is left. */
static bool beans_item(struct base_arena *arena, struct plan *plan, const struct scenario_shelf_beans *item,
                       struct plan_shelf_jar *jars, int n, struct base_complaints *complaints)
{
    int begun = beans_begun_week(plan, item);
    int now = plan->stock_take ? plan->count_week : plan->usual.first_any;
    begun = begun > now ? now : begun;
    const struct scenario_distribution *spec = &plan->scenario->store.jar_keeps_weeks;
    const struct chance_distribution *life = spec->set ? chance_make(arena, spec, complaints) : NULL;
    const struct chance_table *given = NULL;
    if (spec->set) {
        if (!life || !may_live(life, 1.0, now - begun, &item->origin, complaints))
            return false;
        if (plan->stock_take && !table_given(arena, spec, life, now - begun, &given, complaints))
            return false;
    }
    for (int j = 0; j < n; j++) {
        double kg = j < n - 1 ? plan->scenario->store.jar_kg : item->kg - (n - 1) * plan->scenario->store.jar_kg;
        jars[j] = (struct plan_shelf_jar){ .planting = item->planting, .season = -item->seasons_old, .kg = kg,
                                           .begun_week = begun, .life = life, .life_given = given };
    }
    return true;
}

int plan_jars_for(double kg, double jar_kg) { return kg <= 0 ? 0 : (int)ceil(kg / jar_kg - 1e-9); }

bool plan_make_shelf(struct base_arena *arena, struct plan *plan, struct base_complaints *complaints)
{
    const struct scenario_shelf *shelf = &plan->scenario->shelf;
    double jar_kg = plan->scenario->store.jar_kg;
    size_t jars = 0, fruits = 0;
    for (int i = 0; i < shelf->squash_n; i++)
        fruits += (size_t)shelf->squash[i].fruits;
    for (int i = 0; i < shelf->beans_n; i++)
        jars += (size_t)plan_jars_for(shelf->beans[i].kg, jar_kg);
    struct plan_shelf_fruit *fruit = base_arena_array(arena, fruits + 1, sizeof *fruit);
    struct plan_shelf_jar *jar = base_arena_array(arena, jars + 1, sizeof *jar);
    if (!fruit || !jar)
        return false;
    bool good = true;
    for (int i = 0; i < shelf->squash_n; i++) {
        struct plan_shelf_fruit item;
        good &= squash_item(arena, plan, &shelf->squash[i], &item, complaints);
        for (int k = 0; k < shelf->squash[i].fruits; k++)
            fruit[plan->shelf_fruits_n++] = item;
    }
    for (int i = 0; i < shelf->beans_n; i++) {
        int n = plan_jars_for(shelf->beans[i].kg, jar_kg);
        good &= beans_item(arena, plan, &shelf->beans[i], jar + plan->shelf_jars_n, n, complaints);
        plan->shelf_jars_n += n;
        plan->oldest_season = -shelf->beans[i].seasons_old < plan->oldest_season ? -shelf->beans[i].seasons_old
                                                                                 : plan->oldest_season;
    }
    plan->shelf_fruits = fruit;
    plan->shelf_jars = jar;
    return good;
}
