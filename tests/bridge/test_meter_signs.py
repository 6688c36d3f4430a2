"""Small judgements that the bridge makes of a meter: standby, dimming, the old load."""

import numpy as np
import pandas as pd
import pytest

from mv.bridge.daylight_drop import dims_by_day, dims_by_day_when_held
from mv.bridge.daylit_vacant import vacant_share_left
from mv.bridge.old_lighting import OldUse, old_load
from mv.bridge.standby import standby_from_floor

FIXTURES = np.array([60.0, 40.0])


def test_a_floor_with_nothing_else_in_it_is_standby_and_shared_by_fixtures() -> None:
    kw, error = standby_from_floor(FIXTURES, 0.05, egress=(0.0, 0.0))
    assert kw == pytest.approx([0.030, 0.020])
    assert error.sum() < 0.1 * kw.sum()


def test_what_never_stopped_before_is_taken_off_the_floor() -> None:
    kw, error = standby_from_floor(FIXTURES, 0.25, egress=(0.1, 0.3))
    assert kw.sum() == pytest.approx(0.05)
    assert error.sum() >= 0.1


def test_a_floor_too_high_for_standby_is_bounded_from_nothing_to_three_watts() -> None:
    kw, error = standby_from_floor(FIXTURES, 2.0)
    assert kw.sum() == pytest.approx(0.15)
    assert kw.sum() - 1.645 * error.sum() == pytest.approx(0.0, abs=1e-3)


def test_the_agreed_standby_is_kept_where_the_floor_holds_other_load() -> None:
    kw, _ = standby_from_floor(FIXTURES, 0.12, agreed_kw=0.04)
    assert kw.sum() == pytest.approx(0.04)
    lower, _ = standby_from_floor(FIXTURES, 0.02, agreed_kw=0.04)
    assert lower.sum() == pytest.approx(0.02)


def test_no_floor_or_no_fixtures_is_no_standby() -> None:
    assert standby_from_floor(FIXTURES, 0.0)[0].sum() == 0.0
    assert standby_from_floor(np.zeros(2), 1.0)[0].sum() == 0.0


def _days(dim: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    hour = np.tile(np.arange(0, 24, 0.25), 20)
    sun = 60.0 * np.sin((hour - 6.0) / 12.0 * np.pi)
    lit = (hour >= 5) & (hour < 21)
    power = np.where(lit, 4.0 - dim * np.clip(sun, 0, None) / 60.0, 0.1)
    return power, lit, sun


@pytest.mark.parametrize(("dim", "says"), [(0.0, False), (2.0, True)])
def test_dimming_by_day_is_seen_with_and_without_motion(dim: float, says: bool) -> None:
    power, lit, sun = _days(dim)
    dark = sun < -3.0
    assert dims_by_day_when_held(power, lit, dark, sun, hours=0.25) is says
    assert dims_by_day(power, dark, sun, hours=0.25) is (says if dim == 0.0 else True)


def test_without_dark_hours_nothing_is_said_of_dimming() -> None:
    power, lit, _ = _days(2.0)
    always = np.full(len(power), 40.0)
    nowhere = np.zeros(len(power), dtype=bool)
    assert dims_by_day_when_held(power, lit, nowhere, always, hours=0.25) is None
    assert dims_by_day(power, nowhere, always, hours=0.25) is None


def test_daylight_leaves_vacant_lamps_the_lower_of_two_levels() -> None:
    sun = np.repeat([-10.0, 10.0, 40.0], 50)
    level = np.repeat([1.0, 0.5, 0.1], 50)
    held = np.ones(150)
    share = vacant_share_left(level, held, sun, vacant_level=0.2, above_deg=-3.0)
    assert share[[0, 60, 140]] == pytest.approx([1.0, 1.0, 0.5])


def _old(noise: float = 0.01, kw: float = 9.6) -> pd.Series:
    rng = np.random.default_rng(2)
    index = pd.date_range("2024-01-01", "2024-03-01", freq="15min", tz="UTC", inclusive="left")
    on = (index.hour >= 7) & (index.hour < 19)
    return pd.Series(np.where(on, kw, 0.0) + 0.2 + noise * rng.random(len(index)), index=index)


def test_the_old_plateau_tells_failed_lamps_from_the_stated_load() -> None:
    load = old_load(_old(), 10.0, quantile_minutes=15.0)
    assert load.lamps_kw == pytest.approx(9.6, abs=0.02)
    assert load.floor_kw == pytest.approx(0.2, abs=0.01)
    assert load.floor_known and "metered plateau" in load.why
    assert "above the 0.2 kW that never stopped (stated 10 kW)" in load.why
    assert load.egress_after(4.8) == pytest.approx((0.1, 0.2), abs=0.01)


@pytest.mark.parametrize("stated", [20.0, 5.0])
def test_a_plateau_far_from_the_stated_load_is_not_believed(stated: float) -> None:
    load = old_load(_old(), stated, quantile_minutes=15.0)
    assert load.lamps_kw == stated and "stated" in load.why


def test_without_baseline_readings_the_stated_load_stands() -> None:
    load = old_load(None, 10.0, quantile_minutes=15.0)
    assert (load.lamps_kw, load.floor_known, load.egress_after(5.0)) == (10.0, False, None)


def test_burning_hours_leave_out_what_never_stops() -> None:
    load = old_load(_old(), 10.0, quantile_minutes=15.0)
    use = OldUse(9.6 * 100 + load.floor_kw * 1000, 50.0, load)
    assert use.burning_hours(1000.0) == pytest.approx(100.0, rel=0.01)
    assert use.more().burning_hours(1000.0) > use.burning_hours(1000.0)
    assert use.heavier().burning_hours(1000.0) < use.burning_hours(1000.0)
