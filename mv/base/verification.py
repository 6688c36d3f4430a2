"""What one verification leaves behind: the result for readers, and the series its figures are drawn from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from mv.base.series import MeterSeries
from mv.base.study_records import Study

DRIFT_DAYS = ("finding", "day", "actual_kwh", "expected_kwh")
PERIODS = ("baseline", "installation", "reporting")


@dataclass(frozen=True)
class Verification:
    """One verified study.

    `result` is what result.json holds. `daily` is long, one row a meter and local day, with columns
    `day` (naive midnight), `meter`, `period` (one of PERIODS), `actual_kwh` (NaN where not metered),
    `expected_kwh` (baseline model at that day's conditions), `reporting_model_kwh` (NaN outside
    the reporting period), `in_fit` (bool) and the daily drivers. `settings_by_month` is long: `zone`,
    `month` ("YYYY-MM"), `setting`, `estimate`, `low`, `high`. `drift_days` is long: for each entry of
    `drift` that rests on daily energy its `id` as `finding`, and each usable day of the reporting period
    with what was metered and what would have been without any change.
    """

    study: Study
    result: Mapping[str, Any]
    meters: Mapping[str, MeterSeries]
    daily: pd.DataFrame
    settings_by_month: pd.DataFrame
    drift_days: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(DRIFT_DAYS)))
