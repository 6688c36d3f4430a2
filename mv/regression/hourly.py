"""Hourly use by time of week, people and sun, summed to days: a driver for the daily model.

The hourly fit only shapes the expectation; level and uncertainty are the daily model's, whose
departures it can judge. On the days it was fitted to, each block is expected from the other blocks, so
that the daily model is not flattered.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import HOURLY_SUM, LEAST_KNOWN_SHARE
from mv.regression.selection import BLOCKS

FloatArray = npt.NDArray[np.float64]

LEAST_WEEKS = 4  # of each hour of the week (common practice, no source)
HOURS_OF_WEEK = 168
SUNDAY_START = 144
# Bends of the weather's effect: the coldest day and these quantiles of the days seen.
BENDS = (0.0, 0.25, 0.5, 0.75)
WEATHER = "temperature_c"
DRIVERS = ("dark_share", "sunlight", "occupied_share", "people", "motion_share")


def expected_by_hour(
    energy_kwh: pd.Series, fitted_to: pd.DataFrame, others: list[pd.DataFrame]
) -> list[pd.Series] | None:
    """Daily sums of the hourly expectation, first for `fitted_to`, then for each of `others`.

    `energy_kwh` by UTC hour; the tables are those of `hourly_drivers`, with `local_day`. Each hour of
    the week has its level, and darkness, sun and presence act while the site is open; the temperature,
    where it is known, acts in pieces of a line, open and closed hours apart. None when there are fewer
    than four weeks of hours.
    """
    y = energy_kwh.reindex(fitted_to.index)
    known = [name for name in (*DRIVERS, WEATHER) if _known((fitted_to, *others), name)]
    names = [name for name in known if name != WEATHER]
    bends = _bends(fitted_to[WEATHER]) if WEATHER in known else np.array([])
    usable = np.isfinite(y.to_numpy(dtype=np.float64))
    if usable.sum() < LEAST_WEEKS * HOURS_OF_WEEK:
        return None
    design, values = _design(fitted_to, names, bends), np.where(usable, y.to_numpy(dtype=np.float64), 0.0)
    block = np.repeat(np.arange(BLOCKS), [len(part) for part in np.array_split(values, BLOCKS)])
    products = _products(design, values, usable, block)
    level, slope = _solved(products.without(None))
    fits = [_solved(products.without(number)) for number in range(BLOCKS)]
    levels, slopes = np.stack([fit[0] for fit in fits]), np.stack([fit[1] for fit in fits])
    held_out = levels[block, design.week] + (design.extra * slopes[block]).sum(axis=1)
    designs = [_design(table, names, bends) for table in others]
    return [_by_day(fitted_to, held_out)] + [
        _by_day(table, level[other.week] + other.extra @ slope)
        for table, other in zip(others, designs, strict=True)
    ]


@dataclass(frozen=True)
class _Design:
    """`week` (n): the hour of the week, holidays as Sundays; `extra` (n, k): drivers in hours of opening,
    and degrees above each bend in open and in closed hours.
    """

    week: npt.NDArray[np.int64]
    extra: FloatArray


@dataclass(frozen=True)
class _Products:
    """Normal equations, a block of hours each in the leading axis: the hours of the week among themselves
    (a diagonal) and with the drivers, the drivers among themselves, and the right sides of both.
    """

    count: FloatArray
    cross: FloatArray
    inner: FloatArray
    right: FloatArray
    right_extra: FloatArray

    def without(self, block: int | None) -> "_Products":
        """The sum over the blocks, but for one."""
        kept = np.arange(len(self.count)) != (-1 if block is None else block)
        parts = (self.count, self.cross, self.inner, self.right, self.right_extra)
        return _Products(*(part[kept].sum(axis=0) for part in parts))


def _known(tables: Sequence[pd.DataFrame], name: str) -> bool:
    return all(name in table and table[name].notna().mean() > LEAST_KNOWN_SHARE for table in tables)


def _bends(temperature_c: pd.Series) -> FloatArray:
    bends = np.unique(temperature_c.dropna().quantile(list(BENDS)).to_numpy(dtype=np.float64))
    return np.asarray(bends if len(bends) == len(BENDS) else bends[:0], dtype=np.float64)


def _degrees(hours: pd.DataFrame, bends: FloatArray) -> FloatArray:
    """Degrees above each bend, a column each; the day's usual one where it is not known."""
    temperature = hours[WEATHER].fillna(hours[WEATHER].mean()).to_numpy(dtype=np.float64)
    return np.asarray(np.maximum(temperature[:, None] - bends, 0.0))


def _design(hours: pd.DataFrame, names: list[str], bends: FloatArray) -> _Design:
    week = hours["hour_of_week"].to_numpy(dtype=np.int64)
    week = np.where(hours["is_holiday"].to_numpy(dtype=bool), SUNDAY_START + week % 24, week)
    opened = hours["open_share"].fillna(1.0).to_numpy(dtype=np.float64)
    extra = np.zeros((len(hours), len(names)))
    for place, name in enumerate(names):
        extra[:, place] = hours[name].fillna(hours[name].mean()).to_numpy(dtype=np.float64) * opened
    if len(bends):
        degrees = _degrees(hours, bends)
        extra = np.hstack([extra, degrees * opened[:, None], degrees * (1.0 - opened)[:, None]])
    return _Design(week, extra)


def _products(
    design: _Design, values: FloatArray, usable: npt.NDArray[np.bool_], block: npt.NDArray[np.int64]
) -> _Products:
    """The normal equations of each block's usable hours, in a leading axis."""
    code, extra, y = (block * HOURS_OF_WEEK + design.week)[usable], design.extra[usable], values[usable]

    def by_hour(weights: FloatArray) -> FloatArray:
        total = np.bincount(code, weights=weights, minlength=BLOCKS * HOURS_OF_WEEK)
        return np.asarray(total.reshape(BLOCKS, HOURS_OF_WEEK), dtype=np.float64)

    parts = [(extra[block[usable] == number], y[block[usable] == number]) for number in range(BLOCKS)]
    cross = [by_hour(column) for column in extra.T]
    return _Products(
        count=by_hour(np.ones(len(y))),
        cross=np.stack(cross, axis=-1) if cross else np.zeros((BLOCKS, HOURS_OF_WEEK, 0)),
        inner=np.stack([x.T @ x for x, _ in parts]),
        right=by_hour(y),
        right_extra=np.stack([x.T @ part for x, part in parts]),
    )


def _solved(products: _Products) -> tuple[FloatArray, FloatArray]:
    """Levels and slopes by least squares, the levels eliminated first.

    Barely shrunk, so that an hour of the week never seen stays at nothing.
    """
    size = HOURS_OF_WEEK + len(products.inner)
    ridge = 1e-6 * max(float(products.count.sum() + np.trace(products.inner)) / size, 1.0)
    count, inner = products.count + ridge, products.inner + ridge * np.eye(len(products.inner))
    scaled = products.cross / count[:, None]
    slope = np.linalg.solve(
        inner - scaled.T @ products.cross, products.right_extra - scaled.T @ products.right
    )
    return (products.right - products.cross @ slope) / count, np.asarray(slope)


def _by_day(hours: pd.DataFrame, expected: FloatArray) -> pd.Series:
    series = pd.Series(expected, index=pd.DatetimeIndex(hours["local_day"]))
    return series.groupby(level=0).sum().rename(HOURLY_SUM)
