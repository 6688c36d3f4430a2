"""Do all lamps of a zone go on and off together, or part by part as several sensors make them?

Motion anywhere in a zone keeps all its lamps on only where one sensor, or sensors that act as one,
rule it. Where each part has its own, a zone with motion burns at any of many levels: the full one
may never be seen, and fewer people by day look like daylight. Judged without sun, month by month.
"""

import numpy as np

from mv.controls.motion_age import BoolArray, FloatArray
from mv.controls.plateau import plateaus, upper_plateau
from mv.controls.restless import NO_SUN_DEG, restlessness
from mv.controls.zone_table import ZoneTable

LOW_SUN_DEG = 5.0  # below which daylight hardly moves the lamps; common practice, no source
FEWEST_ROWS = 20  # readings of a month to judge by; common practice, no source
ROOM = 0.02  # level either side of a plateau; common practice, no source
TOGETHER_SHARE = 0.7  # of readings with motion that are at the full level; common practice, no source
TWO_LEVEL_SHARE = 0.8  # of readings at no more than two levels; common practice, no source
TOP_SHARE = 0.05  # of readings that make a top level; common practice, no source


def together_under_motion(table: ZoneTable, on: BoolArray, step_level: float) -> bool | None:
    """Whether lamps with motion nearly always burn at one level; `on`: rows with motion throughout.

    Another load that comes and goes takes them below the top level by as much.
    """
    value = _sunless(table, on)
    if value is None:
        return None
    room = max(ROOM, 1.5 * step_level)
    top = upper_plateau(value, least_share=TOP_SHARE, smoothing=room / 2)
    if top is None:
        return False
    below = room + restlessness(table, step_level)
    return float(np.mean((value <= top.level + room) & (value >= top.level - below))) >= TOGETHER_SHARE


def together_by_load(table: ZoneTable, opened: BoolArray, step_level: float) -> bool | None:
    """Whether the load of open hours dwells at no more than two levels, full and vacant."""
    value = _sunless(table, opened)
    if value is None:
        return None
    room = max(ROOM, 1.5 * step_level)
    found = sorted(plateaus(value, smoothing=room / 2), key=lambda plateau: -plateau.share)[:2]
    near = np.zeros(len(value), dtype=bool)
    for plateau in found:
        near |= np.abs(value - plateau.level) <= room
    return float(near.mean()) >= TWO_LEVEL_SHARE


def usually(months: list[bool | None]) -> bool | None:
    """What most months that tell say; None where none does."""
    told = [month for month in months if month is not None]
    return sum(told) > len(told) / 2 if told else None


def _sunless(table: ZoneTable, rows: BoolArray) -> FloatArray | None:
    good = rows & np.isfinite(table.level)
    for limit in (NO_SUN_DEG, LOW_SUN_DEG):
        value = table.level[good & (table.sun < limit)]
        if len(value) >= FEWEST_ROWS:
            return value
    return None
