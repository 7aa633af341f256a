"""Closed forms over several food years: carry-over, beans too old."""
import math

import numpy as np
from scipy import integrate, stats

import scenes
from closed_beans import moments_over

MILLION = 1000000


def two_years(checks, go):
    """Gamma harvests X0, X1 against a yearly want W: what is left of the first year is eaten in the
    second."""
    k, theta, want = 9.0, 0.32, 0.05
    x, total = stats.gamma(k, scale=theta), 52 * want
    scene = scenes.beans({"unit_kg": {"shape": "gamma", "k": k, "theta": theta}}, food_years=2)
    r = go("two_years", scene, MILLION)
    source = "convolution of two gammas by quadrature"
    both = integrate.quad(lambda a: x.pdf(a) * x.cdf(2 * total - a), total, 2 * total, epsabs=1e-12)[0]
    second = x.cdf(total) ** 2 + both
    checks.chance(source, r, "beans", "chance_short", x.cdf(total), year=1)
    checks.chance(source, r, "beans", "chance_short", second, year=2)
    checks.chance(source, r, "any", "chance_short", x.cdf(total) + both, year="all")
    checks.mean(source, r, "beans", "kg_left", *moments_over(x, total), year=1)

    def left(power):                    # E ((X0 - W)+ + X1 - W)+ ^ power
        inner = lambda d: integrate.quad(lambda b: power * (b - d) ** (power - 1) * x.sf(b), d, np.inf)[0]
        carried = lambda c: inner(total - c) if c <= total else (
            x.mean() + c - total if power == 1 else x.var() + (x.mean() + c - total) ** 2)
        return (x.cdf(total) * inner(total)
                + integrate.quad(lambda a: x.pdf(a) * carried(a - total), total, 2 * total, epsabs=1e-11)[0]
                + integrate.quad(lambda a: x.pdf(a) * carried(a - total), 2 * total, 60, epsabs=1e-11)[0])

    mean = left(1)
    checks.mean(source, r, "beans", "kg_left", mean, math.sqrt(left(2) - mean * mean), year=2)


def too_old(checks, go):
    """Beans thrown out when a food year begins: with 0 seasons all that is left, with 1 what two years have
    not eaten."""
    k, theta, want = 9.0, 0.32, 0.025
    x, total = stats.gamma(k, scale=theta), 52 * want
    crop = {"unit_kg": {"shape": "gamma", "k": k, "theta": theta}}
    r = go("no_old_beans", scenes.beans(crop, food_years=2, store={"beans_keep_seasons": 0},
                                        household__meals__beans__portion_kg=want),
           MILLION // 4)
    source = "partial expectation of a gamma"
    checks.mean(source, r, "beans", "kg_thrown_out", 0.0, 0.0, year=1)
    checks.mean(source, r, "beans", "kg_thrown_out", *moments_over(x, total), year=2)
    checks.chance(source, r, "beans", "chance_short", x.cdf(total), year=2)
    r = go("year_old_beans", scenes.beans(crop, food_years=3, store={"beans_keep_seasons": 1},
                                          household__meals__beans__portion_kg=want),
           MILLION // 4)
    checks.mean(source, r, "beans", "kg_thrown_out", 0.0, 0.0, year=2)
    checks.mean(source, r, "beans", "kg_thrown_out", *moments_over(x, 2 * total), year=3)


ALL = (two_years, too_old)
