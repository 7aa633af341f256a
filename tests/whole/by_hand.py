"""Scenarios in which nothing is left to chance, small enough to do by hand: every line of the books and
every week.

Most masses are sums of powers of two, so that the program's rounding to 2^-20 kg loses nothing and the
figures are exact.
"""
import scenes

CUT = scenes.CUT_WEEK
HAND = "by hand"
BOOKS = ("kg_grown", "kg_field_loss", "kg_sorted_out", "kg_seed", "kg_in", "kg_eaten", "kg_dried_away",
         "kg_trimmed", "kg_store_loss",
         "kg_lost_while_wanted", "kg_given_away", "kg_thrown_out", "kg_left")


def books(checks, r, food, year=1, absolute=0.0, **lines):
    """Every line of the books: those not named are 0. Means, and quantiles (small runs keep every value)."""
    for line in BOOKS:
        wanted = lines.pop(line[3:], 0.0)
        for measure in (line, line + "_p10", line + "_p50", line + "_p90"):
            checks.near("%s: %s %s year %s" % (r.folder, food, measure, year), HAND,
                        r.value(food, measure, year), wanted, 1e-9,
                        absolute if measure == line else 0.0)
    assert not lines, lines


def weeks(checks, r, food, first, rows, absolute=0.0):
    """Rows of (stock, count, wanted, eaten, lost, short) from week `first`; the last one is repeated to the
    end."""
    last = max(r.weeks(food))
    been_short = 0.0
    checks.equal("%s: %s first week" % (r.folder, food), HAND, min(r.weeks(food)), first)
    for week in range(first, last + 1):
        stock, count, wanted, eaten, lost, short = rows[min(week - first, len(rows) - 1)]
        been_short = max(been_short, short)
        row = r.week[week, food]
        for column, value in (("stock_kg_mean", stock), ("wanted_kg", wanted), ("eaten_kg", eaten),
                              ("lost_kg", lost)):
            checks.near("%s: week %d %s %s" % (r.folder, week, food, column), HAND, float(row[column]), value,
                        1e-9, absolute)
        for column in ("stock_kg_p05", "stock_kg_p25", "stock_kg_p50", "stock_kg_p75", "stock_kg_p95"):
            checks.near("%s: week %d %s %s" % (r.folder, week, food, column), HAND, float(row[column]), stock,
                        1e-9, 1e-12)
        for column, value in (("count_p50", count), ("chance_short", short),
                              ("chance_short_by_now", been_short)):
            checks.equal("%s: week %d %s %s" % (r.folder, week, food, column), HAND, float(row[column]),
                         float(value))
        checks.equal("%s: week %d date" % (r.folder, week), HAND, row["date"], scenes.date_of(week))


def dry_beans(checks, go):
    """2.5 units of 2 kg, a quarter picked green: 3.75 kg. Half of it finishes well: 1.875 kg; a quarter is
    sorted out: 1.40625 kg
    two weeks later, of which 0.0625 x 2.5 x 2 = 0.3125 kg is seed. 2.5 portions, twice a week, of 1/32 kg:
    0.15625 kg a week, so
    that 1.09375 kg is seven weeks' food exactly."""
    crop = {"unit_kg": 2.0, "left_to_dry": 0.75, "finish_share": 0.5, "sorted_out": 0.25,
            "indoor_drying_weeks": 2, "saves_seed": True,
            "seed_kg_per_unit": 0.0625, "seed_spare": 1.0, "kcal_per_kg": 3200.0, "protein_g_per_kg": 256.0}
    scene = scenes.beans(crop, {"count": 2.5}, store={"jar_kg": 0.5}, household={
        "eaters": [{"count": 2}, {"count": 1, "portion": 0.5}], "needs": {"kcal_per_day": 2000.0},
        "meals": {"beans": {"meals_per_week": 2.0, "portion_kg": 0.03125, "from": "11-01",
                            "until": "02-28"}}})
    r = go("dry_beans", scene, 3)
    books(checks, r, "beans", grown=3.75, field_loss=1.875, sorted_out=0.46875, seed=0.3125,
          **{"in": 1.40625}, eaten=1.09375)
    books(checks, r, "squash")
    rows, stock, wanted_weeks = [], 1.09375, 0
    for week in range(CUT + 2, CUT + 2 + 52):
        wanted = 0.15625 if scenes.in_window(week, "11-01", "02-28") else 0.0
        eaten = min(stock, wanted)
        stock -= eaten
        wanted_weeks += wanted > 0
        # two of 0.5 kg, then one of 0.09375
        jars = sum(stock > 1.09375 - jar for jar in (0.5, 1.0, 1.09375))
        rows.append((stock, jars, wanted, eaten, 0.0, float(eaten < wanted)))
    weeks(checks, r, "beans", CUT + 2, rows)
    checks.equal("dry_beans: weeks wanted", "1 November is day 245: weeks 35 to 51", wanted_weeks, 17)
    for food in ("beans", "any"):
        for measure, value in (("chance_short", 1), ("chance_over_4_weeks_short", 1), ("never_short", 0),
                               ("short_weeks", 10),
                               ("meals_short", 20), ("meals_short_p95", 20), ("kcal_served", 3500),
                               ("protein_g_served", 280),
                               ("kcal_share", 3500 / (2.5 * 2000 * 365)), ("protein_share", 0)):
            checks.near("dry_beans: %s %s" % (food, measure), HAND, r.value(food, measure), value, 1e-9,
                        2.0 ** -21)
        for p in ("_p10", "_p50", "_p90"):
            checks.equal("dry_beans: %s first_short" % food, HAND,
                         r.figure["1", food, "first_short" + p]["date"], scenes.date_of(42))
    checks.equal("dry_beans: jars", HAND, (r.value("beans", "jars_peak_p50"),
                                           r.value("beans", "jars_peak_p95")), (3, 3))


def ripe_squash(checks, go):
    """Three fruits of 4 kg lose a quarter of their weight a week; half of it is flesh; 0.5 kg a week is
    wanted from week 30 on, and there from week 31, where
    curing ends. Cut flesh may be eaten in the week after."""
    crop = {"fruits": 3, "fruit_kg": 4.0, "drying_loss_per_week": 0.25, "flesh_share": 0.5, "cure_weeks": 1,
            "kcal_per_kg": 512.0}
    scene = scenes.squash(crop, household__meals__squash={"meals_per_week": 1.0, "portion_kg": 0.5,
                                                          "from": "09-27", "until": "12-31"})
    r = go("ripe_squash", scene, 2)
    rows = [(12.0, 3, 0.5, 0.0, 0.0, 1.0),
            # one of 3 kg opened: 1.5 kg flesh, 1 kg kept
            (6.0 + 1.0, 2, 0.5, 0.5, 0.0, 0.0),
            (2 * 2.25, 2, 0.5, 0.5, 0.5, 0.0),                         # the rest of it, past keeping, is lost
            (1.6875 + 0.34375, 1, 0.5, 0.5, 0.0, 0.0),                 # 0.84375 kg of flesh, 0.34375 kept
            # that, and 0.15625 of the last one's 0.6328125
            (0.4765625, 0, 0.5, 0.5, 0.0, 0.0),
            (0.0, 0, 0.5, 0.4765625, 0.0, 1.0)]
    rows += [(0.0, 0, 0.5, 0.0, 0.0, 1.0)] * 8 + [(0.0, 0, 0.0, 0.0, 0.0, 0.0)]
    weeks(checks, r, "squash", CUT, rows)
    books(checks, r, "squash", grown=12.0, **{"in": 12.0}, eaten=2.4765625,
          dried_away=3 + 1.5 + 1.125 + 0.421875,
          trimmed=1.5 + 0.84375 + 0.6328125, store_loss=0.5, lost_while_wanted=0.5)
    checks.near("ripe_squash: short weeks", HAND, r.value("squash", "short_weeks"), 10)
    checks.near("ripe_squash: meals short", HAND, r.value("squash", "meals_short"), 9 + 0.0234375 / 0.5)
    checks.near("ripe_squash: kcal", HAND, r.value("squash", "kcal_served"), 512 * 2.4765625)
    checks.equal("ripe_squash: fruits", HAND, r.value("squash", "fruits_peak_p95"), 3)


def rotten(checks, go):
    """Ten fruits of 1 kg that keep three weeks, cut in week 30, looked over in weeks 32 and 36; half of the
    flesh of 0.8 is kept for
    each of the three weeks that they lay: 0.1 kg. Wanted: 0.5 kg in week 36 alone."""
    crop = {"keeps_weeks": 3.0, "flesh_share": 0.8}
    scene = scenes.squash(crop, store={"look_over_weeks": 4, "salvage_share": 0.5, "cut_keeps_weeks": 0},
                          household__meals__squash={"meals_per_week": 1.0, "portion_kg": 0.5, "from": "11-02",
                                                    "until": "11-08"})
    r = go("rotten", scene, 2)
    books(checks, r, "squash", absolute=2.0 ** -21, grown=10.0, **{"in": 10.0}, eaten=0.5, store_loss=9.5,
          lost_while_wanted=9.5)
    weeks(checks, r, "squash", CUT, [(10.0, 10, 0.0, 0.0, 0.0, 0.0)] * 6 + [(0.0, 0, 0.5, 0.5, 9.5, 0.0),
                                                                            (0.0, 0, 0, 0, 0, 0.0)],
          2.0 ** -21)
    opened = scenes.changed(scene, household__meals__squash__from="10-25",
                            household__meals__squash__until="10-31")
    # week 34: dead one week, 0.4 kg of flesh each: two are opened, 0.3 kg of it is lost
    r = go("rotten_opened", opened, 2)
    checks.near("rotten: eaten", HAND, r.value("squash", "kg_eaten"), 0.5, 1e-9, 2.0 ** -21)
    checks.near("rotten: stock after week 34", HAND, r.of_week(34, "squash", "stock_kg_mean"), 8.0)
    checks.near("rotten: lost in week 34", HAND, r.of_week(34, "squash", "lost_kg"), 1.5, 1e-9, 2.0 ** -21)
    checks.near("rotten: nothing trimmed", HAND, r.value("squash", "kg_trimmed"), 0.0)


def eating_order(checks, go):
    """One fruit a week is opened: unripe first, then by eat_rank, then the place that keeps worst, then
    planting, unit, fruit."""
    green = dict(scenes.SQUASH, fruits=1, fruit_kg=16.0, heat_to_ripen=9000.0)
    scene = scenes.squash({"fruits": 1}, household__meals__squash__portion_kg=0.5,
                          store={"cut_keeps_weeks": 0},
                          places=[{"name": "good", "holds": 4, "keeps_factor": 2.0},
                                  {"name": "bad", "keeps_factor": 1.0}])
    for name, kg in (("two", 2.0), ("four", 4.0), ("eight", 8.0)):
        scene["crops"][name] = dict(scenes.SQUASH, fruits=1, fruit_kg=kg)
    scene["crops"]["green"] = green
    scene["plantings"] = {
        "one": {"crop": "gourd", "count": 1, "eat_rank": 3}, "two": {"crop": "two", "count": 1},
                          "green": {"crop": "green", "count": 1},
        "four": {"crop": "four", "count": 1, "eat_rank": -1}, "eight": {"crop": "eight", "count": 1},
    }
    r = go("eating_order", scene, 1)
    left, stocks = 31.0, []
    # green, rank -1, then of rank 0 the one in the bad place, then two, then rank 3
    for kg in (16.0, 4.0, 8.0, 2.0, 1.0):
        left -= kg
        stocks.append(left)
    found = [r.of_week(CUT + k, "squash", "stock_kg_mean") for k in range(5)]
    checks.equal("eating_order", "model's order of eating", found, stocks)


def own_seed(checks, go):
    """0.0625 kg a unit, 0.078125 kg of seed for each: a planting of 3, 2, then 1 unit, all of it seed each
    year."""
    crop = {"unit_kg": 0.0625, "saves_seed": True, "buys_seed": False, "seed_kg_per_unit": 0.078125,
            "seed_spare": 0.5}
    scene = scenes.beans(crop, {"count": 3}, food_years=3, household__meals__beans__portion_kg=0.015625)
    r = go("own_seed", scene, 2)
    for year, kg in ((1, 0.1875), (2, 0.125), (3, 0.0625)):
        books(checks, r, "beans", year, grown=kg, seed=kg, **{"in": kg})
        checks.near("own_seed: short weeks in year %d" % year, HAND, r.value("beans", "short_weeks", year),
                    52)
    # A shelf of 1 kg of last season's beans makes the first year's seed up to 3 x 0.078125 x 1.5 = 0.3515625
    # kg.
    r = go("seed_from_jars", scenes.changed(scene, on_shelf={"beans": [{"planting": "row", "kg": 1.0,
                                                                        "seasons_old": 1}]}), 2)
    books(checks, r, "beans", 1, grown=0.1875, seed=0.3515625, **{"in": 0.1875}, eaten=0.8125,
          left=1.1875 - 0.3515625 - 0.8125)
    checks.near("seed_from_jars: all three are sown again", HAND, r.value("beans", "kg_grown", 2), 0.1875)


def eked_out(checks, go):
    """1.8125 kg for 52 weeks of 0.0625 kg: each week gets the same share of its want, 29/52."""
    scene = scenes.beans({"unit_kg": 1.8125}, household__meals__beans__portion_kg=0.0625,
                         household__eke_out={"least": 0.25},
                         household__enough=0.5)
    r = go("eked_out", scene, 2)
    for week in range(CUT, CUT + 52):
        checks.near("eked_out: eaten in week %d" % week, HAND, r.of_week(week, "beans", "eaten_kg"),
                    1.8125 / 52, 1e-9, 2.0 ** -21)
    checks.near("eked_out: meals short", HAND, r.value("beans", "meals_short"), 23, 1e-9, 2.0 ** -21)
    checks.near("eked_out: no week is under half", HAND, r.value("beans", "short_weeks"), 0)
    r = go("eked_to_the_least", scenes.changed(scene, household__eke_out__least=0.75, household__enough=1.0),
           2)
    fed = int(1.8125 / (0.75 * 0.0625))     # 38 weeks of three quarters, and two thirds of such a week
    checks.near("eked to the least: full weeks", HAND, sum(abs(r.of_week(w, "beans",
                                                                         "eaten_kg") - 0.046875) < 1e-9
                                                           for w in
                                                           r.weeks("beans")), fed)
    checks.near("eked to the least: every week is short", HAND, r.value("beans", "short_weeks"), 52)


def stand_ins(checks, go):
    """Two squash of 1 kg for ten weekly portions of 0.5 kg: six weeks of beans in their stead, whatever the
    beans' own window."""
    scene = scenes.squash({"fruits": 2}, household__beans_stand_in=True,
                          crops__bean=dict(scenes.BEANS, unit_kg=1.0),
                          plantings__row={"crop": "bean", "count": 1},
                          household__meals__squash={"meals_per_week": 1.0, "portion_kg": 0.5, "from": "10-01",
                                                    "until": "12-06"})
    scene["household"]["meals"]["beans"] = {"meals_per_week": 1.0, "portion_kg": 0.125, "from": "12-10",
                                            "until": "12-16"}
    r = go("stand_ins", scene, 2)
    books(checks, r, "beans", grown=1.0, **{"in": 1.0}, eaten=0.875, left=0.125)
    books(checks, r, "squash", grown=2.0, **{"in": 2.0}, eaten=2.0)
    checks.near("stand_ins: nothing short", HAND, r.value("any", "chance_short"), 0)


def away(checks, go):
    """Nobody eats in weeks whose first day is in a time away; the window of the food wraps over the year's
    end."""
    scene = scenes.beans({"unit_kg": 8.0}, household__meals__beans={"meals_per_week": 1.0,
                                                                    "portion_kg": 0.125, "from": "12-15",
                                                                    "until": "01-31"},
                         household__away=[{"from": "12-30", "until": "01-06"}])
    r = go("away", scene, 2)
    wanted = [w for w in r.weeks("beans") if r.of_week(w, "beans", "wanted_kg") > 0]
    by_date = [w for w in r.weeks("beans") if scenes.in_window(w, "12-15",
                                                               "01-31") and not scenes.in_window(w, "12-30",
                                                                                                 "01-06")]
    checks.equal("away: weeks wanted", "calendar", wanted, by_date)
    checks.true("away: one or two weeks of the window are away", "calendar", len(by_date) in (5, 6),
                str(by_date))
    checks.near("away: eaten", HAND, r.value("beans", "kg_eaten"), 0.125 * len(by_date))


def southern(checks, go):
    """A year that starts on 1 September: cut on 1 April, day 212, week 30, whose first day is 30 March
    2002."""
    scene = scenes.squash({"fruits": 4, "cut_by": "04-01", "plant_out": "11-20"}, year_starts="09-01",
                          climate={
        "tmin_c": scenes.TMIN[6:] + scenes.TMIN[:6], "tmax_c": scenes.TMAX[6:] + scenes.TMAX[:6],
                                   "last_frost": "11-01",
        "first_hard_frost": "05-10"})
    r = go("southern", scene, 1)
    for week in r.weeks("squash"):
        checks.equal("southern: date of week %d" % week, "calendar", r.week[week, "squash"]["date"],
                     scenes.date_of(week, 243))
    checks.equal("southern: first week", HAND, r.weeks("squash")[0], 30)
    checks.equal("southern: last week's date", HAND, r.week[max(r.weeks("squash")), "squash"]["date"],
                 "2003-03-23")
    checks.equal("southern: first short week", HAND, r.figure["1", "squash", "first_short_p50"]["date"],
                 "2002-04-27")


ALL = (dry_beans, ripe_squash, rotten, eating_order, own_seed, eked_out, stand_ins, away, southern)
