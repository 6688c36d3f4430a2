"""Lamps that burn at full all day where they used to fall, told without a motion log."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings

DAY = 70  # of 130, from which a cover over the sensor keeps the lamps at full in the hours


def full_day_signs(truth, parts):
    meter, _, conditions, (first, last) = parts
    agreed = Commissioned(
        high_trim=truth.high_trim,
        low_level=truth.low_level,
        hold_minutes=truth.hold_minutes,
        daylight_dimming=truth.daylight_dimming,
        scheduled_off=truth.scheduled_off,
    )
    found = infer_settings(
        Zone(id="z", commissioned=agreed, fixtures=truth.fixtures, watts_after=truth.watts),
        meter,
        None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    return [sign for sign in found.signs if sign.setting == "full_all_day"]


def covered(parts, truth, minutes):
    """The same zone with its lamps at the full level in every open reading from the day on."""
    meter, log, conditions, span = parts
    late = np.arange(len(meter.energy_kwh)) >= DAY * 1440 // minutes
    full = truth.fixtures * truth.watts * truth.high_trim * minutes / 60000.0
    energy = meter.energy_kwh.where(~(late & conditions["is_open"].to_numpy(dtype=bool)), full)
    return replace(meter, energy_kwh=energy), log, conditions, span


@pytest.mark.parametrize("minutes", [5, 15, 60])
@pytest.mark.parametrize(("low", "busy"), [(0.0, 1.0), (0.3, 1.0), (0.2, 4.0)])
def test_a_covered_sensor_shows_without_a_log(make_zone, truth_of, minutes, low, busy):
    truth = truth_of(low_level=low, hold_minutes=8.0, daylight_dimming=False)
    parts = covered(make_zone(truth, days=130, minutes=minutes, seed=5, busy=busy), truth, minutes)
    (sign,) = full_day_signs(truth, parts)
    assert abs(sign.since - (parts[3][0] + timedelta(days=DAY))) <= timedelta(days=3)


@pytest.mark.parametrize("minutes", [5, 60])
@pytest.mark.parametrize("busy", [0.5, 2.0, 6.0])
def test_a_sensor_that_works_shows_nothing_of_the_kind(make_zone, truth_of, minutes, busy):
    truth = truth_of(hold_minutes=8.0, daylight_dimming=False)
    for seed in range(3):
        assert full_day_signs(truth, make_zone(truth, days=130, minutes=minutes, seed=seed, busy=busy)) == []
