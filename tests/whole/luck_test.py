#!/usr/bin/python3
"""Luck has addresses: what a run draws depends on the random seed, the trial and the names, on nothing else.

    luck_test.py PROGRAM
"""
import filecmp
import os
import shutil
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import checks   # noqa: E402
import scenes   # noqa: E402

HERE = os.path.dirname(os.path.abspath(__file__))
FILES = ("summary.csv", "weeks.csv", "trials.csv", "effective.cfg", "datapackage.json")
MODEL = "model: luck has addresses"
CLIMATE = {
    "tmin_c": scenes.TMIN, "tmax_c": scenes.TMAX, "warmth": {"shape": "normal", "mean": 0.0, "sd": 0.9},
    "last_frost": {"shape": "normal", "mean": "05-08", "sd": 9.0},
           "first_hard_frost": {"shape": "normal", "mean": "10-14", "sd": 14.0},
}
BEAN = {
    "kind": "beans", "unit_kg": {"shape": "gamma", "mean": 0.7, "sd": 0.3},
        "year_factor": {"shape": "lognormal", "mean": 1.0, "sd": 0.3},
    "stands": {"shape": "beta", "alpha": 6.0, "beta": 1.2}, "blow_down": 0.2, "blow_down_loses": 0.7,
        "base_c": 8.0,
    "heat_to_dry": {"shape": "normal", "mean": 900.0, "sd": 100.0},
        "sorted_out": {"shape": "beta", "mean": 0.1, "sd": 0.07},
    "pick_until": "11-05", "plant_out": "05-20",
}
GOURD = {
    "kind": "squash", "fruits": {"shape": "poisson", "mean": 4.0},
         "fruit_kg": {"p10": 1.2, "p50": 2.0, "p90": 3.1}, "base_c": 10.0,
    "heat_to_ripen": {"shape": "normal", "mean": 600.0, "sd": 80.0}, "cut_by": "10-05", "cures_well": 0.8,
         "poor_cure_factor": 0.5,
    "unripe_factor": 0.3, "keeps_weeks": {"shape": "weibull", "k": 2.4, "scale": 24.0}, "plant_out": "05-25",
}


def garden(**changes):
    scene = {
        "household": {
            "eaters": [{"count": 2}], "guests": {"chance": 0.2, "portions": 2.0},
            "meals": {"beans": {"meals_per_week": 1.0, "portion_kg": 0.06},
                      "squash": {"meals_per_week": 1.0, "portion_kg": 0.2, "from": "10-01",
                                 "until": "04-30"}}},
        "climate": CLIMATE, "crops": {"climber": BEAN, "gourd": GOURD, "runner": BEAN},
        "plantings": {"wigwams": {"crop": "climber", "count": 3}, "hill": {"crop": "gourd", "count": 2}},
        "store": {"jar_kg": 0.5, "jar_keeps_weeks": {"shape": "exponential", "mean": 150.0}},
    }
    return scenes.changed(scene, **changes)


class Lab:
    def __init__(self, program, folder):
        self.program, self.folder, self.found = program, folder, checks.Checks()

    def run(self, name, scene, *options, trials=3000, threads=1, env=None, cwd=None):
        """Runs a scenario (a dictionary, or a file's path); its output folder."""
        if isinstance(scene, dict):
            scene = scenes.write(scene, os.path.join(self.folder, "luck.cfg"))
        out = os.path.join(self.folder, name)
        done = subprocess.run([self.program, "run", scene, "--out", out, "--trials", str(trials), "--threads",
                               str(threads), "--quiet",
                               "--per-trial", *options], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              text=True,
                              env=env, cwd=cwd)
        self.found.true("%s runs" % name, "the program", done.returncode == 0, done.stderr)
        return out

    def same(self, what, a, b, files=FILES):
        for name in files:
            self.found.true("%s: %s" % (what, name), MODEL, filecmp.cmp(os.path.join(a, name),
                                                                        os.path.join(b, name), shallow=False),
                            "the files differ")

    def differ(self, what, a, b, files=("summary.csv", "weeks.csv", "trials.csv")):
        for name in files:
            self.found.true("%s: %s" % (what, name), MODEL, not filecmp.cmp(os.path.join(a, name),
                                                                            os.path.join(b, name),
                                                                            shallow=False),
                            "the files are the same")

    def columns(self, out, *names):
        """Columns of trials.csv as text, row by row."""
        return [tuple(r[n] for n in names) for r in scenes.read(out, "trials.csv")]

    def diary(self, scene, trial):
        """What a trial's seasons gave, by planting: the lines of the diary that tell of each."""
        path = scenes.write(scene, os.path.join(self.folder, "luck.cfg"))
        done = subprocess.run([self.program, "diary", path, "--trial", str(trial)], stdout=subprocess.PIPE,
                              text=True, check=True)
        lines = [line.strip() for line in done.stdout.splitlines()]
        return {n: [line for line in lines if line.startswith(n + ": ")] for n in scene["plantings"]}


def again(lab):
    """Twice, with more threads, elsewhere, in another language: the same bytes. Another random seed:
    others."""
    scene = garden()
    first = lab.run("first", scene)
    lab.same("run again", first, lab.run("again", scene))
    for threads in (2, 7):
        lab.same("%d threads" % threads, first, lab.run("threads", scene, threads=threads))
    for trials in (1, 15, 16, 17, 2048, 2049):
        lab.same("%d trials on 7 threads" % trials, lab.run("few", scene, trials=trials),
                 lab.run("few7", scene, trials=trials, threads=7))
    elsewhere = os.path.join(lab.folder, "elsewhere")
    os.makedirs(elsewhere)
    lab.same("another working directory", first, lab.run("moved", scene, cwd=elsewhere))
    lab.same("a longer environment", first, lab.run("env", scene, env=dict(os.environ, FILLER="x" * 9000)))
    other = lab.run("other", scene, "--random-seed", "2")
    lab.differ("another random seed", first, other)
    same = sum(a == b for a, b in zip(lab.columns(first, "beans_kg_grown"),
                                      lab.columns(other, "beans_kg_grown")))
    # all blown down
    lab.found.true("another random seed moves every trial", MODEL, same < 60,
                   "%d of 3000 are the same" % same)
    half = lab.run("half", scene, trials=1500)
    with open(os.path.join(first, "trials.csv"), "rb") as a, open(os.path.join(half, "trials.csv"),
                                                                  "rb") as b:
        lab.found.true("fewer trials are the first of more", MODEL, a.read().startswith(b.read()))


def german(lab):
    """A locale with decimal commas, compiled for the purpose where it can be."""
    path = os.path.join(lab.folder, "locales")
    os.makedirs(path)
    made = shutil.which("localedef") and subprocess.run(
        ["localedef", "-i", "de_DE", "-f", "UTF-8", os.path.join(path, "de_DE.UTF-8")],
                                                        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL).returncode
    if made is None or not os.path.isdir(os.path.join(path, "de_DE.UTF-8")):
        print("left out: the German locale cannot be made here")
        return
    env = dict(os.environ, LOCPATH=path, LC_ALL="de_DE.UTF-8", LANG="de_DE.UTF-8")
    said = subprocess.run(["/usr/bin/python3", "-c", "import locale; locale.setlocale(locale.LC_ALL, ''); "
                           "print(locale.localeconv()['decimal_point'])"], env=env, stdout=subprocess.PIPE,
                          text=True).stdout.strip()
    lab.found.equal("the German locale is there", "locale", said, ",")
    lab.same("German locale", lab.run("english", garden(), trials=500),
             lab.run("german", garden(), trials=500, env=env))


def effective(lab):
    """effective.cfg run again gives the same bytes, itself included."""
    for name in ("03_copula_triplets", "05_southern_records", "06_own_seed_three_years",
                 "09_counted_in_winter", "16_every_shape",
                 "17_laid_over"):
        path = os.path.join(HERE, "..", "reference", "scenarios", name + ".cfg")
        one = lab.run("effective_" + name, path, "--random-seed", "9", trials=200)
        two = lab.run("effective2_" + name, os.path.join(one, "effective.cfg"), trials=200)
        rename = lambda out: open(os.path.join(out, "effective.cfg"), encoding="utf-8").read()
        lab.found.equal("%s: effective.cfg" % name, MODEL, rename(two), rename(one))
        for table in ("summary.csv", "weeks.csv", "trials.csv"):
            a, b = scenes.read(one, table), scenes.read(two, table)
            for row in a + b:
                row.pop("scenario")     # the scenario's name is the file's: effective
            lab.found.true("%s again: %s" % (name, table), MODEL, a == b and len(a) > 0, "the figures differ")
    text = lab.run("effective", os.path.join(lab.folder, "effective_16_every_shape", "effective.cfg"),
                   trials=200)
    lab.same("effective.cfg of effective.cfg", text, lab.run("effective3",
                                                             os.path.join(text, "effective.cfg"), trials=200))


def order(lab):
    """Settings in another order, in the file and in its groups, change no byte; nor do adding and reordering
    plantings move
    what the others yield."""
    def turned(value):
        if isinstance(value, dict):
            return {k: turned(v) for k, v in reversed(list(value.items()))}
        return [turned(v) for v in value] if isinstance(value, list) and value and isinstance(value[0],
                                                                                              dict) else value

    scene = garden()
    backwards = turned(scene)
    for group in ("plantings", "crops"):
        backwards[group] = {k: turned(v) for k, v in scene[group].items()}
    plain = lab.run("plain", scene)
    lab.same("settings in another order", plain, lab.run("turned", backwards),
             ("summary.csv", "weeks.csv", "trials.csv"))
    crops = scenes.changed(scene)
    crops["crops"] = dict(reversed(list(scene["crops"].items())))
    lab.same("crops in another order", plain, lab.run("crops", crops),
             ("summary.csv", "weeks.csv", "trials.csv"))
    grown = lab.columns(plain, "beans_kg_grown", "squash_kg_grown", "squash_kg_in")
    swapped = scenes.changed(scene)
    swapped["plantings"] = dict(reversed(list(scene["plantings"].items())))
    lab.found.true("plantings in another order grow the same", MODEL,
                   lab.columns(lab.run("swapped", swapped), "beans_kg_grown", "squash_kg_grown",
                               "squash_kg_in") == grown)
    with_row = scenes.changed(scene, plantings__a_row={"crop": "runner", "count": 4})
    squash = lab.columns(lab.run("with_row", with_row), "squash_kg_grown", "squash_kg_in")
    lab.found.true("a further planting of beans moves no squash", MODEL, squash == [g[1:] for g in grown])
    for trial in (0, 17, 1234567):
        alone, more = lab.diary(scene, trial), lab.diary(with_row, trial)
        other = lab.diary(swapped, trial)
        for planting in scene["plantings"]:
            seasons = len(alone[planting])
            lab.found.true("trial %d: %s has seasons" % (trial, planting), "diary", seasons >= 1)
            lab.found.equal("trial %d: %s beside a further one" % (trial, planting), MODEL, more[planting],
                            alone[planting])
            lab.found.equal("trial %d: %s in another order" % (trial, planting), MODEL, other[planting],
                            alone[planting])


def wigwams(lab):
    """A fourth wigwam leaves the first three's yields bit for bit: what it adds is the same whatever it is
    added to."""
    def grown(count, **changes):
        scene = garden(plantings__wigwams__count=count, **changes)
        del scene["plantings"]["hill"]
        scene["household"]["meals"].pop("squash")
        rows = scenes.read(lab.run("wigwams", scene), "trials.csv")
        return [float(r["beans_kg_grown"]) for r in rows]

    by_count = [grown(n) for n in (1, 2, 3, 4)]
    added = [[b - a for a, b in zip(less, more)] for less, more in zip(by_count, by_count[1:])]
    for n, (less, more) in enumerate(zip(by_count, by_count[1:])):
        # the new one fell: the others are bit for bit as they were
        unmoved = sum(a == b for a, b in zip(less, more))
        lab.found.true("wigwam %d takes nothing from the others" % (n + 2), MODEL,
                       all(b >= a for a, b in zip(less, more)))
        lab.found.true("wigwam %d: where it falls nothing changes" % (n + 2), MODEL, 200 < unmoved < 1500,
                       "%d of 3000" % unmoved)
    certain = grown(3, crops__climber__stands=1.0)
    equal = sum(a == b for a, b in zip(certain, by_count[2]))      # all three stood anyway
    lab.found.true("the luck of standing moves no other luck", MODEL,
                   all(a >= b for a, b in zip(certain, by_count[2])) and equal > 1000,
                   "%d of 3000 are the same" % equal)
    same = sum(a == b for a, b in zip(added[0], added[1]))
    # both fell
    lab.found.true("each wigwam has luck of its own", MODEL, same < 400, "%d of 3000 are the same" % same)
    fractions = grown(3.5)
    lab.found.true("half a fourth wigwam grows half of it", MODEL, all(
        abs((f - a) - (b - a) / 2) <= 1e-8 for a, b, f in zip(by_count[2], by_count[3], fractions)))


def names(lab):
    """A planting's luck hangs on its name; a crop's title, notes and places do not touch it."""
    scene = garden()
    grown = lab.columns(lab.run("named", scene), "beans_kg_grown")
    renamed = scenes.changed(scene)
    renamed["plantings"] = {"poles": scene["plantings"]["wigwams"], "hill": scene["plantings"]["hill"]}
    moved = lab.columns(lab.run("renamed", renamed), "beans_kg_grown", "squash_kg_grown")
    lab.found.true("another name, another luck", MODEL, [m[:1] for m in moved] != grown)
    lab.found.true("the other planting keeps its own", MODEL, [m[1:] for m in moved] == lab.columns(
        os.path.join(lab.folder, "named"), "squash_kg_grown"))
    kept = scenes.changed(scene, places=[{"name": "loft", "holds": 5}], title="Another title",
                          store__look_over_weeks=3,
                          household__eaters=[{"count": 3}], food_years=2)
    rows = scenes.read(lab.run("kept", kept), "trials.csv")
    lab.found.true("keeping and eating move no yield", MODEL,
                   [(r["beans_kg_grown"],) for r in rows if r["food_year"] == "1"] == grown)


def main():
    with tempfile.TemporaryDirectory() as folder:
        lab = Lab(os.path.abspath(sys.argv[1]), folder)
        for part in (again, german, effective, order, wigwams, names):
            part(lab)
        return lab.found.report()


if __name__ == "__main__":
    sys.exit(main())
