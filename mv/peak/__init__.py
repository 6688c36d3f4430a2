"""Peak kW by the programme's own definition, coincidence, and demand-response calls."""

from mv.peak.demand_response import LoadDrop, load_drop, load_drops
from mv.peak.few_days import departures_of_runs, with_departures
from mv.peak.hottest import heat_score, hottest_days
from mv.peak.window import (
    eligible_day_mask,
    peak_window_mask,
    window_fits,
    window_hours_per_day,
)
from mv.peak.window_mean import (
    coincidence_factor,
    effective_days,
    mean_over_days,
    window_mean_kw,
)

__all__ = [
    "LoadDrop",
    "coincidence_factor",
    "departures_of_runs",
    "effective_days",
    "eligible_day_mask",
    "heat_score",
    "hottest_days",
    "load_drop",
    "load_drops",
    "mean_over_days",
    "peak_window_mask",
    "window_fits",
    "window_hours_per_day",
    "window_mean_kw",
    "with_departures",
]
