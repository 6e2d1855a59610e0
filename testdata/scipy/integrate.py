"""Reads rules and days, writes degree-days worked out by numerical integration
of the day's curve with scipy. It shares no formula with the program: the moments
at which the curve crosses a threshold come from a root finder.

Standard input, one JSON object:
  rules  list of {method, cutoff, lower, upper}; C; upper null when there is none
  days   list of [min, max, next min or null]
  hours  list of lists: the temperatures of each day's hours, null when missing
Standard output, one JSON list with a list of values for each rule.
"""

import json
import sys

import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq


def rate(t, lower, upper, cutoff):
    if t <= lower:
        return 0.0
    if cutoff == "none" or t <= upper:
        return t - lower
    return {"horizontal": upper - lower, "intermediate": 2 * upper - lower - t, "vertical": 0.0}[cutoff]


def half_day(shape, a, b, lower, upper, cutoff):
    """Mean rate over the half-day from a to b, at least 0."""
    if shape == "sine":
        def temp(u):
            return (a + b) / 2 - (b - a) / 2 * np.cos(np.pi * u)
    else:
        def temp(u):
            return a + (b - a) * u
    if a == b:
        return max(0.0, rate(a, lower, upper, cutoff))
    edges = [0.0, 1.0]
    for level in (lower, upper):
        if level is not None and min(a, b) < level < max(a, b):
            edges.append(brentq(lambda u: temp(u) - level, 0, 1, xtol=1e-15))
    edges.sort()
    total = 0.0
    for lo, hi in zip(edges, edges[1:]):
        if hi > lo:
            total += quad(lambda u: rate(temp(u), lower, upper, cutoff), lo, hi, epsabs=1e-11)[0]
    return max(0.0, total)


def daily(rule, low, top, nxt):
    lower, upper, cutoff = rule["lower"], rule["upper"], rule["cutoff"] or "none"
    count, shape = rule["method"].split("-")
    first = half_day(shape, low, top, lower, upper, cutoff)
    if count == "single" or nxt is None:
        return first
    return (first + half_day(shape, top, nxt, lower, upper, cutoff)) / 2


def hourly(rule, temps):
    lower, upper, cutoff = rule["lower"], rule["upper"], rule["cutoff"] or "none"
    known = [t for t in temps if t is not None]
    if len(known) < 20:
        return None
    return max(0.0, float(np.mean([rate(t, lower, upper, cutoff) for t in known])))


def averages(rule, low, top):
    lower, upper = rule["lower"], rule["upper"]
    if rule["method"] == "average":
        return max(0.0, (low + top) / 2 - lower)
    if rule["method"] == "average-clip-each":
        return float(np.mean(np.clip([low, top], lower, upper))) - lower
    if rule["method"] == "average-clip-max":
        return max(0.0, float(np.mean(np.minimum([low, top], upper))) - lower)
    return float(np.clip((low + top) / 2, lower, upper)) - lower


def main():
    data = json.load(sys.stdin)
    out = []
    for rule in data["rules"]:
        if rule["method"] == "hourly":
            out.append([hourly(rule, h) for h in data["hours"]])
        elif rule["method"].startswith("average"):
            out.append([averages(rule, low, top) for low, top, _ in data["days"]])
        else:
            out.append([daily(rule, *d) for d in data["days"]])
    json.dump(out, sys.stdout)


if __name__ == "__main__":
    main()
