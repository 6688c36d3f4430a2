"""From intervals to local days: how much was used, and whether the day can be trusted in a fit."""

import numpy as np
import pandas as pd

from mv.base.clock import local_days
from mv.base.series import MeterSeries

# A day counts as metered when nine tenths of its intervals are (common practice, no source).
LEAST_METERED_SHARE = 0.90


def daily_energy(series: MeterSeries, timezone: str) -> pd.DataFrame:
    """One row a local day (naive midnight): `energy_kwh`, `metered_share`, `estimated_share`, `in_fit`.

    `energy_kwh` is NaN where less than 90 % of the day's intervals carry energy; what is missing of a
    better day is taken at the mean of the same weekday, time of day and month. `in_fit` asks for
    90 % of intervals that are metered and not estimated.
    """
    energy = series.energy_kwh
    index = pd.DatetimeIndex(energy.index)
    day = local_days(index, timezone)
    filled = _with_small_gaps_filled(energy, index.tz_convert(timezone))
    known = np.isfinite(energy.to_numpy(dtype=np.float64))
    measured = known & ~series.estimated.to_numpy(dtype=bool)
    code, days = pd.factorize(day, sort=True)
    expected = _intervals_a_day(pd.DatetimeIndex(days), timezone, series.interval_minutes)
    share_known, share_measured = (
        np.bincount(code, weights=rows, minlength=len(days)) / expected for rows in (known, measured)
    )
    enough = share_known >= LEAST_METERED_SHARE
    return pd.DataFrame(
        {
            "energy_kwh": np.where(enough, np.bincount(code, weights=filled, minlength=len(days)), np.nan),
            "metered_share": np.minimum(share_known, 1.0),
            "estimated_share": np.minimum(share_known - share_measured, 1.0),
            "in_fit": enough & (share_measured >= LEAST_METERED_SHARE),
        },
        index=pd.DatetimeIndex(days, name="day"),
    )


def _with_small_gaps_filled(energy: pd.Series, wall: pd.DatetimeIndex) -> np.ndarray:
    """Missing intervals at the mean of the same weekday, wall-clock time and month; else 0."""
    values = energy.to_numpy(dtype=np.float64)
    missing = ~np.isfinite(values)
    if not missing.any() or missing.all():
        return np.where(missing, 0.0, values)
    month = (wall.year * 12 + wall.month).to_numpy()
    rows = np.flatnonzero(np.isin(month, month[missing]))
    wall = wall[rows]
    slot = (wall.day_of_week * 1440 + wall.hour * 60 + wall.minute).to_numpy()
    usual = pd.Series(values[rows]).groupby([month[rows], slot]).transform("mean").to_numpy()
    filled = values.copy()
    filled[rows] = np.where(missing[rows], np.nan_to_num(usual), values[rows])
    return filled


def _intervals_a_day(days: pd.DatetimeIndex, timezone: str, interval_minutes: float) -> np.ndarray:
    starts = days.tz_localize(timezone, ambiguous=True, nonexistent="shift_forward")
    ends = (days + pd.Timedelta(days=1)).tz_localize(timezone, ambiguous=True, nonexistent="shift_forward")
    hours = (ends - starts) / pd.Timedelta(hours=1)
    return np.asarray(hours * 60.0 / interval_minutes, dtype=np.float64)
