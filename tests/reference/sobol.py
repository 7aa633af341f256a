#!/usr/bin/python3
"""Writes sobol.csv beside itself: coordinates of the Sobol sequence, as whole numbers of 30 bits, from SciPy's own reading of the
direction numbers of Joe & Kuo (scipy.stats.qmc.Sobol, made with SciPy 1.10.1), independently of src/chance. SciPy runs through the points
in the order of Gray's code; a point's number here is the one whose bits say which direction numbers are in it. Takes two
minutes: SciPy walks to a point."""
import csv
import os

import numpy
from scipy.stats import qmc

DIMENSIONS, BITS, POINTS = 256, 30, [1, 2, 3, 12, 1000, 77777, 123456789, 2 ** 30 - 1]


def place_in_gray_order(number):
    place = 0
    while number:
        place ^= number
        number >>= 1
    return place


def point(number):
    sequence = qmc.Sobol(DIMENSIONS, scramble=False)
    sequence.fast_forward(place_in_gray_order(number))
    return [int(x) for x in numpy.round(sequence.random(1)[0] * 2 ** BITS)]


if __name__ == "__main__":
    points = [point(number) for number in POINTS]
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "sobol.csv"), "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(POINTS)
        writer.writerows(zip(*points))
