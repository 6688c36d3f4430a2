"""What only bounds a setting is not called moved."""

import numpy as np
import pytest

from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings
from mv.controls.restless import restlessness
from mv.controls.unison import usually
from mv.controls.zone_table import zone_record


def verdicts(truth, parts, *, motion):
    meter, log, conditions, (first, last) = parts
    agreed = Commissioned(
        high_trim=truth.high_trim,
        low_level=truth.low_level,
        hold_minutes=truth.hold_minutes,
        daylight_dimming=truth.daylight_dimming,
        scheduled_off=truth.scheduled_off,
    )
    zone = Zone(id="z", fixtures=truth.fixtures, watts_after=truth.watts, commissioned=agreed)
    result = infer_settings(
        zone,
        meter,
        log if motion else None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    return {finding.setting: finding.verdict for finding in result.findings}


@pytest.mark.parametrize("minutes", [5, 15, 60])
def test_a_daylit_zone_without_a_log_that_changed_nothing_is_never_moved(make_zone, truth_of, minutes):
    truth = truth_of(daylight_dimming=True)
    found = verdicts(truth, make_zone(truth, days=120, minutes=minutes, seed=3), motion=False)
    assert "moved" not in found.values()
    assert found["hold_minutes"] == "cannot tell"


def test_a_meter_of_coarse_pulses_is_read_over_longer_intervals(make_zone, truth_of):
    truth = truth_of()
    parts = make_zone(truth, days=40, minutes=1, seed=5, resolution_kwh=0.01)
    assert "moved" not in verdicts(truth, parts, motion=True).values()
    meter, log, conditions, (first, last) = parts
    record = zone_record(
        meter, log, conditions, reporting=Span(first=first, last=last), timezone="UTC", connected_kw=2.0
    )
    assert record.table.minutes > meter.interval_minutes


def test_a_steady_night_is_not_restless(make_zone, truth_of):
    meter, log, conditions, (first, last) = make_zone(truth_of(), days=30, minutes=5, seed=6)
    record = zone_record(
        meter, log, conditions, reporting=Span(first=first, last=last), timezone="UTC", connected_kw=2.0
    )
    assert restlessness(record.table, record.step_level) == pytest.approx(0.0, abs=0.002)
    assert np.isfinite(record.table.age).any()


def test_months_that_do_not_say_leave_it_open():
    assert usually([None, None]) is None
    assert usually([None, True, True, False]) is True
