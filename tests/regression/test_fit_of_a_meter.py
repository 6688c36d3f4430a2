"""A model chosen and fitted on days, with the awkward inputs that meters bring."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay
from mv.base.study_records import Event, Occupancy, Study
from mv.drivers import daily_drivers
from mv.regression import FittedModel, fit

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 48.1, "longitude": 11.6, "timezone": "Europe/Berlin"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {
            "hours": {"mon-fri": "07:00-19:00", "sat": "08:00-13:00"},
            "holidays": [date(2023, 1, 6), date(2023, 5, 1), date(2023, 10, 3), date(2023, 12, 25)],
        },
    }
)
YEAR = daily_drivers(STUDY, date(2023, 1, 1), date(2023, 12, 31))
TRUE = 12 + 9 * YEAR["hours_open"] + 4 * YEAR["dark_open_hours"]


def _noisy(seed: int = 0, spread: float = 5.0) -> pd.Series:
    return TRUE + np.random.default_rng(seed).normal(0, spread, len(TRUE))


def _model(y: pd.Series, **options: object) -> FittedModel:
    model = fit(y, YEAR, **options)
    assert isinstance(model, FittedModel)
    return model


def test_the_coefficients_of_a_known_meter_come_back() -> None:
    model = _model(_noisy())
    found = {term.name: term for term in model.terms}
    assert found["hours_open"].coefficient == pytest.approx(9, abs=0.5)
    dark = found["dark_open_hours"]
    assert abs(dark.coefficient - 4) < 3 * dark.standard_error
    assert model.r2 is not None
    assert model.r2 > 0.97
    assert any(alternative.chosen for alternative in model.alternatives)


def test_expected_values_are_coefficient_times_driver() -> None:
    model = _model(_noisy())
    fixed = {term.name: term.coefficient for term in model.terms}
    season = 2 * np.pi * YEAR.index.day_of_year / 365.25
    opened = YEAR["is_open_day"].to_numpy(dtype=float)
    columns = {
        "every day": np.ones(365), "open days": opened, "closed days": 1 - opened,
        "hours_open": YEAR["hours_open"], "dark_open_hours": YEAR["dark_open_hours"],
        "season:cos": np.cos(season) * opened, "season:sin": np.sin(season) * opened,
    }  # fmt: skip
    for first, last in (("07-01", "07-31"), ("08-01", "08-31"), ("12-20", "12-31"), ("01-01", "01-05"),
                        ("01-06", "01-31")):  # fmt: skip
        inside = (YEAR.index >= f"2023-{first}") & (YEAR.index <= f"2023-{last}")
        turn = first in ("12-20", "01-01")
        name = "weeks:12-20:01-05" if turn else f"weeks:{first}:{last}"
        columns[name] = columns.get(name, 0.0) + inside * opened
    by_hand = sum(value * np.asarray(columns[name]) for name, value in fixed.items())
    np.testing.assert_allclose(model.expected(YEAR), by_hand, rtol=1e-9)


def test_days_without_a_reading_take_no_part() -> None:
    y = _noisy()
    y.iloc[::5] = np.nan
    model = _model(y)
    assert model.n + len(model.set_aside_days) == y.notna().sum()


def test_a_handful_of_dead_days_does_not_wreck_the_fit_and_is_reported() -> None:
    y = _noisy()
    y["2023-08-07":"2023-08-11"] = 0.0
    model = _model(y)
    assert list(model.set_aside_days.strftime("%m-%d")) == [f"08-{day:02d}" for day in range(7, 12)]
    (told,) = [finding.what for finding in model.findings if finding.code == "days far from the rest"]
    assert told.startswith("Kept out of the fit: 5 days (2023-08-07 to 2023-08-11), -")
    clean = _model(_noisy())
    found, usual = ({t.name: t.coefficient for t in one.terms} for one in (model, clean))
    assert found["hours_open"] == pytest.approx(usual["hours_open"], rel=0.02)
    assert model.expected(YEAR).sum() == pytest.approx(y.sum(), rel=0.002)  # its total is the meter's
    wider = model.predicted_total(YEAR).standard_deviation
    assert wider > clean.predicted_total(YEAR).standard_deviation


@pytest.mark.parametrize("days", [0, 3, 13])
def test_too_few_days_are_said_to_be_too_few(days: int) -> None:
    answer = fit(_noisy().iloc[:days], YEAR)
    assert isinstance(answer, CannotSay)
    assert str(days) in answer.why


@pytest.mark.parametrize("level", [0.0, 7.5])
def test_a_steady_meter_is_fitted_without_dividing_by_nothing(level: float) -> None:
    model = _model(pd.Series(level, index=YEAR.index))
    assert model.r2 is None
    assert model.expected(YEAR).sum() == pytest.approx(365 * level, abs=1e-6)
    total = model.predicted_total(YEAR).estimate(0.9)
    assert total.low == pytest.approx(total.high, rel=1e-4, abs=1e-3)


def test_two_weeks_are_enough_for_a_plain_form() -> None:
    model = _model(_noisy().iloc[100:121])
    assert model.p <= 6
    assert np.isfinite(model.predicted_total(YEAR).standard_deviation)


def test_a_fixed_form_is_taken_as_given() -> None:
    model = _model(_noisy(), terms=["every day", "hours_open"])
    assert [term.name for term in model.terms] == ["every day", "hours_open"]


def test_repeated_columns_are_dropped_rather_than_shared_out() -> None:
    model = _model(_noisy(), terms=["every day", "open days", "closed days", "hours_open"])
    assert [term.name for term in model.terms] == ["every day", "open days", "hours_open"]


def test_an_event_set_aside_takes_no_part_and_one_modelled_gets_its_size() -> None:
    y = _noisy()
    y["2023-06-01":"2023-06-20"] += 60.0
    span = {"first": date(2023, 6, 1), "last": date(2023, 6, 20), "reason": "works"}
    aside = _model(y, events=[Event.model_validate({**span, "treatment": "set aside"})])
    assert aside.n <= 345
    sized = _model(y, events=[Event.model_validate({**span, "treatment": "model"})])
    event = next(term for term in sized.terms if term.name.startswith("event"))
    assert abs(event.coefficient - 60) < 3 * event.standard_error + 1


def test_the_wrong_sign_of_a_fixed_form_is_a_finding() -> None:
    y = 200 - 9 * YEAR["hours_open"] + np.random.default_rng(1).normal(0, 5, 365)
    model = _model(y, terms=["every day", "hours_open"])
    assert any(finding.code == "wrong sign" for finding in model.findings)


def test_a_driver_that_runs_with_the_calendar_is_a_finding() -> None:
    spring = YEAR["2023-01-10":"2023-05-31"]
    y = (300 - 10 * spring["daylight_hours"]) + np.random.default_rng(1).normal(0, 3, len(spring))
    model = fit(y, spring, terms=["every day", "daylight_hours"])
    assert isinstance(model, FittedModel)
    assert any(finding.code == "confounded with time" for finding in model.findings)


def test_days_beyond_the_range_seen_are_a_finding() -> None:
    winter = YEAR["2023-01-01":"2023-03-31"]
    model = fit(_noisy()[winter.index], winter, terms=["every day", "daylight_hours"])
    assert isinstance(model, FittedModel)
    found = model.range_findings(YEAR)
    assert [finding.code for finding in found] == ["beyond the range"]


def test_an_outdoor_meter_gives_its_switching_elevation() -> None:
    y = 2.5 * (0.4 * YEAR["night_hours_below_-4"] + 0.6 * YEAR["night_hours_below_-3"])
    model = _model(y + np.random.default_rng(2).normal(0, 0.3, 365), kind="outdoor")
    night = next(term for term in model.terms if term.name.startswith("night:"))
    assert float(night.name.split(":")[1]) == pytest.approx(-3.4, abs=0.5)
    assert night.coefficient == pytest.approx(2.5, rel=0.05)


def test_a_whole_building_gets_its_change_points() -> None:
    draw = np.random.default_rng(4)
    season = -9 * np.cos(2 * np.pi * (np.arange(365) - 15) / 365.25)
    drivers = YEAR.assign(temperature_c=10 + season + draw.normal(0, 3, 365))
    cooling = np.maximum(drivers["temperature_c"] - 16, 0)
    model = fit(TRUE + 12 * cooling + draw.normal(0, 6, 365), drivers, kind="whole building")
    assert isinstance(model, FittedModel)
    cool = next(term for term in model.terms if term.name.startswith("cool:"))
    assert float(cool.name.split(":")[1]) == pytest.approx(16, abs=1.0)
    assert cool.coefficient == pytest.approx(12, rel=0.15)


def test_a_driver_unknown_in_the_reporting_period_is_not_used() -> None:
    occupied = YEAR.assign(occupied_hours=YEAR["hours_open"] * np.random.default_rng(3).uniform(0.3, 1, 365))
    y = 10 + 20 * occupied["occupied_hours"]
    known = fit(y, occupied, applied_to=[occupied])
    blind = fit(y, occupied, applied_to=[YEAR])
    assert isinstance(known, FittedModel)
    assert isinstance(blind, FittedModel)
    assert "occupied_hours" in known.columns
    assert "occupied_hours" not in blind.columns


def test_lamps_left_burning_are_expected_again_in_other_years() -> None:
    """Simulated years of lamps forgotten over a weekend: leaving such days out would be a bias."""
    errors, held = [], []
    for seed in range(40):
        draw = np.random.default_rng(seed)
        years = []
        for _ in range(2):
            y = TRUE + draw.normal(0, 5, len(TRUE))
            for week in draw.choice(51, draw.poisson(4), replace=False):
                y.iloc[7 * int(week) + 6 : 7 * int(week) + 8] += 108.0
            years.append(y)
        model = _model(years[0])
        belief = model.predicted_total(YEAR)
        errors.append(belief.mean / years[1].sum() - 1)
        held.append(belief.quantile(0.05) <= years[1].sum() <= belief.quantile(0.95))
    assert abs(np.mean(errors)) < 0.005
    assert np.mean(held) >= 0.8


def test_the_weakest_driver_is_named_and_one_held_near_nothing_is_not_judged() -> None:
    model = _model(_noisy())
    free = [t for t in model.terms if not t.shrunk and t.name in YEAR]
    judged = next(test for test in model.tests if test.name.startswith("least |t| of a driver"))
    assert judged.value == pytest.approx(min(abs(t.t or 0.0) for t in free))
    assert judged.passed is not None
    dark = next(t for t in model.terms if t.name == "dark_open_hours")
    if dark.shrunk and abs(dark.t or 0.0) < (judged.value or 0.0):
        exempt = next(test for test in model.tests if test.name.startswith("least |t| of all"))
        assert exempt.passed is None
        assert exempt.value == pytest.approx(abs(dark.t or 0.0))
        assert "not judged" in exempt.name


def test_a_summer_without_dark_hours_leaves_what_dark_hours_bring_in_doubt() -> None:
    """Open from 9 to 17 at 48 degrees north: from May to July no open hour is dark, in winter some are."""
    study = STUDY.model_copy(
        update={"occupancy": Occupancy.model_validate({"hours": {"mon-sun": "09:00-17:00"}})}
    )
    year = daily_drivers(study, date(2023, 1, 1), date(2023, 12, 31))
    summer, winter = year["2023-05-01":"2023-07-31"], year["2023-12-01":"2023-12-31"]
    y = pd.Series(100 + np.random.default_rng(0).normal(0, 2, len(summer)), summer.index)
    assert not summer["dark_open_hours"].any()
    assert winter["dark_open_hours"].any()
    model = fit(y, summer, applied_to=[winter])
    assert isinstance(model, FittedModel)
    assert "dark_open_hours" in model.columns
    widths = [model.predicted_total(days).standard_deviation for days in (summer[:31], winter)]
    assert widths[1] > 2 * widths[0]


def test_weeks_of_holidays_are_known_again_and_not_taken_for_memory() -> None:
    """August at half: another August is expected so, and the days about it do not count as lasting."""
    august = (YEAR.index.month == 8) & YEAR["is_open_day"].to_numpy()
    y = _noisy() - 0.5 * TRUE.where(august, 0.0)
    model = _model(y)
    assert model.expected(YEAR)[august].sum() == pytest.approx(float(y[august].sum()), rel=0.05)
    assert model.persistence["30"] < 0.05
    assert "open day from 08-01 to 08-31" in model.form


def test_weeks_of_holidays_without_any_stay_near_nothing() -> None:
    found = {term.name: term.coefficient for term in _model(_noisy()).terms}
    weeks = [value for name, value in found.items() if name.startswith("weeks:")]
    assert len(weeks) == 4
    assert max(map(abs, weeks)) < 0.03 * float(TRUE[YEAR["is_open_day"]].mean())
