"""What is claimed of a setting is what the readings carry: else its interval is wider, or it is untold."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings
from mv.controls.daily import Daily
from mv.controls.hindrances import too_loose
from mv.controls.hold_offset import UNSEEN_FADE_MINUTES, USUAL_FADE_MINUTES, hold_offset
from mv.controls.hold_time import NO_EVENTS
from mv.controls.level_doubts import HIDDEN, LATELY, TOO_LOOSE, as_loose, unknown_level
from mv.controls.motion_age import MotionRuns, ages
from mv.controls.setting_rules import AT_LOW_LEVEL
from mv.controls.steps import Level
from mv.controls.switch_on_lag import switch_on_lags
from mv.controls.verdicts import Scale, level_estimate
from mv.controls.zone_table import ZoneTable


def finding(half, verdict="kept"):
    now = Estimate(0.8, 0.8 - half, 0.8 + half, 0.9)
    return SettingFinding("z", "high_trim", 0.8, now, verdict, None, "so it is read")


def days_at(*values):
    return Daily(np.arange(len(values)), np.array(values), np.ones(len(values)))


STEADY = Level(0, 40, 0.8, 0.002, 40)


@pytest.mark.parametrize(
    ("found", "level", "last", "reason"),
    [
        (finding(0.01), STEADY, 0.80, None),
        (finding(0.05), STEADY, 0.80, HIDDEN),
        (finding(0.05, "moved"), STEADY, 0.80, None),
        (finding(0.01), replace(STEADY, noise=0.08), 0.80, TOO_LOOSE),
        (finding(0.01), STEADY, 0.97, LATELY),
    ],
)
def test_a_level_is_known_to_three_per_cent_on_days_that_agree_and_lately_or_not_at_all(
    found, level, last, reason
):
    days = days_at(*[0.8] * 38, last, last)
    assert unknown_level(found, [level], days) == reason


def offset(**more):
    usual = {"shortest_motion_minutes": 0.0, "lag_known": True, "in_parts": False, "confidence": 0.9}
    return hold_offset(NO_EVENTS, interval_minutes=5.0, **(usual | more))


def test_a_hold_time_may_be_shorter_by_an_unseen_fade_than_it_is_read_and_hardly_longer():
    found = offset()
    assert found.minutes == pytest.approx(-USUAL_FADE_MINUTES / 2)
    for fade in (0.05 * UNSEEN_FADE_MINUTES, 0.5, 0.95 * UNSEEN_FADE_MINUTES):
        truth = -fade / 2  # by which the middle of the fall is late
        assert found.minutes - found.too_long <= truth + 1e-9
        assert truth <= found.minutes + found.too_short + 1e-9
    assert found.too_short < 0.5 * found.too_long


def test_a_log_that_holds_motion_back_and_a_fade_add_up():
    alone, both = offset(), offset(shortest_motion_minutes=0.3)
    assert both.too_long == pytest.approx(alone.too_long + 0.45 * 0.3)
    assert both.minutes == pytest.approx(alone.minutes + 0.15)


def test_the_lower_end_reaches_further_where_the_doubt_does_and_never_below_nothing():
    scale = Scale("the hold time", "min", 1, 0.2, 0.9, further_down=0.3)
    told = level_estimate(Level(0, 60, 5.0, 0.0, 61), scale)
    assert (told.low, told.high) == (pytest.approx(4.5), pytest.approx(5.2))
    assert level_estimate(Level(0, 60, 0.1, 0.0, 61), scale).low == 0.0


@pytest.mark.parametrize(
    ("noise", "parts", "loose"), [(0.8, 0.0, False), (3.0, 0.0, True), (3.0, 15.0, False)]
)
def test_days_whose_hold_times_differ_by_minutes_show_no_one_hold_time(noise, parts, loose):
    assert too_loose(Estimate(12.0, 11.0, 13.0, 0.9), noise, parts) is loose


def quarter_hours(level, is_open, runs):
    start = np.arange(len(level)) * 15.0
    age, age_max = ages(runs, start, 15.0)
    n = len(level)
    return ZoneTable(
        minutes=15.0,
        start=start,
        level=level,
        is_open=is_open,
        sun=np.full(n, -20.0),
        day=(start // 1440).astype(np.int64),
        hour=start % 1440 / 60.0,
        month=np.zeros(n, dtype=np.int64),
        age=age,
        age_max=age_max,
    )


def mornings(scheduled):
    """Twenty mornings: somebody comes at 7:04 and stays; lamps at rest rise at 6:45 by their schedule."""
    begins = np.arange(20) * 1440.0 + 424.0
    runs = MotionRuns(None, begins, begins + 300.0, 0.0, 20 * 1440.0)
    start = np.arange(20 * 96) * 15.0
    within = start % 1440
    level = np.where((within >= 435) & (within < 720), 0.6, 0.0)
    level[within == 420] = 0.6 * 11 / 15
    is_open = (within >= 405) & (within < 1080)
    if scheduled:
        level = np.where(is_open, np.maximum(level, 0.4), level)
        level[within == 420] = 0.4 + 0.2 * 11 / 15
    return quarter_hours(level, is_open, runs), runs


def test_lamps_at_rest_that_a_schedule_lifts_are_no_clock_that_runs_ahead():
    table, runs = mornings(scheduled=True)
    assert not len(switch_on_lags(table, runs, rested=20.0))


def test_lamps_that_come_on_with_people_tell_the_clock_on_quarter_hours():
    table, runs = mornings(scheduled=False)
    open_all = replace(table, is_open=np.ones(len(table), dtype=bool))
    assert switch_on_lags(open_all, runs, rested=20.0) == pytest.approx(np.zeros(19), abs=0.01)


def test_a_lost_schedule_that_leaves_lamps_at_a_low_level_is_no_higher_standby(make_zone, truth_of):
    truth = truth_of(low_level=0.04, later={45: {"scheduled_off": False}})
    meter, _, conditions, (first, last) = make_zone(truth, minutes=5, days=91, seed=18)
    agreed = Commissioned(standby_watts=0.3, low_level=0.04, high_trim=0.8, scheduled_off=True)
    zone = Zone(id="z", commissioned=agreed, fixtures=truth.fixtures, watts_after=truth.watts)
    span = Span(first=first, last=last)
    found = infer_settings(zone, meter, None, conditions, reporting=span, timezone="UTC", confidence=0.9)
    standby = next(f for f in found.findings if f.setting == "standby_watts")
    assert standby.verdict == "cannot tell"
    assert AT_LOW_LEVEL in standby.why or "standby agreed or plausible" in standby.why


def test_a_sure_move_to_days_that_differ_is_told_as_widely_as_they_lie():
    loose = replace(STEADY, noise=0.08)
    since = finding(0.01, "moved")
    told = as_loose(replace(since, since=date(2024, 5, 1)), [loose])
    assert told.observed.high - told.observed.low > 0.25
    assert unknown_level(told, [loose], days_at(*[0.8] * 40)) is None
    assert unknown_level(since, [loose], days_at(*[0.8] * 40)) == TOO_LOOSE
