"""Weeks carried to a year, and a sample carried to the population."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay
from mv.base.study_records import Study
from mv.drivers import daily_drivers, typical_year
from mv.regression import FittedModel, fit
from mv.savings import annualised_use, avoided_energy, population_use, unseen_season

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


def test_the_ratio_estimate_weighs_by_connected_load() -> None:
    use = population_use(
        [300.0, 100.0, 210.0], [3.0, 1.0, 2.0],
        population=30, population_connected_kw=60.0, confidence=0.9,
    )  # fmt: skip
    assert not isinstance(use, CannotSay)
    ratio = 610 / 6
    assert use.kwh_per_connected_kw == pytest.approx(ratio)
    assert use.total.estimate == pytest.approx(60 * ratio)
    spread = sum((y - ratio * x) ** 2 for y, x in [(300, 3), (100, 1), (210, 2)]) / 2
    by_hand = 60 * np.sqrt((1 - 0.1) * spread / (3 * 4))
    assert use.total.standard_error == pytest.approx(by_hand)
    assert use.precision == pytest.approx(2.91999 * by_hand / (60 * ratio), rel=1e-5)  # t of 2 df, 90 %


def test_a_full_census_has_no_sampling_error() -> None:
    use = population_use(
        [300.0, 100.0], [3.0, 1.5], population=2, population_connected_kw=4.5, confidence=0.9
    )
    assert not isinstance(use, CannotSay)
    assert use.total.standard_error == pytest.approx(0.0)


def test_sampling_intervals_hold_the_population_as_often_as_they_say() -> None:
    draw = np.random.default_rng(8)
    held = []
    for _ in range(400):
        load = draw.uniform(0.5, 3, 80)
        use = load * 2500 * draw.lognormal(-0.08, 0.4, 80)
        chosen = draw.choice(80, 20, replace=False)
        answer = population_use(
            use[chosen], load[chosen], population=80, population_connected_kw=load.sum(), confidence=0.9
        )
        assert not isinstance(answer, CannotSay)
        held.append(answer.total.low <= use.sum() <= answer.total.high)
    assert 0.85 <= np.mean(held) <= 0.94


def test_one_logger_says_nothing_of_the_others() -> None:
    answer = population_use([1.0], [1.0], population=9, population_connected_kw=9.0, confidence=0.9)
    assert isinstance(answer, CannotSay)


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
