"""Closed forms of squash: bearing, ripening, keeping, places, frost and wind, run through the whole
program."""
import csv
import datetime
import math
import os

import numpy as np
from scipy import integrate, special, stats

import scenes
from closed_beans import moments, moments_of_min

MILLION = 1000000
CUT = scenes.CUT_WEEK
NO_MEALS = {"household__away": scenes.NOBODY}
POISSON = {"shape": "poisson", "mean": 7.3}


def until_week(weeks):
    """Last day of a window of that many weeks whose first is the one after cutting (4 October)."""
    return (datetime.date(2001, 10, 4) + datetime.timedelta(days=7 * (weeks - 1))).isoformat()[5:]


def wanted_for(weeks, **more):
    return dict({"household__meals__squash": {"meals_per_week": 1.0, "portion_kg": 1.0, "from": "10-01",
                                              "until": until_week(weeks)}},
                **more)


# ---- how many fruits there are ---------------------------------------------------------------------------

def number_of_fruits(checks, source, r, pmf, weeks):
    """Fruits of 1 kg, one wanted in each of so many weeks: all that follows from the distribution of their
    number."""
    n, k = np.arange(len(pmf)), weeks
    cdf = lambda x: float(pmf[:max(0, int(math.floor(min(x, 1e6))) + 1)].sum())
    less = lambda x: cdf(math.ceil(min(x, 1e6)) - 1)
    checks.chance(source, r, "squash", "chance_short", cdf(k - 1))
    checks.chance(source, r, "squash", "chance_over_4_weeks_short", cdf(k - 5))
    missing = np.maximum(0, k - n)
    checks.mean(source, r, "squash", "short_weeks", *moments(missing, pmf))
    checks.mean(source, r, "squash", "kg_eaten", *moments(np.minimum(n, k), pmf))
    checks.mean(source, r, "squash", "kg_in", *moments(n, pmf))
    for p in ("_p50", "_p95"):
        checks.quantile(source, r, "squash", "fruits_peak" + p, cdf, below=less, cells=False)
    for p in ("_p50", "_p90"):
        checks.quantile(source, r, "squash", "short_weeks" + p,
                        lambda s: 1 - cdf(k - s - 1) if s >= 0 else 0.0,
                        below=lambda s: 1 - cdf(k - s) if s >= 1 else 0.0, cells=False)
    # week 1 + N of the food year is the first without
    short_by = lambda w: cdf(min(math.floor(min(w, 1e6)) - 1, k - 1))
    for p in ("_p10", "_p50", "_p90"):
        checks.quantile(source, r, "squash", "first_short" + p, short_by, below=lambda w: short_by(w - 1),
                        cells=False)


def pmf_of(dist, most=60):
    return dist.pmf(np.arange(most))


def rounded_normal():
    """Mean 6, sd 2, at least 0, rounded to the nearest whole."""
    edges = np.concatenate([[0.0], np.arange(0.5, 40)])
    return np.diff(stats.norm.cdf(edges, 6, 2)) / stats.norm.sf(0, 6, 2)


def both(a, b):
    return np.convolve(a, b)


def plants_of_two(share_down, loses):
    """Six plants of two fruits: a plant that goes down loses each with a chance."""
    one = (1 - share_down) * np.array([0, 0, 1.0]) + share_down * stats.binom.pmf(np.arange(3), 2, 1 - loses)
    all_six = np.array([1.0])
    for _ in range(6):
        all_six = both(all_six, one)
    return all_six


def bearing():
    """(name, crop's changes, planting's changes, pmf, weeks wanted, source)."""
    m, sd = 6.0, 4.0
    nbinom = stats.nbinom(m * (m / sd ** 2) / (1 - m / sd ** 2), m / sd ** 2)
    shared = 0.7 * np.eye(13)[12] + 0.3 * stats.binom.pmf(np.arange(13), 12, 0.5)
    wind = {"fruits": 2, "blow_down": 0.3, "blow_down_loses": 0.5}
    return [
        ("poisson", {"fruits": POISSON}, {}, pmf_of(stats.poisson(7.3)), 9, "Poisson (scipy)"),
        ("negative_binomial", {"fruits": {"shape": "negative_binomial", "mean": m, "sd": sd}}, {},
         pmf_of(nbinom, 150), 7,
         "negative binomial (scipy)"),
        ("counts", {"fruits": {"shape": "counts", "values": [2, 5, 6, 11], "weights": [1, 4, 2, 3]}}, {},
         np.bincount([2, 5, 6, 11], [0.1, 0.4, 0.2, 0.3]), 7, "the weights themselves"),
        ("rounded", {"fruits": {"shape": "normal", "mean": 6.0, "sd": 2.0, "at_least": 0}}, {},
         rounded_normal(), 7,
         "normal, cut off and rounded"),
        ("two_poissons", {"fruits": {"shape": "poisson", "mean": 3.1}}, {"count": 2},
         pmf_of(stats.poisson(6.2)), 7,
         "sum of two Poissons"),
        ("standing", {"fruits": 1, "stands": 0.7}, {"count": 8}, stats.binom.pmf(np.arange(9), 8, 0.7), 7,
         "binomial"),
        ("left_to_store", {"fruits": POISSON, "left_to_store": 0.6}, {}, pmf_of(stats.poisson(0.6 * 7.3)), 6,
         "thinned Poisson"),
        ("part_of_a_plant", {"fruits": 5}, {"count": 1.4}, both([0, 0, 0, 0, 0, 1.0],
                                                                stats.binom.pmf(np.arange(6), 5, 0.4)), 8,
         "binomial of the last plant's part"),
        ("wind_each", dict(wind, support="each"), {"count": 6}, plants_of_two(0.3, 0.5), 11,
         "sum of six mixtures"),
        ("wind_shared", dict(wind, support="shared"), {"count": 6}, shared, 11, "mixture of two"),
    ]


def bears(checks, go):
    for name, crop, planting, pmf, weeks, source in bearing():
        trials = MILLION if name in ("poisson", "negative_binomial", "standing", "wind_each",
                                     "wind_shared") else MILLION // 4
        r = go("fruits_" + name, scenes.squash(crop, planting, **wanted_for(weeks)), trials)
        number_of_fruits(checks, source, r, pmf, weeks)


def frost(checks, go):
    """Unprotected plants: the last frost is normal, rounded to a day; each dies with chance 1/2 if it comes
    on or after day 80."""
    late = float(stats.norm.sf((79.5 - 78) / 6))
    pmf = (1 - late) * np.eye(5)[4] + late * stats.binom.pmf(np.arange(5), 4, 0.5)
    crop = {"fruits": 1, "waits_for_frost": False, "frost_kills": 0.5}
    scene = scenes.squash(crop, {"count": 4}, climate__last_frost={"shape": "normal", "mean": "05-18",
                                                                   "sd": 6.0}, **wanted_for(4))
    number_of_fruits(checks, "normal frost date, binomial survivors", go("frosted_fruits", scene, MILLION),
                     pmf, 4)


def places_full(checks, go):
    scene = scenes.squash({"fruits": POISSON}, places=[{"name": "shelf", "holds": 4},
                                                       {"name": "loft", "holds": 2}], **wanted_for(9))
    r = go("places_full", scene, MILLION)
    n, pmf, source = np.arange(60), pmf_of(stats.poisson(7.3)), "Poisson over six places"
    checks.mean(source, r, "squash", "kg_given_away", *moments(np.maximum(0, n - 6), pmf))
    checks.mean(source, r, "squash", "kg_in", *moments(n, pmf))
    checks.mean(source, r, "squash", "kg_eaten", *moments(np.minimum(n, 6), pmf))
    kept = lambda x: float(pmf[:int(math.floor(x)) + 1].sum()) if x < 6 else 1.0
    for p in ("_p50", "_p95"):
        checks.quantile(source, r, "squash", "fruits_peak" + p, kept, below=lambda x: kept(x - 1),
                        cells=False)


# ---- ripening --------------------------------------------------------------------------------------------

def unripe_mass(checks, source, r, ripe, weight, factor=1.0, factor2=1.0):
    """Twenty fruits of 0.5 kg; the unripe do not keep at all. `ripe` is a season's share, `weight` its
    chance; the mass is
    times a year factor with conditional mean `factor` and mean square `factor2`."""
    bad = 1 - ripe
    mean = 10 * np.sum(weight * bad * factor)
    square = 0.25 * np.sum(weight * (20 * bad * ripe + 400 * bad * bad) * factor2)
    checks.mean(source, r, "squash", "kg_store_loss", mean, math.sqrt(square - mean * mean))


NEED, NEED_SD = 620.0, 70.0
RIPENING = {"fruits": 20, "fruit_kg": 0.5, "unripe_factor": 0.0,
            "heat_to_ripen": {"shape": "normal", "mean": NEED, "sd": NEED_SD}}
OUT, CUT_BY = 80, 214                   # 20 May, 1 October


def ripe_share(heat):
    return special.ndtr((heat - NEED) / NEED_SD)


def normal_days(mean, sd):
    """Days and chances of a normal date rounded to the nearest day."""
    days = np.arange(math.floor(mean - 9 * sd), math.ceil(mean + 9 * sd) + 1)
    return days, np.diff(special.ndtr((np.append(days - 0.5, days[-1] + 0.5) - mean) / sd))


def normal_grid(points=1601):
    z = np.linspace(-8, 8, points)
    weight = np.exp(-z * z / 2)
    return z, weight / weight.sum()


def ripens(checks, go):
    source = "normal heat need, single-sine heat (Baskerville & Emin 1969)"
    certain = scenes.heat_from_0(10.0)
    share = ripe_share(certain[CUT_BY] - certain[OUT])
    r = go("ripe", scenes.squash(RIPENING, **NO_MEALS), MILLION // 4)
    unripe_mass(checks, source, r, np.array([share]), np.array([1.0]))
    z, weight = normal_grid()
    heat = scenes.heat_from_0(10.0, 1.1 * z)
    warm = {"climate__warmth": {"shape": "normal", "mean": 0.0, "sd": 1.1}}
    r = go("ripe_warmth", scenes.squash(RIPENING, **NO_MEALS, **warm), MILLION // 4)
    unripe_mass(checks, source + ", quadrature over warmth", r, ripe_share(heat[:, CUT_BY] - heat[:, OUT]),
                weight)
    days, chance = normal_days(78, 9.0)
    scene = scenes.squash(RIPENING, climate__last_frost={"shape": "normal", "mean": "05-18", "sd": 9.0},
                          **NO_MEALS)
    r = go("ripe_last_frost", scene, MILLION // 4)
    unripe_mass(checks, source + ", out the day after the last frost", r,
                ripe_share(certain[CUT_BY] - certain[np.maximum(OUT, days + 1)]), chance)
    days, chance = normal_days(214, 12.0)
    scene = scenes.squash(dict(RIPENING, cut_before_frost_days=2),
                          climate__first_hard_frost={"shape": "normal", "mean": "10-01", "sd": 12.0},
                          **NO_MEALS)
    r = go("ripe_hard_frost", scene, MILLION // 4)
    unripe_mass(checks, source + ", cut two days before the first hard frost", r,
                ripe_share(certain[np.minimum(CUT_BY, days - 2)] - certain[OUT]), chance)


def year_factor(checks, go):
    """A lognormal year factor that follows warmth: its conditional moments given warmth's score."""
    rho, mean, sd = 0.7, 1.0, 0.3
    s2 = math.log(1 + (sd / mean) ** 2)
    mu, s = math.log(mean) - s2 / 2, math.sqrt(s2)
    z, weight = normal_grid()
    heat = scenes.heat_from_0(10.0, 1.1 * z)
    given = np.exp(mu + s * rho * z + s2 * (1 - rho * rho) / 2)
    given2 = np.exp(2 * (mu + s * rho * z) + 2 * s2 * (1 - rho * rho))
    crop = dict(RIPENING, year_factor={"shape": "lognormal", "mean": mean, "sd": sd}, follows_warmth=rho)
    r = go("follows_warmth", scenes.squash(crop, climate__warmth={"shape": "normal", "mean": 0.0, "sd": 1.1},
                                           **NO_MEALS), MILLION // 2)
    source = "lognormal given a correlated normal score, quadrature"
    unripe_mass(checks, source, r, ripe_share(heat[:, CUT_BY] - heat[:, OUT]), weight, given, given2)
    checks.mean("lognormal", r, "squash", "kg_grown", 10.0 * mean, 10.0 * sd)


def copula(checks, go):
    """Unprotected plants die of a late last frost; cut before the hard frost; all three normal scores
    correlated."""
    c01, c02, c12 = -0.4, -0.5, 0.45
    z, weight = normal_grid(401)
    z1, z2 = np.meshgrid(np.linspace(-8, 8, 3201), z, indexing="ij")     # hard frost, warmth
    density = np.exp(-(z1 ** 2 - 2 * c12 * z1 * z2 + z2 ** 2) / (2 * (1 - c12 ** 2)))
    density /= density.sum()
    b1, b2 = np.linalg.solve([[1, c12], [c12, 1]], [c01, c02])
    spread = math.sqrt(1 - (b1 * c01 + b2 * c02))
    alive = special.ndtr(((79.5 - 78) / 9.0 - b1 * z1 - b2 * z2) / spread)
    hard = np.floor(214 + 12.0 * z1 + 0.5).astype(int)
    cut = np.clip(np.minimum(CUT_BY, hard - 1), OUT, 364)
    heat = scenes.heat_from_0(10.0, 1.1 * z)
    ripe = ripe_share(np.take_along_axis(heat.T, cut, axis=0) - heat[:, OUT])
    scene = scenes.squash(dict(RIPENING, waits_for_frost=False),
                          climate__last_frost={"shape": "normal", "mean": "05-18", "sd": 9.0},
                          climate__first_hard_frost={"shape": "normal", "mean": "10-01", "sd": 12.0},
                          climate__warmth={"shape": "normal", "mean": 0.0, "sd": 1.1},
                          climate__correlation=[[1, c01, c02], [c01, 1, c12], [c02, c12, 1]], **NO_MEALS)
    r = go("copula", scene, MILLION)
    unripe_mass(checks, "trivariate normal, quadrature", r, ripe, density * alive)
    late = float(stats.norm.sf((79.5 - 78) / 9))
    checks.mean("normal frost date", r, "squash", "kg_grown", 10 * (1 - late),
                10 * math.sqrt(late * (1 - late)))


def die_back(checks, go):
    """Cut on the first day by which the heat reaches a normal need."""
    certain = scenes.heat_from_0(10.0)
    reach = special.ndtr((certain - certain[OUT] - 650.0) / 40.0)       # chance that it is reached by day d
    chance = np.zeros(366)
    chance[OUT + 1:CUT_BY] = np.diff(reach[OUT:CUT_BY])
    chance[CUT_BY] = 1 - chance.sum()
    crop = dict(RIPENING, die_back_heat={"shape": "normal", "mean": 650.0, "sd": 40.0})
    r = go("die_back", scenes.squash(crop, **NO_MEALS), MILLION // 4)
    unripe_mass(checks, "normal die-back heat, single-sine heat", r, ripe_share(certain - certain[OUT]),
                chance)


def recorded(checks, go):
    """Three recorded seasons, each with chance 1/3: steady shapes with a warmer and a cooler year, one leap
    day."""
    shift, normals = {2001: 0.6, 2002: -0.9, 2003: 0.1, 2004: 0.0}, (scenes.daily(scenes.TMIN, 0),
                                                                     scenes.daily(scenes.TMAX, 0))
    share = []
    for year in (2001, 2002, 2003):
        each = scenes.degree_days(scenes.daily(scenes.TMIN) + shift[year],
                                  scenes.daily(scenes.TMAX) + shift[year], 10.0)
        share.append(ripe_share(float(each[OUT:CUT_BY].sum())))

    def write(path):
        with open(path, "w", newline="", encoding="utf-8") as f:
            rows = csv.writer(f)
            rows.writerow(["date", "tmin", "tmax"])
            day = datetime.date(2001, 1, 1)
            while day < datetime.date(2004, 3, 5):
                leap = day.month == 2 and day.day == 29
                at = day.replace(year=2001, day=28 if leap else day.day).timetuple().tm_yday - 1
                add = 30.0 if leap else shift[day.year]
                rows.writerow([day.isoformat(), repr(float(normals[0][at] + add)),
                               repr(float(normals[1][at] + add))])
                day += datetime.timedelta(days=1)

    scene = scenes.squash(dict(RIPENING, waits_for_frost=False, frost_kills=0.0), **NO_MEALS)
    write(os.path.join(go.folder, "weather.csv"))
    scene["climate"] = {"records_file": "weather.csv"}
    r = go("recorded", scene, MILLION // 4)
    unripe_mass(checks, "equal chances of the recorded seasons", r, np.array(share), np.full(3, 1 / 3))


# ---- keeping ---------------------------------------------------------------------------------------------

def keeps(checks, go):
    """Nobody eats: ten fruits in two places; ripe and well, ripe and poorly cured, unripe; each of its own
    Weibull life."""
    certain = scenes.heat_from_0(10.0)
    ripe = ripe_share(certain[CUT_BY] - certain[OUT])
    crop = {"keeps_weeks": {"shape": "weibull", "k": 2.5, "scale": 20.0}, "cures_well": 0.6,
            "poor_cure_factor": 0.5,
            "unripe_factor": 0.3, "drying_loss_per_week": 0.01,
            "heat_to_ripen": {"shape": "normal", "mean": NEED, "sd": NEED_SD}}
    places = [{"name": "a", "holds": 6, "keeps_factor": 1.2}, {"name": "b", "holds": 3, "keeps_factor": 0.8}]
    r = go("keeps", scenes.squash(crop, places=places, **NO_MEALS), MILLION)
    source = "Weibull survival, ten fruits in two places"

    def alive(age, factor):
        survival = lambda f: stats.weibull_min.sf(age, 2.5, scale=20.0 * f * factor)
        return ripe * (0.6 * survival(1.0) + 0.4 * survival(0.5)) + (1 - ripe) * survival(0.3)

    for age in (0, 1, 4, 9, 16, 30):
        count = both(stats.binom.pmf(np.arange(7), 6, alive(age, 1.2)),
                     stats.binom.pmf(np.arange(4), 3, alive(age, 0.8)))
        mean, sd = moments(np.arange(10), count)
        keep = 0.99 ** age
        cdf = lambda x, count=count: float(count[:max(0, int(math.floor(x)) + 1)].sum())
        checks.average("keeps: stock at age %d" % age, source,
                       r.of_week(CUT + age, "squash", "stock_kg_mean"), mean * keep, sd * keep, MILLION)
        checks.order_statistic("keeps: count at age %d" % age, source,
                               r.week[CUT + age, "squash"]["count_p50"], MILLION, 0.5, cdf,
                               lambda x: cdf(x - 1), cells=False)
        for column, p in (("stock_kg_p05", 0.05), ("stock_kg_p95", 0.95)):
            checks.order_statistic("keeps: %s at age %d" % (column, age), source,
                                   r.week[CUT + age, "squash"][column], MILLION, p,
                                   lambda x: cdf(x / keep + 1e-9),
                                   lambda x: cdf(math.ceil(x / keep - 1e-9) - 1))
    checks.mean("one of ten finds no room", r, "squash", "kg_given_away", 1.0, 0.0)
    lost = sum(places[i]["holds"] * sum((alive(a - 1, f) - alive(a, f) if a else 1 - alive(0,
                                                                                           f)) * 0.99 ** a
                                        for a in range(52))
               for i, f in ((0, 1.2), (1, 0.8)))
    value, error = (float(r.figure["1", "squash", "kg_store_loss"][c]) for c in ("value", "std_error"))
    checks.average("keeps: lost in store", source, value, lost, error * 1000, MILLION)


def counted(checks, go):
    """Fruits counted on 10 January, 15 weeks after cutting: lives given survival, also where hardly any live
    so long."""
    for name, scale, later_weeks in (("counted", 20.0, (0, 1, 5, 12)), ("counted_old", 3.0, (0, 1, 2))):
        crop = {"keeps_weeks": {"shape": "weibull", "k": 2.5, "scale": scale}, "poor_cure_factor": 0.7,
                "drying_loss_per_week": 0.02}
        shelf = {"as_of": "01-10", "squash": [{"planting": "hill", "fruits": 8, "kg": 1.5, "cut": "10-01",
                                               "cured": "poor"}]}
        r = go(name, scenes.squash(crop, on_shelf=shelf, **NO_MEALS), MILLION // 4)
        life = stats.weibull_min(2.5, scale=0.7 * scale)
        for later in later_weeks:
            alive = stats.binom(8, math.exp(life.logsf(15 + later) - life.logsf(15)))
            row, keep = r.week[45 + later, "squash"], 1.5 * 0.98 ** later
            text = "%s: after %d weeks" % (name, later)
            checks.average(text, "conditional Weibull survival", float(row["stock_kg_mean"]),
                           alive.mean() * keep, alive.std() * keep,
                           MILLION // 4)
            checks.order_statistic(text + ", count", "conditional Weibull survival", row["count_p50"],
                                   MILLION // 4, 0.5, alive.cdf,
                                   lambda x: alive.cdf(x - 1), cells=False)


def salvage(checks, go):
    """One fruit with a uniform life of 0 to 8 weeks, cut in week 30, looked over in weeks 32, 36, ...; eaten
    in week 36 alone."""
    crop = {"fruits": 1, "keeps_weeks": {"shape": "uniform", "low": 0.0, "high": 8.0}, "flesh_share": 0.8}
    # week 36 begins on 8 November
    meals = {"meals_per_week": 1.0, "portion_kg": 5.0, "from": "11-05", "until": "11-11"}
    scene = scenes.squash(crop, store={"look_over_weeks": 4, "salvage_share": 0.5, "cut_keeps_weeks": 1},
                          household__meals__squash=meals)
    r = go("salvage", scene, MILLION // 4)
    kept = lambda power: integrate.quad(lambda lay: 0.5 ** (power * max(1.0, lay)), 0, 4, points=[1.0])[0] / 8
    mean, square = 0.8 * (0.25 + kept(1)), 0.64 * (0.25 + kept(2))
    checks.mean("uniform life, salvage by powers of a half", r, "squash", "kg_eaten", mean,
                math.sqrt(square - mean * mean))
    checks.mean("trimmed only of a good fruit", r, "squash", "kg_trimmed", 0.2 * 0.25,
                0.2 * math.sqrt(0.25 * 0.75))
    lost = 0.75 - 0.8 * kept(1)         # 1 kg of each spoiled fruit, less its salvaged flesh
    lost2 = 0.75 - 1.6 * kept(1) + 0.64 * kept(2)
    checks.mean("the rest is lost", r, "squash", "kg_store_loss", lost, math.sqrt(lost2 - lost * lost))


def weighed(checks, go):
    """Four fruits of gamma mass, all wanted in one week: what is eaten is min(want, flesh)."""
    flesh = stats.gamma(4 * 5.0, scale=0.25 * 0.8)
    crop = {"fruits": 4, "fruit_kg": {"shape": "gamma", "k": 5.0, "theta": 0.25}, "flesh_share": 0.8}
    scene = scenes.squash(crop, household__meals__squash={"meals_per_week": 1.0, "portion_kg": 4.0,
                                                          "from": "11-05", "until": "11-11"})
    r = go("weighed", scene, MILLION // 2)
    source = "sum of four gammas"
    eaten, sd = moments_of_min(flesh, 4.0)
    checks.chance(source, r, "squash", "chance_short", flesh.cdf(4.0))
    checks.mean(source, r, "squash", "kg_eaten", eaten, sd)
    checks.mean(source, r, "squash", "meals_short", 1 - eaten / 4, sd / 4)
    checks.mean(source, r, "squash", "kg_in", flesh.mean() / 0.8, flesh.std() / 0.8)
    for p in ("_p10", "_p50", "_p90"):
        checks.quantile(source, r, "squash", "kg_grown" + p, lambda x: flesh.cdf(0.8 * x))


def stand_in(checks, go):
    scene = scenes.squash({"fruits": POISSON}, household__beans_stand_in=True,
                          crops__bean=dict(scenes.BEANS, unit_kg=9.0),
                          plantings__row={"crop": "bean", "count": 1}, **wanted_for(9))
    scene["household"]["meals"]["beans"] = {"meals_per_week": 0.0, "portion_kg": 0.07}
    r = go("stand_in", scene, MILLION // 4)
    n, pmf = np.arange(60), pmf_of(stats.poisson(7.3))
    checks.chance("beans fill every gap", r, "squash", "chance_short", 0.0)
    checks.mean("Poisson gaps in nine weeks", r, "beans", "kg_eaten",
                *moments(0.07 * np.maximum(0, 9 - n), pmf))


ALL = (bears, frost, places_full, ripens, year_factor, copula, die_back, recorded, keeps, counted, salvage,
       weighed, stand_in)
