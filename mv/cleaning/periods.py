"""The study's periods: what lies outside is set aside, and how much of each is covered."""

import numpy as np
from numpy.typing import NDArray

from mv.base.clock import period_bounds
from mv.base.study_records import Span, Study
from mv.cleaning.grid import Grid
from mv.cleaning.readings import Readings

INSTALLATION = "installation period"
OUTSIDE = "outside the periods"


def bounds(span: Span, timezone: str) -> tuple[int, int]:
    """Half-open UTC seconds of a period of local dates."""
    first, after = period_bounds(span.first, span.last, timezone)
    return int(first.timestamp()), int(after.timestamp())


def set_aside_outside(table: Readings, study: Study) -> None:
    """Set aside the readings that start between the periods, and those before and after both."""
    if study.periods is None:
        return
    first = bounds(study.periods.baseline, study.site.timezone)
    second = bounds(study.periods.reporting, study.site.timezone)
    start = table.start
    between = (start >= first[1]) & (start < second[0])
    outside = (start < first[0]) | (start >= second[1])
    table.set_aside(INSTALLATION, between)
    table.set_aside(OUTSIDE, outside)


def coverage(study: Study, grid: Grid, present: NDArray[np.bool_]) -> tuple[float | None, float | None]:
    """Share of each period's intervals that hold a reading; None without periods."""
    if study.periods is None:
        return None, None
    starts = grid.starts
    shares = []
    for span in (study.periods.baseline, study.periods.reporting):
        low, high = bounds(span, study.site.timezone)
        expected = (high - low) / grid.step
        inside = int(present[(starts >= low) & (starts < high)].sum())
        shares.append(min(inside / expected, 1.0))
    return shares[0], shares[1]
