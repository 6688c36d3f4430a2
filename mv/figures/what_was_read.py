"""Which intervals a picture of the record counts as missing, and how many are estimated, in words."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mv.base import wording
from mv.base.clock import period_bounds
from mv.base.series import MeterSeries
from mv.base.study_records import Study


def in_periods(index: pd.Index, study: Study) -> NDArray[np.bool_]:
    """Where a UTC index lies in the baseline or the reporting period; all of it without periods."""
    if study.periods is None:
        return np.ones(len(index), dtype=bool)
    inside = np.zeros(len(index), dtype=bool)
    for span in (study.periods.baseline, study.periods.reporting):
        start, end = period_bounds(span.first, span.last, study.site.timezone)
        inside |= np.asarray((index >= start) & (index < end))
    return inside


def rows_behind(meter: MeterSeries, intervals: int) -> str:
    """Beside a count of estimated intervals: the ledger's count of rows, where it is another."""
    rows = meter.ledger.estimated_rows
    if not rows or rows == intervals:
        return ""
    return f"; the ledger counts the {wording.counted(rows, 'row')} of the files behind them"
