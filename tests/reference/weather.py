#!/usr/bin/python3
"""One season's weather: last frost, first hard frost, warmth's normal score and daily heat.

Degree-days: single sine, Baskerville & Emin 1969, Ecology 50:514-517, no upper cut-off.
"""
import csv
import datetime

import numpy as np
from scipy import special

import dist

MONTH_STARTS = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334]
NEVER = 10 ** 6


def day_of_year(text):
    """"MM-DD" as 0..364 from 1 January; 29 February is read as the 28th."""
    month, day = int(text[:2]), int(text[3:5])
    if (month, day) == (2, 29):
        day = 28
    datetime.date(2001, month, day)  # a date that is none raises here
    return MONTH_STARTS[month - 1] + day - 1


class Calendar:
    def __init__(self, year_starts="03-01"):
        self.start = day_of_year(year_starts)
        if min(min(abs(self.start - day_of_year(d)), 365 - abs(self.start - day_of_year(d)))
               for d in ("03-01", "09-01")) > 21:
            raise ValueError("year_starts must lie within three weeks of 1 March or 1 September")

    def day(self, text):
        return (day_of_year(text) - self.start) % 365

    def week(self, text):
        return week_of_day(self.day(text))


def week_of_day(day):
    return min(day // 7, 51)


def sine_heat(tmin, tmax, base):
    """Degree-days above base of each day (arrays of minimum and maximum)."""
    half = 0.5 * (tmax - tmin)
    mean = 0.5 * (tmax + tmin)
    safe = np.where(half > 0.0, half, 1.0)
    ratio = np.clip((base - mean) / safe, -1.0, 1.0)
    theta = np.arcsin(ratio)
    between = ((mean - base) * (0.5 * np.pi - theta) + half * np.cos(theta)) / np.pi
    return np.where(tmin >= base, mean - base, np.where(tmax <= base, 0.0, between))


class Season:
    """heat(base)[d] is the sum of the heat of the days before day d, d = 0..365."""

    def __init__(self, last_frost, first_hard_frost, z, heat):
        self.last_frost, self.first_hard_frost, self.z, self.heat = last_frost, first_hard_frost, z, heat


def running(heat):
    return np.concatenate(([0.0], np.cumsum(heat)))


class DrawnWeather:
    def __init__(self, climate, calendar):
        def last_frost_day(text):
            day = calendar.day(text)
            return day - 365 if day > 182 else day

        self.laws = (dist.make(climate["last_frost"], "date", last_frost_day),
                     dist.make(climate["first_hard_frost"], "date", calendar.day),
                     dist.make(climate.get("warmth", 0.0), "warmth"))
        matrix = np.array(climate.get("correlation", np.eye(3)), float)
        values, vectors = np.linalg.eigh(matrix)
        if values.min() < -1e-9 or not np.allclose(matrix, matrix.T) or not np.allclose(np.diag(matrix), 1.0):
            raise ValueError("correlation is no correlation matrix")
        self.root = vectors * np.sqrt(np.maximum(values, 0.0))
        mids = np.array([(start + 14 - calendar.start) % 365 for start in MONTH_STARTS])
        order = np.argsort(mids)
        days = np.arange(365)
        x = mids[order]
        x = np.concatenate((x - 365, x, x + 365))
        self.tmin = np.interp(days, x, np.tile(np.array(climate["tmin_c"], float)[order], 3))
        self.tmax = np.interp(days, x, np.tile(np.array(climate["tmax_c"], float)[order], 3))

    def draw(self, rng):
        z = self.root @ rng.standard_normal(3)
        u = special.ndtr(z)
        last, hard, warmth = (float(law.ppf(v)) for law, v in zip(self.laws, u))
        hard = int(hard) if hard < 365 else NEVER
        cache = {}

        def heat(base):
            if base not in cache:
                cache[base] = running(sine_heat(self.tmin, self.tmax, base - warmth))
            return cache[base]
        return Season(int(last), hard, float(z[2]), heat)


class RecordedWeather:
    def __init__(self, climate, calendar):
        self.seasons, self.left_out = [], []
        tmin, tmax, first = read_records(climate)
        missing = np.isnan(tmin)
        days = np.arange(len(tmin))
        for series in (tmin, tmax):
            series[missing] = np.interp(days[missing], days[~missing], series[~missing])
        hard_c = float(climate.get("hard_frost_c", -2.0))
        allowed = int(climate.get("max_missing_days", 5))
        # first = the day of the year of the file's first day; a season starts where the day of the year is year_starts
        starts = np.arange((calendar.start - first) % 365 - 365, len(tmin), 365)
        found = []
        for start in starts:
            span = np.arange(start, start + 365)
            inside = (span >= 0) & (span < len(tmin))
            gone = ~inside
            gone[inside] = missing[span[inside]]
            if gone[:275].sum() > allowed:
                self.left_out.append(int(start))
                continue
            at = np.clip(span, 0, len(tmin) - 1)
            found.append((tmin[at], tmax[at]))
        if not found:
            raise ValueError("no season of the records is whole enough")
        heats = [sine_heat(lo, hi, 10.0)[61:214].sum() for lo, hi in found]
        n = len(found)
        order = np.argsort(heats, kind="stable")
        rank = np.empty(n)
        rank[order] = np.arange(1, n + 1)
        for (lo, hi), r in zip(found, rank):
            frosts = np.flatnonzero(lo[:138] <= 0.0)
            hards = np.flatnonzero(lo[138:] <= hard_c)
            last = int(frosts[-1]) if len(frosts) else -1
            hard = int(hards[0]) + 138 if len(hards) else NEVER
            self.seasons.append(Season(last, hard, float(special.ndtri((r - 0.5) / n)), cached_heat(lo, hi)))

    def draw(self, rng):
        return self.seasons[int(rng.random() * len(self.seasons))]


def cached_heat(lo, hi):
    cache = {}

    def heat(base):
        if base not in cache:
            cache[base] = running(sine_heat(lo, hi, base))
        return cache[base]
    return heat


def read_records(climate):
    """Daily minimum and maximum from the file's first day to its last without 29 February; NaN where missing."""
    cols = [climate.get("date_column", "date"), climate.get("tmin_column", "tmin"),
            climate.get("tmax_column", "tmax")]
    rows, before = {}, None
    with open(climate["records_file"], newline="", encoding="utf-8") as f:
        for row in csv.DictReader(f):
            day = datetime.date.fromisoformat(row[cols[0]])
            if before is not None and day <= before:
                raise ValueError("%s: a date twice or out of order" % day)
            before = day
            try:
                rows[day] = float(row[cols[1]]), float(row[cols[2]])
            except (TypeError, ValueError):
                rows[day] = (np.nan, np.nan)
    day, last = min(rows), max(rows)
    first = day_of_year(day.strftime("%m-%d"))
    tmin, tmax = [], []
    while day <= last:
        if (day.month, day.day) != (2, 29):
            lo, hi = rows.get(day, (np.nan, np.nan))
            tmin.append(lo)
            tmax.append(hi)
        day += datetime.timedelta(days=1)
    return np.array(tmin), np.array(tmax), first


def make(climate, calendar):
    return RecordedWeather(climate, calendar) if "records_file" in climate else DrawnWeather(climate, calendar)
