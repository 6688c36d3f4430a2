"""Lamps outdoors are told from daily energy, and lamps indoors are not taken for them."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.study_records import Study
from mv.drivers import daily_drivers
from mv.regression import follows_darkness


def _drivers(latitude: float, months: int, *, hours: bool) -> pd.DataFrame:
    record: dict[str, object] = {
        "format": 1,
        "site": {"latitude": latitude, "longitude": 10.0, "timezone": "Etc/GMT-1"},
        "meter": [{"id": "m", "files": ["m.csv"]}],
    }
    if hours:
        record["occupancy"] = {"hours": {"mon-sun": "08:00-22:00"}}
    last = (pd.Timestamp("2022-01-01") + pd.Timedelta(days=round(30.44 * months) - 1)).date()
    return daily_drivers(Study.model_validate(record), date(2022, 1, 1), last)


def _with_noise(kwh: np.ndarray, table: pd.DataFrame, share: float = 0.03) -> pd.Series:
    draw = np.random.default_rng(3)
    return pd.Series(kwh * (1 + share * draw.normal(size=len(table))), table.index)


@pytest.mark.parametrize("latitude", [52.0, -35.0])
@pytest.mark.parametrize("months", [3, 12])
@pytest.mark.parametrize("hours", [False, True])
def test_days_in_proportion_to_darkness_are_lamps_outdoors(latitude: float, months: int, hours: bool) -> None:
    table = _drivers(latitude, months, hours=hours)
    assert follows_darkness(_with_noise(20 * table["night_hours_below_-1"].to_numpy(), table), table)


def test_lamps_that_burn_all_day_and_more_in_the_dark_are_not() -> None:
    table = _drivers(52.0, 12, hours=True)
    shop = 100 + 20 * table["dark_open_hours"].to_numpy()
    corridor = 300 + 2 * table["dark_hours"].to_numpy()
    assert not follows_darkness(_with_noise(shop, table), table)
    assert not follows_darkness(_with_noise(corridor, table), table)


def test_where_nights_are_of_one_length_nothing_is_told() -> None:
    table = _drivers(1.0, 12, hours=False)
    assert not follows_darkness(_with_noise(20 * table["dark_hours"].to_numpy(), table), table)


def test_too_few_days_or_no_energy_tell_nothing() -> None:
    table = _drivers(52.0, 1, hours=False)
    assert not follows_darkness(_with_noise(table["dark_hours"].to_numpy(), table), table)
    year = _drivers(52.0, 12, hours=False)
    assert not follows_darkness(pd.Series(0.0, year.index), year)
