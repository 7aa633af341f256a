#!/usr/bin/python3
"""A run in parts, merged, and a run that was interrupted and went on, give the bytes of the whole run; whatever is no whole
set of parts of one run is refused by name, with nothing touched.

    parts_test.py PROGRAM

The state files are taken apart and put together here by a reader of their own (struct, hashlib), so that their format is
checked from outside too: little-endian numbers, IEEE 754 doubles, SHA-256 (FIPS 180-4).
"""
import hashlib
import os
import random
import re
import resource
import shutil
import signal
import struct
import subprocess
import sys
import tempfile
import time

from counted import COUNT, check, end

sys.dont_write_bytecode = True
ROOT = os.path.normpath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
REFERENCE = os.path.join(ROOT, "tests", "reference", "scenarios")
BASE = [os.path.join(ROOT, "scenarios", "base.cfg"), "--configs", os.path.join(ROOT, "configs")]
SHAPES = [os.path.join(REFERENCE, "16_every_shape.cfg")]
DOUBT = BASE + ["--set", "crops.climbing_french_bean.unit_kg.from_records=6", "--set",
                "crops.buttercup_squash.keeps_weeks.from_records=9"]
SCENES = {                              # between them: squash, beans, food years, a counted shelf, recorded weather, doubt
    "base": BASE, "doubt": DOUBT, "every shape": SHAPES,
    "three years": [os.path.join(REFERENCE, "06_own_seed_three_years.cfg")],
    "recorded weather": [os.path.join(REFERENCE, "04_records_weather.cfg")],
    "eking out": [os.path.join(REFERENCE, "08_eking_out.cfg")],
    "counted in winter": [os.path.join(REFERENCE, "09_counted_in_winter.cfg")],
    "counted in spring": [os.path.join(REFERENCE, "11_counted_in_spring.cfg")],
    "sampling sobol": BASE + ["--set", "sampling=sobol"], "sampling antithetic": SHAPES + ["--set", "sampling=antithetic"],
    "nothing at all": [os.path.join(REFERENCE, "19_nothing_at_all.cfg")],
}
SAMPLING = ["sampling.csv"]            # beside them, where trials share words out
FILES = ["datapackage.json", "effective.cfg", "summary.csv", "weeks.csv"]
MEMORY = 1 << 30                        # bytes that a refusal may take, of address space
PROGRAM = None


def go(*arguments, cwd=None, limited=False):
    def limit():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    return subprocess.run([PROGRAM, *map(str, arguments)], cwd=cwd, text=True, stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE, timeout=300, preexec_fn=limit if limited else None)


def content(path):
    with open(path, "rb") as f:
        return f.read()


def state_of(folder):
    """Names, times and contents of what may not be touched."""
    return [(n, os.stat(os.path.join(folder, n)).st_mtime_ns, hashlib.sha256(content(os.path.join(folder, n))).hexdigest())
            for n in sorted(os.listdir(folder))]


# ---- the format, read and written here on its own ------------------------------------------------------------------

class State:
    """A state file's head; `figures` are its packed figures."""
    TEXTS = ("version", "name", "scenario_sha256", "records_sha256", "settings")
    NUMBERS = ("stream_version", "random_seed", "trials", "part", "parts", "first", "done", "until")
    FIRST_LINE = b"tideover-state 2\n"

    def __init__(self, path):
        data = content(path)
        body, digits = data[:-64], data[-64:]
        if not body.startswith(self.FIRST_LINE) or hashlib.sha256(body).hexdigest().encode() != digits:
            raise ValueError("%s: first line or checksum" % path)
        at = len(self.FIRST_LINE)
        for name in self.TEXTS:
            n = struct.unpack_from("<Q", body, at)[0]
            text = body[at + 8:at + 8 + n]
            if text[-1:] != b"\0":
                raise ValueError("%s: %s has no end" % (path, name))
            setattr(self, name, text[:-1].decode())
            at += 8 + n
        for name in self.NUMBERS:
            setattr(self, name, struct.unpack_from("<q", body, at)[0])
            at += 8
        self.precision = struct.unpack_from("<d", body, at)[0]
        self.figures = body[at + 8:]

    def write(self, path, **changes):
        for name, value in changes.items():
            setattr(self, name, value)
        body = self.FIRST_LINE
        for name in self.TEXTS:
            text = getattr(self, name).encode() + b"\0"
            body += struct.pack("<Q", len(text)) + text
        for name in self.NUMBERS:
            body += struct.pack("<q", getattr(self, name))
        body += struct.pack("<d", self.precision) + self.figures
        with open(path, "wb") as f:
            f.write(body + hashlib.sha256(body).hexdigest().encode())
        return path


# ---- parts and the whole ---------------------------------------------------------------------------------------------

def make_parts(folder, name, scene, trials, parts, threads=1, *options):
    """The files of a run's parts, in a folder of their own."""
    out = os.path.join(folder, name)
    made = []
    for part in range(1, parts + 1):
        done = go("run", *scene, "--trials", trials, "--part", "%d/%d" % (part, parts), "--out", out, "--threads", threads, *options)
        path = os.path.join(out, "part-%0*d-of-%d.tideover-state" % (len(str(parts)), part, parts))
        check("%s: part %d of %d" % (name, part, parts), done.returncode == 0 and os.path.isfile(path) and path in done.stdout,
              done.stderr)
        made.append(path)
    return made


def same_run(what, a, b, told_a, told_b):
    check(what + ": standard output", told_a == told_b and len(told_a) > 500, "differs, or is short")
    files = sorted(FILES + (SAMPLING if "sampling" in what else []))
    check(what + ": files", sorted(os.listdir(a)) == sorted(os.listdir(b)) == files, "%s, %s" % (os.listdir(a), os.listdir(b)))
    for name in files:
        check("%s: %s" % (what, name), content(os.path.join(a, name)) == content(os.path.join(b, name)), "differs")


def whole_run(folder, name, scene, trials, *options):
    """Runs it in a folder of its own, into out/; its folder and what it said."""
    cwd = os.path.join(folder, name + " whole")
    os.makedirs(cwd, exist_ok=True)
    done = go("run", *scene, "--trials", trials, "--out", "out", *options, cwd=cwd)
    check("%s: the whole run" % name, done.returncode == 0, done.stderr)
    return os.path.join(cwd, "out"), done.stdout


def merged_run(folder, name, paths, *options):
    cwd = os.path.join(folder, name + " merged")
    shutil.rmtree(cwd, ignore_errors=True)
    os.makedirs(cwd)
    done = go("merge", *paths, "--out", "out", *options, cwd=cwd)
    check("%s: merge" % name, done.returncode == 0 and not done.stderr, done.stderr)
    return os.path.join(cwd, "out"), done.stdout


def parts_are_the_whole(folder):
    cases = [(name, trials, parts) for name in SCENES for trials, parts in ((1000, 3), (5003, 7))]
    cases += [("every shape", 2048, 16), ("every shape", 2049, 5), ("base", 37, 3), ("base", 1, 1), ("doubt", 20000, 16),
              ("three years", 333, 21)]
    for i, (name, trials, parts) in enumerate(cases):
        what = "%s, %d trials, %d parts" % (name, trials, parts)
        whole, told = whole_run(folder, what, SCENES[name], trials, "--threads", 1 + i % 3)
        made = make_parts(folder, what, SCENES[name], trials, parts, 1 + (i + 1) % 4)
        random.shuffle(made)
        merged, told_merged = merged_run(folder, what, made)
        same_run(what, whole, merged, told, told_merged)
        states = sorted((State(path) for path in made), key=lambda s: s.part)
        bounds = [s.first for s in states] + [trials]
        check(what + ": trials", bounds[0] == 0 and all(s.done == bounds[k + 1] - bounds[k] for k, s in enumerate(states))
              and all(b % 16 == 0 for b in bounds[:-1]) and all(s.trials == trials for s in states), str(bounds))
        check(what + ": settings", all(s.settings.encode() == content(os.path.join(whole, "effective.cfg")) for s in states))
    sizes = ["%d" % (os.path.getsize(p) // 1024) for p in made]
    print("parts: files of %s KiB" % ", ".join(sizes[:3]))


def other_dialects(folder):
    """What only says how to print is for merge."""
    for option in ("--decimal-comma", "--pounds"):
        whole, told = whole_run(folder, option, BASE, 500, option)
        made = make_parts(folder, option, BASE, 500, 2)
        merged, told_merged = merged_run(folder, option, made, option)
        same_run(option, whole, merged, told, told_merged)
    before = content(os.path.join(folder, "--pounds", "part-1-of-2.tideover-state"))
    make_parts(folder, "--pounds", BASE, 500, 2, 3)
    check("a part again, with more threads", before == content(os.path.join(folder, "--pounds", "part-1-of-2.tideover-state")))


# ---- what is refused --------------------------------------------------------------------------------------------------

class Refusals:
    def __init__(self, folder):
        self.folder = os.path.join(folder, "refusals")
        self.made = make_parts(self.folder, "parts", SHAPES, 3000, 4)
        self.out = os.path.join(self.folder, "out")
        done = go("merge", *self.made, "--out", self.out, "--quiet")
        check("a set to begin with", done.returncode == 0, done.stderr)
        self.before = state_of(self.out)

    def refused(self, what, paths, *said, options=()):
        done = go("merge", *paths, "--out", self.out, *options, limited=True)
        check("%s: exit code" % what, done.returncode == 2, "%d %s" % (done.returncode, done.stderr[:300]))
        check("%s: said" % what, all(s in done.stderr for s in said) and "Sanitizer" not in done.stderr,
              "%s is not in: %s" % (said, done.stderr[:400]))
        check("%s: nothing printed" % what, done.stdout == "", done.stdout[:100])
        check("%s: nothing touched" % what, state_of(self.out) == self.before, "the output was")

    def forged(self, what, *said, of=1, **changes):
        """Part `of` under a right checksum, with a changed head."""
        path = State(self.made[of]).write(os.path.join(self.folder, "forged"), **changes)
        self.refused(what, [p if k != of else path for k, p in enumerate(self.made)], "forged", *said)


def sets_of_parts(r):
    made = r.made
    r.refused("missing one", made[:2] + made[3:], "of 4 parts 1 is missing: 3")
    r.refused("missing two", made[1:3], "of 4 parts 2 are missing: 1, 4")
    r.refused("the same twice", made + made[2:3], "is part 3 of 4, and so is", made[2])
    copy = os.path.join(r.folder, "copy")
    shutil.copy(made[0], copy)
    r.refused("a copy beside it", made + [copy], "copy: is part 1 of 4, and so is " + made[0])
    r.refused("no part", [], "merge wants the state files")
    large = make_parts(r.folder, "many", SHAPES, 3000, 40)
    r.refused("most missing", large[:5], "of 40 parts 35 are missing: 6, 7, 8,", "and others")
    r.refused("of another number of parts", made[:3] + large[:1], large[0], "it is of a run in 40 parts, this is one in 4")


def foreign_parts(r):
    made = r.made
    others = {
        "another random seed": (["--random-seed", "2"], 'it has "random_seed = 2" where this has "random_seed = 1"'),
        "another setting": (["--set", "store.jar_kg=0.4"], "it has \"jar_kg = 0.4\""),
        "more trials": (["--trials", "3001"], 'it has "trials = 3001" where this has "trials = 3000"'),
    }
    for what, (options, said) in others.items():
        other = make_parts(r.folder, what, SHAPES, 3000, 4, 1, *options)
        r.refused(what, made[:3] + other[3:], other[3], "is a part of another run than " + made[0], said)
        r.refused(what + " first", other[3:] + made[:3], made[0], "is a part of another run than " + other[3])
    other = make_parts(r.folder, "another scenario", [os.path.join(REFERENCE, "14_die_back_and_places.cfg")], 3000, 4)
    r.refused("another scenario", made[:3] + other[3:], other[3], "is a part of another run")
    copied = os.path.join(r.folder, "16_every_shape.cfg")
    with open(copied, "wb") as f:
        f.write(content(SHAPES[0]) + b"// a note\n")
    other = make_parts(r.folder, "the same settings in another file", [copied], 3000, 4)
    r.refused("the same settings in another file", made[:3] + other[3:], other[3], "its settings files are others")
    r.forged("another version", "another version of tideover", version="9.9.9")
    r.forged("another stream version", "another version of tideover", stream_version=99)
    r.forged("another version, first", "another version of tideover", of=0, version="9.9.9")
    r.forged("another name", "it is of the scenario other, this is 16_every_shape", name="other")


def damaged_parts(r):
    whole = content(r.made[1])
    path = os.path.join(r.folder, "damaged")

    def damaged(what, data):
        with open(path, "wb") as f:
            f.write(data)
        r.refused(what, [r.made[0], path] + r.made[2:], "damaged:")
    places = sorted(set(range(0, 40)) | set(random.sample(range(len(whole)), 60)) | {len(whole) - 1, len(whole) - 64, len(whole) - 65})
    for at in places:
        damaged("byte %d changed" % at, whole[:at] + bytes([whole[at] ^ 1 << random.randrange(8)]) + whole[at + 1:])
    for n in sorted({0, 1, 16, 17, 80, 81, len(whole) // 2, len(whole) - 1} | set(random.sample(range(len(whole)), 12))):
        damaged("cut to %d bytes" % n, whole[:n])
    damaged("a byte more", whole + b"x")
    damaged("twice in one file", whole + whole)
    damaged("with carriage returns", whole.replace(b"\n", b"\r\n"))
    damaged("a settings file", content(SHAPES[0]))
    damaged("random bytes", bytes(random.randrange(256) for _ in range(5000)))
    for what in (r.folder, "nowhere", "/dev/null"):
        r.refused("%s as a part" % what, r.made[:3] + [what], what + ": cannot be read")


def claims(r):
    """Heads and figures that claim what cannot be, under a right checksum: refused, at no expense."""
    huge = (1 << 63) - 1
    for what, changes in {
            "part 0": {"part": 0}, "part 5 of 4": {"part": 5}, "parts without end": {"parts": huge},
            "ten thousand parts": {"parts": 10000}, "trials without end": {"trials": huge}, "no trials": {"trials": 0},
            "a first trial before all": {"first": -16}, "a first trial after all": {"first": huge},
            "another first trial": {"first": 16}, "more done than there are": {"done": huge}, "less done": {"done": 16},
            "nothing done": {"done": 0}, "an end beyond": {"until": huge}, "a precision": {"precision": 0.01},
            "no number as precision": {"precision": float("nan")}, "another seed in the head": {"random_seed": 7},
            "no figures": {"figures": b""}}.items():
        r.forged(what, **changes)
        r.forged(what + ", first", of=0, **changes)
    r.forged("settings that extend", "extend nothing", of=0, settings='extends = "base.cfg";\n')
    r.forged("settings that include", "include nothing", of=0, settings='@include "base.cfg"\n')
    r.forged("no settings", of=0, settings="")
    r.forged("settings of a directory", of=0, settings='climate = { records_file = "/etc"; };\n')
    figures = State(r.made[1]).figures
    shape = 32 * 16                         # after the doubt's counts: six figures of its shape, then trials
    for k in range(7):
        at = shape + 8 * k
        r.forged("another shape %d" % k, "figures make no sense",
                 figures=figures[:at] + struct.pack("<Q", huge - k) + figures[at + 8:])
    refused = 0
    for _ in range(40):                     # any eight bytes: taken when they may be, never with harm
        at = random.randrange(len(figures) - 8)
        path = State(r.made[1]).write(os.path.join(r.folder, "forged"), figures=figures[:at]
                                      + bytes(random.randrange(256) for _ in range(8)) + figures[at + 8:])
        done = go("merge", r.made[0], path, *r.made[2:], "--out", os.path.join(r.folder, "any"), "--quiet", limited=True)
        check("eight bytes at %d" % at, done.returncode in (0, 2), "%d %s" % (done.returncode, done.stderr[:200]))
        refused += done.returncode == 2
    check("some of them are refused", refused > 5, str(refused))


def changed_records(r):
    folder = os.path.join(r.folder, "recorded")
    os.makedirs(folder)
    for name in ("04_records_weather.cfg", "upland_records.csv"):
        shutil.copy(os.path.join(REFERENCE, name), folder)
    record = os.path.join(folder, "upland_records.csv")
    made = make_parts(r.folder, "records", [os.path.join(folder, "04_records_weather.cfg")], 400, 2)
    with open(record, "ab") as f:
        f.write(b"\n")
    r.refused("records changed since", made, "the records in " + record, "not those of the run any more")
    os.remove(record)
    r.refused("records gone", made, record)


def wrong_requests(r):
    for options, said in ((["--part", "0/4"], "counted from 1"), (["--part", "5/4"], "--part wants"), (["--part", "4"], "--part wants"),
                          (["--part", "1/10000"], "at most 9999"), (["--part", "a/b"], "--part wants"), (["--part", "1/"], "--part wants"),
                          (["--part", "1/2/3"], "--part wants"), (["--part", "1" * 40 + "/" + "1" * 40], "--part wants"),
                          (["--part", "1/188"], ""),
                          (["--part", "1/189"], "3000 trials make 188 parts at the most"),
                          (["--part", "1/4", "--precision", "0.01"], "--part cannot go with --precision"),
                          (["--part", "1/4", "--per-trial"], "--part cannot go with --per-trial"),
                          (["--part", "1/4", "--plot"], "--part cannot go with --plot"),
                          (["--state", "s", "--per-trial"], "--state cannot go with --per-trial"),
                          (["--state", ""], "--state wants"), (["--state", "folder/"], "--state wants"),
                          (["--state", r.folder], "it is a folder"), (["--state", "/dev/null"], "not a regular file"),
                          (["--state", os.path.join(SHAPES[0], "s")], "s: cannot be read")):
        out = os.path.join(r.folder, "asked")
        shutil.rmtree(out, ignore_errors=True)
        done = go("run", *SHAPES, "--trials", "3000", "--out", out, "--quiet", *options, cwd=r.folder)
        code = 2 if said else 0
        check("run %s" % " ".join(options)[:60], done.returncode == code and said in done.stderr,
              "%d %s" % (done.returncode, done.stderr))
        check("run %s: no files" % " ".join(options)[:60], not said or not os.path.isdir(out) or not os.listdir(out))
    for options, said in ((["--set", "store.jar_kg=1"], "merge takes all settings"), (["--trials", "10"], "merge takes all settings"),
                          (["--random-seed", "3"], "merge takes all settings"), (["--per-trial"], "merge cannot go with --per-trial"),
                          (["--precision", "0.01"], "merge adds no trials"), (["--part", "1/4"], "--part is for run"),
                          (["--state", "s"], "--state is for run")):
        r.refused("merge %s" % options[0], r.made, said, options=options)
    for command in ("compare", "check", "vary"):
        done = go(command, *SHAPES, "--part", "1/4", "--out", os.path.join(r.folder, "asked"))
        check("%s --part" % command, done.returncode == 2 and "--part is for run" in done.stderr, done.stderr)


def one_folder(folder):
    """Parts may be written into one folder at the same time; a whole run and a part may not."""
    out = os.path.join(folder, "together")
    runs = [subprocess.Popen([PROGRAM, "run", *BASE, "--trials", "200000", "--part", "%d/3" % k, "--out", out, "--threads", "1"],
                             stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) for k in (1, 2, 3)]
    waited = 0
    while not os.path.isdir(out) and waited < 60:
        time.sleep(0.05)
        waited += 0.05
    seen = False
    while not seen and any(run.poll() is None for run in runs):
        done = go("run", *SHAPES, "--trials", "20", "--out", out, "--quiet")
        seen = done.returncode == 2 and "in use by another run" in done.stderr
        if done.returncode == 0:                # between the folder's making and its locking
            for name in FILES:
                os.remove(os.path.join(out, name))
    for run in runs:
        said = run.communicate(timeout=300)[1]
        check("parts at the same time", run.returncode == 0, said)
    check("a whole run among parts is refused", seen)
    check("their files", sorted(os.listdir(out)) == ["part-%d-of-3.tideover-state" % k for k in (1, 2, 3)], str(os.listdir(out)))


# ---- interrupted and gone on ----------------------------------------------------------------------------------------

def trials_for(seconds):
    """So many trials of the base scenario, one thread, take about so long here."""
    with tempfile.TemporaryDirectory() as out:
        began = time.monotonic()
        go("run", *BASE, "--trials", "1", "--out", out, "--threads", "1", "--quiet")
        middle = time.monotonic()
        go("run", *BASE, "--trials", "40001", "--out", out, "--threads", "1", "--quiet")
        each = (time.monotonic() - middle - (middle - began)) / 40000
    return int(seconds / max(each, 1e-7) / 1000 + 1) * 1000


def saved(path):
    """Trials that a state file keeps; 0 when there is none."""
    try:
        return State(path).done
    except FileNotFoundError:
        return 0


def interrupt(command, cwd, path, number, waits_for_state):
    """Runs it, ends it at a random moment; its exit code, what it said."""
    with open(os.path.join(cwd, "said"), "w+") as out, open(os.path.join(cwd, "complained"), "w+") as err:
        run = subprocess.Popen([PROGRAM, *map(str, command)], cwd=cwd, stdout=out, stderr=err)
        began, before = time.monotonic(), saved(path)
        while waits_for_state and run.poll() is None and saved(path) <= before and time.monotonic() - began < 60:
            time.sleep(0.02)
        try:
            run.wait(random.uniform(0, 0.3) if waits_for_state else random.uniform(0.02, 1.5))
        except subprocess.TimeoutExpired:
            run.send_signal(number)
        run.wait(120)
        out.seek(0)
        err.seek(0)
        return run.returncode, out.read(), err.read()


def goes_on(folder, name, scene, trials, options, numbers):
    """Interrupts it until it ends by itself, or so often; then lets it end. Its folder and what it said."""
    cwd = os.path.join(folder, name + " interrupted")
    os.makedirs(cwd)
    path = os.path.join(cwd, "keep", "the.state")
    command = ["run", *scene, "--trials", trials, "--out", "out", "--state", os.path.join("keep", "the.state"), *options]
    kept = stopped = 0
    for i in range(12):
        number = numbers[i % len(numbers)]
        code, said, complained = interrupt(command + ["--threads", 1 + i % 2], cwd, path, number, i % 2 == 0)
        if code == 0:
            break
        stopped += 1
        if number != signal.SIGKILL and code > 0:       # below 0: it came before the program listened
            check("%s: exit code" % name, code == 128 + number, "%d %s" % (code, complained))
            check("%s: says what is kept" % name, re.search(r"goes on with what \S+the.state keeps of it \((\d+) trials\)", complained)
                  or "nothing was written" in complained, complained)
        check("%s: killed" % name, code in (128 + number, -number), "%d %s" % (code, complained))
        check("%s: nothing is lost" % name, saved(path) >= kept, "%d, %d before" % (saved(path), kept))
        kept = max(kept, saved(path))
    else:
        done = go(*command, cwd=cwd)
        code, said, complained = done.returncode, done.stdout, done.stderr
    check("%s: ends" % name, code == 0, complained)
    check("%s: was stopped, and kept something" % name, stopped > 1 and kept > 0, "stopped %d times, kept %d" % (stopped, kept))
    check("%s: the state is taken away" % name, not os.path.exists(path))
    return os.path.join(cwd, "out"), said


def interrupts(folder):
    many = trials_for(4)
    print("parts: interrupting runs of %d trials" % many)
    whole, told = whole_run(folder, "long", BASE, many)
    for name, numbers in (("SIGINT and SIGTERM", (signal.SIGINT, signal.SIGTERM)), ("SIGKILL", (signal.SIGKILL,))):
        there, said = goes_on(folder, name, BASE, many, [], numbers)
        same_run(name, whole, there, told, said)
    # a part, and a precision, go on too
    made = make_parts(folder, "long parts", DOUBT, many, 2)
    there, _ = goes_on(folder, "a part", DOUBT, many, ["--part", "2/2"], (signal.SIGKILL, signal.SIGINT))
    check("a part that went on", content(os.path.join(there, "part-2-of-2.tideover-state")) == content(made[1]))
    precise = ["--precision", "0.0006", "--most-trials", str(many)]
    whole, told = whole_run(folder, "precise", BASE, 1000, *precise)
    there, said = goes_on(folder, "a precision", BASE, 1000, precise, (signal.SIGINT, signal.SIGKILL))
    same_run("a precision", whole, there, told, said)


def another_state(folder):
    """A state that is another run's, damaged or unfinished is refused and stays."""
    cwd = os.path.join(folder, "states")
    os.makedirs(cwd)
    path = os.path.join(cwd, "s")
    run = subprocess.Popen([PROGRAM, "run", *BASE, "--trials", "50000000", "--part", "1/2", "--state", "s", "--quiet"], cwd=cwd)
    began = time.monotonic()
    while saved(path) == 0 and time.monotonic() - began < 100:
        time.sleep(0.1)
    run.send_signal(signal.SIGKILL)
    run.wait()
    check("a killed part leaves its state", saved(path) > 0)
    before = content(path)
    asked = ["--trials", "50000000", "--part", "1/2"]
    for options, said in ((["--trials", "50000000"], "in 2 parts, this is one in 1"), (asked[:3] + ["2/2"], "it is of part 1, this is 2"),
                          (asked + ["--random-seed", "3"], "random_seed"), (["--trials", "40000000", "--part", "1/2"], "trials = 50000000"),
                          (["--precision", "0.001"], "trials")):
        done = go("run", *BASE, *options, "--state", "s", "--quiet", cwd=cwd)
        check("another run's state: %s" % options, done.returncode == 2 and "is the state of another run" in done.stderr
              and said in done.stderr, done.stderr)
    done = go("merge", path, "--out", "never", cwd=cwd)
    check("an unfinished part is not merged", done.returncode == 2 and "not finished" in done.stderr, done.stderr)
    check("the state is as it was", content(path) == before)
    with open(path, "r+b") as f:
        f.seek(len(before) // 2)
        f.write(bytes([before[len(before) // 2] ^ 64]))
    done = go("run", *BASE, *asked, "--state", "s", "--quiet", cwd=cwd)
    check("a damaged state", done.returncode == 2 and "s: is damaged" in done.stderr, done.stderr)
    check("no output", not os.path.exists(os.path.join(cwd, "never")))


def main():
    global PROGRAM
    PROGRAM = os.path.abspath(sys.argv[1])
    seed = int(time.time())
    random.seed(seed)
    with tempfile.TemporaryDirectory() as folder:
        parts_are_the_whole(folder)
        other_dialects(folder)
        refusals = Refusals(folder)
        for test in (sets_of_parts, foreign_parts, damaged_parts, claims, changed_records, wrong_requests):
            test(refusals)
        one_folder(folder)
        interrupts(folder)
        another_state(folder)
    if COUNT["failed"]:
        print("parts: random moments and bytes of seed %d" % seed)
    return end(500)


if __name__ == "__main__":
    sys.exit(main())
