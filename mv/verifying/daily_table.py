"""The long table of days from which figures are drawn and which a reader can download."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from mv.base.estimate import CannotSay
from mv.base.study_records import Study
from mv.verifying.meter_savings import MeterSavings

DRIVERS = (
    "day_type", "is_open_day", "is_holiday", "hours_open", "daylight_hours", "dark_hours",
    "dark_open_hours", "occupied_hours", "dark_occupied_hours", "temperature_c",
)  # fmt: skip


def daily_table(study: Study, meters: Sequence[MeterSavings]) -> pd.DataFrame:
    """One row a meter and local day of both periods, as `Verification.daily` describes."""
    tables = [_of_meter(item) for item in meters]
    return pd.concat(tables, ignore_index=True)


def _of_meter(item: MeterSavings) -> pd.DataFrame:
    days = pd.DataFrame(
        {
            "day": pd.DatetimeIndex(item.days.index),
            "meter": item.meter.id,
            "period": item.days["period"].to_numpy(),
            "actual_kwh": item.days["energy_kwh"].to_numpy(dtype=np.float64),
            "expected_kwh": _expected(item, "baseline"),
            "reporting_model_kwh": _expected(item, "reporting"),
            "metered_share": item.days["metered_share"].fillna(0.0).to_numpy(dtype=np.float64),
            "estimated_share": item.days["estimated_share"].fillna(0.0).to_numpy(dtype=np.float64),
            "in_fit": item.days["in_fit"].to_numpy(dtype=bool),
        }
    )
    known = [name for name in DRIVERS if name in item.drivers]
    return days.join(item.drivers[known].reset_index(drop=True))


def _expected(item: MeterSavings, which: str) -> np.ndarray:
    model = item.baseline_model if which == "baseline" else item.reporting_model
    if isinstance(model, CannotSay):
        return np.full(len(item.days), np.nan)
    expected = model.expected(item.drivers)
    if which == "reporting":
        expected = expected.where((item.days["period"] == "reporting").to_numpy())
    return expected.to_numpy(dtype=np.float64)
