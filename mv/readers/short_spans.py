"""A few readings of another interval among many of one: told from missing rows by what they hold."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from mv.readers.stamp_record import DAY_SECONDS
from mv.readers.wall_clock import Wall

FEWEST_BY_LEVEL = 2  # equal odd steps on end that may be told by their level; no source
FEWEST_BY_COUNT = 4  # equal odd steps on end that missing rows hardly make by chance; no source
FEWEST_DAYS = 3  # days that give a time of day its usual value; no source
MOST_RUNS = 12  # a file with more is full of holes; no source


@dataclass(frozen=True)
class ShortRuns:
    """Which steps are intervals of their own, and how many runs nothing could tell."""

    steps: NDArray[np.bool_]
    open: int


def short_runs(
    values: NDArray[np.float64], wall: Wall, base: NDArray[np.int64], *, energy: bool
) -> ShortRuns:
    """Runs of equal steps other than the interval `base` about them, in readings in time order.

    A run whose readings hold the energy of their whole steps is of that interval; one whose readings
    hold what the usual interval holds has lost its rows. Power cannot tell the two apart: there a run
    must be long enough that missing rows do not make it.
    """
    steps = np.diff(wall)
    own = np.zeros(len(steps), bool)
    cuts = [0, *(np.flatnonzero(np.diff(steps)) + 1).tolist(), len(steps)]
    runs = [
        (a, b) for a, b in pairwise(cuts) if b - a >= FEWEST_BY_LEVEL and _is_odd(int(steps[a]), int(base[a]))
    ]
    if not runs or len(runs) > MOST_RUNS:
        return ShortRuns(own, 0)
    usual = _usual_day(values, wall, steps, base) if energy else None
    unsure = 0
    for a, b in runs:
        told = None if usual is None else _holds_all(values, wall, a, b, int(base[a]), usual)
        if told or (told is None and b - a >= FEWEST_BY_COUNT):
            own[a:b] = True
        unsure += told is None and b - a < FEWEST_BY_COUNT
    return ShortRuns(own, unsure)


def _is_odd(step: int, base: int) -> bool:
    """Another interval, of which one is a whole multiple of the other."""
    return 0 < step < DAY_SECONDS and step != base and (step % base == 0 or base % step == 0)


def _usual_day(
    values: NDArray[np.float64], wall: Wall, steps: NDArray[np.int64], base: NDArray[np.int64]
) -> NDArray[np.float64] | None:
    """The median reading at each time of day on working days (row 0) and others (row 1), NaN where
    too few days tell; None where the interval does not divide the day."""
    step = int(np.bincount(base).argmax())
    if DAY_SECONDS % step:
        return None
    plain = np.flatnonzero((steps == step) & (base == step) & np.isfinite(values[:-1]))
    slot = wall[plain] % DAY_SECONDS // step
    off = _is_weekend(wall[plain])
    table = np.full((2, DAY_SECONDS // step), np.nan)
    for kind in (0, 1):
        mine = off == bool(kind)
        if not mine.any():
            continue
        order = np.argsort(slot[mine], kind="stable")
        found, first = np.unique(slot[mine][order], return_index=True)
        for place, group in zip(found, np.split(values[plain][mine][order], first[1:]), strict=True):
            if len(group) >= FEWEST_DAYS:
                table[kind, place] = np.median(group)
    return table


def _is_weekend(wall: Wall) -> NDArray[np.bool_]:
    return np.asarray((wall // DAY_SECONDS + 3) % 7 >= 5)


def _holds_all(
    values: NDArray[np.float64], wall: Wall, a: int, b: int, base: int, usual: NDArray[np.float64]
) -> bool | None:
    """True where the run's readings hold the energy of all its time, False where that of the usual
    interval; None where nothing tells. Whether stamps begin or end an interval does not matter."""
    step = int(wall[a + 1] - wall[a])
    moments = np.arange(wall[a], wall[b], base)
    slots = moments % DAY_SECONDS * usual.shape[1] // DAY_SECONDS
    expected = float(usual[_is_weekend(moments).astype(int), slots].sum())
    sums = (float(values[a:b].sum()), float(values[a + 1 : b + 1].sum()))
    if not np.isfinite(expected) or not np.isfinite(sums).all() or expected <= 0:
        return None
    ratio = step / base
    if ratio > 1:
        return bool(max(sums) >= expected / np.sqrt(ratio))
    return bool(min(sums) <= expected / np.sqrt(ratio))
