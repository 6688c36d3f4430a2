"""Odd days: what people do now and then is no fault, what lasts and recurs is one."""

import numpy as np
import pandas as pd
import pytest

from mv.drift import DriftSeries, find_drift


def year(odd: dict[int, float], *, seed: int = 11) -> DriftSeries:
    """A year of 40 kWh on open days and 6 on closed ones; `odd`: kWh more on days by number."""
    rng = np.random.default_rng(seed)
    index = pd.date_range("2024-01-01", periods=365)
    is_open = np.asarray(index.day_of_week < 5)
    energy = np.where(is_open, 40.0, 6.0) + rng.standard_normal(365) * np.where(is_open, 2.0, 0.4)
    for day, more in odd.items():
        energy[day] += more
    drivers = pd.DataFrame({"hours_open": np.where(is_open, 12.0, 0.0), "is_open_day": is_open}, index=index)
    return DriftSeries("z", pd.Series(energy, index), drivers, ("z",))


def recurring(odd: dict[int, float]) -> list:
    return [f for f in find_drift([year(odd)], [], confidence=0.9) if f.kind == "recurring"]


SINGLE = range(7, 364, 21)  # 17 days, each by itself


@pytest.mark.parametrize(("kwh", "told"), [(25.0, 0), (40.0, 1)])
def test_single_long_days_are_told_only_where_they_are_worth_a_twentieth_of_the_energy(kwh, told):
    """17 days of 25 kWh are 4 % of the year's 11,000 kWh, of 40 kWh 6 %."""
    assert len(recurring(dict.fromkeys(SINGLE, kwh))) == told


def test_spells_of_several_days_are_told_at_less():
    """Six spells of three days of 25 kWh: 4 %, the same as many single days that are not told."""
    days = [first + i for first in range(14, 364, 63) for i in range(3)]
    (found,) = recurring(dict.fromkeys(days, 25.0))
    assert found.what.startswith("6 spells, 18 days in all")
