"""When the load falls after the last motion, and how long the fall takes, from the readings beside it.

The readings just before a fall and just after it give both levels; what lies between them tells the
moment. A fall at once leaves one reading in between, wherever it lies: the moments at which the load
falls from reading to reading then have the variance s (1 - s) T^2, T the interval and s T the time from
the reading's start to the fall. Lamps that fade evenly over a time F leave F^2/12 more on
average. Own derivation: the readings' differences weigh the fall by a triangle of half-width T, whose
variance is T^2/6; an even fall has the variance F^2/12; variances add; and s (1 - s) T^2 is T^2/6 on
average wherever falls lie alike in their readings.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.controls.motion_age import BoolArray, FloatArray

IntArray = npt.NDArray[np.int64]

BESIDE = 2  # readings before and after that of the fall in which a fade may show; no source
LEVEL_ROWS = 4  # readings beyond them that tell a level; common practice, no source
HALF_FALLEN = 0.5  # of the fall: the last reading above it holds the fall
FINEST_MINUTES = 1.5  # interval up to which a fade shows in the readings; common practice, no source
FEWEST_FALLS = 20  # for the time a fade takes; common practice, no source
LEAST_FALL = 0.15  # level; a smaller one is too near to noise for its variance; common practice, no source
FINE_STEPS = 100.0  # of the meter in a fall: what a coarser one rounds looks like a fade; no source
MOST_UNREST = 0.02  # of the fall, by which readings beside it may differ; common practice, no source
ODD_FALL = 4.0  # square intervals: a variance of a fall so large is another load's doing; no source
Z_90 = 1.645  # standard normal, two-sided 90 %


@dataclass(frozen=True, slots=True)
class Falls:
    """By event: minutes from motion's end to the middle of the fall, and the variance of its moments
    beyond that of a fall at once, square minutes; NaN where the readings beside it do not tell."""

    minutes: FloatArray
    variance: FloatArray


def fall_edges(
    level: FloatArray,
    start: FloatArray,
    step: float,
    ended: FloatArray,
    first: IntArray,
    last: IntArray,
    *,
    high: FloatArray,
    low: FloatArray,
    surely_on: BoolArray,
    step_level: float,
) -> Falls:
    """The fall of each window of rows `first` to `last`; `ended`: minute in which motion ended.

    `level` of rows that begin at `start` and last `step` minutes. `high` and `low`: the levels about;
    `surely_on`: rows with motion so lately that lamps are on; `step_level`: the meter's own step.
    """
    count = len(ended)
    if not count:
        return Falls(np.zeros(0), np.zeros(0))
    row = _fall_row(level, first, last, 0.5 * (high + low))
    before = _mean_rows(level, row - BESIDE - LEVEL_ROWS, row - BESIDE - 1, first + 1, last)
    after = _mean_rows(level, row + BESIDE + 1, row + BESIDE + LEVEL_ROWS, first + 1, last)
    top = np.where(np.isfinite(before), before, high)
    rest = np.where(np.isfinite(after), after, low)
    places = np.clip(row[:, None] + np.arange(-BESIDE, BESIDE + 1), 0, len(level) - 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (level[places] - rest[:, None]) / (top - rest)[:, None]
    minutes = start[places[:, 0]] - ended + step * share.sum(axis=1)
    lit = (places[:, :BESIDE] >= first[:, None]) | surely_on[places[:, :BESIDE]]
    told = np.isfinite(after) & lit.all(axis=1) & (row >= BESIDE) & np.isfinite(minutes)
    steady = told & (np.abs(top - rest) >= max(LEAST_FALL, FINE_STEPS * step_level))
    for begin in (row - BESIDE - LEVEL_ROWS, row + BESIDE + 1):
        steady &= _spread(level, begin, first + 1, last) <= MOST_UNREST * np.abs(top - rest) + step_level
    variance = step**2 * _beyond_at_once(share)
    sure = steady & (np.abs(variance) < ODD_FALL * step**2)
    return Falls(np.where(told, minutes, np.nan), np.where(sure, variance, np.nan))


def _beyond_at_once(share: FloatArray) -> FloatArray:
    """Variance of the moments of falling beyond that of a fall at once, square readings.

    `share`: what is left of the fall, reading by reading.
    """
    count, rows = share.shape
    weight = -np.diff(np.column_stack((np.ones(count), share, np.zeros(count))), axis=1)
    at = np.arange(rows + 1)
    middle = (weight * at).sum(axis=1)
    variance = (weight * (at - middle[:, None]) ** 2).sum(axis=1)
    part = middle - np.floor(middle)
    return np.asarray(variance - part * (1.0 - part))


def fade_minutes(variance: FloatArray, interval_minutes: float) -> tuple[float, float] | None:
    """Least and greatest time that the lamps take to fade, 90 %; None where it is hidden."""
    told = variance[np.isfinite(variance)]
    if interval_minutes > FINEST_MINUTES or len(told) < FEWEST_FALLS:
        return None
    excess = float(np.mean(told))
    error = Z_90 * float(np.std(told)) / np.sqrt(len(told))
    least, greatest = max(excess - error, 0.0), max(excess + error, 0.0)
    return float(np.sqrt(12.0 * least)), float(np.sqrt(12.0 * greatest))


def _fall_row(level: FloatArray, first: IntArray, last: IntArray, limit: FloatArray) -> IntArray:
    """Last row of each window whose level is above the limit; its first row where none is."""
    longest = int((last - first).max()) + 1
    places = first[:, None] + np.arange(longest)
    above = (level[np.minimum(places, len(level) - 1)] > limit[:, None]) & (places <= last[:, None])
    from_end = above[:, ::-1].argmax(axis=1)
    return np.where(above.any(axis=1), first + longest - 1 - from_end, first).astype(np.int64)


def _mean_rows(
    level: FloatArray, begin: IntArray, end: IntArray, least: IntArray, most: IntArray
) -> FloatArray:
    """Mean level from row `begin` to `end`, both included, as far as they lie within bounds; NaN if none."""
    begin, end = np.maximum(begin, least), np.minimum(end, most)
    total = np.concatenate(([0.0], np.cumsum(np.nan_to_num(level))))
    number = end - begin + 1
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (total[np.maximum(end + 1, begin)] - total[begin]) / number
    return np.where(number >= 2, mean, np.nan)


def _spread(level: FloatArray, begin: IntArray, least: IntArray, most: IntArray) -> FloatArray:
    """By how much the readings from row `begin` on differ, as far as they lie within bounds."""
    rows = begin[:, None] + np.arange(LEVEL_ROWS)
    inside = (rows >= least[:, None]) & (rows <= most[:, None])
    value = level[np.clip(rows, 0, len(level) - 1)]
    highest = np.where(inside, value, -np.inf).max(axis=1)
    lowest = np.where(inside, value, np.inf).min(axis=1)
    return np.asarray(np.where(inside.any(axis=1), highest - lowest, 0.0))
