"""Works out disease rules from hours, independently of the program: the severity
table of vectorised.py day by day, the two-day rule of the Hutton Criteria 2017,
and the generic infection model of Magarey, Sutton & Thayer 2005 with the row of
Venturia inaequalis (1, 20, 35 C; 6 to 40.5 h; gap 24 h).

Standard input, one JSON object: temp, rh, rain (lists of hours, null when
missing) and day (the local date of each hour). Standard output, one JSON object:
  days       the dates in order
  severity   the table's value of each day, from its known hours
  unknown    how many hours of each day lack what the table needs
  hutton     1 on days that complete two days in a row, by days fully known; null otherwise
  infection  the dates on which a wet period reached its hours
"""

import json
import sys
from itertools import groupby

import numpy as np
from scipy.optimize import brentq

from vectorised import severity


def leaf(rh, rain):
    """wet True, dry False, unknown None: wet at 90 % or in rain."""
    if rain is not None and rain > 0:
        return True
    if rh is not None and rh >= 90:
        return True
    if rh is None or rain is None:
        return None
    return False


def table_value(temps):
    """vectorised.severity on one day: as many wet hours as temps, 24 at the most."""
    temp, wet = np.zeros((1, 1, 24)), np.zeros((1, 1, 24), dtype=bool)
    n = min(len(temps), 24)
    if n == 0:
        return 0
    temp[0, 0, :n], wet[0, 0, :n] = np.mean(temps), True
    return int(severity(temp, wet)[0, 0])


TMIN, TOPT, TMAX, WMIN, WMAX, D50 = 1.0, 20.0, 35.0, 6.0, 40.5, 24


def response(t):
    if not TMIN < t < TMAX:
        return 0.0
    k = (TOPT - TMIN) / (TMAX - TOPT)
    return float(np.exp(np.log((TMAX - t) / (TMAX - TOPT)) + k * np.log((t - TMIN) / (TOPT - TMIN))))


def limits(hours):
    """Between which temperatures so many hours are enough, by a root finder."""
    if hours >= WMAX:
        return TMIN, TMAX
    excess = lambda t: WMIN / max(response(t), 1e-300) - hours
    eps = 1e-9
    return brentq(excess, TMIN + eps, TOPT, xtol=1e-13), brentq(excess, TOPT, TMAX - eps, xtol=1e-13)


def infections(hours):
    """hours: (date, wet, temp, rh). A period is kept as the list of its wet temperatures."""
    wet_temps, gap, infected, out = [], 0, False, []
    for date, wet, temp, rh in hours:
        if wet is None:
            continue
        if wet:
            gap = 0
            wet_temps.append(temp)
            known = [t for t in wet_temps if t is not None]
            if not infected and known and len(wet_temps) > WMIN:
                low, high = limits(len(wet_temps))
                mean = float(np.mean(known))
                if low <= mean <= high and TMIN < mean < TMAX:
                    infected = True
                    out.append(date)
        elif rh is not None and rh < 95:
            gap += 1
            if gap >= D50:
                wet_temps, infected = [], False
    return out


def main():
    data = json.load(sys.stdin)
    hours = list(zip(data["day"], [leaf(h, r) for h, r in zip(data["rh"], data["rain"])], data["temp"], data["rh"]))
    out = {"days": [], "severity": [], "unknown": [], "hutton": [], "infection": infections(hours)}
    yesterday = None
    for day, group in groupby(hours, key=lambda h: h[0]):
        group = list(group)
        out["days"].append(day)
        # The severity table here counts humid hours alone, without rain.
        known = [h for h in group if h[3] is not None]
        out["severity"].append(table_value([t for _, _, t, rh in known if rh >= 90 and t is not None]))
        out["unknown"].append(sum(rh is None or (rh >= 90 and t is None) for _, _, t, rh in group))
        full = all(t is not None and rh is not None for _, _, t, rh in group)
        good = min(t for _, _, t, _ in group) >= 10 and sum(rh >= 90 for _, _, _, rh in group) >= 6 if full else None
        both = None if good is None or yesterday is None else int(good and yesterday)
        out["hutton"].append(both)
        yesterday = good
    json.dump(out, sys.stdout)


if __name__ == "__main__":
    main()
