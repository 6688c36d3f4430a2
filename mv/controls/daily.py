"""One statistic a day: the form in which every setting is watched for a change."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
IntArray = npt.NDArray[np.int64]

MOST_WEIGHT = 12.0  # readings of one day that still add to its weight; common practice, no source


@dataclass(frozen=True)
class Daily:
    """A value a local day (days since 1970-01-01) with the number of readings behind it."""

    day: IntArray
    value: FloatArray
    count: FloatArray

    def __len__(self) -> int:
        return len(self.day)

    @property
    def weight(self) -> FloatArray:
        """Weight of each day: its readings up to a limit, about 1 for a full day."""
        return np.minimum(self.count, MOST_WEIGHT) / MOST_WEIGHT

    def within(self, first: int, last: int) -> "Daily":
        """The days from `first` to `last`, both included."""
        keep = (self.day >= first) & (self.day <= last)
        return Daily(self.day[keep], self.value[keep], self.count[keep])


NO_DAYS = Daily(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0))


def joined(parts: list[Daily]) -> Daily:
    """The months' days one after another."""
    if not parts:
        return NO_DAYS
    return Daily(
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.value for part in parts]),
        np.concatenate([part.count for part in parts]),
    )


def by_day(day: IntArray, value: FloatArray) -> list[tuple[int, FloatArray]]:
    """Finite values grouped by day, in order of day."""
    good = np.isfinite(value)
    day, value = day[good], value[good]
    order = np.argsort(day, kind="stable")
    days, first = np.unique(day[order], return_index=True)
    return list(zip(days.tolist(), np.split(value[order], first[1:]), strict=True)) if len(days) else []


def daily_quantile(day: IntArray, value: FloatArray, quantile: float, *, least: int = 1) -> Daily:
    """The quantile of each day that has at least `least` finite values."""
    groups = [(at, part) for at, part in by_day(day, value) if len(part) >= least]
    if not groups:
        return NO_DAYS
    return Daily(
        np.array([at for at, _ in groups], dtype=np.int64),
        np.array([float(np.quantile(part, quantile)) for _, part in groups]),
        np.array([float(len(part)) for _, part in groups]),
    )


def daily_mean(day: IntArray, value: FloatArray, *, least: int = 1) -> Daily:
    """The mean of each day that has at least `least` finite values."""
    good = np.isfinite(value)
    days, code, count = np.unique(day[good], return_inverse=True, return_counts=True)
    total = np.bincount(code, weights=value[good], minlength=len(days))
    enough = count >= least
    return Daily(
        days[enough].astype(np.int64), (total / np.maximum(count, 1))[enough], count[enough].astype(float)
    )


def daily_middle(day: IntArray, value: FloatArray, *, least: int, room: float = 0.02) -> Daily:
    """Each day's level: mean of what lies within `room` of the day's median.

    The mean, not the median: a coarse meter's steps average out.
    """
    return _daily_near(day, value, least=least, room=room, centre=lambda part: float(np.median(part)))


def daily_floor(day: IntArray, value: FloatArray, *, least: int, room: float = 0.01) -> Daily:
    """Each day's lowest level: mean of what lies within `room` of its 20th percentile."""
    return _daily_near(day, value, least=least, room=room, centre=lambda part: float(np.quantile(part, 0.2)))


def daily_top(day: IntArray, value: FloatArray, *, least: int, room: float = 0.03) -> Daily:
    """The plateau each day reaches: around the median of what is near its 95th percentile."""

    def centre(part: FloatArray) -> float:
        return float(np.median(part[part >= 0.88 * np.quantile(part, 0.95)]))

    return _daily_near(day, value, least=least, room=room, centre=centre)


def _daily_near(
    day: IntArray,
    value: FloatArray,
    *,
    least: int,
    room: float,
    centre: Callable[[FloatArray], float],
) -> Daily:
    groups = [(at, part) for at, part in by_day(day, value) if len(part) >= least]
    if not groups:
        return NO_DAYS
    level, count = [], []
    for _, part in groups:
        middle = centre(part)
        near = part[np.abs(part - middle) <= room]
        level.append(float(near.mean()) if len(near) else middle)
        count.append(float(max(len(near), 1)))
    return Daily(np.array([at for at, _ in groups], dtype=np.int64), np.array(level), np.array(count))
