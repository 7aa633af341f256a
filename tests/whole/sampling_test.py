#!/usr/bin/python3
"""Trials that share words out (the setting sampling): the same figures as independent trials to within both errors, the same bytes for any
number of threads and in stages, a table of what is gained, the diary's trial is the run's, and clear refusals.

    sampling_test.py PROGRAM
"""
import csv
import math
import os
import subprocess
import sys
import tempfile

from counted import check, end

ROOT = os.path.normpath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
REFERENCE = os.path.join(ROOT, "tests", "reference", "scenarios")
BASE = [os.path.join(ROOT, "scenarios", "base.cfg"), "--configs", os.path.join(ROOT, "configs")]
# between them: side by side and one by one, food years, recorded weather, known weather, every shape, wind and frost
SCENES = {"base": (BASE, 100000), "copula": ([os.path.join(REFERENCE, "03_copula_triplets.cfg")], 50000),
          "recorded weather": ([os.path.join(REFERENCE, "04_records_weather.cfg")], 50000),
          "three years": ([os.path.join(REFERENCE, "06_own_seed_three_years.cfg")], 50000),
          "wind and frost": ([os.path.join(REFERENCE, "15_wind_and_frost.cfg")], 50000),
          "every shape": ([os.path.join(REFERENCE, "16_every_shape.cfg")], 50000)}
LEVEL_Z = 5.2           # some thousand figures that hang together: P(|Z| > 5.2) is 2e-7
PROGRAM = sys.argv[1]


def go(*arguments):
    return subprocess.run([PROGRAM, *map(str, arguments)], text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=300)


def content(path):
    with open(path, "rb") as f:
        return f.read()


def rows(path):
    with open(path, newline="") as f:
        return list(csv.DictReader(f))


def run(folder, name, scene, sampling, trials, *options):
    out = os.path.join(folder, name)
    done = go("run", *scene, "--set", "sampling=" + sampling, "--trials", trials, "--out", out, *options)
    check("%s, %s: it runs" % (name, sampling), done.returncode == 0, done.stderr)
    return out, done.stdout


def means(out):
    """Means and chances with their standard errors, by year, food and measure."""
    return {(r["food_year"], r["food"], r["measure"]): (float(r["value"]), float(r["std_error"]))
            for r in rows(os.path.join(out, "summary.csv")) if r["std_error"]}


def same_figures(folder):
    """Every mean and chance, sampled either way; another random seed, so that nothing is shared. The standard errors of replicates are
    themselves known to a fifth only, so the greater of both errors stands in for each."""
    compared = 0
    for name, (scene, trials) in SCENES.items():
        free, _ = run(folder, name + " free", scene, "independent", trials, "--quiet")
        expected = means(free)
        for sampling in ("sobol", "antithetic"):
            out, _ = run(folder, name + " " + sampling, scene, sampling, trials, "--quiet", "--random-seed", 77)
            found = means(out)
            check("%s, %s: figures" % (name, sampling), found.keys() == expected.keys() and len(found) > 30, str(len(found)))
            for key, (value, error) in found.items():
                other, other_error = expected[key]
                both = math.sqrt(2) * max(error, other_error)
                check("%s, %s: %s" % (name, sampling, " ".join(key)), abs(value - other) <= LEVEL_Z * both + 1e-9,
                      "%g, independent %g, error %g" % (value, other, both))
                compared += error > 0
    check("figures with an error", compared > 400, str(compared))


def same_bytes(folder):
    """Threads, and a run that stops for its state (parts_test.py has the parts)."""
    for sampling in ("sobol", "antithetic"):
        one, told = run(folder, "one", BASE, sampling, 30011, "--threads", 1)
        many, told_many = run(folder, "many", BASE, sampling, 30011, "--threads", 5)
        state, _ = run(folder, "state", BASE, sampling, 30011, "--threads", 2, "--state", os.path.join(folder, "state.file"))
        for name in ("summary.csv", "weeks.csv", "sampling.csv", "effective.cfg", "datapackage.json"):
            for other in (many, state):
                check("%s: %s" % (sampling, name), content(os.path.join(one, name)) == content(os.path.join(other, name)), other)
        check(sampling + ": what is said", told.replace(one, "") == told_many.replace(many, "") and "Sampling (" in told, told)


def gains(folder):
    """The table: a row for each chance and mean, gain and bound in their intervals; the numbers printed are its own."""
    out, told = run(folder, "gains", BASE, "sobol", 100000)
    table = rows(os.path.join(out, "sampling.csv"))
    check("rows of sampling.csv", [(r["food"], r["measure"]) for r in table] ==
          [(food, measure) for measure in ("chance_short", "meals_short") for food in ("beans", "squash", "any")], str(table))
    errors, free = means(out), means(run(folder, "gains free", BASE, "independent", 100000, "--quiet")[0])
    for r in table:
        gain, bound = float(r["gain"]), float(r["bound"])
        key = ("1", r["food"], r["measure"])
        check("gain of %s %s" % key[1:], float(r["gain_low"]) < gain < float(r["gain_high"]) and gain > 1.2, str(r))
        # the same trials' variance, had they been independent, is that of independent ones to a few per cent
        check("gain of %s %s against independent trials" % key[1:], abs(gain / (free[key][1] / errors[key][1]) ** 2 - 1) < 0.06, str(r))
        check("bound of %s %s" % key[1:], 2 < float(r["bound_low"]) < bound < float(r["bound_high"]) < 30, str(r))
        check("share of %s %s" % key[1:], abs(float(r["share_of_bound"]) * bound / gain - 1) < 1e-6, str(r))
    said = [r for r in table if r["food"] == "any"]
    for r in said:
        text = "%.1f times as many independent trials (%.1f to %.1f); at the most %.1f" % tuple(
            float(r[k]) for k in ("gain", "gain_low", "gain_high", "bound"))
        check("what is said of " + r["measure"], text in told, told)
    again, _ = run(folder, "other seed", BASE, "sobol", 1000, "--random-seed", 9, "--quiet")
    check("the bound hangs on no random seed", [r["bound"] for r in rows(os.path.join(again, "sampling.csv"))] ==
          [r["bound"] for r in table])
    check("no table of it for independent trials", not os.path.exists(os.path.join(folder, "gains free", "sampling.csv")))


def diary(folder):
    """The diary's trial is the run's."""
    for sampling in ("sobol", "antithetic"):
        out, _ = run(folder, "rows", BASE, sampling, 40, "--per-trial", "--quiet")
        trial = rows(os.path.join(out, "trials.csv"))[23]
        told = go("diary", *BASE, "--set", "sampling=" + sampling, "--trial", 23).stdout
        free = go("diary", *BASE, "--trial", 23).stdout
        check(sampling + ": the diary's kilograms", "%.2f" % float(trial["squash_kg_eaten"]) in told, told[-900:])
        check(sampling + ": another trial than the independent one", told != free and len(told) > 500)


def refusals(folder):
    out = os.path.join(folder, "refused")
    cases = [(("run", *BASE, "--trials", 31, "--out", out), "at least 32 trials"),
             (("run", *BASE, "--precision", 0.01, "--out", out), "--precision"),
             (("compare", *BASE, "--versus", "plantings.hubbards.count+=1", "--out", out), "--set sampling=independent"),
             (("vary", *BASE, "--over", "plantings.hubbards.count=1..2", "--out", out), "--set sampling=independent"),
             (("size", *BASE, "--over", "plantings.hubbards.count=1..2", "--risk", 0.1, "--out", out), "--set sampling=independent"),
             (("why", *BASE, "--out", out), "--set sampling=independent")]
    for arguments, text in cases:
        done = go(*arguments, "--set", "sampling=sobol")
        check("%s is refused" % arguments[0], done.returncode == 2 and text in done.stderr and not os.path.exists(out), done.stderr)
        if arguments[0] != "run":
            continue
        done = go(*arguments, "--quiet", "--most-trials", 2000)
        check("an independent %s is not" % arguments[0], done.returncode == 0, done.stderr)
        subprocess.run(["rm", "-r", out], check=True)
    done = go("run", *BASE, "--set", "sampling=latin", "--out", out)
    check("another word", done.returncode == 2 and "independent|sobol|antithetic" in done.stderr, done.stderr)


def main():
    with tempfile.TemporaryDirectory() as folder:
        same_figures(folder)
        same_bytes(folder)
        gains(folder)
        diary(folder)
        refusals(folder)
    sys.exit(end(700))


main()
