"""Mean power by day and time of day: what a change looks like over the hours."""

import numpy as np
import pandas as pd

COARSEST_MINUTES = 60  # readings longer than this have no hours
FINEST_MINUTES = 5  # readings shorter than this are taken together; common practice, no source
DAY_MINUTES = 1440


def hourly_kw(power_kw: pd.Series, timezone: str) -> pd.DataFrame:
    """By naive local midnight, columns 0 to 23: mean kW of the hour, NaN where nothing was read."""
    return _kw_by_time(power_kw, timezone, 60)


def fine_kw(power_kw: pd.Series, timezone: str, interval_minutes: float) -> pd.DataFrame | None:
    """The same by the meter's own interval, of 5 minutes at least; None where that is an hour or more.

    Levels at which lamps dwell show here, which hourly means blur.
    """
    least = max(float(FINEST_MINUTES), interval_minutes)
    minutes = next(m for m in range(1, DAY_MINUTES + 1) if m >= least and DAY_MINUTES % m == 0)
    return None if minutes >= 60 else _kw_by_time(power_kw, timezone, minutes)


def _kw_by_time(power_kw: pd.Series, timezone: str, minutes: int) -> pd.DataFrame:
    """`power_kw` is indexed by UTC interval start. A time the clock goes through twice is the mean of
    both; one it leaves out is NaN.
    """
    columns = DAY_MINUTES // minutes
    wall = pd.DatetimeIndex(power_kw.index).tz_convert(timezone).tz_localize(None)
    day = wall.normalize()
    codes, days = pd.factorize(day, sort=True)
    slot = codes * columns + np.asarray(wall.hour * 60 + wall.minute) // minutes
    value = power_kw.to_numpy(dtype=np.float64)
    good = np.isfinite(value)
    size = len(days) * columns
    total = np.bincount(slot[good], weights=value[good], minlength=size)
    count = np.bincount(slot[good], minlength=size).astype(np.float64)
    mean = np.where(count > 0, total / np.maximum(count, 1.0), np.nan)
    return pd.DataFrame(mean.reshape(-1, columns), index=pd.DatetimeIndex(days), columns=range(columns))
