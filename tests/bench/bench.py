#!/usr/bin/python3
"""The table of speeds: medians of repetitions, what is compared measured by turns. Run by bench.sh, which builds the helpers.

    bench.py PROGRAM        (environment: SCENARIO, VECTOR, TRIALS_MOST)

Prints the table and writes it to out/bench/bench.csv.
"""
import csv
import os
import re
import resource
import statistics
import subprocess
import sys
import time

PROGRAM = sys.argv[1]
BESIDE = os.path.dirname(PROGRAM)
SCENARIO = os.environ.get("SCENARIO") or "scenarios/base.cfg"
VECTOR = os.environ.get("VECTOR", "")
MOST = int(os.environ.get("TRIALS_MOST", "10000000"))
OUT = "out/bench"
REPEATS = 5
FEW, MANY = 10000, 210000               # rates are by the difference: reading the scenario does not count

GAMMA_BETA = {"beans": ['unit_kg={ shape="gamma"; mean=0.7; sd=0.25; }', 'sorted_out={ shape="beta"; mean=0.06; sd=0.04; }'],
              "squash": ['fruit_kg={ shape="gamma"; mean=1.8; sd=0.5; }', 'stands={ shape="beta"; mean=0.9; sd=0.06; }']}


def run(trials, threads=1, sets=(), versus=()):
    """One run, or a comparison with what is changed in `versus`: wall seconds, processor seconds, most resident KiB."""
    command = [PROGRAM, "compare" if versus else "run", SCENARIO, "--configs", "configs", "--out", OUT + "/run", "--quiet",
               "--trials", str(trials)]
    if threads:
        command += ["--threads", str(threads)]
    for option, settings in (("--set", sets), ("--versus", versus)):
        for setting in settings:
            command += [option, setting]
    began = time.perf_counter()
    child = subprocess.Popen(command)
    _, status, used = os.wait4(child.pid, 0)
    if status:
        sys.exit("bench: %s failed" % " ".join(command))
    return time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss


def trial_seconds(which, threads=1, sets=()):
    """Seconds a trial, by the wall (which 0) or of the processor (1)."""
    return (run(MANY, threads, sets)[which] - run(FEW, threads, sets)[which]) / (MANY - FEW)


def by_turns(*measures):
    """Medians of measures taken by turns."""
    taken = [[measure() for measure in measures] for _ in range(REPEATS)]
    return [statistics.median(row[i] for row in taken) for i in range(len(measures))]


def helper(name, *arguments):
    text = subprocess.run([BESIDE + "/" + name] + list(arguments), capture_output=True, text=True, check=True).stdout
    return {key: float(value) for key, value in re.findall(r"^(\w+) ([\d.]+)", text, re.M)}


def vector_rate():
    text = subprocess.run(["/usr/bin/python3", VECTOR, SCENARIO, "--trials", "100000"], capture_output=True, text=True).stdout
    found = re.search(r"(\d+) food years per second", text)
    return float(found.group(1)) if found else float("nan")


def groups(text, name):
    """Names of the groups in a top-level group of an effective.cfg, each with its text."""
    inside = text[text.index("\n%s = {" % name):]
    inside = inside[:inside.index("\n};")]
    return re.findall(r"\n  (\w+) = \{(.*?)\n  \};", inside, re.S)


def main():
    os.makedirs(OUT, exist_ok=True)
    rows = []

    def row(what, value, unit, against, ratio, target):
        rows.append((what, value, unit, against, ratio, target))
        print("%-54s %10s %-16s %-44s %7s  %s" % rows[-1], flush=True)

    run(FEW)
    effective = open(OUT + "/run/effective.cfg", encoding="utf-8").read()
    years = int(re.search(r"\nfood_years = (\d+)", "\n" + effective).group(1))
    print("%s, medians of %d\n" % (SCENARIO, REPEATS))
    if VECTOR and os.path.exists(VECTOR):
        ours, theirs = by_turns(lambda: years / trial_seconds(1), vector_rate)
        row("food years a second and core", "%.0f" % ours, "1/s", "NumPy program %.0f" % theirs,
            "%.2f" % (ours / theirs), ">= 20")
    else:
        (ours,) = by_turns(lambda: years / trial_seconds(1))
        row("food years a second and core", "%.0f" % ours, "1/s", "NumPy program: VECTOR names none", "", ">= 20")

    drawn = helper("count", SCENARIO, "configs", "5000")
    costs, bounds = [], []
    for _ in range(REPEATS):
        costs.append(helper("trials", SCENARIO, "configs", "40000"))
        bounds.append(helper("draws", "%.0f" % drawn["words"], "%.0f" % drawn["lookups"])["bound"])
    cost = {key: statistics.median(c[key] for c in costs) for key in costs[0]}
    bound = statistics.median(bounds)
    row("time a trial", "%.0f" % cost["everything"], "ns", "%.0f words, %.0f look-ups bare: %.0f ns"
        % (drawn["words"], drawn["lookups"], bound), "%.2f" % (cost["everything"] / bound), "<= 2")
    row("weekly quantiles and all measures", "%.0f" % cost["everything"], "ns a trial", "headline only %.0f" % cost["headline"],
        "%.2f" % (cost["everything"] / cost["headline"]), "<= 1.3")

    one, both = by_turns(lambda: trial_seconds(0, 1), lambda: trial_seconds(0, 2))
    row("two threads", "%.0f" % (both * 1e9), "ns a trial (wall)", "one thread %.0f" % (one * 1e9),
        "%.2f" % (one / both), ">= 1.9")
    sets = ["crops.%s.%s" % (name, setting) for name, text in groups(effective, "crops")
            for setting in GAMMA_BETA[re.search(r'kind = "(\w+)"', text).group(1)]]
    plain, shaped = by_turns(lambda: run(10000, 0)[0], lambda: run(10000, 0, sets)[0])
    row("start to answer, 10,000 trials", "%.1f" % (plain * 1e3), "ms", "", "", "<= 30 ms")
    row("  the same with gamma and beta settings", "%.1f" % (shaped * 1e3), "ms", "", "", "<= 30 ms")
    tenfold = ["plantings.%s.count=%r" % (name, 10 * float(re.search(r"count = ([\d.]+)", text).group(1)))
               for name, text in groups(effective, "plantings")]
    once, ten = by_turns(lambda: trial_seconds(1), lambda: trial_seconds(1, 1, tenfold))
    row("ten times the plants", "%.0f" % (ten * 1e9), "ns a trial", "once %.0f" % (once * 1e9), "%.2f" % (ten / once), "<= 11")
    for name, text in groups(effective, "plantings"):
        count = float(re.search(r"count = ([\d.]+)", text).group(1))
        counts = ["plantings.%s.count=%r" % (name, count + more) for more in (0, 1, 2)]
        three, compared = by_turns(lambda: sum(run(MANY // 2, 1, [c])[1] for c in counts),
                                   lambda: run(MANY // 2, 1, versus=counts[1:])[1])
        row("compare three counts of %s" % name, "%.2f" % compared, "s", "three runs %.2f s" % three, "%.2f" % (compared / three),
            "<= 0.8")
    small, large = run(100000, 2)[2], run(MOST, 2)[2]
    row("peak memory, %.0g trials" % MOST, "%.1f" % (large / 1024), "MiB", "100,000 trials %.1f" % (small / 1024),
        "%.2f" % (large / small), "the same, <= 64 MiB")

    with open(OUT + "/bench.csv", "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(("what", "value", "unit", "against", "ratio", "target"))
        writer.writerows([cell.strip() for cell in line] for line in rows)
    print("\n%s/bench.csv written" % OUT)


if __name__ == "__main__":
    main()
