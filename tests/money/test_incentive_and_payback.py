"""Incentive, payback, guarantee, carbon and the account as result.json carries it."""

import json

import pandas as pd
import pytest
from pydantic import ValidationError

from mv.base.estimate import Answer, CannotSay, Estimate
from mv.base.programme_records import Carbon, CarbonPeriod, Guarantee, Incentive, IncentiveTier, Tariff
from mv.base.study_records import Site, Study
from mv.money import (
    AvoidedProfile,
    carbon_spared_kg,
    guarantee_shortfall,
    incentive_amount,
    money_account,
    simple_payback_years,
)

KWH = Estimate(150_000.0, 140_000.0, 160_000.0, 0.90)
KW = Estimate(40.0, 36.0, 44.0, 0.90)
UNKNOWN = CannotSay("peak", "no peak window is stated")


def _parts(answer: object) -> tuple[float, float | None, float | None]:
    assert isinstance(answer, Estimate)
    return float(answer.estimate), answer.low, answer.high


def test_rates_per_kwh_and_per_kw_add_up() -> None:
    paid = incentive_amount(Incentive(per_kwh=0.12, per_kw=200.0), annual_kwh=KWH, peak_kw=KW)
    assert _parts(paid.amount) == pytest.approx((26_000.0, 24_000.0, 28_000.0))
    assert not paid.capped and paid.cap is None


def test_the_lower_cap_bites_and_is_said() -> None:
    incentive = Incentive(per_kwh=0.12, cap_fraction_of_cost=0.5, project_cost=33_000, cap_amount=17_000)
    paid = incentive_amount(incentive, annual_kwh=KWH, peak_kw=UNKNOWN)
    assert _parts(paid.amount) == pytest.approx((16_500.0, 16_500.0, 16_500.0))
    assert paid.capped and paid.cap == pytest.approx(16_500.0)


def test_a_saving_that_turns_out_negative_pays_nothing() -> None:
    loss = Estimate(-1_000.0, -2_000.0, 500.0, 0.90)
    paid = incentive_amount(Incentive(per_kwh=0.10), annual_kwh=loss, peak_kw=UNKNOWN)
    assert _parts(paid.amount) == (0.0, 0.0, 50.0)


@pytest.mark.parametrize(("tier", "amount"), [("alone", 12_000.0), ("room", 15_000.0), ("site", 27_000.0)])
def test_the_tier_that_the_user_states_sets_the_rate(tier: str, amount: float) -> None:
    tiers = (
        IncentiveTier(name="alone", per_kwh=0.08),
        IncentiveTier(name="room"),
        IncentiveTier(name="site", per_kwh=0.18),
    )
    incentive = Incentive(per_kwh=0.10, tier=tier, tiers=tiers)
    assert _parts(incentive_amount(incentive, annual_kwh=KWH, peak_kw=KW).amount)[0] == amount


def test_a_tier_must_be_stated_and_be_there() -> None:
    tiers = (IncentiveTier(name="room", per_kwh=0.1),)
    with pytest.raises(ValidationError, match="state which tier"):
        Incentive(tiers=tiers)
    with pytest.raises(ValidationError, match="not among the tiers"):
        Incentive(tiers=tiers, tier="campus")


def test_what_is_not_known_is_not_paid_for_and_says_why() -> None:
    per_kw = incentive_amount(Incentive(per_kw=200.0), annual_kwh=KWH, peak_kw=UNKNOWN)
    assert isinstance(per_kw.amount, CannotSay) and per_kw.amount.why == UNKNOWN.why
    no_rate = incentive_amount(Incentive(), annual_kwh=KWH, peak_kw=KW)
    assert isinstance(no_rate.amount, CannotSay) and "per_kwh" in no_rate.amount.why
    no_cost = Incentive(per_kwh=0.1, cap_fraction_of_cost=0.5)
    found = incentive_amount(no_cost, annual_kwh=KWH, peak_kw=KW).amount
    assert isinstance(found, CannotSay) and "project_cost" in found.why


def test_simple_payback_with_and_without_the_incentive() -> None:
    saving = Estimate(20_000.0, 16_000.0, 24_000.0, 0.90)
    incentive = Estimate(16_000.0, 14_000.0, 18_000.0, 0.90)
    assert _parts(simple_payback_years(96_000.0, saving)) == pytest.approx((4.8, 4.0, 6.0))
    assert _parts(simple_payback_years(96_000.0, saving, incentive=incentive)) == pytest.approx(
        (4.0, 78 / 24, 82 / 16)
    )


@pytest.mark.parametrize(
    ("cost", "saving"),
    [
        (None, Estimate(1.0, 0.5, 1.5, 0.9)),
        (100.0, Estimate(10.0, -1.0, 21.0, 0.9)),
        (100.0, CannotSay("bill savings", "no price")),
    ],
)
def test_a_payback_without_cost_or_sure_saving_cannot_be_said(cost: float | None, saving: Answer) -> None:
    assert isinstance(simple_payback_years(cost, saving), CannotSay)


@pytest.mark.parametrize(
    ("guaranteed", "verdict", "short"),
    [(139_000.0, "met", 0.0), (155_000.0, "cannot tell", 5_000.0), (165_000.0, "missed", 15_000.0)],
)
def test_the_shortfall_against_a_guarantee(guaranteed: float, verdict: str, short: float) -> None:
    found = guarantee_shortfall(
        Guarantee(annual_kwh=guaranteed, price_per_kwh=0.2),
        annual_kwh=KWH,
        bill_saving=UNKNOWN,
        price_per_kwh=None,
    )
    assert found is not None and found.verdict == verdict
    assert _parts(found.kwh)[0] == short
    assert _parts(found.amount)[0] == pytest.approx(0.2 * short)
    low = _parts(found.kwh)[1]
    assert low is not None and low >= 0.0


def test_a_guarantee_in_money_is_set_against_the_bill() -> None:
    found = guarantee_shortfall(
        Guarantee(annual_amount=21_000.0),
        annual_kwh=KWH,
        bill_saving=Estimate(20_000.0, 19_000.0, 20_500.0, 0.90),
        price_per_kwh=None,
    )
    assert found is not None and found.verdict == "missed"
    assert _parts(found.amount) == pytest.approx((1_000.0, 500.0, 2_000.0))


def test_no_guarantee_no_shortfall_and_no_price_no_amount() -> None:
    plain = {"annual_kwh": KWH, "bill_saving": UNKNOWN, "price_per_kwh": None}
    assert guarantee_shortfall(Guarantee(), **plain) is None  # type: ignore[arg-type]
    found = guarantee_shortfall(Guarantee(annual_kwh=1.0), **plain)  # type: ignore[arg-type]
    assert found is not None and isinstance(found.amount, CannotSay)


def test_carbon_by_an_annual_factor_and_by_hours() -> None:
    assert _parts(carbon_spared_kg(KWH, Carbon(kg_per_kwh=0.4)))[0] == pytest.approx(60_000.0)
    table = (
        CarbonPeriod(name="night", kg_per_kwh=0.2, hours=(0, 12)),
        CarbonPeriod(name="day", kg_per_kwh=0.6, hours=(12, 24)),
    )
    index = pd.date_range("2024-01-01", "2024-02-01", freq="1h", tz="UTC", inclusive="left")
    even = AvoidedProfile(pd.Series(1.0, index=index), "UTC")
    assert _parts(carbon_spared_kg(KWH, Carbon(kg_per_kwh=table), profile=even))[0] == pytest.approx(60_000.0)
    assert isinstance(carbon_spared_kg(KWH, Carbon(kg_per_kwh=table)), CannotSay)


def _study(**tables: object) -> Study:
    return Study(
        format=1,
        site=Site(latitude=44.5, longitude=-89.6, timezone="America/Chicago"),
        meter=({"id": "LP-1", "files": ("x.csv",)},),
        **tables,  # type: ignore[arg-type]
    )


def test_the_account_carries_the_three_figures_of_the_interface() -> None:
    study = _study(
        tariff=Tariff(energy_per_kwh=0.14, source="contract"),
        incentive=Incentive(per_kwh=0.12, cap_fraction_of_cost=0.5, project_cost=96_000),
    )
    account = money_account(study, annual_kwh=KWH, peak_kw=KW)
    record = json.loads(json.dumps(account.as_json()))
    assert record["bill_savings"]["estimate"] == pytest.approx(21_000.0)
    assert record["incentive"]["estimate"] == pytest.approx(18_000.0)
    assert record["simple_payback"]["estimate"] == pytest.approx(78_000 / 21_000)
    assert record["simple_payback_without_incentive"]["estimate"] == pytest.approx(96 / 21)
    assert record["price_source"] == "contract"
    assert not account.cannot_say


def test_a_study_without_prices_says_what_is_missing() -> None:
    account = money_account(_study(), annual_kwh=KWH, peak_kw=UNKNOWN)
    record = account.as_json()
    assert record["bill_savings"] is None and record["incentive"] is None
    assert record["simple_payback"] is None and record["guarantee"] is None
    assert {entry.what for entry in account.cannot_say} == {
        "bill savings",
        "incentive",
        "simple payback",
    }


def test_a_payback_without_incentive_is_still_given_where_none_is_stated() -> None:
    study = _study(tariff=Tariff(energy_per_kwh=0.2), incentive=Incentive(project_cost=60_000))
    record = money_account(study, annual_kwh=KWH, peak_kw=KW).as_json()
    assert record["simple_payback"]["estimate"] == pytest.approx(2.0)
    assert record["simple_payback_counts_incentive"] is False
