#!/usr/bin/python3
"""Writes quantiles.csv and moments.csv beside itself: quantiles, means and standard deviations of the
distributions of src/chance, worked out with SciPy's statistical functions, independently of that code.
Numbers depend on SciPy's version only in their last digits (made with SciPy 1.10.1)."""
import csv
import math
import os

import numpy
from scipy import integrate, optimize, special, stats

MASSES = [1e-12, 1e-9, 1e-6, 1e-3, 0.01, 0.1, 0.25, 0.4, 0.499]


class Metalog:
    """Three-term metalog through p10, p50, p90 (Keelin 2016), of x, its logarithm or its logit."""

    dist = None

    def __init__(self, p10, p50, p90, form):
        self.form = form
        g = [self.to_line(x) for x in (p10, p50, p90)]
        c = math.log(9)
        self.a = (g[1], (g[2] - g[0]) / (2 * c), (g[2] + g[0] - 2 * g[1]) / (0.8 * c))
        self.limits = {"free": (-math.inf, math.inf), "positive": (0, math.inf), "share": (0, 1)}[form]

    def to_line(self, x):
        return {"free": float, "positive": math.log, "share": special.logit}[self.form](x)

    def from_line(self, m):
        return {"free": float, "positive": math.exp, "share": special.expit}[self.form](m)

    def at(self, t):
        y = special.expit(t)
        return self.a[0] + self.a[1] * t + self.a[2] * (y - 0.5) * t

    def ppf(self, p):
        return self.from_line(self.at(math.log(p) - math.log1p(-p)))

    def isf(self, s):
        return self.from_line(self.at(math.log1p(-s) - math.log(s)))

    def logit(self, x):
        m = self.to_line(x)
        return optimize.brentq(lambda t: self.at(t) - m, -800, 800, xtol=1e-15, rtol=1e-15)

    def cdf(self, x):
        return special.expit(self.logit(x)) if x > self.limits[0] else 0.0

    def sf(self, x):
        return special.expit(-self.logit(x)) if x > self.limits[0] else 1.0

    def support(self):
        return self.limits

    def moments(self, low=-700, high=700, kept=1):
        edges = [low] + [t for t in (-40, -16, -6, -2, 0, 2, 6, 16, 40) if low < t < high] + [high]

        def part(k):  # over t, where dy = y (1 - y) dt
            return math.fsum(integrate.quad(
                lambda t: self.from_line(self.at(t)) ** k * special.expit(t) * special.expit(-t), a, b,
                epsabs=1e-18, epsrel=1e-13, limit=500)[0] for a, b in zip(edges, edges[1:])) / kept
        mean = part(1)
        return mean, math.sqrt(part(2) - mean * mean)


class Triangular:
    """SciPy's, with the upper tail from the mirrored one (SciPy's goes through 1 - s)."""
    dist = None

    def __init__(self, low, mode, high):
        def made(low, mode, high):
            return stats.triang((mode - low) / (high - low), loc=low, scale=high - low)
        self.here, self.mirrored = made(low, mode, high), made(-high, -mode, -low)
        self.ppf, self.cdf, self.pdf, self.mean, self.std, self.support = (
            self.here.ppf, self.here.cdf, self.here.pdf, self.here.mean, self.here.std, self.here.support)

    def isf(self, s):
        return -self.mirrored.ppf(s)

    def sf(self, x):
        return self.mirrored.cdf(-x)


def gamma(mean, sd):
    return stats.gamma((mean / sd) ** 2, scale=sd * sd / mean)


def beta(mean, sd):
    n = mean * (1 - mean) / sd ** 2 - 1
    return stats.beta(mean * n, (1 - mean) * n)


def lognormal(mean, sd):
    square = math.log1p((sd / mean) ** 2)
    return stats.lognorm(math.sqrt(square), scale=mean * math.exp(-square / 2))


def weibull(mean, sd):
    def excess(lk):
        k = math.exp(lk)
        return special.gammaln(1 + 2 / k) - 2 * special.gammaln(1 + 1 / k) - math.log1p((sd / mean) ** 2)
    k = math.exp(optimize.brentq(excess, math.log(0.1), math.log(1000), xtol=1e-15, rtol=1e-15))
    return stats.weibull_min(k, scale=mean / special.gamma(1 + 1 / k))


def pert(low, mode, high):
    return stats.beta(1 + 4 * (mode - low) / (high - low), 1 + 4 * (high - mode) / (high - low), loc=low,
                      scale=high - low)


def negative_binomial(mean, sd):
    return stats.nbinom(mean ** 2 / (sd ** 2 - mean), mean / sd ** 2)


MAKERS = {
    "normal": lambda a: stats.norm(a[0], a[1]),
    "lognormal": lambda a: lognormal(*a),
    "lognormal_log": lambda a: stats.lognorm(a[1], scale=math.exp(a[0])),
    "gamma": lambda a: gamma(*a),
    "gamma_shape": lambda a: stats.gamma(a[0], scale=a[1]),
    "beta": lambda a: beta(*a),
    "beta_shape": lambda a: stats.beta(*a),
    "weibull": lambda a: weibull(*a),
    "weibull_shape": lambda a: stats.weibull_min(a[0], scale=a[1]),
    "exponential": lambda a: stats.expon(scale=a[0]),
    "uniform": lambda a: stats.uniform(a[0], a[1] - a[0]),
    "triangular": lambda a: Triangular(*a),
    "pert": lambda a: pert(*a),
    "poisson": lambda a: stats.poisson(*a),
    "negative_binomial": lambda a: negative_binomial(*a),
}
DISCRETE = ("poisson", "negative_binomial")

# shape, bound, figures, at_least, at_most
CASES = [
    ("normal", "free", (10, 3), None, None), ("normal", "free", (-2, 0.5), -3, None),
    ("normal", "free", (0, 1), 2, 4), ("normal", "positive", (1, 0.2), None, None),
    ("lognormal", "positive", (1, 0.3), None, None), ("lognormal", "positive", (20, 30), None, 100),
    ("lognormal_log", "positive", (0.5, 1.2), None, None),
    ("gamma", "positive", (2, 1), None, None), ("gamma", "positive", (1, 4.4), None, None),
    ("gamma", "positive", (20, 2), 18, 25), ("gamma_shape", "positive", (0.05, 3), None, None),
    ("gamma_shape", "positive", (0.5, 1), None, None), ("gamma_shape", "positive", (300, 0.1), None, None),
    ("beta", "share", (0.9, 0.05), None, None), ("beta", "share", (0.3, 0.2), 0.1, 0.8),
    ("beta_shape", "share", (0.5, 0.5), None, None), ("beta_shape", "share", (2, 5), None, None),
    ("beta_shape", "share", (50, 20), None, None), ("beta_shape", "share", (0.2, 3), None, None),
    ("weibull", "positive", (20, 6), None, None), ("weibull", "positive", (5, 7), None, None),
    ("weibull_shape", "positive", (2.5, 26), None, None), ("weibull_shape", "positive", (0.7, 4), 1, None),
    ("exponential", "positive", (3,), None, None),
    ("uniform", "positive", (2, 7), None, None), ("uniform", "free", (-2, 7), 0, 1),
    ("triangular", "free", (-1, 2, 4), None, None), ("triangular", "positive", (0, 0, 4), None, 3),
    ("triangular", "positive", (1, 5, 5), 2, None),
    ("triangular", "free", (0, 1, 3), 0.5, 2), ("triplet", "positive", (4, 9, 15), 3, 12),
    ("pert", "positive", (1, 2, 6), None, None), ("pert", "free", (-4, 0, 1), -2, None),
    ("triplet", "free", (2, 5, 10), None, None), ("triplet", "positive", (2, 5, 10), None, None),
    ("triplet", "share", (0.5, 0.7, 0.9), None, None), ("triplet", "positive", (1, 5, 30), None, 60),
    ("triplet", "free", (100, 110, 115), 95, 120),
    ("poisson", "count", (0.3,), None, None), ("poisson", "count", (4,), None, None),
    ("poisson", "count", (250,), 240, 270), ("poisson", "count", (1e6,), None, None),
    ("negative_binomial", "count", (3, 2.5), None, None), ("negative_binomial", "count", (40, 60), 1, None),
    ("gamma", "count", (3, 2), None, None), ("normal", "count", (6, 1.2), None, None),
    ("triplet", "count", (2, 4, 7), None, 30), ("normal", "date", (70, 9), None, None),
]


def made(shape, bound, figures):
    if shape == "triplet":
        form = {"count": "positive", "date": "free"}.get(bound, bound)
        return Metalog(*figures, form)
    return MAKERS[shape](figures)


def whole(bound, shape):
    return bound in ("count", "date") and shape not in DISCRETE


def natural(bound):
    return {"free": (None, None), "date": (None, None), "positive": (0, None), "share": (0, 1),
            "count": (-0.5, None)}[bound]


def limits(d, bound, shape, least, most):
    """The cut-off, with what lies beyond the natural bound (less than 1e-6) cut off too."""
    low, high = d.support()
    bounds = natural(bound)
    for x in (least, bounds[0]):
        low = low if x is None else max(low, x)
    for x in (most, bounds[1]):
        high = high if x is None else min(high, x)
    return low, high


def tails(d, shape, low, high):
    below = d.cdf(low - 1) if shape in DISCRETE else d.cdf(low) if low > d.support()[0] else 0.0
    above = d.sf(high) if high < d.support()[1] else 0.0
    from_low = d.sf(low - 1) if shape in DISCRETE else d.sf(low) if low > d.support()[0] else 1.0
    return below, above, (1 - below if below < 0.5 else from_low) - above


def count_from_above(d, s):
    """Smallest k with P(X > k) <= s, by bisection (SciPy's own goes through 1 - s)."""
    low, high = -1, 2 * int(d.mean() + 20 * d.std()) + 100
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if d.sf(middle) <= s else (middle, high)
    return high


def from_above(d, s):
    """SciPy's isf, which for some shapes goes through 1 - s, with Newton's steps on its sf."""
    x = d.isf(s)
    for _ in range(3):
        if isinstance(d, (Metalog, Triangular)) or not 0 < d.pdf(x) < math.inf:
            break
        x += (d.sf(x) - s) / d.pdf(x)
    return x


def quantile(d, p, s, cut, low, high):
    below, above, kept = cut
    p, s = below + kept * p, above + kept * s
    if p <= s:
        x = d.ppf(p)
    else:
        x = count_from_above(d, s) if isinstance(d.dist, stats.rv_discrete) else from_above(d, s)
    return min(max(x, low), high)


def rounded_moments(cdf, sf, low, high):
    k = numpy.arange(low, high + 1)
    mass = numpy.array([cdf(i + 0.5) - cdf(i - 0.5) if cdf(i + 0.5) < 0.5 else sf(i - 0.5) - sf(i + 0.5)
                        for i in k])
    mean = float((k * mass).sum() / mass.sum())
    return mean, math.sqrt(float(((k - mean) ** 2 * mass).sum() / mass.sum()))


def moments(d, shape, bound, figures, low, high, cut):
    below, above, kept = cut
    if shape in DISCRETE:
        last = high if math.isfinite(high) else count_from_above(d, 1e-20)
        k = numpy.arange(low, last + 1)
        mass = d.pmf(k)
        mean = (k * mass).sum() / mass.sum()
        return mean, math.sqrt(((k - mean) ** 2 * mass).sum() / mass.sum())
    if whole(bound, shape):
        ends = [quantile(d, 1e-17, 1, cut, low, high), quantile(d, 1, 1e-17, cut, low, high)]

        def cdf(x):
            return (min(max(d.cdf(x) if x > low else 0, below), 1 - above) - below) / kept

        def sf(x):
            return (min(max(d.sf(x) if x < high else 0, above), 1 - below) - above) / kept
        return rounded_moments(cdf, sf, math.floor(ends[0] + 0.5), math.floor(ends[1] + 0.5))
    if below == 0 and above == 0:
        return d.moments() if shape == "triplet" else (d.mean(), d.std())

    if shape == "triplet":
        return d.moments(*(d.logit(x) if d.limits[0] < x < d.limits[1] else math.copysign(700, x - 0.5)
                           for x in (low, high)), kept)

    edges = sorted({x for m in (1e-30, 1e-20, 1e-12, 1e-6, 1e-3, 0.05, 0.25, 0.5) for x in
                    (quantile(d, m, 1 - m, cut, low, high), quantile(d, 1 - m, m, cut, low, high))}
                   | {x for x in (low, high) if math.isfinite(x)} | {x for x in figures if low < x < high})

    def part(k):  # of x^k times the density
        return math.fsum(integrate.quad(lambda x: x ** k * d.pdf(x), a, b, epsabs=1e-18, epsrel=1e-13,
                                        limit=200)[0] for a, b in zip(edges, edges[1:])) / kept
    mean = part(1)
    return mean, math.sqrt(part(2) - mean * mean)


def text(x):
    return "" if x is None else repr(float(x))


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    with open(os.path.join(here, "quantiles.csv"), "w", newline="") as q, \
            open(os.path.join(here, "moments.csv"), "w", newline="") as m:
        quantiles, means = csv.writer(q, lineterminator="\n"), csv.writer(m, lineterminator="\n")
        quantiles.writerow("shape bound a0 a1 a2 at_least at_most tail mass quantile".split())
        means.writerow("shape bound a0 a1 a2 at_least at_most mean sd".split())
        for shape, bound, figures, least, most in CASES:
            d = made(shape, bound, figures)
            low, high = limits(d, bound, shape, least, most)
            cut = tails(d, shape, low, high)
            padded = (list(figures) + [None] * 3)[:3]
            head = [shape, bound] + [text(x) for x in padded + [least, most]]
            for mass in MASSES:
                for tail in ("lower", "upper"):
                    p, s = (mass, 1 - mass) if tail == "lower" else (1 - mass, mass)
                    x = quantile(d, p, s, cut, low, high)
                    x = math.floor(x + 0.5) if whole(bound, shape) else x
                    quantiles.writerow(head + [tail, text(mass), text(x)])
            means.writerow(head + [text(x) for x in moments(d, shape, bound, figures, low, high, cut)])


main()
