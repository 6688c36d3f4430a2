"""The local day on which a setting changed, where the change fell within the day.

A day's one statistic shows the state that most of the day had; the last readings of the day before
tell whether the new state had begun by then.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mv.controls.daily import BoolArray, FloatArray, IntArray
from mv.controls.steps import Level

EARLIER_DAYS = 2  # looked back from the first day that shows the new state; common practice, no source
LAST_READINGS = 2  # of a day, all in the new state; common practice, no source
DWELT_DAYS = 31  # either side of a level told by months in which its first day is looked for; no source
FEWEST_DWELT = 6  # days in which either level is dwelt at, for the day to be told by them; no source
NEAR_NEW = 0.35  # of the step: a reading so close to the new state shows it; common practice, no source


def redated(
    levels: Sequence[Level], day: IntArray, value: FloatArray, rows: BoolArray | None = None
) -> list[Level]:
    """The levels, each begun on the first day whose last readings show it; readings in order of time."""
    good = np.isfinite(value) if rows is None else rows & np.isfinite(value)
    day, value = day[good], value[good]
    result = list(levels[:1])
    for level in levels[1:]:
        before = result[-1]
        first = _first_day(day, value, before.value, level)
        result[-1] = replace(before, last_day=min(before.last_day, first - 1))
        result.append(replace(level, first_day=first))
    return result


def _first_day(day: IntArray, value: FloatArray, before: float, level: Level) -> int:
    first = level.first_day
    for earlier in range(first - 1, first - 1 - EARLIER_DAYS, -1):
        span = slice(*np.searchsorted(day, (earlier, earlier + 1)))
        last = value[span][-LAST_READINGS:]
        if len(last) < LAST_READINGS:
            break
        if np.any(np.abs(last - level.value) > NEAR_NEW * abs(level.value - before)):
            break
        first = earlier
    return first


def dated_by_dwelling(
    levels: Sequence[Level], day: IntArray, value: FloatArray, *, room: float
) -> list[Level]:
    """Levels told month by month, each begun on the day from which readings dwell at it, no more at the last.

    `room`: either side of a level within which a reading is at it.
    """
    result = list(levels[:1])
    for level in levels[1:]:
        before = result[-1]
        first = _parted_by_dwelling(day, value, before, level, room)
        result[-1] = replace(before, last_day=min(before.last_day, first - 1))
        result.append(replace(level, first_day=first))
    return result


def _parted_by_dwelling(day: IntArray, value: FloatArray, before: Level, level: Level, room: float) -> int:
    """The first day of the part of the days around in which more readings are at the new level."""
    if abs(level.value - before.value) <= 2.0 * room:
        return level.first_day
    start = max(before.first_day + 1, level.first_day - DWELT_DAYS)
    stop = min(level.last_day, level.first_day + DWELT_DAYS)
    inside = (day >= start) & (day <= stop)
    days, code = np.unique(day[inside], return_inverse=True)
    old, new = (np.abs(value[inside] - each.value) <= room for each in (before, level))
    if len(days) < 2 or len(np.unique(code[old | new])) < FEWEST_DWELT:
        return level.first_day
    at_new = np.bincount(code, weights=new.astype(float) - old, minlength=len(days)) / np.bincount(code)
    total = np.cumsum(at_new)
    number = np.arange(1, len(days))
    rise = (total[-1] - total[:-1]) / (len(days) - number) - total[:-1] / number
    gain = rise * np.sqrt(number * (len(days) - number) / len(days))
    return int(days[1 + int(np.argmax(gain))])
