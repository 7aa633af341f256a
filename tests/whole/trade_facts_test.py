#!/usr/bin/python3
"""Facts of the trade that the library has to give back through the program: trade_facts_test.py PROGRAM.

Every fact below is common practice, no source. Each is asked of a small scenario made of the library's
configs, with what would blur the fact made certain; the limits beside a fact are the fact's own words, with
the room that they leave.
"""
import csv
import datetime
import glob
import os
import re
import statistics
import subprocess
import sys
import tempfile

HOME = os.path.realpath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
CONFIGS = os.path.join(HOME, "configs")
TRIALS = 20000
MEAL = "meals = { %s = { meals_per_week = 1.0; portion_kg = %g; }; };"
EATER = "household = { eaters = ( { count = 1; } ); " + MEAL + " };"
BEANS, SQUASH = EATER % ("beans", 0.06), EATER % ("squash", 0.2)
CLIMBING = ("climbing_french_bean", "mottled_climbing_bean")
DRIED = CLIMBING + ("runner_bean",)
KEEPERS = ("grey_hubbard_squash", "red_turban_squash")


class Results:
    def __init__(self):
        self.passed = self.failed = 0

    def expect(self, holds, text):
        if holds:
            self.passed += 1
        else:
            self.failed += 1
            print("trade: not so: " + text)


class Tideover:
    def __init__(self, program, folder):
        self.program, self.folder = os.path.realpath(program), folder

    def _scenario(self, crop, count, household, more):
        path = os.path.join(self.folder, "fact.cfg")
        with open(path, "w", encoding="utf-8") as out:
            out.write('extends = ("climates/cool_maritime.cfg", "crops/%s.cfg");\n%s\n' % (crop, household))
            out.write('plantings = { only = { crop = "%s"; count = %g; }; };\n' % (crop, count))
            out.write("\n".join(more) + "\n")
        return path

    def _call(self, words):
        words = [self.program] + words + ["--configs", CONFIGS]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        if done.returncode != 0 or done.stderr.strip():
            sys.exit("trade: %s\n%s" % (" ".join(words), done.stderr))
        return done.stdout

    def run(self, crop, count, household, more=()):
        """summary and weeks by name, and the rows of the trials."""
        path, out = self._scenario(crop, count, household, more), os.path.join(self.folder, "out")
        self._call(["run", path, "--out", out, "--trials", str(TRIALS), "--per-trial", "--quiet"])
        tables = [list(csv.DictReader(open(os.path.join(out, name + ".csv"), encoding="utf-8", newline="")))
                  for name in ("summary", "weeks", "trials")]
        summary = {(r["food_year"], r["food"], r["measure"]): float(r["value"] or "nan") for r in tables[0]}
        return summary, tables[1], tables[2]

    def settings(self, crop, count=1, more=()):
        household = BEANS if crop.endswith("bean") else SQUASH
        text = self._call(["check", self._scenario(crop, count, household, more)])
        found = dict(re.findall(r"^crops\.%s\.(\w+) = (.*?)   # " % crop, text, re.M))
        # A planting that says nothing of its own takes the crop's date; either way it is what is used.
        found.update(re.findall(r"^plantings\.only\.(plant_out) = (.*?)   # ", text, re.M))
        return found, text


def crop_text(crop):
    """A config's text with the comment marks off and on one line, so that a sentence can be looked for."""
    with open(os.path.join(CONFIGS, "crops", crop + ".cfg"), encoding="utf-8") as config:
        return " ".join(re.sub(r"^\s*//", "", line).strip() for line in config)


def crops_of(kind):
    names = (os.path.basename(p)[:-4] for p in sorted(glob.glob(os.path.join(CONFIGS, "crops", "*.cfg"))))
    return [n for n in names if 'kind = "%s"' % kind in crop_text(n)]


def at(summary, food, measure, year="1"):
    return summary[year, food, measure]


def fruits_borne(tideover, crop, plants):
    """Fruits of plants that all stand: the most whole fruits of a food year are those of its beginning."""
    rows = tideover.run(crop, plants, BEANS, ["crops = { %s = { stands = 1.0; }; };" % crop])[2]
    return [int(r["fruits_peak"]) for r in rows]


def check_fruits(tideover, results):
    # Two plants of a mid-sized grey hubbard bear about 14-15 fruits.
    mean = statistics.mean(fruits_borne(tideover, "grey_hubbard_squash", 2))
    results.expect(14 <= mean <= 15, "two grey hubbards bear %.2f fruits on average" % mean)
    # A small red turban bears 4-10 a plant: most plants do, and both ends are seen.
    turbans = fruits_borne(tideover, "red_turban_squash", 1)
    within = sum(4 <= n <= 10 for n in turbans) / len(turbans)
    results.expect(within >= 0.8, "%.0f %% of red turban plants bear 4-10 fruits" % (100 * within))
    for end in (4, 10):
        share = turbans.count(end) / len(turbans)
        results.expect(share > 0.02, "%.1f %% of red turban plants bear %d fruits" % (100 * share, end))
    # A very large type bears about 2 a plant.
    pumpkins = fruits_borne(tideover, "large_pumpkin", 1)
    mean, mode = statistics.mean(pumpkins), statistics.mode(pumpkins)
    results.expect(mode == 2, "most large pumpkin plants bear %d" % mode)
    results.expect(1.5 <= mean <= 2.5, "a large pumpkin plant bears %.2f on average" % mean)


def half_gone(tideover, crop):
    """(weeks from the harvest, date) at which half the ripe, well cured and uneaten fruit is gone."""
    certain = "crops = { %s = { stands = 1.0; cures_well = 1.0; heat_to_ripen = 1.0; }; };" % crop
    weeks = [r for r in tideover.run(crop, 40, BEANS, [certain])[1]
             if r["food"] == "squash" and r["count_p50"] and int(r["trials"]) > TRIALS / 2]
    first = max(range(12), key=lambda i: float(weeks[i]["count_p50"]))
    whole = float(weeks[first]["count_p50"])
    for row in weeks[first:]:
        if float(row["count_p50"]) <= whole / 2:
            return int(row["week"]) - int(weeks[first]["week"]), datetime.date.fromisoformat(row["date"])
    return 99, datetime.date(9999, 1, 1)


def check_keeping(tideover, results):
    # Well cured fruit keeps six to seven months, to about April, and pumpkins much less.
    months = 365.25 / 12 / 7
    shortest = 99
    for crop in KEEPERS:
        weeks, date = half_gone(tideover, crop)
        shortest = min(shortest, weeks)
        results.expect(6 * months - 1 <= weeks <= 7 * months,
                       "half the %s are gone after %d weeks" % (crop, weeks))
        results.expect(abs((date - datetime.date(date.year, 4, 15)).days) <= 21,
                       "half the %s are gone on %s, not about April" % (crop, date))
    pumpkins = half_gone(tideover, "large_pumpkin")[0]
    results.expect(pumpkins <= 0.6 * shortest,
                   "half the pumpkins are gone after %d weeks, of %d" % (pumpkins, shortest))


def check_pods(tideover, results):
    # Five or six beans to a pod: what a unit bears is derived from it beside the figure that is used.
    number = r"([\d.]+)"
    derivation = re.compile(r"%s plants x %s pods x %s seeds x %s g = %s kg" % ((number,) * 5))
    for crop in crops_of("beans"):
        found = derivation.search(crop_text(crop))
        results.expect(found is not None, crop + " does not say what its unit_kg comes from")
        if found is None:
            continue
        plants, pods, seeds, grams, kg = (float(x) for x in found.groups())
        product = plants * pods * seeds * grams / 1000
        results.expect(5 <= seeds <= 6, "%s has %g beans to a pod" % (crop, seeds))
        results.expect(abs(product - kg) <= 0.006, "%s: the product is %.4f kg, not %g" % (crop, product, kg))
        used = float(re.search(r"p50 = ([\d.]+)", tideover.settings(crop)[0]["unit_kg"]).group(1))
        results.expect(abs(used - product) <= 0.03 * product,
                       "%s: p50 %g kg, derived %.3f" % (crop, used, product))


def check_jars(tideover, results):
    # 6-7 m of runner bean row fills at least three large jars, and a wigwam about two: the demo's jars.
    with open(os.path.join(HOME, "scenarios", "parts", "family_garden.cfg"), encoding="utf-8") as garden:
        jar_kg = float(re.search(r"jar_kg = ([\d.]+)", garden.read()).group(1))
    results.expect(0.7 <= jar_kg <= 1.0, "a jar of %g kg of beans is no large one" % jar_kg)
    row = at(tideover.run("runner_bean", 6.5, BEANS)[0], "beans", "kg_in_p50") / jar_kg
    results.expect(row >= 3, "6.5 m of runner beans fill %.2f jars in a usual year" % row)
    for crop in CLIMBING:
        jars = at(tideover.run(crop, 1, BEANS)[0], "beans", "kg_in_p50") / jar_kg
        results.expect(1.5 <= jars <= 2.5, "a wigwam of %s fills %.2f jars in a usual year" % (crop, jars))


def lost_to_wind(tideover, crop, count):
    """Mean share lost, and share of the seasons in which over half is; all dry in time, none sorted out."""
    certain = "crops = { %s = { stands = 1.0; heat_to_dry = 200.0; sorted_out = 0.0; }; };" % crop
    rows = tideover.run(crop, count, BEANS, [certain])[2]
    shares = [1 - float(r["beans_kg_in"]) / float(r["beans_kg_grown"]) for r in rows]
    return statistics.mean(shares), sum(s > 0.5 for s in shares) / len(shares)


def check_wind(tideover, results):
    # A wigwam stands the wind better than a row of canes.
    row_mean, row_bad = lost_to_wind(tideover, "runner_bean", 6.5)
    results.expect(row_mean > 0, "the wind takes nothing of a row")
    for crop in CLIMBING:
        for wigwams in (1, 4):
            mean, often = lost_to_wind(tideover, crop, wigwams)
            results.expect(0 < mean < 0.7 * row_mean, "%d x %s: the wind takes %.3f, of a row %.3f"
                           % (wigwams, crop, mean, row_mean))
            results.expect(often < 0.7 * row_bad,
                           "%d x %s: half is lost in %.3f of the seasons, of a row in %.3f"
                           % (wigwams, crop, often, row_bad))


def check_a_year_later(tideover, results):
    # Dry beans keep a year and more and are still good a year later: of those nobody eats nearly all are
    # there when the next come, none is thrown out for its age within two years, and the second year spoils
    # little either.
    with open(os.path.join(HOME, "scenarios", "parts", "family_garden.cfg"), encoding="utf-8") as garden:
        store = re.search(r"^store = \{.*?^\};", garden.read(), re.M | re.S).group(0)
    for crop in DRIED:
        summary = tideover.run(crop, 6, SQUASH, ["food_years = 2;", store,
                                                 "crops = { %s = { saves_seed = false; }; };" % crop])[0]
        put_up, left = at(summary, "beans", "kg_in"), at(summary, "beans", "kg_left")
        results.expect(left > 0.9 * put_up,
                       "of %.3f kg of %s %.3f are left a year later" % (put_up, crop, left))
        results.expect(left < put_up, "no %s is ever lost" % crop)
        lost = at(summary, "beans", "kg_store_loss", "2") / (left + at(summary, "beans", "kg_in", "2"))
        results.expect(lost < 0.1, "%.3f of the %s is lost in the second year" % (lost, crop))
        thrown = at(summary, "beans", "kg_thrown_out", "1") + at(summary, "beans", "kg_thrown_out", "2")
        results.expect(thrown == 0, "%.3f kg of %s are thrown out within two years" % (thrown, crop))


def check_sowing(tideover, results):
    # Sowing mid-April (squash) and mid-May (beans) under cover, out in late May.
    for kind, month in (("beans", "May"), ("squash", "April")):
        for crop in crops_of(kind):
            results.expect("Sown mid-%s under cover" % month in crop_text(crop),
                           crop + " does not say when it is sown")
            out = tideover.settings(crop)[0]["plant_out"].strip('"')
            results.expect("05-20" <= out <= "05-31",
                           "%s is planted out on %s, not in late May" % (crop, out))


def kg_in(tideover, crop, frost, finishes):
    weather = 'climate = { first_hard_frost = "%s"; warmth = -0.3; };' % frost
    inside = "" if finishes else "finish_share = 0.0;"
    crops = "crops = { %s = { stands = 1.0; blow_down = 0.0; %s }; };" % (crop, inside)
    return at(tideover.run(crop, 10, BEANS, [weather, crops])[0], "beans", "kg_in")


def check_drying(tideover, results):
    # Pods dry from mid-September until the first frost; those yellow-green then can be finished indoors.
    for crop in DRIED:
        settings, _ = tideover.settings(crop)
        weeks_inside = int(settings["indoor_drying_weeks"])
        begins = sorted(r["begins"] for r in tideover.run(crop, 10, BEANS)[2])
        usual = datetime.date.fromisoformat(begins[len(begins) // 2]) - datetime.timedelta(weeks=weeks_inside)
        # A picking takes in what dried in its week, of which this is the first day.
        results.expect("09-05" <= usual.strftime("%m-%d") <= "09-22",
                       "%s is first picked in the week of %s" % (crop, usual))
        early, late = (kg_in(tideover, crop, frost, False) for frost in ("09-30", "10-20"))
        results.expect(early < 0.9 * late,
                       "%s: frost on 30 September leaves %.2f kg, on 20 October %.2f" % (crop, early, late))
        finished = kg_in(tideover, crop, "09-30", True)
        results.expect(1.05 * early < finished,
                       "%s: finishing indoors makes %.2f kg of %.2f" % (crop, finished, early))
        late = kg_in(tideover, crop, "10-20", True)
        results.expect(finished < 0.98 * late,
                       "%s: with finishing indoors frost on 30 September costs nothing" % crop)


def check_ripening(tideover, results):
    # In a cool maritime place the keeping squash ripen in most years, not in all.
    pattern = r"ripe when cut: ([\d.]+) % in a usual year, ([\d.]+) % in a bad one"
    for crop in KEEPERS + ("buttercup_squash",):
        text = tideover.settings(crop, 12, ["crops = { %s = { stands = 1.0; }; };" % crop])[1]
        usual, bad = (float(x) for x in re.search(pattern, text).groups())
        results.expect(usual >= 75, "%g %% of the %s ripen in a usual year" % (usual, crop))
        results.expect(bad <= 90, "%g %% of the %s ripen in the worst year of ten" % (bad, crop))


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: trade_facts_test.py PROGRAM")
    results = Results()
    with tempfile.TemporaryDirectory() as folder:
        tideover = Tideover(sys.argv[1], folder)
        for check in (check_fruits, check_keeping, check_pods, check_jars, check_wind, check_a_year_later,
                      check_sowing, check_drying, check_ripening):
            check(tideover, results)
    print("%d passed, %d failed" % (results.passed, results.failed))
    return 1 if results.failed else 0


if __name__ == "__main__":
    sys.exit(main())
