#!/usr/bin/python3
"""Adds up what gcov found in a build: lines and branches of src/, each once whatever program reached it.

    coverage.py BUILD FILES     FILES: how many of the files with most branches left to name, with their lines
"""
import collections
import glob
import json
import os
import subprocess
import sys


def main():
    build, most = sys.argv[1], int(sys.argv[2])
    lines, branches = collections.Counter(), collections.Counter()
    for notes in glob.glob(os.path.join(build, "**", "*.gcno"), recursive=True):
        if os.path.join(build, "tests") in notes:
            continue
        said = subprocess.run(["gcov", "-b", "-c", "--json-format", "--stdout", "-o", os.path.dirname(notes), notes],
                              stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True).stdout
        for document in said.splitlines():
            for file in json.loads(document)["files"]:
                if not file["file"].startswith("src/"):
                    continue
                for line in file["lines"]:
                    at = file["file"], line["line_number"]
                    lines[at] += line["count"]
                    kept = [b for b in line["branches"] if not b["throw"]]
                    for n, branch in enumerate(kept):
                        branches[at + (n, len(kept))] += branch["count"]
    left = collections.defaultdict(set)
    for at, count in branches.items():
        if count == 0:
            left[at[0]].add(at[1:])
    for file in sorted(left, key=lambda f: -len(left[f]))[:most]:
        print("%3d branches left in %s: lines %s" % (len(left[file]), file, " ".join(map(str, sorted({a[0] for a in left[file]})))))
    reached = [sum(c > 0 for c in counts.values()) for counts in (lines, branches)]
    print("lines: %.1f %% of %d; branches taken: %.1f %% of %d" % (100 * reached[0] / len(lines), len(lines), 100 * reached[1] / len(branches),
                                                                   len(branches)))


if __name__ == "__main__":
    main()
