#!/usr/bin/python3
"""Write the two invented temperature records that the records scenarios use.

Everything here is invented: a yearly wave, a departure for each month of each year and day-to-day swings.
upland_records.csv: 16 calendar years, columns date,tmin,tmax, gaps of several sorts.
southern_records.csv: 14 calendar years of a southern plot, columns other than the usual names, more columns than needed.
Run it in this folder; the same files come out every time.
"""
import datetime
import math
import random


def daily(rng, first_year, years, mean_c, swing_c, coldest_doy, half_range_c):
    """Yield (date, tmin, tmax) for every day of the years, 29 February included."""
    day_noise = 0.0
    day = datetime.date(first_year, 1, 1)
    departure, month = 0.0, 0
    while day.year < first_year + years:
        if day.month != month:
            month = day.month
            departure = 0.4 * departure + rng.gauss(0.0, 1.1)
        doy = day.timetuple().tm_yday
        day_noise = 0.7 * day_noise + rng.gauss(0.0, 1.9)
        mean = mean_c - swing_c * math.cos(2.0 * math.pi * (doy
                                                            - coldest_doy) / 365.25) + departure + day_noise
        half = half_range_c * (1.0 + 0.25 * rng.gauss(0.0, 1.0))
        half = max(half, 0.8)
        yield day, round(mean - half, 1), round(mean + half, 1)
        day += datetime.timedelta(days=1)


def upland():
    rng = random.Random(71)
    # One absent week, three single absent days, empty cells, one word in a cell, one season with too much missing.
    absent = {datetime.date(1994, 7, 10) + datetime.timedelta(days=i) for i in range(4)}
    absent |= {datetime.date(1997, 5, 2), datetime.date(2001, 9, 30), datetime.date(2001, 10, 1)}
    absent |= {datetime.date(2003, 6, 5) + datetime.timedelta(days=i) for i in range(19)}
    empty = {datetime.date(1999, 8, 14), datetime.date(1999, 8, 15)}
    with open("upland_records.csv", "w", encoding="ascii") as out:
        out.write("date,tmin,tmax\n")
        for day, low, high in daily(rng, 1991, 16, 9.3, 7.2, 20, 4.1):
            if day in absent:
                continue
            if day in empty:
                out.write("%s,,\n" % day)
            elif day == datetime.date(1996, 6, 20):
                out.write("%s,%.1f,\n" % (day, low))
            elif day == datetime.date(1995, 10, 9):
                out.write("%s,n/a,n/a\n" % day)
            else:
                out.write("%s,%.1f,%.1f\n" % (day, low, high))


def southern():
    rng = random.Random(72)
    with open("southern_records.csv", "w", encoding="ascii") as out:
        out.write("station,day,high,low,rain\n")
        for day, low, high in daily(rng, 2004, 14, 11.4, 6.6, 202, 5.0):
            if day in (datetime.date(2007, 12, 24), datetime.date(2011, 11, 3)):
                continue
            out.write("1,%s,%.1f,%.1f,%.1f\n" % (day, high, low, max(0.0, rng.gauss(0.5, 3.0))))


if __name__ == "__main__":
    upland()
    southern()
