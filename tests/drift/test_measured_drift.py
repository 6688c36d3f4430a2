"""Measured lighting watched for drift: nothing is claimed that the data do not bear.

Folder 04: lights of a house every 10 minutes, 137 days (Candanedo et al. 2017, Energy and Buildings 140).
Folder 05: two university rooms every 5 minutes, 29 days (Tekler et al. 2022, Building Simulation 15).
Folder 06: lighting of a floor every 30 s, one month (Batra et al. 2014, arXiv:1408.6595).
"""

import numpy as np
import pandas as pd
import pytest

from mv.drift import DriftSeries, find_drift, hourly_kw


def watched(energy_kwh: pd.Series, minutes: float, timezone: str) -> DriftSeries:
    """The meter as a zone of its own; days without most of their readings are not usable."""
    wall = energy_kwh.index.tz_convert(timezone).tz_localize(None).normalize()
    groups = energy_kwh.groupby(wall)
    daily = groups.sum().where(groups.count() >= 0.9 * 1440 / minutes)
    daily = daily.asfreq("D")
    opened = np.asarray(daily.index.day_of_week < 5)
    drivers = pd.DataFrame({"is_open_day": opened}, index=daily.index)
    hours = hourly_kw(energy_kwh * (60.0 / minutes), timezone)
    return DriftSeries("room", daily, drivers, ("room",), hourly_kw=hours)


@pytest.fixture(params=["Room1", "Room2"])
def room(request, datasets) -> DriftSeries:
    path = datasets / "05_robod_lighting_occupancy" / f"combined_{request.param}.csv.gz"
    raw = pd.read_csv(path, usecols=["timestamp", "lighting_energy [kWh]"])
    stamps = pd.to_datetime(raw["timestamp"], format="%Y-%m-%d %H:%M %z", utc=True)
    return watched(pd.Series(raw.iloc[:, 1].to_numpy(), pd.DatetimeIndex(stamps)), 5.0, "Asia/Singapore")


def test_rooms_metered_for_a_month_in_blocks_show_gaps_and_no_change(room):
    found = find_drift([room], [], confidence=0.9)
    assert {f.kind for f in found} == {"gap"}
    missing = int(room.energy_kwh.isna().sum())
    told = sum(((f.until or room.energy_kwh.index[-1].date()) - f.since).days + 1 for f in found)
    assert 0.8 * missing <= told <= missing


def test_a_month_of_power_is_too_short_to_tell_drift(datasets):
    path = datasets / "06_combed_lighting_30s" / "light3_power_W.csv.gz"
    raw = pd.read_csv(path, header=None, names=["ms", "w"])
    stamps = pd.DatetimeIndex(pd.to_datetime(raw["ms"], unit="ms", utc=True))
    power = pd.Series(raw["w"].to_numpy(), stamps).resample("15min").mean()
    found = find_drift([watched(power / 4000.0, 15.0, "Asia/Kolkata")], [], confidence=0.9)
    assert not [f for f in found if f.kind != "gap"]


def test_light_that_falls_to_a_third_from_winter_to_summer_is_the_season_and_no_drift(datasets):
    path = datasets / "04_uci_appliances_lights_10min" / "energydata_lights_subset.csv.gz"
    raw = pd.read_csv(path, usecols=["date", "lights"])
    stamps = pd.DatetimeIndex(pd.to_datetime(raw["date"])).tz_localize("UTC")
    lights = pd.Series(raw["lights"].to_numpy(dtype=float) / 1000.0, stamps)
    series = watched(lights, 10.0, "Europe/Brussels")
    months = series.energy_kwh.resample("MS").mean()
    assert months.iloc[-1] < 0.5 * months.iloc[0]
    assert not find_drift([series], [], confidence=0.9)
