"""Mean power in the peak window, and the share of the connected load that it is."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd

from mv.base.clock import local_days
from mv.base.estimate import Answer, CannotSay, Estimate
from mv.peak.window import Mask

WHOLE_WINDOW_SHARE = 0.9
"""Share of a day's window that must be metered for the day to count. Common practice, no source."""
FEWEST_DAYS = 3
"""Days below which no interval is given. Common practice, no source."""


def window_mean_kw(power_kw: pd.Series, mask: Mask, *, timezone: str) -> pd.Series:
    """Mean kW in the window on each local day that has it, by naive local date.

    A day counts where at least nine tenths of the fullest day's window is metered. The mean, not
    the highest: a peak saving is never the difference of two maxima.
    """
    inside = power_kw[mask]
    grouped = inside.groupby(local_days(pd.DatetimeIndex(inside.index), timezone))
    counts, means = grouped.count(), grouped.mean()
    if counts.empty:
        return means
    return means[counts >= WHOLE_WINDOW_SHARE * grouped.size().max()]


def coincidence_factor(daily_mean_kw: pd.Series, *, connected_kw: float | None, confidence: float) -> Answer:
    """Share of the connected load that burns in the peak window, as found: mean kW / connected kW.

    UMP ch. 2 (from memory): the mean on-fraction over the window. The interval is of the mean
    over days, with `effective_days` for day-to-day persistence; it ends at 0, and at 1 unless the
    meter itself reads more than the connected load.
    """
    what = "coincidence factor"
    if not connected_kw:
        return CannotSay(what, "the connected load is not stated")
    values = daily_mean_kw.dropna().to_numpy(dtype=float)
    if len(values) < FEWEST_DAYS:
        return CannotSay(what, f"only {len(values)} days of the window are metered")
    mean_kw = mean_over_days(values, confidence=confidence)
    share = mean_kw.scaled(1.0 / connected_kw)
    low, high = float(share.low or 0.0), float(share.high or 0.0)
    most = max(1.0, float(share.estimate))
    return replace(share, low=max(0.0, low), high=min(most, high))


def mean_over_days(values: np.ndarray, *, confidence: float) -> Estimate:
    """Mean of daily values with a Student-t interval on `effective_days`."""
    from scipy.special import stdtrit

    days = effective_days(values)
    error = float(np.std(values, ddof=1)) / math.sqrt(days)
    half = float(stdtrit(max(1.0, days - 1.0), 0.5 + confidence / 2.0)) * error
    mean = float(np.mean(values))
    return Estimate(mean, mean - half, mean + half, confidence, error)


def effective_days(values: np.ndarray) -> float:
    """Days that count as independent, n (1 - r) / (1 + r), r the lag-1 autocorrelation.

    ASHRAE Guideline 14 (from memory). A negative r is taken as 0; at least 2.
    """
    centred = values - np.mean(values)
    spread = float(centred @ centred)
    r = float(centred[1:] @ centred[:-1]) / spread if spread > 0 else 0.0
    r = min(max(r, 0.0), 0.99)
    return max(2.0, len(values) * (1.0 - r) / (1.0 + r))
