"""Conditions of every metering interval of one zone or of the site."""

import numpy as np
import pandas as pd

from mv.base.clock import local_days
from mv.base.study_records import Site, Study, Zone
from mv.drivers.opening import is_holiday, open_fraction, opening_hours
from mv.drivers.sun import FloatArray, elevation_on_grid, sun_elevation_deg


def interval_conditions(index: pd.DatetimeIndex, study: Study, zone: Zone | None = None) -> pd.DataFrame:
    """Sun, opening and calendar of each interval start in `index` (UTC).

    Columns: `sun_elevation_deg` geometric (unrefracted) elevation of the sun's centre at the middle
    of the interval, the interval being the commonest step of `index` (at the stamp itself when the
    index is too short or irregular to tell); `is_open` the interval starts within opening hours of
    `zone` (None: the site), False on holidays, and False throughout when the study gives no hours
    (ask `opening_hours_known`); `is_holiday`; `local_day` naive midnight; `local_hour` hours on the
    wall clock after midnight.
    """
    site = study.site
    wall = index.tz_convert(site.timezone).tz_localize(None)
    day = local_days(index, site.timezone)
    hour = ((wall - day) / pd.Timedelta(hours=1)).to_numpy(dtype=np.float64)
    hours = opening_hours(study, zone)
    holidays = study.occupancy.holidays
    is_open = (
        np.zeros(len(index), dtype=bool)
        if hours is None
        else open_fraction(day, hour, 0.0, hours, holidays) > 0
    )
    return pd.DataFrame(
        {
            "sun_elevation_deg": _elevation_at_middles(index, site),
            "is_open": is_open,
            "is_holiday": is_holiday(day, study),
            "local_day": day,
            "local_hour": hour,
        },
        index=index,
    )


def _elevation_at_middles(index: pd.DatetimeIndex, site: Site) -> FloatArray:
    """The sun at the middle of each interval; on a regular grid remembered from zone to zone."""
    step = _commonest_step(index)
    minutes = step // pd.Timedelta(minutes=1)
    steps = np.diff(index.as_unit("ns").asi8)
    if minutes and step == pd.Timedelta(minutes=minutes) and (steps == step.value).all():
        start = index[0] + step / 2
        return elevation_on_grid(start, len(index) - 1, minutes, site.latitude, site.longitude)
    return sun_elevation_deg(index + step / 2, site.latitude, site.longitude)


def _commonest_step(index: pd.DatetimeIndex) -> pd.Timedelta:
    """The step between stamps if nine in ten agree on it, else zero."""
    if len(index) < 3:
        return pd.Timedelta(0)
    steps = np.diff(index.as_unit("ns").asi8)
    values, counts = np.unique(steps, return_counts=True)
    best = int(np.argmax(counts))
    if counts[best] < 0.9 * len(steps) or values[best] <= 0:
        return pd.Timedelta(0)
    return pd.Timedelta(int(values[best]), unit="ns")
