"""One statistic a day: the form in which every setting is watched for a change."""

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


@dataclass(frozen=True)
class _Sorted:
    """Each day's finite values in order of size: a row a day, filled up with infinity."""

    day: IntArray
    count: IntArray
    value: FloatArray

    def at(self, place: IntArray) -> FloatArray:
        """The value of each day at a place of its order."""
        found: FloatArray = self.value[np.arange(len(self.day)), place]
        return found

    def quantile(self, share: float) -> FloatArray:
        """Linear between the two nearest values, as numpy's."""
        place = share * (self.count - 1)
        below = np.floor(place).astype(np.int64)
        low, high = self.at(below), self.at(np.minimum(below + 1, self.count - 1))
        part = place - below
        rise = high - low
        return np.asarray(np.where(part < 0.5, low + rise * part, high - rise * (1.0 - part)))

    def median(self, first: IntArray | int = 0) -> FloatArray:
        """The median of each day's values from the place `first` on."""
        number = self.count - first
        return 0.5 * (self.at(first + (number - 1) // 2) + self.at(first + number // 2))


def _sorted_days(day: IntArray, value: FloatArray, least: int) -> _Sorted | None:
    """The days that have at least `least` finite values; None where there is none."""
    good = np.isfinite(value)
    day, value = day[good], value[good]
    order = np.lexsort((value, day))
    days, first, count = np.unique(day[order], return_index=True, return_counts=True)
    enough = count >= least
    if not enough.any():
        return None
    table = np.full((len(days), int(count.max())), np.inf)
    table[np.repeat(np.arange(len(days)), count), np.arange(len(day)) - np.repeat(first, count)] = value[
        order
    ]
    return _Sorted(days[enough].astype(np.int64), count[enough], table[enough])


def daily_quantile(day: IntArray, value: FloatArray, quantile: float, *, least: int = 1) -> Daily:
    """The quantile of each day that has at least `least` finite values."""
    rows = _sorted_days(day, value, least)
    return (
        NO_DAYS if rows is None else Daily(rows.day, rows.quantile(quantile), rows.count.astype(np.float64))
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
    rows = _sorted_days(day, value, least)
    return NO_DAYS if rows is None else _near(rows, rows.median(), room)


def daily_floor(day: IntArray, value: FloatArray, *, least: int, room: float = 0.01) -> Daily:
    """Each day's lowest level: mean of what lies within `room` of its 20th percentile."""
    rows = _sorted_days(day, value, least)
    return NO_DAYS if rows is None else _near(rows, rows.quantile(0.2), room)


def daily_top(day: IntArray, value: FloatArray, *, least: int, room: float = 0.03) -> Daily:
    """The plateau each day reaches: around the median of what is near its 95th percentile."""
    rows = _sorted_days(day, value, least)
    if rows is None:
        return NO_DAYS
    below = (rows.value < 0.88 * rows.quantile(0.95)[:, None]).sum(axis=1)
    return _near(rows, rows.median(np.minimum(below, rows.count - 1)), room)


def _near(rows: _Sorted, centre: FloatArray, room: float) -> Daily:
    """Mean of each day's values within `room` of its centre; the centre where there are none."""
    near = np.abs(rows.value - centre[:, None]) <= room
    number = near.sum(axis=1)
    total = np.where(near, rows.value, 0.0).sum(axis=1)
    level = np.where(number > 0, total / np.maximum(number, 1), centre)
    return Daily(rows.day, level, np.maximum(number, 1).astype(np.float64))
