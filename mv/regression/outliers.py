"""Days so far from the rest that they would bend the fit."""

import numpy as np
import numpy.typing as npt

from mv.base.medians import median

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

ROBUST_LIMIT = 6.0  # robust standard deviations (common practice, no source)
LARGEST_SHARE = 0.05  # never set aside more than this share of the days (common practice, no source)
MAD_TO_SD = 1.4826  # of normal noise
ROUNDING = 1e-9  # of the largest value: departures below are arithmetic, not noise


def robust_scale(values: FloatArray) -> float:
    """1.4826 times the median absolute deviation: a standard deviation that outliers cannot move."""
    return MAD_TO_SD * median(np.abs(values - median(values))) if len(values) else 0.0


def far_days(y: FloatArray, design: FloatArray, group: BoolArray) -> BoolArray:
    """Days beyond 6 robust standard deviations of a resistant fit, within each half of `group`.

    The fit is reweighted least squares with Tukey's biweight (Beaton & Tukey 1974, from memory).
    When more than 5 % of the days lie out there they are no exceptions, and none is named.
    """
    weight = np.ones(len(y))
    residual = y - median(y)
    least = ROUNDING * float(np.abs(y).max(initial=0.0)) or 1.0
    for _ in range(12):
        root = np.sqrt(weight)[:, None]
        fitted = np.linalg.lstsq(root * design, root[:, 0] * y, rcond=None)[0]
        residual = y - design @ fitted
        scale = _scales(residual, group, least)
        weight = np.clip(1 - (residual / (ROBUST_LIMIT * scale)) ** 2, 0, None) ** 2
    far = np.abs(residual) > ROBUST_LIMIT * _scales(residual, group, least)
    return far if far.mean() <= LARGEST_SHARE else np.zeros(len(y), dtype=bool)


def _scales(residual: FloatArray, group: BoolArray, least: float) -> FloatArray:
    """Each day's robust scale: its half's, at least a tenth of the whole's and never below `least`."""
    whole = max(robust_scale(residual), 0.05 * float(np.std(residual)), least)
    scale = np.full(len(residual), whole)
    for half in (group, ~group):
        if half.sum() >= 10:
            scale[half] = max(robust_scale(residual[half]), 0.5 * whole)
    return scale
