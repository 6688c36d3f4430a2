"""A load beside the lamps that comes and goes: it is in a reading, or it is not."""

import numpy as np

from mv.controls.motion_age import FloatArray
from mv.controls.zone_table import ZoneTable

RESTED_MINUTES = 45.0  # without motion after which every sensor has let go; common practice, no source
NO_SUN_DEG = -2.0  # sun elevation below which no daylight reaches a room; common practice, no source
FEWEST_OF_NIGHT = 10  # readings of a night to judge it by; common practice, no source
FEWEST_NIGHTS = 5  # nights to judge by; common practice, no source
MOST_RESTLESS = 0.15  # level; more may be lamps where motion is not known; common practice, no source
MORE_THAN_STEP = 1.2  # times the meter's own step, which readings of a steady load take too; no source
FEWEST_TURNS = 2  # of a night: what goes once and stays is no coming and going; no source


def restlessness(table: ZoneTable, step_level: float) -> float:
    """Level by which the load comes and goes within usual nights, vacant for long; 0 where not known.

    Lamps left on stay on for the night; what switches within most nights is something else. Where
    motion is never known the nights' few visits are too short to matter, but lamps may come and go.
    `step_level`: the meter's own step, as a level.
    """
    unlogged = not np.isfinite(table.age).any()
    rows = ~table.is_open & ((table.age >= RESTED_MINUTES) | unlogged) & np.isfinite(table.level)
    rows &= table.sun < NO_SUN_DEG
    day, value = table.day[rows], table.level[rows]
    cuts = np.flatnonzero(np.diff(day)) + 1
    nights = [night for night in np.split(value, cuts) if len(night) >= FEWEST_OF_NIGHT]
    if len(nights) < FEWEST_NIGHTS:
        return 0.0
    swing = float(np.median([_swing(night) for night in nights]))
    most = MOST_RESTLESS if unlogged else np.inf
    return swing if MORE_THAN_STEP * step_level < swing <= most else 0.0


def _swing(night: FloatArray) -> float:
    """From the low readings of a night to the high ones; 0 where the load does not come and go."""
    ordered = np.sort(night)
    low, high = (_at_share(ordered, share) for share in (0.1, 0.9))
    turns = np.count_nonzero(np.diff(night > 0.5 * (low + high)))
    return float(high - low) if turns >= FEWEST_TURNS else 0.0


def _at_share(ordered: FloatArray, share: float) -> float:
    """The quantile of values in order, linear between the two nearest."""
    place = share * (len(ordered) - 1)
    below = int(place)
    rise = ordered[min(below + 1, len(ordered) - 1)] - ordered[below]
    return float(ordered[below] + rise * (place - below))
