"""What changed after hand-over: since when, at what cost, for which likely causes."""

from mv.drift.cusum import plain_cusum, residual_cusum_test, tabular_cusum
from mv.drift.find_drift import find_drift
from mv.drift.hours import COARSEST_MINUTES, fine_kw, hourly_kw
from mv.drift.records import DriftFinding, DriftSeries

__all__ = [
    "COARSEST_MINUTES",
    "DriftFinding",
    "DriftSeries",
    "find_drift",
    "fine_kw",
    "hourly_kw",
    "plain_cusum",
    "residual_cusum_test",
    "tabular_cusum",
]
