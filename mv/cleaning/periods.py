"""The study's periods: what lies outside is set aside, and how much of each is covered."""

from datetime import date
from functools import lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base.clock import period_bounds
from mv.base.ledger import Remark
from mv.base.study_records import Span, Study
from mv.cleaning.grid import Grid
from mv.cleaning.readings import Readings

INSTALLATION = "installation period"
OUTSIDE = "outside the periods"
AFTER_REPORTING = "after-reporting"
DAYS_AFTER = 7  # of readings beyond the reporting period that ask for a word; common practice, no source


def bounds(span: Span, timezone: str) -> tuple[int, int]:
    """Half-open UTC seconds of a period of local dates."""
    return _bounds(span.first, span.last, timezone)


@lru_cache(maxsize=64)
def _bounds(first_day: date, last_day: date, timezone: str) -> tuple[int, int]:
    first, after = period_bounds(first_day, last_day, timezone)
    return int(first.timestamp()), int(after.timestamp())


def set_aside_outside(table: Readings, study: Study) -> None:
    """Set aside the readings that start between the periods, and those before and after both."""
    if study.periods is None:
        return
    first = bounds(study.periods.baseline, study.site.timezone)
    second = bounds(study.periods.reporting, study.site.timezone)
    start = table.start
    if len(start) == 0:
        return
    edges = [int(edge) for edge in np.searchsorted(start, [*first, *second])]  # start ascends
    rows = np.zeros(len(start), bool)
    rows[edges[1] : edges[2]] = True
    table.set_aside(INSTALLATION, rows)
    rows = np.ones(len(start), bool)
    rows[edges[0] : edges[3]] = False
    table.set_aside(OUTSIDE, rows)
    _remark_after(table, start[edges[3] :], study)


def _remark_after(table: Readings, late: NDArray[np.int64], study: Study) -> None:
    """Say that readings go on after the reporting period, as where a month of files was added."""
    assert study.periods is not None
    if len(late) == 0 or late[-1] - late[0] < DAYS_AFTER * 86400:
        return
    ends = study.periods.reporting.last
    last = pd.Timestamp(int(late[-1]), unit="s", tz="UTC").tz_convert(study.site.timezone).date()
    table.remarks.append(
        Remark(
            AFTER_REPORTING,
            f"readings go on to {last}, past the reporting period's last day, {ends}, and count nowhere",
            remedy="To count them, move the second date of reporting in [periods].",
        )
    )


def coverage(study: Study, grid: Grid, present: NDArray[np.bool_]) -> tuple[float | None, float | None]:
    """Share of each period's intervals that hold a reading; None without periods."""
    if study.periods is None:
        return None, None
    shares = []
    for span in (study.periods.baseline, study.periods.reporting):
        low, high = bounds(span, study.site.timezone)
        expected = (high - low) / grid.step
        begin, after = (max(-(-(edge - grid.first) // grid.step), 0) for edge in (low, high))
        inside = int(present[begin:after].sum())
        shares.append(min(inside / expected, 1.0))
    return shares[0], shares[1]
