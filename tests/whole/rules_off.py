#!/usr/bin/python3
"""Each rule of the model switched off in turn: a test must notice.

    rules_off.py PROGRAM [--only REGEX] [--search] [--jobs N]

tests/whole/rules/*.rules lists the rules room by room, each in the model's words, with the test that should notice first and
the edits that switch the rule off in a copy of the source. Only the file edited is compiled anew, and linked before the library.
An edit that does not fit its file exactly once is reported, all of them at once, and nothing is run. The tests named are run on
the program as it is first: they must pass. --search tries every quick test on the rules picked by --only, and lists who notices.
"""
import argparse
import concurrent.futures
import contextlib
import glob
import importlib
import io
import os
import re
import subprocess
import sys
import tempfile
import time

sys.dont_write_bytecode = True
HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, HERE)

import checks           # noqa: E402
import luck_test        # noqa: E402
import scenes           # noqa: E402
import second_opinion   # noqa: E402

CC = ["gcc", "-std=c11", "-D_XOPEN_SOURCE=700", "-D_DEFAULT_SOURCE", "-ffp-contract=off", "-fno-fast-math", "-O1", "-w"]
LIBRARIES = ["-lconfig", "-lcsv", "-lgsl", "-lgslcblas", "-lm", "-lpthread"]
TRIALS = 20000          # of a second opinion: as many as the figures kept have
TIME_LIMIT = 30         # seconds that a program may take with a rule off: one that never ends is noticed
CLOSED = ("by_hand", "closed_beans", "closed_squash", "closed_years")


# ---- the list of rules --------------------------------------------------------------------------------------------

class Rule:
    def __init__(self, name, where):
        self.name, self.where = name, where     # where: of the list, for messages
        self.tests, self.edits = [], []         # edits: [file, old, new]


def read_rules():
    """rule: NAME / test: KIND NAME[, KIND NAME ...] / file: PATH / - what stands there / + what stands there instead; \\n: a line's end."""
    rules, path = [], None
    for listing in sorted(glob.glob(os.path.join(HERE, "rules", "*.rules"))):
        for number, line in enumerate(open(listing, encoding="utf-8"), 1):
            where = "%s:%d" % (os.path.relpath(listing, ROOT), number)
            key, _, rest = line.strip().partition(" ")
            if key == "rule:":
                rules.append(Rule(rest.strip(), where))
            elif key == "test:":
                rules[-1].tests = [tuple(t.split(None, 1)) for t in rest.split(",")]
            elif key == "file:":
                path = rest.strip()
            elif key == "-":
                rules[-1].edits.append([path, rest.strip().replace("\\n", "\n"), "", where])
            elif key == "+":
                rules[-1].edits[-1][2] = rest.strip().replace("\\n", "\n")
            elif key and not key.startswith("#"):
                sys.exit("%s: not understood: %s" % (where, line.strip()))
    return rules


def mutated(rule):
    """The rule's files with the edits made, and what is wrong with the edits."""
    texts, stale = {}, []
    for path, old, new, where in rule.edits:
        if path not in texts:
            try:
                texts[path] = open(os.path.join(ROOT, path), encoding="utf-8").read()
            except OSError:
                texts[path] = ""
        found = texts[path].count(old)
        if found != 1:
            stale.append("%s: found %d times in %s, should be once: %s" % (where, found, path, old))
        texts[path] = texts[path].replace(old, new, 1)
    if not rule.edits or not rule.tests:
        stale.append("%s: no edit, or no test" % rule.where)
    return texts, stale


# ---- building -----------------------------------------------------------------------------------------------------

def compiled(source, out, *include):
    subprocess.run(CC + ["-I" + i for i in include] + ["-I" + os.path.join(ROOT, i) for i in ("src", "tests", "tests/unit")]
                   + ["-c", "-o", out, source], check=True, stderr=subprocess.PIPE, text=True)
    return out


def users(build, header):
    """Sources that include a header, by the compiler's own notes."""
    found = []
    for notes in glob.glob(os.path.join(build, "*", "*.d")):
        source = os.path.join("src", os.path.relpath(notes, build))[:-2] + ".c"     # other builds lie in folders beside the rooms'
        if os.path.exists(os.path.join(ROOT, source)) and re.search(r"\s%s\s" % re.escape(header), open(notes, encoding="utf-8").read() + " "):
            found.append(source)
    return found


class Mutant:
    """A rule switched off: its objects, and the programs linked from them."""

    def __init__(self, build, folder, texts):
        self.build, self.folder, self.objects = build, folder, []
        sources = set()
        for path, text in texts.items():
            at = os.path.join(folder, path)
            os.makedirs(os.path.dirname(at), exist_ok=True)
            with open(at, "w", encoding="utf-8") as f:
                f.write(text)
            sources |= set([path] if path.endswith(".c") else users(build, path))
        for n, path in enumerate(sorted(sources)):
            at = os.path.join(folder, path)
            source = at if os.path.exists(at) else os.path.join(ROOT, path)
            self.objects.append(compiled(source, os.path.join(folder, "%d.o" % n), os.path.join(folder, "src")))

    def linked(self, name, main):
        out = os.path.join(self.folder, name)
        if not os.path.exists(out):
            subprocess.run(["gcc", "-o", out, main] + self.objects + [os.path.join(self.build, "libtideover.a"), "-lcmocka"]
                           + LIBRARIES, check=True, stderr=subprocess.PIPE, text=True)
        return out

    def program(self):
        """A script that ends the program where it goes on for ever."""
        out, real = os.path.join(self.folder, "tideover"), self.linked("endless", os.path.join(self.build, "main.o"))
        with open(out, "w", encoding="utf-8") as f:
            f.write('#!/bin/sh\nexec timeout -s KILL %d %s "$@"\n' % (TIME_LIMIT, real))
        os.chmod(out, 0o755)
        return out

    def unit(self, name):
        """A unit test of the library with this rule off; headers edited are seen by the test too."""
        source = os.path.join(ROOT, "tests", "unit", name + "_test.c")
        main = os.path.join(self.folder, name.replace("/", "_") + "_test.o")
        return self.linked(name.replace("/", "_"), compiled(source, main, os.path.join(self.folder, "src")))


# ---- tests: each returns None when all is well, else what it found ---------------------------------------------------

def first_line(text):
    lines = [line for line in text.splitlines() if line.strip()]
    return lines[0].strip()[:110] if lines else "it failed"


def first_error(text):
    """A compiler's first error."""
    return first_line("\n".join(line for line in text.splitlines() if "error:" in line or "undefined" in line) or text)


def run_unit(mutant, name):
    """Stops at the first test that fails: the last one begun."""
    done = subprocess.run(["stdbuf", "-oL", mutant.unit(name)], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          timeout=TIME_LIMIT, errors="replace", env=dict(os.environ, CMOCKA_TEST_ABORT="1"))
    begun = [line.partition("]")[2].strip() for line in done.stdout.splitlines() if "[ RUN" in line]
    return None if done.returncode == 0 else begun[-1] if begun else "exit code %d" % done.returncode


def run_opinion(mutant, name):
    options = argparse.Namespace(trials=TRIALS, seed=20, fresh=0)
    into = second_opinion.Comparison(False)
    try:
        second_opinion.one(mutant.program(), os.path.join(HERE, "..", "reference", "scenarios", name + ".cfg"), options, into)
    except subprocess.CalledProcessError as error:
        return "the program ended with %d" % error.returncode
    except (KeyError, ValueError) as error:
        return "its tables do not fit together: %r" % error
    level = second_opinion.LEVEL / 20 / len(into.checks)
    worst = min(into.checks, key=lambda c: c[1])
    return "%s: %s" % (worst[0].partition(" ")[2], worst[2]) if worst[1] < level else None


def run_closed(mutant, name):
    found = checks.Checks()
    part = [p for module in CLOSED for p in importlib.import_module(module).ALL if p.__name__ == name][0]
    with tempfile.TemporaryDirectory() as folder:
        def go(scene_name, scene, trials, *more):
            return scenes.run(mutant.program(), scene, folder, scene_name, trials, "--random-seed", "1", *more)
        go.folder = folder
        return judged(found, lambda: part(found, go))


def run_luck(mutant, name):
    with tempfile.TemporaryDirectory() as folder:
        lab = luck_test.Lab(mutant.program(), folder)
        return judged(lab.found, lambda: getattr(luck_test, name)(lab))


def judged(found, work):
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        try:
            work()
            code = found.report()
        except (SystemExit, OSError, KeyError, ValueError, AssertionError, IndexError, subprocess.SubprocessError) as error:
            return first_line(str(error) or repr(error))
    return first_line(said.getvalue()) if code else None


def run_whole(mutant, name):
    """A test of tests/whole that prints what failed."""
    done = subprocess.run([os.path.join(HERE, name), mutant.program()], cwd=ROOT, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, timeout=TIME_LIMIT, errors="replace")
    return first_line(done.stdout) if done.returncode != 0 else None


class NotBuilt(Exception):
    """A test that does not go with the source: neither noticed nor not."""


KINDS = {"unit": run_unit, "opinion": run_opinion, "closed": run_closed, "luck": run_luck, "whole": run_whole}


def noticed(mutant, test):
    try:
        return KINDS[test[0]](mutant, test[1])
    except subprocess.TimeoutExpired:
        return "it never ended"
    except subprocess.CalledProcessError as error:
        raise NotBuilt("%s %s cannot be built: %s" % (test + (first_error(error.stderr),)))


# ---- the work -------------------------------------------------------------------------------------------------------

def quick_tests():
    """Every quick test there is, the cheapest first."""
    every = [("opinion", os.path.basename(s)[:-4]) for s in sorted(glob.glob(os.path.join(HERE, "..", "reference", "scenarios", "[0-9]*.cfg")))]
    every += [("closed", p.__name__) for module in CLOSED for p in importlib.import_module(module).ALL]
    every += [("whole", "bad_input_test.py")]
    every += [("luck", p) for p in ("names", "wigwams", "order", "again")]
    return every + [("unit", os.path.relpath(t, os.path.join(ROOT, "tests", "unit"))[:-7])
                    for t in sorted(glob.glob(os.path.join(ROOT, "tests", "unit", "*", "*_test.c"))) if "memory_test" not in t]


def switch_off(build, rule, texts, search):
    """(whether it was noticed, what to print)"""
    with tempfile.TemporaryDirectory() as folder:
        try:
            mutant = Mutant(build, folder, texts)
            mutant.program()
        except subprocess.CalledProcessError as error:
            return False, "%s: cannot be built: %s" % (rule.where, first_error(error.stderr))
        found = []
        for test in quick_tests() if search else rule.tests:
            try:
                what = noticed(mutant, test)
            except NotBuilt as error:
                return False, "%s: %s" % (rule.where, error)
            if what and not search:
                return True, "%s %s: %s" % (test + (what,))
            if what:
                found.append(" ".join(test))
        if search:
            return bool(found), "; ".join(found)
        return False, "%s: SURVIVES %s" % (rule.where, ", ".join(" ".join(t) for t in rule.tests))


def as_it_is(build, test):
    with tempfile.TemporaryDirectory() as folder:
        try:
            return noticed(Mutant(build, folder, {}), test)
        except NotBuilt as error:
            return str(error)


def main():
    options = argparse.ArgumentParser()
    options.add_argument("program")
    options.add_argument("--only", default="", help="a regular expression that a rule's name and place fit")
    options.add_argument("--search", action="store_true")
    options.add_argument("--jobs", type=int, default=2)
    options = options.parse_args()
    build, began = os.path.dirname(os.path.abspath(options.program)), time.time()
    rules = [r for r in read_rules() if re.search(options.only, r.name + " " + r.where)]
    texts, stale = {}, []
    for rule in rules:
        texts[rule], wrong = mutated(rule)
        stale += wrong
    if stale or not rules:
        print("\n".join(["rules: these edits are stale, mend them:"] + stale))
        print("0 passed, %d failed" % max(1, len(stale)))
        return 1
    bad = 0
    with concurrent.futures.ProcessPoolExecutor(options.jobs) as pool:
        tests = sorted({t for r in rules for t in r.tests}) if not options.search else []
        for test, found in zip(tests, pool.map(as_it_is, [build] * len(tests), tests)):
            if found:
                bad += 1
                print("the program as it is fails %s %s: %s" % (test + (found,)))
        args = ([build] * len(rules), rules, [texts[r] for r in rules], [options.search] * len(rules))
        for rule, (good, text) in zip(rules, pool.map(switch_off, *args)):
            bad += not good
            print("%-70s %s" % (rule.name, text), flush=True)
    print("%d rules switched off one by one, %d tests, %.0f s" % (len(rules), len(tests), time.time() - began))
    print("%d passed, %d failed" % (len(rules) + len(tests) - bad, bad))
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
