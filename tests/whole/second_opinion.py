#!/usr/bin/python3
"""Compares the program with the independent implementation under tests/reference, measure by measure.

    second_opinion.py PROGRAM [--trials N] [--seed S] [--fresh N] [SCENARIO.cfg ...]

Without --fresh the figures kept in tests/reference/figures are compared; with --fresh N the independent program is run anew
with N trials on seed S. The whole comparison gives a false alarm with a chance of at most LEVEL: each check is made at
LEVEL divided by the number of checks (Bonferroni).
"""
import argparse
import csv
import glob
import math
import os
import subprocess
import sys
import tempfile

from scipy import stats

HERE = os.path.dirname(os.path.abspath(__file__))
REFERENCE = os.path.join(HERE, "..", "reference")
LEVEL = 1e-3           # of the figures kept, whose seed is fixed; of a run on a fresh seed FRESH_LEVEL
FRESH_LEVEL = 1e-4
CELL = 0.0081          # relative width of a quantile's cell in large runs
EXTRA = ("kg_opening", "kcal_served_p", "protein_g_served_p", "kcal_share_p", "protein_share_p")  # theirs only
WHOLE = ("short_weeks_p", "jars_peak_p", "fruits_peak_p", "first_short_p", "count_p50")


def number(text):
    return None if text == "" else float(text)


def read(path):
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def first_weeks(rows):
    """Absolute week of a date: weeks.csv says which."""
    return {r["date"]: int(r["week"]) for r in rows}


def ours(folder):
    weeks = read(os.path.join(folder, "weeks.csv"))
    at = first_weeks(weeks)
    summary = {}
    for r in read(os.path.join(folder, "summary.csv")):
        year = r["food_year"] if r["food_year"] == "all" else str(int(r["food_year"]) - 1)
        value = number(r["value"])
        if r["measure"].startswith("first_short_p"):
            value = at[r["date"]] if r["date"] else None
        summary[year, r["food"], r["measure"]] = (value, number(r["std_error"]) or 0.0, int(r["trials"]))
    return summary, {(r["week"], r["food"]): r for r in weeks}


class Comparison:
    def __init__(self, fresh):
        self.fresh = fresh                     # a run anew, of few trials
        self.checks = []                       # (name, p-value or None, difference within tolerance, text)

    def add(self, name, p, text):
        self.checks.append((name, p, text))

    def chance(self, name, a, n, b, m):
        ka, kb = round(a * n), round(b * m)
        if ka + kb < 50 or (n - ka) + (m - kb) < 50:
            p = stats.fisher_exact([[ka, n - ka], [kb, m - kb]])[1]
        else:
            pooled = (ka + kb) / (n + m)
            z = (a - b) / math.sqrt(pooled * (1 - pooled) * (1 / n + 1 / m))
            p = 2 * stats.norm.sf(abs(z))
        self.add(name, p, "%.6g against %.6g" % (a, b))

    def mean(self, name, a, sa, n, b, sb, m):
        """Where rare events are all the spread, the smaller run may have seen none: its error is then judged by ours, and a mean
        whose error there is over a tenth of it is left to the figures kept."""
        slack = (1e-3 if self.fresh else 1e-5) * max(abs(a), abs(b)) + 2e-6
        sb = max(sb, sa * math.sqrt(n / m))
        if self.fresh and sb > 0.1 * abs(a):
            return
        if sa + sb == 0:
            p = 1.0 if abs(a - b) <= slack else 0.0
        else:
            p = 2 * stats.norm.sf(max(0.0, abs(a - b) - slack) / math.hypot(sa, sb))
        self.add(name, p, "%.8g (%.2g) against %.8g (%.2g)" % (a, sa, b, sb))

    def quantile(self, name, a, b, sb, whole):
        """Not of a run anew: beside an atom or a gap a few thousand trials' order statistics do not tell their own error."""
        if self.fresh:
            return
        if a is None or b is None:             # never, on one side only: the quantile may sit on the edge
            if (a is None) != (b is None) and sb is not None:
                self.add(name, 0.0, "%s against %s" % (a, b))
            return
        if sb is None:
            return
        slack = CELL * max(abs(a), abs(b)) + 1e-3 + (1.0 if whole else 0.0)
        over = max(0.0, abs(a - b) - slack)
        p = 1.0 if over == 0 else 0.0 if sb == 0 else 2 * stats.norm.sf(over / (1.05 * sb))
        self.add(name, p, "%.6g against %.6g (%.2g)" % (a, b, sb))


def compare_summary(name, mine, figures, into):
    missing = 0
    for r in figures:
        key = (r["food_year"], r["food"], r["measure"])
        if key not in mine:
            only_year = key[0] == "all" and not any(k[0] == "1" for k in mine)
            missing += not only_year and not r["measure"].startswith(EXTRA)
            continue
        (a, sa, n), b, sb = mine[key], number(r["value"]), number(r["std_error"])
        label = "%s year %s %s %s" % (name, key[0], key[1], key[2])
        if "chance" in key[2] or key[2] == "never_short":
            into.chance(label, a, n, b, int(r["trials"]))
        elif "_p" in key[2] and key[2].rsplit("_p", 1)[1].isdigit():
            into.quantile(label, a, b, sb, key[2].startswith(WHOLE))
        else:
            into.mean(label, a, sa, n, b, sb or 0.0, int(r["trials"]))
    return missing


def compare_weeks(name, mine, figures, into):
    for r in figures:
        row = mine.get((r["week"], r["food"]))
        trials = int(r["trials"])
        if row is None:
            into.add("%s week %s %s" % (name, r["week"], r["food"]), 1.0 if trials < 12 else 0.0, "no such row, %d trials" % trials)
            continue
        n = int(row["trials"])
        for column in ("chance_short", "chance_short_by_now"):
            into.chance("%s week %s %s %s" % (name, r["week"], r["food"], column), float(row[column]), n,
                        float(r[column]), trials)


def run_ours(program, scenario, trials, seed, folder):
    subprocess.run([program, "run", scenario, "--out", folder, "--trials", str(trials), "--random-seed", str(seed), "--quiet"],
                   check=True, stderr=subprocess.PIPE)


def run_theirs(scenario, trials, seed, folder):
    out = os.path.join(folder, "figures.csv")
    subprocess.run(["/usr/bin/python3", os.path.join(REFERENCE, "model.py"), scenario, "--trials", str(trials), "--seed",
                    str(seed), "--processes", "2", "--out", out], check=True, stdout=subprocess.DEVNULL)
    return out


def one(program, scenario, options, into):
    name = os.path.splitext(os.path.basename(scenario))[0]
    with tempfile.TemporaryDirectory() as folder:
        run_ours(program, scenario, options.trials, options.seed, folder)
        summary, weeks = ours(folder)
        if options.fresh:
            path = run_theirs(scenario, options.fresh, options.seed, folder)
        else:
            path = os.path.join(REFERENCE, "figures", name + ".csv")
        missing = compare_summary(name, summary, read(path), into)
        compare_weeks(name, weeks, read(path[:-4] + "_weeks.csv"), into)
    if missing:
        into.add(name, 0.0, "%d measures are missing from summary.csv" % missing)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("program")
    options.add_argument("scenarios", nargs="*")
    options.add_argument("--trials", type=int, default=200000)
    options.add_argument("--seed", type=int, default=20)
    options.add_argument("--fresh", type=int, default=0)
    options.add_argument("--show", type=int, default=12)
    options = options.parse_args()
    scenarios = options.scenarios or sorted(glob.glob(os.path.join(REFERENCE, "scenarios", "[0-9]*.cfg")))
    into = Comparison(options.fresh > 0)
    for scenario in scenarios:
        one(options.program, scenario, options, into)
    checks = into.checks
    if len(checks) < 50 * len(scenarios):
        sys.exit("second opinion: only %d figures were compared" % len(checks))
    level = (FRESH_LEVEL if options.fresh else LEVEL) / len(checks)
    bad = sorted((c for c in checks if c[1] < level), key=lambda c: c[1])
    for name, p, text in bad[:options.show]:
        print("DIFFERS  %-60s %s  (p = %.2g)" % (name, text, p))
    print("second opinion: %d scenarios, %d figures compared at level %.1e each, least p %.2g (seed %d)"
          % (len(scenarios), len(checks), level, min(c[1] for c in checks), options.seed))
    print("%d passed, %d failed" % (len(checks) - len(bad), len(bad)))
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
