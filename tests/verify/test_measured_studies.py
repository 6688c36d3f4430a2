"""The main job on open measured data: it runs, and what the data lack it says.

Sources: ROBOD rooms (folder 05), COMBED lighting circuit (06), university estate meters (07); each folder
holds a CITATION.txt.
"""

from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from mv.verify import verify_study

Json = dict[str, Any]

ROOM = """
format = 1
[site]
name = "A university room"
latitude = 1.30
longitude = 103.77
timezone = "Asia/Singapore"
[periods]
baseline = ["2021-09-07", "2021-10-15"]
reporting = ["2021-10-16", "2021-12-23"]
[[meter]]
id = "room"
files = ["{folder}/05_robod_lighting_occupancy/combined_Room1.csv.gz"]
value_column = "lighting_energy [kWh]"
[occupancy]
files = ["{folder}/05_robod_lighting_occupancy/combined_Room1.csv.gz"]
value_column = "occupant_count [number]"
[[zone]]
id = "room"
meter = "room"
fixtures = 12
watts_after = 36
[zone.commissioned]
high_trim = 0.8
hold_minutes = 10
"""

CIRCUIT = """
format = 1
[site]
name = "An academic block"
latitude = 28.55
longitude = 77.27
timezone = "Asia/Kolkata"
[periods]
baseline = ["2014-06-02", "2014-06-15"]
reporting = ["2014-06-16", "2014-06-30"]
[[meter]]
id = "light 3"
files = ["{folder}/06_combed_lighting_30s/light3_power_W.csv.gz"]
quantity = "power"
unit = "W"
[[zone]]
id = "block"
meter = "light 3"
[zone.commissioned]
high_trim = 0.8
hold_minutes = 10
daylight_dimming = true
"""

BUILDING = """
format = 1
[site]
name = "An estate building"
latitude = 52.21
longitude = 0.12
timezone = "Europe/London"
[periods]
baseline = ["2018-01-01", "2018-12-31"]
reporting = ["2019-01-01", "2019-12-31"]
[[meter]]
id = "{building}"
files = ["{folder}/07_cambridge_estates_hourly/electricity_kwh_2018_2019_wide.csv.gz"]
measures = "whole building"
quantity = "energy"
unit = "kWh"
clock = "UTC"
value_column = "{building}"
[weather]
files = ["{folder}/07_cambridge_estates_hourly/weather_bedford_2014_2022.csv.gz"]
value_column = "air_temperature [degC]"
clock = "UTC"
"""


def verified(text: str, folder: Path) -> Json:
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return dict(verify_study(folder).result)


def reasons(result: Json, what: str) -> str:
    return " ".join(entry["why"] for entry in result["cannot_say"] if what in entry["what"])


def test_a_room_metered_for_a_few_weeks_says_what_it_cannot(datasets: Path, tmp_path: Path) -> None:
    result = verified(ROOM.format(folder=datasets), tmp_path)
    plain = pd.read_csv(datasets / "05_robod_lighting_occupancy" / "combined_Room1.csv.gz")
    (account,) = result["cleaning"]
    assert account["rows_read"] == len(plain)
    assert account["energy_used_kwh"] == pytest.approx(plain["lighting_energy [kWh]"].sum(), rel=0.01)
    assert account["coverage_reporting"] < 0.2
    assert result["savings"]["normalised_annual_kwh"] is None
    assert "14" in reasons(result, "normalised_annual_kwh")
    assert all(
        row["verdict"] == "cannot tell" for row in result["settings"] if row["setting"] == "hold_minutes"
    )
    assert "motion log" in reasons(result, "hold_minutes")
    assert not result["acceptance"]["met"]


def test_a_lighting_circuit_without_motion_or_watts_claims_no_setting(datasets: Path, tmp_path: Path) -> None:
    result = verified(CIRCUIT.format(folder=datasets), tmp_path)
    assert {row["setting"]: row["verdict"] for row in result["settings"]}["hold_minutes"] == "cannot tell"
    assert {row["setting"]: row["verdict"] for row in result["settings"]}["high_trim"] == "cannot tell"
    avoided = result["savings"]["avoided_kwh"]
    assert avoided["low"] < 0 < avoided["high"]  # nothing was changed on that circuit in the month
    assert result["savings"]["distinguishable_from_zero"] is False


def test_a_whole_building_says_how_far_such_buildings_move_by_themselves(
    datasets: Path, tmp_path: Path
) -> None:
    """The interval of one unchanged building holds zero in little more than half of them
    (tests/benchmarks, placebo), so the result must carry that warning rather than pass as proof."""
    result = verified(BUILDING.format(folder=datasets, building="b21"), tmp_path)
    avoided = result["savings"]["avoided_kwh"]
    expected = sum(month["expected_kwh"] for month in result["savings"]["monthly"])
    assert avoided["low"] < avoided["estimate"] < avoided["high"]
    assert (avoided["high"] - avoided["low"]) > 0.05 * expected
    (baseline,) = [model for model in result["models"] if model["period"] == "baseline"]
    assert any("nothing" in text and "building" in text for text in baseline["findings"])
    (warning,) = [text for text in baseline["findings"] if text.startswith("A whole building")]
    assert result["cautions"][:2].count(warning) == 1  # the first of them stands on the screen
    assert result["settings"] == []
    assert result["realisation_rate"] is None
    assert "no predicted" in reasons(result, "realisation_rate")
