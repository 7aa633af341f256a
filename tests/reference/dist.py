#!/usr/bin/python3
"""Distributions: drawn by inverting the distribution function, cut off by renormalising.

Every law gives four functions of NumPy arrays: cdf F, survival function S = 1 - F, inverse Q of F and inverse QS of S.
The two-sided pairs keep the far upper tail exact, which the life left to an old fruit needs.
Sources: the usual parametrisations (scipy.special's functions underneath); three-term metalog from Keelin 2016, "The Metalog
Distributions", Decision Analysis 13(4), symmetric percentile triplet; PERT as the beta of shape 1 + 4 (mode - low) / (high - low).
"""
import math

import numpy as np
from scipy import optimize, special

INF = math.inf
BOUNDS = {"date": (-INF, INF), "warmth": (-INF, INF), "mass": (0.0, INF), "factor": (0.0, INF),
          "count": (0.0, INF),
          "weeks": (0.0, INF), "heat": (0.0, INF), "share": (0.0, 1.0)}


class DistributionError(Exception):
    """A distribution that cannot be; the text says why."""


class Law:
    """A continuous law: F, S, Q, QS as above, monotone."""

    def __init__(self, F, S, Q, QS):
        self.F, self.S, self.Q, self.QS = F, S, Q, QS
        self.F_below = F


def normal(mean, sd):
    return Law(lambda x: special.ndtr((x - mean) / sd), lambda x: special.ndtr((mean - x) / sd),
               lambda y: mean + sd * special.ndtri(y), lambda s: mean - sd * special.ndtri(s))


def through(law, forward, backward):
    """The law of backward(X): forward maps its values to X's."""
    return Law(lambda x: law.F(forward(x)), lambda x: law.S(forward(x)),
               lambda y: backward(law.Q(y)), lambda s: backward(law.QS(s)))


def log_of(x):
    with np.errstate(divide="ignore"):
        return np.log(np.maximum(x, 0.0))


def logit_of(x):
    return special.logit(np.clip(x, 0.0, 1.0))


def gamma(k, theta):
    pos = lambda x: np.maximum(x, 0.0) / theta
    return Law(lambda x: special.gammainc(k, pos(x)), lambda x: special.gammaincc(k, pos(x)),
               lambda y: theta * special.gammaincinv(k, y), lambda s: theta * special.gammainccinv(k, s))


def beta(a, b, low=0.0, high=1.0):
    span = high - low
    unit = lambda x: np.clip((np.asarray(x, float) - low) / span, 0.0, 1.0)
    return Law(lambda x: special.betainc(a, b, unit(x)), lambda x: special.betainc(b, a, 1.0 - unit(x)),
               lambda y: low + span * special.betaincinv(a, b, y), lambda s: high - span * special.betaincinv(b, a, s))


def weibull(k, scale):
    pos = lambda x: (np.maximum(x, 0.0) / scale) ** k
    return Law(lambda x: -np.expm1(-pos(x)), lambda x: np.exp(-pos(x)),
               lambda y: scale * (-np.log1p(-np.asarray(y, float))) ** (1.0 / k), lambda s: scale * (-np.log(s)) ** (1.0 / k))


def weibull_from_mean(mean, sd):
    def excess(k):
        return special.gammaln(1 + 2 / k) - 2 * special.gammaln(1 + 1 / k) - math.log1p((sd / mean) ** 2)
    k = optimize.brentq(excess, 0.05, 500.0, xtol=1e-13)
    return weibull(k, mean / math.gamma(1 + 1 / k))


def uniform(low, high):
    return Law(lambda x: np.clip((x - low) / (high - low), 0.0, 1.0),
               lambda x: np.clip((high - x) / (high - low), 0.0, 1.0),
               lambda y: low + (high - low) * np.asarray(y, float), lambda s: high - (high - low) * np.asarray(s, float))


def triangular(low, mode, high):
    span, up, down = high - low, mode - low, high - mode

    def F(x):
        x = np.clip(np.asarray(x, float), low, high)
        left = (x - low) ** 2 / (span * up) if up > 0 else np.zeros_like(x)
        right = 1.0 - (high - x) ** 2 / (span * down) if down > 0 else np.ones_like(x)
        return np.where(x < mode, left, right)

    def Q(y):
        y = np.asarray(y, float)
        return np.where(y < up / span, low + np.sqrt(span * up * y),
                        high - np.sqrt(span * down * np.maximum(1.0 - y, 0.0)))

    return Law(F, lambda x: 1.0 - F(x), Q, lambda s: Q(1.0 - np.asarray(s, float)))


class Metalog(Law):
    """Three terms through (0.1, q1), (0.5, q5), (0.9, q9): M(t) = a1 + a2 t + a3 (y - 1/2) t with t = logit y."""

    def __init__(self, q1, q5, q9):
        if not q1 < q5 < q9:
            raise DistributionError("p10 < p50 < p90 does not hold")
        log9 = math.log(9.0)
        r = (q5 - q1) / (q9 - q1)
        self.a1, self.a2 = q5, (q9 - q1) / (2.0 * log9)
        self.a3 = (1.0 - 2.0 * r) * (q9 - q1) / (0.8 * log9)
        self.grid = np.linspace(-60.0, 60.0, 24001)
        self.at = self.M(self.grid)
        if not np.all(np.diff(self.at) > 0.0):
            raise DistributionError("no metalog goes through this triplet (p50 too near one end)")
        self.upper_slope = self.a2 + 0.5 * self.a3
        F = lambda x: special.expit(self.t_of(x))
        super().__init__(F, lambda x: special.expit(-self.t_of(x)), lambda y: self.M(special.logit(y)),
                         lambda s: self.M(-special.logit(s)))

    def M(self, t):
        return self.a1 + (self.a2 + self.a3 * (special.expit(t) - 0.5)) * t

    def slope(self, t):
        y = special.expit(t)
        return self.a2 + self.a3 * ((y - 0.5) + y * (1.0 - y) * t)

    def t_of(self, x):
        x = np.asarray(x, float)
        t = np.interp(x, self.at, self.grid)
        inside = (x > self.at[0]) & (x < self.at[-1])
        for _ in range(3):
            with np.errstate(invalid="ignore"):
                t = np.where(inside, np.clip(t - (self.M(t) - x) / self.slope(t), -60.0, 60.0), t)
        return np.where(x <= self.at[0], -INF, np.where(x >= self.at[-1], INF, t))


class SmoothRecords(Law):
    """Straight lines between order statistics: Q at (n - 1) u."""

    def __init__(self, values):
        self.x = np.sort(np.asarray(values, float))
        self.n = len(self.x)
        nodes = np.linspace(0.0, 1.0, self.n)
        Q = lambda y: np.interp(y, nodes, self.x)
        super().__init__(lambda v: self.share(v, "right"), lambda v: 1.0 - self.share(v, "right"), Q,
                         lambda s: Q(1.0 - np.asarray(s, float)))
        self.F_below = lambda v: self.share(v, "left")

    def share(self, v, side):
        v = np.asarray(v, float)
        i = np.searchsorted(self.x, v, side=side)
        lo, hi = self.x[np.clip(i - 1, 0, self.n - 1)], self.x[np.clip(i, 0, self.n - 1)]
        with np.errstate(divide="ignore", invalid="ignore"):
            part = np.where(hi > lo, (v - lo) / (hi - lo), 0.0)
        return np.where(i <= 0, 0.0, np.where(i >= self.n, 1.0, (i - 1 + part) / max(self.n - 1, 1)))


class Continuous:
    """A law between low and high, renormalised; whole numbers if it is a count's or a date's."""

    def __init__(self, law, low, high, whole):
        self.law, self.low, self.high, self.whole = law, low, high, whole
        self.F_low = float(law.F_below(low)) if low > -INF else 0.0
        self.S_low = 1.0 - self.F_low if self.F_low < 0.5 else float(law.S(low))
        self.S_high = float(law.S(high)) if high < INF else 0.0
        self.mass = self.S_low - self.S_high
        if not self.mass > 0.0:
            raise DistributionError("nothing is left between at_least and at_most")

    def ppf(self, u):
        u = np.asarray(u, float)
        y = self.F_low + u * self.mass
        s = self.S_high + (1.0 - u) * self.mass
        x = np.where(y < 0.5, self.law.Q(np.minimum(y, 0.6)), self.law.QS(np.clip(s, 1e-300, 0.9)))
        return self.round(np.clip(x, self.low, self.high))

    def round(self, x):
        return np.floor(x + 0.5) if self.whole else x

    def cdf(self, x):
        x = np.asarray(x, float)
        inside = np.clip((self.law.F(x) - self.F_low) / self.mass, 0.0, 1.0)
        return np.where(x < self.low, 0.0, np.where(x >= self.high, 1.0, inside))

    def sf(self, x):
        if x < self.low:
            return 1.0
        return min(1.0, max(0.0, (float(self.law.S(x)) - self.S_high) / self.mass)) if x < self.high else 0.0

    def beyond(self, u, x):
        """A draw given that it is more than x."""
        top = self.sf(x) * self.mass
        return np.minimum(self.law.QS(np.clip(self.S_high + (1.0 - np.asarray(u)) * top, 1e-300, 1.0)),
                          self.high)


class Steps:
    """Values with chances: counts, records as they are, plain numbers."""

    def __init__(self, values, weights, whole):
        order = np.argsort(values, kind="stable")
        self.x = np.asarray(values, float)[order]
        if whole:
            self.x = np.floor(self.x + 0.5)
        w = np.asarray(weights, float)[order]
        if len(w) == 0 or not w.sum() > 0.0 or w.min() < 0.0:
            raise DistributionError("no value is left, or weights are not weights")
        self.p = w / w.sum()
        self.cum = np.cumsum(self.p)
        self.cum[-1] = 1.0

    def ppf(self, u):
        return self.x[np.searchsorted(self.cum, u, side="left")]

    def cdf(self, x):
        i = np.searchsorted(self.x, x, side="right")
        return np.where(i > 0, self.cum[np.maximum(i - 1, 0)], 0.0)

    def sf(self, x):
        return float(self.p[self.x > x].sum())

    def beyond(self, u, x):
        keep = self.x > x
        return Steps(self.x[keep], self.p[keep], False).ppf(u)


def poisson_steps(mean):
    n = int(mean + 12.0 * math.sqrt(mean) + 40)
    x = np.arange(n)
    return x, np.exp(x * math.log(mean) - mean - special.gammaln(x + 1))


def negative_binomial_steps(mean, sd):
    if not sd * sd > mean:
        raise DistributionError("negative_binomial needs sd * sd > mean")
    r, p = mean * mean / (sd * sd - mean), mean / (sd * sd)
    x = np.arange(int(mean + 40.0 * sd) + 60)
    return x, np.exp(special.gammaln(x + r) - special.gammaln(r) - special.gammaln(x + 1) + r * math.log(p)
                     + x * math.log1p(-p))


def shaped(g, num):
    """The Law of a group with `shape`; num turns a setting into a number (dates into days)."""
    shape = g["shape"]
    mean = num(g["mean"]) if "mean" in g else None
    sd = float(g["sd"]) if "sd" in g else None
    if shape == "normal":
        return normal(mean, sd)
    if shape == "lognormal":
        if "mu" in g:
            mu, sigma = float(g["mu"]), float(g["sigma"])
        else:
            sigma = math.sqrt(math.log1p((sd / mean) ** 2))
            mu = math.log(mean) - 0.5 * sigma * sigma
        return through(normal(mu, sigma), log_of, np.exp)
    if shape == "gamma":
        return gamma(float(g["k"]), float(g["theta"])) if "k" in g else gamma((mean / sd) ** 2,
                                                                              sd * sd / mean)
    if shape == "beta":
        if "alpha" in g:
            return beta(float(g["alpha"]), float(g["beta"]))
        nu = mean * (1.0 - mean) / (sd * sd) - 1.0
        if nu <= 0.0:
            raise DistributionError("beta: sd too large for its mean")
        return beta(mean * nu, (1.0 - mean) * nu)
    if shape == "weibull":
        return weibull(float(g["k"]), float(g["scale"])) if "k" in g else weibull_from_mean(mean, sd)
    if shape == "exponential":
        return weibull(1.0, mean)
    low, high = num(g["low"]), num(g["high"])
    if shape == "uniform":
        return uniform(low, high)
    mode = num(g["mode"])
    if shape == "triangular":
        return triangular(low, mode, high)
    if shape == "pert":
        return beta(1 + 4 * (mode - low) / (high - low), 1 + 4 * (high - mode) / (high - low), low, high)
    raise DistributionError("unknown shape %s" % shape)


def triplet(g, kind, num, has_at_most):
    q = [num(g[k]) for k in ("p10", "p50", "p90")]
    if kind in ("date", "warmth"):
        return Metalog(*q)
    if kind == "share":
        if q[0] <= 0.0 or q[2] >= 1.0:
            raise DistributionError("a share's triplet must lie inside 0 and 1")
        return through(Metalog(*special.logit(q)), logit_of, special.expit)
    if q[0] <= 0.0:
        raise DistributionError("p10 at or under 0: use counts, records or a small number")
    log_law = Metalog(*np.log(q))
    if log_law.upper_slope >= 0.5 and not has_at_most:
        raise DistributionError("the upper tail has no variance: give at_most")
    return through(log_law, log_of, np.exp)


def make(value, kind, to_day=None):
    """A distribution from a setting. kind: a key of BOUNDS; to_day turns "MM-DD" into a day number."""
    num = lambda v: float(to_day(v)) if isinstance(v, str) else float(v)
    whole = kind in ("date", "count")
    if not isinstance(value, dict):
        return Steps([num(value)], [1.0], whole)
    low = num(value["at_least"]) if "at_least" in value else -INF
    high = num(value["at_most"]) if "at_most" in value else INF
    steps = None
    shape = value.get("shape")
    if shape == "poisson":
        steps = poisson_steps(float(value["mean"]))
    elif shape == "negative_binomial":
        steps = negative_binomial_steps(float(value["mean"]), float(value["sd"]))
    elif shape == "counts":
        steps = [num(v) for v in value["values"]], value["weights"]
    elif "records" in value and not value.get("smooth", False):
        steps = [num(v) for v in value["records"]], [1.0] * len(value["records"])
    bound_low, bound_high = BOUNDS[kind]
    if steps is not None:
        kept = [(x, w) for x, w in zip(*steps) if low <= x <= high]
        total = sum(w for _, w in kept)
        inside = [(x, w) for x, w in kept if bound_low <= x <= bound_high]
        check_bound(sum(w for _, w in inside), total)
        return Steps([x for x, _ in inside], [w for _, w in inside], whole)
    if "p50" in value:
        law = triplet(value, kind, num, "at_most" in value)
    elif "records" in value:
        law = SmoothRecords([num(v) for v in value["records"]])
    else:
        law = shaped(value, num)
    cut = Continuous(law, low, high, whole)
    inner = Continuous(law, max(low, bound_low), min(high, bound_high), whole)
    check_bound(inner.mass, cut.mass)
    return inner


def check_bound(inside, total):
    if not total > 0.0 or inside < (1.0 - 1e-6) * total:
        raise DistributionError("more than 1e-6 of its mass lies beyond the natural bound")
