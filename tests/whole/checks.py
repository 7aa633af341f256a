"""Checks of simulated figures at a level that their number asks for.

A check by chance has a p-value; all of them together raise a false alarm with a chance of at most LEVEL
(Bonferroni): each fails below LEVEL divided by their number. A check that leaves nothing to chance passes or
fails on its own.
"""
import math

from scipy import special, stats

LEVEL = 1e-3
QUANTUM = 2.0 ** -20                    # sums are of values rounded to whole multiples of this
CELL = 2.0 ** -8 * 1.001                # half the relative width of a quantile's cell in large runs
SPREAD = 0.01                           # reported standard errors against the true ones


class Checks:
    def __init__(self):
        self.by_chance, self.certain = [], []

    # ---- nothing left to chance --------------------------------------------------------------------------

    def true(self, name, source, good, text=""):
        self.certain.append((name, source, bool(good), text))

    def equal(self, name, source, found, wanted):
        self.true(name, source, found == wanted, "found %r, should be %r" % (found, wanted))

    def near(self, name, source, found, wanted, relative=1e-9, absolute=0.0):
        good = abs(found - wanted) <= max(relative * abs(wanted), absolute)
        self.true(name, source, good, "found %.12g, should be %.12g" % (found, wanted))

    # ---- by chance ---------------------------------------------------------------------------------------

    def judge(self, name, source, p, text):
        self.by_chance.append((name, source, float(p), text))

    def share(self, name, source, share, n, wanted):
        """An exact binomial check of k = share n successes, two-sided."""
        k = round(share * n)
        if wanted <= 0 or wanted >= 1:
            self.equal(name, source, k, n if wanted >= 1 else 0)
            return
        p = 2 * min(stats.binom.cdf(k, n, wanted), stats.binom.sf(k - 1, n, wanted))
        self.judge(name, source, min(1.0, p), "%.7g, should be %.7g" % (share, wanted))

    def average(self, name, source, value, wanted, sd, n):
        """A mean of n values whose true standard deviation is known."""
        over = max(0.0, abs(value - wanted) - QUANTUM)
        if sd <= 0:
            self.true(name, source, over <= 1e-9 * abs(wanted),
                      "found %.10g, should be %.10g" % (value, wanted))
            return
        self.judge(name, source, special.erfc(over / (sd / math.sqrt(n)) / math.sqrt(2)),
                   "%.8g, should be %.8g (%.2g)" % (value, wanted, sd / math.sqrt(n)))

    # ---- figures of a run --------------------------------------------------------------------------------

    def chance(self, source, result, food, measure, wanted, year=1):
        row = result.figure[str(year), food, measure]
        name = "%s: %s %s year %s" % (result.folder.rsplit("/", 1)[-1], food, measure, year)
        value, n = float(row["value"]), int(row["trials"])
        self.share(name, source, value, n, wanted)
        self.near(name + " std_error", "binomial", float(row["std_error"]),
                  math.sqrt(value * (1 - value) / n), 1e-8, 1e-12)
        low, high = wilson(value, n)
        self.near(name + " low", "Wilson 1927", float(row["low"]), low, 1e-7, 1e-9)
        self.near(name + " high", "Wilson 1927", float(row["high"]), high, 1e-7, 1e-9)

    def mean(self, source, result, food, measure, wanted, sd, year=1):
        row = result.figure[str(year), food, measure]
        name = "%s: %s %s year %s" % (result.folder.rsplit("/", 1)[-1], food, measure, year)
        n = int(row["trials"])
        self.average(name, source, float(row["value"]), wanted, sd, n)
        if sd > 0:
            ratio = float(row["std_error"]) / (sd / math.sqrt(n))
            self.true(name + " std_error", source, abs(ratio - 1) <= SPREAD,
                      "ratio to the true one %.5f" % ratio)

    def quantile(self, source, result, food, measure, cdf, year=1, below=None, cells=True):
        """measure ends in _pNN. `cdf` is P(X <= x), `below` P(X < x) where they differ; never is later than
        any x."""
        row = result.figure[str(year), food, measure]
        name = "%s: %s %s year %s" % (result.folder.rsplit("/", 1)[-1], food, measure, year)
        self.order_statistic(name, source, row["value"], int(row["trials"]), int(measure[-2:]) / 100, cdf,
                             below or cdf, cells)

    def order_statistic(self, name, source, text, n, p, cdf, below, cells=True):
        rank = math.floor((n - 1) * p + 1e-9)
        x = math.inf if text == "" else float(text)
        half = CELL * abs(x) if cells and x < math.inf else 0.0
        not_above = 1.0 if x == math.inf else stats.binom.sf(rank, n, min(1.0, float(cdf(x + half))))
        not_below = stats.binom.cdf(rank, n, min(1.0, float(below(x - half))))
        self.judge(name, source, min(1.0, 2 * min(not_above, not_below)), "found %s" % (text or "never"))

    # ---- the verdict -------------------------------------------------------------------------------------

    def report(self):
        """Prints what failed and the totals; exit code."""
        level = LEVEL / max(1, len(self.by_chance))
        bad = [(n, s, "p = %.2g, %s" % (p, t)) for n, s, p, t in self.by_chance if not p >= level]
        bad += [(n, s, t) for n, s, good, t in self.certain if not good]
        for name, source, text in bad:
            print("%s: %s (by %s)" % (name, text, source))
        total = len(self.by_chance) + len(self.certain)
        if self.by_chance:
            print("%d checks by chance, each at %.2g; least p %.2g" % (len(self.by_chance), level,
                                                                       min(c[2] for c in self.by_chance)))
        print("%d passed, %d failed" % (total - len(bad), len(bad)))
        return 1 if bad or total == 0 else 0


def wilson(share, n, z=1.959963984540054):
    """Score interval (Wilson 1927, JASA 22:209-212)."""
    centre = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
    return (0.0 if share == 0 else centre - half), (1.0 if share == 1 else centre + half)
