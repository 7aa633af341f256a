#!/usr/bin/python3
"""fit_test.py PROGRAM: `tideover season` and `tideover fit` on invented records, against an independent reading in Python
(calendar, frosts, degree-days from the formula of Baskerville & Emin 1969, Ecology 50:514-517; numpy's least squares and
quantiles) and against SciPy's maximum-likelihood fits. Prints 'N passed, N failed'."""
import csv
import datetime
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import types

import numpy
import scipy.optimize
import scipy.stats

import fit_climate
from counted import check, end

PROGRAM = os.path.abspath(sys.argv[1])
ROOT = os.path.abspath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
RECORD = os.path.join(ROOT, "scenarios", "records", "invented_plot.csv")


def near(what, value, expected, relative=1e-4):
    check(what, abs(float(value) - expected) <= relative * abs(expected) + 1e-9, "got %s, expected %r" % (value, expected))


def run(*arguments):
    return subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, check=False)


def rows(folder, name):
    with open(os.path.join(folder, name), encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# ---- season --------------------------------------------------------------------------------------------------

def degree_days(low, high, base):
    if low >= base:
        return (low + high) / 2 - base
    if high <= base:
        return 0.0
    half, mean = (high - low) / 2, (high + low) / 2
    theta = math.asin((base - mean) / half)
    return ((mean - base) * (math.pi / 2 - theta) + half * math.cos(theta)) / math.pi


def read_record(path):
    """Days of the record without 29 February, gaps filled by straight lines."""
    with open(path, encoding="ascii") as file:
        given = {datetime.date.fromisoformat(r["date"]): (float(r["tmin"]), float(r["tmax"])) for r in csv.DictReader(file)}
    day, last, days = min(given), max(given), []
    while day <= last:
        if (day.month, day.day) != (2, 29):
            days.append(day)
        day += datetime.timedelta(days=1)
    have = [i for i, d in enumerate(days) if d in given]
    low = numpy.interp(range(len(days)), have, [given[days[i]][0] for i in have])
    high = numpy.interp(range(len(days)), have, [given[days[i]][1] for i in have])
    return days, low, high


def own_seasons(hard, bases, path=RECORD):
    days, low, high = read_record(path)
    at = {d: i for i, d in enumerate(days)}
    for year in range(days[0].year, days[-1].year + 1):
        if datetime.date(year, 3, 1) not in at:
            continue
        start = at[datetime.date(year, 3, 1)]
        index = [min(start + d, len(days) - 1) for d in range(365)]
        m, big = low[index], high[index]
        spring = [d for d in range(138) if m[d] <= 0]
        first = [d for d in range(138, 365) if m[d] <= 0]
        killing = [d for d in range(138, 365) if m[d] <= hard]
        heat = [sum(degree_days(m[d], big[d], b) for d in range(61, 214)) for b in bases]
        yield {"year": year, "start": datetime.date(year, 3, 1), "last": spring[-1] if spring else None,
               "first": first[0] if first else None, "hard": killing[0] if killing else None, "heat": heat}


def date_of(year, day):
    """Day of a year of 365 days that begins on 1 March, as a date."""
    if day is None:
        return ""
    date = datetime.date(2001, 3, 1) + datetime.timedelta(days=day)
    return "%04d-%02d-%02d" % (year + date.year - 2001, date.month, date.day)


def season_figures(folder):
    done = run("season", RECORD, "--out", folder, "--base", "9", "--base", "10.5", "--hard-frost", "-1")
    check("season runs", done.returncode == 0, done.stderr)
    own, told = list(own_seasons(-1, (9, 10.5))), rows(folder, "season.csv")
    check("season has every year", len(own) == len(told))
    for mine, row in zip(own, told):
        check("year", int(row["year"]) == mine["year"])
        for name, key in (("last_frost", "last"), ("first_frost", "first"), ("first_hard_frost", "hard")):
            check("%s %d" % (name, mine["year"]), row[name] == date_of(mine["year"], mine[key]),
                  "got %s, expected %s" % (row[name], date_of(mine["year"], mine[key])))
        near("heat 9", row["heat_9_c"], mine["heat"][0], 1e-9)
        near("heat 10.5", row["heat_10.5_c"], mine["heat"][1], 1e-9)
    return own


def season_chances(folder, own):
    told = {r["figure"]: r for r in rows(folder, "chances.csv")}
    years = numpy.array([s["year"] for s in own])
    heat = numpy.array([s["heat"][0] for s in own])
    for p, name in ((0.1, "p10"), (0.5, "p50"), (0.9, "p90")):
        near("heat " + name, told["heat_9_c"][name], numpy.quantile(heat, p), 1e-9)
        frost = sorted(-math.inf if s["last"] is None else s["last"] for s in own)
        at = (len(frost) - 1) * p
        value = frost[int(at)] + (at - int(at)) * (frost[min(int(at) + 1, len(frost) - 1)] - frost[int(at)])
        if math.isfinite(value):
            near("last frost " + name, told["last_frost"][name], value, 1e-9)
    fit = scipy.stats.linregress(years, heat)
    near("trend", told["heat_9_c"]["trend_per_decade"], 10 * fit.slope, 1e-8)
    near("its error", told["heat_9_c"]["trend_std_error"], 10 * fit.stderr, 1e-8)
    with open(os.path.join(folder, "datapackage.json"), encoding="utf-8") as file:
        package = json.load(file)
    check("package names both", [r["path"] for r in package["resources"]] == ["season.csv", "chances.csv"])


def season_fahrenheit(folder):
    path = os.path.join(folder, "f.csv")
    with open(RECORD, encoding="ascii") as file, open(path, "w", encoding="ascii") as out:
        out.write("day;lo;hi\n")
        for r in csv.DictReader(file):
            values = ("%.6f" % (float(r[n]) * 1.8 + 32) for n in ("tmin", "tmax"))
            out.write(";".join((r["date"], *values)).replace(".", ",") + "\n")
    options = ("--date-column", "day", "--tmin-column", "lo", "--tmax-column", "hi", "--base", "9")
    a, b = os.path.join(folder, "a"), os.path.join(folder, "b")
    done = run("season", path, "--fahrenheit", "--out", a, *options)
    check("season in Fahrenheit", done.returncode == 0, done.stderr)
    run("season", RECORD, "--out", b, "--base", "9")
    for x, y in zip(rows(a, "season.csv"), rows(b, "season.csv")):
        near("heat is the same in both", x["heat_9_c"], float(y["heat_9_c"]), 1e-6)
    done = run("season", path, "--out", a, *options)
    check("Fahrenheit taken for Celsius is refused", done.returncode == 2 and "no weather has had" in done.stderr)


# ---- fit -------------------------------------------------------------------------------------------------------

def write_notebook(folder, name, lines):
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8", newline="") as file:
        file.write("\n".join(lines) + "\n")
    return path


def fitted(folder, crop, setting, shape):
    for r in rows(folder, "fit.csv"):
        if (r["crop"], r["setting"], r["shape"]) == (crop, setting, shape):
            return r
    return None


def fit_weights(folder):
    rng = random.Random(31)
    kg = [round(rng.gammavariate(9, 0.15), 3) for _ in range(40)]
    path = write_notebook(folder, "kg.csv", ["crop;kind;value;note"]
                          + ["gourd;fruit_kg;%s;\"a; b\"" % str(x).replace(".", ",") for x in kg])
    done = run("fit", path, "--out", folder)
    check("fit of weights", done.returncode == 0, done.stderr)
    k, _, theta = scipy.stats.gamma.fit(kg, floc=0)
    row = fitted(folder, "gourd", "fruit_kg", "gamma")
    near("gamma mean", row["estimate_1"], k * theta)
    near("gamma sd", row["estimate_2"], math.sqrt(k) * theta)
    ll = scipy.stats.gamma.logpdf(kg, k, 0, theta).sum()
    near("gamma log-likelihood", row["log_likelihood"], ll, 1e-6)
    near("gamma aicc", row["aicc"], 4 - 2 * ll + 12 / 37, 1e-6)
    f = numpy.sort(scipy.stats.gamma.cdf(kg, k, 0, theta))
    i = numpy.arange(1, 41)
    near("Anderson-Darling", row["statistic_value"],
         -40 - numpy.sum((2 * i - 1) * (numpy.log(f) + numpy.log1p(-f[::-1]))) / 40, 1e-3)
    sigma, _, scale = scipy.stats.lognorm.fit(kg, floc=0)
    row = fitted(folder, "gourd", "fruit_kg", "lognormal")
    near("lognormal mu", row["estimate_1"], math.log(scale))
    near("lognormal sigma", row["estimate_2"], sigma)
    k, _, scale = scipy.stats.weibull_min.fit(kg, floc=0)
    row = fitted(folder, "gourd", "fruit_kg", "weibull")
    near("weibull k", row["estimate_1"], k, 1e-3)
    near("weibull scale", row["estimate_2"], scale, 1e-3)
    least = min((float(r["aicc"]), r["shape"]) for r in rows(folder, "fit.csv"))
    check("the least AICc is chosen", fitted(folder, "gourd", "fruit_kg", least[1])["chosen"] == "true")


def fit_counts(folder):
    rng = numpy.random.default_rng(12)
    counts = [int(x) for x in rng.negative_binomial(2.5, 2.5 / (2.5 + 4), 60)]
    path = write_notebook(folder, "n.csv", ["kind,crop,value"] + ["fruits,gourd,%d" % x for x in counts])
    done = run("fit", path, "--out", folder)
    check("fit of counts", done.returncode == 0, done.stderr)

    def loss(at):
        mean, size = math.exp(at[0]), math.exp(at[1])
        return -scipy.stats.nbinom.logpmf(counts, size, size / (size + mean)).sum()
    best = scipy.optimize.minimize(loss, [1.0, 1.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
    mean, size = numpy.exp(best.x)
    row = fitted(folder, "gourd", "fruits", "negative_binomial")
    near("negative binomial mean", row["estimate_1"], mean)
    near("negative binomial sd", row["estimate_2"], math.sqrt(mean + mean * mean / size))
    near("negative binomial log-likelihood", row["log_likelihood"], -best.fun, 1e-7)
    near("poisson mean", fitted(folder, "gourd", "fruits", "poisson")["estimate_1"], numpy.mean(counts), 1e-5)


def made_up_store(rng, n):
    """Fruits cut on 1 October, eaten or found spoiled at a weekly look-over: rows, and what they say in weeks."""
    cut, lines, seen = datetime.date(2020, 10, 1), [], []
    for _ in range(n):
        life, eaten = rng.weibullvariate(23, 2.4), 1 + rng.expovariate(1 / 20)
        if eaten < life:
            days = max(0, int(eaten * 7))
            lines.append("kept,gourd,%s,%s," % (cut, cut + datetime.timedelta(days=days)))
            seen.append((days / 7, math.inf))
        else:
            weeks = int(life)
            lines.append("kept,gourd,%s,%s,%s" % (cut, cut + datetime.timedelta(days=7 * weeks),
                                                  cut + datetime.timedelta(days=7 * weeks + 7)))
            seen.append((weeks, weeks + 1))
    return lines, seen


def fit_life(folder):
    lines, seen = made_up_store(random.Random(8), 120)
    path = write_notebook(folder, "life.csv", ["kind,crop,date,sound,spoiled"] + lines)
    done = run("fit", path, "--out", folder)
    check("fit of lives", done.returncode == 0, done.stderr)
    low, high = numpy.array(seen).T
    for shape, make in (("weibull", lambda p: scipy.stats.weibull_min(math.exp(p[0]), 0, math.exp(p[1]))),
                        ("lognormal", lambda p: scipy.stats.lognorm(math.exp(p[1]), 0, math.exp(p[0])))):
        def loss(at, make=make):
            return -numpy.log(make(at).sf(low) - make(at).sf(high)).sum()
        start = [0.7, 3.1] if shape == "weibull" else [3.0, -0.7]
        best = scipy.optimize.minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12})
        row = fitted(folder, "gourd", "keeps_weeks", shape)
        near(shape + " 1", row["estimate_1"], math.exp(best.x[0]) if shape == "weibull" else best.x[0])
        near(shape + " 2", row["estimate_2"], math.exp(best.x[1]))
        near(shape + " log-likelihood", row["log_likelihood"], -best.fun, 1e-7)
    keeping = rows(folder, "keeping.csv")
    check("the curve begins sound", float(keeping[0]["sound"]) == 1 and float(keeping[0]["weeks"]) == 0)
    sound = [float(r["sound"]) for r in keeping]
    check("the curve falls", all(a >= b for a, b in zip(sound, sound[1:])) and sound[-1] < 0.9)


def fit_factors(folder):
    """Fruit of a poor place and a good one, as one life with the scenario's factor: as if all had lain in the good one."""
    lines, _ = made_up_store(random.Random(5), 60)
    good = [line + ",shelf" for line in lines]
    scenario = write_notebook(folder, "places.cfg", [
        'crops = { gourd = { kind = "squash"; base_c = 10.0; fruits = 3; fruit_kg = 1.0; heat_to_ripen = 600.0; keeps_weeks = 20.0; '
        'plant_out = "05-20"; cut_by = "10-10"; }; };',
        'places = ( { name = "shelf"; keeps_factor = 1.0; }, { name = "porch"; keeps_factor = 0.5; } );'])
    halved = []
    for line in lines:
        cells = line.split(",")
        cut = datetime.date.fromisoformat(cells[2])
        dates = [(datetime.date.fromisoformat(c) - cut).days if c else None for c in cells[3:5]]
        # the same lives in half the time, on dates that a notebook can hold: an even number of days
        dates = [None if d is None else cut + datetime.timedelta(days=d - d % 2) for d in dates]
        cells[3:5] = ["" if d is None else (cut + (d - cut) / 2).isoformat() for d in dates]
        halved.append(",".join(cells) + ",porch")
        good[len(halved) - 1] = ",".join(cells[:3] + ["" if d is None else d.isoformat() for d in dates]) + ",shelf"
    header = ["kind,crop,date,sound,spoiled,place"]
    a, b = os.path.join(folder, "a"), os.path.join(folder, "b")
    done = run("fit", write_notebook(folder, "good.csv", header + good), scenario, "--out", a)
    check("one life of the good place", done.returncode == 0, done.stderr)
    done = run("fit", write_notebook(folder, "half.csv", header + halved), scenario, "--out", b)
    check("one life of the poor place", done.returncode == 0, done.stderr)
    for x, y in zip([r for r in rows(a, "fit.csv") if r["cured"] == "all"], [r for r in rows(b, "fit.csv") if r["cured"] == "all"]):
        near("the same life, " + x["shape"], x["estimate_1"], float(y["estimate_1"]), 1e-5)
    done = run("fit", write_notebook(folder, "other.csv", header + [good[0].replace("shelf", "loft")]), scenario, "--out", b)
    check("an unknown place is refused with its line", done.returncode == 2 and "other.csv:2" in done.stderr, done.stderr)


def fit_used(folder):
    """What fit writes is taken by the program, laid over the scenario of the demo."""
    rng = random.Random(3)
    lines = ["unit_kg,runner_bean,%.3f,%d-10-01" % (rng.lognormvariate(-0.8, 0.3), 2010 + i) for i in range(12)]
    lines += ["fruits,buttercup_squash,%d,2015-10-01" % rng.choice((2, 3, 3, 4, 5)) for _ in range(12)]
    lines += ["fruit_kg,buttercup_squash,%s,2015-10-01" % x for x in ("1.1", "1.9")]
    path = write_notebook(folder, "own.csv", ["kind,crop,value,date"] + lines)
    done = run("fit", path, "--out", folder, "--weather", RECORD)
    check("fit of a notebook", done.returncode == 0, done.stderr)
    check("two weights are said to be few", "too few for a shape" in done.stdout, done.stdout)
    scenario = write_notebook(folder, "mine.cfg", [
        'extends = ( "%s/scenarios/base.cfg", "fit.cfg" );' % ROOT])
    done = run("check", scenario, "--configs", os.path.join(ROOT, "configs"))
    check("the fit is taken by the program", done.returncode == 0, done.stderr)
    warmth = {r["crop"]: r for r in rows(folder, "warmth.csv")}
    check("twelve years say a correlation", warmth["runner_bean"]["years"] == "12" and warmth["runner_bean"]["correlation"] != "")
    check("one year is refused", warmth["buttercup_squash"]["correlation"] == "")


def fit_prior(folder):
    """The library's figure as N pseudo-records at its quantiles (i - 1/2)/N: the mean of a Poisson fit is that of all."""
    counts = [2, 3, 5, 6, 4, 3]
    path = write_notebook(folder, "p.csv", ["kind,crop,value"] + ["fruits,gourd,%d" % x for x in counts])
    prior = write_notebook(folder, "prior.cfg", [
        'crops = { gourd = { kind = "squash"; base_c = 10.0; fruits = { shape = "counts"; values = [1, 2]; weights = [1, 1]; }; '
        'fruit_kg = 1.0; heat_to_ripen = 600.0; keeps_weeks = 20.0; }; };'])
    done = run("fit", path, "--prior", prior, "--weight", "4", "--out", folder)
    check("fit with a prior", done.returncode == 0, done.stderr)
    row = fitted(folder, "gourd", "fruits", "poisson")
    near("poisson mean of both", row["estimate_1"], (sum(counts) + 6) / 10, 1e-5)
    near("the prior's mean", row["prior_mean"], 1.5, 1e-9)
    error = numpy.std(counts, ddof=1) / math.sqrt(6)
    near("how far apart", row["apart"], (numpy.mean(counts) - 1.5) / error, 1e-6)
    done = run("fit", path, "--prior", prior, "--out", folder)
    check("a prior without weight is refused", done.returncode == 2)


DOUBT = ['random_seed = 5; trials = 40000;',
         'climate = { last_frost = "04-01"; first_hard_frost = "11-20"; tmin_c = [ %s ]; tmax_c = [ %s ]; };'
         % (", ".join(["10"] * 12), ", ".join(["25"] * 12)),
         'crops = { bean = { kind = "beans"; base_c = 8.0; plant_out = "05-01"; pick_until = "10-30"; heat_to_dry = 500.0;',
         'unit_kg = { shape = "lognormal"; mu = 0.0; sigma = 0.5; from_records = 6; }; }; };',
         'plantings = { row = { crop = "bean"; count = 1; }; };',
         'household = { eaters = ( { count = 1; } ); meals = { beans = { meals_per_week = 1; portion_kg = 0.02; }; }; };']


def doubt_carried_on(folder):
    """One unit, lognormal with sigma 0.5 from 6 records: over what the records leave open, the log of a yield has variance
    sigma^2 (1 + 1/6), and the chance of falling short of 52 weeks' 0.02 kg the spread found here by quadrature."""
    done = run("run", write_notebook(folder, "doubt.cfg", DOUBT), "--per-trial", "--out", folder)
    check("run with doubt", done.returncode == 0, done.stderr)
    logs = numpy.log([float(r["beans_kg_grown"]) for r in rows(folder, "trials.csv")])
    # 32 evenly spread readings hold a little less than the whole spread; the sampling error of 40,000 is 0.7 %
    near("variance of the log yield", logs.var(), 0.25 * (1 + 1 / 6), 0.025)
    near("mean of the log yield", 1 + logs.mean(), 1, 0.01)
    grid = (numpy.arange(400) + 0.5) / 400
    where = scipy.stats.norm.ppf(grid)[:, None] * 0.5 / math.sqrt(6)
    width = 0.5 * numpy.sqrt(scipy.stats.chi2.ppf(grid, 5) / 5)[None, :]
    chance = scipy.stats.norm.cdf((math.log(1.04) - where) / width)
    with open(os.path.join(folder, "datapackage.json"), encoding="utf-8") as file:
        told = json.load(file)["run"]
    # 32 readings know a standard deviation to an eighth
    near("spread of the chance", told["doubt_sd_of_chance_short"], chance.std(), 0.15)
    near("share of the variance", told["doubt_share_of_variance"], chance.var() / (chance.mean() * (1 - chance.mean())), 0.3)
    check("run tells the doubt", "Doubt about settings" in done.stdout)
    sharp = [line.replace("from_records = 6; ", "") for line in DOUBT]
    done = run("run", write_notebook(folder, "sharp.cfg", sharp), "--per-trial", "--out", folder)
    logs = numpy.log([float(r["beans_kg_grown"]) for r in rows(folder, "trials.csv")])
    near("variance without doubt", logs.var(), 0.25, 0.025)
    check("nothing is told of doubt there is none", "Doubt about" not in done.stdout)
    for wrong in ("from_records = 1;", "from_records = 2.5;", 'from_records = "six";'):
        bad = [line.replace("from_records = 6;", wrong) for line in DOUBT]
        done = run("check", write_notebook(folder, "bad.cfg", bad))
        check("refused: " + wrong, done.returncode == 2 and "from_records: is not a whole number" in done.stderr, done.stderr)
    bad = [line.replace("heat_to_dry = 500.0", "heat_to_dry = { p10 = 400.0; p50 = 500.0; p90 = 600.0; from_records = 5; }") for line in DOUBT]
    done = run("check", write_notebook(folder, "bad.cfg", bad))
    check("refused where it has no effect", done.returncode == 2 and "has no effect here" in done.stderr, done.stderr)


def doubt_on_the_shelf(folder):
    """What was counted lives as uncertainly as what is to be grown: from three records its losses spread further."""
    spread, scene = [], os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "scenarios", "december_count.cfg")
    for records in (0, 3):
        sets = [part for crop in ("buttercup", "grey_hubbard", "red_turban") if records
                for part in ("--set", "crops.%s_squash.keeps_weeks.from_records=%d" % (crop, records))]
        out = os.path.join(folder, "shelf%d" % records)
        done = run("run", scene, "--trials", "20000", "--out", out, "--quiet", *sets)
        check("a count with doubt runs", done.returncode == 0, done.stderr)
        figure = {r["measure"]: float(r["value"] or 0) for r in rows(out, "summary.csv") if r["food"] == "squash"}
        spread.append(figure["kg_lost_while_wanted_p90"] - figure["kg_lost_while_wanted_p10"])
    check("doubt spreads what a count loses", spread[1] > 1.1 * spread[0], str(spread))


def fit_mistakes(folder):
    for what, line, word in (("kind", "fruit,gourd,2,,,", "none of unit_kg"), ("number", "fruits,gourd,two,,,", "is no number"),
                             ("half a fruit", "fruits,gourd,2.5,,,", "whole number"), ("weight 0", "fruit_kg,gourd,0,,,", "above 0"),
                             ("crop", "fruits,a gourd,2,,,", "crop's name"), ("date", "fruits,gourd,2,2020-02-30,,", "is no date"),
                             ("no dates", "kept,gourd,,,,", "wants the date"),
                             ("order", "kept,gourd,,2020-10-01,2020-12-02,2020-12-01", "do not follow"),
                             ("day of cutting", "kept,gourd,,2020-10-01,,2020-10-01", "do not follow"),
                             ("comma", "fruit_kg,gourd,1,5,2020-10-01,,", "more cells")):
        path = write_notebook(folder, "bad.csv", ["kind,crop,value,date,sound,spoiled", "fruits,gourd,3,,,", line])
        done = run("fit", path, "--out", os.path.join(folder, "none"))
        check("refused: " + what, done.returncode == 2 and "bad.csv:3" in done.stderr and word in done.stderr, done.stderr)
    path = write_notebook(folder, "bad.csv", ["kind,crop,weight", "fruits,gourd,3"])
    done = run("fit", path, "--out", os.path.join(folder, "none"))
    check("refused: column", done.returncode == 2 and '"weight" is not known' in done.stderr, done.stderr)
    check("nothing was written", not os.path.exists(os.path.join(folder, "none", "fit.csv")))


def main():
    with tempfile.TemporaryDirectory() as folder:
        own = season_figures(folder)
        season_chances(folder, own)
        season_fahrenheit(folder)
        for test in (fit_weights, fit_counts, fit_life, fit_factors, fit_used, fit_prior, doubt_carried_on, doubt_on_the_shelf,
                     fit_mistakes):
            test(folder)
        os.mkdir(os.path.join(folder, "climate"))
        fit_climate.all_tests(types.SimpleNamespace(check=check, near=near, run=run, rows=rows, write_notebook=write_notebook, ROOT=ROOT,
                                                    RECORD=RECORD, own_seasons=own_seasons, read_record=read_record),
                              os.path.join(folder, "climate"))
    return end()


if __name__ == "__main__":
    sys.exit(main())
