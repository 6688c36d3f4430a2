"""Registers that begin again at zero every day (or few hours): "energy today", told by their teeth."""

import numpy as np
from numpy.typing import NDArray

from mv.readers.intervals import ordered
from mv.readers.wall_clock import Wall

FEWEST_TEETH = 3  # falls that make a custom; no source
FEWEST_A_TOOTH = 8  # readings that climb on end; energy of an interval wavers sooner; no source
SURE_RATIO = 10.0  # a tooth that stands so far above its largest step is a register's; no source
OPEN_RATIO = 3.0  # one that stands so far above it may be; no source
LANDING_RATIO = 1.5  # after a fall the register holds no more than its largest step; no source
SHORTEST_HOURS = 12.0  # registers begin again by the day or the half day; no source
EVEN_SPREAD = 0.01  # steps this equal are a ramp, which no metered load makes; no source
NEARLY_ALL = 0.9  # share of readings that stand in such teeth; no source


def reset_hours(values: NDArray[np.float64], wall: Wall, *, ratio: float) -> float | None:
    """The hours between resets where the values only rise between falls to nearly zero that come evenly
    spaced, by `ratio` times their largest step; None where they do not.

    Energy of an interval does not: it falls step by step in the evening, and wavers.
    """
    if len(values) < FEWEST_TEETH * FEWEST_A_TOOTH:
        return None
    look = values[:2000]
    if float((np.diff(look) < 0).mean()) > 1 / FEWEST_A_TOOTH:
        return None  # a first look spares the sorting
    moments = ordered(wall)
    if moments is not wall:
        values = values[np.argsort(wall, kind="stable")]
    falls = np.flatnonzero(np.diff(values) < 0) + 1
    if len(falls) < FEWEST_TEETH or not _evenly(moments[falls]):
        return None
    inside = 0
    for tooth in np.split(values, falls):
        steps = np.diff(tooth)
        largest = float(steps.max(initial=0.0))
        if (
            len(tooth) >= FEWEST_A_TOOTH
            and largest > 0
            and float(tooth[-1]) >= ratio * largest
            and 0 <= float(tooth[0]) <= LANDING_RATIO * largest
        ):
            inside += len(tooth)
    edges = int(falls[0]) + len(values) - int(falls[-1])  # the first and last tooth may be cut
    hours = float(np.median(np.diff(moments[falls]))) / 3600.0
    if inside < NEARLY_ALL * (len(values) - edges) or hours < SHORTEST_HOURS:
        return None
    return None if _is_ramp(values) else hours


def _is_ramp(values: NDArray[np.float64]) -> bool:
    """True where all rises are one and the same step."""
    rises = np.diff(values)
    rises = rises[rises >= 0]
    return float(rises.max() - rises.min()) <= EVEN_SPREAD * float(rises.max())


def _evenly(moments: Wall) -> bool:
    """Most falls stand at whole multiples of their usual spacing, give or take a clock change."""
    spacing = np.diff(moments)
    usual = max(int(np.median(spacing)), 1)
    off = (spacing + usual // 2) % usual - usual // 2
    return float((np.abs(off) <= max(0.05 * usual, 3600)).mean()) >= NEARLY_ALL
