#!/usr/bin/python3
"""An open daily record, Seattle 2012-2015 (NOAA, public domain; in the npm package vega-datasets 2, seattle-weather.csv), read by
`tideover season`, as climate.records_file and by `tideover fit`, against an independent reading here.

    proof_record_test.py PROGRAM

Passed over, and said so, where npm or its registry cannot be had.
"""
import csv
import datetime
import math
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile

from counted import check, end

BASES = (8.0, 10.0)


def fetch(folder):
    """The record, or None."""
    if not shutil.which("npm"):
        return None
    try:
        subprocess.run(["npm", "pack", "vega-datasets@2"], cwd=folder, check=True, timeout=120, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL)
        subprocess.run("tar xzf vega-datasets-*.tgz package/data/seattle-weather.csv", shell=True, cwd=folder, check=True)
    except (subprocess.SubprocessError, OSError):
        return None
    return os.path.join(folder, "package", "data", "seattle-weather.csv")


def read(path):
    with open(path, newline="", encoding="utf-8") as f:
        return {datetime.date.fromisoformat(r["date"]): (float(r["temp_min"]), float(r["temp_max"])) for r in csv.DictReader(f)}


def sine(low, high, base):
    """One day of the single sine (Baskerville & Emin 1969), by numerical integration: no formula shared with the program."""
    steps = 2000
    mid, half = (low + high) / 2, (high - low) / 2
    return sum(max(0.0, mid + half * math.sin(2 * math.pi * (i + 0.5) / steps) - base) for i in range(steps)) / steps


def own_season(days, year):
    """Days 0..364 from 1 March, 29 February left out: last frost to day 137, first hard frost after it, heat of days 61..213."""
    start, dates = datetime.date(year, 3, 1), []
    while len(dates) < 365:
        if (start.month, start.day) != (2, 29):
            dates.append(start)
        start += datetime.timedelta(days=1)
    last = [d for d in dates[:138] if d in days and days[d][0] <= 0]
    hard = [d for d in dates[138:] if d in days and days[d][0] <= -2]
    heat = [sum(sine(*days[d], base) for d in dates[61:214]) for base in BASES]
    return last[-1].isoformat() if last else "", hard[0].isoformat() if hard else "", heat


def one_more(values):
    """Where one more of four would lie in eight cases of ten: Student's t(0.9; 3) = 1.637744, from printed tables."""
    half = 1.637744 * statistics.stdev(values) * math.sqrt(1 + 1 / len(values))
    return [statistics.mean(values) + s * half for s in (-1, 0, 1)]


def fitted_climate(program, folder, path, days):
    """Four seasons are few: triplets where one more would lie; normals from the days of these seasons alone; and a run on them."""
    out = os.path.join(folder, "fit")
    done = subprocess.run([program, "fit", "--weather", path, "--tmin-column", "temp_min", "--tmax-column", "temp_max", "--out", out],
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    check("fit reads the open record", done.returncode == 0, done.stderr)
    with open(os.path.join(out, "fit.cfg"), encoding="utf-8") as f:
        text = f.read()
    for which, name in enumerate(("tmin_c", "tmax_c")):
        told = [float(x) for x in re.search(name + r" = \[ (.*) \];", text)[1].split(", ")]
        for month in range(1, 13):          # January and February 2012 lie before the first season, 29 February counts nowhere
            own = [t[which] for d, t in days.items() if d.month == month and d >= datetime.date(2012, 3, 1)
                   and (d.month, d.day) != (2, 29)]
            check("%s, month %d" % (name, month), abs(told[month - 1] - statistics.mean(own)) < 0.0051,
                  "%g against %g" % (told[month - 1], statistics.mean(own)))
    start = datetime.date(2000, 3, 1)
    last, hard = [], []
    for year in range(2012, 2016):
        own = own_season(days, year)
        for to, date, none in ((last, own[0], -0.5), (hard, own[1], 364.5)):
            if date:
                d = datetime.date.fromisoformat(date)
                to.append((d.replace(year=2000 + (d.month < 3)) - start).days)
            else:
                to.append(none)
    for name, values in (("last_frost", last), ("first_hard_frost", hard)):
        told = re.search(name + r' = \{ p10 = "(\S+)"; p50 = "(\S+)"; p90 = "(\S+)";', text)
        wanted = [(datetime.date(2001, 3, 1) + datetime.timedelta(days=math.floor(x + 0.5))).strftime("%m-%d") for x in one_more(values)]
        check("triplet of %s" % name, told and list(told.groups()) == wanted, "%s against %s" % (told and told.groups(), wanted))
    seasons = [statistics.mean(sum(t) / 2 for d, t in days.items() if datetime.date(y, 5, 1) <= d <= datetime.date(y, 9, 30))
               for y in range(2012, 2016)]
    told = [float(x) for x in re.search(r"warmth = \{ p10 = (\S+); p50 = (\S+); p90 = (\S+); \}", text).groups()]
    wanted = one_more(seasons)
    check("spread of warmth", abs((told[2] - told[0]) - (wanted[2] - wanted[0])) < 1e-4, "%s against %s" % (told, wanted))
    check("a spring without frost is told", "1 without (2014), taken as before" in done.stdout, done.stdout)
    scene = os.path.join(folder, "fitted.cfg")
    with open(scene, "w", encoding="utf-8") as f:
        f.write('extends = ("fit/fit.cfg", "households/couple.cfg", "crops/climbing_french_bean.cfg");\ntitle = "A climate of few years?";\n'
                'plantings = { beans = { crop = "climbing_french_bean"; count = 3; plant_out = "05-20"; }; };\n')
    done = subprocess.run([program, "run", scene, "--trials", "4000", "--out", out, "--quiet"], stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE, text=True)
    check("a scenario runs on the fitted climate alone", done.returncode == 0, done.stderr)
    with open(os.path.join(out, "summary.csv"), newline="", encoding="utf-8") as f:
        told = {r["measure"]: r["date"] for r in csv.DictReader(f)}
    middle = (datetime.date.fromisoformat(told["first_hard_frost_p50"]) - datetime.date(2001, 3, 1)).days
    check("its usual hard frost is the record's", abs(middle + 3 - statistics.mean(hard)) <= 7, "%d against %s" % (middle, hard))


def main():
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        path = fetch(folder)
        if path is None:
            print("record: passed over, the npm package vega-datasets could not be had")
            return
        days, out = read(path), os.path.join(folder, "out")
        done = subprocess.run([program, "season", path, "--tmin-column", "temp_min", "--tmax-column", "temp_max", "--out", out],
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        check("season reads the open record", done.returncode == 0, done.stderr)
        with open(os.path.join(out, "season.csv"), newline="", encoding="utf-8") as f:
            told = {int(r["year"]): r for r in csv.DictReader(f)}
        check("every year is there", sorted(told) == [2012, 2013, 2014, 2015], str(sorted(told)))
        for year, row in told.items():
            last, hard, heat = own_season(days, year)
            check("%d: last frost" % year, row["last_frost"] == last, "%s against %s" % (row["last_frost"], last))
            if year < 2015:                     # the last winter lies beyond the record's end
                check("%d: first hard frost" % year, row["first_hard_frost"] == hard, "%s against %s" % (row["first_hard_frost"], hard))
            for base, own in zip(BASES, heat):
                found = float(row["heat_%g_c" % base])
                check("%d: heat above %g" % (year, base), abs(found - own) < 2e-4 * own, "%g against %g" % (found, own))
        scene = os.path.join(folder, "seattle.cfg")
        with open(scene, "w", encoding="utf-8") as f:
            f.write('extends = ("households/couple.cfg", "crops/climbing_french_bean.cfg");\ntitle = "A record as it is?";\n'
                    'climate = { records_file = "package/data/seattle-weather.csv"; tmin_column = "temp_min"; tmax_column = "temp_max"; };\n'
                    'plantings = { beans = { crop = "climbing_french_bean"; count = 3; plant_out = "05-20"; }; };\n')
        done = subprocess.run([program, "run", scene, "--trials", "500", "--out", out, "--quiet"], stdout=subprocess.PIPE,
                              stderr=subprocess.PIPE, text=True)
        check("a scenario runs on the open record", done.returncode == 0, done.stderr)
        fitted_climate(program, folder, path, days)
    return end()


if __name__ == "__main__":
    sys.exit(main())
