"""What a reviewer looks for in the report: kinds of energy apart, ranges, calls, samples, bridges' totals."""

from dataclasses import replace
from typing import Any

import pytest

from mv import store
from mv.base.document import Drawing, Grid, Prose, Section
from mv.base.verification import Verification
from mv.claim import Material, monthly_accounts, proof, report
from mv.documents.claim_package import material_of
from mv.verify import verify_study

ESTIMATE = {"estimate": 12.5, "low": 10.0, "high": 15.0, "confidence": 0.9}


@pytest.fixture(scope="module")
def verification(made: Any, tmp_path_factory: pytest.TempPathFactory) -> Verification:
    """The hostile study, verified and read back."""
    folder = tmp_path_factory.mktemp("results")
    store.save(verify_study(made.study), folder)
    return store.open_results(made.study, folder)


@pytest.fixture(scope="module")
def material(verification: Verification) -> Material:
    return material_of(verification)


def section(material: Material, letter: str) -> Section:
    (found,) = [part for part in report(material).sections if part.letter == letter]
    return found


def table(material: Material, letter: str, title: str) -> Grid:
    grids = [block for block in section(material, letter).blocks if isinstance(block, Grid)]
    (found,) = [block for block in grids if block.title.startswith(title)]
    return found


def number(cell: str) -> float:
    return 0.0 if cell == "–" else float(cell.replace(",", "").replace("−", "-"))


def test_months_keep_metered_stand_in_and_adjusted_energy_apart(material: Material) -> None:
    found = table(material, "H", "Month by month")
    assert [column.title for column in found.columns[1:5]] == [
        "expected (modelled)", "metered (measured)", "stand-in (modelled)", "events (adjusted)",
    ]  # fmt: skip
    for item in monthly_accounts(material):
        assert item.avoided is not None
        left = item.expected - item.metered - item.stand_in - item.adjusted
        assert left == pytest.approx(float(item.avoided["estimate"]), abs=1e-6)
    for column in range(1, 5):
        months = sum(number(row[column]) for row in found.rows[:-1])
        assert months == pytest.approx(number(found.rows[-1][column]), abs=len(found.rows))


@pytest.mark.parametrize(
    ("measures", "told"),
    [
        (["lighting"], "are not counted."),
        (["whole building"], "are counted: the whole building is metered."),
        (["lighting", "whole building"], "are counted where a whole building is metered only."),
    ],
)
def test_report_and_clients_page_say_whether_heating_and_cooling_are_in(
    material: Material, measures: list[str], told: str
) -> None:
    meters = [{**material.result["study"]["meter"][0], "measures": words} for words in measures]
    study = {**material.result["study"], "meter": meters}
    other = with_result(material, study=study)
    words = f"Heating and cooling effects of cooler lamps {told}"
    assert table(other, "H", "Verified and predicted").note.endswith(words)
    said = [block.text for part in proof(other).sections for block in part.blocks if isinstance(block, Prose)]
    assert sum(text.endswith(words) for text in said) == 1


def test_both_realisation_rates_are_verified_over_predicted(material: Material) -> None:
    rows = {row[0]: row[1] for row in table(material, "H", "Verified and predicted").rows}
    result = material.result
    annual = result["savings"]["normalised_annual_kwh"]["estimate"] / result["predicted"]["annual_kwh"]
    peak = result["savings"]["peak_kw"]["estimate"] / result["predicted"]["peak_kw"]
    assert number(rows["realisation rate of the year's kWh, %"]) == pytest.approx(100 * annual, abs=0.6)
    assert number(rows["realisation rate of the peak window's kW, %"]) == pytest.approx(100 * peak, abs=0.6)


def test_a_bridges_totals_stand_at_its_foot_and_the_steps_lead_from_one_to_the_other(
    material: Material,
) -> None:
    found = table(material, "H", "From the predicted to the verified")
    rows = {row[0]: row for row in found.rows}
    assert found.total_rows == 3
    promised, steps = number(rows["predicted (stipulated)"][1]), number(rows["sum of the steps"][1])
    verified = material.result["savings"]["normalised_annual_kwh"]["estimate"]
    assert promised + steps == pytest.approx(verified, abs=1.0)


def test_every_model_has_its_residuals_drawn(material: Material) -> None:
    drawn = [block for block in section(material, "F").blocks if isinstance(block, Drawing)]
    assert len(drawn) == len(material.result["models"])
    for model in material.result["models"]:
        named = f"Residuals of {model['meter']}, {model['period']} period"
        assert [block for block in drawn if block.spoken.startswith(named)]


def test_the_range_of_validity_counts_the_reporting_days_outside(
    verification: Verification, material: Material
) -> None:
    daily = verification.daily.copy()
    meter = str(daily["meter"].iloc[0])
    reporting = daily.index[(daily["meter"] == meter) & (daily["period"] == "reporting")]
    daily.loc[reporting[:7], "hours_open"] = 30.0
    changed = replace(material, verification=replace(verification, daily=daily))
    rows = [row for row in table(changed, "F", "Range of validity").rows if meter in row[4]]
    (hours,) = [row for row in rows if row[0] == "hours open"]
    assert hours[2].endswith("to 30.0") and hours[3] == f"7 of {len(reporting)}"


def with_result(material: Material, **changes: Any) -> Material:
    result = {**material.result, **changes}
    return replace(material, verification=replace(material.verification, result=result))


def test_load_drops_and_usage_groups_are_told_where_there_are_any(material: Material) -> None:
    call = {
        "first": "2024-07-16T14:00:00", "last": "2024-07-16T18:00:00", "drop_kw": ESTIMATE,
        "drop_kwh": ESTIMATE, "baseline_kw": 40.0, "metered_kw": 27.5, "baseline_days": [],
        "rule": "the rule of the programme", "why": "the baseline less the metered load",
    }  # fmt: skip
    group = {
        "id": "rooms", "meters": ["@lp", "@LP"], "places": 40, "connected_kw": 30.0, "logged_kw": 6.0,
        "loggers_used": 2, "avoided_kwh": ESTIMATE, "normalised_annual_kwh": ESTIMATE,
        "avoided_kwh_per_connected_kw": 2.0, "sampling_precision": 0.17, "sampling_half_width_kwh": 5.0,
        "model_half_width_kwh": 3.0, "how": "rooms: 2 loggers stand for 40 places.",
    }  # fmt: skip
    savings = {**material.result["savings"], "population": [group]}
    changed = with_result(material, demand_response=[call], savings=savings)
    (drop,) = table(changed, "H", "Each call").rows
    assert drop[:4] == ("2024-07-16 14:00", "2024-07-16 18:00", "40.0", "27.5") and "12.5" in drop[4]
    samples = table(changed, "H", "Usage groups")
    assert samples.rows[0][:2] == ("rooms", "2 of 2") and "17" in samples.rows[0][6]
    assert "stand for 40 places" in samples.note
    titles = [block.title for block in section(material, "H").blocks if isinstance(block, Grid)]
    assert not [title for title in titles if title.startswith(("Each call", "Usage groups"))]


def test_stretches_that_no_event_explains_are_listed_and_known_ones_are_not(material: Material) -> None:
    row = {
        "meter": "@lp", "period": "reporting", "first": "2024-05-01", "last": "2024-06-01",
        "kwh": ESTIMATE, "kwh_per_day": ESTIMATE, "lasting": False, "known": False,
    }  # fmt: skip
    known = {**row, "first": "2024-08-01", "known": True}
    explained = {**row, "first": "2024-09-01", "finding": "hall-schedule"}
    changed = with_result(material, event_candidates=[row, known, explained])
    listed = table(changed, "G", "Stretches of days")
    assert [told[2] for told in listed.rows] == ["1 May 2024 to 1 June 2024"]
    assert "Beside them 1 stretch of days" in listed.note
    alone = with_result(material, event_candidates=[explained])
    said = [block.text for block in section(alone, "G").blocks if isinstance(block, Prose)]
    assert any("part H tells of the change behind" in text for text in said)


def test_findings_on_the_inventory_are_told_with_their_lines_and_remedy(material: Material) -> None:
    finding = {"code": "x", "what": "4 fixtures, 5 stated", "file": "inventory.csv", "lines": [3, 4],
               "space": None, "zone": "attic", "remedy": "Count again."}  # fmt: skip
    changed = with_result(material, predicted={**material.result["predicted"], "findings": [finding]})
    assert table(changed, "B", "Where the inventory").rows == (
        ("attic", "4 fixtures, 5 stated", "3, 4", "Count again."),
    )


def test_the_opening_says_share_of_baseline_money_and_what_lasted(material: Material) -> None:
    words = " ".join(block.text for block in report(material).opening if isinstance(block, Prose))
    months = material.result["savings"]["monthly"]
    expected = sum(row["expected_kwh"] for row in months)
    share = material.result["savings"]["avoided_kwh"]["estimate"] / expected
    assert f"{100 * share:.0f}" in words.split(" of the ")[0]
    assert "agreed settings" in words
