"""Settings that nobody agreed on a value for: clock hours, after-hours use, overrides, off or dim."""

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings
from mv.controls.day_spread import ratio_of_days, share_of_days


def observed(truth, parts, *, motion=True, measures="lighting"):
    meter, log, conditions, (first, last) = parts
    agreed = Commissioned(standby_watts=truth.standby_watts, daylight_dimming=truth.daylight_dimming)
    zone = Zone(id="z", commissioned=agreed, fixtures=truth.fixtures, watts_after=truth.watts)
    found = infer_settings(
        zone,
        meter,
        log if motion else None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
        measures=measures,
    )
    return {row.setting: row for row in found.observed}


@pytest.fixture(scope="module")
def dimmed(make_zone, truth_of):
    """Dims to 20 % and with daylight, open 07-19 on weekdays, off outside; three months."""
    truth = truth_of(daylight_dimming=True)
    parts = make_zone(truth, minutes=5, days=91, seed=11)
    return parts, observed(truth, parts)


@pytest.mark.parametrize("name, hour", [("schedule_on_hour", 7.0), ("schedule_off_hour", 19.0)])
def test_the_schedules_hours_lie_in_their_interval(dimmed, name, hour):
    answer = dimmed[1][name].observed
    assert isinstance(answer, Estimate)
    assert answer.low <= hour <= answer.high
    assert answer.high - answer.low <= 0.5


def test_after_hours_use_is_what_the_meter_shows_outside_the_hours_less_the_floor(dimmed):
    (meter, _, conditions, _), found = dimmed
    may = (meter.energy_kwh.index.month == 5) & (meter.energy_kwh.index.year == 2024)
    above = (meter.energy_kwh[may] - 40 * 0.3 / 12000).clip(lower=0.0)
    closed = above[~conditions["is_open"].to_numpy()[may]].sum()
    row = found["after_hours_kwh"]
    assert row.month == "2024-05"
    assert row.observed.estimate == pytest.approx(closed, rel=0.03)
    assert row.observed.low < closed < row.observed.high
    assert found["after_hours_share"].observed.estimate == pytest.approx(closed / above.sum(), rel=0.03)


def test_off_or_dim_when_vacant_is_told_apart(dimmed, make_zone, truth_of):
    assert dimmed[1]["off_when_vacant"].observed.estimate is False
    off = truth_of(low_level=0.0)
    assert (
        observed(off, make_zone(off, minutes=5, days=61, seed=12))["off_when_vacant"].observed.estimate
        is True
    )


def test_daylight_depth_is_that_of_the_lamps_under_the_sun(dimmed):
    found = dimmed[1]
    assert 0.2 < found["daylight_depth"].observed.estimate < 0.9
    begins, ends = (found[f"daylight_{name}_deg"].observed for name in ("threshold", "saturation"))
    assert begins.estimate < ends.estimate
    assert begins.high - begins.low >= 6.0 - 1e-9  # never finer than the classes of sun elevation
    assert found["daylight_hold_off_share"].observed.estimate == 0.0
    assert found["daylight_hold_off_share"].observed.high > 0.0  # none seen is not none for certain


def test_a_zone_kept_alight_while_vacant_shows_in_its_override_share(make_zone, truth_of):
    truth = truth_of(later={61: {"low_level": 0.8, "scheduled_off": False}})
    found = observed(truth, make_zone(truth, minutes=5, days=91, seed=13))
    assert found["override_share"].observed.estimate > 0.95
    quiet = truth_of()
    assert (
        observed(quiet, make_zone(quiet, minutes=5, days=91, seed=13))["override_share"].observed.estimate
        < 0.05
    )


def test_a_schedule_that_was_lost_is_not_told_by_its_old_hours(make_zone, truth_of):
    truth = truth_of(later={31: {"scheduled_off": False}})
    row = observed(truth, make_zone(truth, minutes=5, days=120, seed=14))["schedule_on_hour"]
    assert isinstance(row.observed, CannotSay)
    assert row.month is None
    assert "what it is now does not show" in row.why


def test_without_a_motion_log_what_needs_one_cannot_be_told(make_zone, truth_of):
    truth = truth_of()
    found = observed(truth, make_zone(truth, minutes=15, days=61, seed=15), motion=False)
    for name in ("override_share", "off_when_vacant", "daylight_depth"):
        assert isinstance(found[name].observed, CannotSay)
        assert "motion log" in found[name].why


def test_a_whole_building_meter_shows_none_of_them_and_says_why(make_zone, truth_of):
    truth = truth_of()
    found = observed(truth, make_zone(truth, minutes=15, days=10, seed=16), measures="whole building")
    assert found
    assert all(isinstance(row.observed, CannotSay) and "whole building" in row.why for row in found.values())


def test_an_interval_of_a_share_holds_the_usual_share_as_often_as_it_says():
    rng = np.random.default_rng(5)
    held, runs = 0, 400
    for _ in range(runs):
        day = np.repeat(np.arange(30), 10)
        part = rng.random(300) < np.repeat(rng.beta(4, 16, 30), 10)
        found = ratio_of_days(day, part.astype(float), np.ones(300), confidence=0.9)
        held += found.low <= 0.2 <= found.high
    assert 0.83 <= held / runs <= 0.97


def test_a_share_stays_between_none_and_all():
    day = np.arange(20)
    none = share_of_days(day, np.zeros(20), np.ones(20), confidence=0.9)
    every = share_of_days(day, np.ones(20), np.ones(20), confidence=0.9)
    assert (none.low, every.high) == (0.0, 1.0)
    # the exact binomial limit at none of 20, one-sided 95 %: 1 - 0.05^(1/20) = 0.1391
    assert none.high == pytest.approx(0.1391, abs=1e-4)
    assert every.low == pytest.approx(1 - 0.1391, abs=1e-4)


def test_a_month_of_days_is_not_spoken_for_by_a_part_of_it(make_zone, truth_of):
    truth = truth_of()
    meter, log, conditions, (first, _) = make_zone(truth, minutes=5, days=70, seed=17)
    cut = (first + timedelta(days=70)).isoformat()
    found = observed(truth, (meter, log, conditions, (first, pd.Timestamp(cut).date())))
    assert found["after_hours_kwh"].month == "2024-04"  # May has nine days only
    assert "days" in found["after_hours_kwh"].why


def test_lamps_that_come_on_within_a_coarse_reading_are_no_override(make_zone, truth_of):
    truth = truth_of()
    found = observed(truth, make_zone(truth, minutes=15, days=61, seed=17))["override_share"].observed
    assert found.estimate < 0.005


def test_lamps_at_a_low_level_all_night_are_after_hours_use_where_the_level_was_agreed(make_zone, truth_of):
    truth = truth_of(low_level=0.3, scheduled_off=False)
    parts = make_zone(truth, minutes=15, days=61, seed=19)
    meter, log, conditions, (first, last) = parts
    agreed = Commissioned(
        low_level=0.3, scheduled_off=False, high_trim=0.8, standby_watts=truth.standby_watts
    )
    zone = Zone(id="z", commissioned=agreed, fixtures=truth.fixtures, watts_after=truth.watts)
    span = Span(first=first, last=last)
    rows = infer_settings(zone, meter, log, conditions, reporting=span, timezone="UTC", confidence=0.9)
    row = next(row for row in rows.observed if row.setting == "after_hours_kwh")
    april = (meter.energy_kwh.index.month == 4) & (meter.energy_kwh.index.year == 2024)
    closed = meter.energy_kwh[april][~conditions["is_open"].to_numpy()[april]].sum()
    assert row.month == "2024-04"
    assert row.observed.estimate == pytest.approx(closed, rel=0.05)
    assert row.observed.low < closed < row.observed.high


def test_hours_that_cut_long_readings_widen_what_is_used_after_them(make_zone, truth_of):
    truth = truth_of()
    found = {
        minutes: observed(truth, make_zone(truth, minutes=minutes, days=61, seed=20))[
            "after_hours_kwh"
        ].observed
        for minutes in (15, 60)
    }
    assert found[60].high - found[60].low > 1.5 * (found[15].high - found[15].low)
