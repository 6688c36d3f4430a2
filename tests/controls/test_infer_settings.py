"""Settings read from a zone whose truth is known, and honest silence where data do not show them."""

import re
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.study_records import Commissioned, Span, Zone
from mv.controls import infer_settings, setting_rules


def inferred(truth, parts, *, motion=True, known_load=True, **options):
    meter, log, conditions, (first, last) = parts
    agreed = Commissioned(
        high_trim=truth.high_trim,
        low_level=truth.low_level,
        hold_minutes=truth.hold_minutes,
        daylight_dimming=truth.daylight_dimming,
        scheduled_off=truth.scheduled_off,
        standby_watts=truth.standby_watts,
    )
    load = {"fixtures": truth.fixtures, "watts_after": truth.watts} if known_load else {}
    return infer_settings(
        Zone(id="z", commissioned=agreed, **load),
        meter,
        log if motion else None,
        conditions,
        reporting=Span(first=first, last=last),
        timezone="UTC",
        confidence=0.90,
        **options,
    )


def by_name(result):
    return {finding.setting: finding for finding in result.findings}


@pytest.mark.parametrize("minutes", [1, 5, 15])
@pytest.mark.parametrize("dims", [False, True])
def test_a_zone_kept_as_agreed_is_read_as_agreed(make_zone, truth_of, minutes, dims):
    truth = truth_of(daylight_dimming=dims)
    found = by_name(inferred(truth, make_zone(truth, minutes=minutes, days=70, seed=3)))
    assert {name: f.verdict for name, f in found.items()} == dict.fromkeys(found, "kept")
    assert found["high_trim"].observed.estimate == pytest.approx(0.8, abs=0.01)
    assert found["low_level"].observed.estimate == pytest.approx(0.2, abs=0.01)
    assert found["hold_minutes"].observed.estimate == pytest.approx(10, abs=0.5 if minutes < 15 else 1.5)
    assert found["standby_watts"].observed.estimate == pytest.approx(0.3, abs=0.1)
    assert found["daylight_dimming"].observed.estimate is dims


CHANGES = [
    ("high_trim", {"high_trim": 1.0}, 1.0, 0.02),
    ("low_level", {"low_level": 0.5}, 0.5, 0.02),
    ("hold_minutes", {"hold_minutes": 25.0}, 25.0, 2.0),
    ("standby_watts", {"standby_watts": 1.6}, 1.6, 0.1),
]


@pytest.mark.parametrize("minutes", [1, 15])
@pytest.mark.parametrize(("setting", "change", "value", "room"), CHANGES)
def test_a_setting_that_moves_is_named_with_its_day(
    make_zone, truth_of, minutes, setting, change, value, room
):
    truth = truth_of(later={40: change})
    parts = make_zone(truth, minutes=minutes, days=80, seed=5)
    found = by_name(inferred(truth, parts))
    moved = {name for name, f in found.items() if f.verdict == "moved"}
    assert moved == {setting}
    finding = found[setting]
    assert finding.observed.estimate == pytest.approx(value, abs=room)
    changed = parts[3][0] + timedelta(days=40)
    assert abs((finding.since - changed).days) <= (2 if minutes < 15 else 5)
    assert finding.effect_kwh_per_month.estimate > 0


@pytest.mark.parametrize("minutes", [5, 15])
def test_a_daylight_control_that_dies_is_dated(make_zone, truth_of, minutes):
    truth = truth_of(daylight_dimming=True, later={45: {"daylight_dimming": False}})
    parts = make_zone(truth, minutes=minutes, days=80, seed=6)
    finding = by_name(inferred(truth, parts))["daylight_dimming"]
    assert finding.verdict == "moved"
    assert finding.observed.estimate is False
    assert abs((finding.since - parts[3][0]).days - 45) <= 3


def test_a_lost_schedule_is_dated_and_priced_by_what_burns_at_night(make_zone, truth_of):
    truth = truth_of(later={30: {"scheduled_off": False}})
    parts = make_zone(truth, minutes=15, days=70, seed=7)
    finding = by_name(inferred(truth, parts))["scheduled_off"]
    assert finding.verdict == "moved"
    assert abs((finding.since - parts[3][0]).days - 30) <= 3
    night_hours = 168 - 60
    expected = 0.2 * 40 * 50 / 1000 * night_hours / 7 * 30.4375
    assert finding.effect_kwh_per_month.estimate == pytest.approx(expected, rel=0.15)


@pytest.mark.parametrize(("share", "verdict"), [(0.3, "kept"), (0.6, "cannot tell"), (0.9, "moved")])
def test_a_schedule_passes_only_below_a_share_of_vacant_time_that_is_told(
    make_zone, truth_of, share, verdict
):
    truth = truth_of()
    meter, log, conditions, span = make_zone(truth, minutes=15, days=60)
    minute = conditions.index.hour * 60 + conditions.index.minute
    lit = ~conditions["is_open"].to_numpy() & ((minute * 7919 // 15) % 100 < 100 * share)
    burning = 0.2 * truth.fixtures * truth.watts / 4000.0
    meter = replace(meter, energy_kwh=meter.energy_kwh.where(~lit, meter.energy_kwh.clip(lower=burning)))
    finding = by_name(inferred(truth, (meter, log, conditions, span)))["scheduled_off"]
    assert finding.verdict == verdict
    told = float(re.search(r"burn in (\d+) %", finding.why).group(1)) / 100.0
    assert told == pytest.approx(share, abs=0.1)
    assert ("up to 50 % passes as off" in finding.why) == (verdict == "kept")


def test_the_effect_of_a_longer_hold_is_the_energy_it_truly_adds(make_zone, truth_of):
    quiet, moved = truth_of(), truth_of(later={40: {"hold_minutes": 25.0}})
    base = make_zone(quiet, minutes=5, days=100, seed=8)
    parts = make_zone(moved, minutes=5, days=100, seed=8)
    added = float((parts[0].energy_kwh - base[0].energy_kwh).sum()) * 30.4375 / 60.0
    finding = by_name(inferred(moved, parts))["hold_minutes"]
    assert finding.effect_kwh_per_month.estimate == pytest.approx(added, rel=0.1)


def test_hourly_readings_cannot_tell_a_hold_time(make_zone, truth_of):
    truth = truth_of()
    finding = by_name(inferred(truth, make_zone(truth, minutes=60, days=60)))["hold_minutes"]
    assert isinstance(finding.observed, CannotSay)
    assert finding.verdict == "cannot tell"
    assert "too coarse" in finding.why


def test_without_a_motion_log_a_hold_time_cannot_be_told_but_plateaus_can(make_zone, truth_of):
    truth = truth_of()
    found = by_name(inferred(truth, make_zone(truth, minutes=5, days=60), motion=False))
    assert found["hold_minutes"].verdict == "cannot tell"
    assert "motion log" in found["hold_minutes"].why
    assert found["high_trim"].observed.estimate == pytest.approx(0.8, abs=0.02)
    assert found["low_level"].observed.estimate == pytest.approx(0.2, abs=0.02)


def test_without_the_connected_load_levels_cannot_be_told_but_the_hold_time_can(make_zone, truth_of):
    truth = truth_of()
    found = by_name(inferred(truth, make_zone(truth, minutes=5, days=60), known_load=False))
    for name in ("high_trim", "low_level", "standby_watts"):
        assert found[name].verdict == "cannot tell"
        assert "fixtures" in found[name].why
    assert found["hold_minutes"].observed.estimate == pytest.approx(10, abs=0.5)


@pytest.mark.parametrize("options", [{"shares_meter": True}, {"measures": "whole building"}])
def test_other_loads_on_the_meter_leave_every_setting_untold(make_zone, truth_of, options):
    truth = truth_of()
    result = inferred(truth, make_zone(truth, minutes=15, days=40), **options)
    assert {f.verdict for f in result.findings} == {"cannot tell"}
    assert len(result.findings) == 6
    assert result.monthly.empty


def test_egress_light_is_not_taken_for_standby_nor_for_a_high_trim(make_zone, truth_of):
    truth = truth_of(egress=0.04)
    found = by_name(inferred(truth, make_zone(truth, minutes=5, days=60)))
    assert found["standby_watts"].verdict == "cannot tell"
    assert "egress" in found["standby_watts"].why
    trim = found["high_trim"].observed
    assert trim.low <= 0.8 <= trim.high and trim.high >= 0.84  # beside the fixtures counted, or among them
    assert trim.estimate == pytest.approx(0.8, abs=0.025)
    assert found["low_level"].observed.estimate == pytest.approx(0.2, abs=0.02)
    assert found["scheduled_off"].verdict == "kept"


def test_much_egress_light_that_may_be_among_the_fixtures_leaves_the_full_level_untold(make_zone, truth_of):
    truth = truth_of(egress=0.09)
    found = by_name(inferred(truth, make_zone(truth, minutes=5, days=60)))
    assert found["high_trim"].verdict == "cannot tell"
    assert "no better than 3 %" in found["high_trim"].why
    assert found["scheduled_off"].verdict == "kept"


@pytest.mark.parametrize("lag", [4, -3])
def test_a_meter_clock_that_is_off_does_not_bias_the_hold_time(make_zone, truth_of, lag):
    truth = truth_of()
    result = inferred(truth, make_zone(truth, minutes=1, days=60, clock_lag_minutes=lag))
    assert result.motion_lag_minutes == pytest.approx(lag, abs=0.3)
    assert by_name(result)["hold_minutes"].observed.estimate == pytest.approx(10, abs=0.7)


def test_a_dead_motion_log_does_not_look_like_lamps_left_on(make_zone, truth_of):
    truth = truth_of()
    meter, log, conditions, span = make_zone(truth, minutes=5, days=90)
    dead_from = log.known_from + pd.Timedelta(days=60)
    silent = type(log)(
        log.zone, log.state[log.state.index < dead_from], log.known_from, log.known_to, log.ledger
    )
    result = inferred(truth, (meter, silent, conditions, span))
    assert not [f.setting for f in result.findings if f.verdict == "moved"]
    assert any("silent" in remark for remark in result.remarks)


def test_estimated_and_missing_intervals_are_left_out(make_zone, truth_of):
    truth = truth_of()
    meter, log, conditions, span = make_zone(truth, minutes=15, days=60)
    energy, estimated = meter.energy_kwh.copy(), meter.estimated.copy()
    energy.iloc[1000:1400] = 0.9
    estimated.iloc[1000:1400] = True
    energy.iloc[2000:2200] = np.nan
    odd = type(meter)(meter.meter, meter.interval_minutes, energy, estimated, meter.ledger)
    found = by_name(inferred(truth, (odd, log, conditions, span)))
    assert {f.verdict for f in found.values()} == {"kept"}


def test_old_months_stay_as_they_were_when_a_month_is_added(make_zone, truth_of):
    truth = truth_of(daylight_dimming=True, later={50: {"hold_minutes": 20.0}})
    meter, log, conditions, span = make_zone(truth, minutes=15, days=92, seed=9)
    whole = inferred(truth, (meter, log, conditions, span)).monthly
    cut = pd.Timestamp("2024-05-01", tz="UTC")
    shorter = type(meter)(
        meter.meter,
        meter.interval_minutes,
        meter.energy_kwh[:cut][:-1],
        meter.estimated[:cut][:-1],
        meter.ledger,
    )
    log_part = type(log)(log.zone, log.state[log.state.index < cut], log.known_from, cut, log.ledger)
    early = inferred(
        truth, (shorter, log_part, conditions[conditions.index < cut], (date(2024, 3, 1), date(2024, 4, 30)))
    ).monthly
    assert set(early["month"]) == {"2024-03", "2024-04"}
    old = whole[whole["month"] < "2024-05"].reset_index(drop=True)
    pd.testing.assert_frame_equal(old, early)


def test_intervals_hold_their_estimate_and_the_monthly_table_is_long(make_zone, truth_of):
    truth = truth_of()
    result = inferred(truth, make_zone(truth, minutes=15, days=70))
    for finding in result.findings:
        if isinstance(finding.observed, Estimate) and finding.observed.low is not None:
            assert finding.observed.low <= finding.observed.estimate <= finding.observed.high
    assert list(result.monthly.columns) == ["month", "setting", "estimate", "low", "high", "why"]
    told = result.monthly.dropna(subset=["low"])
    assert (told["low"] <= told["high"]).all()
    assert set(result.monthly["month"]) == {"2024-03", "2024-04", "2024-05"}


def test_a_trim_raised_later_does_not_hide_that_lamps_never_dimmed(make_zone, truth_of):
    truth = truth_of(later={100: {"high_trim": 1.0}})
    found = by_name(inferred(truth, make_zone(truth, minutes=15, days=150, seed=21, first="2024-05-01")))
    assert found["high_trim"].verdict == "moved"
    assert found["daylight_dimming"].verdict == "kept"
    assert found["daylight_dimming"].observed.estimate is False
    assert "fell with the sun" not in found["daylight_dimming"].why  # one cause, told once


def test_lamps_that_daylight_always_dims_deeply_are_not_taken_for_undimmed(make_zone, truth_of):
    truth = truth_of(high_trim=0.8, daylight_dimming=True)
    found = by_name(inferred(truth, make_zone(truth, minutes=15, days=90, seed=22, first="2024-05-01")))
    assert found["daylight_dimming"].verdict != "moved"


def test_a_hold_time_below_nothing_is_never_told(make_zone, truth_of, monkeypatch):
    truth = truth_of(hold_minutes=10.0)
    parts = make_zone(truth, minutes=1, days=40, seed=23)
    read = setting_rules.hold_reading

    def too_early(evidence):
        reading = read(evidence)
        return replace(reading, levels=[replace(row, value=row.value - 12.0) for row in reading.levels])

    monkeypatch.setattr(setting_rules, "hold_reading", too_early)
    found = by_name(inferred(truth, parts))["hold_minutes"]
    assert found.verdict == "cannot tell"
    assert "before motion ends" in found.why
