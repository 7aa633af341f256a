"""Scenarios as Python dictionaries: written as settings files, run through the program, their tables read
back."""
import copy
import csv
import datetime
import math
import os
import subprocess

import numpy as np

YEAR_STARTS = 59                        # 1 March, counted from 1 January
TMIN = [1.5, 1.4, 2.6, 4.1, 6.8, 9.7, 11.7, 11.6, 9.6, 6.9, 3.9, 1.8]
TMAX = [7.0, 7.7, 10.2, 13.2, 16.4, 19.3, 21.6, 21.2, 18.3, 14.1, 10.0, 7.3]
NOBODY = [{"from": "01-01", "until": "12-31"}]    # away all the year
# everything comes in whole in the week of pick_until, finished indoors
BEANS = {
    "kind": "beans", "unit_kg": 1.0, "base_c": 8.0, "heat_to_dry": 5000.0, "finish_indoors_heat": 5000.0,
         "finish_share": 1.0,
    "pick_until": "10-01", "plant_out": "05-20",
}
SQUASH = {
    "kind": "squash", "fruits": 10, "fruit_kg": 1.0, "base_c": 10.0, "heat_to_ripen": 10.0, "cut_by": "10-01",
    "keeps_weeks": 1000.0, "plant_out": "05-20",
}
CUT_WEEK = 30                           # of 1 October; its first day is 27 September


def garden(**changes):
    """A certain climate and one eater, with settings changed: a path with __ between the names."""
    scene = {
        "household": {"eaters": [{"count": 1}], "meals": {}},
        "climate": {"tmin_c": TMIN, "tmax_c": TMAX, "last_frost": "05-01", "first_hard_frost": "11-10"},
        "crops": {}, "plantings": {},
    }
    return changed(scene, **changes)


def changed(scene, **changes):
    scene = copy.deepcopy(scene)
    for path, value in changes.items():
        at = scene
        *names, last = path.split("__")
        for name in names:
            at = at.setdefault(name, {})
        at[last] = copy.deepcopy(value)
    return scene


def beans(crop=None, planting=None, **changes):
    scene = garden(crops__bean=dict(BEANS, **(crop or {})), plantings__row=dict({"crop": "bean", "count": 1},
                                                                                **(planting or {})),
                   household__meals__beans={"meals_per_week": 1.0, "portion_kg": 0.05})
    return changed(scene, **changes)


def squash(crop=None, planting=None, **changes):
    scene = garden(crops__gourd=dict(SQUASH, **(crop or {})),
                   plantings__hill=dict({"crop": "gourd", "count": 1}, **(planting or {})),
                   household__meals__squash={"meals_per_week": 1.0, "portion_kg": 1.0})
    return changed(scene, **changes)


def text_of(value):
    """A value in the settings' syntax."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"%s"' % value
    if isinstance(value, dict):
        return "{ %s}" % "".join("%s = %s; " % (k, text_of(v)) for k, v in value.items())
    if isinstance(value, (list, tuple)):
        return "( %s )" % ", ".join(text_of(v) for v in value)
    return repr(value)


def write(scene, path):
    with open(path, "w", encoding="utf-8") as f:
        for name, value in scene.items():
            f.write("%s = %s;\n" % (name, text_of(value)))
    return path


class Result:
    """The tables of one run. Figures by (food year, food, measure); weeks by (week, food)."""

    def __init__(self, folder):
        self.folder = folder
        self.figure = {(r["food_year"], r["food"], r["measure"]): r for r in read(folder, "summary.csv")}
        self.week = {(int(r["week"]), r["food"]): r for r in read(folder, "weeks.csv")}

    def value(self, food, measure, year=1):
        text = self.figure[str(year), food, measure]["value"]
        return None if text == "" else float(text)

    def weeks(self, food):
        return sorted(w for w, f in self.week if f == food)

    def of_week(self, week, food, column):
        return float(self.week[week, food][column])


def read(folder, name):
    with open(os.path.join(folder, name), newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def run(program, scene, folder, name, trials, *options):
    """Writes and runs a scenario; its figures."""
    path = write(scene, os.path.join(folder, name + ".cfg"))
    out = os.path.join(folder, name)
    done = subprocess.run([program, "run", path, "--out", out, "--trials", str(trials), "--quiet",
                           "--threads", "1", *options],
                          stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    if done.returncode != 0:
        raise SystemExit("%s: exit code %d\n%s" % (name, done.returncode, done.stderr))
    return Result(out)


# ---- the calendar and heat, computed here on their own ---------------------------------------------------

def day_of(mm_dd, year_starts=YEAR_STARTS):
    """Day of the simulation year of a date."""
    day = datetime.date(2001, int(mm_dd[:2]), int(mm_dd[3:])).timetuple().tm_yday - 1
    return (day - year_starts) % 365


def date_of(week, year_starts=YEAR_STARTS, first_year=2001):
    """ISO date of the first day of a week of the time line, in a calendar without 29 February."""
    day = (week % 52) * 7 + year_starts
    year = first_year + week // 52 + day // 365
    return str(year) + (datetime.date(2001, 1, 1) + datetime.timedelta(days=day % 365)).isoformat()[4:]


def in_window(week, begins, ends):
    day, a, b = 7 * (week % 52), day_of(begins), day_of(ends)
    return a <= day <= b if a <= b else day >= a or day <= b


def daily(monthly, year_starts=YEAR_STARTS):
    """Twelve monthly normals at each month's 15th, joined by straight lines round the year (model's
    definition)."""
    middle = [datetime.date(2001, m, 15).timetuple().tm_yday - 1 for m in range(1, 13)]
    at = [middle[-1] - 365] + middle + [middle[0] + 365]
    return np.interp((np.arange(365) + year_starts) % 365, at, [monthly[-1]] + list(monthly) + [monthly[0]])


def degree_days(tmin, tmax, base):
    """Single sine, Baskerville & Emin 1969 (Ecology 50:514-517), no upper cut-off."""
    mid, half = (tmin + tmax) / 2, np.maximum((tmax - tmin) / 2, 1e-300)
    theta = np.arcsin(np.clip((base - mid) / half, -1, 1))
    part = ((mid - base) * (math.pi / 2 - theta) + half * np.cos(theta)) / math.pi
    return np.where(tmin >= base, mid - base, np.where(tmax <= base, 0.0, part))


def heat_from_0(base, warmth=0.0):
    """Heat from day 0 to the beginning of each day 0 .. 365, for one warmth or for an array of them (last
    axis: days)."""
    warmth = np.asarray(warmth, float)[..., None]
    each = degree_days(daily(TMIN) + warmth, daily(TMAX) + warmth, base)
    return np.concatenate([np.zeros(each.shape[:-1] + (1,)), np.cumsum(each, axis=-1)], axis=-1)
