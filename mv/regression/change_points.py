"""Where a straight line bends: two-line fits, and the elevation at which outdoor lights switch."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

FloatArray = npt.NDArray[np.float64]

# Sun elevation at which outdoor lights switch, before the days speak: 35/18-lux cells switch about 20
# minutes from sunset (military lighting handbook MO-221), some earlier under cloud.
LEAST_DAYS_TO_TELL_SWITCHING = 290
USUAL_SWITCHING_DEG, SWITCHING_SPREAD_DEG = -1.0, 3.0


@dataclass(frozen=True)
class TwoLines:
    """Two lines that meet at `change`: `level` there, slopes below and above, residual sum of squares."""

    change: float
    level: float
    slope_below: float
    slope_above: float
    residual_square_sum: float


def two_lines(x: FloatArray, y: FloatArray) -> TwoLines:
    """Least squares for a continuous two-segment line with an unknown join (Hudson 1966, from memory).

    Exact: the sum of squares is minimised within each gap between neighbouring x, where the join is
    either the crossing of two separate fits or a data point. Needs five points or more.
    """
    order = np.argsort(x, kind="stable")
    x, y = x[order], y[order]
    values = np.unique(x)
    if len(x) < 5 or len(values) < 4:
        raise ValueError("two lines need at least five points at four places")
    candidates = list(values[1:-1])
    for left, right in pairwise(values[1:-1]):
        below = x <= left
        line_1, line_2 = np.polyfit(x[below], y[below], 1), np.polyfit(x[~below], y[~below], 1)
        if line_1[0] != line_2[0]:
            crossing = (line_2[1] - line_1[1]) / (line_1[0] - line_2[0])
            if left < crossing < right:
                candidates.append(crossing)
    return min((_joined_at(x, y, place) for place in candidates), key=lambda fit: fit.residual_square_sum)


def _joined_at(x: FloatArray, y: FloatArray, change: float) -> TwoLines:
    matrix = np.column_stack([np.ones_like(x), np.minimum(x - change, 0), np.maximum(x - change, 0)])
    level, below, above = np.linalg.lstsq(matrix, y, rcond=None)[0]
    rest = y - matrix @ np.array([level, below, above])
    return TwoLines(float(change), float(level), float(below), float(above), float(rest @ rest))


def _rest(y: FloatArray, matrix: FloatArray) -> float:
    fitted = np.linalg.lstsq(matrix, y, rcond=None)[0]
    apart = y - matrix @ fitted
    return float(apart @ apart)


def switching_elevation_deg(y: FloatArray, drivers: pd.DataFrame, elevations: FloatArray) -> float:
    """Elevation below which outdoor lights burn: the one whose hours of night fit y best.

    One watt and one constant are fitted at each of `elevations` (degrees); the score is the log of the
    sum of squares over a tenth of the days (they hang together) and, where the days span less than
    most of a year and cannot tell watts from hours, the distance from usual switching. A parabola
    through the three best scores gives the place between.
    """
    from mv.regression.terms import night_hours

    floor = 1e-9 * float(y @ y) + np.finfo(float).tiny
    fits = [_rest(y, np.column_stack([np.ones(len(y)), night_hours(drivers, e)])) + floor for e in elevations]
    usual = ((elevations - USUAL_SWITCHING_DEG) / SWITCHING_SPREAD_DEG) ** 2
    whole_year = (drivers.index[-1] - drivers.index[0]).days >= LEAST_DAYS_TO_TELL_SWITCHING
    rests = 0.1 * len(y) * np.log(np.array(fits)) + (0.0 if whole_year else usual)
    best = int(np.argmin(rests))
    if best in (0, len(elevations) - 1):
        return float(elevations[best])
    a, b, c = rests[best - 1 : best + 2]
    bend = a - 2 * b + c
    move = 0.5 * (a - c) / bend if bend > 0 else 0.0
    return float(elevations[best] + move * (elevations[1] - elevations[0]))
