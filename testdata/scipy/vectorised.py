"""Degree-days, humid hours and a severity table as a scientist would write them
in numpy: whole arrays, no loop over days or hours. They are the yardstick of
bench.py; integrate.py is the one for correctness.

Arrays have the shape (sites, days) or (sites, days, 24). Temperatures are C.
"""

import numpy as np


def sine_area(low, top, t):
    """Area of the day's sine above t, in degree-days."""
    mean = (low + top) / 2
    half = (top - low) / 2
    z = np.clip((t - mean) / np.where(half > 0, half, 1), -1, 1)
    th = np.arcsin(z)
    area = ((mean - t) * (np.pi / 2 - th) + half * np.cos(th)) / np.pi
    return np.where(top <= t, 0, np.where(low >= t, mean - t, area))


def single_sine_horizontal(low, top, lower, upper):
    """Single sine, horizontal cutoff."""
    return sine_area(low, top, lower) - sine_area(low, top, upper)


def double_sine_horizontal(low, top, lower, upper):
    """Double sine, horizontal cutoff; the last day by the single sine."""
    nxt = np.concatenate([low[:, 1:], low[:, -1:]], axis=1)
    first = single_sine_horizontal(low, top, lower, upper)
    second = single_sine_horizontal(np.minimum(top, nxt), np.maximum(top, nxt), lower, upper)
    return (first + second) / 2


# Tomato early blight severity values after Madden, Pennypacker & MacNab 1978 and
# Pitblado 1992, the table from memory: lowest temperature of each band, C, and
# the hours from which each value is given.
BANDS = np.array([13.0, 18.0, 21.0, 26.0, 30.0])
HOURS = np.array([[7, 16, 21, 99], [4, 9, 16, 23], [3, 6, 13, 21], [4, 9, 16, 23]])


def severity(temp, wet):
    """Severity values of days from hourly temperature and wetness (bool)."""
    n = wet.sum(axis=2)
    mean = (temp * wet).sum(axis=2) / np.maximum(n, 1)
    band = np.searchsorted(BANDS, np.floor(mean + 0.5), side="right") - 1
    inside = (band >= 0) & (band < len(HOURS)) & (n > 0)
    limits = HOURS[np.clip(band, 0, len(HOURS) - 1)]
    return np.where(inside, (n[..., None] >= limits).sum(axis=2), 0)
