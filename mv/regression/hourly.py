"""Hourly use by time of week, people and sun, summed to days: a driver for the daily model.

The hourly fit only shapes the expectation; level and uncertainty are the daily model's, whose
departures it can judge. On the days it was fitted to, each block is expected from the other blocks, so
that the daily model is not flattered.
"""

import numpy as np
import numpy.typing as npt
import pandas as pd

from mv.regression.forms import HOURLY_SUM
from mv.regression.selection import BLOCKS

FloatArray = npt.NDArray[np.float64]

LEAST_WEEKS = 4  # of each hour of the week (common practice, no source)
HOURS_OF_WEEK = 168
SUNDAY_START = 144
DRIVERS = ("dark_share", "sunlight", "occupied_share", "people", "motion_share")


def expected_by_hour(
    energy_kwh: pd.Series, fitted_to: pd.DataFrame, others: list[pd.DataFrame]
) -> list[pd.Series] | None:
    """Daily sums of the hourly expectation, first for `fitted_to`, then for each of `others`.

    `energy_kwh` by UTC hour; the tables are those of `hourly_drivers`, with `local_day`. Each hour of
    the week has its level, and darkness, sun and presence act while the site is open. None when there
    are fewer than four weeks of hours.
    """
    y = energy_kwh.reindex(fitted_to.index)
    names = [
        name for name in DRIVERS if all(table[name].notna().mean() > 0.9 for table in (fitted_to, *others))
    ]
    usable = np.isfinite(y.to_numpy(dtype=np.float64))
    if usable.sum() < LEAST_WEEKS * HOURS_OF_WEEK:
        return None
    matrix, values = _design(fitted_to, names), np.where(usable, y.to_numpy(dtype=np.float64), 0.0)
    kept = matrix * usable[:, None]
    blocks = np.array_split(np.arange(len(values)), BLOCKS)
    products = [(kept[block].T @ kept[block], kept[block].T @ values[block]) for block in blocks]
    normal, right = sum(part[0] for part in products), sum(part[1] for part in products)
    held_out = np.empty(len(values))
    for block, (own, own_right) in zip(blocks, products, strict=True):
        held_out[block] = matrix[block] @ _solved(normal - own, right - own_right)
    whole = _solved(normal, right)
    results = [_by_day(fitted_to, held_out)]
    return results + [_by_day(table, _design(table, names) @ whole) for table in others]


def _design(hours: pd.DataFrame, names: list[str]) -> FloatArray:
    """One column an hour of the week (holidays as Sundays), then each driver in hours of opening."""
    week = hours["hour_of_week"].to_numpy(dtype=np.int64)
    week = np.where(hours["is_holiday"].to_numpy(dtype=bool), SUNDAY_START + week % 24, week)
    levels = np.zeros((len(hours), HOURS_OF_WEEK))
    levels[np.arange(len(hours)), week] = 1.0
    opened = hours["open_share"].fillna(1.0).to_numpy(dtype=np.float64)
    extra = [hours[name].fillna(hours[name].mean()).to_numpy(dtype=np.float64) * opened for name in names]
    return np.column_stack([levels, *extra])


def _solved(normal: FloatArray, right: FloatArray) -> FloatArray:
    """Least squares, barely shrunk so that an hour of the week never seen stays at nothing."""
    ridge = 1e-6 * max(float(np.trace(normal)) / len(normal), 1.0)
    return np.asarray(np.linalg.solve(normal + ridge * np.eye(len(normal)), right))


def _by_day(hours: pd.DataFrame, expected: FloatArray) -> pd.Series:
    series = pd.Series(expected, index=pd.DatetimeIndex(hours["local_day"]))
    return series.groupby(level=0).sum().rename(HOURLY_SUM)
