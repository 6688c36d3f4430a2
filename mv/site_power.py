"""The power of several meters together, on the grid of the coarsest."""

from collections.abc import Sequence

import pandas as pd

from mv.base.series import MeterSeries


def site_power_kw(meters: Sequence[MeterSeries], *, least_minutes: float = 0.0) -> pd.Series | None:
    """Mean kW of the meters' sum; unknown where any of them is; None without a meter.

    The grid is that of the coarsest meter, at least `least_minutes`. An interval counts only where
    all of its finer readings are there.
    """
    if not meters:
        return None
    minutes = max(least_minutes, *(series.interval_minutes for series in meters))
    total = _coarsened(meters[0], minutes)
    for series in meters[1:]:
        total = total.add(_coarsened(series, minutes))
    return total


def _coarsened(series: MeterSeries, minutes: float) -> pd.Series:
    if series.interval_minutes >= minutes:
        return series.power_kw
    grouped = series.power_kw.resample(pd.Timedelta(minutes=minutes))
    return grouped.mean().where(grouped.count() == grouped.size())
