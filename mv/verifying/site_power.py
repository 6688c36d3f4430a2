"""The power of several meters together, on the grid of the coarsest."""

from collections.abc import Mapping, Sequence

import pandas as pd

from mv.base.series import MeterSeries


def site_power_kw(
    meters: Sequence[MeterSeries],
    *,
    least_minutes: float = 0.0,
    times: Mapping[str, float] | None = None,
) -> pd.Series | None:
    """Mean kW of the meters' sum; unknown where any of them is; None without a meter.

    The grid is that of the coarsest meter, at least `least_minutes`. An interval counts only where
    all of its finer readings are there. `times` is how often each meter counts; 0 leaves it out.
    """
    counted = [(series, (times or {}).get(series.meter, 1.0)) for series in meters]
    counted = [(series, factor) for series, factor in counted if factor > 0]
    if not counted:
        return None
    minutes = max(least_minutes, *(series.interval_minutes for series, _ in counted))
    total: pd.Series | None = None
    for series, factor in counted:
        one = factor * coarsened_kw(series, minutes)
        total = one if total is None else total.add(one)
    return total


def coarsened_kw(series: MeterSeries, minutes: float) -> pd.Series:
    """The meter's mean kW in steps of at least `minutes`; unknown where a finer reading is missing."""
    if series.interval_minutes >= minutes:
        return series.power_kw
    grouped = series.power_kw.resample(pd.Timedelta(minutes=minutes))
    return grouped.mean().where(grouped.count() == grouped.size())
