"""The one-screen summary says what result.json says."""

import copy
from pathlib import Path
from typing import Any

import pytest

from mv.base import wording
from mv.base.verification import Verification
from mv.documents.summary import summary_text

SCREEN = 40  # lines of a terminal, its prompt among them


def flowing(text: str) -> str:
    return " ".join(text.split())


def test_the_summary_carries_the_answers_and_fits_a_terminal(sample: Verification) -> None:
    result = sample.result
    text = summary_text(result, Path("result.json"))
    for answer, unit in (
        (result["savings"]["avoided_kwh"], "kWh"),
        (result["savings"]["normalised_annual_kwh"], "kWh"),
        (result["savings"]["peak_kw"], "kW"),
        (result["money"]["bill_savings"], "USD"),
    ):
        words = f"{wording.amount(answer, unit)} ({wording.between(answer, '')})"
        assert words.replace(wording.NO_BREAK, " ") in flowing(text)
    rate = 100 * result["realisation_rate"]["estimate"]
    assert any(f"{rate:.{places}f} %" in text for places in (0, 1))  # as the interval's width allows
    assert "In brackets: the 90 % interval." in text
    assert "licensed electrician" in text
    assert "further published limits" in flowing(text)
    assert len(text.splitlines()) < SCREEN and max(map(len, text.splitlines())) <= 79


def test_remarks_on_the_files_that_have_a_remedy_are_counted(sample: Verification) -> None:
    result = copy.deepcopy(sample.result)
    for row in result["cleaning"]:
        row["remarks"] = []
    assert "to look at" not in summary_text(result, Path("result.json"))
    remark = {"code": "c", "what": "w", "file": None, "lines": None, "remedy": None}
    result["cleaning"][0]["remarks"] = [remark, {**remark, "remedy": "Correct longitude."}]
    assert "; 1 remark to look at: tallylux check." in flowing(summary_text(result, Path("result.json")))


def test_every_zones_settings_stand_in_a_grid(sample: Verification) -> None:
    text = summary_text(sample.result, Path("result.json"))
    lines = {line.split()[0]: line.split()[1:] for line in text.splitlines() if line.strip()}
    marks = {"kept": "kept", "moved": "MOVED", "cannot tell": "?"}
    for zone in {row["zone"] for row in sample.result["settings"]}:
        stated = [row for row in sample.result["settings"] if row["zone"] == zone]
        for mark in set(marks.values()):
            count = sum(marks[row["verdict"]] == mark for row in stated)
            assert lines[zone].count(mark) == count, (zone, mark)


def test_the_costliest_change_comes_first_and_the_rest_is_counted(sample: Verification) -> None:
    text = flowing(summary_text(sample.result, Path("result.json")))
    costs = {row["what"]: row["kwh_per_month"]["estimate"] for row in sample.result["drift"]
             if row["kwh_per_month"]}  # fmt: skip
    dearest = max(costs, key=lambda what: costs[what])
    told = [row["what"] for row in sample.result["drift"] if row["what"] in text]
    assert dearest in told and text.index("What changed") < text.index(dearest)
    assert f"and {len(sample.result['drift']) - len(told)} more" in text


def crowded(result: dict[str, Any], zones: int) -> dict[str, Any]:
    """The result of a site with many zones, every setting moved, and long names."""
    many = copy.deepcopy(result)
    stated = many["settings"][:6]
    many["settings"] = [
        {**row, "zone": f"a zone of a long name, number {n}", "verdict": "moved"}
        for n in range(zones)
        for row in stated
    ]
    many["drift"] = [{**row, "where": f"another long name of a zone {n}"} for n in range(zones)
                     for row in many["drift"]]  # fmt: skip
    many["cannot_say"] = [{"what": f"thing {n}", "why": "long " * 60} for n in range(99)]
    return many


@pytest.mark.parametrize("zones", [1, 7, 40])
@pytest.mark.parametrize("width", [78, 59])
def test_a_large_site_still_fits_one_screen(sample: Verification, zones: int, width: int) -> None:
    text = summary_text(crowded(sample.result, zones), Path("result.json"), width=width)
    assert len(text.splitlines()) < SCREEN + (4 if width < 78 else 0)
    assert max(map(len, text.splitlines())) <= width
    assert "What changed" in text and "Everything:" in text


def test_what_cannot_be_said_is_told_with_its_reason(sample: Verification) -> None:
    result = copy.deepcopy(sample.result)
    result["savings"]["avoided_kwh"] = result["realisation_rate"] = None
    result["cannot_say"] = [
        {"what": "avoided energy", "why": "too few days"},
        {"what": "realisation_rate", "why": "too few days"},
        {"what": "standby", "why": "not asked for"},
    ]
    text = flowing(summary_text(result, Path("result.json")))
    assert "Avoided energy, reporting period cannot say" in text
    assert "Cannot say: avoided energy, realisation rate: too few days" in text
    assert "also 1 thing (standby)" in text


def test_savings_whose_interval_holds_zero_are_said_not_to_be_told_from_it(sample: Verification) -> None:
    assert "Not distinguishable" not in summary_text(sample.result, Path("result.json"))
    result = copy.deepcopy(sample.result)
    result["savings"]["avoided_kwh"] |= {"estimate": 2_000.0, "low": -9_000.0, "high": 13_000.0}
    for width in (79, 50):
        text = flowing(summary_text(result, Path("result.json"), width=width))
        assert "Not distinguishable from zero: avoided energy." in text
    result["savings"]["normalised_annual_kwh"] |= {"estimate": 0.0, "low": -9_000.0, "high": 9_000.0}
    text = flowing(summary_text(result, Path("result.json")))
    assert "Not distinguishable from zero: avoided energy and savings in a typical year." in text


def test_a_result_that_is_not_accepted_says_why(sample: Verification) -> None:
    result = copy.deepcopy(sample.result)
    result["acceptance"] = {**result["acceptance"], "met": False, "why": [f"reason {n}" for n in range(5)]}
    text = summary_text(result, Path("result.json"))
    assert "Not accepted as it stands:\n- reason 0" in text and "- and 2 more in result.json" in text


def test_loggers_that_stand_for_others_are_told(sample: Verification) -> None:
    result = copy.deepcopy(sample.result)
    result["savings"]["population"] = [{"how": "rooms: 8 loggers stand for 40 places"}]
    assert "Sample: rooms: 8 loggers" in summary_text(result, Path("result.json"))
