"""What a change looks like over the hours of the day: the weeks before it against the weeks after.

Levels are fractions of the load's own full level, the highest of all days, so that no inventory is
needed and a summer's daylight is not taken for a low trim.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.drift.dwelling import dwelling, vacancy_cause

FloatArray = npt.NDArray[np.float64]

LONGEST_DAYS = 28  # days on either side that are compared; the season has not moved far; no source
FEWEST_DAYS = 4  # days of a kind for its profile; common practice, no source
LIT_ABOVE = 0.25  # of the way from floor to full at which an hour counts as lit; common practice, no source
FLOOR_QUANTILE = 0.05  # of hourly readings; common practice, no source
FAR_DAYS = 120  # on either side in which a top must not have been seen before; common practice, no source
SHIFTS = (-4, -3, -2, -1, 1, 2, 3, 4)  # hours by which a clock may be off; common practice, no source
SHIFT_EXPLAINS = 0.6  # of the change of profile that a shift must explain; common practice, no source
MIDDAY = slice(10, 15)  # local hours in which daylight does most; common practice, no source
LEAST_UNLIT = 3  # hours of the day that are dark in use, to speak of closed hours; no source


@dataclass(frozen=True)
class Signature:
    """Changes as fractions of the full level (`full_kw`); None where it cannot show.

    `top`, `floor`: of the highest and the lowest loads, the former only as far as months on either
    side bear it out, `top_near` that of the weeks beside it; `lit`, `unlit`: of the open days' hours that
    used to be lit, and of all hours that used not to be; `closed`: of closed days; `midday`: of the
    middle of the day on open days. `lit_now`, `unlit_now`: the level those hours now have;
    `shift_hours`: later (positive) or earlier edges, where that tells the change best.
    `steadier`: how much less the lit hours vary from day to day (1: not at all any more).
    `vacancy`: the cause that the level when vacant points at in hours of use; `fine`: whether
    readings shorter than an hour stand behind the top.
    """

    full_kw: float
    top: float
    top_near: float
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
    vacancy: str | None = None
    fine: bool = False


def signature(
    hours: pd.DataFrame | None,
    is_open: Callable[[date], bool],
    since: date,
    until: date | None = None,
    *,
    fine: pd.DataFrame | None = None,
) -> Signature | None:
    """The change on `since` (over with `until`); None where too few days lie on either side."""
    if hours is None or hours.empty:
        return None
    days = pd.DatetimeIndex(hours.index)
    start, stop = pd.Timestamp(since), pd.Timestamp(until or date.max.replace(year=2200))
    good = hours.notna().sum(axis=1).to_numpy() >= 20
    sides = [good & (days < start), good & (days > start) & (days <= stop)]
    before, after = np.flatnonzero(sides[0])[-LONGEST_DAYS:], np.flatnonzero(sides[1])[:LONGEST_DAYS]
    if min(len(before), len(after)) < FEWEST_DAYS:
        return None
    value = hours.to_numpy(dtype=np.float64)
    opened = np.array([is_open(day.date()) for day in days])
    readings = value if fine is None else fine.reindex(days).to_numpy(dtype=np.float64)
    highest = _highest(readings)
    far = [highest[np.flatnonzero(sides[0])[-FAR_DAYS:]], highest[np.flatnonzero(sides[1])[:FAR_DAYS]]]
    tops = Tops(_top(highest[before]), _top(highest[after]), _top(far[0]), _top(far[1]), _top(highest[good]))
    if tops.full <= 0:
        return None
    seen = _compared(value[before], value[after], opened[before], opened[after], tops)
    lit = _lit_hours(value[before], opened[before])
    of_lit = np.repeat(lit, readings.shape[1] // 24)
    dwelt = [
        dwelling(
            readings[rows][opened[rows]][:, of_lit].ravel() / tops.full,
            top / tops.full,
            fine=fine is not None,
        )
        for rows, top in ((before, tops.before), (after, tops.after))
    ]
    return replace(seen, vacancy=vacancy_cause(*dwelt), fine=fine is not None)


@dataclass(frozen=True)
class Tops:
    """The highest loads, kW: of the weeks beside a change, of the months, and of all days."""

    before: float
    after: float
    far_before: float
    far_after: float
    full: float

    @property
    def change(self) -> float:
        """What weeks and months agree on: a top that was reached earlier in the year is no new one."""
        near = self.after - self.before
        far = self.after - self.far_before if near > 0 else self.far_after - self.before
        return 0.0 if near * far <= 0 else min(near, far, key=abs)


def _highest(readings: FloatArray) -> FloatArray:
    """Each day's highest reading; NaN for a day without any."""
    none = ~np.isfinite(readings).any(axis=1)
    found: FloatArray = np.where(np.isfinite(readings), readings, -np.inf).max(axis=1)
    found[none] = np.nan
    return found


def _top(highest: FloatArray) -> float:
    """The level that the higher half of days comes up to; the median of these, so that no odd day counts."""
    found = np.sort(highest[np.isfinite(highest)])
    return float(np.median(found[len(found) // 2 :])) if len(found) else 0.0


def _lit_hours(before: FloatArray, opened: np.ndarray) -> np.ndarray:
    """Hours of the day that used to be lit, by the median open day, else by the median closed one."""
    base = _profile(before[opened])
    if base is None:
        base = _profile(before[~opened])
    assert base is not None
    floor = float(np.nanquantile(before, FLOOR_QUANTILE))
    return np.asarray(base > floor + LIT_ABOVE * (float(base.max()) - floor))


def _compared(
    before: FloatArray, after: FloatArray, open_before: np.ndarray, open_after: np.ndarray, tops: Tops
) -> Signature:
    floor, floor_now = (float(np.nanquantile(part, FLOOR_QUANTILE)) for part in (before, after))
    full = tops.full
    old_open, new_open = _profile(before[open_before]), _profile(after[open_after])
    old_closed, new_closed = _profile(before[~open_before]), _profile(after[~open_after])
    lit_hours = _lit_hours(before, open_before)
    lit = _mean_change(old_open, new_open, lit_hours, full)
    unlit = None if (~lit_hours).sum() < LEAST_UNLIT else _mean_change(old_open, new_open, ~lit_hours, full)
    return Signature(
        full_kw=full,
        top=tops.change / full,
        top_near=(tops.after - tops.before) / full,
        top_before=tops.before / full,
        floor=(floor_now - floor) / full,
        floor_now=floor_now / full,
        lit=lit,
        unlit=unlit,
        closed=_mean_change(old_closed, new_closed, np.ones(24, dtype=bool), full),
        midday=_mean_change(old_open, new_open, np.isin(np.arange(24), np.arange(24)[MIDDAY]), full),
        lit_now=None if new_open is None or lit is None else float(new_open[lit_hours].mean()) / full,
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
