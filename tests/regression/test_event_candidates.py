"""Unexplained stretches of days: found when they are there, not rung for persistence."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.drivers import daily_drivers
from mv.regression import FittedModel, event_candidates, fit, level_changes
from mv.regression.events import long_run_variance

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00"}},
    }
)
YEAR = daily_drivers(STUDY, date(2023, 1, 1), date(2023, 12, 31))


def _noise(draw: np.random.Generator, persistence: float, days: int = 365) -> np.ndarray:
    values = draw.normal(size=days + 100)
    for t in range(1, len(values)):
        values[t] = persistence * values[t - 1] + np.sqrt(1 - persistence**2) * values[t]
    return values[100:]


@pytest.mark.parametrize("persistence", [0.0, 0.3, 0.6, 0.8, 0.9])
def test_persistence_alone_rings_the_alarm_in_at_most_one_meter_in_ten(persistence: float) -> None:
    draw = np.random.default_rng(11)
    alarms = [bool(level_changes(_noise(draw, persistence))) for _ in range(60)]
    assert np.mean(alarms) <= 0.10


@pytest.mark.parametrize("persistence", [0.0, 0.6, 0.9])
def test_long_run_variance_is_that_of_the_noise(persistence: float) -> None:
    draw = np.random.default_rng(12)
    found = [long_run_variance(_noise(draw, persistence)) for _ in range(60)]
    assert np.median(found) == pytest.approx((1 + persistence) / (1 - persistence), rel=0.45)


def _model(extra: pd.Series, seed: int = 5) -> FittedModel:
    noise = 6 * _noise(np.random.default_rng(seed), 0.5)
    model = fit(20 + 10 * YEAR["hours_open"] + noise + extra, YEAR)
    assert isinstance(model, FittedModel)
    return model


def test_a_month_of_extra_load_is_found_dated_and_sized() -> None:
    extra = pd.Series(0.0, index=YEAR.index)
    extra["2023-06-05":"2023-07-09"] = 25.0
    first, *_ = event_candidates(_model(extra), confidence=0.9)
    assert abs((first.first - pd.Timestamp("2023-06-05")).days) <= 4
    assert abs((first.last - pd.Timestamp("2023-07-09")).days) <= 4
    assert first.kwh_per_day.estimate == pytest.approx(25, abs=6)
    assert not first.lasting


def test_a_step_that_stays_is_called_lasting() -> None:
    extra = pd.Series(0.0, index=YEAR.index)
    extra["2023-09-20":] = -25.0
    first, *_ = event_candidates(_model(extra), confidence=0.9)
    assert first.lasting
    assert first.kwh_per_day.high < 0


def test_a_quiet_meter_has_no_candidates() -> None:
    assert event_candidates(_model(pd.Series(0.0, index=YEAR.index)), confidence=0.9) == ()


def test_the_break_of_the_nile_is_at_1898() -> None:
    """Source: R package strucchange, reference output for Nile (one break after observation 28)."""
    from statsmodels.datasets import nile

    values = nile.load_pandas().data["volume"].to_numpy(dtype=float)
    assert level_changes(values) == [28]
