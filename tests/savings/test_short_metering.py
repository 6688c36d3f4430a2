"""Weeks carried to a year."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.drivers import daily_drivers, typical_year
from mv.regression import FittedModel, fit
from mv.savings import annualised_use, avoided_energy, unseen_season

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
    assert months == frozenset(range(1, 10))
    actual = pd.Series(5.0, index=YEAR.index)
    plain = avoided_energy(model, YEAR, actual, confidence=0.9)
    wider = avoided_energy(model, YEAR, actual, confidence=0.9, unseen_months=months)
    unseen = float(model.expected(YEAR["2023-01-01":"2023-09-30"]).sum())
    assert wider.parts["season not metered"] == pytest.approx(1.6448536 * 0.02 * unseen, rel=1e-6)
    assert wider.total.high - wider.total.low > plain.total.high - plain.total.low
    assert wider.total.estimate == pytest.approx(plain.total.estimate)


def test_half_a_year_or_lights_indoors_need_no_such_margin() -> None:
    half = pd.date_range("2023-01-01", "2023-06-30")
    assert unseen_season("outdoor", half) == frozenset()
    assert unseen_season("indoor", half[:90]) == frozenset()
