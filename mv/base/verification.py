"""What one verification leaves behind: the result for readers, and the series its figures are drawn from."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from mv.base.series import MeterSeries
from mv.base.study_records import Study

PERIODS = ("baseline", "installation", "reporting")


@dataclass(frozen=True)
class Verification:
    """One verified study.

    `result` is what result.json holds. `daily` is long, one row a meter and local day, with columns
    `day` (naive midnight), `meter`, `period` (one of PERIODS), `actual_kwh` (NaN where not metered),
    `expected_kwh` (baseline model at that day's conditions), `reporting_model_kwh` (NaN outside
    the reporting period), `in_fit` (bool) and the daily drivers. `settings_by_month` is long: `zone`,
    `month` ("YYYY-MM"), `setting`, `estimate`, `low`, `high`.
    """

    study: Study
    result: Mapping[str, Any]
    meters: Mapping[str, MeterSeries]
    daily: pd.DataFrame
    settings_by_month: pd.DataFrame
