"""Weeks of dull weather in a zone that answers to daylight: nobody is told before they could be over."""

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import Estimate
from mv.base.setting_records import MONTHLY_COLUMNS, SettingFinding, ZoneSettings
from mv.drift import DriftSeries, find_drift

DULL_FROM = 170
HOURS = np.arange(24)
LIT = (HOURS >= 7) & (HOURS < 18)
BY_DAY = (HOURS >= 8) & (HOURS < 17)


def zone(days_since: int) -> DriftSeries:
    """Daylight takes 0.9 of 2 kW off by day until it is dull, then 0.4; evenings and nights stay."""
    index = pd.date_range("2024-01-01", periods=DULL_FROM + days_since)
    opened = np.asarray(index.day_of_week < 5)
    rng = np.random.default_rng(7)
    off = np.where(np.arange(len(index)) < DULL_FROM, 0.9, 0.4)[:, None] * BY_DAY
    noise = 0.05 * rng.standard_normal((len(index), 24))
    hours = np.where(opened[:, None] & LIT, 2.0 - off + noise, 0.05)
    table = pd.DataFrame(hours, index=index, columns=range(24))
    return DriftSeries(
        "z", table.sum(axis=1), pd.DataFrame({"is_open_day": opened}, index=index), ("z",), hourly_kw=table
    )


def agreed(*, dims: bool) -> ZoneSettings:
    alive = Estimate(dims, None, None, 0.9)
    found = SettingFinding("z", "daylight_dimming", dims, alive, "kept", None, "as agreed")
    return ZoneSettings("z", (found,), pd.DataFrame(columns=list(MONTHLY_COLUMNS)))


@pytest.mark.parametrize(("days", "dims", "told"), [(35, True, 0), (35, False, 1), (60, True, 1)])
def test_more_energy_by_day_is_told_once_no_weather_lasts_so_long(days, dims, told):
    found = find_drift([zone(days)], [agreed(dims=dims)], confidence=0.9)
    assert len(found) == told
