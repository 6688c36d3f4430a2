"""Between the inner clock (UTC, interval start) and the wall clock at the file's and screen's edge."""

from datetime import date

import pandas as pd


def local_midnight(day: date | str | pd.Timestamp, timezone: str) -> pd.Timestamp:
    """The UTC instant at which the local date `day` begins.

    Where midnight does not exist (a few zones spring forward at 00:00) the first existing
    instant of the day is meant.
    """
    start = pd.Timestamp(day).normalize()
    return start.tz_localize(timezone, ambiguous=True, nonexistent="shift_forward").tz_convert("UTC")


def local_days(index: pd.DatetimeIndex, timezone: str) -> pd.DatetimeIndex:
    """The naive local date of each UTC stamp, as midnight stamps; same length as `index`."""
    return index.tz_convert(timezone).tz_localize(None).normalize()


def period_bounds(
    first: date | str | pd.Timestamp, last: date | str | pd.Timestamp, timezone: str
) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Half-open UTC bounds of the local dates `first` to `last`, both included."""
    after = pd.Timestamp(last).normalize() + pd.Timedelta(days=1)
    return local_midnight(first, timezone), local_midnight(after, timezone)


def hours_in_day(day: date | str | pd.Timestamp, timezone: str) -> float:
    """Length of a local day in hours: 23, 24 or 25 in most zones."""
    start, end = period_bounds(day, day, timezone)
    return (end - start).total_seconds() / 3600.0
