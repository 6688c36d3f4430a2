"""Short gaps: filled only where the light was steady on both sides, never across an edge."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mv.cleaning.grid import Cells, Grid

LONGEST_FILL_SECONDS = 3600  # utility validation practice fills up to an hour directly; common practice
EDGE_SHARE = 0.05  # of the meter's usual full level: a difference beyond is an edge; no source


@dataclass(frozen=True)
class Filled:
    """How many intervals were filled, and with how much."""

    intervals: int
    energy_kwh: float
    too_long: int
    at_edges: int


def fill_short_gaps(cells: Cells, grid: Grid) -> Filled:
    """Fill gaps of at most an hour between two equal levels with their mean; mark as estimated.

    A gap whose two sides differ hides a switching: what happened inside is not known and stays so.
    Changes `cells` in place.
    """
    missing = np.isnan(cells.kwh)
    if not missing.any() or missing.all():
        return Filled(0, 0.0, 0, 0)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], missing, [False]]).astype(np.int8)))
    first, after = edges[0::2], edges[1::2]
    inner = (first > 0) & (after < grid.count)
    first, after = first[inner], after[inner]
    longest = max(LONGEST_FILL_SECONDS // grid.step, 1)
    short = (after - first) <= longest
    if not short.any():
        return Filled(0, 0.0, len(first), 0)
    left, right = cells.kwh[first - 1], cells.kwh[np.minimum(after, grid.count - 1)]
    level = _usual_full_level(cells.kwh)
    steady = np.abs(left - right) <= EDGE_SHARE * level
    whole = ~(cells.estimated[first - 1] | cells.estimated[np.minimum(after, grid.count - 1)])
    chosen = np.flatnonzero(short & steady & whole)
    count, energy = 0, 0.0
    for gap in chosen:
        span = slice(int(first[gap]), int(after[gap]))
        value = 0.5 * (left[gap] + right[gap])
        cells.kwh[span] = value
        cells.estimated[span] = True
        count += span.stop - span.start
        energy += float(value) * (span.stop - span.start)
    return Filled(count, energy, int((~short).sum()), int((short & ~(steady & whole)).sum()))


def _usual_full_level(kwh: NDArray[np.float64]) -> float:
    values = kwh[:: max(len(kwh) // 20_001, 1)]
    values = values[np.isfinite(values)]
    return float(np.quantile(np.abs(values), 0.95)) if len(values) else 0.0
