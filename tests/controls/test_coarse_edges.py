"""Edges of the day on an hourly meter: dusk moves one of them by a reading at once, a clock moves both."""

from dataclasses import replace

import numpy as np
import pytest

from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings
from mv.controls.vacant_days import vacant_days
from mv.controls.zone_table import ZoneTable


def shift_told(parts, first_hour, last_hour):
    """Whether lamps from one hour of each day to another show a schedule that shifted."""
    meter, _, conditions, (first, last) = parts
    day = (conditions["local_day"] - conditions["local_day"].iloc[0]).dt.days.to_numpy()
    hour = np.arange(len(day)) % 24
    lit = np.clip(hour + 1.0 - first_hour[day], 0.0, 1.0) * np.clip(last_hour[day] - hour, 0.0, 1.0)
    energy = meter.energy_kwh.copy()
    energy[:] = 2.0 * (0.01 + 0.8 * lit)
    agreed = Commissioned(high_trim=0.8, daylight_dimming=True)
    found = infer_settings(
        Zone(id="z", commissioned=agreed, fixtures=40, watts_after=50.0),
        replace(meter, energy_kwh=energy),
        None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    return any(sign.setting == "schedule_shift_hours" for sign in found.signs)


@pytest.fixture
def hourly(make_zone, truth_of):
    return make_zone(truth_of(), days=90, minutes=60, first="2024-04-01")


def leaving(seed):
    """The hour at which the last people leave, another each day."""
    return 22.5 + np.random.default_rng(seed).normal(0.0, 0.8, 90)


@pytest.mark.parametrize("seed", range(3))
def test_lamps_that_come_on_with_the_dusk_are_no_schedule_that_shifted(hourly, seed):
    dusk = 18.35 + 1.3 * np.arange(90) / 90.0  # crosses a full hour once
    assert not shift_told(hourly, dusk, leaving(seed))


@pytest.mark.parametrize("hours", [1.0, 2.0])
def test_a_clock_that_moves_both_edges_is_still_told(hourly, hours):
    wrong = np.where(np.arange(90) >= 45, hours, 0.0)
    assert shift_told(hourly, 7.0 + wrong, 19.0 + wrong)


def test_one_edge_that_moved_by_several_readings_is_still_told(hourly):
    wrong = np.where(np.arange(90) >= 45, 3.0, 0.0)
    assert shift_told(hourly, 7.0 + wrong, leaving(1))


def test_an_edge_that_stood_says_that_no_clock_moved_the_other(hourly):
    """The evening's edge stands at 19:00 all year while people come an hour later."""
    came = np.where(np.arange(90) >= 45, 8.0, 7.0)
    assert not shift_told(hourly, came, np.full(90, 19.0))


@pytest.mark.parametrize("seed", range(3))
def test_people_who_come_about_the_full_hour_are_no_clock(hourly, seed):
    """Seven in the morning, give or take ten minutes; of late always after."""
    came = np.random.default_rng(seed).choice([6.9, 7.1], 90, p=[0.7, 0.3])
    came[72:] = 7.1
    assert not shift_told(hourly, came, leaving(seed))


@pytest.mark.parametrize(("minutes", "levels"), [(60.0, []), (15.0, [0.35] * 4)])
def test_an_hour_in_which_opening_hours_may_end_is_not_read_as_the_level_when_vacant(minutes, levels):
    """0.4 until the hours end within the last open reading, which leaves too few; short ones seldom are."""
    hour = np.tile(np.arange(24.0), 4)
    opened = (hour >= 8) & (hour < 18)
    table = ZoneTable(
        minutes=minutes,
        start=np.arange(96) * minutes,
        level=np.where(hour == 17, 0.3, np.where(opened, 0.4, 0.0)),
        is_open=opened,
        sun=np.full(96, 30.0),
        day=np.repeat(np.arange(4), 24),
        hour=hour,
        month=np.zeros(96, dtype=np.int64),
        age=np.full(96, 90.0),
        age_max=np.full(96, 90.0 + minutes),
    )
    low = vacant_days(table, (hour >= 16) & (hour < 18), 0.0)["low"]
    assert low.value.tolist() == pytest.approx(levels)
