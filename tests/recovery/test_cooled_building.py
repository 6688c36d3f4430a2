"""Whole buildings that are cooled in open hours: a saving put in comes back, in both kinds of savings.

Hourly physics of the test's own: lights, equipment and people heat the rooms; what heat exceeds the set
point while the building is open a chiller takes out, and lights that burn less spare it work.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.verify import verify_study

ZONE = "America/Chicago"
STUDY = """
format = 1
[site]
latitude = 33.0
longitude = -96.8
timezone = "America/Chicago"
[periods]
baseline = ["2023-01-01", "2023-12-31"]
reporting = ["2024-01-15", "2025-01-14"]
[[meter]]
id = "M"
files = ["meter.csv"]
measures = "whole building"
[occupancy.hours]
mon-fri = "07:00-19:00"
sat = "08:00-13:00"
[weather]
files = ["weather.csv"]
unit = "C"
"""


@dataclass(frozen=True)
class Building:
    """What was used by the hour with the old and with the new lights, kWh, and the weather."""

    old_kwh: pd.Series
    new_kwh: pd.Series
    temperature_c: pd.Series


def _persistent(draw: np.random.Generator, days: int, persistence: float) -> np.ndarray:
    values = np.zeros(days)
    for day in range(1, days):
        values[day] = persistence * values[day - 1] + draw.normal() * np.sqrt(1 - persistence**2)
    return values


def building(seed: int, new_share: float) -> Building:
    """Old lights of 30 kW; the new ones use `new_share` of their power."""
    draw = np.random.default_rng(seed)
    wall = pd.date_range("2023-01-01", "2025-01-15", freq="1h", tz=ZONE, inclusive="left")
    day = (wall.tz_localize(None).normalize() - pd.Timestamp("2023-01-01")).days.to_numpy()
    days, hour, weekday = int(day[-1]) + 1, wall.hour.to_numpy(), wall.day_of_week.to_numpy()
    season = -10.0 * np.cos(2 * np.pi * (wall.day_of_year.to_numpy() - 20) / 365.25)
    daily = 3.5 * _persistent(draw, days, 0.7)[day]
    temperature = 19.0 + season + daily - 5.0 * np.cos(2 * np.pi * (hour - 4) / 24)
    opened = np.where(weekday < 5, (hour >= 7) & (hour < 19), (weekday == 5) & (hour >= 8) & (hour < 13))
    plug = np.where(opened, 25.0, 9.0) * (1 + 0.04 * _persistent(draw, days, 0.7))[day]
    used = []
    for share in (1.0, new_share):
        lights = 30.0 * share * np.where(opened, 0.9, 0.08)
        excess = 6.0 * (temperature - 22.0) + 0.8 * (lights + plug) + 15.0 * opened
        chiller = np.where(opened, np.maximum(excess, 0.0) / 3.2, 0.0)
        used.append(pd.Series(lights + plug + chiller + np.where(opened, 6.0, 0.0), wall))
    return Building(used[0], used[1], pd.Series(temperature, wall))


def verified(folder: Path, site: Building) -> dict[str, Any]:
    """The result of a study of the building, whose lights are changed between the periods."""
    changed = site.old_kwh.index >= pd.Timestamp("2024-01-08", tz=ZONE)
    metered = site.old_kwh.where(~changed, site.new_kwh)
    for name, column, series in (("meter", "kWh", metered), ("weather", "temperature", site.temperature_c)):
        stamps = series.index.tz_convert("UTC").strftime("%Y-%m-%dT%H:%M:%SZ")
        table = pd.DataFrame({"time": stamps, column: series.round(3).to_numpy()})
        table.to_csv(folder / f"{name}.csv", index=False)
    (folder / "study.toml").write_text(STUDY)
    return dict(verify_study(folder).result)


def _late(series: pd.Series) -> pd.Series:
    return series["2024-01-15":"2025-01-14"]


@pytest.fixture(scope="module", params=[1, 2, 3, 4])
def cooled(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, ...]:
    site = building(request.param, new_share=0.5)
    return site, verified(tmp_path_factory.mktemp("cooled"), site)


def test_the_avoided_energy_of_a_cooled_building_is_held_closely(cooled: tuple[Any, ...]) -> None:
    """The truth lies in the interval widened by a half: four nominal 90 % intervals need not all hold."""
    site, result = cooled
    truth = float(_late(site.old_kwh - site.new_kwh).sum())
    avoided, use = result["savings"]["avoided_kwh"], float(_late(site.old_kwh).sum())
    half = (avoided["high"] - avoided["low"]) / 2
    assert abs(avoided["estimate"] - truth) < 1.5 * half
    assert abs(avoided["estimate"] - truth) < 0.02 * use
    assert half < 0.03 * use


def test_both_kinds_of_savings_are_about_equally_sure(cooled: tuple[Any, ...]) -> None:
    _, result = cooled
    halves = [
        result["savings"][key]["high"] - result["savings"][key]["low"]
        for key in ("avoided_kwh", "normalised_annual_kwh")
    ]
    assert 0.6 < halves[1] / halves[0] < 1.7


def test_the_model_says_that_cooling_runs_while_open(cooled: tuple[Any, ...]) -> None:
    _, result = cooled
    for model in result["models"]:
        cooling = {t["name"]: t["t"] for t in model["terms"] if t["name"].startswith("degrees C above")}
        assert max(cooling, key=lambda name: cooling[name]).endswith("while open")
        assert [name for name in cooling if "while" not in name] == []


def test_a_saving_lost_in_the_building_is_said_not_to_be_told_from_zero(tmp_path: Path) -> None:
    site = building(5, new_share=0.99)
    savings = verified(tmp_path, site)["savings"]
    assert savings["avoided_kwh"]["low"] < 0 < savings["avoided_kwh"]["high"]
    assert savings["distinguishable_from_zero"] is False
