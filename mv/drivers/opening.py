"""Opening hours on the wall clock, closed on holidays."""

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.base.opening_hours import Hours
from mv.base.study_records import Study, Zone

FloatArray = npt.NDArray[np.float64]


def opening_hours_known(study: Study, zone: Zone | None = None) -> bool:
    """Whether the study gives opening hours for the zone (or the site, when `zone` is None)."""
    return opening_hours(study, zone) is not None


def opening_hours(study: Study, zone: Zone | None) -> Hours | None:
    """The zone's opening hours, else the site's, else None."""
    return study.occupancy.hours if zone is None else study.hours_of(zone)


def is_holiday(days: pd.DatetimeIndex, study: Study) -> npt.NDArray[np.bool_]:
    """Which local days the study lists as holidays."""
    listed = pd.DatetimeIndex([pd.Timestamp(day) for day in study.occupancy.holidays])
    return np.asarray(days.isin(listed), dtype=bool)


def open_fraction(
    local_day: pd.DatetimeIndex,
    local_hour: FloatArray,
    step_hours: float,
    hours: Hours,
    holidays: Sequence[object] = (),
) -> FloatArray:
    """Share of each slot that lies in opening hours.

    A slot starts `local_hour` hours after the wall clock's midnight of `local_day` and lasts
    `step_hours`. A window past midnight belongs to the day on which it opens, also for holidays.
    """
    listed = pd.DatetimeIndex([pd.Timestamp(str(day)) for day in holidays])
    days, code = np.unique(local_day.to_numpy(), return_inverse=True)
    share = np.zeros(len(local_day))
    for back in (0, 1):  # the day's own windows, and yesterday's that run past midnight
        opened = pd.DatetimeIndex(days) - pd.Timedelta(days=back)
        weekday, closed = opened.day_of_week.to_numpy(), np.asarray(opened.isin(listed))
        for window, days_of_week in _windows(hours).items():
            if window[1] > 24.0 * back:
                chosen = np.flatnonzero((np.isin(weekday, days_of_week) & ~closed)[code])
                share[chosen] += _overlap(local_hour[chosen] + 24.0 * back, step_hours, *window)
    return np.clip(share, 0.0, 1.0)


def _windows(hours: Hours) -> dict[tuple[float, float], list[int]]:
    """The days of the week, from Monday 0, on which each window opens."""
    days: dict[tuple[float, float], list[int]] = {}
    for day_of_week, windows in enumerate(hours.week):
        for window in windows:
            days.setdefault(window, []).append(day_of_week)
    return days


def _overlap(begin: FloatArray, step: float, start: float, end: float) -> FloatArray:
    if step <= 0:
        return ((begin >= start) & (begin < end)).astype(np.float64)
    length = np.minimum(begin + step, end) - np.maximum(begin, start)
    return np.clip(length / step, 0.0, 1.0)


def mean_open_fraction(
    study: Study, zones: Sequence[Zone], share_of: Callable[[Hours], FloatArray]
) -> FloatArray | None:
    """Opening share of each slot over several zones, weighted by connected load before.

    `share_of` gives the share at some opening hours. None when neither the zones nor the site have
    opening hours. Zones without watts weigh alike.
    """
    known = [(zone, opening_hours(study, zone)) for zone in (zones or (None,))]
    pairs = [(zone, hours) for zone, hours in known if hours is not None]
    if not pairs:
        return None
    loads = [zone.connected_kw_before if zone else None for zone, _ in pairs]
    weights = [1.0] * len(pairs) if any(not load for load in loads) else [float(x or 0) for x in loads]
    shares = [weight * share_of(hours) for weight, (_, hours) in zip(weights, pairs, strict=True)]
    return np.asarray(np.sum(shares, axis=0) / sum(weights), dtype=np.float64)
