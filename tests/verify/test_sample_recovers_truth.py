"""The sample study of an invented site: what the simulator put in comes out of the verification."""

import math
from datetime import date
from typing import Any

import pytest

from mv.base.verification import Verification

Json = dict[str, Any]

# The interface's keys, section 3.
KEYS = {
    "format", "tallylux", "made_at", "study", "inputs", "savings", "predicted", "realisation_rate",
    "bridge", "models", "cleaning", "settings", "drift", "money", "cautions", "cannot_say",
}  # fmt: skip
MODEL_KEYS = {
    "meter", "period", "form", "terms", "n", "r2", "cv_rmse", "nmbe", "lag1_autocorrelation", "tests",
}  # fmt: skip
CLEANING_KEYS = {
    "meter", "rows_read", "rows_used", "set_aside", "estimated_rows", "energy_read_kwh",
    "energy_used_kwh", "coverage_baseline", "coverage_reporting", "inferred",
}  # fmt: skip
SETTING_KEYS = {"zone", "setting", "commissioned", "observed", "verdict", "since", "why"}
DRIFT_KEYS = {
    "where", "what", "since", "kwh_per_month", "cost_per_month", "likely_causes", "check_first",
}  # fmt: skip
DAYS_OFF = {5: 2, 15: 5}  # by which a change's date may miss, by metering interval in minutes


def holds(answer: Json, value: float) -> bool:
    return bool(answer["low"] <= value <= answer["high"])


def finding(sample: Verification, zone: str, setting: str) -> Json:
    (row,) = [r for r in sample.result["settings"] if (r["zone"], r["setting"]) == (zone, setting)]
    return dict(row)


def test_every_key_of_the_interface_is_there(sample: Verification) -> None:
    result = sample.result
    assert set(result) >= KEYS
    assert all(set(entry) >= MODEL_KEYS for entry in result["models"])
    assert all(set(entry) >= CLEANING_KEYS for entry in result["cleaning"])
    assert all(set(entry) >= SETTING_KEYS for entry in result["settings"])
    assert all(set(entry) >= DRIFT_KEYS for entry in result["drift"])
    assert set(result["savings"]) >= {
        "avoided_kwh",
        "normalised_annual_kwh",
        "peak_kw",
        "by_meter",
        "monthly",
    }
    assert {entry["period"] for entry in result["models"]} == {"baseline", "reporting"}


def test_the_interval_of_the_avoided_energy_holds_the_truth(sample: Verification, truth: Json) -> None:
    answer = sample.result["savings"]["avoided_kwh"]
    assert holds(answer, truth["avoided_kwh"])
    assert answer["high"] - answer["low"] < 0.25 * answer["estimate"]


def test_the_meters_intervals_hold_their_zones_truth(sample: Verification, truth: Json) -> None:
    by_meter = sample.result["savings"]["by_meter"]
    zone_of = {meter.id: meter.zones[0] for meter in sample.study.meter}
    inside = [
        holds(by_meter[meter]["avoided_kwh"], truth["avoided_kwh_by_zone"][zone])
        for meter, zone in zone_of.items()
    ]
    assert sum(inside) >= len(inside) - 1  # nominal 90 %


def test_the_peak_reduction_holds_the_truth(sample: Verification, truth: Json) -> None:
    assert holds(sample.result["savings"]["peak_kw"], truth["peak_kw"])


def test_every_planted_change_is_found_with_its_date(sample: Verification, truth: Json) -> None:
    minutes = {m.zones[0]: sample.meters[m.id].interval_minutes for m in sample.study.meter}
    for change in truth["changes"]:
        row = finding(sample, change["zone"], change["setting"])
        assert row["verdict"] == "moved", (change, row)
        assert row["since"] is not None, (change, row)
        off = abs((date.fromisoformat(row["since"]) - date.fromisoformat(change["date"])).days)
        assert off <= DAYS_OFF[int(minutes[change["zone"]])], (change, row)
        value = change["value"]
        if isinstance(value, bool):
            assert row["observed"]["estimate"] is value
        else:
            assert row["observed"]["estimate"] == pytest.approx(value, rel=0.05)


def test_no_setting_that_was_kept_is_said_to_have_moved(sample: Verification, truth: Json) -> None:
    planted = {(change["zone"], change["setting"]) for change in truth["changes"]}
    moved = {(row["zone"], row["setting"]) for row in sample.result["settings"] if row["verdict"] == "moved"}
    assert moved == planted


def test_each_planted_change_is_among_what_changed_with_a_cost_and_a_check(
    sample: Verification, truth: Json
) -> None:
    for change in truth["changes"]:
        told = [row for row in sample.result["drift"] if change["setting"] in row["settings"]]
        (row,) = [entry for entry in told if change["zone"] in entry["zones"]]
        assert row["kwh_per_month"]["estimate"] > 0
        assert row["cost_per_month"] == pytest.approx(row["kwh_per_month"]["estimate"] * 0.14)
        assert row["likely_causes"] and row["check_first"]


def test_rows_balance_in_every_ledger(sample: Verification) -> None:
    for entry in sample.result["cleaning"]:
        assert entry["rows_read"] == entry["rows_used"] + sum(entry["set_aside"].values())
        assert entry["rows_read"] > 0


@pytest.mark.parametrize("name", ["predicted_to_verified", "baseline_to_reporting"])
def test_a_bridges_steps_add_up_exactly(sample: Verification, name: str) -> None:
    result = sample.result
    steps = [s["kwh"]["estimate"] for s in result["bridge"][name] if s["kwh"] is not None]
    if name == "predicted_to_verified":
        total = result["savings"]["normalised_annual_kwh"]["estimate"] - result["predicted"]["annual_kwh"]
    else:
        total = result["savings"]["avoided_kwh"]["estimate"]
    assert math.fsum(steps) == total


def test_months_add_up_to_the_reporting_period(sample: Verification) -> None:
    savings = sample.result["savings"]
    months = [entry["avoided_kwh"]["estimate"] for entry in savings["monthly"]]
    assert len(months) == 12
    assert math.fsum(months) == pytest.approx(savings["avoided_kwh"]["estimate"], rel=1e-9)
    for entry in savings["monthly"]:
        assert entry["expected_kwh"] - entry["actual_kwh"] == pytest.approx(entry["avoided_kwh"]["estimate"])
    last = savings["monthly"][-1]["avoided_to_date_kwh"]
    assert last == pytest.approx(savings["avoided_kwh"], rel=1e-9)


def test_the_realisation_rate_is_verified_over_predicted(sample: Verification) -> None:
    result = sample.result
    ratio = result["savings"]["normalised_annual_kwh"]["estimate"] / result["predicted"]["annual_kwh"]
    assert result["realisation_rate"]["estimate"] == pytest.approx(ratio)
    assert 0.5 < ratio < 1.1


def test_safety_is_spoken_of_and_night_lighting_is_not_called_waste(sample: Verification) -> None:
    text = " ".join(sample.result["cautions"]).lower()
    assert "licensed electrician" in text and "egress" in text and "local" in text
    perimeter = [row for row in sample.result["drift"] if "perimeter" in row["zones"]]
    assert not any("waste" in str(row).lower() for row in perimeter)


def test_the_sample_is_accepted_and_says_what_it_cannot(sample: Verification) -> None:
    assert sample.result["acceptance"]["met"], sample.result["acceptance"]["why"]
    assert all(entry["what"] and entry["why"] for entry in sample.result["cannot_say"])
