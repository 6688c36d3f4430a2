"""Lamps without a motion log: by the clock, never off, or beside a load that comes and goes."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from mv.base.estimate import Estimate
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings

FIXTURES, WATTS = 40, 50.0
CONNECTED_KW = FIXTURES * WATTS / 1000.0


def _found(parts, level, *, signs=False, **agreed):
    """Findings from a level a reading, of lamps that no sensor rules; with what nobody agreed on, too."""
    meter, _, conditions, (first, last) = parts
    hours = meter.interval_minutes / 60.0
    energy = meter.energy_kwh.copy()
    rng = np.random.default_rng(3)
    energy[:] = level * CONNECTED_KW * hours * (1.0 + rng.normal(0.0, 0.002, len(level)))
    found = infer_settings(
        Zone(id="z", commissioned=Commissioned(**agreed), fixtures=FIXTURES, watts_after=WATTS),
        replace(meter, energy_kwh=energy),
        None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    told = (*found.signs, *found.findings) if signs else found.findings
    return {finding.setting: finding for finding in told}


@pytest.fixture
def summer(make_zone, truth_of):
    """Four months of days whose opening hours are never dark."""
    return make_zone(truth_of(), days=120, minutes=15, first="2024-04-15")


def _after(parts, days):
    index = parts[0].energy_kwh.index
    return np.asarray(index >= index[0] + timedelta(days=days))


def test_lamps_by_the_clock_answer_to_the_sun_without_dark_hours_until_their_sensor_dies(summer):
    conditions = summer[2]
    sun = np.clip(conditions["sun_elevation_deg"].to_numpy() / 60.0, 0.0, 1.0)
    dimmed = np.where(_after(summer, 70), 0.9, 0.9 * (1.0 - 0.7 * sun))
    level = np.where(conditions["is_open"].to_numpy(), dimmed, 0.01)
    found = _found(summer, level, daylight_dimming=True)["daylight_dimming"]
    assert (found.verdict, found.observed.estimate) == ("moved", False)
    assert abs(found.since - (summer[3][0] + timedelta(days=70))) <= timedelta(days=5)


@pytest.mark.parametrize(
    ("first", "days", "scatter", "seed"),
    [
        ("2024-04-15", 120, 0.025, 4),
        ("2024-04-15", 120, 0.03, 4),
        ("2024-01-15", 200, 0.025, 3),
        ("2024-01-15", 200, 0.028, 0),
        ("2024-01-15", 200, 0.03, 4),
    ],
)
def test_lamps_that_burn_on_after_hours_are_not_said_to_have_fallen_with_the_sun(
    make_zone, truth_of, first, days, scatter, seed
):
    """Each day's use varies by a few percent, whatever the sun; the nights of a lost schedule do not."""
    parts = make_zone(truth_of(), days=days, minutes=15, first=first)
    day = (parts[2]["local_day"] - parts[2]["local_day"].iloc[0]).dt.days.to_numpy()
    use = 0.8 * (1.0 + np.random.default_rng(seed).normal(0.0, scatter, days))[day]
    nights = np.where(_after(parts, days - 35), 0.8, 0.01)
    level = np.where(parts[2]["is_open"].to_numpy(), use, nights)
    found = _found(parts, level, signs=True, high_trim=0.8, scheduled_off=True)
    assert found["scheduled_off"].verdict == "moved"
    assert "daylight_dimming" not in found


@pytest.mark.parametrize("seed", range(3))
def test_a_daylight_sensor_that_dies_is_told_though_each_days_use_varies(summer, seed):
    conditions = summer[2]
    sun = np.clip(conditions["sun_elevation_deg"].to_numpy() / 60.0, 0.0, 1.0)
    day = (conditions["local_day"] - conditions["local_day"].iloc[0]).dt.days.to_numpy()
    use = 0.8 * (1.0 + np.random.default_rng(seed).normal(0.0, 0.02, 120))[day]
    lit = np.where(_after(summer, 70), use, use * (1.0 - 0.4 * sun))
    level = np.where(conditions["is_open"].to_numpy(), lit, np.where(_after(summer, 90), 0.8, 0.01))
    found = _found(summer, level, daylight_dimming=True, scheduled_off=True)
    assert (found["daylight_dimming"].verdict, found["scheduled_off"].verdict) == ("moved", "moved")
    died = summer[3][0] + timedelta(days=70)
    assert abs(found["daylight_dimming"].since - died) <= timedelta(days=5)


def test_a_full_on_level_that_rises_where_lamps_are_never_off_is_no_load_beside_them(summer):
    found = _found(summer, np.where(_after(summer, 60), 1.0, 0.78), high_trim=0.78, scheduled_off=False)
    trim = found["high_trim"]
    assert trim.verdict == "moved" and trim.observed.estimate == pytest.approx(1.0, abs=0.03)
    assert abs(trim.since - (summer[3][0] + timedelta(days=60))) <= timedelta(days=2)


@pytest.mark.parametrize("other", [0.06, 0.12])
def test_a_load_that_comes_and_goes_is_doubted_without_a_log_too(summer, other):
    conditions = summer[2]
    burning = np.sin(np.arange(len(conditions)) * 15.0 / 47.0) > 0.2
    level = np.where(conditions["is_open"].to_numpy(), 0.80, 0.01) + other * burning
    trim = _found(summer, level, high_trim=0.80, scheduled_off=True)["high_trim"]
    assert trim.verdict != "moved"
    if isinstance(trim.observed, Estimate):
        assert trim.observed.low <= 0.80 <= trim.observed.high


def test_standby_below_what_was_agreed_is_told_as_such(summer):
    level = np.where(summer[2]["is_open"].to_numpy(), 0.80, 0.4 / WATTS)
    standby = _found(summer, level, high_trim=0.80, standby_watts=2.0)["standby_watts"]
    assert standby.verdict == "moved" and standby.since is None
    assert standby.observed.estimate == pytest.approx(0.4, abs=0.05)
