"""A daily statistic as a sequence of levels: when did the setting change, and by how much?

Robust exact segmentation, then every step must pass two tests: it is large enough to matter
(`least_step`, the setting's practical size) and far outside the day-to-day noise. The noise is
taken from days, so what is alike within a day counts once; a wandering series (autocorrelation)
is met by measuring noise also between weeks.
"""

import itertools
from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from mv.base.step_changes import segment_starts
from mv.controls.daily import Daily, FloatArray

LEAST_DAYS = 5  # days with readings that make a level; common practice, no source
TRIMMED = 0.2  # share of weight left out at either end of a level's days; common practice, no source
SURE_RATIO = 5.0  # step over its standard error, two-sided about 6e-7 a look; common practice, no source
PENALTY_FACTOR = 12.0  # squared noise units times log n a level: above independent-noise BIC; no source


@dataclass(frozen=True, slots=True)
class Level:
    """A stretch of days at one level; `noise` is the day-to-day standard deviation."""

    first_day: int
    last_day: int
    value: float
    noise: float
    days: int

    @property
    def standard_error(self) -> float:
        """Of the level, days taken as independent."""
        return self.noise / float(np.sqrt(max(self.days, 1)))


def levels(daily: Daily, *, least_step: float, least_days: int = LEAST_DAYS) -> list[Level]:
    """The levels of a daily statistic, in order; one level where nothing changed."""
    n = len(daily)
    if n == 0:
        return []
    if n < 2 * least_days:
        return [_level(daily, 0, n)]
    smooth = _median_of_three(daily.value)
    noise = max(_day_noise(daily.value), _day_noise(smooth), least_step / 10.0)
    penalty = PENALTY_FACTOR * noise**2 * float(np.log(n))
    starts = segment_starts(smooth, penalty=penalty, min_length=least_days)
    starts = _sharpened(daily.value, starts, least_days)
    starts = _without_doubtful(daily, starts, least_step, least_days)
    return [_level(daily, a, b) for a, b in zip(starts, [*starts[1:], n], strict=True)]


def _median_of_three(values: FloatArray) -> FloatArray:
    if len(values) < 3:
        return values
    inner = np.median(np.stack([values[:-2], values[1:-1], values[2:]]), axis=0)
    return np.concatenate((values[:1], inner, values[-1:]))


def _day_noise(values: FloatArray) -> float:
    """Standard deviation of one day from differences of neighbours: a step counts once."""
    if len(values) < 3:
        return 0.0
    return float(1.4826 * np.median(np.abs(np.diff(values))) / np.sqrt(2.0))


def _level(daily: Daily, start: int, stop: int) -> Level:
    part = daily.value[start:stop]
    value = _trimmed_mean(part, daily.weight[start:stop])
    spread = float(1.4826 * np.median(np.abs(part - value))) if len(part) > 2 else 0.0
    return Level(int(daily.day[start]), int(daily.day[stop - 1]), value, spread, stop - start)


def _trimmed_mean(values: FloatArray, weights: FloatArray) -> float:
    """Weighted mean of the middle of the days, a fifth of the weight left out at either end.

    Not the median: days of few readings on a coarse meter take but a few values.
    """
    order = np.argsort(values)
    edges = np.concatenate(([0.0], np.cumsum(weights[order])))
    low, high = TRIMMED * edges[-1], (1.0 - TRIMMED) * edges[-1]
    kept = np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0, None)
    return float(np.sum(kept * values[order]) / np.sum(kept))


def _sharpened(values: FloatArray, starts: list[int], least_days: int) -> list[int]:
    """Each boundary moved, by at most two days, to where the raw days fit best."""
    result = list(starts)
    for at in range(1, len(starts)):
        left, right = result[at - 1], starts[at + 1] if at + 1 < len(starts) else len(values)
        options = [cut for cut in range(starts[at] - 2, starts[at] + 3) if left + 1 <= cut <= right - 1]
        before = float(np.median(values[left : starts[at]]))
        after = float(np.median(values[starts[at] : right]))
        cost = [
            np.abs(values[left:cut] - before).sum() + np.abs(values[cut:right] - after).sum()
            for cut in options
        ]
        if options:
            result[at] = options[int(np.argmin(cost))]
    return result


def _without_doubtful(daily: Daily, starts: list[int], least_step: float, least_days: int) -> list[int]:
    """Joins neighbours until every step is large enough and sure enough."""
    starts = list(starts)
    level = cache(partial(_level, daily))  # joining two leaves the others as they are
    while len(starts) > 1:
        ends = [*starts[1:], len(daily)]
        parts = [level(a, b) for a, b in zip(starts, ends, strict=True)]
        usual = _usual_spread(daily, starts, ends)
        surplus = [
            min(
                _surplus(left, right, least_step, usual),
                (min(left.days, right.days) + 0.5) / least_days,
            )
            for left, right in itertools.pairwise(parts)
        ]
        worst = int(np.argmin(surplus))
        if surplus[worst] >= 1.0:
            break
        del starts[worst + 1]
    return starts


def _usual_spread(daily: Daily, starts: list[int], ends: list[int]) -> tuple[float, float]:
    """Standard deviation of days in the longest stretch, odd days included, and what wandering adds.

    A few days that agree by chance must not pass for a level of their own; neighbouring days that
    go together (lag-1 autocorrelation) count as fewer.
    """
    start, end = max(zip(starts, ends, strict=True), key=lambda pair: pair[1] - pair[0])
    part = daily.value[start:end] - np.mean(daily.value[start:end])
    if len(part) < LEAST_DAYS:
        return 0.0, 1.0
    variance = float(np.mean(part**2))
    rho = float(np.mean(part[1:] * part[:-1])) / variance if variance > 0 else 0.0
    rho = min(max(rho, 0.0), 0.95)
    return float(np.sqrt(variance)), float(np.sqrt((1.0 + rho) / (1.0 - rho)))


def _surplus(left: Level, right: Level, least_step: float, usual: tuple[float, float]) -> float:
    """Smaller than 1 where the step between two levels is too small or not sure."""
    step = abs(right.value - left.value)
    spread, wandering = usual
    errors = [max(part.noise, spread) / np.sqrt(part.days) for part in (left, right)]
    noise = wandering * float(np.hypot(*errors))
    return float(min(step / least_step, step / (SURE_RATIO * noise) if noise > 0 else np.inf))
