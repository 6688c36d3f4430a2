"""Which intervals lie in the programme's peak window."""

from collections.abc import Collection, Sequence
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_days
from mv.base.estimate import CannotSay
from mv.base.programme_records import Peak

Mask = npt.NDArray[np.bool_]

LONGEST_INTERVAL_MINUTES = 60.0
"""Coarser metering cannot show a window of hours. Common practice, no source."""
SATURDAY = 5


def peak_window_mask(
    index: pd.DatetimeIndex,
    peak: Peak,
    *,
    timezone: str,
    holidays: Collection[date] = (),
    hottest: Collection[date] | None = None,
) -> Mask:
    """True where an interval, labelled in UTC by its start, begins within the peak window.

    The window is on the local clock, half-open: 15-minute starts 14:00 to 17:45 belong to
    14-18 h, sixteen a day. `holidays` are the site's and give way to the window's own.
    `hottest` are the days picked by `hottest_days`, for that rule only; without them all
    eligible days count. For "single hour" only the named hours count.
    """
    if peak.rule == "single hour":
        return _named_hours(index, peak, timezone)
    days = local_days(index, timezone)
    inside = _within_hours(index, peak.windows, timezone) & eligible_day_mask(days, peak, holidays=holidays)
    if hottest is not None:
        inside &= np.asarray(days.isin(pd.DatetimeIndex(list(hottest))), dtype=bool)
    return inside


def eligible_day_mask(days: pd.DatetimeIndex, peak: Peak, *, holidays: Collection[date] = ()) -> Mask:
    """True for local days (naive midnights) in the window's months, weekends and holidays out."""
    eligible = np.isin(days.month, peak.months)
    if peak.weekdays_only:
        eligible &= np.asarray(days.day_of_week < SATURDAY)
    if peak.holidays_excluded:
        closed = holidays if peak.holidays is None else peak.holidays
        eligible &= ~np.asarray(days.isin(pd.DatetimeIndex(list(closed))), dtype=bool)
    return np.asarray(eligible, dtype=bool)


def window_hours_per_day(peak: Peak) -> float:
    """Hours of the window on one eligible day."""
    return 1.0 if peak.rule == "single hour" else sum(end - start for start, end in peak.windows)


def window_fits(peak: Peak, interval_minutes: float) -> CannotSay | None:
    """Why metering at this interval cannot show the window; None where it can."""
    what = "peak kW"
    if interval_minutes > LONGEST_INTERVAL_MINUTES:
        why = f"metering every {interval_minutes:g} min is too coarse for a window of hours"
        return CannotSay(what, why)
    edges = [edge for window in peak.windows for edge in window]
    if peak.rule != "single hour" and any((e * 60.0) % interval_minutes > 1e-6 for e in edges):
        why = f"the window's hours do not fall on the meter's {interval_minutes:g} min intervals"
        return CannotSay(what, why)
    return None


def _within_hours(index: pd.DatetimeIndex, windows: Sequence[tuple[float, float]], timezone: str) -> Mask:
    local = index.tz_convert(timezone)
    hour = np.asarray(local.hour + local.minute / 60.0 + local.second / 3600.0)
    inside = np.zeros(len(index), dtype=bool)
    for start, end in windows:
        inside |= (hour >= start) & (hour < end)
    return inside


def _named_hours(index: pd.DatetimeIndex, peak: Peak, timezone: str) -> Mask:
    inside = np.zeros(len(index), dtype=bool)
    for moment in peak.at:
        start = pd.Timestamp(moment)
        if start.tzinfo is None:
            start = start.tz_localize(timezone, ambiguous=True, nonexistent="shift_forward")
        end = start + pd.Timedelta(hours=1)
        inside |= np.asarray((index >= start) & (index < end))
    return inside
