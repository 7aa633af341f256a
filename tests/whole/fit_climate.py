"""What `tideover fit --weather` makes of a daily record, against an independent reading here: seasons from the CSV, normals and the
season's warmth with numpy, maximum likelihood with SciPy (years without a frost censored), a metalog written down once more
(Keelin 2016), ranks by scipy.stats.rankdata; and through `tideover run`, whose frost dates must be spread as the record's are.
Used by fit_test.py, which hands over its tools."""
import csv
import datetime
import json
import math
import os
import re

import numpy
import scipy.optimize
import scipy.special
import scipy.stats

FIRST_HEAT, LAST_HEAT, LAST_SPRING = 61, 213, 137
HARD = -2


def write_record(path, days, low, high, header="date,tmin,tmax"):
    with open(path, "w", encoding="ascii") as file:
        file.write(header + "\n")
        for d, m, big in zip(days, low, high):
            file.write("%s,%.1f,%.1f\n" % (d, m, big))
    return path


def own_reading(t, path):
    """A dictionary by figure: the values of the seasons (None: no such frost), and the normals."""
    seasons = list(t.own_seasons(HARD, (), path))
    days, low, high = t.read_record(path)
    at = {d: i for i, d in enumerate(days)}
    index = [[at[s["start"]] + d for d in range(365)] for s in seasons]
    normals = []
    for values in (low, high):
        by_month = [[] for _ in range(12)]
        for own in index:
            for i in own:
                if i < len(days):                       # the last winter may lie beyond the record's end
                    by_month[days[i].month - 1].append(values[i])
        normals.append([float("%.2f" % numpy.mean(v)) for v in by_month])
    # lines between the 15ths of the months, in a year of 365 days
    middle = [(datetime.date(2001, m + 1, 15) - datetime.date(2001, 1, 1)).days for m in range(12)]
    line = [numpy.interp(numpy.arange(365), [middle[-1] - 365] + middle + [middle[0] + 365], [n[-1]] + n + [n[0]]) for n in normals]
    start = (datetime.date(2001, 3, 1) - datetime.date(2001, 1, 1)).days
    of_year = (start + numpy.arange(FIRST_HEAT, LAST_HEAT + 1)) % 365
    usual = (line[0][of_year] + line[1][of_year]).mean() / 2
    warmth = [(low[own[FIRST_HEAT]:own[LAST_HEAT] + 1] + high[own[FIRST_HEAT]:own[LAST_HEAT] + 1]).mean() / 2 - usual
              for own in index]
    return {"last_frost": [s["last"] for s in seasons], "first_hard_frost": [s["hard"] for s in seasons], "warmth": warmth,
            "normals": normals}


def metalog(p):
    """Quantile function, distribution function and log-density of the three-term metalog through p10, p50, p90."""
    c = math.log(9)
    a1, a2, a3 = p[1], (p[2] - p[0]) / (2 * c), (p[0] + p[2] - 2 * p[1]) / (0.8 * c)

    def quantile(u):
        return a1 + (a2 + a3 * (u - 0.5)) * numpy.log(u / (1 - u))

    def logit(x):
        low, high = numpy.full_like(x, -700), numpy.full_like(x, 700)
        for _ in range(90):
            middle = (low + high) / 2
            above = a1 + (a2 + a3 * (scipy.special.expit(middle) - 0.5)) * middle > x
            low, high = numpy.where(above, low, middle), numpy.where(above, middle, high)
        return (low + high) / 2

    def cdf(x):
        return scipy.special.expit(logit(numpy.array([float(x)])))[0]

    def log_density(x):
        t = logit(numpy.array(x, dtype=float))
        u = scipy.special.expit(t)
        return scipy.special.log_expit(t) + scipy.special.log_expit(-t) - numpy.log(a2 + a3 * (u - 0.5 + t * u * (1 - u)))
    return quantile, cdf, log_density


def log_likelihood(shape, p, values, none_low):
    """Of days with a frost, and of the years without: below -0.5, or above 364.5."""
    exact, none = [x for x in values if x is not None], sum(x is None for x in values)
    if shape == "normal":
        own = scipy.stats.norm(*p)
        beyond = own.cdf(-0.5) if none_low else own.sf(364.5)
        return own.logpdf(exact).sum() + (none * math.log(beyond) if none else 0)
    _, cdf, log_density = metalog(p)
    beyond = cdf(-0.5) if none_low else 1 - cdf(364.5)
    return log_density(exact).sum() + (none * math.log(beyond) if none else 0)


def best(shape, values, none_low):
    """SciPy's maximum: parameters and log-likelihood."""
    exact = numpy.array([x for x in values if x is not None], dtype=float)
    if shape == "normal" and len(exact) == len(values):
        p = scipy.stats.norm.fit(exact)
        return p, log_likelihood("normal", p, values, none_low)

    def parameters(at):
        if shape == "normal":
            return at[0], math.exp(at[1])
        return at[0] - math.exp(at[1]), at[0], at[0] + math.exp(at[2])

    def loss(at):
        p = parameters(at)
        # neither side more than three times as wide as the other: beyond, the likelihood has no top
        if shape == "triplet" and not 1 / 3 < (p[2] - p[1]) / (p[1] - p[0]) < 3:
            return 1e9
        return -log_likelihood(shape, p, values, none_low)
    start = [exact.mean()] + [math.log(exact.std() * (1 if shape == "normal" else 1.28))] * (1 if shape == "normal" else 2)
    for _ in range(2):
        done = scipy.optimize.minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-11, "maxiter": 4000})
        start = done.x
    return parameters(start), -done.fun


def compare_fits(t, folder, own):
    """Every candidate's row of fit.csv; returns the chosen shape and its parameters by figure."""
    chosen = {}
    table = [r for r in t.rows(folder, "fit.csv") if r["setting"].startswith("climate.")]
    for figure in ("last_frost", "first_hard_frost", "warmth"):
        values, aicc = own[figure], {}
        have = sum(x is not None for x in values)
        for row in (r for r in table if r["setting"] == "climate." + figure):
            what = "%s %s" % (figure, row["shape"])
            p, likelihood = best(row["shape"], values, figure == "last_frost")
            scale = numpy.std([x for x in values if x is not None])
            for i, value in enumerate(p):
                t.check(what + " %d" % (i + 1), abs(float(row["estimate_%d" % (i + 1)]) - value) < 2e-3 * scale,
                        "%s against %g" % (row["estimate_%d" % (i + 1)], value))
            t.near(what + " log-likelihood", row["log_likelihood"], likelihood, 1e-6)
            k, n = len(p), len(values)
            t.near(what + " aicc", row["aicc"], 2 * k - 2 * likelihood + 2 * k * (k + 1) / (n - k - 1), 1e-6)
            t.check(what + " records", (row["crop"], row["records"], row["not_censored"]) == ("", str(n), str(have)))
            aicc[float(row["aicc"])] = row["shape"]
            if row["chosen"] == "true":
                chosen[figure] = (row["shape"], p)
        t.check("%s: both shapes are there" % figure, len(aicc) == 2, str(aicc))
        t.check("%s: the least AICc is chosen" % figure, chosen[figure][0] == aicc[min(aicc)])
    return chosen


def compare_statistics(t, folder, own):
    """Anderson and Darling's A2 of warmth, from its definition; and errors of a normal's mean and sd, s/sqrt(n) and s/sqrt(2n)."""
    x = numpy.sort(own["warmth"])
    n = len(x)
    mean, sd = scipy.stats.norm.fit(x)
    f = scipy.stats.norm.cdf(x, mean, sd)
    row = [r for r in t.rows(folder, "fit.csv") if r["setting"] == "climate.warmth" and r["shape"] == "normal"][0]
    i = numpy.arange(1, n + 1)
    t.near("A2 of warmth", row["statistic_value"], -n - numpy.sum((2 * i - 1) * (numpy.log(f) + numpy.log1p(-f[::-1]))) / n, 1e-3)
    t.near("error of the mean", row["std_error_1"], sd / math.sqrt(n), 1e-3)
    t.near("error of the sd", row["std_error_2"], sd / math.sqrt(2 * n), 1e-3)
    t.near("end of the sd's range, where the profile n (r - 1 - log r) of r = s^2/v^2 is chi-squared's 95 %", row["high_2"],
           sd / math.sqrt(scipy.optimize.brentq(lambda r: n * (r - 1 - math.log(r)) - scipy.stats.chi2.ppf(0.95, 1), 1e-3, 1)), 1e-3)


def joined(text):
    """A settings file's comments as running text."""
    return " ".join(text.replace("//", "").split())


def numbers(text, name):
    found = re.search(r"^ *%s = (.*);$" % name, text, re.M)
    return [float(x) for x in re.findall(r"-?\d+\.\d+", found[1])] if found else None


def compare_settings(t, folder, own, chosen):
    """fit.cfg says what fit.csv does: dates to the day, normals, the correlation of normal scores."""
    with open(os.path.join(folder, "fit.cfg"), encoding="utf-8") as file:
        text = file.read()
    n = len(own["warmth"])
    for figure in ("last_frost", "first_hard_frost"):
        shape, p = chosen[figure]
        dates = [(datetime.date(2001, 3, 1) + datetime.timedelta(days=math.floor(x + 0.5))).strftime("%m-%d") for x in p]
        have = sum(x is not None for x in own[figure])
        line = re.search(r"^    %s = \{ (.*) \};$" % figure, text, re.M)[1]
        wanted = ('shape = "normal"; mean = "%s"; sd = ' % dates[0] if shape == "normal" else
                  'p10 = "%s"; p50 = "%s"; p90 = "%s"; ' % tuple(dates))
        t.check("fit.cfg: %s" % figure, line.startswith(wanted) and "from_records = %d;" % have in line,
                "%s, wanted %s" % (line, wanted))
        before = text[:text.index("    %s = " % figure)].rsplit(";\n", 1)[-1]
        t.check("fit.cfg says from how many seasons %s comes" % figure, "// From %d seasons" % n in before, before)
    t.near("fit.cfg: sd of warmth", re.search(r"warmth = .* sd = ([\d.]+);", text)[1], numpy.std(own["warmth"]), 1e-4)
    for name, normals in zip(("tmin_c", "tmax_c"), own["normals"]):
        t.check("fit.cfg: " + name, numpy.allclose(numbers(text, name), normals, atol=0.0101), str(numbers(text, name)))
    scores = []
    for figure, none in (("last_frost", -1), ("first_hard_frost", 365), ("warmth", None)):
        values = [none if x is None else x for x in own[figure]]
        scores.append(scipy.stats.norm.ppf((scipy.stats.rankdata(values) - 0.5) / n))
    t.check("fit.cfg: correlation", numpy.allclose(numpy.array(numbers(text, "correlation")).reshape(3, 3), numpy.corrcoef(scores),
                                                   atol=6e-4), str(numpy.corrcoef(scores)))
    r, reach = numpy.corrcoef(scores)[0, 2], scipy.stats.norm.ppf(0.975) / math.sqrt(n - 3)
    wanted = "last frost with warmth %.2f (%.2f to %.2f)" % (r, math.tanh(math.atanh(r) - reach), math.tanh(math.atanh(r) + reach))
    t.check("fit.cfg: its interval", wanted in joined(text), wanted)


def week_of(day, leap_years_from=2001):
    """The date of the week that a day lies in, as the summary has it."""
    if day >= 365:
        return "never"
    week = min(51, max(0, math.floor(day / 7)))
    return (datetime.date(leap_years_from, 3, 1) + datetime.timedelta(days=7 * week)).isoformat()


def run_spread(t, folder, chosen, sharp):
    """p10, p50 and p90 of the run's frosts, told by week, are those of the fitted shape: a quantile may lie a day beside its own, as
    dates and means are rounded to the day, and 20,000 trials know a tenth's to half a day. `sharp`: without the doubt, which
    moves the tenths outwards by as much as the seasons leave open."""
    with open(os.path.join(folder, "fit.cfg"), encoding="utf-8") as file:
        text = file.read()
    if sharp:
        text = re.sub(r" from_records = \d+;", "", text)
    name = "sharp" if sharp else "doubtful"
    t.write_notebook(folder, name + "_fit.cfg", [text])
    scene = t.write_notebook(folder, name + ".cfg", ['extends = ( "%s/scenarios/base.cfg", "%s_fit.cfg" );' % (t.ROOT, name)])
    out = os.path.join(folder, name)
    done = t.run("run", scene, "--trials", "20000", "--out", out)
    t.check("a scenario with the fit runs", done.returncode == 0, done.stderr)
    t.check("the doubt is told where there is one", ("Doubt about settings" in done.stdout) != sharp)
    told = {r["measure"]: r["date"] for r in t.rows(out, "summary.csv")}
    for figure in ("last_frost", "first_hard_frost") if sharp else ():
        shape, p = chosen[figure]
        quantile = scipy.stats.norm(*p).ppf if shape == "normal" else metalog(p)[0]
        for share, label in ((0.1, "p10"), (0.5, "p50"), (0.9, "p90")):
            day = float(quantile(share))
            allowed = {week_of(day + d) for d in (-1.5, -1, 0, 1, 1.5)}
            found = told["%s_%s" % (figure, label)]
            t.check("run: %s %s" % (figure, label), (found or "never") in allowed, "%s, wanted one of %s" % (found, sorted(allowed)))
    return told


def spread_of_record(t, folder, own):
    """What the run draws is spread as the record is: eight years of ten between the same weeks, give or take the two weeks to which 24
    years know their own tenths (standard error 1.7 sd/sqrt(n) of a normal's: David & Nagaraja 2003, Order Statistics, 10.2)."""
    told = {r["measure"]: r["date"] for r in t.rows(os.path.join(folder, "sharp"), "summary.csv")}
    for figure in ("last_frost", "first_hard_frost"):
        values = numpy.array(own[figure], dtype=float)
        allowed = 2.5 * 1.7 * values.std() / math.sqrt(len(values)) + 3.5
        for share, label in ((0.1, "p10"), (0.5, "p50"), (0.9, "p90")):
            day = (datetime.date.fromisoformat(told["%s_%s" % (figure, label)]) - datetime.date(2001, 3, 1)).days + 3
            t.check("the record's %s %s" % (figure, label), abs(day - numpy.quantile(values, share)) < allowed,
                    "%d against %g, allowed %g" % (day, numpy.quantile(values, share), allowed))


def record_alone(t, folder):
    """The invented plot, where two springs and two winters lack a frost; and the same three degrees colder, where none does."""
    days, low, high = t.read_record(t.RECORD)
    low, high = numpy.round(low, 1), numpy.round(high, 1)
    colder = write_record(os.path.join(folder, "colder.csv"), days, low - 3, high - 3)
    for name, path in (("plot", t.RECORD), ("colder", colder)):
        out = os.path.join(folder, name)
        done = t.run("fit", "--weather", path, "--out", out)
        t.check("fit of a record alone", done.returncode == 0, done.stderr)
        own = own_reading(t, path)
        chosen = compare_fits(t, out, own)
        compare_statistics(t, out, own)
        compare_settings(t, out, own, chosen)
        run_spread(t, out, chosen, True)
        run_spread(t, out, chosen, False)
        t.check("only what a record gives is written", sorted(f for f in os.listdir(out) if f.startswith(("fit.csv", "keep", "warm")))
                == ["fit.csv"])
        with open(os.path.join(out, "datapackage.json"), encoding="utf-8") as file:
            package = json.load(file)
        t.check("the package names the record's hash", len(package["run"]["weather_hash"]) == 64 and
                [r["path"] for r in package["resources"]] == ["fit.csv", "fit.cfg"], str(package["run"]))
        lacking = [s["year"] for s in t.own_seasons(HARD, (), path) if s["last"] is None]
        t.check("years without are told", not lacking or "2 without (%s)" % ", ".join(map(str, lacking)) in done.stdout)
        if name == "colder":
            t.check("colder: every year has both", None not in own["last_frost"] + own["first_hard_frost"])
            spread_of_record(t, out, own)


def left_out(t, folder):
    """A season with too many days missing is named, and so is one that lacks altogether; a winter that the record leaves is no winter
    without frost."""
    days, low, high = t.read_record(t.RECORD)
    keep = [i for i, d in enumerate(days) if not (d.year == 2005 and 5 <= d.month <= 8) and not (d.year == 2009 and d.month > 2)
            and not (d.year == 2010 and d.month < 3) and d < datetime.date(2024, 12, 1)]
    path = write_record(os.path.join(folder, "gaps.csv"), [days[i] for i in keep], low[keep], high[keep])
    done = t.run("fit", "--weather", path, "--out", folder)
    t.check("fit with gaps", done.returncode == 0, done.stderr)
    with open(os.path.join(folder, "fit.cfg"), encoding="utf-8") as file:
        text = joined(file.read())
    for said in (done.stdout, text):
        t.check("what is left out is named", "22 seasons, 2001 to 2024; left out, as too many days are missing: 2005, 2009" in said, said)
    t.check("warnings name them too", all("begins in %d is left out" % y in done.stderr for y in (2005, 2009)), done.stderr)
    row = [r for r in t.rows(folder, "fit.csv") if r["setting"] == "climate.first_hard_frost"][0]
    # 2024's hard frost on 14 November is there; 2014 had none
    t.check("years with a hard frost", (row["records"], row["not_censored"]) == ("22", "21"), str(row))
    keep = [i for i, d in enumerate(days) if d < datetime.date(2023, 12, 1) and not (d.year == 2023 and d.month == 11 and d.day > 28)]
    path = write_record(os.path.join(folder, "ends.csv"), [days[i] for i in keep], low[keep], high[keep])
    done = t.run("fit", "--weather", path, "--out", folder)
    t.check("the record ends before a hard frost", "in 1 the record ends before one" in done.stdout, done.stdout + done.stderr)


def few_seasons(t, folder):
    """Four seasons: a triplet where one more would lie, by Student's t; one: nothing; no frost: nothing, with a reason."""
    days, low, high = t.read_record(t.RECORD)
    first = [i for i, d in enumerate(days) if d < datetime.date(2005, 3, 1)]
    path = write_record(os.path.join(folder, "few.csv"), [days[i] for i in first], low[first], high[first])
    done = t.run("fit", "--weather", path, "--out", folder)
    t.check("fit of four seasons", done.returncode == 0, done.stderr)
    t.check("four are said to be few", done.stdout.count("widened for so few") == 3 and "8 are wanted" in done.stdout, done.stdout)
    own = own_reading(t, path)
    text = open(os.path.join(folder, "fit.cfg"), encoding="utf-8").read()
    half = scipy.stats.t.ppf(0.9, 3) * numpy.std(own["warmth"], ddof=1) * math.sqrt(1.25)
    told = [float(x) for x in re.search(r"warmth = \{ p10 = (\S+); p50 = (\S+); p90 = (\S+); \}", text).groups()]
    wanted = numpy.mean(own["warmth"]) + half * numpy.array([-1, 0, 1])
    t.check("triplet of warmth", numpy.allclose(told, wanted, atol=1e-5), str(told))
    values = [float(x) for x in own["last_frost"]]
    half = scipy.stats.t.ppf(0.9, 3) * numpy.std(values, ddof=1) * math.sqrt(1.25)
    wanted = [(datetime.date(2001, 3, 1) + datetime.timedelta(days=math.floor(numpy.mean(values) + s * half + 0.5))).strftime("%m-%d")
              for s in (-1, 0, 1)]
    t.check("triplet of the last frost", 'last_frost = { p10 = "%s"; p50 = "%s"; p90 = "%s";' % tuple(wanted) in text, str(wanted))
    t.check("without correlation", numbers(text, "correlation") is None)
    one = [i for i, d in enumerate(days) if d < datetime.date(2001, 12, 10)]
    path = write_record(os.path.join(folder, "one.csv"), [days[i] for i in one], low[one], high[one])
    done = t.run("fit", "--weather", path, "--out", folder)
    text = open(os.path.join(folder, "fit.cfg"), encoding="utf-8").read()
    t.check("one season says nothing of spread", done.returncode == 0 and joined(text).count("too few to say how it spreads") == 3
            and not re.search(r"^ *(last_frost|first_hard_frost|warmth) =", text, re.M), text)
    t.check("and has all months, its own January before it left out", "January 0" in " ".join(text.split()), text)
    path = write_record(os.path.join(folder, "warm.csv"), days, low + 20, high + 20)
    done = t.run("fit", "--weather", path, "--out", folder)
    text = open(os.path.join(folder, "fit.cfg"), encoding="utf-8").read()
    t.check("a record without frost", done.returncode == 0 and done.stdout.count("too few with one") == 2
            and "last_frost =" not in text and "warmth = {" in text and "tmin_c" in text, text)
    scene = t.write_notebook(folder, "warm.cfg", ['extends = ( "%s/scenarios/base.cfg", "fit.cfg" );' % t.ROOT])
    done = t.run("check", scene)
    t.check("what is there is taken", done.returncode == 0, done.stderr)


def southern(t, folder):
    """The record half a year on is a southern one: the same fits, dates half a year on."""
    days, low, high = t.read_record(t.RECORD)
    path = write_record(os.path.join(folder, "south.csv"), [d + datetime.timedelta(days=184) for d in days], low, high)
    done = t.run("fit", "--weather", path, "--year-starts", "09-01", "--hard-frost", "-1.5", "--out", folder)
    t.check("fit of a southern record", done.returncode == 0, done.stderr)
    text = open(os.path.join(folder, "fit.cfg"), encoding="utf-8").read()
    t.check("it says when the year starts and what a hard frost is",
            'year_starts = "09-01";' in text and "hard_frost_c = -1.5;" in text, text)
    month = int(re.search(r'last_frost = \{.*?(?:mean|p50) = "(\d\d)', text)[1])
    t.check("the last frost is one of October", month == 10, text)
    tmin = numbers(text, "tmin_c")
    t.check("January is summer", tmin.index(max(tmin)) in (0, 1) and tmin.index(min(tmin)) in (6, 7), str(tmin))
    scene = t.write_notebook(folder, "south.cfg", ['extends = ( "%s/scenarios/southern.cfg", "fit.cfg" );' % t.ROOT])
    done = t.run("check", scene)
    t.check("a southern scenario takes it", done.returncode == 0, done.stderr)


def refused(t, folder):
    for arguments, word in ((("fit",), "or a daily record alone"),
                            (("fit", "--prior", "x.cfg", "--weight", "3", "--weather", t.RECORD), "--prior wants a notebook")):
        done = t.run(*arguments, "--out", os.path.join(folder, "none"))
        t.check("refused: " + word, done.returncode == 2 and word in done.stderr, done.stderr)
    for line, word in (("2020-01-03,2.0,1.0", "the minimum 2 is above the maximum 1"), ("2020-01-01,0.0,9.0", "is out of order"),
                       ("2020-01-02,0.0,9.0", "stands there twice"), ("2020-02-30,0.0,9.0", "is no date")):
        path = t.write_notebook(folder, "bad.csv", ["date,tmin,tmax", "2020-01-02,1.0,9.0", line])
        done = t.run("fit", "--weather", path, "--out", os.path.join(folder, "none"))
        t.check("refused: " + word, done.returncode == 2 and "bad.csv:3: " in done.stderr and word in done.stderr, done.stderr)
    t.check("nothing was written", not os.path.exists(os.path.join(folder, "none", "fit.csv")))


def both(t, folder):
    """A notebook and a record: crops and climate in one fragment; each table's cells are as many as its columns."""
    path = t.write_notebook(folder, "both.csv", ["kind,crop,value,date"] +
                            ["unit_kg,runner_bean,%.2f,%d-10-01" % (0.6 + 0.05 * (i % 5), 2005 + i) for i in range(10)])
    done = t.run("fit", path, "--weather", t.RECORD, "--out", folder)
    t.check("fit of both", done.returncode == 0, done.stderr)
    text = open(os.path.join(folder, "fit.cfg"), encoding="utf-8").read()
    t.check("climate and crops", text.index("climate = {") < text.index("crops = {") and "follows_warmth" in text)
    with open(os.path.join(folder, "fit.csv"), encoding="utf-8", newline="") as file:
        table = list(csv.reader(file))
    t.check("as many cells as columns", {len(r) for r in table} == {len(table[0])} and len(table) > 8, str({len(r) for r in table}))
    scene = t.write_notebook(folder, "both.cfg", ['extends = ( "%s/scenarios/base.cfg", "fit.cfg" );' % t.ROOT])
    done = t.run("run", scene, "--trials", "2000", "--out", os.path.join(folder, "both"), "--quiet")
    t.check("a run with both", done.returncode == 0 and not done.stderr, done.stderr)


def all_tests(t, folder):
    for test in (record_alone, left_out, few_seasons, southern, refused, both):
        os.mkdir(os.path.join(folder, test.__name__))
        test(t, os.path.join(folder, test.__name__))
