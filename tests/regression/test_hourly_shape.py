"""An hourly fit as a driver of the daily model."""

from datetime import date

import numpy as np
import pandas as pd

from mv.base.study_records import Study
from mv.drivers import daily_drivers, hourly_drivers
from mv.regression import FittedModel, expected_by_hour, fit

STUDY = Study.model_validate(
    {
        "format": 1,
        "site": {"latitude": 55.9, "longitude": -3.2, "timezone": "Europe/London"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
        "occupancy": {"hours": {"mon-fri": "07:00-19:00"}},
    }
)
HOURS = hourly_drivers(STUDY, date(2022, 1, 1), date(2023, 12, 31))
DAYS = daily_drivers(STUDY, date(2022, 1, 1), date(2023, 12, 31))


def _energy() -> pd.Series:
    """Two evenings a week stay lit till 22:00, and dark opening hours use more."""
    draw = np.random.default_rng(3)
    evening = HOURS["hour_of_week"].isin([19, 20, 21, 67, 68, 69])
    use = 1 + 8 * HOURS["open_share"] * (1 + 0.4 * HOURS["dark_share"]) + 6 * evening
    return use * (1 + 0.05 * draw.normal(size=len(HOURS)))


def test_the_hourly_shape_is_chosen_where_it_foretells_days_better() -> None:
    energy = _energy()
    before, after = HOURS[HOURS["local_day"] < "2023-01-01"], HOURS[HOURS["local_day"] >= "2023-01-01"]
    shapes = expected_by_hour(energy, before, [after])
    assert shapes is not None
    daily = energy.groupby(HOURS["local_day"]).sum()
    table = DAYS.join(pd.concat(shapes))
    past, later = table[:"2022-12-31"], table["2023-01-01":]
    shaped = fit(daily[past.index], past, applied_to=[later], hourly_sum="expected_by_hour")
    plain = fit(daily[past.index], past.drop(columns="expected_by_hour"))
    assert isinstance(shaped, FittedModel)
    assert isinstance(plain, FittedModel)
    assert shaped.cv_rmse is not None
    assert plain.cv_rmse is not None
    assert shaped.cv_rmse <= plain.cv_rmse * 1.02
    assert any("hourly" in tried.form for tried in shaped.alternatives)
    error = shaped.expected(later).sum() / daily[later.index].sum() - 1
    assert abs(error) < 0.01


def test_a_fitted_day_is_expected_from_other_blocks() -> None:
    energy = _energy()
    before = HOURS[HOURS["local_day"] < "2023-01-01"]
    spoiled = energy.copy()
    first = before["local_day"] < "2022-01-15"
    spoiled[before.index[first]] = 500.0
    honest, other = expected_by_hour(energy, before, []), expected_by_hour(spoiled, before, [])
    assert honest is not None
    assert other is not None
    days = slice("2022-01-01", "2022-01-14")
    np.testing.assert_allclose(honest[0][days], other[0][days], rtol=0.35)
    assert float(other[0]["2022-01-03"]) < 500


def test_two_weeks_of_hours_give_no_shape() -> None:
    few = HOURS[:336]
    assert expected_by_hour(_energy(), few, []) is None
