"""Weeks carried to a year."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.drivers import daily_drivers, typical_year
from mv.regression import FittedModel, fit
from mv.savings import annualised_use, avoided_energy, normalised_annual, unseen_season

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 48.1, "longitude": 11.6, "timezone": "Europe/Berlin"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00"}},
    }
)
YEAR = daily_drivers(STUDY, date(2023, 1, 1), date(2023, 12, 31))
DAILY = 10 + 9 * YEAR["hours_open"] + 3 * YEAR["dark_open_hours"]


def _annualised(first: str, last: str) -> tuple[float, float, float, float]:
    days = YEAR[first:last]
    noise = np.random.default_rng(2).normal(0, 6, len(days))
    model = fit(DAILY[days.index] + noise, days)
    assert isinstance(model, FittedModel)
    use = annualised_use(model, pd.DatetimeIndex(days.index), typical_year(STUDY, YEAR), confidence=0.9)
    assert use.annual.low is not None
    assert use.annual.high is not None
    return use.annual.low, use.annual.high, use.extrapolated_share, use.extrapolation_half_width


def test_six_weeks_hold_the_year_and_say_how_much_is_extrapolated() -> None:
    low, high, share, half = _annualised("2023-03-01", "2023-04-15")
    assert low < DAILY.sum() < high
    assert share == pytest.approx(10 / 12, abs=0.03)
    assert half > 0


def test_more_months_give_a_narrower_year() -> None:
    short, long = _annualised("2023-03-01", "2023-04-15"), _annualised("2023-03-01", "2023-10-31")
    assert long[1] - long[0] < short[1] - short[0]
    assert long[2] < short[2]


def test_outdoor_lights_metered_in_one_season_get_a_margin_for_the_others() -> None:
    base = YEAR["2023-10-01":"2023-12-31"]
    noise = np.random.default_rng(4).normal(0, 1, len(base))
    model = fit(2 + 3 * base["dark_hours"] + noise, base, kind="outdoor")
    assert isinstance(model, FittedModel)
    months = unseen_season("outdoor", pd.DatetimeIndex(base.index))
    assert months == dict.fromkeys(range(1, 10), 0.02)
    actual = pd.Series(5.0, index=YEAR.index)
    plain = avoided_energy(model, YEAR, actual, confidence=0.9)
    wider = avoided_energy(model, YEAR, actual, confidence=0.9, unseen_months=months)
    unseen = float(model.expected(YEAR["2023-01-01":"2023-09-30"]).sum())
    assert wider.parts["season not metered"] == pytest.approx(1.6448536 * 0.02 * unseen, rel=1e-6)
    assert wider.total.high - wider.total.low > plain.total.high - plain.total.low
    assert wider.total.estimate == pytest.approx(plain.total.estimate)


def test_half_a_year_or_lights_indoors_need_no_such_margin() -> None:
    half = pd.date_range("2023-01-01", "2023-06-30")
    assert unseen_season("outdoor", half) == {}
    assert unseen_season("indoor", half[:90]) == {}


def test_months_that_a_whole_building_was_not_metered_in_widen_both_kinds_of_savings_alike() -> None:
    base = YEAR["2023-10-01":"2023-12-31"]
    noise = np.random.default_rng(4).normal(0, 1, len(base))
    model = fit(pd.Series(100 + noise, base.index), base, kind="whole building")
    assert isinstance(model, FittedModel)
    months = unseen_season("whole building", pd.DatetimeIndex(base.index))
    result = avoided_energy(model, YEAR, pd.Series(5.0, YEAR.index), confidence=0.9, unseen_months=months)
    year = annualised_use(model, pd.DatetimeIndex(base.index), YEAR, confidence=0.9)
    assert result.parts["season not metered"] == pytest.approx(year.extrapolation_half_width, rel=1e-6)


def test_days_colder_than_any_seen_are_doubted_by_half_of_what_they_add() -> None:
    """Heating of 20 kWh a degree below 15, seen down to 5 degrees, on a day of -5 degrees."""
    mild = YEAR.assign(temperature_c=np.random.default_rng(5).uniform(5.0, 25.0, len(YEAR)))
    heating = 20.0 * np.maximum(15.0 - mild["temperature_c"], 0.0)
    noise = np.random.default_rng(6).normal(0, 2, len(mild))
    model = fit(500 + heating + noise, mild, kind="whole building")
    assert isinstance(model, FittedModel)
    cold = YEAR["2023-01-09":"2023-01-09"].assign(temperature_c=-5.0)
    coldest = float(mild["temperature_c"].min())
    assert model.beyond_weather(mild).abs().max() == 0.0
    assert float(model.beyond_weather(cold).iloc[0]) == pytest.approx(20.0 * (coldest + 5.0), rel=0.05)
    result = avoided_energy(model, cold, pd.Series(5.0, cold.index), confidence=0.9)
    expected = 1.6448536 * 0.5 * float(model.beyond_weather(cold).iloc[0])
    assert result.parts["weather not seen"] == pytest.approx(expected, rel=1e-6)


def test_a_whole_building_may_change_by_itself_between_the_periods_and_lights_may_not() -> None:
    y = 500 + pd.Series(np.random.default_rng(7).normal(0, 2, len(YEAR)), YEAR.index)
    half = {}
    for kind in ("whole building", "indoor"):
        model = fit(y, YEAR, kind=kind)
        assert isinstance(model, FittedModel)
        avoided = avoided_energy(model, YEAR, y - 50, confidence=0.9)
        after = fit(y - 50, YEAR, kind=kind)
        assert isinstance(after, FittedModel)
        year = normalised_annual(model, after, YEAR, confidence=0.9).annual
        half[kind] = [(answer.high - answer.low) / 2 for answer in (avoided.total, year)]
        share = avoided.parts.get("the building's own change", 0.0) / avoided.expected_kwh
        assert share == pytest.approx(1.6448536 * 0.0075 if kind == "whole building" else 0.0, rel=1e-6)
    assert all(whole > lights for whole, lights in zip(half["whole building"], half["indoor"], strict=True))
