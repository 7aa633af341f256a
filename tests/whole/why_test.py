#!/usr/bin/python3
"""What decides, checked through the whole program: the indices of sums, whose shares of the variance are known.

    why_test.py PROGRAM
"""
import csv
import math
import os
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

from scipy import stats  # noqa: E402

import scenes            # noqa: E402
from counted import check, end  # noqa: E402

REFERENCE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "reference", "scenarios")


def ask(program, folder, scenario, *options, code=0):
    """Rows of why.csv by group and outcome, and what is printed."""
    path = scenario if isinstance(scenario, str) else scenes.write(scenario, os.path.join(folder, "why.cfg"))
    out = os.path.join(folder, "out")
    done = subprocess.run([program, "why", path, "--out", out, *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    check("why ends with %d" % code, done.returncode == code, done.stderr)
    if code != 0:
        return {}, done.stderr
    with open(os.path.join(out, "why.csv"), newline="", encoding="utf-8") as f:
        return {(r["group"], r["outcome"]): r for r in csv.DictReader(f)}, done.stdout


def near(rows, group, which, wanted):
    """An index within three times its half-interval (95 %) of what it should be: one false alarm in 10^8."""
    r = rows[group, "meals_short"]
    value, low, high = (float(r[which + end]) for end in ("_order" if which == "first" else "", "_low", "_high"))
    check("%s of %s" % (which, group), abs(value - wanted) <= 1.5 * (high - low) + 1e-9 and high - low < 0.1,
          "%.4f (%.4f to %.4f), should be %.4f" % (value, low, high, wanted))


def two_beans(kg, portion_kg, **changes):
    """Two plantings of independent gamma seed, all of it eaten."""
    scene = scenes.beans({"unit_kg": {"shape": "gamma", "mean": kg[0][0], "sd": kg[0][1]}},
                         crops__other=dict(scenes.BEANS, unit_kg={"shape": "gamma", "mean": kg[1][0], "sd": kg[1][1]}),
                         plantings__second={"crop": "other", "count": 1}, household__meals__beans__portion_kg=portion_kg)
    return scenes.changed(scene, **changes)


def shares_of_a_sum(program, folder):
    """Always short, so that the meals short are linear in a sum of independent terms: each group's first-order and total index is its
    share of the variance (Sobol 1993: additive functions)."""
    rows, said = ask(program, folder, two_beans(((1.0, 0.3), (1.0, 0.1)), 0.2), "--trials", "20000")
    for group, share in (("yield of row", 0.9), ("yield of second", 0.1), ("weather", 0.0), ("sorting of row", 0.0)):
        near(rows, group, "first", share)
        near(rows, group, "total", share)
    check("a certain outcome has no shares", rows["yield of row", "short"]["total"] == ""
          and rows["yield of row", "short"]["note"] == "nothing varies")
    check("always short, in the worst tenth and the best", all(float(rows["yield of row", "short"]["chance_%s_tenth" % t]) == 1 for t in ("worst", "best")))
    check("the answer tells the greatest first", 0 < said.find("yield of row") < said.find("yield of second"), said)
    check("the greatest share is told in words", 85 < float(said.split("yield of row")[1].split("%")[0]) < 95, said)


def tenths(program, folder):
    """One planting, short in three years of ten: never in its best tenth, always in its worst."""
    gamma = stats.gamma(9.0, scale=1 / 9.0)
    want = gamma.ppf(0.3) + 1.0         # the second planting is certain
    scene = two_beans(((1.0, 1 / 3.0), (1.0, 0.2)), want / 52, crops__other__unit_kg=1.0)
    rows, _ = ask(program, folder, scene, "--trials", "20000", "--quiet")
    r = rows["yield of row", "short"]
    check("the yield's worst tenth is short", float(r["chance_worst_tenth"]) == 1, r["chance_worst_tenth"])
    check("its best tenth is not", float(r["chance_best_tenth"]) == 0, r["chance_best_tenth"])
    check("all of being short is its doing", abs(float(r["total"]) - 1) <= 0.03, r["total"])
    for which in ("worst", "best"):       # a tenth picked by luck that has no part in it: 2,000 of the 20,000
        share = float(rows["weather", "short"]["chance_%s_tenth" % which])
        check("the weather's %s tenth is like any other" % which, abs(share - 0.3) < 4.5 * math.sqrt(0.21 / 2000), "%g" % share)
    again, _ = ask(program, folder, scene, "--trials", "20000", "--quiet", "--threads", "7")
    check("threads do not matter", again == rows)


def years_of_a_crop(program, folder):
    """Two plantings of one crop share its years: of a product of independent factors A and (B + C), b and c of the first kind
    (Sobol 1993): V = E[A^2] E[S^2] - E[A]^2 E[S]^2, first of A: var(A) E[S]^2 / V, its total: 1 - E[A]^2 var(S) / V."""
    scene = scenes.beans({"unit_kg": {"shape": "gamma", "mean": 1.0, "sd": 0.4}, "year_factor": {"shape": "gamma", "mean": 1.0, "sd": 0.3}},
                         plantings__second={"crop": "bean", "count": 1}, household__meals__beans__portion_kg=0.5)
    rows, _ = ask(program, folder, scene, "--trials", "20000", "--quiet")
    a2, s2 = 1 + 0.3 ** 2, 4 + 2 * 0.4 ** 2
    whole = a2 * s2 - 4
    near(rows, "the year's yield of bean", "first", 0.3 ** 2 * 4 / whole)
    near(rows, "the year's yield of bean", "total", 1 - 2 * 0.4 ** 2 / whole)
    near(rows, "yield of row", "first", 0.4 ** 2 / whole)
    near(rows, "yield of row", "total", a2 * 0.4 ** 2 / whole)


def every_group(program, folder):
    """A scenario with a shelf, jars that fail and guests has a group for each; indices stay within what they can be."""
    rows, said = ask(program, folder, os.path.join(REFERENCE, "11_counted_in_spring.cfg"), "--trials", "2000", "--food-year", "2",
                     "--set", "household.guests={chance=0.3;portions=2.0;}", "--set", "store.jar_keeps_weeks={shape=\"exponential\";mean=90.0;}")
    groups = {g for g, _ in rows}
    for wanted in ("weather", "jars that fail", "guests", "keeping of what is on the shelf"):
        check("there is the group " + wanted, wanted in groups, str(sorted(groups)))
    for kind in ("yield of ", "the year's yield of ", "ripening of ", "keeping of ", "sorting of "):
        check("there is a group " + kind, any(g.startswith(kind) for g in groups), str(sorted(groups)))
    for (group, outcome), r in rows.items():
        check("%s: the total of %s is none below 0" % (group, outcome), float(r["total"]) >= 0, r["total"])
        check("%s: tenths are chances" % group, 0 <= float(r["chance_best_tenth"]) <= 1 and 0 <= float(r["chance_worst_tenth"]) <= 1)
    guests = rows["guests", "meals_short"]
    check("more guests, more want", float(guests["chance_worst_tenth"]) > float(guests["chance_best_tenth"]), str(guests))
    check("the answer has every group", all(g in said for g in groups), said)


def refused(program, folder):
    scene = two_beans(((1.0, 0.3), (1.0, 0.1)), 0.2)
    path = scenes.write(scene, os.path.join(folder, "why.cfg"))
    check("a food year beyond", "there are only 1" in ask(program, folder, path, "--food-year", "2", code=2)[1])
    check("two scenarios", "wants one scenario" in ask(program, folder, path, path, code=2)[1])
    rows, said = ask(program, folder, two_beans(((1.0, 0.3), (1.0, 0.1)), 0.2, crops__bean__unit_kg=1.0, crops__other__unit_kg=1.0), "--trials", "9")
    check("where nothing varies it says so", "Nothing varies" in said and all(r["total"] == "" for r in rows.values()), said)
    rows, said = ask(program, folder, scene, "--trials", "1")
    check("one trial is told as one", "(1 trial," in said, said)


def main():
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        for part in (shares_of_a_sum, tenths, years_of_a_crop, every_group, refused):
            part(program, folder)
    return end()


if __name__ == "__main__":
    sys.exit(main())
