#!/usr/bin/python3
"""What would eat the memory, climb out of its folder, or run in a spreadsheet.

    hostile_test.py PROGRAM

Every request runs with at most MEMORY bytes of address space: what is absurd is refused before it takes them, and says how much
it would need or what is allowed.
"""
import csv
import glob
import json
import os
import resource
import subprocess
import sys
import tempfile
import time

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import bad_input_test   # noqa: E402

GOOD = "tests/unit/scenario/data/good.cfg"
MEMORY = 2 << 30
YEAR = "[%s]" % ",".join(["3"] * 12)


class Tries(bad_input_test.Tries):
    def __init__(self, program, folder):
        super().__init__(program, folder)
        with open(GOOD, encoding="utf-8") as f:
            self.good = f.read()

    def write(self, name, text):
        path = os.path.join(self.folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "wb") as f:
            f.write(text if isinstance(text, bytes) else text.encode())
        return path

    def edited(self, *changes):
        text = self.good
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        return self.write("hostile.cfg", text)

    def refused(self, name, path, *options, command="run", seconds=20):
        own = () if command == "run" else ("--out", self.out)
        return super().refused(name, path, *own, *options, command=command, seconds=seconds)

    def refused_saying(self, name, fragment, path, *options, command="run"):
        said = self.refused(name, path, *options, command=command)
        self.check(fragment in said, "%s: \"%s\" is not said, but: %.300s" % (name, fragment, said))

    def runs(self, name, *arguments):
        done = subprocess.run([self.program, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=60)
        self.check(done.returncode == 0, "%s: exit code %d: %.300s" % (name, done.returncode, done.stderr))
        return done.returncode == 0


# ---- more than there is room for ---------------------------------------------------------------------------------------

def bean(n, more=""):
    return 'b%d = { kind = "beans"; base_c = %r; unit_kg = 0.5; heat_to_dry = 780; pick_until = "11-05"; plant_out = "05-25"; %s };' \
        % (n, 5 + n / 100, more)


def amounts(tries):
    plant, fruits, kg = "count = 3;", 'fruits = { shape = "poisson"; mean = 3; };', "unit_kg = 0.5;"
    many = "".join('p%d = { crop = "bean"; count = 1; plant_out = "05-25"; };' % n for n in range(300))
    bases, rows = "".join(map(bean, range(190))), "".join('p%d = { crop = "b%d"; count = 1; };' % (n, n) for n in range(190))
    made = "climate = { generator = { seasons = %d; tmin_sd_c = " + YEAR + "; tmax_sd_c = " + YEAR + "; };"
    end = "plantings = {"
    for name, fragment, changes in (
            ("a million plants", "allowed 0..10000", ((plant, "count = 1000000;"),)),
            ("1e308 plants", "allowed 0..10000", ((plant, "count = 1e308;"),)),
            ("plants below nothing", "allowed 0..10000", ((plant, "count = -1e-300;"),)),
            ("a million plantings", "larger than 4194304 bytes", ((end, end + many * 3400),)),
            ("more plantings than allowed", "200", ((end, end + many),)),
            ("a million fruits a plant", "MB of memory a thread", ((fruits, "fruits = 10000;"), (plant, "count = 101;"))),
            ("a million million fruits", "MB of memory a thread",
             ((fruits, 'fruits = { shape = "counts"; values = [0, 1000000000000]; weights = [1, 1]; };'),)),
            ("a fruit in ten thousand million", "allowed: 1000", ((fruits, 'fruits = { shape = "counts"; values = [0, 5000]; weights = [1e9, 1]; };'),)),
            ("fifty years of a field", "MiB of memory a thread",
             ((plant, "count = 9000;"), ("mean = 3; }", "mean = 60; at_most = 100; }"), ("trials = 1000;", "food_years = 50;"))),
            ("jars of a gram", "MB of memory a thread", ((kg, "unit_kg = 500;"), (end, "store = { jar_kg = 0.001; };" + end))),
            ("heat of ten thousand seasons for two hundred crops", "MiB of memory",
             (("climate = {", made % 10000), ("crops = {", "crops = {" + bases), (end, end + rows))),
            ("two thousand million seasons", "allowed 0..10000", (("climate = {", made % 2000000000),)),
            ("two hundred thousand records", "100000", ((kg, "unit_kg = { records = [%s]; };" % ",".join(["0.5"] * 190000)),)),
            ("a thousand million fruits counted", "allowed 0..100000",
             ((end, 'on_shelf = { squash = ( { planting = "bed"; fruits = 1000000000; kg = 1; cut = "10-01"; } ); };' + end),)),
            ("many counts of many fruits", "MB of memory a thread",
             ((end, "on_shelf = { squash = ( %s ); };" % ",".join(['{ planting = "bed"; fruits = 100000; kg = 1; cut = "10-01"; }'] * 99)
               + end),)),
            ("fifty-one years", "allowed 1..50", (("trials = 1000;", "food_years = 51;"),)),
            ("nested groups", "nested too deep", (("trials = 1000;", "a = " + "{ a = " * 50000 + "1; " + "}; " * 50000),)),
            ("nested lists", "nested too deep", (("trials = 1000;", "title = " + "( " * 33 + ") " * 33 + ";"),))):
        tries.refused_saying(name, fragment, tries.edited(*changes))
    tries.refused_saying("why of ten thousand million trials", "MiB of memory", GOOD, "--trials", "10000000000", command="why")


# ---- the ends of what a number or a date can be ------------------------------------------------------------------------

WHOLE = ("2147483647", "2147483648", "-2147483649", "4294967296", "9223372036854775807", "-9223372036854775808", "9223372036854775808L",
         "18446744073709551616", "0x7fffffffffffffff", "0xffffffffffffffff", "1e400", "-1", "1.5")


def limits(tries):
    for setting in ("food_years", "first_year", "store.look_over_weeks", "store.cut_keeps_weeks", "climate.max_missing_days",
                    "plantings.row.eat_rank", "crops.bean.indoor_drying_weeks", "crops.pumpkin.cure_weeks", "store.beans_keep_seasons"):
        for value in WHOLE:
            if value in ("-1", "1.5") and setting == "plantings.row.eat_rank":
                continue
            tries.refused_saying("%s=%s" % (setting, value), setting, GOOD, "--set", "%s=%s" % (setting, value))
    for value in WHOLE[5:8] + WHOLE[9:]:
        tries.refused_saying("random_seed=%s" % value, "random_seed", GOOD, "--set", "random_seed=" + value)
    tries.runs("the greatest random seed", "run", GOOD, "--out", tries.out + "_seed", "--trials", "5", "--quiet", "--random-seed",
               "9223372036854775807")
    for option, value in (("--random-seed", "9223372036854775808"), ("--random-seed", "-1"), ("--trials", "0"), ("--trials", "1e9"),
                          ("--trials", "99999999999999999999"), ("--threads", "65"), ("--threads", "18446744073709551617"),
                          ("--trial", "9223372036854775808"), ("--threads", "\x1b[31m"), ("--no\x1bsuch", "1")):
        tries.refused("%r %s" % (option, value), GOOD, option, value)
    for date in ("00-00", "00-10", "13-01", "02-30", "04-31", "12-32", "99-99", "-1-01", "01--1", "1-1", "01-1", " 05-01", "05-01 ", "05/01",
                 "0501", "05-0A", "2001-05-01", "\uff10\uff15-01", ""):
        tries.refused_saying("the date \"%s\"" % date, "MM-DD", tries.edited(("first_hard_frost = \"10-20\"", 'first_hard_frost = "%s"' % date)))
    for over in ("plantings.row.plant_out=05-01..06-01:1e300", "plantings.row.plant_out=05-01..06-01:366", "climate.warmth=0..1:1e-300",
                 "climate.warmth=-1e308..1e308", "plantings.row.count=1..99999999999999999999999999999999999999999", "plantings.row.count=nan..3",
                 "plantings.row.count=1..inf", "plantings.row.count=1..2:nan", "plantings.row.count=1..2:-1", "plantings.row.count=1..2:0",
                 "plantings.row.count=0..5000", "plantings.row.count=0..500"):
        tries.refused("--over " + over, GOOD, "--over", over, command="vary")


# ---- neither a number nor anything ----------------------------------------------------------------------------------------

NOT_FINITE = ("nan", "NaN", "NAN", "-nan", "inf", "Inf", "-inf", "+inf", "infinity", "-INFINITY", "1e999", "-1e999", "1e400",
              "nan(0x1)", "0x1p9999", "1e", "--1", "1e308e308")


def not_finite(tries):
    for value in NOT_FINITE:
        for place, changes in (("a setting", (("count = 4.5;", "count = %s;" % value),)),
                               ("a list", (("tmin_c = [ 1,", "tmin_c = [ %s," % value),)),
                               ("a distribution", (("sd = 100;", "sd = %s;" % value),)),
                               ("records", (("unit_kg = 0.5;", "unit_kg = { records = [ 0.5, %s ]; };" % value),)),
                               ("a distribution's cut", (("mean = 3; }", "mean = 3; at_most = %s; }" % value),))):
            tries.refused("%s in %s" % (value, place), tries.edited(*changes))
        tries.refused("--set count=" + value, GOOD, "--set", "plantings.row.count=" + value)
        tries.refused("--set count+=" + value, GOOD, "--set", "plantings.row.count+=" + value)
        for command, option in (("compare", "--worth"), ("size", "--risk"), ("size", "--confidence"), ("vary", "--precision")):
            tries.refused("%s %s %s" % (command, option, value), GOOD, option, value, command=command)
    # a sum of two finite numbers that is none
    tries.refused("--set 1e308 + 1e308", GOOD, "--set", "crops.bean.money=1e308", "--set", "crops.bean.money+=1e308")
    header, climate = "date,tmin,tmax\n", tries.good[tries.good.index("climate = {"):tries.good.index("crops = {")]
    days = ["2001-%02d-%02d" % (3 + n // 28, n % 28 + 1) for n in range(250)]
    for value in NOT_FINITE[:14] + ("1.#INF",):       # a cell that is no number is a missing day: here all of them are
        records = tries.write("records.csv", header + "".join("%s,%s,%s\n" % (d, value, value) for d in days))
        tries.refused_saying("%s in a record" % value, "days missing", tries.edited((climate, 'climate = { records_file = "%s"; };' % records)))
        book = tries.write("book.csv", "kind,crop,value\nunit_kg,bean,%s\n" % value)
        tries.refused_saying("%s in a notebook" % value, "is no number", book, command="fit")


# ---- out of the folder, and round in circles ----------------------------------------------------------------------------------

def includes(tries):
    tries.write("outside.inc", "trials = 7;\n")
    tries.write("in/inside.inc", "trials = 7;\n")
    os.symlink("../outside.inc", os.path.join(tries.folder, "in", "link.inc"))
    os.symlink("..", os.path.join(tries.folder, "in", "up"))
    os.symlink("round.inc", os.path.join(tries.folder, "in", "round.inc"))
    os.symlink("/proc/self/environ", os.path.join(tries.folder, "in", "environ.inc"))
    good = tries.good.replace("trials = 1000;", "")
    for name in ("../outside.inc", "./../outside.inc", "x/../../outside.inc", "link.inc", "up/outside.inc", "up/in/up/outside.inc", "round.inc",
                 os.path.join(tries.folder, "in", "inside.inc"), "/etc/passwd", "", ".", "..", "environ.inc", "inside.inc/", "a" * 5000,
                 "inside.inc\x00", "~/x", "file:///etc/passwd"):
        path = tries.write("in/climbs.cfg", good + '@include "%s"\n' % name)
        said = tries.refused("@include %.60r" % name, path)
        tries.check("PATH=" not in said and "root:" not in said, "@include %.60r: the file's text is told" % name)
    tries.write("in/a.inc", '@include "b.inc"\n')
    tries.write("in/b.inc", '@include "./a.inc"\n')
    tries.refused_saying("includes in a loop", "includes itself", tries.write("in/loop.cfg", good + '@include "a.inc"\n'))
    for n in range(12):
        tries.write("in/deep%d.inc" % n, '@include "deep%d.inc"\n' % (n + 1))
    tries.write("in/deep12.inc", "trials = 7;\n")
    tries.refused_saying("includes too deep", "more than 10 deep", tries.write("in/deep.cfg", good + '@include "deep0.inc"\n'))
    tries.write("in/wide.inc", "// nothing\n")
    tries.refused_saying("too many files", "files are read", tries.write("in/wide.cfg", good + '@include "wide.inc"\n' * 2000))
    for n in range(12):                 # each includes the next one twice: 2^12 readings of the last
        tries.write("in/twice%d.inc" % n, '@include "twice%d.inc"\n' % (n + 1) * 2 if n < 9 else "// nothing\n")
    tries.refused_saying("includes that double", "files are read", tries.write("in/double.cfg", good + '@include "twice0.inc"\n'))
    for n in range(12):
        tries.write("in/chain%d.cfg" % n, 'extends = "chain%d.cfg";\n' % (n + 1))
    tries.refused_saying("extends too long a chain", "more than 10", os.path.join(tries.folder, "in", "chain0.cfg"))
    tries.write("in/one.cfg", 'extends = "two.cfg";\n')
    tries.write("in/two.cfg", 'extends = [ "../in/up/in/one" ];\n')
    tries.refused_saying("extends in a loop", "extends itself", os.path.join(tries.folder, "in", "one.cfg"))
    tries.refused("extends what is no file", tries.write("in/none.cfg", good + 'extends = "up";\n'))
    tries.runs("an include inside is taken", "run", tries.write("in/good.cfg", good + '@include "inside.inc"\n'), "--out", tries.out + "_in",
               "--quiet")


# ---- names that a terminal or a spreadsheet would obey ------------------------------------------------------------------------

NAMES = ("=1+1", "+1+1", "-1-1", "@SUM(A1)", "=cmd|' -C calc'!A0", '=HYPERLINK("x";"y")', "-2+3", "\t=1", "\x1b]0;title\x07", "a\nb", "a\r\n=b",
         "%s%n", "a;b,c\"d", "\u202etxt", "\x85=1", "$(touch pwned)", "`touch pwned`", "-o", "--help")


def is_number(text):
    try:
        return float(text) or True
    except ValueError:
        return False


def cells_are_tame(tries, name, folder):
    """No cell is a formula, no file name or cell has a control character, and the metadata can be read."""
    tables = glob.glob(os.path.join(folder, "*.csv"))
    tries.check(len(tables) > 0, "%s: no table" % name)
    for path in tables:
        with open(path, newline="", encoding="utf-8") as f:
            for row in csv.reader(f):
                for cell in row:
                    tame = not cell.startswith(("=", "+", "-", "@", "\t", "\r")) or is_number(cell)
                    tame = tame and not any(ord(c) < 32 or 127 <= ord(c) < 160 for c in cell)
                    tries.check(tame, "%s: the cell %r in %s" % (name, cell, os.path.basename(path))) if not tame else None
    tries.check(True, "")
    with open(os.path.join(folder, "datapackage.json"), encoding="utf-8") as f:
        tries.check(json.load(f)["resources"], "%s: no resources" % name)


def names(tries):
    before = set(os.listdir("."))
    for number, name in enumerate(NAMES):
        path = tries.write("%s.cfg" % name.replace("/", ""), tries.good)
        out = os.path.join(tries.folder, "names%d" % number)
        if tries.runs("a scenario named %r" % name, "run", path, "--out", out, "--trials", "5", "--quiet", "--per-trial"):
            cells_are_tame(tries, "a scenario named %r" % name, out)
        out += "compared"
        if tries.runs("compare %r" % name, "compare", path, path, "--versus", "title=%s" % ("x" + name.replace('"', "")), "--out", out, "--trials",
                      "20", "--quiet") if not any(ord(c) < 32 or c in ";\x85" for c in name) else False:
            cells_are_tame(tries, "compare %r" % name, out)
        # as a title or a place's name; control characters are refused there
        escaped = name.replace("\\", "\\\\").replace('"', '\\"')
        path = tries.edited(('title = "Small plot";', 'title = "%s"; places = ( { name = "%s"; } );' % (escaped, escaped)))
        if any(ord(c) < 32 or 127 <= ord(c) < 160 for c in name):
            tries.refused("the title %r" % name, path)
        elif tries.runs("the title %r" % name, "run", path, "--out", out + "titled", "--trials", "5", "--quiet"):
            cells_are_tame(tries, "the title %r" % name, out + "titled")
        # as a crop's or planting's name
        path = tries.edited(("pumpkin = {", "%s = {" % name))
        tries.refused("a crop named %r" % name, path)
    if tries.runs("rungs below 0", "vary", GOOD, "--over", "climate.warmth=-1..1", "--out", tries.out + "_vary", "--trials", "20", "--quiet"):
        cells_are_tame(tries, "rungs below 0", tries.out + "_vary")
        with open(os.path.join(tries.out + "_vary", "vary.csv"), newline="", encoding="utf-8") as f:
            tries.check({r["rung"] for r in csv.DictReader(f)} == {"-1", "0", "1"}, "rungs below 0 are numbers")
    tries.check(set(os.listdir(".")) == before, "a name was obeyed: %s" % (set(os.listdir(".")) - before))


# ---- where the output goes ----------------------------------------------------------------------------------------------------

def outputs(tries):
    text = tries.write("precious.txt", "precious")
    for name, target in (("a link to a file", text), ("a link to nothing", os.path.join(tries.folder, "nowhere")),
                         ("a link to itself", os.path.join(tries.folder, "a link to itself"))):
        link = os.path.join(tries.folder, name)
        os.symlink(target, link)
        tries.refused("--out " + name, GOOD, "--out", link)
    for name in ("/proc/self/out", "/dev/null", "/dev/full", text, text + "/below", "x" * 300, "/" + "x/" * 3000):
        tries.refused("--out %.40s" % name, GOOD, "--out", name)
    tries.check(open(text, encoding="utf-8").read() == "precious", "a file in the way was touched")
    real, link = os.path.join(tries.folder, "real"), os.path.join(tries.folder, "folder by a link")
    os.mkdir(real)
    os.symlink(real, link)
    os.symlink(text, os.path.join(real, "summary.csv"))     # what stands there is replaced, not written through
    if tries.runs("--out a link to a folder", "run", GOOD, "--out", link, "--trials", "5", "--quiet"):
        tries.check(os.path.isfile(os.path.join(real, "datapackage.json")), "a link to a folder: nothing is there")
        tries.check(not os.path.islink(os.path.join(real, "summary.csv")), "a link to a folder: summary.csv is still a link")
        tries.check(open(text, encoding="utf-8").read() == "precious", "summary.csv was written through its link")
    os.mkdir(os.path.join(real, "weeks.csv.d"))
    os.remove(os.path.join(real, "weeks.csv"))
    os.rename(os.path.join(real, "weeks.csv.d"), os.path.join(real, "weeks.csv"))
    done = subprocess.run([tries.program, "run", GOOD, "--out", real, "--trials", "5", "--quiet"], stderr=subprocess.PIPE)
    tries.check(done.returncode == 1 and b"weeks.csv" in done.stderr, "a folder in a file's place: %r" % done.stderr)
    tries.check(not [f for f in os.listdir(real) if f.endswith(".part")], "a folder in a file's place: a temporary is left")
    long = subprocess.Popen([tries.program, "run", GOOD, "--out", tries.out, "--trials", "1000000000", "--per-trial", "--quiet"],
                            stderr=subprocess.DEVNULL)
    try:
        while long.poll() is None and not [f for f in os.listdir(tries.out) if f.endswith(".part")]:
            time.sleep(0.01)            # until it has its lock
        for command, more in (("run", ()), ("vary", ("--over", "plantings.row.count=1..2")), ("why", ())):
            done = subprocess.run([tries.program, command, GOOD, "--out", tries.out, "--trials", "5", "--quiet", *more], stderr=subprocess.PIPE)
            tries.check(done.returncode == 2 and b"in use" in done.stderr, "%s into another run's folder: %r" % (command, done.stderr))
    finally:
        long.terminate()
        tries.check(long.wait(timeout=30) == 143, "the other run is ended by the signal")


def main():
    program = os.path.abspath(sys.argv[1])
    os.chdir(bad_input_test.ROOT)
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    with tempfile.TemporaryDirectory() as folder:
        tries = Tries(program, folder)
        for part in (amounts, limits, not_finite, includes, names, outputs):
            part(tries)
        print("%d passed, %d failed" % (tries.passed, tries.failed))
        return 1 if tries.failed or tries.passed < 500 else 0


if __name__ == "__main__":
    sys.exit(main())
