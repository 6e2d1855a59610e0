"""Reads hours, writes wet (1), dry (0) or unknown (null) by the humidity
threshold and by the classification tree, vectorised in numpy and written apart
from the program.

Standard input, one JSON object of equally long lists, null when missing: temp C,
dew C, rh %, wind m/s at 10 m, rain mm; and threshold, the humidity in %.
Standard output: {"humidity": [...], "tree": [...]}.
"""

import json
import sys

import numpy as np


def states(wet, known, rain):
    """Rain wets; an hour whose rain is missing is never dry."""
    out = np.where(known, np.where(wet, 1.0, 0.0), np.nan)
    out = np.where(np.isnan(rain) & (out == 0), np.nan, out)
    out = np.where(rain > 0, 1.0, out)
    return [None if np.isnan(v) else int(v) for v in out]


def main():
    data = json.load(sys.stdin)
    t, dew, rh, u10, rain = (np.array(data[k], dtype=float) for k in ("temp", "dew", "rh", "wind", "rain"))
    # Wind profile over grass of 0.12 m, displacement 2/3 and roughness 0.123 of
    # its height (Allen et al. 1998).
    grass = 0.12
    d, z0 = 2 / 3 * grass, 0.123 * grass
    u = u10 * np.log((0.3 - d) / z0) / np.log((10 - d) / z0)
    dpd = t - dew
    root = np.sqrt(np.maximum(t, 0))
    with np.errstate(invalid="ignore"):
        calm = 1.6064 * root + 0.0036 * t**2 + 0.1531 * rh - 0.4599 * u * dpd - 0.0035 * t * rh > 14.4674
        windy = (0.7921 * root + 0.0046 * rh**2 - 2.3889 * u - 0.0390 * t * u + 1.0613 * u * dpd > 37.0) & (rh >= 87.8)
        far = (dpd >= 3.7) | (t < 0)
        tree = np.where(u < 2.5, calm, windy) & ~far
        known = far | ~np.isnan(t + dpd + rh + u)
        json.dump({"humidity": states(rh >= data["threshold"], ~np.isnan(rh), rain), "tree": states(tree, known, rain)}, sys.stdout)


if __name__ == "__main__":
    main()
