#!/usr/bin/python3
"""Malformed, missing, out-of-range, contradictory and hostile input: exit code 2, the mistakes told with
file and line, and an
output folder that holds an earlier run stays as it was.

    bad_input_test.py PROGRAM

The files of bad/ say themselves what is to be said of them, in first lines `//! FILE:LINE: TEXT` (TEXT a
part of the message); so do those of the unit tests of reading scenarios, which go through the whole
program here too.
"""
import glob
import hashlib
import os
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
BAD, WRONG = "tests/whole/bad", "tests/unit/scenario/data/wrong"        # from ROOT
GOOD = "tests/reference/scenarios/01_beans_certain.cfg"

RECORDS = {                             # file of bad/: its messages, as FILE:LINE: TEXT
    "no_column.csv": ['no_column.csv:1: has no column "tmin"'],
    "bad_date.csv": ['bad_date.csv:5: "4.1.2001" is no date'],
    "no_such_day.csv": ['no_such_day.csv:5: "2001-02-30" is no date'],
    "twice.csv": ["twice.csv:6: the date 2001-01-04 stands there twice"],
    "out_of_order.csv": ["out_of_order.csv:8: the date 2000-12-31 is out of order"],
    "dates_backwards.csv": ["dates_backwards.csv:%d: the date 2001-01-%02d is out of order" % (n,
                                                                                               14 - n)
                            for n in range(3, 14)],
    "min_above_max.csv": ["min_above_max.csv:7: the minimum 7.5 is above the maximum 5.6"],
    "impossible.csv": ["impossible.csv:7: a temperature that no weather has had"],
    "colder_than_ever.csv": ["colder_than_ever.csv:7: a temperature that no weather has had"],
    "fahrenheit.csv": ["fahrenheit.csv:%d: a temperature that no weather has had" % n for n in range(2, 14)],
    "empty.csv": ["empty.csv: has no rows below its header"],
    "header_alone.csv": ["header_alone.csv: has no rows below its header"],
    "open_quote.csv": ["open_quote.csv:13: is no CSV from here on"],
    "far_apart.csv": ["far_apart.csv: covers more than 400 years"],
    "too_short.csv": ["too_short.csv: has no season with at most 5 days missing"],
    "nothing_measured.csv": ["nothing_measured.csv: has no season with at most 5 days missing"],
    "semicolon_points.csv": ["semicolon_points.csv: has no season with at most 5 days missing"],
}
SETS = {                                # --set: what is said
    "food_yeras=2": "food_years", "food_years": "food_years", "=3": "", "food_years=": "food_years",
        "food_years=many": "food_years",
    "food_years=0": "allowed 1..50", "food_years=1e99": "food_years",
        "household.eaters[7].count=1": "household.eaters",
    "household.eaters[-1].count=1": "household.eaters", "plantings.none.count=2": "plantings",
        "crops={}": "crops",
    "climate.last_frost=13-01": "MM-DD", "food_years+=99": "allowed 1..50", "title+=1": "title",
        "x" * 5000 + "=1": "",
    "crops.climbing_bean.unit_kg={ p10 = 0": "",
}


def state_of(folder):
    """Names, times and contents."""
    found = []
    for name in sorted(os.listdir(folder)):
        path = os.path.join(folder, name)
        with open(path, "rb") as f:
            found.append((name, os.stat(path).st_mtime_ns, os.stat(path).st_ino,
                          hashlib.sha256(f.read()).hexdigest()))
    return found


class Tries:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.out = os.path.join(folder, "out")
        self.passed = self.failed = 0
        subprocess.run([program, "run", GOOD, "--out", self.out, "--trials", "20", "--quiet"], check=True)
        self.before = state_of(self.out)

    def check(self, good, what):
        self.passed, self.failed = self.passed + bool(good), self.failed + (not good)
        if not good:
            print("bad input: " + what)

    def refused(self, name, path, *options, command="run", seconds=20):
        """What is said of a scenario that must be refused."""
        arguments = [self.program, command, path] + (["--out",
                                                      self.out] if command == "run" else []) + list(options)
        try:
            done = subprocess.run(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=seconds)
        except subprocess.TimeoutExpired:
            self.check(False, "%s: no answer in %d seconds" % (name, seconds))
            return ""
        said = done.stderr.decode("utf-8", "replace")
        self.check(done.returncode == 2, "%s: exit code %d: %.300s" % (name, done.returncode, said))
        self.check(done.stdout == b"", "%s: something on standard output" % name)
        self.check(0 < len(said) < 60000, "%s: %d characters are said" % (name, len(said)))
        self.check(not any(ord(c) < 32 and c not in "\n\t" for c in said),
                   "%s: control characters in what is said" % name)
        self.check(state_of(self.out) == self.before, "%s: the output folder was touched" % name)
        return said

    def says(self, name, said, folder, expected):
        """One line of what is said is FOLDER/FILE:LINE: ...TEXT..."""
        place, _, text = expected.partition(": ")
        begins = os.path.join(folder, place) + ":", os.path.join(os.path.abspath(folder), place) + ":"
        good = any(line.startswith(begins) and text in line[len(place):] for line in said.splitlines())
        self.check(good, "%s: not said: %s\nbut: %.600s" % (name, expected, said))


def expectations(path):
    with open(path, "rb") as f:
        lines = f.read().decode("utf-8", "replace").splitlines()
    return [line[4:] for line in lines if line.startswith("//! ")]


def files(tries):
    for folder in (BAD, WRONG):
        paths = sorted(glob.glob(os.path.join(folder, "*.cfg")))
        tries.check(len(paths) > 20, "%s: only %d files" % (folder, len(paths)))
        for path in paths:
            name, wanted = os.path.basename(path), expectations(path)
            tries.check(len(wanted) > 0, name + ": says nothing of what is expected")
            said = tries.refused(name, path)
            for expected in wanted:
                tries.says(name, said, folder, expected)
            if folder == BAD:
                tries.check(len(said.strip().splitlines()) == len(wanted),
                            "%s: %d mistakes are told, expected %d:\n%s" % (
                    name, len(said.strip().splitlines()), len(wanted), said))


def records(tries):
    with open(os.path.join(BAD, "records_nowhere.cfg"), encoding="utf-8") as f:
        scenario = "".join(line for line in f if not line.startswith("//!"))
    for name in sorted(RECORDS):
        path = os.path.join(tries.folder, "records.cfg")
        with open(path, "w", encoding="utf-8") as f:
            f.write(scenario.replace("nowhere.csv", os.path.abspath(os.path.join(BAD, name))))
        said = tries.refused(name, path)
        for expected in RECORDS[name]:
            tries.says(name, said, os.path.abspath(BAD), expected)
    tries.check(sorted(RECORDS) == sorted(os.path.basename(p) for p in glob.glob(os.path.join(BAD, "*.csv"))),
                "each records file of bad/ stands in the table")


def other_commands(tries):
    for name in ("triplet_infeasible", "open_bracket", "records_nowhere", "shelf_too_old", "many_mistakes"):
        path = os.path.join(BAD, name + ".cfg")
        for command in ("check", "diary"):
            said = tries.refused("%s %s" % (command, name), path, command=command)
            for expected in expectations(path):
                tries.says("%s %s" % (command, name), said, BAD, expected)


def sets(tries):
    for text, fragment in SETS.items():
        said = tries.refused("--set %.40s" % text, GOOD, "--set", text)
        tries.check(fragment in said, "--set %.40s: \"%s\" is not said, but: %.300s" % (text, fragment, said))
    tries.refused("too many settings", GOOD, *["--set", "food_years=1"] * 300)


def hostile(tries):
    """What no grower writes: made here, for its size or its bytes."""
    with open(GOOD, "rb") as f:
        good = f.read()
    made = {
        "NUL bytes": good[:200] + b"\0\0" + good[200:],
        "no text at all": bytes(range(256)) * 40,
        "deep brackets": good + b"title = " + b"(" * 200000 + b")" * 200000 + b";\n",
        "deep groups": good + b"a = { " * 100000 + b"};" * 100000,
        "a long line": good + b"x = 1; " * 400000,
        "a long name": good + b"n" * 1000000 + b" = 1;\n",
        "a long text without an end": good + b'title = "' + b"x" * 2000000,
        "a comment without an end": b"/* " + good,
        "many lists": good + b"notes = ( " + b"( ), " * 200000 + b"( ) );\n",
        "escape sequences": good + b'y\x1b[31m = "\x1b]0;title\x07";\n',
        "not UTF-8": good + b'crops = "\xff\xfe\xc0\x80";\n',
        "includes itself": good + b'@include "hostile.cfg"\n',
        "includes a device": good + b'@include "/dev/zero"\n',
        "extends a device": good + b'extends = "/dev/zero";\n',
        "records from a device": good + b'climate_records = { records_file = "/dev/zero"; };\n',
        "formats": good + b'%s%n%x = "%n%n%n%s";\n',
        "integers too large": good + b"trials = 99999999999999999999999;\n",
        "a hex integer too large": good + b"trials = 0xFFFFFFFFFFFFFFFFFFF;\n",
        "trials below 1": good + b"trials = -9223372036854775808;\n",
        "only a byte order mark": b"\xef\xbb\xbf",
        "nothing": b"",
        "old Mac line ends": good.replace(b"\n", b"\r") + b"unknown = 1;\r",
    }
    path = os.path.join(tries.folder, "hostile.cfg")
    for name, text in made.items():
        with open(path, "wb") as f:
            f.write(text)
        tries.refused(name, path)
    for name, path in (("a device as scenario", "/dev/zero"),
                       ("no file", os.path.join(tries.folder, "none.cfg")),
                       ("a folder", tries.folder), ("an empty name", ""),
                       ("a pipe", os.path.join(tries.folder, "pipe"))):
        if name == "a pipe":
            os.mkfifo(path)
        tries.refused(name, path)


def main():
    program = os.path.abspath(sys.argv[1])
    os.chdir(ROOT)
    with tempfile.TemporaryDirectory() as folder:
        tries = Tries(program, folder)
        for part in (files, records, other_commands, sets, hostile):
            part(tries)
        print("%d passed, %d failed" % (tries.passed, tries.failed))
        return 1 if tries.failed or tries.passed < 500 else 0


if __name__ == "__main__":
    sys.exit(main())
