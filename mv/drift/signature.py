"""What a change looks like over the hours of the day: the weeks before it against the weeks after.

Levels are fractions of the load's own full level, the highest of all days, so that no inventory is
needed and a summer's daylight is not taken for a low trim.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

FloatArray = npt.NDArray[np.float64]

LONGEST_DAYS = 28  # days on either side that are compared; the season has not moved far; no source
FEWEST_DAYS = 4  # days of a kind for its profile; common practice, no source
LIT_ABOVE = 0.25  # of the way from floor to full at which an hour counts as lit; common practice, no source
TOP_QUANTILE, FLOOR_QUANTILE = 0.97, 0.05  # of hourly readings; common practice, no source
SHIFTS = (-4, -3, -2, -1, 1, 2, 3, 4)  # hours by which a clock may be off; common practice, no source
SHIFT_EXPLAINS = 0.6  # of the change of profile that a shift must explain; common practice, no source
MIDDAY = slice(10, 15)  # local hours in which daylight does most; common practice, no source
LEAST_UNLIT = 3  # hours of the day that are dark in use, to speak of closed hours; no source


@dataclass(frozen=True)
class Signature:
    """Changes as fractions of the full level (`full_kw`); None where it cannot show.

    `top`, `floor`: of the highest and the lowest hours; `lit`, `unlit`: of the open days' hours that
    used to be lit, and of all hours that used not to be; `closed`: of closed days; `midday`: of the
    middle of the day on open days. `lit_now`, `unlit_now`: the level those hours now have;
    `shift_hours`: later (positive) or earlier edges, where that tells the change best.
    `steadier`: how much less the lit hours vary from day to day (1: not at all any more).
    """

    full_kw: float
    top: float
    top_before: float
    floor: float
    floor_now: float
    lit: float | None
    unlit: float | None
    closed: float | None
    midday: float | None
    lit_now: float | None
    unlit_now: float | None
    shift_hours: int | None
    steadier: float | None


def signature(
    hours: pd.DataFrame | None, is_open: Callable[[date], bool], since: date, until: date | None = None
) -> Signature | None:
    """The change on `since` (over with `until`); None where too few days lie on either side."""
    if hours is None or hours.empty:
        return None
    days = pd.DatetimeIndex(hours.index)
    start, stop = pd.Timestamp(since), pd.Timestamp(until or date.max.replace(year=2200))
    good = hours.notna().sum(axis=1).to_numpy() >= 20
    before = np.flatnonzero(good & (days < start))[-LONGEST_DAYS:]
    after = np.flatnonzero(good & (days > start) & (days <= stop))[:LONGEST_DAYS]
    if min(len(before), len(after)) < FEWEST_DAYS:
        return None
    value = hours.to_numpy(dtype=np.float64)
    opened = np.array([is_open(day.date()) for day in days])
    scale = float(np.nanquantile(value[good], TOP_QUANTILE))
    return _compared(value[before], value[after], opened[before], opened[after], scale)


def _compared(
    before: FloatArray, after: FloatArray, open_before: np.ndarray, open_after: np.ndarray, full: float
) -> Signature | None:
    top, top_now = (float(np.nanquantile(part, TOP_QUANTILE)) for part in (before, after))
    floor, floor_now = (float(np.nanquantile(part, FLOOR_QUANTILE)) for part in (before, after))
    if full <= 0:
        return None
    old_open, new_open = _profile(before[open_before]), _profile(after[open_after])
    old_closed, new_closed = _profile(before[~open_before]), _profile(after[~open_after])
    base = old_open if old_open is not None else old_closed
    assert base is not None
    lit_hours = base > floor + LIT_ABOVE * (float(base.max()) - floor)
    lit = _mean_change(old_open, new_open, lit_hours, full)
    unlit = None if (~lit_hours).sum() < LEAST_UNLIT else _mean_change(old_open, new_open, ~lit_hours, full)
    return Signature(
        full_kw=full,
        top=(top_now - top) / full,
        top_before=top / full,
        floor=(floor_now - floor) / full,
        floor_now=floor_now / full,
        lit=lit,
        unlit=unlit,
        closed=_mean_change(old_closed, new_closed, np.ones(24, dtype=bool), full),
        midday=_mean_change(old_open, new_open, np.isin(np.arange(24), np.arange(24)[MIDDAY]), full),
        lit_now=None if new_open is None else float(new_open[lit_hours].mean()) / full,
        unlit_now=None if new_open is None or unlit is None else float(new_open[~lit_hours].mean()) / full,
        shift_hours=_shift(old_open, new_open),
        steadier=_steadier(before[open_before], after[open_after], lit_hours),
    )


def _profile(days: FloatArray) -> FloatArray | None:
    """Median day, hour by hour; the median because an odd day must not draw it."""
    if len(days) < FEWEST_DAYS:
        return None
    filled = np.where(np.isfinite(days), days, np.nanmean(days))
    return np.asarray(np.median(filled, axis=0))


def _mean_change(
    old: FloatArray | None, new: FloatArray | None, hours: np.ndarray, full: float
) -> float | None:
    if old is None or new is None or not hours.any():
        return None
    return float((new - old)[hours].mean()) / full


def _shift(old: FloatArray | None, new: FloatArray | None) -> int | None:
    """Hours by which the profile moved, where moving it explains most of its change."""
    if old is None or new is None:
        return None
    plain = float(np.sum((new - old) ** 2))
    tried = {shift: float(np.sum((new - np.roll(old, shift)) ** 2)) for shift in SHIFTS}
    best = min(tried, key=lambda shift: tried[shift])
    small = plain < 0.01 * float(np.sum((old - old.mean()) ** 2))
    return None if small or tried[best] > (1.0 - SHIFT_EXPLAINS) * plain else best


def _steadier(before: FloatArray, after: FloatArray, lit_hours: np.ndarray) -> float | None:
    if min(len(before), len(after)) < FEWEST_DAYS or not lit_hours.any():
        return None
    old, new = (float(np.nanmean(np.nanstd(part[:, lit_hours], axis=0))) for part in (before, after))
    return 1.0 - new / old if old > 0 else None
