#!/usr/bin/python3
"""Deciding, checked through the whole program: compare, vary and size against closed forms.

    decide_test.py PROGRAM
"""
import csv
import math
import os
import subprocess
import sys
import tempfile

from scipy import stats

import scenes
from counted import check, end
from scenes import beans, write

K, THETA = 4.0, 0.08                       # a unit's seed: gamma, mean 0.32 kg
WANT_KG = 1.0                              # in all: 20 weeks at 0.05 kg
WINDOW = {"meals_per_week": 1.0, "portion_kg": 0.05, "from": "10-04", "until": "02-20"}


def call(program, *arguments):
    return subprocess.run([program, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def rows(folder, name):
    with open(os.path.join(folder, name), newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def wanted_weeks():
    return sum(scenes.in_window(w, WINDOW["from"], WINDOW["until"]) for w in range(52))


def chance_of(units):
    """n units' seed is gamma with n times the shape (closed form): short when it is under the total want."""
    return stats.gamma.cdf(wanted_weeks() * 0.05, units * K, scale=THETA)


def garden(count):
    return beans({"unit_kg": {"shape": "gamma", "k": K, "theta": THETA}}, {"count": count}, household__meals__beans=WINDOW)


def test_vary(program, folder, path):
    out = os.path.join(folder, "vary")
    done = call(program, "vary", path, "--over", "plantings.row.count=1..8", "--trials", "200000", "--out", out, "--quiet")
    check("vary runs", done.returncode == 0, done.stderr)
    of = {r["rung"]: r for r in rows(out, "vary.csv") if r["measure"] == "chance_short" and r["food"] == "beans"}
    check("vary has every rung", sorted(of, key=int) == [str(n) for n in range(1, 9)])
    for n in range(1, 9):
        r, p = of[str(n)], chance_of(n)
        z = (float(r["value"]) - p) / math.sqrt(p * (1 - p) / 200000)
        check("vary: chance of %d units is the gamma distribution function" % n, abs(z) < 4.5, "z = %.1f" % z)
        if n > 1:
            gain = p - chance_of(n - 1)
            z = (float(r["gain"]) - gain) / max(float(r["gain_std_error"]), 1e-6)
            check("vary: gain of unit %d is the closed form's" % n, abs(z) < 4.5, "z = %.1f" % z)
            check("vary: gain is the difference of the values", abs(float(r["gain"]) - float(r["value"])
                  + float(of[str(n - 1)]["value"])) < 1e-9)


def test_compare(program, folder, path):
    out = os.path.join(folder, "compare")
    done = call(program, "compare", path, path, "--versus", "plantings.row.count+=1", "--trials", "100000", "--out", out)
    check("compare runs", done.returncode == 0, done.stderr)
    table = rows(out, "compare.csv")
    same = [r for r in table if r["other"] == os.path.basename(path)]
    check("a scenario against itself differs by exactly nothing", same and all(
        float(r["difference"]) == 0 and float(r["std_error"]) == 0 and r["verdict"] == "the same in every trial" for r in same))
    apart = os.path.join(folder, "apart")           # one of them is run side by side, the other trial by trial
    call(program, "compare", path, "--versus", "household.squash_stands_in=true", "--trials", "20000", "--out", apart)
    check("what a setting does not touch is the same in every trial", all(
        r["verdict"] == "the same in every trial" for r in rows(apart, "compare.csv")
        if r["measure"] in ("kg_grown", "kg_field_loss", "kg_in", "kg_seed")))
    more = [r for r in table if r["other"].startswith("plantings")]
    for r in more:
        if r["measure"] in ("chance_short", "short_weeks", "meals_short") and r["food"] == "beans":
            check("one more unit never makes a trial worse (%s)" % r["measure"], r["turned_up"] == "0", r["turned_up"])
    r = next(r for r in more if r["measure"] == "chance_short" and r["food"] == "beans")
    truth = chance_of(4) - chance_of(3)
    z = (float(r["difference"]) - truth) / float(r["std_error"])
    check("one more unit: the paired difference is the closed form's", abs(z) < 4.5, "z = %.1f" % z)
    check("one more unit is better", r["verdict"] == "better", r["verdict"])
    check("shared luck correlates", float(r["correlation"]) > 0.2 and float(r["variance_ratio"]) > 1.2)
    check("what differs is said", "plantings.row.count: 3 -> 4" in done.stdout, done.stdout)


def test_until_clear(program, folder, path):
    out = os.path.join(folder, "clear")
    done = call(program, "compare", path, "--versus", "plantings.row.count=3.05", "--until-clear", "--worth", "0.001",
                "--food", "beans", "--trials", "2000", "--out", out)
    r = next(r for r in rows(out, "compare.csv") if r["measure"] == "chance_short" and r["food"] == "beans")
    check("until-clear ends with a verdict", done.returncode == 0 and r["verdict"] == "better", r["verdict"])
    done = call(program, "compare", path, "--versus", "plantings.row.count=3.02", "--until-clear", "--worth", "0.5",
                "--measure", "meals_short", "--food", "beans", "--trials", "2000", "--out", out)
    r = next(r for r in rows(out, "compare.csv") if r["measure"] == "meals_short" and r["food"] == "beans")
    check("until-clear on a mean within worth", done.returncode == 0 and r["verdict"] == "no difference worth telling", r["verdict"])
    done = call(program, "compare", path, "--versus", "plantings.row.count=3.0001", "--until-clear", "--worth", "0",
                "--food", "beans", "--trials", "1000", "--most-trials", "4000", "--out", out)
    check("until-clear says when the cap ended it", done.returncode == 0 and "most trials allowed" in done.stdout, done.stdout)


def test_size(program, folder, path):
    """The newsvendor's quantile: the fewest units whose gamma sum falls under the want with chance at most the risk."""
    for risk in (0.3, 0.1, 0.03):
        out = os.path.join(folder, "size")
        done = call(program, "size", path, "--by", "plantings.row.count=1..14", "--risk", str(risk), "--food", "beans",
                    "--trials", "40000", "--out", out)
        truth = next(n for n in range(1, 30) if chance_of(n) <= risk)
        check("size at risk %g is the newsvendor quantile" % risk, "Enough: plantings.row.count=%d\n" % truth in done.stdout,
              "%d; %s" % (truth, done.stdout[:200]))
        for r in rows(out, "rungs.csv"):
            p = chance_of(int(r["settings"].split("=")[1]))
            check("size: bounds hold the closed form", float(r["low"]) - 1e-12 <= p <= float(r["high"]) + 1e-12, str(r))
        risks = {float(r["risk"]): r for r in rows(out, "size.csv")}
        check("size: a lower risk costs no less", all(
            float(risks[a]["cost"] or 99) <= float(risks[b]["cost"] or 99) for a, b in zip(sorted(risks)[1:], sorted(risks))))
    done = call(program, "size", path, "--by", "plantings.row.count=1..2", "--risk", "0.01", "--trials", "4000", "--out", out)
    check("size: no setting reaches the risk", done.returncode == 0 and "No setting on this grid" in done.stdout, done.stdout)
    done = call(program, "size", path, "--by", "plantings.row.count=10..12", "--risk", "0.5", "--trials", "4000", "--out", out)
    check("size: all do", "Even the smallest" in done.stdout, done.stdout)


def test_published_newsvendor(program, folder):
    """Cost 10, price 15, salvage 3, demand N(10000, 2000): ratio 5/12, quantity 9579.1432 (a case of Brandimarte's text).
    Here the harvest is the normal and the want the quantity: short with chance 5/12. In units of 10,000."""
    scene = beans({"unit_kg": {"shape": "normal", "mean": 1.0, "sd": 0.2}},
                  household__meals__beans={"meals_per_week": 1.0, "portion_kg": 0.95791432, "from": "11-01", "until": "11-07"})
    result = scenes.run(program, scene, folder, "vendor", 400000)
    z = (result.value("beans", "chance_short") - 5 / 12) / math.sqrt(5 / 12 * 7 / 12 / 400000)
    check("published newsvendor quantile gives its ratio", abs(z) < 4.5, "z = %.1f" % z)


def test_two_settings(program, folder):
    scene = beans({"unit_kg": {"shape": "gamma", "k": K, "theta": THETA}, "bed_m2": 2.0}, household__meals__beans=WINDOW,
                  crops__other=dict(scenes.BEANS, unit_kg={"shape": "gamma", "k": 2.0, "theta": 0.08}, bed_m2=1.1),
                  plantings__more={"crop": "other", "count": 1})
    path, out = write(scene, os.path.join(folder, "two.cfg")), os.path.join(folder, "two")
    done = call(program, "size", path, "--by", "plantings.row.count=0..5", "--by", "plantings.more.count=0..8", "--risk", "0.1",
                "--cost", "bed_m2", "--food", "beans", "--trials", "40000", "--out", out)
    check("size by two settings runs", done.returncode == 0, done.stderr)
    best = min((2.0 * a + 1.1 * b, a, b) for a in range(6) for b in range(9)
               if a + b > 0 and stats.gamma.cdf(wanted_weeks() * 0.05, a * K + 2 * b, scale=THETA) <= 0.1)
    found = next(r for r in rows(out, "size.csv") if float(r["risk"]) == 0.1)
    check("cheapest of two settings is the exact one", abs(float(found["cost"]) - best[0]) < 1e-9, "%s; %s" % (best, found))


def test_bad(program, folder, path):
    other = os.path.join(folder, "other.cfg")
    for changes in ({"random_seed": 9}, {"year_starts": "03-05"}, {"food_years": 2}):
        with open(other, "w", encoding="utf-8") as f:
            f.write('extends = "%s";\n' % os.path.basename(path) + "".join(
                "%s = %s;\n" % (k, scenes.text_of(v)) for k, v in changes.items()))
        done = call(program, "compare", path, other, "--out", os.path.join(folder, "bad"))
        check("compare refuses another %s" % list(changes)[0], done.returncode == 2 and list(changes)[0] in done.stderr, done.stderr)
    for arguments in (["vary", path, "--over", "plantings.rows.count=1..3"], ["vary", path, "--over", "plantings.row.count=5..1"],
                      ["vary", path, "--over", "plantings.row.count="], ["vary", path], ["compare", path],
                      ["vary", path, "--over", "plantings.row.count=1,1"],
                      ["vary", path, "--over", "plantings.row.count=1..2", "--over", "plantings.row.count=1..2"],
                      ["size", path, "--by", "plantings.row.count=1..3"], ["size", path, "--by", "x=1", "--risk", "2"],
                      ["size", path, "--by", "plantings.row.count=1..3", "--risk", "0.1", "--cost", "bed_m2"],
                      ["vary", path, "--over", "plantings.row.count=1..3", "--measure", "no_such"],
                      ["compare", path, "--versus", "plantings.row.colour=1"], ["compare", path, path, "--food", "peas"]):
        done = call(program, *arguments, "--out", os.path.join(folder, "bad"))
        check("exit 2: %s" % " ".join(arguments), done.returncode == 2 and done.stderr.strip() != "", done.stderr)
    check("nothing was written for wrong requests", not os.path.exists(os.path.join(folder, "bad", "vary.csv")))


def main():
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        path = write(garden(3), os.path.join(folder, "garden.cfg"))
        test_vary(program, folder, path)
        test_compare(program, folder, path)
        test_until_clear(program, folder, path)
        test_size(program, folder, path)
        test_published_newsvendor(program, folder)
        test_two_settings(program, folder)
        test_bad(program, folder, path)
    return end()


if __name__ == "__main__":
    sys.exit(main())
