#!/usr/bin/python3
"""generator_test.py PROGRAM: seasons made up by the weather generator against the record that it was fitted to: the invented
60-year record here is made by another process than the generator's (skewed days, months that differ, warm and cold
years). Compared by standard errors of 60 years: means at sd / sqrt(60), standard deviations at sd / sqrt(120).
Prints 'N passed, N failed'."""
import csv
import datetime
import math
import os
import random
import subprocess
import sys
import tempfile

from counted import check, end

PROGRAM = os.path.abspath(sys.argv[1])
ROOT = os.path.abspath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
YEARS, MADE = 60, 4000


def run(*arguments):
    return subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, check=False)


def write_record(path, years, year_sd):
    rng = random.Random(99)
    day, swing, month, departure, year = datetime.date(1950, 1, 1), 0.0, 0, 0.0, 0.0
    with open(path, "w", encoding="ascii") as out:
        out.write("date,tmin,tmax\n")
        while day.year < 1950 + years:
            if (day.month, day.day) == (3, 1):
                year = rng.gauss(0, year_sd)
            if day.month != month:
                month, departure = day.month, 0.4 * departure + rng.gauss(0, 0.7)
            swing = 0.65 * swing + (rng.gammavariate(4, 0.75) - 3)
            wave = -math.cos(2 * math.pi * (day.timetuple().tm_yday - 20) / 365)
            middle = 9.5 + 7.5 * wave + year + departure + swing * (1.5 - 0.3 * wave)
            half = (3.6 + 1.2 * wave) * rng.uniform(0.5, 1.5)
            out.write("%s,%.1f,%.1f\n" % (day, middle - half, middle + half))
            day += datetime.timedelta(days=1)


def chances(folder):
    with open(os.path.join(folder, "chances.csv"), encoding="utf-8", newline="") as file:
        return {(r["seasons"], r["figure"]): r for r in csv.DictReader(file)}


def against_record(folder):
    record = os.path.join(folder, "record.csv")
    write_record(record, YEARS + 1, 0.6)
    done = run("season", record, "--generate", str(MADE), "--out", folder)
    check("season --generate runs", done.returncode == 0, done.stderr)
    told = chances(folder)
    for figure in ("last_frost", "first_frost", "first_hard_frost", "frost_free_days", "heat_8_c", "heat_10_c", "frost_free_heat_8_c",
                   "frost_free_heat_10_c"):
        own, made = told["recorded", figure], told["made up", figure]
        mean, sd, n = float(own["mean"]), float(own["sd"]), int(own["years"])
        check("%s: years" % figure, int(made["years"]) + int(made["years_without"]) == MADE)
        off = (float(made["mean"]) - mean) / (sd * math.sqrt(1 / n + 1 / MADE))
        check("%s: mean" % figure, abs(off) < 3, "%s against %s (%.1f standard errors)" % (made["mean"], own["mean"], off))
        off = (float(made["sd"]) / sd - 1) / math.sqrt(0.5 / n + 0.5 / MADE)
        check("%s: sd" % figure, abs(off) < 3, "%s against %s (%.1f standard errors)" % (made["sd"], own["sd"], off))
    # heat is pinned by the yearly effect itself, so it is nearer than sixty years' chance
    for figure in ("heat_8_c", "heat_10_c"):
        ratio = float(told["made up", figure]["sd"]) / float(told["recorded", figure]["sd"])
        check("%s: sd within 8 %%" % figure, abs(ratio - 1) < 0.08, str(ratio))


def in_a_scenario(folder):
    record = os.path.join(ROOT, "scenarios", "records", "invented_plot.csv")
    path = os.path.join(folder, "made.cfg")
    with open(path, "w", encoding="ascii") as out:
        out.write('extends = "%s/scenarios/parts/family_garden.cfg";\n' % ROOT)
        out.write('climate = { records_file = "%s"; generator = { seasons = 1000; }; };\ntrials = 4000;\n' % record)
    configs = ("--configs", os.path.join(ROOT, "configs"))
    a, b = os.path.join(folder, "a"), os.path.join(folder, "b")
    done = run("run", path, "--out", a, "--threads", "1", *configs)
    check("run with a generator", done.returncode == 0, done.stderr)
    run("run", path, "--out", b, "--threads", "2", *configs)
    with open(os.path.join(a, "summary.csv"), "rb") as x, open(os.path.join(b, "summary.csv"), "rb") as y:
        check("the same bytes for any number of threads", x.read() == y.read())
    done = run("run", os.path.join(a, "effective.cfg"), "--out", b, "--threads", "2", *configs)
    check("effective.cfg runs", done.returncode == 0, done.stderr)
    with open(os.path.join(a, "summary.csv"), encoding="utf-8") as x, open(os.path.join(b, "summary.csv"), encoding="utf-8") as y:
        check("and gives the same", [r.split(",")[1:] for r in x] == [r.split(",")[1:] for r in y])
    done = run("compare", path, "--versus", "climate.generator.seasons=500", "--trials", "2000", "--out", b, *configs)
    check("compare with a generator", done.returncode == 0, done.stderr)


NORMALS = ('climate = { tmin_c = [ 2, 2, 3, 4, 6, 9, 11, 11, 9, 7, 4, 3 ]; tmax_c = [ 8, 9, 10, 12, 15, 18, 19, 19, 17, 14, 10, 8 ]; '
           'generator = { %s lag_one = 0.6; year_sd_c = 0.6; }; };\n')
SPREADS = "tmin_sd_c = [ %s ]; tmax_sd_c = [ %s ]; " % (", ".join(["2.8"] * 12), ", ".join(["2.6"] * 12))


def given_normals(folder):
    configs = ("--configs", os.path.join(ROOT, "configs"))
    for spreads, code, word in ((SPREADS, 0, ""), ("", 2, "tmin_sd_c: is missing")):
        path = os.path.join(folder, "given.cfg")
        with open(path, "w", encoding="ascii") as out:
            out.write('extends = "%s/scenarios/parts/family_garden.cfg";\n' % ROOT)
            out.write(NORMALS % spreads)
        done = run("run", path, "--trials", "2000", "--out", folder, *configs)
        check("given normals, %s" % (word or "whole"), done.returncode == code and word in done.stderr, done.stderr)


def too_short(folder):
    record = os.path.join(folder, "short.csv")
    write_record(record, 4, 0.6)
    done = run("season", record, "--generate", "100", "--out", folder)
    check("three seasons are too few", done.returncode == 2 and "5 seasons at the least" in done.stderr, done.stderr)


def main():
    with tempfile.TemporaryDirectory() as folder:
        for test in (against_record, in_a_scenario, given_normals, too_short):
            test(folder)
    return end()


if __name__ == "__main__":
    sys.exit(main())
