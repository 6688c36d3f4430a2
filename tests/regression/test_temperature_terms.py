"""Change points and slopes put into a building's days are found again, open and closed hours apart."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.drivers import daily_drivers
from mv.regression import FittedModel, Form, fit
from mv.regression.selection import Trial, as_good
from mv.regression.temperature import steeper_sets, temperature_sets
from mv.regression.terms import column, label

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 40.0, "longitude": -83.0, "timezone": "America/New_York"},
        "meter": [{"id": "m", "files": ["m.csv"], "measures": "whole building"}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00", "sat": "08:00-14:00"}},
    }
)
YEAR = daily_drivers(STUDY, date(2023, 1, 1), date(2023, 12, 31))


def _days(mean_c: float = 14.0, seed: int = 11) -> pd.DataFrame:
    swing = -11 * np.cos(2 * np.pi * (YEAR.index.day_of_year.to_numpy() - 20) / 365.25)
    daily = np.random.default_rng(seed).normal(0, 3.5, len(YEAR))
    return YEAR.assign(temperature_c=mean_c + swing + daily)


def _use(days: pd.DataFrame, slopes: dict[str, float], noise: float = 15.0, seed: int = 12) -> pd.Series:
    level = 300 + 40 * days["hours_open"]
    weather = sum(slope * column(days, term) for term, slope in slopes.items())
    return level + weather + np.random.default_rng(seed).normal(0, noise, len(days))


def _change(term: str) -> float:
    return float(term.split(":")[1])


def test_cooling_in_open_hours_alone_is_told_from_cooling_at_all_hours() -> None:
    days = _days()
    y = _use(days, {"cool:17.0:open": 50.0})
    model = fit(y, days, kind="whole building")
    assert isinstance(model, FittedModel)
    cooling = [term for term in model.terms if term.name.startswith("cool:")]
    assert [term.name.rpartition(":")[2] for term in cooling] == ["open"]
    assert _change(cooling[0].name) == pytest.approx(17.0, abs=1.0)
    assert cooling[0].coefficient == pytest.approx(50.0, rel=0.1)


def test_heating_set_back_by_night_gets_a_slope_and_a_change_point_while_closed() -> None:
    days = _days(8.0)
    y = _use(days, {"heat:14.0:open": 40.0, "heat:9.0:closed": 18.0})
    model = fit(y, days, kind="whole building")
    assert isinstance(model, FittedModel)
    found = {term.name.rpartition(":")[2]: term for term in model.terms if term.name.startswith("heat:")}
    assert set(found) == {"open", "closed"}
    assert _change(found["open"].name) == pytest.approx(14.0, abs=1.5)
    assert _change(found["closed"].name) == pytest.approx(9.0, abs=1.5)
    assert found["open"].coefficient == pytest.approx(40.0, rel=0.15)
    assert found["closed"].coefficient == pytest.approx(18.0, rel=0.2)


def test_the_change_points_are_those_of_the_smallest_sum_of_squares() -> None:
    """Beside a plain search over all pairs by numpy's own least squares."""
    days = _days()
    y = _use(days, {"heat:11.0": 20.0, "cool:18.5": 30.0}).to_numpy()
    base = ("open days", "closed days")
    found = next(s for s in temperature_sets(y, days, base) if [t[:4] for t in s] == ["heat", "cool"]
                 and all(t.count(":") == 1 for t in s))  # fmt: skip
    temperature = days["temperature_c"].to_numpy()
    fixed = np.column_stack([column(days, term) for term in base])
    rests = {}
    for heat in np.arange(5.0, 20.0, 0.5):
        for cool in np.arange(heat, 24.0, 0.5):
            bends = [np.maximum(heat - temperature, 0), np.maximum(temperature - cool, 0)]
            matrix = np.column_stack([fixed, *bends])
            rests[heat, cool] = np.linalg.lstsq(matrix, y, rcond=None)[1][0]
    assert tuple(_change(term) for term in found) == min(rests, key=lambda pair: rests[pair])


def test_a_building_that_the_weather_leaves_alone_gets_no_temperature_term() -> None:
    days = _days()
    model = fit(_use(days, {}), days, kind="whole building")
    assert isinstance(model, FittedModel)
    assert not [term.name for term in model.terms if term.name.startswith(("heat:", "cool:"))]


def test_slopes_of_the_wrong_sign_are_not_offered() -> None:
    days = _days()
    falling = 500 - 10 * np.maximum(days["temperature_c"] - 15, 0).to_numpy()
    sets = temperature_sets(falling, days, ("every day",))
    assert [terms for terms in sets if any(term.startswith("cool:") for term in terms)] == []


def test_use_that_grows_faster_in_the_cold_gets_a_second_bend() -> None:
    days = _days(4.0)
    y = _use(days, {"heat:14.0": 15.0, "heat:0.0": 25.0}).to_numpy()
    base = ("every day", "hours_open")
    first = next(terms for terms in temperature_sets(y, days, base) if len(terms) == 1)
    bent = steeper_sets(y, days, base, first)
    assert bent[0] == first
    assert _change(bent[1][-1]) == pytest.approx(0.0, abs=2.5)


def test_days_within_few_degrees_and_gaps_in_opening_hours_are_no_trouble() -> None:
    days = _days()
    level = days.assign(temperature_c=27.0 + np.random.default_rng(1).uniform(-2, 2, len(days)))
    assert temperature_sets(_use(level, {}).to_numpy(), level, ("every day",)) == [()]
    unknown = days.assign(hours_open=np.nan)
    opened = days["is_open_day"].to_numpy(dtype=float)
    assert column(unknown, "cool:15.0:open") == pytest.approx(column(days, "cool:15.0") * opened)
    assert column(unknown, "heat:15.0:closed") == pytest.approx(column(days, "heat:15.0") * (1 - opened))


def test_open_and_closed_hours_make_up_the_day() -> None:
    days = _days()
    both = column(days, "cool:16.0:open") + column(days, "cool:16.0:closed")
    assert both == pytest.approx(column(days, "cool:16.0"))
    assert label("cool:16.0:open") == "degrees C above 16.0 while open"


def test_what_acts_in_one_season_alone_is_not_hidden_by_the_spread_over_the_blocks() -> None:
    """A term that betters one block of eight: the difference's own standard error is as large as it."""
    with_term = Trial(Form(("every day", "hours_open")), np.ones(8), ())
    without = Trial(Form(("every day",)), np.array([1.0] * 7 + [9.0]), ())
    assert as_good(without, with_term, np.inf)
    assert not as_good(without, with_term, 0.05)
