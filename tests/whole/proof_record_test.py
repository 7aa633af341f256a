#!/usr/bin/python3
"""An open daily record, Seattle 2012-2015 (NOAA, public domain; in the npm package vega-datasets 2, seattle-weather.csv), read by
`tideover season` and as climate.records_file, against an independent reading here.

    proof_record_test.py PROGRAM

Passed over, and said so, where npm or its registry cannot be had.
"""
import csv
import datetime
import math
import os
import shutil
import subprocess
import sys
import tempfile

passed = failed = 0
BASES = (8.0, 10.0)


def check(what, good, told=""):
    global passed, failed
    passed, failed = passed + bool(good), failed + (not good)
    if not good:
        print("FAILED  %s  %s" % (what, told))


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
    print("%d passed, %d failed" % (passed, failed))
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
