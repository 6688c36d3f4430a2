"""Energy by time of use, demand charges with ratchet, blended against marginal rate."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.programme_records import DemandPrice, PricePeriod, Tariff
from mv.money import (
    AvoidedProfile,
    MonthlyDemand,
    bill_savings,
    billed_demand_kw,
    demand_saving,
    monthly_peak_kw,
    rate_of_each,
)

ZONE = "America/Chicago"
YEAR = Estimate(10_000.0, 9_000.0, 11_000.0, 0.90)
AFTERNOON = PricePeriod(name="afternoon", per_kwh=0.30, hours=(14, 20), weekdays_only=True)
REST = PricePeriod(name="rest", per_kwh=0.10)


def _hours(values: object = 1.0) -> pd.Series:
    index = pd.date_range("2024-01-01", "2025-01-01", freq="1h", tz=ZONE, inclusive="left")
    return pd.Series(values, index=index.tz_convert("UTC"), dtype=float)


def _value(answer: object) -> float:
    assert isinstance(answer, Estimate)
    return float(answer.estimate)


def test_a_single_price_scales_the_saving_and_its_interval() -> None:
    bill = bill_savings(YEAR, Tariff(energy_per_kwh=0.14))
    assert isinstance(bill.total, Estimate)
    assert (bill.total.low, bill.total.estimate, bill.total.high) == pytest.approx((1260.0, 1400.0, 1540.0))
    assert bill.demand is None and bill.at_blended_rate is None


def test_no_price_is_no_money() -> None:
    bill = bill_savings(YEAR, Tariff())
    assert isinstance(bill.total, CannotSay) and "energy_per_kwh" in bill.total.why


def test_the_first_period_that_matches_prices_an_hour() -> None:
    index = pd.DatetimeIndex(_hours().index)
    rates = rate_of_each(index, (AFTERNOON, REST), (0.30, 0.10), timezone=ZONE)
    assert isinstance(rates, pd.Series)
    local = pd.DatetimeIndex(rates.index).tz_convert(ZONE)
    dear = np.asarray((local.hour >= 14) & (local.hour < 20) & (local.day_of_week < 5))
    assert (rates[dear] == 0.30).all() and (rates[~dear] == 0.10).all()
    assert dear.sum() == 262 * 6


def test_holidays_take_the_weekend_price() -> None:
    index = pd.DatetimeIndex(_hours().index)
    closed = (date(2024, 7, 4),)
    rates = rate_of_each(index, (AFTERNOON, REST), (0.3, 0.1), timezone=ZONE, holidays=closed)
    assert isinstance(rates, pd.Series)
    assert (rates == 0.30).sum() == 261 * 6


def test_a_period_past_midnight_and_by_season() -> None:
    night = PricePeriod(name="night", per_kwh=0.05, hours=(22, 6), months=(12, 1, 2))
    index = pd.DatetimeIndex(_hours().index)
    rates = rate_of_each(index, (night, REST), (0.05, 0.10), timezone=ZONE)
    assert isinstance(rates, pd.Series)
    assert (rates == 0.05).sum() == 8 * (31 + 29 + 31)


def test_an_hour_without_a_price_is_named() -> None:
    index = pd.DatetimeIndex(_hours().index)
    found = rate_of_each(index, (AFTERNOON,), (0.30,), timezone=ZONE)
    assert isinstance(found, CannotSay) and "Monday 00:00 in January" in found.why


def test_savings_are_priced_when_they_fell() -> None:
    local = pd.DatetimeIndex(_hours().index).tz_convert(ZONE)
    dear = np.asarray((local.hour >= 14) & (local.hour < 20) & (local.day_of_week < 5))
    tariff = Tariff(energy_per_kwh=(AFTERNOON, REST))
    in_the_afternoon = AvoidedProfile(_hours(np.where(dear, 2.0, 0.0)), ZONE)
    at_other_times = AvoidedProfile(_hours(np.where(dear, 0.0, 2.0)), ZONE)
    assert _value(bill_savings(YEAR, tariff, profile=in_the_afternoon).energy) == pytest.approx(3000)
    assert _value(bill_savings(YEAR, tariff, profile=at_other_times).energy) == pytest.approx(1000)


def test_a_profile_that_hovers_about_zero_is_still_priced_within_the_prices() -> None:
    rng = np.random.default_rng(3)
    profile = AvoidedProfile(_hours(rng.normal(0.0, 1.0, 8784)), ZONE)
    near_zero = Estimate(10.0, -100.0, 120.0, 0.90)
    bill = bill_savings(near_zero, Tariff(energy_per_kwh=(AFTERNOON, REST)), profile=profile)
    assert isinstance(bill.energy, Estimate)
    assert bill.energy.low is not None and bill.energy.high is not None
    assert 220 * 0.10 <= bill.energy.high - bill.energy.low <= 220 * 0.30


def test_daily_savings_cannot_be_priced_by_the_hour() -> None:
    days = _hours().resample("1D").sum()
    tariff = Tariff(energy_per_kwh=(AFTERNOON, REST))
    bill = bill_savings(YEAR, tariff, profile=AvoidedProfile(days, ZONE))
    assert isinstance(bill.energy, CannotSay)
    assert isinstance(bill_savings(YEAR, tariff).energy, CannotSay)


def test_the_blended_rate_stands_beside_the_marginal_one() -> None:
    bill = bill_savings(YEAR, Tariff(energy_per_kwh=0.09, blended_per_kwh=0.15))
    assert _value(bill.total) == pytest.approx(900.0)
    assert _value(bill.at_blended_rate) == pytest.approx(1500.0)


def test_the_monthly_highest_is_over_the_demand_interval() -> None:
    index = pd.date_range("2024-06-01", "2024-07-01", freq="5min", tz=ZONE, inclusive="left")
    power = pd.Series(10.0, index=index.tz_convert("UTC"))
    power.iloc[100] = 100.0
    highest = monthly_peak_kw(power, timezone=ZONE, demand_minutes=15)
    assert list(highest) == pytest.approx([40.0])
    assert str(highest.index[0]) == "2024-06"


def test_a_month_that_is_half_metered_has_no_highest() -> None:
    index = pd.date_range("2024-06-01", "2024-07-12", freq="15min", tz=ZONE, inclusive="left")
    highest = monthly_peak_kw(
        pd.Series(10.0, index=index.tz_convert("UTC")), timezone=ZONE, demand_minutes=15
    )
    assert [str(month) for month in highest.index] == ["2024-06"]


def _months(values: list[float], first: str = "2023-01") -> pd.Series:
    return pd.Series(values, index=pd.period_range(first, periods=len(values), freq="M"))


def test_the_ratchet_holds_the_billed_demand_up() -> None:
    peaks = _months([100.0, 60.0, 90.0, 50.0])
    billed = billed_demand_kw(peaks, ratchet_fraction=0.8, ratchet_months=2)
    assert list(billed) == pytest.approx([100.0, 80.0, 90.0, 72.0])
    assert list(billed_demand_kw(peaks, ratchet_fraction=None, ratchet_months=11)) == list(peaks)


def test_a_steady_reduction_saves_the_demand_price_every_month() -> None:
    demand = MonthlyDemand(_months([50.0] * 12), _months([40.0] * 12, "2024-01"), "whole building")
    saved = demand_saving(demand, Tariff(demand_per_kw_month=9.5), confidence=0.90)
    assert _value(saved) == pytest.approx(12 * 10 * 9.5)


def test_a_ratchet_delays_the_saving() -> None:
    demand = MonthlyDemand(_months([50.0] * 12), _months([50.0, *[40.0] * 11], "2024-01"), "whole building")
    tariff = Tariff(demand_per_kw_month=10.0, demand_ratchet_fraction=0.9)
    assert _value(demand_saving(demand, tariff, confidence=0.9)) == pytest.approx(11 * 5 * 10.0)


def test_seasonal_demand_prices_count_in_their_months() -> None:
    demand = MonthlyDemand(_months([50.0] * 12), _months([40.0] * 12, "2024-01"), "whole building")
    tariff = Tariff(demand_per_kw_month=(DemandPrice(per_kw_month=12.0, months=(6, 7, 8, 9)),))
    assert _value(demand_saving(demand, tariff, confidence=0.9)) == pytest.approx(4 * 10 * 12.0)


def test_a_lighting_meter_does_not_show_the_buildings_billing_peak() -> None:
    demand = MonthlyDemand(_months([50.0] * 12), _months([40.0] * 12, "2024-01"))
    bill = bill_savings(YEAR, Tariff(energy_per_kwh=0.1, demand_per_kw_month=9.5), demand=demand)
    assert isinstance(bill.demand, CannotSay) and "demand_coincidence" in bill.demand.why
    assert _value(bill.total) == pytest.approx(1000.0)
    stated = Tariff(energy_per_kwh=0.1, demand_per_kw_month=9.5, demand_coincidence=0.6)
    both = bill_savings(YEAR, stated, demand=demand)
    assert _value(both.total) == pytest.approx(1000.0 + 0.6 * 1140.0)


def test_months_not_metered_take_the_mean_fall_at_their_own_price() -> None:
    before, after = _months([50.0] * 4, "2023-05"), _months([40.0, 42.0, 38.0, 40.0], "2024-05")
    prices = (DemandPrice(per_kw_month=10.0, months=(5, 6, 7, 8, 9)), DemandPrice(per_kw_month=4.0))
    demand = MonthlyDemand(before, after, "whole building")
    saved = demand_saving(demand, Tariff(demand_per_kw_month=prices), confidence=0.90)
    by_hand = 10 * (10 + 8 + 12 + 10) + 10 * 10 + 7 * 4 * 10  # May to August, September, the other seven
    assert _value(saved) == pytest.approx(by_hand)


def test_energy_by_season_and_hour_is_the_sum_of_its_parts() -> None:
    summer = PricePeriod(
        name="summer peak", per_kwh=0.31, months=(6, 7, 8), hours=(14, 20), weekdays_only=True
    )
    night = PricePeriod(name="night", per_kwh=0.07, hours=(22, 6))
    rest = PricePeriod(name="rest", per_kwh=0.13)
    hours = _hours(1.5)
    profile = AvoidedProfile(hours, ZONE)
    total = float(hours.sum())
    year = Estimate(total, 0.9 * total, 1.1 * total, 0.90)
    bill = bill_savings(year, Tariff(energy_per_kwh=(summer, night, rest)), profile=profile)
    workdays = sum(day.day_of_week < 5 for day in pd.date_range("2024-06-01", "2024-08-31"))
    at_peak = workdays * 6 * 1.5
    at_night = (366 * 8) * 1.5  # the hour lost in spring is got back in autumn, both by night
    by_hand = 0.31 * at_peak + 0.07 * at_night + 0.13 * (total - at_peak - at_night)
    assert _value(bill.energy) == pytest.approx(by_hand)
    assert _value(bill.total) == pytest.approx(by_hand)


def test_the_total_is_energy_plus_demand_with_both_doubts_in_quadrature() -> None:
    fall = _months([40.0, 41.0, 39.0] * 4, "2024-01")
    demand = MonthlyDemand(_months([50.0] * 12), fall, "whole building")
    bill = bill_savings(YEAR, Tariff(energy_per_kwh=0.14, demand_per_kw_month=9.0), demand=demand)
    assert isinstance(bill.total, Estimate) and isinstance(bill.demand, Estimate)
    assert isinstance(bill.energy, Estimate) and bill.total.low is not None and bill.demand.low is not None
    assert bill.total.estimate == pytest.approx(bill.energy.estimate + bill.demand.estimate)
    widths = [a.estimate - a.low for a in (bill.energy, bill.demand) if a.low is not None]
    assert bill.total.estimate - bill.total.low == pytest.approx(np.hypot(*widths))
