"""The interval of a few hours reaches as far as as few baseline days departed."""

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.peak import departures_of_runs, with_departures
from mv.peak.few_days import MOST_DAYS

BELL = Estimate(5.0, 4.0, 6.0, 0.90)


def _residuals(*, half_on: int, days: int = 60) -> pd.Series:
    """Days at the model, and some on which half of the lamps stayed off: 4 kW less."""
    values = np.full(days, 0.4)
    values[:: days // half_on] = -4.0
    return pd.Series(values, index=pd.bdate_range("2022-06-01", periods=days))


def test_departures_of_runs_are_the_means_of_neighbouring_days() -> None:
    residuals = pd.Series([1.0, 2.0, 6.0, -3.0], index=pd.bdate_range("2022-06-01", periods=4))
    assert departures_of_runs(residuals, 2).tolist() == [1.5, 4.0, 1.5]
    assert departures_of_runs(residuals, 5).size == 0


def test_one_hour_may_be_one_of_the_half_lit_ones() -> None:
    answer = with_departures(BELL, _residuals(half_on=6), days=1)
    assert isinstance(answer, Estimate)
    assert answer.low == pytest.approx(1.0)
    assert answer.high == 6.0
    assert answer.estimate == 5.0


def test_half_lit_days_rarer_than_the_tail_do_not_count() -> None:
    assert with_departures(BELL, _residuals(half_on=2), days=1) == BELL


def test_many_days_and_few_runs_keep_the_models_own_interval() -> None:
    assert with_departures(BELL, _residuals(half_on=6), days=MOST_DAYS + 1) == BELL
    assert with_departures(BELL, _residuals(half_on=6, days=6), days=1) == BELL
    unsaid = CannotSay("peak_kw", "no model")
    assert with_departures(unsaid, _residuals(half_on=6), days=1) is unsaid


def test_coverage_of_one_day_drawn_like_the_others_is_at_least_nominal() -> None:
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(400):
        draw = np.where(rng.random(61) < 0.12, -4.0, 0.5) + 0.1 * rng.standard_normal(61)
        known = pd.Series(draw[:60], index=pd.bdate_range("2022-06-01", periods=60))
        answer = with_departures(Estimate(5.0, 5.0, 5.0, 0.90), known, days=1)
        assert isinstance(answer, Estimate) and answer.low is not None and answer.high is not None
        held += answer.low <= 5.0 + draw[60] <= answer.high
    assert held / 400 >= 0.87  # 0.90 less two standard errors
