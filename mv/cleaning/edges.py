"""When a meter's load goes on and off each day: what its clock can be judged by."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mv.cleaning.grid import Cells, Grid

DAY = 86_400


@dataclass(frozen=True)
class DayTable:
    """Readings laid out one local solar day a row (fixed offset, so that no row has 23 hours).

    `day` is days since 1970 of each row; `kwh` NaN where unknown; `offset` seconds east.
    """

    day: NDArray[np.int64]
    kwh: NDArray[np.float64]
    step: int
    offset: int

    def thinned(self, days: int) -> "DayTable":
        """Every nth day, so that at least `days` remain."""
        nth = max(len(self.day) // days, 1)
        return DayTable(self.day[::nth], self.kwh[::nth], self.step, self.offset)


def day_table(cells: Cells, grid: Grid, offset: int) -> DayTable | None:
    """The whole days of a grid whose step divides the day, from midnight of a fixed offset."""
    if grid.count == 0 or DAY % grid.step:
        return None
    per_day = DAY // grid.step
    skip = (-(grid.first + offset) // grid.step) % per_day
    usable = (grid.count - skip) // per_day
    if usable < 1:
        return None
    inside = slice(skip, skip + usable * per_day)
    kwh, estimated = cells.kwh[inside], cells.estimated[inside]
    if estimated.any():
        kwh = np.where(estimated, np.nan, kwh)
    first = (grid.first + skip * grid.step + offset) // DAY
    return DayTable(first + np.arange(usable), kwh.reshape(usable, per_day), grid.step, offset)


def spread_sample(kwh: NDArray[np.float64], *, at_most: int = 3000) -> NDArray[np.float64]:
    """Known values taken evenly from the series by a step prime to the day, enough for its levels."""
    step = max(len(kwh) // at_most, 1)
    values = kwh[:: step + 1 - step % 2] if step > 1 else kwh
    return values[np.isfinite(values)]


def half_level(kwh: NDArray[np.float64]) -> float | None:
    """Halfway between the meter's low and its high level; None where there are not two."""
    values = spread_sample(kwh)
    if len(values) < 96:
        return None
    low, high = (float(level) for level in np.quantile(values, (0.05, 0.95)))
    return (low + high) / 2 if high > 1.5 * max(low, 0.0) and high > 0 else None


def on_and_off(table: DayTable, level: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Seconds after the row's midnight of the first rise above the level and the last fall below it;
    NaN for days that have a gap, or are wholly above or below."""
    known = np.isfinite(table.kwh).all(axis=1)
    above = table.kwh > level
    mixed = known & above.any(axis=1) & ~above.all(axis=1)
    first = np.argmax(above, axis=1) * float(table.step)
    last = (above.shape[1] - np.argmax(above[:, ::-1], axis=1)) * float(table.step)
    return np.where(mixed, first, np.nan), np.where(mixed, last, np.nan)
