"""Closed forms of beans, jars, seed and the household's wants, run through the whole program."""
import math

import numpy as np
from scipy import integrate, optimize, special, stats

import scenes

MILLION = 1000000
NO_MEALS = {"household__away": scenes.NOBODY}
FIRST = scenes.CUT_WEEK                 # week of the first beans, as scenes.BEANS has it


def partial(dist, x):
    """E (x - X)+ of a distribution on x >= 0."""
    return integrate.quad(dist.cdf, 0, x, limit=200, epsabs=1e-12)[0]


def moments_of_min(dist, most):
    """Mean and sd of min(X, most), X >= 0."""
    first = most - partial(dist, most)
    second = integrate.quad(lambda x: 2 * x * dist.sf(x), 0, most, limit=200, epsabs=1e-12)[0]
    return first, math.sqrt(max(0.0, second - first * first))


def moments_over(dist, least):
    """Mean and sd of (X - least)+."""
    first = dist.mean() - least + partial(dist, least)
    second = integrate.quad(lambda x: 2 * (x - least) * dist.sf(x), least, np.inf, limit=200, epsabs=1e-12)[0]
    return first, math.sqrt(second - first * first)


def moments(values, chances):
    mean = float(np.dot(values, chances))
    return mean, math.sqrt(max(0.0, float(np.dot(np.square(values), chances)) - mean * mean))


def eats_a_year(checks, source, result, dist, want):
    """One food year of 52 weeks on X kg, `want` each week: everything that follows from X's distribution."""
    total, name = 52 * want, result.folder.rsplit("/", 1)[-1]
    checks.chance(source, result, "beans", "chance_short", dist.cdf(total))
    checks.chance(source, result, "any", "chance_short", dist.cdf(total))
    checks.chance(source, result, "beans", "never_short", dist.sf(total))
    checks.chance(source, result, "beans", "chance_over_4_weeks_short", dist.cdf(48 * want))
    edges = want * np.arange(53)
    weeks = 52 - np.arange(53)          # short weeks when floor(X / want) is 0 .. 51, and 0 when it is more
    chances = np.append(np.diff(dist.cdf(edges)), dist.sf(total))
    mean, sd = moments(weeks, chances)
    checks.mean(source, result, "beans", "short_weeks", mean, sd)
    at_most = lambda s: dist.sf(want * (52 - np.floor(s))) if s >= 0 else 0.0
    for p in ("_p50", "_p90", "_p95"):
        checks.quantile(source, result, "beans", "short_weeks" + p, at_most, below=lambda s: at_most(s - 1),
                        cells=False)
    eaten, eaten_sd = moments_of_min(dist, total)
    checks.mean(source, result, "beans", "kg_eaten", eaten, eaten_sd)
    checks.mean(source, result, "beans", "meals_short", (total - eaten) / want, eaten_sd / want)
    checks.mean(source, result, "beans", "kg_left", *moments_over(dist, total))
    checks.mean(source, result, "beans", "kg_grown", dist.mean(), dist.std())
    n = int(result.figure["1", "beans", "kg_grown"]["trials"])
    for j in (0, 11, 30, 51):           # the week after which (j + 1) want has been wanted
        gone, row = want * (j + 1), lambda column, week=FIRST + j: result.of_week(week, "beans", column)
        for column in ("chance_short", "chance_short_by_now"):
            checks.share("%s: week %d %s" % (name, j, column), source, row(column), n, dist.cdf(gone))
        over, over_sd = moments_over(dist, gone)
        checks.average("%s: week %d stock" % (name, j), source, row("stock_kg_mean"), over, over_sd, n)
        checks.order_statistic("%s: week %d stock p25" % (name, j), source,
                               result.week[FIRST + j, "beans"]["stock_kg_p25"], n,
                               0.25, lambda x: dist.cdf(gone + x),
                               lambda x: dist.cdf(gone + x) if x > 0 else 0.0)


def first_short(checks, source, result, dist, want):
    """The first short week of the food year is floor(X / want), never when that is 52."""
    cdf = lambda w: float(dist.cdf(want * (min(math.floor(w), 51) + 1)))
    for p in ("_p10", "_p50", "_p90"):
        checks.quantile(source, result, "beans", "first_short" + p, cdf,
                        below=lambda w: cdf(w - 1) if w < math.inf else cdf(51),
                        cells=False)
        row = result.figure["1", "beans", "first_short" + p]
        wanted = scenes.date_of(FIRST + int(row["value"])) if row["value"] else ""
        checks.equal("%s first_short%s date" % (result.folder, p), "calendar", row["date"], wanted)


def gammas(checks, go):
    source, want = "gamma distribution function (scipy)", 0.05
    crop = {"unit_kg": {"shape": "gamma", "k": 9.0, "theta": 0.32}, "kcal_per_kg": 3350.0,
            "protein_g_per_kg": 230.0}
    needs = {"household__needs": {"kcal_per_day": 2000.0, "protein_g_per_day": 50.0}}
    one = stats.gamma(9.0, scale=0.32)
    r = go("one_gamma", scenes.beans(crop, **needs), MILLION)
    eats_a_year(checks, source, r, one, want)
    first_short(checks, source, r, one, want)
    eaten, sd = moments_of_min(one, 52 * want)
    for measure, each in (("kcal_served", 3350.0), ("protein_g_served", 230.0),
                          ("kcal_share", 3350 / (2000 * 365.0)),
                          ("protein_share", 230 / (50 * 365.0))):
        checks.mean(source, r, "any", measure, each * eaten, each * sd)
    for p, q in (("_p10", 0.1), ("_p50", 0.5), ("_p90", 0.9)):
        checks.quantile(source, r, "beans", "kg_grown" + p, one.cdf)
    for p in ("_p50", "_p95"):
        checks.quantile("gamma: jars of 1 kg are ceil(X)", r, "beans", "jars_peak" + p,
                        lambda j: one.cdf(np.floor(j)),
                        below=lambda j: one.cdf(np.ceil(j) - 1), cells=False)
    five = stats.gamma(45.0, scale=0.32)
    r = go("five_gammas", scenes.beans(crop, {"count": 5}, household__meals__beans__portion_kg=0.27), MILLION)
    eats_a_year(checks, "sum of five gammas", r, five, 0.27)
    first_short(checks, "sum of five gammas", r, five, 0.27)
    r = go("half_enough", scenes.beans(crop, household__enough=0.5), MILLION // 4)
    checks.chance("gamma: the last week is short under half a portion", r, "beans", "chance_short",
                  one.cdf(51.5 * want))


class Metalog:
    """Keelin 2016, Decision Analysis 13(4):243-277: three terms through the symmetric percentile triplet,
    bounded below by 0."""

    def __init__(self, p10, p50, p90):
        c, g = math.log(9.0), [math.log(p) for p in (p10, p50, p90)]
        self.a1, self.a2, self.a3 = g[1], (g[2] - g[0]) / (2 * c), (g[0] + g[2] - 2 * g[1]) / (0.8 * c)
        u = np.linspace(0, 1, 2000001)[1:-1]
        x = self.q(u)
        self.moments = float(np.mean(x)), float(np.std(x))

    def q(self, u):
        logit = np.log(u / (1 - u))
        return np.exp(self.a1 + self.a2 * logit + self.a3 * (u - 0.5) * logit)

    def cdf(self, x):
        return np.vectorize(lambda v: 0.0 if v <= 0 else optimize.brentq(lambda u: self.q(u) - v, 1e-15,
                                                                         1 - 1e-15, xtol=1e-15))(x)

    def mean(self):
        return self.moments[0]

    def std(self):
        return self.moments[1]


class Cut:
    """A distribution cut off at both ends and renormalised."""

    def __init__(self, whole, low, high):
        self.whole, self.low, self.high = whole, low, high
        self.mass = whole.cdf(high) - whole.cdf(low)
        first, second = (integrate.quad(lambda x: x ** k * whole.pdf(x), low,
                                        high)[0] / self.mass for k in (1, 2))
        self.moments = first, math.sqrt(second - first * first)

    def cdf(self, x):
        return np.clip((self.whole.cdf(x) - self.whole.cdf(self.low)) / self.mass, 0, 1)

    def mean(self):
        return self.moments[0]

    def std(self):
        return self.moments[1]


def shapes_of_unit_kg():
    """(name, setting, distribution, source)."""
    # alpha = 1 + 4 (mode - low)/(high - low), beta likewise (Malcolm et al. 1959)
    def pert(low, mode, high):
        return stats.beta(1 + 4 * (mode - low) / (high - low), 1 + 4 * (high - mode) / (high - low), low,
                          high - low)

    def lognormal(mean, sd):
        s2 = math.log(1 + (sd / mean) ** 2)
        return stats.lognorm(math.sqrt(s2), scale=mean * math.exp(-s2 / 2))

    scipy = "distribution function (scipy)"
    return [
        ("pert", {"shape": "pert", "low": 0.4, "mode": 0.8, "high": 2.0}, pert(0.4, 0.8, 2.0),
         "PERT (Malcolm et al. 1959)"),
        ("triangular", {"shape": "triangular", "low": 0.4, "mode": 0.7, "high": 2.0},
         stats.triang(0.3 / 1.6, 0.4, 1.6), scipy),
        ("uniform", {"shape": "uniform", "low": 0.3, "high": 1.9}, stats.uniform(0.3, 1.6), scipy),
        ("beta", {"shape": "beta", "alpha": 2.5, "beta": 1.7}, stats.beta(2.5, 1.7), scipy),
        ("weibull", {"shape": "weibull", "k": 1.8, "scale": 1.1}, stats.weibull_min(1.8, scale=1.1), scipy),
        ("exponential", {"shape": "exponential", "mean": 0.9}, stats.expon(scale=0.9), scipy),
        ("lognormal", {"shape": "lognormal", "mean": 1.0, "sd": 0.5}, lognormal(1.0, 0.5), scipy),
        ("metalog", {"p10": 0.6, "p50": 0.8, "p90": 1.1}, Metalog(0.6, 0.8, 1.1), "metalog (Keelin 2016)"),
        ("cut_normal", {"shape": "normal", "mean": 0.8, "sd": 0.5, "at_least": 0.2, "at_most": 1.5},
         Cut(stats.norm(0.8, 0.5), 0.2, 1.5), "renormalised normal (scipy)"),
        ("gamma_of_mean", {"shape": "gamma", "mean": 1.0, "sd": 0.5}, stats.gamma(4.0, scale=0.25), scipy),
    ]


def shapes(checks, go):
    want = 0.8 / 52
    for name, setting, dist, source in shapes_of_unit_kg():
        # heavier tails: more trials
        trials = MILLION if name in ("metalog", "exponential", "lognormal") else MILLION // 4
        r = go("unit_" + name, scenes.beans({"unit_kg": setting}, household__meals__beans__portion_kg=want),
               trials)
        checks.chance(source, r, "beans", "chance_short", float(dist.cdf(0.8)))
        checks.chance(source, r, "beans", "chance_over_4_weeks_short", float(dist.cdf(48 * want)))
        checks.mean(source, r, "beans", "kg_grown", dist.mean(), dist.std())
        for p in ("_p10", "_p50", "_p90"):
            checks.quantile(source, r, "beans", "kg_grown" + p, dist.cdf)
    figures = [0.61, 0.48, 0.83, 0.48, 1.2]
    r = go("unit_records", scenes.beans({"unit_kg": {"records": figures}},
                                        household__meals__beans__portion_kg=want), MILLION // 4)
    checks.chance("each record with chance 1/n", r, "beans", "chance_short", 0.6)
    checks.mean("each record with chance 1/n", r, "beans", "kg_grown", *moments(figures, [0.2] * 5))


def guests(checks, go):
    n, p, extra, base = 52, 0.3, 2.0, 52 * 0.05
    r = go("guests", scenes.beans({"unit_kg": 50.0}, household__guests={"chance": p, "portions": extra}),
           MILLION // 4)
    visits = stats.binom(n, p)
    each = extra * 0.05
    source = "weeks with guests are binomial"
    checks.mean(source, r, "beans", "kg_eaten", base + each * n * p, each * visits.std())
    for q in ("_p10", "_p50", "_p90"):
        checks.quantile(source, r, "beans", "kg_eaten" + q, lambda x: visits.cdf((x - base) / each + 1e-9),
                        below=lambda x: visits.cdf(math.ceil((x - base) / each - 1e-9) - 1))
    scene = scenes.beans({"unit_kg": base + each * 17.5}, household__guests={"chance": p, "portions": extra})
    r = go("guests_short", scene, MILLION // 4)
    checks.chance(source, r, "beans", "chance_short", visits.sf(17))


def jars(checks, go):
    for name, setting, life in (("exponential", {"shape": "exponential", "mean": 60.0},
                                 stats.expon(scale=60.0)),
                                ("weibull", {"shape": "weibull", "k": 1.7, "scale": 45.0},
                                 stats.weibull_min(1.7, scale=45.0))):
        r = go("jars_" + name, scenes.beans({"unit_kg": 3.0},
                                            store={"jar_kg": 0.5, "jar_keeps_weeks": setting}, **NO_MEALS),
               MILLION // 4)
        source = "survival of six jars, " + name
        for age in (1, 4, 25, 51):
            alive, week = stats.binom(6, life.sf(age)), FIRST + age
            checks.average("%s: age %d" % (r.folder, age), source, r.of_week(week, "beans", "stock_kg_mean"),
                           0.5 * alive.mean(),
                           0.5 * alive.std(), MILLION // 4)
            checks.order_statistic("%s: count at age %d" % (r.folder, age), source,
                                   r.week[week, "beans"]["count_p50"], MILLION // 4,
                                   0.5, alive.cdf, lambda j: alive.cdf(j - 1), cells=False)
        lost = stats.binom(6, life.cdf(51))
        checks.mean(source, r, "beans", "kg_store_loss", 0.5 * lost.mean(), 0.5 * lost.std())
        checks.mean("nothing is wanted", r, "beans", "kg_lost_while_wanted", 0.0, 0.0)


def sorting(checks, go):
    r = go("sorting", scenes.beans({"sorted_out": {"shape": "beta", "alpha": 2.0, "beta": 8.0},
                                    "left_to_dry": 0.8, "unit_kg": 2.0},
                                   household__meals__beans__portion_kg=1.28 / 52), MILLION // 4)
    bad = stats.beta(2.0, 8.0)
    source = "beta share of 1.6 kg"
    checks.mean(source, r, "beans", "kg_sorted_out", 1.6 * bad.mean(), 1.6 * bad.std())
    checks.mean(source, r, "beans", "kg_in", 1.6 * (1 - bad.mean()), 1.6 * bad.std())
    checks.chance(source, r, "beans", "chance_short", bad.sf(0.2))
    checks.mean("certain", r, "beans", "kg_grown", 1.6, 0.0)


def wind(checks, go):
    base = {"blow_down": 0.3, "blow_down_loses": 0.5}
    want = {"household__meals__beans__portion_kg": 3.25 / 52}
    down = stats.binom(4, 0.3)
    r = go("wind_each", scenes.beans(dict(base, support="each"), {"count": 4}, **want), MILLION // 4)
    checks.mean("binomial supports", r, "beans", "kg_field_loss", 0.5 * down.mean(), 0.5 * down.std())
    checks.chance("binomial supports", r, "beans", "chance_short", down.sf(1))
    r = go("wind_shared", scenes.beans(dict(base, support="shared"), {"count": 4}, **want), MILLION // 4)
    checks.mean("one support for all", r, "beans", "kg_field_loss", 0.6, 2 * math.sqrt(0.3 * 0.7))
    checks.chance("one support for all", r, "beans", "chance_short", 0.3)


def standing(checks, go):
    want = {"household__meals__beans__portion_kg": 5.5 / 52}
    for name, stands, units in (("binomial", 0.7, stats.binom(8, 0.7)),
                                ("beta_binomial", {"shape": "beta", "alpha": 3.0, "beta": 1.5},
                                 stats.betabinom(8, 3.0, 1.5))):
        r = go("stands_" + name, scenes.beans({"stands": stands}, {"count": 8}, **want), MILLION // 4)
        checks.mean(name, r, "beans", "kg_grown", units.mean(), units.std())
        checks.chance(name, r, "beans", "chance_short", units.cdf(5))
        checks.quantile(name, r, "beans", "kg_grown_p10", lambda x: units.cdf(np.floor(x)),
                        below=lambda x: units.cdf(np.ceil(x) - 1))


def frost(checks, go):
    """A last frost drawn as day 78 +- 6 and rounded; plants out on day 80 without protection."""
    late = float(stats.norm.sf((79.5 - 78) / 6))
    scene = scenes.beans({"waits_for_frost": False, "frost_kills": 0.5}, {"count": 2},
                         household__meals__beans__portion_kg=1.5 / 52,
                         climate__last_frost={"shape": "normal", "mean": "05-18", "sd": 6.0})
    r = go("frost", scene, MILLION)
    source = "normal frost date, rounded"
    pmf = np.array([late * 0.25, late * 0.5, 1 - late + late * 0.25])
    checks.chance(source, r, "beans", "chance_short", pmf[:2].sum())
    checks.chance(source, r, "beans", "chance_over_4_weeks_short", pmf[:2].sum())
    checks.mean(source, r, "beans", "kg_grown", *moments([0, 1, 2], pmf))
    checks.mean(source, r, "beans", "short_weeks", *moments([52, 18, 0], pmf))


def pods(checks, go):
    """What is not dry by pick_until, over seasons whose warmth is normal; the heat is summed here."""
    mean, sd, finish, good, sigma = 900.0, 90.0, 60.0, 0.5, 0.9
    z = np.linspace(-8, 8, 1601)
    weight = np.exp(-z * z / 2)
    weight /= weight.sum()
    heat = scenes.heat_from_0(8.0, sigma * z)
    h = heat[:, scenes.day_of("10-01")] - heat[:, scenes.day_of("05-20")]
    dry, near = special.ndtr((h - mean) / sd), special.ndtr((h + finish - mean) / sd)
    lost = 2.0 * (1 - dry - good * (near - dry))
    crop = {"unit_kg": 2.0, "heat_to_dry": {"shape": "normal", "mean": mean, "sd": sd},
            "finish_indoors_heat": finish,
            "finish_share": good}
    scene = scenes.beans(crop, climate__warmth={"shape": "normal", "mean": 0.0, "sd": sigma}, **NO_MEALS)
    r = go("pods", scene, MILLION // 4)
    source = "single-sine heat (Baskerville & Emin 1969) and quadrature over warmth"
    checks.mean(source, r, "beans", "kg_field_loss", *moments(lost, weight))
    checks.mean(source, r, "beans", "kg_in", *moments(2.0 - lost, weight))
    cdf = lambda x: special.ndtr(-np.interp(x, lost[::-1], z[::-1]))   # the loss falls as warmth rises
    for p in ("_p50", "_p90"):
        checks.quantile(source, r, "beans", "kg_field_loss" + p, cdf)


def seed(checks, go):
    """Three gamma units; without buying, the next year's planting is what the seed covers."""
    k, theta, each, spare = 2.0, 0.2, 0.3, 0.5
    total, due = stats.gamma(3 * k, scale=theta), 3 * each * (1 + spare)
    crop = {"unit_kg": {"shape": "gamma", "k": k, "theta": theta}, "saves_seed": True, "buys_seed": False,
            "seed_kg_per_unit": each, "seed_spare": spare}
    want = 0.6 / 52
    scene = scenes.beans(crop, {"count": 3}, household__meals__beans__portion_kg=want, food_years=2)
    source = "gamma sums, seed first"
    r = go("seed", scene, MILLION // 2)
    checks.mean(source, r, "beans", "kg_seed", *moments_of_min(total, due))
    checks.chance(source, r, "beans", "chance_short", total.cdf(due + 0.6))
    units = np.diff(np.append(total.cdf(each * np.arange(4)), 1.0))     # chances of 0 .. 3 units
    n, n_sd = moments(np.arange(4), units)
    grown_sd = math.sqrt(n * k * theta ** 2 + (k * theta * n_sd) ** 2)
    checks.mean(source, r, "beans", "kg_grown", n * k * theta, grown_sd, year=2)
    scene["crops"]["bean"]["buys_seed"] = True
    r = go("seed_bought", scene, MILLION // 4)
    checks.mean(source, r, "beans", "kg_grown", 3 * k * theta, total.std(), year=2)
    checks.mean(source, r, "beans", "kg_seed", *moments_of_min(total, due))


def counted_jars(checks, go):
    """Four jars counted on 10 January, begun in the week of 1 October (15 weeks old) or of 26 November (7 weeks old); lives
    given survival."""
    life = stats.weibull_min(1.7, scale=25.0)
    for begun, age in (("10-01", 15), ("11-26", 7)):
        scene = scenes.beans(store={"jar_kg": 0.5, "jar_keeps_weeks": {"shape": "weibull", "k": 1.7, "scale": 25.0}},
                             on_shelf={"as_of": "01-10", "beans": [{"planting": "row", "kg": 2.0, "seasons_old": 0,
                                                                    "begun": begun}]}, **NO_MEALS)
        r = go("counted_jars_%d" % age, scene, MILLION // 4)
        for later in (0, 1, 6, 20):
            alive = stats.binom(4, life.sf(age + later) / life.sf(age))
            text = "jars counted at %d weeks, after %d weeks" % (age, later)
            checks.average(text, "conditional Weibull survival", r.of_week(45 + later, "beans", "stock_kg_mean"),
                           0.5 * alive.mean(), 0.5 * alive.std(), MILLION // 4)
            checks.order_statistic(text + ", count", "conditional Weibull survival", r.week[45 + later, "beans"]["count_p50"],
                                   MILLION // 4, 0.5, alive.cdf, lambda x: alive.cdf(x - 1), cells=False)
        checks.equal("counted jars: the time line", "model", (r.weeks("beans")[0], r.weeks("beans")[-1]),
                     (45, 52 + FIRST - 1))


ALL = (gammas, shapes, guests, jars, sorting, wind, standing, frost, pods, seed, counted_jars)
