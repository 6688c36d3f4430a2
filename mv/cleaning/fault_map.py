"""What befell each interval of the grid, for the picture of the record: one cause an interval."""

import numpy as np
from numpy.typing import NDArray

from mv.cleaning.grid import Cells, Grid
from mv.cleaning.periods import INSTALLATION, OUTSIDE
from mv.cleaning.readings import Readings

ESTIMATED, LUMP, FILLED, GAP = "flagged estimate", "catch-up lump", "short gap filled", "gap"
_NO_FAULTS = (INSTALLATION, OUTSIDE)


def fault_codes(
    table: Readings, grid: Grid, cells: Cells, filled: NDArray[np.bool_]
) -> tuple[NDArray[np.int8], tuple[str, ...]]:
    """Codes of the grid's intervals (0: read as it stands) and the causes they stand for, from 1 on.

    `cells` after the short gaps were filled, `filled` where. An interval without a reading of its own
    shows why that was set aside, else that it is a gap or was filled; one that was read all the same
    (a duplicate beside it was set aside) shows the reason too, where nothing else befell it.
    """
    names: list[str] = []
    codes = np.zeros(grid.count, np.int8)
    missing = np.isnan(cells.kwh)

    def mark(why: str, where: NDArray[np.bool_]) -> None:
        if where.any():
            names.append(why)
            codes[where] = len(names)

    reasons = [(n, why) for n, why in enumerate(table.reasons) if n and why not in _NO_FAULTS]
    covers = [(why, _covered(table, grid, table.reason == n)) for n, why in reasons]
    for why, where in covers:
        mark(why, where & ~missing)
    lumps = np.zeros(len(table.start), bool) if table.spread is None else table.spread & table.used
    mark(ESTIMATED, _covered(table, grid, table.estimated & table.used & ~lumps) & ~missing)
    mark(LUMP, _covered(table, grid, lumps) & ~missing)
    mark(FILLED, filled)
    mark(GAP, missing)
    for why, where in covers:
        late = where & (missing | filled)
        if why in names:
            codes[late] = names.index(why) + 1
        else:
            mark(why, late)
    return codes, tuple(names)


def _covered(table: Readings, grid: Grid, rows: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The intervals that the marked readings touch."""
    chosen = np.flatnonzero(rows)
    if not len(chosen):
        return np.zeros(grid.count, bool)
    steps = np.zeros(grid.count + 1, np.int32)
    low = (table.start[chosen] - grid.first) // grid.step
    high = (table.start[chosen] + np.maximum(table.seconds[chosen], 1) - 1 - grid.first) // grid.step
    inside = (high >= 0) & (low < grid.count)
    np.add.at(steps, np.maximum(low[inside], 0), 1)
    np.add.at(steps, np.minimum(high[inside], grid.count - 1) + 1, -1)
    return np.asarray(np.cumsum(steps[:-1]) > 0)
