"""Meters that give weeks or bills."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.study_records import Study
from mv.drivers import daily_drivers
from mv.regression import FittedModel, fit_bills
from mv.savings import avoided_energy

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 52.5, "longitude": 13.4, "timezone": "Europe/Berlin"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00"}},
    }
)
DAYS = daily_drivers(STUDY, date(2021, 1, 1), date(2023, 12, 31))


def _bills(daily: pd.Series, first: str, number: int, days: int) -> tuple[pd.Series, pd.Series]:
    starts = pd.date_range(first, periods=number, freq=f"{days}D")
    energy = [daily[start : start + pd.Timedelta(days=days - 1)].sum() for start in starts]
    last = pd.Series(starts + pd.Timedelta(days=days - 1), index=starts)
    return pd.Series(energy, index=starts), last


def _daily(seed: int) -> pd.Series:
    draw = np.random.default_rng(seed)
    noise = draw.normal(size=len(DAYS))
    for t in range(1, len(noise)):
        noise[t] = 0.7 * noise[t - 1] + np.sqrt(1 - 0.49) * noise[t]
    return (30 + 10 * DAYS["hours_open"] + 4 * DAYS["dark_open_hours"]) * (1 + 0.06 * noise)


@pytest.mark.parametrize(("number", "days"), [(12, 30), (52, 7)])
def test_bills_hold_the_total_of_the_next_year(number: int, days: int) -> None:
    later = DAYS["2023-01-01":"2023-12-31"]
    held, widths = [], []
    for seed in range(12):
        daily = _daily(seed)
        energy, last = _bills(daily, "2021-01-04", number, days)
        model = fit_bills(energy, last, DAYS[: later.index[0]], applied_to=[later])
        assert isinstance(model, FittedModel)
        result = avoided_energy(model, later, 0.5 * daily[later.index], confidence=0.9)
        assert isinstance(result.total, Estimate)
        truth = float(0.5 * daily[later.index].sum())
        held.append(result.total.low <= truth <= result.total.high)
        widths.append((result.total.high - result.total.low) / truth / 2)
    assert np.mean(held) >= 0.75
    assert np.median(widths) < 0.10


def test_a_bill_model_says_its_form_and_its_step() -> None:
    energy, last = _bills(_daily(1), "2021-01-04", 12, 30)
    model = fit_bills(energy, last, DAYS)
    assert isinstance(model, FittedModel)
    assert model.step_days == 30
    assert model.n == 12
    assert len(model.published_intervals(DAYS["2023-01-01":], 0.9)) == 5


def test_too_few_bills_are_said_to_be_too_few() -> None:
    energy, last = _bills(_daily(1), "2021-01-04", 4, 30)
    answer = fit_bills(energy, last, DAYS)
    assert isinstance(answer, CannotSay)
    assert "4 bills" in answer.why


def test_a_bill_beyond_the_known_days_is_refused() -> None:
    energy, last = _bills(_daily(1), "2021-01-04", 12, 30)
    assert isinstance(fit_bills(energy, last, DAYS["2021-06-01":]), CannotSay)
