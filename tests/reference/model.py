#!/usr/bin/python3
"""An independent second opinion on the whole model: plain per-trial Python, any luck, the same chances.

    model.py SCENARIO.cfg --trials N --seed S [--processes P] [--library DIR] --out FIGURES.csv
    model.py --self-check

FIGURES.csv has food_year,food,measure,value,std_error,trials; FIGURES_weeks.csv the weeks of the time line.
How the model's page was read where it leaves a choice: READINGS.md.
"""
import argparse
import csv
import math
import multiprocessing
import sys
import time

import numpy as np

import garden
import settings
import trial
from garden import FOODS, lower_quantile

BOOKED = (("kg_seed", "seed"), ("kg_in", "in"), ("kg_eaten", "eaten"), ("kg_dried_away", "dried_away"),
          ("kg_trimmed", "trimmed"), ("kg_store_loss", "store_loss"), ("kg_given_away", "given_away"),
          ("kg_thrown_out", "thrown_out"), ("kg_left", "left"), ("kg_opening", "opening"))
KEPT = ("grown", "field_loss", "sorted_out", "lost_while_wanted")


def year_row(plan, y):
    """One food year of one trial as {(food, measure): number}."""
    row = {}
    for food in FOODS:
        for name, key in BOOKED:
            row[food, name] = y.book[food][key]
        for key in KEPT:
            row[food, "kg_" + key] = getattr(y, key)[food]
        row[food, "meals_short"] = y.meals_short[food]
        row[food, "jars_peak" if food == "beans" else "fruits_peak"] = y.peak[food]
        row[food, "kcal_served"], row[food, "protein_g_served"] = y.kcal[food], y.protein[food]
    row["any", "meals_short"] = sum(y.meals_short.values())
    row["any", "kcal_served"], row["any", "protein_g_served"] = sum(y.kcal.values()), sum(y.protein.values())
    for food in FOODS + ("any",):
        row[food, "short_weeks"], row[food, "first_short"] = y.short_weeks[food], y.first_short[food]
        for need, served, name in ((plan.kcal_need, "kcal_served", "kcal_share"),
                                   (plan.protein_need, "protein_g_served", "protein_share")):
            if need is not None:
                row[food, name] = row[food, served] / (plan.eaters * need * y.days)
    return row


def run_part(job):
    path, library, seed, first, last = job
    plan = garden.Plan(settings.read(path, library))
    width = 52 * (plan.last_season + 2)
    names, years, weeks = None, [], np.full((last - first, width, 16), np.nan)
    for i, t in enumerate(trial.run(plan, seed, first, last)):
        rows = [year_row(plan, y) for y in t.years]
        names = names or list(rows[0])
        years.append([[r[n] for n in names] for r in rows])
        for w, row in t.weeks:
            weeks[i, w] = row
    return names, np.array(years, float), weeks


def simulate(path, trials, seed, processes=2, library=None):
    """Figures of every trial: names, array (trial, food year, name), array (trial, week, 16 columns)."""
    edges = np.linspace(0, trials, max(1, min(processes * 4, trials))
                        + 1).astype(int) if processes > 1 else [0, trials]
    jobs = [(path, library, seed, int(a), int(b)) for a, b in zip(edges[:-1], edges[1:])]
    if processes > 1:
        with multiprocessing.Pool(processes) as pool:
            parts = pool.map(run_part, jobs, chunksize=1)
    else:
        parts = [run_part(j) for j in jobs]
    if len(parts) == 1:
        return parts[0]
    return parts[0][0], np.concatenate([p[1] for p in parts]), np.concatenate([p[2] for p in parts])


def mean_and_error(x):
    spread = float(np.std(x, ddof=1)) if len(x) > 1 and np.ptp(x) > 0.0 else 0.0
    return float(np.mean(x)), spread / math.sqrt(len(x))


def quantile_and_error(x, p):
    """Lower order statistic; its error is half the spread of the order statistics one binomial sd either side."""
    value = lower_quantile(x, p)
    delta = math.sqrt(p * (1.0 - p) / len(x))
    low, high = lower_quantile(x, max(0.0, p - delta)), lower_quantile(x, min(1.0, p + delta))
    return value, 0.5 * (high - low) if math.isfinite(high) else math.nan


def chance(flags):
    p = float(np.mean(flags))
    return p, math.sqrt(p * (1.0 - p) / len(flags))


def year_figures(names, data):
    """Rows food_year, food, measure, value, std_error."""
    rows = []
    for k in range(data.shape[1]):
        got = {name: data[:, k, i] for i, name in enumerate(names)}
        for food in FOODS + ("any",):
            short = got[food, "short_weeks"]
            rows.append((k, food, "chance_short") + chance(short >= 1))
            rows.append((k, food, "chance_over_4_weeks_short") + chance(short > 4))
            rows.append((k, food, "never_short") + chance(short == 0))
            for p in (10, 50, 90):
                rows.append((k, food, "first_short_p%d" % p) + quantile_and_error(got[food, "first_short"],
                                                                                  p / 100))
            for (f, name), x in got.items():
                if f != food or name == "first_short":
                    continue
                if not name.endswith("_peak"):
                    rows.append((k, food, name) + mean_and_error(x))
                shares = (50, 90, 95) if "short" in name else (50, 95) if name.endswith("_peak") else (10, 50, 90)
                for p in shares:
                    rows.append((k, food, "%s_p%d" % (name, p)) + quantile_and_error(x, p / 100))
    any_short = data[:, :, names.index(("any", "short_weeks"))].max(axis=1) >= 1
    rows.append(("all", "any", "chance_short") + chance(any_short))
    return rows


def number(x):
    return "" if not math.isfinite(x) else "%.10g" % x


def write_years(path, names, data):
    with open(path, "w", newline="", encoding="ascii") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(["food_year", "food", "measure", "value", "std_error", "trials"])
        for k, food, measure, value, error in year_figures(names, data):
            out.writerow([k, food, measure, number(value), number(error), data.shape[0]])


def write_weeks(path, weeks):
    with open(path, "w", newline="", encoding="ascii") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow("week food trials stock_kg_mean stock_kg_p05 stock_kg_p25 stock_kg_p50 stock_kg_p75 stock_kg_p95 count_p50 "
                     "chance_short chance_short_by_now wanted_kg eaten_kg lost_kg".split())
        for w in range(weeks.shape[1]):
            here = weeks[:, w]
            here = here[~np.isnan(here[:, 0])]
            if not len(here):
                continue
            for i, food in enumerate(FOODS):
                x = here[:, 7 * i:7 * i + 7]
                stock = [x[:, 0].mean()] + [lower_quantile(x[:, 0], p) for p in (0.05, 0.25, 0.5, 0.75, 0.95)]
                rest = [lower_quantile(x[:, 1], 0.5)] + [x[:, j].mean() for j in range(2, 7)]
                out.writerow([w, food, len(here)] + [number(v) for v in stock + rest])
            out.writerow([w, "any", len(here)] + [""] * 7 + [number(here[:, 14].mean()), number(here[:, 15].mean())] + [""] * 3)


def main(argv):
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scenario", nargs="?")
    parser.add_argument("--trials", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--library")
    parser.add_argument("--out")
    parser.add_argument("--self-check", action="store_true")
    args = parser.parse_args(argv)
    if args.self_check:
        import closed_forms
        return closed_forms.main()
    if not args.scenario or not args.out:
        parser.error("a scenario and --out are needed")
    began = time.time()
    names, data, weeks = simulate(args.scenario, args.trials, args.seed, args.processes, args.library)
    write_years(args.out, names, data)
    stem = args.out[:-4] if args.out.endswith(".csv") else args.out
    write_weeks(stem + "_weeks.csv", weeks)
    print("%s: %d trials in %.1f s" % (args.scenario, args.trials, time.time() - began), file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
