"""Values gathered by local date and clock hour: the grid behind the pictures of the record."""

from typing import Any, Literal

import numpy as np
import pandas as pd

How = Literal["mean", "max", "count"]
HOURS = range(24)


def by_day_and_hour(values: pd.Series, timezone: str, how: How) -> pd.DataFrame:
    """`values` on UTC stamps gathered by local date (rows) and clock hour (columns 0 to 23).

    An hour that the wall clock skips stays empty; one that it shows twice gathers both passes, so
    that a mean stays a mean. Hours without a value are empty, but for a count, which is 0.
    """
    local = pd.DatetimeIndex(values.index).tz_convert(timezone).tz_localize(None)
    first = local.min().normalize()
    days = (local.max().normalize() - first).days + 1
    hours = ((local - first) // pd.Timedelta(hours=1)).to_numpy(dtype=np.int64)
    gathered = _gathered(values.to_numpy(dtype=np.float64), hours, days * 24, how).reshape(days, 24)
    return pd.DataFrame(gathered, index=pd.date_range(first, periods=days, freq="D"), columns=list(HOURS))


def _gathered(values: Any, places: Any, size: int, how: How) -> Any:
    """The mean, highest or number of the finite values at each place."""
    finite = np.isfinite(values)
    values, places = values[finite], places[finite]
    count = np.bincount(places, minlength=size).astype(np.float64)
    if how == "count":
        return count
    if how == "max":
        highest = np.full(size, -np.inf)
        np.maximum.at(highest, places, values)
        return np.where(count > 0, highest, np.nan)
    total = np.bincount(places, weights=values, minlength=size)
    return np.divide(total, count, out=np.full(size, np.nan), where=count > 0)


def over_skipped_hours(grid: pd.DataFrame, timezone: str) -> pd.DataFrame:
    """The grid for drawing: an hour that the wall clock skips looks like the one before it."""
    clock = [day + pd.Timedelta(hours=hour) for day in grid.index for hour in HOURS]
    local = pd.DatetimeIndex(clock).tz_localize(timezone, nonexistent="NaT", ambiguous=True)
    there = np.asarray(local.notna())
    if there.all():
        return grid
    beside = grid.shift(1, axis=1).combine_first(grid.shift(-1, axis=1))
    return grid.where(there.reshape(grid.shape), beside)


def day_texts(grid: pd.DataFrame) -> list[str]:
    """The rows' days as short texts for a date axis."""
    return [str(text) for text in pd.DatetimeIndex(grid.index).strftime("%Y-%m-%d")]
