"""Measured lighting: plausible findings, and no certainty where the data give none.

Folder 05: two university rooms, lighting energy and presence every 5 minutes, 29 days in 8 blocks
(Tekler et al. 2022, Building Simulation 15, 2127-2137). Folder 06: lighting power of a floor, 30 s,
one month, no motion (Batra et al. 2014, arXiv:1408.6595). Nothing was agreed for either, so a
figure is put as agreed only to see the verdict; fixtures are not known.
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.ledger import Ledger
from mv.base.series import MeterSeries, MotionLog
from mv.base.study_records import Commissioned, Span, Study, Zone
from mv.controls import infer_settings
from mv.drivers import interval_conditions

EMPTY = Ledger("m", 0, 0, {}, 0, None, None, None, None, {})
AGREED = Commissioned(
    high_trim=0.9,
    low_level=0.0,
    hold_minutes=10.0,
    daylight_dimming=False,
    scheduled_off=True,
    standby_watts=0.5,
)


def study(latitude, longitude, timezone):
    return Study.model_validate(
        {
            "format": 1,
            "site": {"name": "s", "latitude": latitude, "longitude": longitude, "timezone": timezone},
            "meter": [{"id": "m", "files": ["m.csv"]}],
            "occupancy": {"hours": {"mon-fri": "08:00-20:00"}},
        }
    )


def room(datasets, name):
    raw = pd.read_csv(
        datasets / "05_robod_lighting_occupancy" / f"combined_{name}.csv.gz",
        usecols=["timestamp", "lighting_energy [kWh]", "occupant_presence [binary]"],
    )
    stamps = pd.to_datetime(raw["timestamp"], format="%Y-%m-%d %H:%M %z", utc=True)
    table = raw.set_index(pd.DatetimeIndex(stamps)).iloc[:, 1:]
    table.columns = ["kwh", "present"]
    grid = pd.date_range(table.index[0], table.index[-1], freq="5min")
    table = table.reindex(grid)
    state = table["present"].ffill(limit=1).dropna()
    changed = state[state.ne(state.shift())].astype("int8")
    log = MotionLog("z", changed, grid[0], grid[-1], EMPTY)
    meter = MeterSeries("m", 5.0, table["kwh"], pd.Series(False, grid), EMPTY)
    return meter, log, Span(first=date(2021, 9, 7), last=date(2021, 12, 23))


@pytest.mark.parametrize("name", ["Room1", "Room2"])
def test_rooms_with_presence_but_unknown_fixtures_leave_levels_untold(datasets, name):
    meter, log, span = room(datasets, name)
    conditions = interval_conditions(
        pd.DatetimeIndex(meter.energy_kwh.index), study(1.3, 103.77, "Asia/Singapore")
    )
    result = infer_settings(
        Zone(id="z", commissioned=AGREED),
        meter,
        log,
        conditions,
        reporting=span,
        timezone="Asia/Singapore",
        confidence=0.90,
    )
    found = {f.setting: f for f in result.findings}
    for setting in ("high_trim", "low_level", "standby_watts"):
        assert found[setting].verdict == "cannot tell"
    hold = found["hold_minutes"]
    assert isinstance(hold.observed, CannotSay) or 0 <= hold.observed.estimate <= 60
    assert isinstance(hold.observed, CannotSay) or hold.verdict != "moved"
    assert found["daylight_dimming"].verdict == "cannot tell"
    assert "by hand" in found["daylight_dimming"].why


def test_hourly_sums_of_a_room_do_not_tell_a_hold_time(datasets):
    meter, log, span = room(datasets, "Room1")
    hourly = meter.energy_kwh.resample("1h").sum(min_count=12)
    coarse = MeterSeries("m", 60.0, hourly, pd.Series(False, hourly.index), EMPTY)
    conditions = interval_conditions(pd.DatetimeIndex(hourly.index), study(1.3, 103.77, "Asia/Singapore"))
    result = infer_settings(
        Zone(id="z", commissioned=AGREED),
        coarse,
        log,
        conditions,
        reporting=span,
        timezone="Asia/Singapore",
        confidence=0.90,
    )
    hold = next(f for f in result.findings if f.setting == "hold_minutes")
    assert hold.verdict == "cannot tell"
    assert "too coarse" in hold.why


def test_a_month_of_power_without_motion_tells_no_hold_time_and_accuses_nobody(datasets):
    folder = datasets / "06_combed_lighting_30s"
    raw = pd.read_csv(folder / "light3_power_W.csv.gz", header=None, names=["ms", "w"])
    stamps = pd.to_datetime(raw["ms"], unit="ms", utc=True)
    power = pd.Series(raw["w"].to_numpy(), pd.DatetimeIndex(stamps)).resample("1min").mean()
    meter = MeterSeries("m", 1.0, power / 60000.0, pd.Series(False, power.index), EMPTY)
    conditions = interval_conditions(pd.DatetimeIndex(power.index), study(28.55, 77.27, "Asia/Kolkata"))
    result = infer_settings(
        Zone(id="z", fixtures=100, watts_after=36, commissioned=AGREED),
        meter,
        None,
        conditions,
        reporting=Span(first=date(2014, 6, 1), last=date(2014, 7, 1)),
        timezone="Asia/Kolkata",
        confidence=0.90,
    )
    found = {f.setting: f for f in result.findings}
    assert found["hold_minutes"].verdict == "cannot tell"
    assert "motion" in found["hold_minutes"].why
    for finding in result.findings:
        if isinstance(finding.observed, Estimate) and finding.observed.low is not None:
            assert np.isfinite(finding.observed.low)
            assert finding.observed.low <= finding.observed.high
        assert finding.why
