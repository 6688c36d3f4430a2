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
