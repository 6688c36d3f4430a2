"""What the bridge from baseline to reporting is worked out from, as plain values."""

from dataclasses import dataclass

import pandas as pd

from mv.base.estimate import Answer
from mv.base.series import MotionLog
from mv.base.setting_records import ZoneSettings


@dataclass(frozen=True)
class ZoneEvidence:
    """One zone of a meter. Loads are kW; `is_open` is bool on the meter's index.

    None means that it is not known. `outdoor` zones burn by the sun, without sensors.
    """

    zone: str
    connected_kw_before: float | None = None
    connected_kw_after: float | None = None
    fixtures: float | None = None
    outdoor: bool = False
    is_open: pd.Series | None = None
    motion: MotionLog | None = None
    settings: ZoneSettings | None = None


@dataclass(frozen=True)
class MeterEvidence:
    """One meter over the reporting period.

    `avoided_kwh` and `actual_kwh` are of the same counted intervals; `power_kw` is mean kW per
    interval (UTC starts, NaN where not metered), `baseline_power_kw` the same before the
    retrofit. `sun_elevation_deg` is on the index of `power_kw`.
    """

    meter: str
    avoided_kwh: Answer
    actual_kwh: float
    power_kw: pd.Series
    interval_minutes: float
    zones: tuple[ZoneEvidence, ...] = ()
    baseline_power_kw: pd.Series | None = None
    sun_elevation_deg: pd.Series | None = None
    measures: str = "lighting"
