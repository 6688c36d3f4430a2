"""A time delay that changed, told by the hour from the share of time that the lamps burn."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from mv.base.estimate import Estimate
from mv.base.setting_records import SettingFinding
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import held_share, infer_settings
from mv.controls.held_share import with_day_of

DAY = 70  # of 130, on which the delay changes


def hold_signs(truth, parts, *, power=None):
    meter, motion, conditions, (first, last) = parts
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
        motion,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
    )
    return [sign for sign in found.signs if sign.setting == "hold_minutes"]


@pytest.mark.parametrize(("low", "before", "after"), [(0.0, 6.0, 20.0), (0.2, 10.0, 35.0), (0.3, 30.0, 12.0)])
@pytest.mark.parametrize("busy", [0.6, 3.0])
@pytest.mark.parametrize("dims", [False, True])
def test_hours_tell_a_delay_before_and_after_its_change(make_zone, truth_of, low, before, after, busy, dims):
    truth = truth_of(
        low_level=low, hold_minutes=before, daylight_dimming=dims, later={DAY: {"hold_minutes": after}}
    )
    parts = make_zone(truth, days=130, minutes=60, seed=int(after), busy=busy)
    (sign,) = hold_signs(truth, parts)
    assert sign.earlier.estimate == pytest.approx(before, abs=2.0)
    assert sign.observed.estimate == pytest.approx(after, abs=2.0)
    assert abs(sign.since - (parts[3][0] + timedelta(days=DAY))) <= timedelta(days=3)


@pytest.mark.parametrize("busy", [0.4, 1.0, 3.0, 8.0])
@pytest.mark.parametrize("dims", [False, True])
def test_a_delay_that_stays_is_not_told(make_zone, truth_of, busy, dims):
    truth = truth_of(hold_minutes=8.0, daylight_dimming=dims)
    for seed in range(3):
        parts = make_zone(truth, days=130, minutes=60, seed=seed, busy=busy)
        assert hold_signs(truth, parts) == []


def test_lamps_that_no_longer_follow_people_are_no_longer_delay(make_zone, truth_of):
    """From the day on the load is the full one, whatever people do: no hold time fits that."""
    truth = truth_of(hold_minutes=8.0, daylight_dimming=False)
    meter, *others = make_zone(truth, days=130, minutes=60, seed=4, busy=1.0)
    energy = meter.energy_kwh.copy()
    late = np.arange(len(energy)) >= DAY * 24
    opened = others[1]["is_open"].to_numpy(dtype=bool)
    energy[late & opened] = float(energy.max())
    assert hold_signs(truth, (type(meter)(**{**vars(meter), "energy_kwh": energy}), *others)) == []


def test_a_delay_never_read_as_agreed_is_dated_by_the_share_of_time_lit():
    """The quarter-hours' single falls show it after the change alone; the loads know it before."""
    agreed = SettingFinding(
        "z", "hold_minutes", 5.0, Estimate(25.0, 24.0, 26.0, 0.9), "moved", None, "25 min"
    )
    sign = SettingFinding(
        "z",
        "hold_minutes",
        None,
        Estimate(25.5, 23.0, 28.0, 0.9),
        "moved",
        date(2024, 3, 1),
        "fits",
        None,
        Estimate(5.0, 3.0, 7.0, 0.9),
    )
    dated = with_day_of(agreed, [sign])
    assert (dated.since, dated.earlier, dated.verdict) == (date(2024, 3, 1), sign.earlier, "moved")
    other = replace(sign, observed=Estimate(60.0, 54.0, 66.0, 0.9))
    assert with_day_of(agreed, [other]) == agreed
    assert with_day_of(replace(agreed, since=date(2024, 2, 1)), [sign]).since == date(2024, 2, 1)


def test_a_change_dated_within_its_last_days_is_not_told_yet(make_zone, truth_of, monkeypatch):
    """Both sides need ten days each: what the sharper date leaves with fewer was drawn by that need alone."""
    truth = truth_of(low_level=0.0, hold_minutes=6.0, later={DAY: {"hold_minutes": 20.0}})
    parts = make_zone(truth, days=130, minutes=60, seed=20, busy=3.0)
    assert hold_signs(truth, parts)
    monkeypatch.setattr(held_share, "_dated", lambda sums, cut: len(sums[0].count) - 4)
    assert hold_signs(truth, parts) == []
