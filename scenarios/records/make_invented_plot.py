#!/usr/bin/python3
"""Writes invented_plot.csv, an invented daily record of a cool maritime plot: 24 calendar years of
least and greatest temperatures. Monthly means near those of a cool maritime place, a departure for each month
that lasts into the next, and day-to-day swings. Nothing in it was measured. The same file comes out every time;
run it in this folder."""
import datetime
import random

TMIN = [2.4, 2.2, 2.7, 3.9, 6.4, 8.9, 11.0, 10.8, 9.0, 6.7, 4.3, 2.7]
TMAX = [8.2, 8.6, 10.2, 12.3, 15.0, 17.7, 19.4, 19.1, 17.0, 13.7, 10.4, 8.4]
FIRST_YEAR, YEARS = 2001, 24


def on_day(monthly, day):
    """Monthly means on the 15th of each month, joined by straight lines round the year."""
    month, share = day.month - 1, (day.day - 15) / 30.4
    other = (month + (1 if share >= 0 else -1)) % 12
    return monthly[month] * (1 - abs(share)) + monthly[other] * abs(share)


def days(rng):
    departure, swing, month = 0.0, 0.0, 0
    day = datetime.date(FIRST_YEAR, 1, 1)
    while day.year < FIRST_YEAR + YEARS:
        if day.month != month:
            month, departure = day.month, 0.35 * departure + rng.gauss(0.0, 0.9)
        swing = 0.6 * swing + rng.gauss(0.0, 1.7)
        middle = (on_day(TMIN, day) + on_day(TMAX, day)) / 2 + departure + swing
        half = (on_day(TMAX, day) - on_day(TMIN, day)) / 2
        half = max(0.6, half * (1 + 0.35 * rng.gauss(0.0, 1.0)))
        yield day, middle - half, middle + half
        day += datetime.timedelta(days=1)


def main():
    rng = random.Random(2407)
    forgotten = {(FIRST_YEAR + rng.randrange(YEARS), month, day)
                 for month, day in ((4, 3), (7, 19), (9, 8), (11, 2))}
    with open("invented_plot.csv", "w", encoding="ascii", newline="\n") as out:
        out.write("date,tmin,tmax\n")
        for day, low, high in days(rng):
            if (day.year, day.month, day.day) not in forgotten:
                out.write("%s,%.1f,%.1f\n" % (day, low, high))


if __name__ == "__main__":
    main()
