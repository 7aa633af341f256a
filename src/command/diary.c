/* diary.c: tideover diary: one trial, week by week. */
#include "command/command.h"

#include "harvest/harvest.h"

static void day_of(const struct plan *plan, int season, int day, char text[16])
{
    scenario_iso_date(plan->scenario, season, day, text);
}

static void tell_planting(const struct plan *plan, const struct future_season *season, int p)
{
    const struct plan_planting *planting = &plan->plantings[p];
    const struct harvest *harvest = &season->harvest[p];
    char date[16];
    printf("  %s: %g x %s; grew %.2f kg, %.2f kg of it lost in the field", planting->planting->name, season->count[p],
           planting->crop->unit, harvest->grown_kg, harvest->field_loss_kg);
    if (planting->crop->kind == SCENARIO_KIND_SQUASH) {
        int of[3] = { 0, 0, 0 };
        for (int f = 0; f < harvest->n; f++)
            of[harvest->cure[f]]++;
        day_of(plan, season->season, harvest->cut_day, date);
        printf("; cut on %s: %d cured well, %d poorly, %d unripe\n", date, of[SCENARIO_WELL], of[SCENARIO_POOR],
               of[SCENARIO_UNRIPE]);
    } else if (harvest->first_week < SCENARIO_NEVER) {
        day_of(plan, season->season + plan_season_of(harvest->first_week), 7 * plan_week_of(harvest->first_week), date);
        printf("; in jars from the week of %s; sorting takes out %.1f %%\n", date, 100 * harvest->sorted_out);
    } else {
        printf("; brings nothing in\n");
    }
}

static void tell_season(void *context, const struct plan *plan, const struct future_season *season)
{
    (void)context;
    char frost[16], hard[16];
    day_of(plan, season->season, season->weather->last_frost, frost);
    day_of(plan, season->season, season->weather->first_hard_frost, hard);
    printf("\nSeason %d: ", season->season);
    printf(season->weather->last_frost < 0 ? "no spring frost, " : "last spring frost %s, ", frost);
    printf(season->weather->first_hard_frost >= SCENARIO_DAYS ? "no hard frost, " : "first hard frost %s, ", hard);
    printf("warmth %+.2f (normal score)\n", season->weather->score);
    for (int p = 0; p < plan->plantings_n; p++)
        tell_planting(plan, season, p);
}

static void tell_week(const struct plan *plan, const struct future_ledger *ledger, int week)
{
    size_t at = (size_t)week * PLAN_ABREAST;
    static const char *const names[SCENARIO_FOODS] = { "beans", "squash" };
    char date[16];
    day_of(plan, plan_season_of(week), 7 * plan_week_of(week), date);
    printf("%s ", date);
    for (int food = 0; food < SCENARIO_FOODS; food++)
        printf(" | %-6s %6.2f %6.2f %6.2f %6.2f %4d%s", names[food], ledger->at.wanted_kg[food][at],
               ledger->at.eaten_kg[food][at], ledger->at.lost_kg[food][at], ledger->at.stock_kg[food][at],
               ledger->at.count[food][at], ledger->at.is_short[food][at] ? " SHORT" : "      ");
    putchar('\n');
}

static void tell_year(const struct plan *plan, const struct future_ledger *ledger, int y)
{
    static const char *const names[SCENARIO_FOODS] = { "beans", "squash" };
    const struct future_year *year = &ledger->year[y];
    printf("\nFood year %d: %d weeks\n", y + 1, year->weeks);
    printf("week of     | food   wanted  eaten   lost  stock count (kg; jars or whole fruits, after meals)\n");
    for (int week = year->first_week; week < year->first_week + year->weeks; week++)
        tell_week(plan, ledger, week);
    for (int food = 0; food < SCENARIO_FOODS; food++) {
        const struct store_books *b = &year->books[food];
        printf("%s, kg: %.2f at the beginning + %.2f in = %.2f eaten + %.2f dried away + %.2f trimmed + %.2f lost in store "
               "+ %.2f given away + %.2f thrown out + %.2f seed + %.2f left\n", names[food], b->opening, b->in, b->eaten,
               b->dried_away, b->trimmed, b->lost, b->given_away, b->thrown_out, b->seed, b->left);
    }
    printf("short weeks: beans %d, squash %d, either %d\n", year->short_weeks[SCENARIO_BEANS],
           year->short_weeks[SCENARIO_SQUASH], year->short_weeks[FUTURE_ANY]);
}

enum base_result command_diary(const struct command_options *options)
{
    if (options->args_n != 1)
        return command_refuse("diary wants one scenario file; see tideover --help");
    struct base_arena arena = { 0 };
    struct command_loaded loaded;
    enum base_result result = command_load(&arena, options, options->args[0], NULL, 0, &loaded);
    struct future_trial *trial = result == BASE_OK ? future_room(&arena, loaded.plan) : NULL;
    if (result == BASE_OK && !trial)
        result = BASE_FAILED;
    if (result == BASE_OK) {
        const struct scenario *scenario = loaded.scenario;
        printf("%s\nTrial %lld of random seed %lld\n", scenario->title ? scenario->title : scenario->name,
               (long long)options->trial, (long long)scenario->random_seed);
        future_set_watch(trial, tell_season, NULL);
        const struct future_ledger *ledger = future_run(loaded.plan, trial, (uint64_t)scenario->random_seed,
                                                        (uint64_t)options->trial);
        for (int y = 0; y < ledger->years_n; y++)
            tell_year(loaded.plan, ledger, y);
        printf("The books balance: %s.\n", ledger->balanced ? "yes" : "NO, please report this");
    }
    base_arena_free(&arena);
    return command_end_output(result);
}
