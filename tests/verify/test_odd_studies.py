"""Legitimate studies that leave things out, or tie meters, zones and inventory together oddly."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from mv.verify import verify_study

ZONE = "America/Chicago"
HEAD = f"""format = 1
[site]
latitude = 44.5
longitude = -89.6
timezone = "{ZONE}"
[occupancy.hours]
mon-fri = "07:00-19:00"
[periods]
baseline = ["2023-05-01", "2023-07-31"]
reporting = ["2024-05-01", "2024-07-31"]
"""
COLUMNS = "space,zone,quantity,watts_before,watts_after,hours_per_year,control_saving_fraction\n"
ROW = "a,z,100,100,40,3000,0.2\n"
METER = '[[meter]]\nid = "{0}"\nfiles = ["{0}.csv"]\nzones = ["z"]\n'
DESCRIBED = '[[zone]]\nid = "z"\nfixtures = 100\nwatts_before = 100\nwatts_after = 40\n'
INVENTORY = '[predicted]\ninventory = "inventory.csv"\n'


def _meter(folder: Path, name: str, *, minutes: int = 60, share: float = 1.0) -> None:
    """10 kW in opening hours before, 3.2 kW after, times the share; a floor of 20 W after."""
    index = pd.date_range("2023-05-01", "2024-08-01", freq=f"{minutes}min", tz=ZONE, inclusive="left")
    opened = (index.day_of_week < 5) & (index.hour >= 7) & (index.hour < 19)
    late = index >= pd.Timestamp("2024-01-01", tz=ZONE)
    power = np.where(opened, np.where(late, 3.2, 10.0), np.where(late, 0.02, 0.0)) * share
    power = power * (1.0 + 0.01 * np.random.default_rng(len(name)).standard_normal(len(index)))
    stamps = index.strftime("%Y-%m-%dT%H:%M:%S%z")
    table = pd.DataFrame({"timestamp": stamps, "kWh": np.round(power * minutes / 60.0, 5)})
    table.to_csv(folder / f"{name}.csv", index=False)


def _result(folder: Path, body: str, *, rows: str | None = None) -> Any:
    (folder / "study.toml").write_text(HEAD + body, encoding="utf-8")
    if rows is not None:
        (folder / "inventory.csv").write_text(COLUMNS + rows, encoding="utf-8")
    return verify_study(folder).result


def _steps(result: Any, which: str = "predicted_to_verified") -> dict[str, Any]:
    return {step["step"]: step["kwh"] for step in result["bridge"][which]}


def _adds_up(result: Any) -> bool:
    told = [kwh["estimate"] for kwh in _steps(result).values() if kwh is not None]
    total = result["savings"]["normalised_annual_kwh"]["estimate"] - result["predicted"]["annual_kwh"]
    return bool(sum(told) == total)


def test_two_numbers_alone_are_enough(tmp_path: Path) -> None:
    _meter(tmp_path, "A")
    peak = "[peak]\nmonths = [6, 7]\nhours = [14, 18]\n"
    result = _result(tmp_path, METER.format("A") + "[predicted]\nannual_kwh = 20000\npeak_kw = 6\n" + peak)
    assert list(_steps(result)) == ["unexplained"] and _adds_up(result)
    kw = result["savings"]["peak_kw"]
    assert kw["low"] < 6.8 < kw["high"] and kw["high"] - kw["low"] >= 2 * 0.01 * 6.7
    assert "IEC 62053-21" in result["peak"]["by_meter"]["A"]["accuracy_source"]


def test_a_meter_without_a_stated_accuracy_is_named_and_counts_as_one_of_class_1_for_kwh_and_kw(
    tmp_path: Path,
) -> None:
    _meter(tmp_path, "A")
    widths: dict[str, list[float]] = {"avoided_kwh": [], "normalised_annual_kwh": [], "peak_kw": []}
    peak = "[peak]\nmonths = [6, 7]\nhours = [14, 18]\n"
    for stated in ("", "accuracy = 0.01\n", "accuracy = 0.02\n", "accuracy = 0\n"):
        result = _result(tmp_path, METER.format("A") + stated + peak)
        told = [text for text in result["cautions"] if text.startswith("No accuracy is stated for A:")]
        assert len(told) == (0 if stated else 1)
        if not stated:
            assert "the intervals of kWh and of kW take 1 % of reading" in told[0]
        for name, found in widths.items():
            answer = result["savings"][name]
            found.append((answer["high"] - answer["low"]) / answer["estimate"])
    for unstated, one, two, none in widths.values():
        assert unstated == one
        assert none < one < two and one >= 2 * 0.01 and two >= 2 * 0.02


def test_days_after_the_last_reading_that_a_model_stands_in_for_are_told_first(tmp_path: Path) -> None:
    _meter(tmp_path, "A")
    told = []
    for last in ("2024-08-03", "2024-08-20"):  # 3 and 20 days past the readings
        (tmp_path / "study.toml").write_text(HEAD.replace("2024-07-31", last) + METER.format("A"))
        told.append(verify_study(tmp_path).result["cautions"][0])
    assert not told[0].startswith("The avoided energy holds days without a reading")
    assert told[1].startswith("The avoided energy holds days without a reading (A 20 of 112)")


def test_where_no_sensing_was_agreed_its_step_is_untold_only_for_the_full_level_before_it(
    tmp_path: Path,
) -> None:
    """Lamps that burn alike show their full level; lamps at another level each hour show none."""
    _meter(tmp_path, "A")
    body = METER.format("A") + DESCRIBED + "[zone.commissioned]\nhigh_trim = 0.8\n"
    table = pd.read_csv(tmp_path / "A.csv")
    told = []
    for spread in (0.0, 0.5):
        level = 1.0 - spread * np.random.default_rng(1).random(len(table))
        late = table["timestamp"] >= "2024"
        table.assign(kWh=table["kWh"].where(~late, table["kWh"] * level)).to_csv(tmp_path / "A.csv")
        steps = {step["step"]: step for step in _result(tmp_path, body)["bridge"]["baseline_to_reporting"]}
        told.append(
            (steps["occupancy sensing"]["kwh"] is None, "is not told" in steps["occupancy sensing"]["why"])
        )
    assert told == [(False, False), (True, True)]


def test_a_promise_of_nothing_has_no_realisation_rate(tmp_path: Path) -> None:
    _meter(tmp_path, "A")
    result = _result(tmp_path, METER.format("A") + "[predicted]\nannual_kwh = 0\n")
    assert result["realisation_rate"] is None and _adds_up(result)
    assert any("predicted annual kWh is 0" in entry["why"] for entry in result["cannot_say"])


def test_a_zone_that_only_the_meter_and_the_inventory_name_has_its_steps(tmp_path: Path) -> None:
    _meter(tmp_path, "A")
    result = _result(tmp_path, METER.format("A") + INVENTORY, rows=ROW)
    steps = _steps(result)
    assert steps["hours"] is not None and steps["control fraction"] is not None
    assert steps["quantity and watts"] is None  # nobody has counted what is installed
    assert _adds_up(result)


def test_two_meters_on_one_zone_count_its_inventory_once(tmp_path: Path) -> None:
    for name, share in (("A", 0.5), ("BB", 0.5)):
        _meter(tmp_path, name, share=share)
    both = METER.format("A") + METER.format("BB") + DESCRIBED + INVENTORY
    steps = _steps(_result(tmp_path, both, rows=ROW))
    alone = tmp_path / "alone"
    alone.mkdir()
    _meter(alone, "A")
    one = _steps(_result(alone, METER.format("A") + DESCRIBED + INVENTORY, rows=ROW))
    assert steps["hours"]["estimate"] == pytest.approx(one["hours"]["estimate"], abs=150)
    assert abs(steps["unexplained"]["estimate"]) < 1.0


def test_meters_of_different_intervals_share_one_highest_demand(tmp_path: Path) -> None:
    for name, minutes in (("A", 60), ("BB", 15)):
        _meter(tmp_path, name, minutes=minutes, share=0.5)
    tariff = "[tariff]\nenergy_per_kwh = 0.1\ndemand_per_kw_month = 10\ndemand_coincidence = 1.0\n"
    result = _result(tmp_path, METER.format("A") + METER.format("BB") + tariff)
    saved = result["money"]["bill_savings_demand"]["estimate"]
    assert saved == pytest.approx(12 * 10 * 6.8, rel=0.05)


def test_findings_on_the_inventory_name_row_and_space(tmp_path: Path) -> None:
    _meter(tmp_path, "A")
    rows = "a,z,90,100,40,9000,0.2\n"
    result = _result(tmp_path, METER.format("A") + DESCRIBED + INVENTORY, rows=rows)
    found = {entry["code"]: entry for entry in result["predicted"]["findings"]}
    assert found["hours-beyond-a-year"]["lines"] == [2] and found["hours-beyond-a-year"]["space"] == "a"
    assert found["inventory-differs-from-zone"]["zone"] == "z"
    assert found["metered-above-connected"]["lines"] == [2]
