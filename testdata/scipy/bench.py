"""Prints how long the vectorised numpy versions take for one site-season.

Output, a line for each task and size: name, seconds per site-season, sites in
the array, and the season's totals, to be compared. One site is what a refresh
computes; 50 sites at once is where numpy does best. The time is the best of many runs. To add a task, add a function of
(low, top, temp, wet) to TASKS; temp and wet have the shape (sites, 366, 24).
Arguments name the tasks to run; without any all are run.
"""

import sys
import time

import numpy as np

from vectorised import double_sine_horizontal, severity, single_sine_horizontal

LOWER, UPPER = 10.0, 30.0

TASKS = {
    "degreedays-single-sine": lambda low, top, temp, wet: single_sine_horizontal(low, top, LOWER, UPPER).cumsum(axis=1),
    "degreedays-double-sine": lambda low, top, temp, wet: double_sine_horizontal(low, top, LOWER, UPPER).cumsum(axis=1),
    "severity": lambda low, top, temp, wet: severity(temp, wet).cumsum(axis=1),
    "degreedays-and-severity": lambda low, top, temp, wet: (
        single_sine_horizontal(low, top, LOWER, UPPER).cumsum(axis=1),
        severity(temp, wet).cumsum(axis=1),
    ),
}


def season(sites):
    """The same invented year as in the Go benchmarks, sites times over."""
    i = np.arange(366)
    mean = 11 - 13 * np.cos(2 * np.pi * i / 366) + 3 * np.sin(i * 1.7)
    span = 6 + 3 * np.sin(i * 0.9)
    h = np.arange(24)
    temp = mean[:, None] - span[:, None] * np.cos(2 * np.pi * h / 24)
    rh = 78 + 18 * np.cos(2 * np.pi * h / 24) + 7 * np.sin(np.arange(366 * 24).reshape(366, 24) / 17)
    tile = lambda a: np.ascontiguousarray(np.broadcast_to(a, (sites,) + a.shape))
    return tile(mean - span), tile(mean + span), tile(temp), tile(rh >= 90)


def best(task, data, budget=0.6):
    times, end = [], time.perf_counter() + budget
    while time.perf_counter() < end or len(times) < 3:
        start = time.perf_counter()
        task(*data)
        times.append(time.perf_counter() - start)
    return min(times)


def main():
    wanted = sys.argv[1:] or list(TASKS)
    for name in wanted:
        if name not in TASKS:
            sys.exit(f"task {name!r} is not one of: {', '.join(TASKS)}")
        for sites in (1, 50):
            data = season(sites)
            running = TASKS[name](*data)
            totals = [float(r[0, -1]) for r in (running if isinstance(running, tuple) else (running,))]
            print(f"{name} {best(TASKS[name], data) / sites:.9f} {sites} {' '.join(map(repr, totals))}")


if __name__ == "__main__":
    main()
