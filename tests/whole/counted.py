"""Checks that leave nothing to chance: a failure is told as it comes, and all are counted."""
import os
import sys

COUNT = {"passed": 0, "failed": 0}


def check(what, good, text=""):
    COUNT["passed" if good else "failed"] += 1
    if not good:
        print("FAILED  %s: %s: %s" % (os.path.basename(sys.argv[0]), what, text))


def end(least=1):
    """Prints 'N passed, N failed'; the exit code: 1 when one failed, or when there were fewer checks than there should be."""
    print("%d passed, %d failed" % (COUNT["passed"], COUNT["failed"]))
    return 1 if COUNT["failed"] or COUNT["passed"] < least else 0
