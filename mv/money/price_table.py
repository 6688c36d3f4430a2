"""Prices (or emissions) that depend on the month, the hour and the day, hour by hour."""

from collections.abc import Collection, Sequence
from datetime import date
from typing import Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.clock import local_days
from mv.base.estimate import CannotSay

SATURDAY = 5
HOUR_MINUTES = 60.0
Numbers = npt.NDArray[np.float64]


class Period(Protocol):
    """What a row of a price table and one of an emissions table have in common."""

    @property
    def months(self) -> tuple[int, ...]:
        """Months, 1 to 12."""
        ...

    @property
    def hours(self) -> tuple[float, float]:
        """Local clock, first included, last not; from 22 to 6 runs past midnight."""
        ...

    @property
    def weekdays_only(self) -> bool:
        """True where weekends and holidays are left out."""
        ...


def rate_of_each(
    index: pd.DatetimeIndex,
    periods: Sequence[Period],
    rates: Sequence[float],
    *,
    timezone: str,
    holidays: Collection[date] = (),
) -> pd.Series | CannotSay:
    """The rate of each interval, labelled in UTC by its start; the first period that matches.

    An interval takes the rate at its start. CannotSay where no period covers an interval, or
    where the intervals are coarser than the table's hours.
    """
    uncovered = _too_coarse(index, periods)
    if uncovered:
        return uncovered
    local = index.tz_convert(timezone)
    hour = np.asarray(local.hour + local.minute / HOUR_MINUTES)
    workday = _workdays(index, timezone, holidays)
    chosen: Numbers = np.full(len(index), np.nan)
    for period, rate in zip(reversed(periods), reversed(rates), strict=True):
        match = np.isin(local.month, period.months) & _in_hours(hour, period.hours)
        chosen[match & (workday | (not period.weekdays_only))] = rate
    bare = np.isnan(chosen)
    if bare.any():
        first = local[bare][0]
        return CannotSay("rates", f"no period of the table covers {first:%A %H:%M in %B}")
    return pd.Series(chosen, index=index)


def _in_hours(hour: Numbers, hours: tuple[float, float]) -> npt.NDArray[np.bool_]:
    start, end = hours
    if start < end:
        return np.asarray((hour >= start) & (hour < end))
    return np.asarray((hour >= start) | (hour < end))


def _workdays(index: pd.DatetimeIndex, timezone: str, holidays: Collection[date]) -> npt.NDArray[np.bool_]:
    days = local_days(index, timezone)
    closed = np.asarray(days.isin(pd.DatetimeIndex(list(holidays))), dtype=bool)
    return np.asarray((np.asarray(days.day_of_week) < SATURDAY) & ~closed, dtype=bool)


def _too_coarse(index: pd.DatetimeIndex, periods: Sequence[Period]) -> CannotSay | None:
    by_hour = any(period.hours != (0, 24) for period in periods)
    if not by_hour or len(index) < 2:
        return None
    minutes = float(np.median(np.diff(index.as_unit("s").asi8))) / 60.0
    if minutes <= HOUR_MINUTES:
        return None
    why = f"the table goes by the hour, the savings by {minutes / HOUR_MINUTES:g} hours"
    return CannotSay("rates", why)
