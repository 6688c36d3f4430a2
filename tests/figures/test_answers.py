"""The three answers say what the intervals say."""

from typing import Any

import pytest

from mv.figures import (
    certainty_answer,
    drift_in_month,
    drift_sentence,
    lasting_answer,
    month_answer,
    monthly_amount,
    promise_answer,
    share_with_interval,
    unsaid_words,
    with_interval,
)
from mv.figures.wording import between, number, per_cent, step_of


def result(estimate: float, low: float, high: float, promised: float | None) -> dict[str, Any]:
    verified = {"estimate": estimate, "low": low, "high": high, "confidence": 0.9}
    return {"savings": {"normalised_annual_kwh": verified}, "predicted": {"annual_kwh": promised}}


@pytest.mark.parametrize(
    ("interval", "promised", "short"),
    [
        ((120, 110, 130), 100, "Yes, and more"),
        ((100, 90, 110), 100, "In line with the promise"),
        ((80, 70, 90), 100, "Less than promised"),
        ((10, -10, 30), 100, "No saving can be told from none"),
        ((80, -50, 210), 100, "Cannot tell"),
        ((-30, -50, -10), 100, "No: it uses more than before"),
        ((80, 70, 90), None, "It saves energy"),
        ((80, -70, 230), None, "Cannot tell"),
    ],
)
def test_the_promise_is_judged_by_the_whole_interval(
    interval: tuple[float, float, float], promised: float | None, short: str
) -> None:
    assert promise_answer(result(*interval, promised)).short == short


def test_certainty_is_told_in_per_cent_and_in_words() -> None:
    answer = certainty_answer(result(41_000, 36_000, 46_000, None))
    assert answer.short.replace("\u00a0", " ") == "Give or take 12 %"
    sentence = answer.sentences[0].replace("\u00a0", " ")
    assert sentence == "We are 90 % confident that the yearly saving lies between 36,000 and 46,000 kWh."


def test_an_interval_that_holds_zero_is_never_called_a_saving() -> None:
    told = result(-200, -2700, 2300, None)
    assert certainty_answer(told).short == "Not enough to tell it from none"
    sentence = promise_answer(told).sentences[0].replace("\u00a0", " ")
    assert sentence.startswith("The best estimate is −200 kWh a year.")


def test_more_use_than_before_is_said_in_plain_words() -> None:
    told = result(-300, -400, -200, 100)
    sentence = promise_answer(told).sentences[0].replace("\u00a0", " ")
    assert sentence.startswith("It uses 300 kWh a year more; 100 kWh were promised.")


@pytest.mark.parametrize(
    ("ends", "short"),
    [
        ((900, 1100), "1,000 kWh avoided"),
        ((-100, 2100), "No clear difference from what was expected"),
        ((-1100, -900), "1,000 kWh more than expected"),
    ],
)
def test_a_month_is_judged_by_its_interval(ends: tuple[float, float], short: str) -> None:
    low, high = ends
    avoided = {"estimate": (low + high) / 2, "low": low, "high": high, "confidence": 0.9}
    month = {"month": "2024-04", "expected_kwh": 3000.0, "actual_kwh": 2000.0, "avoided_kwh": avoided}
    told = {"savings": {"monthly": [month]}, "predicted": {"annual_kwh": 12_000.0}}
    answer = month_answer(told, "2024-04")
    assert answer.short.replace("\u00a0", " ") == short
    if low > 0:
        asked = 12_000 * 30 / 365
        last = answer.sentences[-1].replace("\u00a0", " ")
        assert f"asks {round(asked, -1):,.0f} kWh of a month this long: {1000 / asked * 100:.0f} %" in last


@pytest.mark.parametrize(
    ("since", "until", "there"),
    [
        ("2024-04-30", None, True),
        ("2024-05-01", None, False),
        (None, None, True),
        ("2024-01-01", "2024-03-31", False),
        ("2024-01-01", "2024-04-01", True),
    ],
)
def test_a_change_belongs_to_the_months_in_which_it_was_there(
    since: str | None, until: str | None, there: bool
) -> None:
    row = {"where": "hall", "since": since, "until": until}
    assert (drift_in_month({"drift": [row]}, "2024-04") == [row]) is there


def test_less_use_is_told_without_a_sign() -> None:
    cost = {"estimate": -310.0, "low": -360.0, "high": -250.0, "confidence": 0.9}
    assert monthly_amount(cost).replace("\u00a0", " ") == "310 kWh a month less (250 to 360, 90 % confidence)"
    assert (
        drift_sentence(
            {"where": "hall", "what": "fell", "since": "2024-10-04", "kwh_per_month": cost}
        ).replace("\u00a0", " ")
        == "hall: fell, since 2024-10-04 (about 310 kWh a month less)."
    )


def test_failed_acceptance_tests_are_named() -> None:
    told = result(1000, 900, 1100, None)
    told["models"] = [{"tests": [{"name": "CV(RMSE)", "passed": False}, {"name": "NMBE", "passed": True}]}]
    assert certainty_answer(told).sentences[1] == "Of 2 limits of the models, 1 not met: CV(RMSE)."


def test_limits_that_decide_are_told_apart_from_the_others() -> None:
    told = result(1000, 900, 1100, None)
    told["acceptance"] = {"tests": [{"name": "uncertainty", "passed": True}]}
    told["models"] = [{"tests": [{"name": "R2 (says little)", "passed": False}]}]
    assert certainty_answer(told).sentences[1] == (
        "The one limit that decides is met. The one further limit of the models is not met: R2."
    )


def setting(verdict: str) -> dict[str, Any]:
    return {"zone": "hall", "setting": "high_trim", "verdict": verdict}


@pytest.mark.parametrize(
    ("verdicts", "short"),
    [
        (["kept", "kept"], "Yes, as far as it shows"),
        (["kept", "cannot tell"], "Yes, as far as it shows"),
        (["cannot tell"], "Cannot tell"),
        (["kept", "moved"], "Not all of it: 1 change"),
        ([], "Cannot tell"),
    ],
)
def test_lasting_is_judged_by_every_setting(verdicts: list[str], short: str) -> None:
    assert lasting_answer({"settings": [setting(verdict) for verdict in verdicts]}).short == short


def test_days_not_metered_are_no_change_to_lasting_savings() -> None:
    gap = {"where": "hall", "what": "no usable data since 2024-10-01", "since": "2024-10-01", "kind": "gap"}
    answer = lasting_answer({"settings": [setting("kept")], "drift": [gap]})
    assert answer.short == "Yes, as far as it shows"
    assert any("without readings (hall)" in sentence for sentence in answer.sentences)


def test_drift_alone_means_that_not_all_of_it_lasts() -> None:
    answer = lasting_answer({"drift": [{"where": "hall", "what": "burns by day", "since": "2024-10-01"}]})
    assert answer.short == "Not all of it: 1 change"
    assert "hall: burns by day, since 2024-10-01." in answer.sentences


@pytest.mark.parametrize(
    ("half_width", "step"), [(354, 10), (356, 100), (2400, 100), (0.8, 0.1), (0.2, 0.01), (5, 1), (0, 1)]
)
def test_rounding_keeps_two_digits_below_355(half_width: float, step: float) -> None:
    assert step_of(half_width) == pytest.approx(step)


def test_numbers_read_as_a_person_writes_them() -> None:
    estimate = {"estimate": 47_618.2, "low": 45_218.2, "high": 50_018.2, "confidence": 0.9}
    assert with_interval(estimate, "kWh").replace("\u00a0", " ") == (
        "47,600 kWh (45,200 to 50,000 kWh, 90 % confidence)"
    )
    assert between(estimate, "kWh", joint="and").replace("\u00a0", " ") == "45,200 and 50,000 kWh"
    assert number(-1234.4) == "−1,234"
    assert number(-0.2) == "0"
    assert per_cent(-0.031, places=1) == "−3.1\u00a0%"
    share = {"estimate": 0.7936, "low": 0.75, "high": 0.84, "confidence": 0.9}
    assert share_with_interval(share).replace("\u00a0", " ") == "79 % (75 to 84)"


def test_an_interval_with_one_long_side_does_not_round_its_estimate_away() -> None:
    years = {"estimate": 1.547, "low": 0.453, "high": 96.25, "confidence": 0.9}
    assert with_interval(years, "years", confidence=False).replace("\u00a0", " ") == "1.5 years (0.5 to 96.2)"


def test_what_cannot_be_given_reads_as_such() -> None:
    assert with_interval(None, "kWh") == "cannot tell"


def test_what_cannot_be_said_has_plain_names_and_each_reason_once() -> None:
    record = {
        "savings": {"by_meter": {"LP-1": {}, "LP-2": {}, "LP-3": {}}},
        "cannot_say": [
            {"what": "standby", "why": "LP-1: not told apart; LP-2: not told apart; LP-3: not told apart"},
            {"what": "trim", "why": "LP-1: a; b; LP-3: a; b"},
            {"what": "low_level in stairs", "why": "never dark"},
            {"what": "scheduled_off in stairs", "why": "never dark"},
            {"what": "peak_kw", "why": "no window is stated"},
        ],
    }
    assert unsaid_words(record) == [
        ("Standby", "every meter: not told apart"),
        ("Trim", "LP-1 and LP-3: a; b"),
        ("Level when vacant in stairs; Off outside opening hours in stairs", "never dark"),
        ("Peak reduction", "no window is stated"),
    ]


def test_a_promise_has_no_more_digits_than_what_it_is_held_against() -> None:
    verified = {"estimate": 190828.0, "low": 182912.0, "high": 198744.0, "confidence": 0.9}
    record = {"savings": {"normalised_annual_kwh": verified}, "predicted": {"annual_kwh": 218723.4}}
    (numbers, _) = promise_answer(record).sentences
    assert "219,000" in numbers and "218,723" not in numbers


def test_the_share_of_the_promise_is_the_one_that_stands_beside_its_interval() -> None:
    """A whole building whose interval spans the promise: 134 % is not told beside "130 % (0 to 260)"."""
    verified = {"estimate": 26_800.0, "low": 900.0, "high": 52_700.0, "confidence": 0.9}
    record = {"savings": {"normalised_annual_kwh": verified}, "predicted": {"annual_kwh": 20_000.0}}
    rate = {end: verified[end] / 20_000.0 for end in ("estimate", "low", "high")}
    beside = share_with_interval(rate).partition(" (")[0]
    assert f"That is {beside} of the promise." in promise_answer(record).sentences[0]
    assert beside != per_cent(1.34)
