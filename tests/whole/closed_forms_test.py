#!/usr/bin/python3
"""Closed forms, run through the whole program: chances, means and quantiles that elementary probability
gives, each with
its source. The whole run raises a false alarm with a chance of at most 1 in 1,000 (see checks.py).

    closed_forms_test.py PROGRAM [--random-seed N] [--only PART]
"""
import argparse
import os
import sys
import tempfile
import time

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import by_hand       # noqa: E402
import checks        # noqa: E402
import closed_beans  # noqa: E402
import closed_squash # noqa: E402
import closed_years  # noqa: E402
import scenes        # noqa: E402


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("program")
    parser.add_argument("--random-seed", default="1")
    parser.add_argument("--only", default="")
    parser.add_argument("--times", action="store_true")
    options = parser.parse_args()
    found = checks.Checks()
    program = os.path.abspath(options.program)
    with tempfile.TemporaryDirectory() as folder:
        def go(name, scene, trials, *more):
            return scenes.run(program, scene, folder, name, trials, "--random-seed", options.random_seed,
                              *more)

        go.folder = folder
        for part in by_hand.ALL + closed_beans.ALL + closed_squash.ALL + closed_years.ALL:
            if options.only and options.only not in part.__name__:
                continue
            began = time.time()
            part(found, go)
            if options.times:
                print("%-20s %.1f s" % (part.__name__, time.time() - began))
    return found.report()


if __name__ == "__main__":
    sys.exit(main())
