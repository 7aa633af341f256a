#!/usr/bin/python3
"""Checks of model.py against cases worked out by hand. Each prints what was found and what should be; a chance or a mean
may be 4.5 standard errors off, a certain case 1e-9. The sources are elementary probability (partial expectation of a gamma,
survival of a Weibull, Phi for a rounded normal date) and a quadrature of the sine curve for degree-days.
"""
import copy
import datetime
import math
import tempfile

import numpy as np
from scipy import integrate, special

import garden
import model
import trial
import weather

NORMALS = {"tmin_c": [1.5, 1.4, 2.6, 4.1, 6.8, 9.7, 11.7, 11.6, 9.6, 6.9, 3.9, 1.8],
           "tmax_c": [7.0, 7.7, 10.2, 13.2, 16.4, 19.3, 21.6, 21.2, 18.3, 14.1, 10.0, 7.3]}
BASE = {
    "household": {"eaters": [{"count": 1}], "meals": {"beans": {"meals_per_week": 1.0, "portion_kg": 0.05}}},
    "climate": dict(NORMALS, last_frost="05-01", first_hard_frost="11-10"),
    "crops": {
        "bean": {"kind": "beans", "unit_kg": {"shape": "gamma", "k": 9.0, "theta": 0.32}, "base_c": 8.0,
                 "heat_to_dry": 700.0,
                 "pick_until": "11-05"},
        "gourd": {"kind": "squash", "fruits": 10, "fruit_kg": 1.0, "base_c": 10.0, "heat_to_ripen": 100.0,
                  "cut_by": "10-01",
                  "keeps_weeks": {"shape": "weibull", "k": 2.5, "scale": 20.0}}},
    "plantings": {"row": {"crop": "bean", "count": 1, "plant_out": "05-20"}},
}


class Checks:
    def __init__(self):
        self.failed = 0

    def near(self, what, found, wanted, tolerance):
        good = abs(found - wanted) <= tolerance
        self.failed += not good
        print("%-4s %-62s found %.6g, should be %.6g, may differ by %.2g" % ("ok" if good else "BAD", what,
                                                                             found, wanted, tolerance))


def scenario(**changes):
    """BASE with settings changed: path with __ between the names."""
    g = copy.deepcopy(BASE)
    for path, value in changes.items():
        at = g
        names = path.split("__")
        for n in names[:-1]:
            at = at.setdefault(n, {})
        at[names[-1]] = value
    return g


def run(g, trials, seed=5):
    plan = garden.Plan(g)
    done = list(trial.run(plan, seed, 0, trials))
    rows = [[model.year_row(plan, y) for y in t.years] for t in done]
    return plan, done, lambda food, name, k=0: np.array([r[k][food, name] for r in rows])


def mean_near(checks, what, x, wanted):
    checks.near(what, float(np.mean(x)), wanted, 4.5 * float(np.std(x)) / math.sqrt(len(x)) + 1e-12)


def one_gamma_unit(checks):
    _, _, got = run(scenario(), 4000)
    want, k, theta = 52 * 0.05, 9.0, 0.32
    short = got("beans", "short_weeks") >= 1
    p = float(special.gammainc(k, want / theta))
    checks.near("one gamma unit: chance short", short.mean(), p, 4.5 * math.sqrt(p * (1 - p) / 4000))
    unmet = want * p - k * theta * float(special.gammainc(k + 1, want / theta))  # E (want - X)+ of a gamma
    mean_near(checks, "one gamma unit: meals short", got("beans", "meals_short"), unmet / 0.05)
    mean_near(checks, "one gamma unit: kg grown", got("beans", "kg_grown"), k * theta)


def uneaten_fruit(checks):
    g = scenario(crops__gourd__drying_loss_per_week=0.01, crops__gourd__cures_well=0.5,
                 crops__gourd__poor_cure_factor=0.5,
                 places=[{"name": "a", "holds": 6, "keeps_factor": 1.2}, {"name": "b", "holds": 3,
                                                                          "keeps_factor": 0.8}])
    g["plantings"] = {"hill": {"crop": "gourd", "count": 1, "plant_out": "05-20"}}
    g["household"]["meals"] = {}
    _, done, got = run(g, 3000)
    first = done[0].weeks[0][0]
    checks.near("uneaten fruit: cut in the week of 1 October", first, 214 // 7, 0)
    alive = lambda age, scale: math.exp(-(age / scale) ** 2.5)
    for age in (1, 8, 17, 30):
        expect = sum(n * 0.5 * (alive(age, 20 * f) + alive(age, 10 * f)) for n, f in ((6, 1.2), (3, 0.8)))
        count = np.array([t.weeks[age][1][8] for t in done])
        mean_near(checks, "uneaten fruit: whole after %d weeks" % age, count, expect)
        mean_near(checks, "uneaten fruit: kg after %d weeks" % age,
                  np.array([t.weeks[age][1][7] for t in done]), expect * 0.99 ** age)
    checks.near("uneaten fruit: the tenth is given away", got("squash", "kg_given_away").mean(), 1.0, 1e-9)


def counted_fruit(checks):
    g = scenario(on_shelf={"as_of": "01-10", "squash": [{"planting": "hill", "fruits": 8, "kg": 1.0,
                                                         "cut": "10-01", "cured": "poor"}]},
                 crops__gourd__poor_cure_factor=0.7, crops__gourd__drying_loss_per_week=0.02)
    g["plantings"] = {"hill": {"crop": "gourd", "count": 1, "plant_out": "05-20"}}
    g["household"]["meals"] = {}
    _, done, _ = run(g, 3000)
    alive = lambda age: math.exp(-(age / 14.0) ** 2.5)
    age = 315 // 7 - 214 // 7
    for later in (1, 5, 12):
        expect = 8 * alive(age + later) / alive(age)
        mean_near(checks, "counted fruit: whole %d weeks on" % later,
                  np.array([t.weeks[later][1][8] for t in done]), expect)
    checks.near("counted fruit: the time line begins at the count", done[0].weeks[0][0], 45, 0)
    checks.near("counted fruit: it ends the week before season 1's first", done[0].weeks[-1][0], 52 + 30 - 1,
                0)


def jars(checks):
    g = scenario(crops__bean__unit_kg=3.0, store={"jar_kg": 0.5, "jar_keeps_weeks": {"shape": "exponential",
                                                                                     "mean": 60.0}})
    g["household"]["meals"]["beans"]["portion_kg"] = 1e-9
    _, done, got = run(g, 2000)
    for age in (4, 25, 50):
        mean_near(checks, "jars: kg after %d weeks" % age, np.array([t.weeks[age][1][0] for t in done]),
                  3.0 * math.exp(-age / 60.0))
    checks.near("jars: six at the peak", got("beans", "jars_peak").mean(), 6, 0)


def pods_not_dry(checks):
    """Heat by quadrature of the sine curve, hour after hour; the share dry is a uniform's distribution function."""
    low, high = 600.0, 1200.0
    g = scenario(crops__bean__unit_kg=2.0, crops__bean__heat_to_dry={"shape": "uniform", "low": low,
                                                                     "high": high},
                 crops__bean__finish_indoors_heat=50.0, crops__bean__finish_share=0.5, crops__bean__sorted_out=0.1,
                 crops__bean__indoor_drying_weeks=3, climate__warmth=0.4)
    plan, done, got = run(g, 2)
    tmin, tmax = plan.weather.tmin + 0.4, plan.weather.tmax + 0.4
    out, end = 80, 249  # 20 May, 5 November as days from 1 March
    heat = 0.0
    for d in range(out, end):
        mid, half = 0.5 * (tmin[d] + tmax[d]), 0.5 * (tmax[d] - tmin[d])
        corner = math.asin(min(1.0, max(-1.0, (8.0 - mid) / half)))
        heat += integrate.quad(lambda t: max(0.0, mid + half * math.sin(t) - 8.0), -math.pi / 2, math.pi / 2,
                               points=[corner])[0] / math.pi
    dry = (heat - low) / (high - low)
    checks.near("pods: lost in the field", got("beans", "kg_field_loss")[0],
                2.0 * (1.0 - dry - 0.5 * 50.0 / (high - low)), 1e-7)
    checks.near("pods: sorted out", got("beans", "kg_sorted_out")[0],
                0.1 * 2.0 * (dry + 0.5 * 50.0 / (high - low)), 1e-7)
    checks.near("pods: last jar three weeks after the last picking",
                max(done[0].weeks[i + 1][0] for i in range(51)
                if done[0].weeks[i + 1][1][0] > done[0].weeks[i][1][0]), 249 // 7 + 3, 0)


def frost_and_stands(checks):
    g = scenario(climate__last_frost={"shape": "normal", "mean": "05-18", "sd": 6.0},
                 crops__bean__waits_for_frost=False,
                 crops__bean__frost_kills=0.5, crops__bean__stands={"shape": "beta", "alpha": 3.0,
                                                                    "beta": 1.0},
                 crops__bean__blow_down=0.2, crops__bean__support="shared", crops__bean__blow_down_loses=0.25,
                 crops__bean__unit_kg=1.0)
    g["plantings"]["row"]["count"] = 2.5
    _, _, got = run(g, 6000)
    late = 1.0 - float(special.ndtr((80 - 0.5 - 78) / 6.0))
    mean_near(checks, "frost: kg grown", got("beans", "kg_grown"), 2.5 * 0.75 * (1.0 - 0.5 * late))
    mean_near(checks, "wind: kg lost", got("beans", "kg_field_loss"),
              2.5 * 0.75 * (1.0 - 0.5 * late) * 0.2 * 0.25)
    square = 3.0 / 5.0  # E stands^2 of beta (3, 1): the units share the season's luck
    kept = (1.0 - late) + late * 0.25
    both = float(np.mean(got("beans", "kg_grown") >= 1.99))
    expect = square * kept
    checks.near("stands: both whole units stand together", both, expect,
                4.5 * math.sqrt(expect * (1 - expect) / 6000))


def eked(checks):
    g = scenario(crops__bean__unit_kg=1.82, household__eke_out={"least": 0.5}, household__enough=0.6)
    _, done, got = run(g, 2)
    checks.near("eked: one ratio to the end", max(abs(r[5] - 0.7 * r[4]) for _, r in done[0].weeks), 0.0,
                1e-9)
    checks.near("eked: meals short", got("beans", "meals_short")[0], 0.3 * 52, 1e-8)
    checks.near("eked: never short", got("beans", "short_weeks")[0], 0, 0)
    g["crops"]["bean"]["unit_kg"] = 1.04
    _, _, got = run(g, 2)
    checks.near("eked at the least: 0.5 a week is short each week of 0.6", got("beans", "short_weeks")[0],
                52, 0)


def own_seed(checks):
    g = scenario(crops__bean__unit_kg=0.06, crops__bean__saves_seed=True, crops__bean__buys_seed=False,
                 crops__bean__seed_kg_per_unit=0.07, crops__bean__seed_spare=0.5, food_years=3)
    g["plantings"]["row"]["count"] = 3
    _, _, got = run(g, 2)
    for k, kg in enumerate((0.18, 0.12, 0.06)):
        checks.near("own seed: kg grown in year %d" % k, got("beans", "kg_grown", k)[0], kg, 1e-12)
        checks.near("own seed: all of it is seed in year %d" % k, got("beans", "kg_seed", k)[0], kg, 1e-12)
    g["on_shelf"] = {"beans": [{"planting": "row", "kg": 1.0, "seasons_old": 1}]}
    _, _, got = run(g, 2)
    checks.near("own seed: a shelf makes up the first shortfall", got("beans", "kg_seed")[0], 3 * 0.07 * 1.5,
                1e-12)
    checks.near("own seed: so all three are sown again", got("beans", "kg_grown", 1)[0], 0.18, 1e-12)


def stand_ins_and_guests(checks):
    g = scenario(crops__bean__unit_kg=50.0, household__guests={"chance": 0.3, "portions": 2.0},
                 household__beans_stand_in=True)
    g["household"]["meals"]["squash"] = {"meals_per_week": 2.0, "portion_kg": 0.2}
    _, done, got = run(g, 300)
    checks.near("stand-ins: squash is never short of meals", got("squash", "meals_short").max(), 0.0, 1e-9)
    mean_near(checks, "stand-ins: beans eaten for both", got("beans", "kg_eaten"),
              52 * (1 + 0.3 * 2.0) * (1 + 2) * 0.05)
    wanted = np.array([[r[1][11] for r in t.weeks] for t in done]).mean(axis=1)
    mean_near(checks, "guests: squash wanted a week", wanted, (1 + 0.3 * 2.0) * 2 * 0.2)


def rotten_fruit(checks):
    """Ten fruits that all last 3 weeks, looked over in weeks divisible by 4: cut in week 30, found in week 36 or on opening."""
    g = scenario(crops__gourd__keeps_weeks=3.0, store={"look_over_weeks": 4, "salvage_share": 0.5,
                                                       "cut_keeps_weeks": 0},
                 crops__gourd__flesh_share=0.8)
    g["plantings"] = {"hill": {"crop": "gourd", "count": 1, "plant_out": "05-20"}}
    g["household"]["meals"] = {"squash": {"meals_per_week": 1.0, "portion_kg": 0.5, "from": "11-02",
                                          "until": "11-08"}}
    _, done, got = run(g, 2)
    # The window is days 246 to 252: of the weeks' first days only 36 * 7 = 252 lies in it.
    checks.near("rotten: eaten of the salvage found in week 36", got("squash", "kg_eaten")[0], 0.5, 1e-12)
    lost36 = 10 - 10 * 0.8 * 0.5 ** 3 + (10 * 0.8 * 0.5 ** 3 - 0.5)
    checks.near("rotten: all the rest is lost that week", got("squash", "kg_lost_while_wanted")[0], lost36,
                1e-12)
    g["household"]["meals"]["squash"].update({"from": "10-25",
                                              "until": "10-31"})  # week 34: on opening, 1 week dead
    _, done, got = run(g, 2)
    checks.near("rotten: two opened for a portion of 0.5 in week 34", got("squash", "kg_eaten")[0], 0.5,
                1e-12)
    checks.near("rotten: count after week 34", done[0].weeks[4][1][8], 8, 0)
    checks.near("rotten: nothing trimmed", got("squash", "kg_trimmed")[0], 0.0, 0)


def no_produce(checks):
    g = scenario(crops__bean__stands=0.0)
    _, done, _ = run(g, 2)
    checks.near("no produce: the year begins in the week of 5 November", done[0].weeks[0][0], 249 // 7, 0)
    checks.near("no produce: and lasts 52 weeks", len(done[0].weeks), 52, 0)


def fractions(checks):
    g = scenario(crops__gourd__fruits={"shape": "poisson", "mean": 3.0}, crops__gourd__left_to_store=0.6,
                 crops__gourd__fruit_kg={"shape": "lognormal", "mean": 2.0,
                                         "sd": 0.5}, crops__gourd__year_factor=
                 {"shape": "normal", "mean": 1.1, "sd": 0.2}, crops__gourd__follows_warmth=0.8)
    g["plantings"] = {"hill": {"crop": "gourd", "count": 1.4, "plant_out": "05-20"}}
    _, done, got = run(g, 5000)
    mean_near(checks, "fractions of a plant: kg in", got("squash", "kg_in"), 1.4 * 3.0 * 0.6 * 2.0 * 1.1)


def copula(checks):
    """Correlation of the two dates and of the crop's year factor with warmth, through normal scores."""
    climate = dict(NORMALS, last_frost={"shape": "normal", "mean": "05-10", "sd": 20.0}, first_hard_frost=
                   {"shape": "normal", "mean": "10-10", "sd": 20.0}, warmth={"shape": "normal", "mean": 0.0,
                                                                             "sd": 1.0},
                   correlation=[[1, -0.3, -0.5], [-0.3, 1, 0.4], [-0.5, 0.4, 1]])
    w = weather.DrawnWeather(climate, weather.Calendar())
    rng = np.random.default_rng(3)
    drawn = [w.draw(rng) for _ in range(8000)]
    x = np.array([[s.last_frost, s.first_hard_frost, s.z] for s in drawn], float)
    x = x[x[:, 1] < weather.NEVER]
    r = np.corrcoef(x.T)
    for i, j, rho in ((0, 1, -0.3), (0, 2, -0.5), (1, 2, 0.4)):
        checks.near("copula: correlation %d %d" % (i, j), r[i, j], rho,
                    4.5 * (1 - rho * rho) / math.sqrt(len(x)))


def records(checks):
    """Four invented seasons at a steady 12 degrees: frosts on known days, a warmer one, a 29 February, gaps."""
    cold = {"2001-05-10": -1.0, "2001-10-20": -2.0, "2003-07-16": 0.0, "2003-07-17": -0.5,
            "2003-12-01": -2.1, "2004-02-29": -20.0,
            "2004-03-01": -0.1, "2004-12-31": -9.0}
    day, lines = datetime.date(2001, 1, 1), ["tmax,when,tmin"]
    while day.year < 2005:
        text, mean = day.isoformat(), 14.0 if day.year == 2002 else 12.0
        low = cold.get(text, mean)
        if text == "2001-06-02":
            lines.append(",2001-06-02,%s" % mean)
        elif text not in ("2001-06-01", "2002-08-08"):
            lines.append("%s,%s,%s" % (2 * mean - low, text, low))
        day += datetime.timedelta(days=1)
    with tempfile.NamedTemporaryFile("w", suffix=".csv") as f:
        f.write("\n".join(lines) + "\n")
        f.flush()
        climate = {"records_file": f.name, "date_column": "when", "max_missing_days": 2}
        w = weather.RecordedWeather(climate, weather.Calendar())
        climate["max_missing_days"] = 1
        fewer = weather.RecordedWeather(climate, weather.Calendar())
    checks.near("records: seasons used (the one before the file is left out)", len(w.seasons), 4, 0)
    checks.near("records: one fewer where two missing days are too many", len(fewer.seasons), 3, 0)
    for season, last, hard in zip(w.seasons, (70, -1, 137, 0), (233, weather.NEVER, 275, 305)):
        checks.near("records: last frost", season.last_frost, last, 0)
        checks.near("records: first hard frost", season.first_hard_frost, hard, 0)
    checks.near("records: heat of the warm season, days 61 to 213 above 10",
                w.seasons[1].heat(10.0)[214] - w.seasons[1].heat(10.0)[61],
                153 * 4.0, 1e-9)
    # a day of -0.5 to 24.5 has more heat above 10 than a steady one: on days 61 to 213, one in 2001, two in 2003, none in 2004
    for season, rank in zip(w.seasons, (2, 4, 3, 1)):
        checks.near("records: normal score of rank %d" % rank, special.ndtr(season.z), (rank - 0.5) / 4, 1e-9)


def main():
    checks = Checks()
    for check in (one_gamma_unit, uneaten_fruit, counted_fruit, jars, pods_not_dry, frost_and_stands, eked,
                  own_seed,
                  stand_ins_and_guests, rotten_fruit, no_produce, fractions, copula, records):
        check(checks)
    print("%d failed" % checks.failed)
    return 1 if checks.failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
