#!/usr/bin/python3
"""The estimator of why against OpenTURNS, on the same values of Ishigami's function and of Sobol's g-function.

    proof_indices_test.py PROGRAM

OpenTURNS makes the points and has its own implementation of Jansen's estimators (JansenSensitivityAlgorithm); it divides by the
variance over A alone, where ours divides by that over A and B, which is taken into account here. Both must agree to the rounding of
our sums (2^-20) and a divisor of N or N - 1, have the published indices in their intervals, and intervals of like width. Passed over where the package
python3-openturns cannot be installed.
"""
import math
import os
import subprocess
import sys
import tempfile

from counted import check, end

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
TRIALS = 20000


def ours(tool, trials, groups, values):
    """Rows of first, low, high, total, low, high."""
    text = "".join(" ".join("%.17g" % values[t + trials * k] for k in range(groups + 2)) + "\n" for t in range(trials))
    done = subprocess.run([tool, str(trials), str(groups)], input=text, stdout=subprocess.PIPE, text=True, check=True)
    return [[float(x) for x in line.split()] for line in done.stdout.splitlines()]


def ishigami():
    """a = 7, b = 0.1 (Ishigami & Homma 1990): V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V13 = 8 b^2 pi^8/225."""
    a, b, p4 = 7.0, 0.1, math.pi ** 4
    v1, v2, v13 = (1 + b * p4 / 5) ** 2 / 2, a * a / 8, 8 * b * b * p4 * p4 / 225
    whole = v1 + v2 + v13
    return ("sin(pi_*(2*x-1)) + 7*sin(pi_*(2*y-1))^2 + 0.1*(pi_*(2*z-1))^4*sin(pi_*(2*x-1))", [v1 / whole, v2 / whole, 0.0],
            [(v1 + v13) / whole, v2 / whole, v13 / whole])


def g_function():
    """a = 0, 1, 4.5 (Saltelli & Sobol 1995): V_i = 1 / (3 (1 + a_i)^2), V = prod(1 + V_i) - 1."""
    a = (0.0, 1.0, 4.5)
    v = [1 / (3 * (1 + x) ** 2) for x in a]
    whole = math.prod(1 + x for x in v) - 1
    text = "*".join("((abs(4*%s-2)+%r)/%r)" % (n, x, 1 + x) for n, x in zip("xyz", a))
    return text, [x / whole for x in v], [x * math.prod(1 + y for y in v) / (1 + x) / whole for x in v]


def compare(ot, tool, name, text, first, total):
    function = ot.SymbolicFunction(["x", "y", "z"], [text.replace("pi_", repr(math.pi))])
    ot.RandomGenerator.SetSeed(20)
    points = ot.SobolIndicesExperiment(ot.ComposedDistribution([ot.Uniform(0.0, 1.0)] * 3), TRIALS, False).generate()
    out = function(points)
    theirs = ot.JansenSensitivityAlgorithm(points, out, TRIALS)
    theirs.setUseAsymptoticDistribution(True)
    values = [row[0] for row in out]
    variance_of_a = out[:TRIALS].computeVariance()[0]
    variance_of_both = out[:2 * TRIALS].computeVariance()[0]
    rows = ours(tool, TRIALS, 3, values)
    for i in range(3):
        f, f_low, f_high, t, t_low, t_high = rows[i]
        ratio = variance_of_both / variance_of_a
        check("%s, first %d" % (name, i + 1), abs((1 - f) * ratio - (1 - theirs.getFirstOrderIndices()[i])) < 1 / TRIALS,
              "%.8f against %.8f" % (1 - (1 - f) * ratio, theirs.getFirstOrderIndices()[i]))
        check("%s, total %d" % (name, i + 1), abs(t * ratio - theirs.getTotalOrderIndices()[i]) < 1 / TRIALS,
              "%.8f against %.8f" % (t * ratio, theirs.getTotalOrderIndices()[i]))
        for what, value, low, high, truth, interval in (("first", f, f_low, f_high, first[i], theirs.getFirstOrderIndicesInterval()),
                                                        ("total", t, t_low, t_high, total[i], theirs.getTotalOrderIndicesInterval())):
            half, its_half = (high - low) / 2, (interval.getUpperBound()[i] - interval.getLowerBound()[i]) / 2
            check("%s, %s %d is the published one" % (name, what, i + 1), abs(value - truth) <= 2.3 * half + 1e-9,
                  "%.5f +- %.5f, should be %.5f" % (value, half, truth))
            check("%s, %s %d: width of the interval" % (name, what, i + 1), 0.6 < half / its_half < 1.67, "%.5f against %.5f" % (half, its_half))


def main():
    build = os.path.dirname(os.path.abspath(sys.argv[1]))
    if subprocess.run([os.path.join(ROOT, ".ci", "need"), "python3-openturns"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode != 0:
        print("passed over: OpenTURNS (python3-openturns cannot be installed)")
        return 0
    import openturns as ot
    ot.Log.Show(ot.Log.NONE)
    with tempfile.TemporaryDirectory() as folder:
        tool = os.path.join(folder, "indices")
        subprocess.run(["gcc", "-std=c11", "-O2", "-I" + os.path.join(ROOT, "src"), "-o", tool, os.path.join(ROOT, "tests", "whole", "indices.c"),
                        os.path.join(build, "libtideover.a"), "-lgsl", "-lgslcblas", "-lm"], check=True)
        for make in (ishigami, g_function):
            compare(ot, tool, make.__name__, *make())
    return end()


if __name__ == "__main__":
    sys.exit(main())
