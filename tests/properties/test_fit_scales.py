"""What a fit must not depend on: the unit of energy, and the order of the rows."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mv.base.study_records import Study
from mv.drivers import daily_drivers
from mv.regression import FittedModel, fit

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": -33.9, "longitude": 151.2, "timezone": "Australia/Sydney"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00", "sat": "08:00-12:00"}},
    }
)
DAYS = daily_drivers(STUDY, date(2022, 7, 1), date(2024, 6, 30))
BEFORE, AFTER = DAYS[:"2023-06-30"], DAYS["2023-07-01":]


def _fitted(seed: int, factor: float) -> tuple[FittedModel, float]:
    noise = np.random.default_rng(seed).normal(0, 8, len(BEFORE))
    model = fit(factor * (15 + 9 * BEFORE["hours_open"] + noise), BEFORE, applied_to=[AFTER])
    assert isinstance(model, FittedModel)
    return model, factor


@settings(max_examples=5, deadline=None, derandomize=True)
@given(st.integers(0, 1000), st.sampled_from([1e-6, 1e-3, 0.5, 1e3, 1e6]))
def test_the_unit_of_energy_does_not_matter(seed: int, factor: float) -> None:
    (one, _), (other, _) = _fitted(seed, 1.0), _fitted(seed, factor)
    assert one.columns == other.columns
    a, b = one.predicted_total(AFTER).estimate(0.9), other.predicted_total(AFTER).estimate(0.9)
    for name in ("estimate", "low", "high"):
        assert getattr(b, name) == pytest.approx(factor * getattr(a, name), rel=1e-6)


@settings(max_examples=5, deadline=None, derandomize=True)
@given(st.integers(0, 1000))
def test_the_order_of_the_readings_does_not_matter(seed: int) -> None:
    y = 15 + 9 * BEFORE["hours_open"] + np.random.default_rng(seed).normal(0, 8, len(BEFORE))
    shuffled = y.sample(frac=1.0, random_state=seed)
    one, other = fit(y, BEFORE), fit(shuffled, BEFORE)
    assert isinstance(one, FittedModel)
    assert isinstance(other, FittedModel)
    assert other.predicted_total(AFTER).mean == pytest.approx(one.predicted_total(AFTER).mean, rel=1e-12)
