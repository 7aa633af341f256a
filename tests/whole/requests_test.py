#!/usr/bin/python3
"""Requests: what every option and command refuses, with which words; and the small commands' answers.

    requests_test.py PROGRAM
"""
import csv
import os
import shutil
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import scenes   # noqa: E402
from counted import check, end  # noqa: E402

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
GOOD, REFERENCE = "tests/unit/scenario/data/good.cfg", "tests/reference/scenarios/"
RECORDS = REFERENCE + "upland_records.csv"
ROW, BED = "plantings.row.count", "plantings.bed.count"

# Arguments, and a part of what is said; the exit code is 2.
REFUSED = (
    ((), "Usage"), (("runn",), "there is no command \"runn\""), (("run",), "scenario"), (("run", GOOD, GOOD), "scenario"),
    (("run", GOOD, "--no-such"), "there is no option --no-such"), (("run", GOOD, "-z"), "there is no option -z"),
    (("run", GOOD, "--out"), "--out needs a value"), (("run", GOOD, "--food-year", "0"), "--food-year wants a whole number"),
    (("run", GOOD, "--food-year", "51"), "--food-year wants"), (("run", GOOD, "--most-trials", "0"), "--most-trials wants"),
    (("run", GOOD, "--precision", "0.6"), "--precision wants a number from"), (("run", GOOD, "--precision", "x"), "--precision wants"),
    (("run", GOOD, "--threads", "0"), "--threads wants"), (("run", GOOD, "--trials", ""), "--trials wants a whole number from 1 to 10000000000"),
    (("run", GOOD) + ("--trials", "5") * 17, "given too often"), (("run", GOOD) + ("--set", "trials=5") * 257, "more than 256 settings"),
    (("run", GOOD, "--set", "trials=5") + ("--set", "trials=5") * 255 + ("--trials", "5"), "more than 256 settings"),
    (("size", GOOD, "--cost", "weight"), "--cost is bed_m2, hours or money"), (("size", GOOD, "--risk", "1"), "--risk wants"),
    (("size", GOOD, "--confidence", "0.4"), "--confidence wants"), (("compare", GOOD, "--worth", "-1"), "--worth wants"),
    (("season", RECORDS, "--base", "41"), "--base wants a number from -20 to 40"), (("season", RECORDS) + ("--base", "5") * 9, "--base may be given"),
    (("season", RECORDS, "--hard-frost", "11"), "--hard-frost wants"), (("season", RECORDS, "--year-starts", "05-01"), "--year-starts wants a date"),
    (("season", RECORDS, "--year-starts", "x"), "--year-starts wants a date"), (("season", RECORDS, "--generate", "99"), "--generate wants"),
    (("fit", RECORDS, "--weight", "0"), "--weight wants"), (("diary", GOOD, "--trial", "-1"), "--trial wants"),
    (("vary", GOOD) + ("--over", ROW + "=1..2") * 3, "--over may be given 2 times"), (("size", GOOD) + ("--by", ROW + "=1..2") * 5, "--by may be given"),
    (("compare", GOOD) + ("--versus", "trials=5") * 400, "--versus may be given"),
    # ranges
    (("vary", GOOD, "--over", "1..2"), "names no setting"), (("vary", GOOD, "--over", "=1..2"), "names no setting"),
    (("vary", GOOD, "--over", ROW + "="), "has an empty value"), (("vary", GOOD, "--over", ROW + "=1,,2"), "has an empty value"),
    (("vary", GOOD, "--over", ROW + "=1,2,1"), "names a value twice"), (("vary", GOOD, "--over", ROW + "=1..x"), "has no numbers"),
    (("vary", GOOD, "--over", ROW + "=..2"), "has no numbers"), (("vary", GOOD, "--over", ROW + "=2..1"), "runs backwards"),
    (("vary", GOOD, "--over", ROW + "=1..2:0"), "has no step above 0"), (("vary", GOOD, "--over", ROW + "=1..2:"), "has no step above 0"),
    (("vary", GOOD, "--over", ROW + "=0..1:0.0001"), "has too many steps"), (("vary", GOOD, "--over", "x=05-01..06-01:0.5"), "whole days"),
    (("vary", GOOD, "--over", "x=05-01..06-01:1.5"), "whole days"), (("vary", GOOD, "--over", "x=05-01..6"), "has no numbers"),
    (("vary", GOOD, "--over", ROW + "=" + ",".join(map(str, range(2001)))), "has too many values"),
    (("vary", GOOD), "--over"), (("vary", GOOD, GOOD, "--over", ROW + "=1..2"), "one scenario"),
    (("vary", GOOD, "--over", ROW + "=1..21", "--over", BED + "=1..20"), "at most 400"),
    (("vary", GOOD, "--over", ROW + "=1..2", "--over", ROW + "=3..4"), ""), (("vary", GOOD, "--over", "plantings.none.count=1..2"), "plantings"),
    # what is judged
    (("vary", GOOD, "--over", ROW + "=1..2", "--measure", "no\x1bsuch"), "there is none of this name with a mean"),
    (("vary", GOOD, "--over", ROW + "=1..2", "--measure", "first_short"), "there is none of this name with a mean"),
    (("vary", GOOD, "--over", ROW + "=1..2", "--food", "peas"), "--food is beans, squash or any"),
    (("vary", GOOD, "--over", ROW + "=1..2", "--measure", "kg_eaten"), "is not measured for any"),
    (("vary", GOOD, "--over", ROW + "=1..2", "--food-year", "2"), "there are only 1"),
    (("size", GOOD, "--by", ROW + "=1..2"), "--risk R"), (("size", "--by", ROW + "=1..2", "--risk", "0.1"), "one scenario file"),
    (("size", GOOD, "--by", ROW + "=1..2", "--by", BED + "=1..2", "--risk", "0.1"), "several --by want --cost"),
    (("size", GOOD, "--by", ROW + "=1..2", "--by", ROW + "=3..4", "--risk", "0.1", "--cost", "money"), "names plantings.row.count twice"),
    (("size", GOOD, "--by", ROW + "=1..2000", "--by", BED + "=1..2000", "--risk", "0.1", "--cost", "money"), "combinations"),
    (("size", GOOD, "--by", ROW + "=1..x", "--risk", "0.1"), "has no numbers"),
    (("size", GOOD, "--by", ROW + "=1..2", "--risk", "0.1", "--measure", "meals_short"), "size judges chance_short"),
    (("size", GOOD, "--by", ROW + "=1..2", "--risk", "0.1", "--measure", "never_short"), "size judges chance_short"),
    (("size", GOOD, "--by", ROW + "=1..2", "--risk", "0.1", "--food", "peas"), "--food is beans, squash or any"),
    (("size", GOOD, "--by", ROW + "=1..2", "--risk", "0.1", "--food-year", "2"), "there are only 1"),
    (("compare", GOOD), "at least one other"), (("compare", "--versus", "trials=5"), "compare wants a base"),
    (("compare", GOOD, "--versus", ";".join([ROW + "+=1"] * 5)), "more than 4 settings at once"),
    (("compare", GOOD, "--versus", "climate.warmth=1", "--until-clear", "--measure", "meals_short", "--worth", "0", "--trials", "100"),
     "wants --worth above 0"),
    (("compare", GOOD, "--versus", "food_years=2"), "food_years"),
    # the small commands
    (("check",), "one scenario"), (("check", GOOD, GOOD), "one scenario"), (("diary",), "one scenario"), (("diary", "no.cfg"), "no such file"),
    (("why",), "one scenario"), (("explain",), "explain wants"), (("explain", ""), ""),
    (("explain", "nothing.like.it"), ""), (("start",), "start wants"), (("start", GOOD), "is there already"),
    (("season",), "season wants"), (("season", "no.csv"), "no such file"), (("season", GOOD), ""), (("fit",), "fit wants"), (("fit", "no.csv"), "no such file"),
)


def call(program, *arguments, **more):
    return subprocess.run([program, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, timeout=60, **more)


def refused(program, folder):
    out = os.path.join(folder, "never")
    for arguments, said in REFUSED:
        done = call(program, *arguments, *(("--out", out) if arguments and "--out" not in arguments else ()))
        name = " ".join(arguments)[:90]
        check(name, done.returncode == 2 and said in done.stderr + (done.stdout if arguments[:1] == ("explain",) else ""),
              "%d: %s" % (done.returncode, done.stderr))
        check(name + ": no control characters", "\x1b" not in done.stderr)
    check("nothing was written", not os.path.exists(out) or os.listdir(out) == [])


def start(program, folder):
    path = os.path.join(folder, "mine.cfg")
    done = call(program, "start", path)
    check("start writes a scenario and says how to run it", done.returncode == 0 and "tideover run " + path in done.stdout, done.stderr)
    done = call(program, "run", path, "--trials", "50", "--out", os.path.join(folder, "mine"))
    check("what start writes runs as it is", done.returncode == 0, done.stderr)
    check("start writes no second time", call(program, "start", path).returncode == 2)
    done = call(program, "start", os.path.join(folder, "quiet.cfg"), "--quiet")
    check("start --quiet", done.returncode == 0 and done.stdout == "", done.stdout)
    for where in (os.path.join(folder, "none", "mine.cfg"), "/proc/mine.cfg"):
        done = call(program, "start", where)
        check("start where nothing can be written", done.returncode == 1 and "could not write" in done.stderr, done.stderr)


def library(program, folder):
    root = os.path.join(folder, "configs")
    os.makedirs(os.path.join(root, "a", ".hidden"))
    os.makedirs(os.path.join(root, "empty"))
    for name, text in (("b.cfg", "// A file of b's\nx\n"), ("a/deep.cfg", "# no comment of ours\n"), ("a/none.cfg", ""), ("a/notes.txt", "x"), ("z.cfg", "//")):
        with open(os.path.join(root, name), "w", encoding="utf-8") as f:
            f.write(text)
    done = call(program, "library", "--configs", root)
    listed = [line.split(None, 1) for line in done.stdout.splitlines()[2:]]
    check("library lists every file once, in order, with its first comment", listed == [["a/deep.cfg"], ["a/none.cfg"], ["b.cfg", "A file of b's"], ["z.cfg"]],
          str(listed))
    alone = os.path.join(folder, "far", "from", "here", "tideover")
    os.makedirs(os.path.dirname(alone))
    shutil.copy(program, alone)
    done = call(alone, "library", cwd="/")
    check("library without a library", done.returncode == 2 and "no library of configs was found" in done.stderr, done.stderr)
    done = call(alone, "run", os.path.join(ROOT, GOOD), "--trials", "5", "--out", os.path.join(folder, "plots"), "--plot", "--quiet", cwd="/")
    check("--plot without its scripts", done.returncode == 1 and "were not found" in done.stderr, done.stderr)
    check("the files are written all the same", os.path.exists(os.path.join(folder, "plots", "summary.csv")))


def plot(program, folder):
    """A PATH without gnuplot: the pictures fail, the files do not."""
    place = os.path.join(folder, "path")
    os.makedirs(place)
    for tool in ("bash", "sh", "dirname", "env"):
        if shutil.which(tool):
            os.symlink(shutil.which(tool), os.path.join(place, tool))
    done = call(program, "run", GOOD, "--trials", "5", "--out", os.path.join(folder, "undrawn"), "--plot", "--quiet", env=dict(os.environ, PATH=place))
    check("--plot without gnuplot", done.returncode == 1 and "could not be drawn" in done.stderr, done.stderr)


def compare(program, folder):
    out = os.path.join(folder, "compare")

    def go(*more, path=GOOD):
        done = call(program, "compare", path, *more, "--out", out)
        check("compare %s" % " ".join(more)[:60], done.returncode == 0, done.stderr)
        with open(os.path.join(out, "compare.csv"), newline="", encoding="utf-8") as f:
            return done.stdout, list(csv.DictReader(f))

    other = os.path.join(folder, "other.cfg")
    with open(GOOD, encoding="utf-8") as f:
        text = f.read()
    with open(other, "w", encoding="utf-8") as f:
        f.write(text.replace("bed = {", "patch = {"))
    said, _ = go(other, "--trials", "200")
    check("plantings without a namesake are told", "the planting bed has no namesake" in said and "the planting patch has no namesake" in said, said)
    said, rows = go("--versus", " ; %s=5; " % ROW, "--trials", "200")
    check("a change may have empty parts", len({r["other"] for r in rows}) == 1 and ROW + ": 4.5 -> 5" in said, said)
    said, rows = go("--versus", "title=\"another\"", "--trials", "200")
    check("a title makes no difference", all(float(r["difference"]) == 0 for r in rows), said)
    said, rows = go("--versus", "%s=400" % ROW, "--until-clear", "--trials", "500", "--food", "beans")
    check("a great difference is told apart", [r["verdict"] for r in rows if r["measure"] == "chance_short" and r["food"] == "beans"][-1] == "better", said)
    said, rows = go("--versus", "%s=0.1" % ROW, "--until-clear", "--measure", "kg_grown", "--worth", "0.01", "--food", "beans", "--trials", "500")
    check("less grown is worse", [r["verdict"] for r in rows if r["measure"] == "kg_grown" and r["food"] == "beans"] == ["worse"], said)
    said, rows = go("--versus", "%s=40" % BED, "--until-clear", "--measure", "kg_trimmed", "--worth", "0.001", "--food", "squash", "--trials", "500",
                    "--set", "crops.pumpkin.flesh_share=0.7")
    check("more trimmed is neither better nor worse", [r["verdict"] for r in rows if r["measure"] == "kg_trimmed"][1:] == ["more"], said)
    said, rows = go("--versus", "%s=1" % BED, "--until-clear", "--measure", "kg_trimmed", "--worth", "0.001", "--food", "squash", "--trials", "500",
                    "--set", "crops.pumpkin.flesh_share=0.7")
    check("less trimmed is neither", [r["verdict"] for r in rows if r["measure"] == "kg_trimmed"][1:] == ["less"], said)
    said, rows = go("--versus", "title=\"another\"", "--until-clear", "--measure", "meals_short", "--worth", "0.1", "--trials", "300")
    check("what is the same is told so", "no difference worth telling" in said, said)
    said, rows = go(GOOD, "--until-clear", "--trials", "300")
    check("a scenario against itself", "the same" in said and {r["verdict"] for r in rows} == {"the same in every trial"}, said)
    said, rows = go(other, "--until-clear", "--measure", "meals_short", "--worth", "0.00001", "--trials", "300", "--most-trials", "900")
    check("a mean that stays open", "most trials allowed" in said, said)
    said, rows = go("--versus", "%s=5" % ROW, "--precision", "0.02", "--trials", "20000")
    check("the precision of the base", "the precision was reached" in said and int(rows[0]["trials"]) >= 1000, said)
    said, rows = go("--versus", "%s=5" % ROW, "--precision", "0.00001", "--trials", "200", "--most-trials", "1000", "--measure", "short_weeks")
    check("a precision that is not reached", "not reached" in said and int(rows[0]["trials"]) == 1000, said)
    said, rows = go("--versus", "%s=5" % ROW, "--trials", "200", "--set", "food_years=2", "--food-year", "2", "--measure", "kg_left", "--food", "beans")
    check("a food year is named", "food year 2" in said, said)
    said, _ = go("--versus", "%s=5" % ROW, "--trials", "200", "--quiet")
    check("compare --quiet", said == "", said)


def vary(program, folder):
    out = os.path.join(folder, "vary")

    def go(*more):
        done = call(program, "vary", GOOD, *more, "--out", out)
        check("vary %s" % " ".join(more)[:60], done.returncode == 0, done.stderr)
        with open(os.path.join(out, "vary.csv"), newline="", encoding="utf-8") as f:
            return done.stdout, list(csv.DictReader(f))

    _, rows = go("--over", "plantings.row.plant_out=05-20..06-10:7", "--trials", "100")
    check("dates in steps of a week", sorted({r["rung"] for r in rows}) == ["05-20", "05-27", "06-03", "06-10"], str({r["rung"] for r in rows}))
    _, rows = go("--over", "plantings.row.plant_out=05-20..05-25:2", "--over", "climate.warmth=0..1:0.5", "--trials", "50")
    check("two settings", {(r["rung"], r["rung_2"]) for r in rows} == {(d, w) for d in ("05-20", "05-22", "05-24") for w in ("0.0", "0.5", "1.0")},
          str({(r["rung"], r["rung_2"]) for r in rows}))
    said, rows = go("--over", ROW + "=1,30,400", "--trials", "20000", "--precision", "0.02", "--food", "beans")
    check("a precision on every rung", "the precision was reached" in said, said)
    said, _ = go("--over", ROW + "=4..6", "--trials", "100", "--precision", "0.00001", "--most-trials", "400")
    check("vary: the most trials", "not reached" in said, said)
    said, _ = go("--over", ROW + "=4..6", "--trials", "100", "--set", "food_years=2", "--food-year", "2", "--measure", "kg_eaten", "--food", "squash")
    check("vary tells another measure", "kg_eaten" in said and "food year 2" in said, said)


def diary_and_check(program, folder):
    path = scenes.write(scenes.beans({"saves_seed": True, "seed_kg_per_unit": 0.05}, food_years=2), os.path.join(folder, "calm.cfg"))
    done = call(program, "diary", path, "--trial", "3", "--set", "climate.last_frost=\"02-01\"", "--set", "climate.first_hard_frost=\"02-28\"")
    check("a diary of mild seasons", "no spring frost" in done.stdout and "Season 1" in done.stdout, done.stdout)
    done = call(program, "diary", path, "--set", "crops.bean.heat_to_dry=15000.0", "--set", "crops.bean.finish_indoors_heat=0.0")
    check("a diary of a season that brings nothing", "brings nothing in" in done.stdout, done.stdout)
    done = call(program, "check", path, "--set", "crops.bean.stands=0.0")
    check("check of what never bears", "bears nothing in any of these seasons" in done.stdout, done.stdout)
    done = call(program, "check", path, "--quiet")
    check("check --quiet", done.returncode == 0 and done.stdout == "", done.stdout)
    done = call(program, "run", path, "--trials", "200", "--pounds", "--out", os.path.join(folder, "pounds"))
    check("pounds", " lb" in done.stdout and " kg " not in done.stdout, done.stdout)
    done = call(program, "run", path, "--precision", "0.02", "--food", "beans", "--out", os.path.join(folder, "precise"))
    check("run to a precision", done.returncode == 0, done.stderr)


def main():
    program = os.path.abspath(sys.argv[1])
    os.chdir(ROOT)
    with tempfile.TemporaryDirectory() as folder:
        for part in (refused, start, library, plot, compare, vary, diary_and_check):
            part(program, folder)
    return end()


if __name__ == "__main__":
    sys.exit(main())
