"""Mean power of each local hour of each day: what a change looks like over the day."""

import numpy as np
import pandas as pd

COARSEST_MINUTES = 60  # readings longer than this have no hours


def hourly_kw(power_kw: pd.Series, timezone: str) -> pd.DataFrame:
    """By naive local midnight, columns 0 to 23: mean kW of the hour, NaN where nothing was read.

    `power_kw` is indexed by UTC interval start. The hour the clock goes through twice is the mean of
    both; the one it leaves out is NaN.
    """
    wall = pd.DatetimeIndex(power_kw.index).tz_convert(timezone).tz_localize(None)
    day = wall.normalize()
    codes, days = pd.factorize(day, sort=True)
    slot = codes * 24 + np.asarray(wall.hour)
    value = power_kw.to_numpy(dtype=np.float64)
    good = np.isfinite(value)
    size = len(days) * 24
    total = np.bincount(slot[good], weights=value[good], minlength=size)
    count = np.bincount(slot[good], minlength=size).astype(np.float64)
    mean = np.where(count > 0, total / np.maximum(count, 1.0), np.nan)
    return pd.DataFrame(mean.reshape(-1, 24), index=pd.DatetimeIndex(days), columns=range(24))
