"""The month's numbers add up and are shared out by the days on which a finding held."""

import calendar
from dataclasses import replace

import pytest

from mv.base.verification import Verification
from mv.month import MonthFacts, daily_totals, month_facts, month_named
from mv.month.page import lead_sentence

MONTHS = [f"2024-{number:02d}" for number in range(3, 13)] + ["2025-01", "2025-02"]


def facts_of(verification: Verification, month: str) -> MonthFacts:
    return month_facts(verification, month, dict.fromkeys(range(99), "key"))


@pytest.mark.parametrize("month", MONTHS)
def test_metered_stand_in_and_adjusted_energy_stay_apart_and_add_up(
    verification: Verification, month: str
) -> None:
    facts = facts_of(verification, month)
    parts = facts.metered_kwh + facts.stand_in_kwh + facts.adjusted_kwh
    assert parts == pytest.approx(float(facts.entry["actual_kwh"]))
    assert facts.adjusted_kwh == pytest.approx(0.0, abs=1e-6)  # the study has no event
    metered = daily_totals(verification, facts.span)["actual_kwh"].sum()
    assert facts.metered_kwh == pytest.approx(float(metered))
    assert facts.expected_kwh - float(facts.entry["actual_kwh"]) == pytest.approx(facts.avoided["estimate"])


def test_the_running_total_of_the_last_month_is_the_periods_avoided_energy(
    verification: Verification,
) -> None:
    facts = facts_of(verification, "2025-02")
    whole = verification.result["savings"]["avoided_kwh"]
    assert facts.saved_so_far is not None
    for end in ("estimate", "low", "high"):
        assert facts.saved_so_far[end] == pytest.approx(whole[end], rel=1e-6)
    assert facts.promised_so_far == pytest.approx(41000.0)  # a whole year of the promise


def test_the_running_total_is_the_sum_of_the_months_with_an_interval_about_it(
    verification: Verification,
) -> None:
    total = 0.0
    for month in MONTHS:
        facts = facts_of(verification, month)
        assert facts.avoided is not None and facts.saved_so_far is not None
        total += facts.avoided["estimate"]
        assert facts.saved_so_far["estimate"] == pytest.approx(total)
        assert facts.saved_so_far["low"] < total < facts.saved_so_far["high"]


def test_a_finding_weighs_by_the_days_on_which_it_held(verification: Verification) -> None:
    finding = {
        "where": "stairs", "what": "x", "kind": "step", "zones": ["stairs"], "settings": [],
        "since": "2024-09-16", "until": "2024-10-15", "cost_per_month": 30.4375,
        "kwh_per_month": {"estimate": 304.375, "low": 243.5, "high": 365.25, "confidence": 0.9},
    }  # fmt: skip
    changed = Verification(
        verification.study,
        {**verification.result, "drift": [finding]},
        verification.meters,
        verification.daily,
        verification.settings_by_month,
    )
    for month, days in (("2024-08", 0), ("2024-09", 15), ("2024-10", 15), ("2024-11", 0)):
        facts = facts_of(changed, month)
        assert sum(item.days for item in facts.findings) == days
        (stairs,) = [loss for loss in facts.zones if loss.zone == "stairs"]
        assert stairs.lost_kwh == pytest.approx(10.0 * days)
        assert (stairs.cost or 0.0) == pytest.approx(1.0 * days)


def test_less_used_is_never_netted_against_more_used(verification: Verification) -> None:
    def finding(kwh: float) -> dict[str, object]:
        return {
            "where": "stairs", "what": f"{kwh}", "kind": "step", "zones": ["stairs"], "settings": [],
            "since": None, "until": None, "cost_per_month": None,
            "kwh_per_month": {"estimate": kwh, "low": kwh - 1, "high": kwh + 1, "confidence": 0.9},
        }  # fmt: skip

    changed = Verification(
        verification.study,
        {**verification.result, "drift": [finding(100.0), finding(-100.0)]},
        verification.meters,
        verification.daily,
        verification.settings_by_month,
    )
    (stairs,) = [loss for loss in facts_of(changed, "2024-09").zones if loss.zone == "stairs"]
    days = calendar.monthrange(2024, 9)[1]
    assert stairs.lost_kwh == pytest.approx(100.0 * days / 30.4375) == stairs.less_kwh


def test_the_default_is_the_last_month_that_the_period_holds_wholly(verification: Verification) -> None:
    assert month_named(verification, None) == "2025-02"
    periods = verification.study.periods
    assert periods is not None
    shorter = periods.reporting.model_copy(update={"last": periods.reporting.last.replace(day=20)})
    study = verification.study.model_copy(
        update={"periods": periods.model_copy(update={"reporting": shorter})}
    )
    cut = Verification(
        study, verification.result, verification.meters, verification.daily, verification.settings_by_month
    )
    assert month_named(cut, None) == "2025-01"


def test_a_month_that_used_more_says_so_and_that_nothing_was_saved(verification: Verification) -> None:
    facts = facts_of(verification, "2024-09")
    worse = replace(facts, avoided={"estimate": -180.0, "low": -230.0, "high": -130.0, "confidence": 0.9})
    sentence = lead_sentence(worse).replace("\u00a0", " ")
    assert "180 kWh more used than the old lighting would have" in sentence and "−" not in sentence
