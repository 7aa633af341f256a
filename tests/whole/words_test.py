#!/usr/bin/python3
"""The words: what --help, the manual, the completion and the code name; spelling; singular and plural; a page's length.

    words_test.py PROGRAM

Sources: the program's own --help against its manual pages; NO_COLOR as https://no-color.org has it ("when present
and not an empty string"); American forms from memory.
"""
import csv
import glob
import os
import pty
import re
import select
import subprocess
import sys
import tempfile

from counted import check, end

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.normpath(os.path.join(HERE, "..", ".."))
PAGE_LINES, PAGE_COLUMNS = 60, 110
program = None


def read(path):
    return open(os.path.join(ROOT, path), encoding="utf-8").read()


def go(*arguments, **more):
    return subprocess.run([program, *arguments], cwd=ROOT, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          encoding="utf-8", **more)


# ---- names --------------------------------------------------------------------------------------------------------

def sets(what, one, other):
    check(what, one and one == other,
          "only in the first: %s; only in the second: %s" % (sorted(one - other), sorted(other - one)))


def names():
    text = go("--help").stdout
    usage, options = text.split("Options:")
    options = options.split("Exit codes")[0]
    commands = set(re.findall(r"^  ([a-z]+) ", usage.split("Commands:")[1], re.M))
    told = set(re.findall(r"--([a-z-]+)", options))
    page = read("src/manual/tideover.1")
    described = page.split(".Sh OPTIONS")[1].split(".Sh ")[0]
    sets("options of --help and tideover(1)", told, set(re.findall(r"Fl Fl ([a-z-]+)", described)))
    shorts = set(re.findall(r"-([a-zA-Z]), --([a-z-]+)", options))
    sets("short options of --help and tideover(1)", shorts, set(re.findall(r"Fl ([a-zA-Z]) , Fl Fl ([a-z-]+)", described)))
    code = set(re.findall(r'^    \{ "([a-z-]+)",', read("src/command/options.c"), re.M))
    # --reference writes a part of the manual when it is built; --version stands before any command.
    sets("options of the code and --help", code - {"reference"}, told - {"version"})
    completion = read("src/completion/tideover.bash")
    completed = re.search(r'options="(.*?)"', completion, re.S)[1]
    sets("options of --help and the completion", told, set(re.findall(r"--([a-z-]+)", completed)))
    sets("commands of --help and the completion", commands, set(re.search(r'commands="(.*?)"', completion)[1].split()))
    listed = page.split("The commands are:")[1].split(".Sh OPTIONS")[0]
    sets("commands of --help and tideover(1)", commands, set(re.findall(r"^\.It Cm ([a-z]+)", listed, re.M)))
    synopsis = page.split(".Sh SYNOPSIS")[1].split(".Sh DESCRIPTION")[0]
    named = " ".join(re.findall(r"^\.Cm (.*)", synopsis, re.M))
    sets("commands of --help and the synopsis", commands, set(re.findall(r"\b[a-z]+\b", named)))
    code = set(re.findall(r'^    \{ "([a-z]+)",', read("src/command/table.c"), re.M))
    sets("commands of the code and --help", code, commands)
    for path in ("README.md", "DEVELOPERS.md"):
        strange = set(re.findall(r"(?<![\w-])--([a-z][a-z-]+)", read(path))) - told
        check("options that %s names" % path, not strange, str(strange))


def plain(roff):
    return re.sub(r"\\\(dq", '"', re.sub(r"\\&|\\", "", roff.replace("\\(dq", '"'))).strip()


def settings():
    reference, group, item, seen = go("explain", "--reference").stdout.split("\n"), "", None, 0
    for i, line in enumerate(reference):
        if line.startswith(".Ss "):
            group = line[4:].split()[0]
        if not line.startswith(".It Cm ") or group == "Distributions":
            continue
        item = line[7:].strip()
        path = item if group == "The" else "%s.%s" % (group, item)
        done = go("explain", path)
        said = " ".join(done.stdout.split())
        meaning = " ".join(plain(reference[i + 1]).split())
        seen += 1
        check("explain %s" % path, done.returncode == 0 and not done.stderr and meaning in said,
              "says: %s %s; the manual: %s" % (said[:200], done.stderr, meaning))
    check("the manual has settings", seen > 60, str(seen))


def examples(folder):
    """What tideover(1) and tideover-scenario(5) show is run as it stands there."""
    for line in re.findall(r"^\.Dl tideover (.*)", read("src/manual/tideover.1"), re.M):
        words = line.split()
        if "--out" in words:
            del words[words.index("--out"):words.index("--out") + 2]
        more, said = ((), "climate.last_frost") if words[0] == "fit" else (("--trials", "2000"), "Cautions")
        done = go(*words, *more, "--out", folder + "/example")
        check("example: %s" % line, done.returncode == 0 and said in done.stdout, done.stderr)
    blocks = {path: re.findall(r"^\.Bd [^\n]*\n(.*?)^\.Ed", read("src/manual/" + path), re.M | re.S)
              for path in ("tideover.1", "tideover-scenario.tail")}
    notebook = [b for b in blocks["tideover.1"] if b.startswith("kind,")][0]
    open(folder + "/notebook.csv", "w").write(notebook)
    done = go("fit", folder + "/notebook.csv", "--out", folder + "/fit")
    check("the manual's notebook", done.returncode == 0 and "3 rows" in done.stdout, done.stderr)
    open(folder + "/shown.cfg", "w").write(plain(blocks["tideover-scenario.tail"][0]))
    done = go("check", folder + "/shown.cfg")
    check("the manual's scenario", done.returncode == 0 and "Are five wigwams enough" in done.stdout, done.stderr)


# ---- spelling -----------------------------------------------------------------------------------------------------

AMERICAN = re.compile(
    r"\b(?:(?:dis)?colou?r(?<!our)(?:s|ed|ing|ful)?|center(?:s|ed)?|behavior\w*|gray(?:s|ish)?|labor|flavor\w*"
    r"|favor\w*|neighbor\w*|honor\w*|harbor\w*|vapor|meters?|liters?|fiber|mold(?:y|s)?|plow\w*|modeled|modeling"
    r"|labeled|labeling|traveled|canceled"
    r"|signaled|catalog|analyz\w+|fulfill?(?<!fulfil)|defense|aluminum|gotten|toward|afterward"
    r"|[a-z]+iz(?:e|es|ed|ing|ation|ations))\b", re.I)
# Names that are not ours to spell, and words whose -ize is no ending.
ALLOWED = re.compile(r"NO_COLOR|no-color[.]org|Color Universal|Climate Center|fsanitize"
                     r"|[a-z_]*siz(?:e[sd]?|ing)\b|prize[ds]?|seize[ds]?|maize|Gray\b(?= ?\))", re.I)


def spelling():
    paths = ["README.md", "DEVELOPERS.md"]
    for pattern in ("src/**/*", "configs/**/*", "scenarios/**/*.cfg", "plots/*"):
        found = glob.glob(os.path.join(ROOT, pattern), recursive=True)
        paths += [os.path.relpath(p, ROOT) for p in found if os.path.isfile(p)]
    check("there is something to read", len(paths) > 100, str(len(paths)))
    american, british = "color behavior organize moldy realization", "colour behaviour NO_COLOR size mould organise"
    check("the list finds what it should", all(AMERICAN.search(w) for w in american.split())
          and not any(AMERICAN.search(ALLOWED.sub("", w)) for w in british.split()))
    for path in paths:
        for number, line in enumerate(read(path).split("\n"), 1):
            if path.endswith(".gp"):                    # gnuplot's own words are American
                line = " ".join(re.findall(r"^#.*|\"[^\"]*\"", line))
            found = AMERICAN.search(ALLOWED.sub("", line))
            check("spelling", not found, "%s:%d: %s" % (path, number, found and found[0]))
    for path in ("README.md", "DEVELOPERS.md", "src/manual/tideover.1", "src/manual/tideover-scenario.head"):
        check("per cent in %s" % path, not re.search(r"\bpercent\b", read(path)))


# ---- the printed answer ---------------------------------------------------------------------------------------------

def plurals(what, text):
    """Singular after 1 alone, plural after every other figure."""
    things = "week|meal|jar|trial|future|year|record|season|row|food year|possible future"
    for figure, thing, s in re.findall(r"(?<![\w.,=-])([\d,]+(?:\.\d+)?) (%s)(s?)\b" % things, text):
        if re.search(r"\b%s %s in\b" % (figure, thing), text):          # "1 year in 10"
            continue
        check("plural in %s" % what, (figure == "1") == (s == ""), "%s %s%s" % (figure, thing, s))


def summary(folder):
    return {(r["food_year"], r["food"], r["measure"]): float(r["mean"] if "mean" in r else r["value"])
            for r in csv.DictReader(open(folder + "/summary.csv")) if r.get("mean", r.get("value"))}


def nourishment(path, text, folder):
    """The share of the needs that the answer tells is that of summary.csv, for one of the food years."""
    figures = summary(folder)
    for measure, food in (("kcal_share", "energy"), ("protein_share", "protein")):
        told = re.search(r"\(([\d.]+) % of the household's need of " + food, " ".join(text.split()))
        shares = [100 * v for (year, f, m), v in figures.items() if m == measure and f == "any"]
        check("%s: share of %s" % (path, food), told and any(abs(float(told[1]) - s) <= 0.051 for s in shares),
              "%s, summary.csv %s" % (told and told[1], shares))


def pages(folder):
    paths = sorted(glob.glob(os.path.join(ROOT, "scenarios", "*.cfg")))
    check("there are scenarios", len(paths) > 10)
    for path in paths:
        done = go("run", path, "--trials", "300", "--out", folder + "/page")
        lines = done.stdout.split("\n")[:-1]
        name = os.path.basename(path)
        check(name, done.returncode == 0, done.stderr)
        check("%s on one page" % name, 20 < len(lines) <= PAGE_LINES, "%d lines" % len(lines))
        wide = [line for line in lines if len(line.replace(folder, "")) > PAGE_COLUMNS]
        check("%s within the page" % name, not wide, str(wide))
        check("%s without spaces at line ends" % name, not any(line != line.rstrip() for line in lines))
        check("%s says that it is no diet" % name, "cannot be a diet" in " ".join(done.stdout.split()))
        nourishment(name, done.stdout, folder + "/page")
        plurals(name, done.stdout.replace(folder, ""))


def one_of_each(folder):
    go("start", folder + "/small.cfg")
    done = go("run", folder + "/small.cfg", "--trials", "1", "--set", "store.jar_kg=50", "--out", folder + "/one")
    check("one future, one jar, one food year",
          "1 possible future of 1 food year" in done.stdout and "1 jar of 50.0 kg" in done.stdout,
          done.stdout[:400] + done.stderr)
    plurals("one trial", done.stdout.replace(folder, ""))
    done = go("run", "scenarios/base.cfg", "--trials", "500", "--pounds", "--out", folder + "/pounds")
    check("pounds", len(re.findall(r"\d lb\b", done.stdout)) >= 10 and not re.search(r"\b(kg|kilogram\w*)\b", done.stdout))
    for arguments in (("compare", "scenarios/base.cfg", "--versus", "store.jar_kg=1"),
                      ("vary", "scenarios/base.cfg", "--over", "plantings.french_wigwams.count=2,3")):
        done = go(*arguments, "--trials", "1", "--out", folder + "/one")
        check("%s of one trial" % arguments[0], done.returncode == 0 and re.search(r"[(,] ?1 trial ", done.stdout),
              done.stdout)


CAUTIONS = ("Cautions: soak dry beans", "boil them hard", "slow cooker", "mouldy", "tastes bitter", "keep a reserve")
ASKED = (("run", "scenarios/base.cfg"),
         ("compare", "scenarios/base.cfg", "scenarios/warmer_place.cfg"),
         ("vary", "scenarios/base.cfg", "--over", "plantings.french_wigwams.count=2..3"),
         ("size", "scenarios/base.cfg", "--by", "plantings.french_wigwams.count=1..4", "--risk", "0.3",
          "--most-trials", "2000"),
         ("why", "scenarios/base.cfg"))


def cautions_and_quiet(folder):
    for arguments in ASKED:
        done = go(*arguments, "--trials", "500", "--out", folder + "/asked")
        words = " ".join(done.stdout.split())
        check("cautions of %s" % arguments[0], done.returncode == 0 and all(w in words for w in CAUTIONS))
        check("%s ends its lines without spaces" % arguments[0], not re.search(r"[ \t]+$", done.stdout, re.M))
    for arguments in ASKED + (("season", "scenarios/records/invented_plot.csv"), ("fit", folder + "/notebook.csv")):
        trials = () if arguments[0] in ("season", "fit") else ("--trials", "500")
        done = go(*arguments, *trials, "--quiet", "--out", folder + "/quiet")
        check("quiet %s" % arguments[0], (done.returncode, done.stdout, done.stderr) == (0, "", ""),
              done.stdout[:200] + done.stderr)
    done = go("start", folder + "/new.cfg", "--quiet")
    check("quiet start", (done.returncode, done.stdout, done.stderr) == (0, "", ""), done.stdout)


def on_terminal(folder, no_color):
    """What the program writes to a terminal, both streams."""
    environment = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
    environment.update({} if no_color is None else {"NO_COLOR": no_color}, TERM="xterm")
    ours, its = pty.openpty()
    child = subprocess.Popen([program, "run", "scenarios/base.cfg", "--trials", "500", "--out", folder + "/pty"], cwd=ROOT,
                             stdin=its, stdout=its, stderr=its, env=environment)
    os.close(its)
    said = b""
    while select.select([ours], [], [], 60)[0]:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        said += piece
    os.close(ours)
    return child.wait(), said


def bold(folder):
    for value, wanted in ((None, True), ("", True), ("1", False)):
        code, said = on_terminal(folder, value)
        check("NO_COLOR=%r" % value, code == 0 and b"Cautions" in said and (b"\033[1m" in said) == wanted
              and (wanted or b"\033[" not in said), repr(said[:200]))
    done = go("run", "scenarios/base.cfg", "--trials", "500", "--out", folder + "/pty")
    check("no escapes in a pipe", "\033" not in done.stdout + done.stderr)


def main():
    global program
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        names()
        settings()
        examples(folder)
        spelling()
        pages(folder)
        one_of_each(folder)
        cautions_and_quiet(folder)
        bold(folder)
    return end()


if __name__ == "__main__":
    sys.exit(main())
