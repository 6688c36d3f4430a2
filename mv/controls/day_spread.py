"""What a month's days say together: a value with the interval that their differences leave.

The interval is for what the controls usually do, of which the month's days are a sample; days of one
week go together, as they share weather and work.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from mv.controls.daily import BoolArray, FloatArray, IntArray
from mv.controls.verdicts import quantile_factor

WEEK_DAYS = 7
FEWEST_WEEKS = 4  # fewer are too few to judge a spread by, and single days are taken; no source


@dataclass(frozen=True, slots=True)
class Fact:
    """A month's value with its ends, or why there is none; a yes or no has no ends."""

    value: float | bool | None = None
    low: float | None = None
    high: float | None = None
    why: str | None = None


def middle_of_days(value: FloatArray, confidence: float) -> tuple[float, float, float]:
    """Median of the days with its interval, from their median absolute deviation."""
    middle = float(np.median(value))
    spread = 1.4826 * float(np.median(np.abs(value - middle)))
    half = 1.2533 * spread / np.sqrt(len(value)) * quantile_factor(confidence, len(value))
    return middle, middle - half, middle + half


def ratio_of_days(
    day: IntArray, part: FloatArray, whole: FloatArray, *, confidence: float, least_half_width: float = 0.0
) -> Fact:
    """sum(part) / sum(whole), its interval from how far blocks of days lie off it.

    The variance of a ratio of two sums by its residuals part - ratio x whole, whose sum is zero.
    `least_half_width`: what more days do not narrow.
    """
    total = float(whole.sum())
    if total <= 0.0:
        return Fact(why="there is nothing in the month to take a share of")
    ratio = float(part.sum()) / total
    blocks = _blocks(day)
    count = int(blocks.max()) + 1
    if count < 2:
        return Fact(ratio)
    residual = np.bincount(blocks, weights=part - ratio * whole, minlength=count)
    error = float(np.sqrt(count / (count - 1.0) * np.sum(residual**2))) / total
    half = float(np.hypot(quantile_factor(confidence, count) * error, least_half_width))
    return Fact(ratio, ratio - half, ratio + half)


def share_of_days(day: IntArray, part: FloatArray, whole: FloatArray, *, confidence: float) -> Fact:
    """The same of a part that is between none and all of the whole, and its interval too.

    None at all on n days leaves a chance of (1 - share)^n for it to be so (the exact one-sided limit
    of a binomial share, days taken as whole ones: wide rather than narrow); all of it likewise.
    """
    found = ratio_of_days(day, part, whole, confidence=confidence)
    if found.value is None or found.low is None or found.high is None:
        return found
    room = 1.0 - ((1.0 - confidence) / 2.0) ** (1.0 / len(np.unique(day)))
    low = 1.0 - room if found.value >= 1.0 else max(found.low, 0.0)
    high = room if found.value <= 0.0 else min(found.high, 1.0)
    return Fact(found.value, low, high)


def left_out_by_turns(
    day: IntArray,
    statistics: Callable[[BoolArray], tuple[float | None, ...]],
    *,
    confidence: float,
    least_half_widths: tuple[float, ...],
) -> list[Fact]:
    """Statistics of rows, their intervals by leaving out one block of days after the other (jackknife).

    `statistics` takes the rows to be used. `least_half_widths`: what more days do not narrow.
    """
    values = statistics(np.ones(len(day), dtype=np.bool_))
    blocks = _blocks(day)
    turns = [statistics(blocks != block) for block in range(int(blocks.max()) + 1)]
    return [
        _jackknifed(value, [other for other in found if other is not None], confidence, least)
        for value, found, least in zip(values, zip(*turns, strict=True), least_half_widths, strict=True)
    ]


def _jackknifed(value: float | None, without: list[float], confidence: float, least: float) -> Fact:
    if value is None:
        return Fact(why="the readings do not show it")
    n, others, chance = len(without), np.array(without), 0.0
    if n > 1:
        error = float(np.sqrt((n - 1.0) / n * np.sum((others - others.mean()) ** 2)))
        chance = quantile_factor(confidence, n) * error
    half = float(np.hypot(chance, least))
    return Fact(value, value - half, value + half)


def _blocks(day: IntArray) -> npt.NDArray[np.int64]:
    """A number for each row's week, or for its day where there are too few weeks."""
    weeks, code = np.unique((day - day.min()) // WEEK_DAYS, return_inverse=True)
    if len(weeks) < FEWEST_WEEKS:
        code = np.unique(day, return_inverse=True)[1]
    return np.asarray(code, dtype=np.int64)
