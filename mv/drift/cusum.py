"""Cumulative sums: the tabular chart that raises an alarm, and the plain sum that draws a change."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class TabularCusum:
    """Upper and lower cumulative sums, in the unit of the values, and the first alarm's index."""

    high: FloatArray
    low: FloatArray
    first_alarm: int | None


def tabular_cusum(values: FloatArray, *, target: float, allowance: float, limit: float) -> TabularCusum:
    """Tabular CUSUM: S_hi(i) = max(0, S_hi(i-1) + x_i - target - k), S_lo likewise downwards.

    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.3. `allowance` is k and `limit`
    h, both in the unit of the values; an alarm is a sum above h. NaN values carry the sums on.
    """
    high, low = np.zeros(len(values)), np.zeros(len(values))
    above = below = 0.0
    for i, value in enumerate(values):
        if np.isfinite(value):
            above = max(0.0, above + value - target - allowance)
            below = max(0.0, below + target - allowance - value)
        high[i], low[i] = above, below
    alarms = np.flatnonzero((high > limit) | (low > limit))
    return TabularCusum(high, low, int(alarms[0]) if len(alarms) else None)


def plain_cusum(values: FloatArray, *, target: float = 0.0) -> FloatArray:
    """Running sum of departures from target; its slope is the size of a change. NaN counts as none."""
    return np.asarray(np.cumsum(np.where(np.isfinite(values), values - target, 0.0)))


def residual_cusum_test(residuals: FloatArray) -> tuple[float, float, int]:
    """OLS-CUSUM test: largest scaled cumulative sum of regression residuals, p-value, where.

    Ploberger and Kraemer 1992, Econometrica 60(2): S = max |sum of residuals| / (s sqrt n) tends to
    the supremum of a Brownian bridge; p from its series. Valid for residuals without
    autocorrelation. The index returned is the number of observations up to the extreme.
    """
    n = len(residuals)
    scale = float(np.sqrt(np.sum(residuals**2) / (n - 1))) * np.sqrt(n)
    path = np.cumsum(residuals) / scale
    at = int(np.argmax(np.abs(path)))
    statistic = float(np.abs(path[at]))
    k = np.arange(1, 101)
    p = float(2.0 * np.sum((-1.0) ** (k + 1) * np.exp(-2.0 * k**2 * statistic**2)))
    return statistic, min(max(p, 0.0), 1.0), at + 1
