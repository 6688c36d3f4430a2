"""Readings onto one regular grid; totals are kept, coarse readings are marked as spread."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mv.base.errors import ReadingError
from mv.cleaning.readings import Readings

MINUTE = 60
SHORTEST_SECONDS = 60  # finer readings are added up to the minute: nothing here works on less
MAX_CELLS = 60_000_000
STATE_SECONDS = 300  # grid of state logs, which have no interval of their own; common practice, no source
DIVISORS = (60, 120, 180, 240, 300, 360, 600, 720, 900, 1200, 1800, 3600)
PARTLY = 0.999  # an interval covered less than this is not a whole measured one


@dataclass(frozen=True)
class Grid:
    """Cells [first + k * step, first + (k + 1) * step), k < count; UTC seconds."""

    first: int
    step: int
    count: int

    @property
    def starts(self) -> NDArray[np.int64]:
        """The cells' starts."""
        return self.first + self.step * np.arange(self.count, dtype=np.int64)


@dataclass
class Cells:
    """What each cell holds: energy (NaN: nothing), estimated, spread."""

    kwh: NDArray[np.float64]
    estimated: NDArray[np.bool_]
    spread: NDArray[np.bool_] | None


def make_grid(table: Readings, intervals: dict[int, int | None], stated_minutes: float | None) -> Grid:
    """The grid of the greatest step that loses nothing: the common divisor of the files' intervals
    and of the offsets between their stamps, not below a minute."""
    used = table.used & (table.seconds > 0)
    if not used.any():
        used = table.seconds > 0  # nothing usable: an empty series over what was read
    if not used.any():
        first = int(table.start[0]) if len(table.start) else 0
        return Grid(first, 900, 0)
    every = bool(used.all())
    start, seconds = (a if every else a[used] for a in (table.start, table.seconds))
    step, phase = _step(start, seconds, table.file if every else table.file[used], intervals)
    if stated_minutes:
        step = min(step, max(round(stated_minutes * 60), SHORTEST_SECONDS))
    first = int(start.min()) - (int(start.min()) - phase) % step
    after = int((start + seconds).max())
    count = -(-(after - first) // step)
    if count > MAX_CELLS:
        raise ReadingError(
            "the readings span more intervals than can be held",
            value=f"{count} intervals of {step / 60:g} min",
            remedy="Check the first and last dates of the meter's files.",
        )
    return Grid(first, step, count)


def _step(
    start: NDArray[np.int64],
    seconds: NDArray[np.int64],
    file: NDArray[np.int16],
    intervals: dict[int, int | None],
) -> tuple[int, int]:
    divisor = 0
    anchor = int(start[0])
    numbers = [0] if len(intervals) == 1 else np.unique(file).tolist()
    for number in numbers:
        rows = slice(None) if len(intervals) == 1 else file == number
        own = intervals.get(int(number))
        if own is None:
            own = STATE_SECONDS
        stamps = start[rows]
        if _aligned(stamps, own):
            divisor = math.gcd(divisor, own)
            divisor = math.gcd(divisor, (int(stamps[0]) - anchor) % own) or divisor
        else:
            divisor = math.gcd(divisor, _rounded_up(own))
            anchor = anchor - anchor % _rounded_up(own)
    if divisor < SHORTEST_SECONDS:
        return SHORTEST_SECONDS, anchor - anchor % SHORTEST_SECONDS
    return divisor, anchor


def _aligned(start: NDArray[np.int64], step: int) -> bool:
    distance = start - start[0]
    return bool((distance // step * step == distance).all())


def _rounded_up(step: int) -> int:
    return next((size for size in DIVISORS if size >= step), 3600)


def onto_grid(table: Readings, grid: Grid, *, states: bool = False) -> Cells:
    """Lay the used readings on the grid. Their energy is kept to the last digit but for rounding.

    `states`: the rows are states that hold from change to change, whose course is known however
    long they last; else a reading longer than a cell is marked as spread.
    """
    rows = table.used & (table.seconds > 0)
    if not rows.any():
        return Cells(np.full(grid.count, np.nan), np.zeros(grid.count, bool), None)
    everything = bool(rows.all())
    start = table.start if everything else table.start[rows]
    seconds = table.seconds if everything else table.seconds[rows]
    kwh = table.kwh if everything else table.kwh[rows]
    flags = table.estimated if everything else table.estimated[rows]
    distance = start - grid.first
    place = distance // grid.step
    spread = None if table.spread is None else table.spread[rows]
    if bool((seconds == grid.step).all()) and bool((place * grid.step == distance).all()):
        cells = Cells(np.full(grid.count, np.nan), np.zeros(grid.count, bool), None)
        cells.kwh[place] = kwh
        cells.estimated[place] = flags
        if spread is not None and spread.any():
            cells.spread = np.zeros(grid.count, bool)
            cells.spread[place] = spread
        return cells
    return _spread(grid, start, seconds, kwh, flags, spread, states)


def _spread(
    grid: Grid,
    start: NDArray[np.int64],
    seconds: NDArray[np.int64],
    kwh: NDArray[np.float64],
    flags: NDArray[np.bool_],
    marked: NDArray[np.bool_] | None,
    states: bool,
) -> Cells:
    """Readings of any span: each is spread evenly over the cells it covers, whole or in part."""
    energy, covered = np.zeros(grid.count), np.zeros(grid.count)
    estimated, spread = np.zeros(grid.count), np.zeros(grid.count, bool)
    low = start - grid.first
    high = low + seconds
    first, last = low // grid.step, (high - 1) // grid.step
    rate = kwh / seconds
    coarse = (seconds > 1.01 * grid.step) & (not states)
    if marked is not None:
        coarse |= marked
    inside = np.flatnonzero(first == last)
    _add(energy, covered, estimated, first[inside], kwh[inside], seconds[inside], flags[inside])
    for row in _chunks(np.flatnonzero(first != last)):
        counts = last[row] - first[row] + 1
        owner = np.repeat(row, counts)
        within = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
        cell = first[owner] + within
        part = np.minimum(high[owner], (cell + 1) * grid.step) - np.maximum(low[owner], cell * grid.step)
        _add(energy, covered, estimated, cell, rate[owner] * part, part, flags[owner])
        spread[cell[coarse[owner]]] = True
    if marked is not None:
        spread[first[inside[marked[inside]]]] = True
    energy[covered == 0] = np.nan
    partly = (covered > 0) & (covered < PARTLY * grid.step)
    return Cells(energy, (estimated > 0) | partly, spread if spread.any() else None)


def _chunks(rows: NDArray[np.intp]) -> list[NDArray[np.intp]]:
    return [rows[at : at + 200_000] for at in range(0, len(rows), 200_000)]


def _add(
    energy: NDArray[np.float64],
    covered: NDArray[np.float64],
    estimated: NDArray[np.float64],
    cell: NDArray[np.int64],
    kwh: NDArray[np.float64],
    seconds: NDArray[np.int64],
    flags: NDArray[np.bool_],
) -> None:
    count = len(energy)
    energy += np.bincount(cell, kwh, count)
    covered += np.bincount(cell, seconds, count)
    if flags.any():
        estimated += np.bincount(cell, flags, count)
