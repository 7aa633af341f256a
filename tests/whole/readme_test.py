#!/usr/bin/python3
"""Every example of README and DEVELOPERS is run, and prints what the page says it prints.

    readme_test.py PROGRAM

A block that begins with ```console holds `$ command` lines, each followed by the output expected; a line `...` stands for any
lines. Commands run in the project's folder with output directories replaced by a temporary one.
"""
import os
import re
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.normpath(os.path.join(HERE, "..", ".."))
PAGES = ("README.md", "DEVELOPERS.md")


def blocks(path):
    text = open(path, encoding="utf-8").read()
    for block in re.findall(r"^```console\n(.*?)^```", text, re.M | re.S):
        command, expected = None, []
        for line in block.split("\n")[:-1]:
            if line.startswith("$ "):
                if command is not None:
                    yield command, expected
                command, expected = line[2:], []
            else:
                expected.append(line)
        if command is not None:
            yield command, expected


def matches(expected, lines):
    """expected with `...` for any number of lines"""
    if not expected:
        return not lines
    if expected[0] == "...":
        return any(matches(expected[1:], lines[i:]) for i in range(len(lines) + 1))
    return bool(lines) and lines[0].rstrip() == expected[0].rstrip() and matches(expected[1:], lines[1:])


def run(command, program, folder):
    command = command.replace("build/tideover", program).replace("mine.cfg", folder + "/mine.cfg")
    command = re.sub(r"(--out|-o) out/\S+", r"\1 " + folder + "/out", command)
    if "--out" not in command and re.search(r"\b(run|compare|vary|size|why|fit|season)\b", command):
        command += " --out %s/out" % folder
    return subprocess.run(command, shell=True, cwd=ROOT, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                          env={**os.environ, "LC_ALL": "C.UTF-8"})


def main():
    program = os.path.abspath(sys.argv[1])
    passed = failed = 0
    for page in PAGES:
        with tempfile.TemporaryDirectory() as folder:        # one for a page: its commands build on each other
            for command, expected in blocks(os.path.join(ROOT, page)):
                done = run(command, program, folder)
                lines = done.stdout.replace(folder + "/out", "out/demo").replace(folder + "/", "").split("\n")[:-1]
                if done.returncode == 0 and matches(expected, lines):
                    passed += 1
                    continue
                failed += 1
                print("%s: %s (exit %d) printed\n%s\nand not\n%s" % (page, command, done.returncode, "\n".join(lines),
                                                                       "\n".join(expected)))
    print("%d passed, %d failed" % (passed, failed))
    sys.exit(1 if failed or passed == 0 else 0)


if __name__ == "__main__":
    main()
