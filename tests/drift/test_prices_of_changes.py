"""What a change costs a month, where the truth is known: also where it alters the answer to people."""

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import Estimate
from mv.base.setting_records import MONTHLY_COLUMNS, SettingFinding, ZoneSettings
from mv.drift import DriftSeries, find_drift

RESET_AT = 160


def sensed_zone(seed, *, full_before, full_after, hold_share, n=330):
    """A zone whose lamps follow people, with seasons in them; and what the reset truly costs a day."""
    rng = np.random.default_rng(seed)
    index = pd.date_range("2024-03-01", periods=n)
    is_open = np.asarray(index.day_of_week < 5)
    season = 1.2 * np.sin(2 * np.pi * np.arange(n) / 365)
    people = np.where(is_open, 5.0 + season + rng.normal(0, 1.2, n), rng.uniform(0, 0.3, n))
    after = np.arange(n) >= RESET_AT
    would = full_before * people
    now = full_after * (people + hold_share * np.where(is_open, 11.0 - people, 0.2))
    energy = np.where(after, now, would) + 3.0 + rng.normal(0, 0.5, n)
    sun = np.where(is_open, 6 + 3 * np.sin(2 * np.pi * (np.arange(n) - 20) / 365), 0.0)
    drivers = pd.DataFrame(
        {
            "hours_open": np.where(is_open, 11.0, 0.0),
            "sun_open_hours": sun,
            "motion_hours": people,
            "is_open_day": is_open,
            "is_holiday": False,
        },
        index=index,
    )
    series = DriftSeries("z", pd.Series(energy, index), drivers, ("z",))
    return series, float((now - would)[after].mean())


def reset_settings(day):
    found = SettingFinding(
        "z",
        "high_trim",
        0.6,
        Estimate(1.0, 0.99, 1.01, 0.9),
        "moved",
        day,
        "the full-on level went up",
        None,
        Estimate(0.6, 0.59, 0.61, 0.9),
    )
    return ZoneSettings("z", (found,), pd.DataFrame(columns=list(MONTHLY_COLUMNS)))


def told_over_true(seed, *, hold_share, users=0.0):
    """`users`: kWh a day that people's own doing adds some weeks before, too little to be told."""
    series, a_day = sensed_zone(seed, full_before=2.0, full_after=3.4, hold_share=hold_share)
    own = np.where(np.arange(len(series.energy_kwh)) >= RESET_AT - 50, users, 0.0)
    series = DriftSeries("z", series.energy_kwh + own, series.drivers, ("z",))
    day = series.energy_kwh.index[RESET_AT].date()
    found = find_drift([series], [reset_settings(day)], confidence=0.9)
    assert [f.since for f in found] == [day]
    energy = found[0].kwh_per_month
    assert isinstance(energy, Estimate)
    return float(energy.estimate) / (30.4375 * a_day)


@pytest.mark.parametrize("hold_share", [0.0, 0.3, 0.8])
def test_a_reset_is_told_with_all_its_energy(hold_share):
    """Six zones: on the mean within 4 %, each within 10 %, of what the reset costs by its own formula."""
    ratios = [told_over_true(seed, hold_share=hold_share) for seed in range(6)]
    assert np.mean(ratios) == pytest.approx(1.0, abs=0.04)
    assert ratios == pytest.approx([1.0] * 6, abs=0.1)


def test_a_change_that_is_not_told_takes_no_energy_from_the_one_that_is():
    """What people's own doing adds is 1 of some 9 kWh a day: more than that cannot be laid on the reset."""
    ratios = [told_over_true(seed, hold_share=0.3, users=1.0) for seed in range(6)]
    assert min(ratios) > 0.95
    assert max(ratios) < 1.2
