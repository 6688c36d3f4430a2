"""What the hours of the day show tells causes apart that the day's energy alone does not."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import Estimate
from mv.base.setting_records import MONTHLY_COLUMNS, SettingFinding, ZoneSettings
from mv.drift import DriftSeries, find_drift
from mv.drift.own_findings import _blurred
from mv.drift.signature import Signature

DAYS = pd.date_range("2024-01-01", periods=300)
CHANGE = 200  # 2024-07-19
HOURS = np.arange(24)
LIT = (HOURS >= 7) & (HOURS < 18)


def zone(seed, change, *, minute=0):
    """Mon-Fri 7-18 at about 2 kW, else 0.05 kW; `change` alters the hours of a day (day, hours, open)."""
    rng = np.random.default_rng(seed)
    opened = np.asarray(DAYS.day_of_week < 5)
    hours = np.where(opened[:, None] & LIT, 2.0 + 0.1 * rng.standard_normal((len(DAYS), 24)), 0.05)
    for number in range(CHANGE, len(DAYS)):
        changed = change(hours[number].copy(), bool(opened[number]))
        first = minute // 60 if number == CHANGE else 0
        hours[number, first:] = changed[first:]
    table = pd.DataFrame(hours, index=DAYS, columns=range(24))
    drivers = pd.DataFrame({"is_open_day": opened}, index=DAYS)
    return DriftSeries("z", table.sum(axis=1), drivers, ("z",), hourly_kw=table)


def all_hours(hours, opened):
    return hours + 0.5


def nights_to_standby(hours, opened):
    return np.where(hours < 0.1, hours + 0.12, hours)


def nights_at_full(hours, opened):
    return np.maximum(hours, 2.0)


def higher_trim(hours, opened):
    return np.where(hours > 1.0, hours * 1.25, hours)


def lamps_gone(hours, opened):
    return np.where(hours > 1.0, hours * 0.8, hours)


def two_hours_late(hours, opened):
    return np.roll(hours, 2) * 1.12


@pytest.mark.parametrize(
    ("change", "cause"),
    [
        (all_hours, "added load"),
        (nights_to_standby, "standby growth"),
        (nights_at_full, "override left on"),
        (higher_trim, "trim removed"),
        (lamps_gone, "lamps failed"),
        (two_hours_late, "clock shifted"),
    ],
)
def test_the_first_cause_is_the_one_planted(change, cause):
    (finding,) = find_drift([zone(1, change)], [], confidence=0.9)
    assert finding.causes[0] == cause
    assert abs((finding.since - DAYS[CHANGE].date()).days) <= 1


def test_a_change_in_the_middle_of_a_day_is_dated_on_that_day():
    (finding,) = find_drift([zone(2, nights_at_full, minute=13 * 60)], [], confidence=0.9)
    assert finding.since == DAYS[CHANGE].date()


def test_what_was_agreed_rules_causes_out():
    untrimmed = SettingFinding("z", "high_trim", 1.0, Estimate(1.0, 0.99, 1.01, 0.9), "kept", None, "")
    settings = ZoneSettings("z", (untrimmed,), pd.DataFrame(columns=list(MONTHLY_COLUMNS)))
    (finding,) = find_drift([zone(3, higher_trim)], [settings], confidence=0.9)
    assert "trim removed" not in finding.causes


def test_a_hold_time_never_seen_as_agreed_and_the_step_it_makes_are_one_finding():
    effect = Estimate(70.0, 60.0, 80.0, 0.9)
    row = SettingFinding(
        "z",
        "hold_minutes",
        5.0,
        Estimate(30.0, 29.0, 31.0, 0.9),
        "moved",
        None,
        "the hold time is 30 min",
        effect,
    )
    settings = ZoneSettings("z", (row,), pd.DataFrame(columns=list(MONTHLY_COLUMNS)))
    longer = zone(4, lambda hours, opened: np.where(hours > 1.0, hours + 0.35, hours))
    (finding,) = find_drift([longer], [settings], confidence=0.9)
    assert finding.settings == ("hold_minutes",)
    assert abs((finding.since - date(2024, 7, 19)).days) <= 1
    assert finding.causes[0] == "delay lengthened"


def test_weeks_of_more_energy_that_came_back_are_one_spell():
    series = zone(5, lambda hours, opened: hours)
    energy = series.energy_kwh.copy()
    energy.iloc[120:150] += 9.0
    (finding,) = find_drift([DriftSeries("z", energy, series.drivers, ("z",))], [], confidence=0.9)
    assert abs((finding.since - DAYS[120].date()).days) <= 1
    assert abs((finding.until - DAYS[149].date()).days) <= 1
    assert finding.kwh_per_month.estimate == pytest.approx(9.0 * 30.4, rel=0.15)


def test_weeks_of_less_energy_that_came_back_are_absence_and_no_fault():
    series = zone(6, lambda hours, opened: hours)
    energy = series.energy_kwh.copy()
    energy.iloc[120:141] *= 0.7
    found = find_drift([DriftSeries("z", energy, series.drivers, ("z",))], [], confidence=0.9)
    assert not [f for f in found if f.kind == "step"]


def test_people_who_come_back_little_by_little_leave_no_fault_behind():
    """The way back is less clear than the way down, but the two are one absence all the same."""
    series = zone(0, lambda hours, opened: hours)
    share = np.ones(len(DAYS))
    share[120:141], share[141:171], share[171:] = 0.7, np.linspace(0.8, 0.88, 30), 0.88
    scatter = np.random.default_rng(50).normal(0.0, 3.0, len(DAYS)) * (series.energy_kwh > 5.0)
    read = tuple(
        SettingFinding("z", name, 0.8, Estimate(0.8, 0.79, 0.81, 0.9), "kept", None, "as agreed")
        for name in ("high_trim", "scheduled_off", "standby_watts")
    )
    well_known = ZoneSettings("z", read, pd.DataFrame(columns=list(MONTHLY_COLUMNS)))
    away = DriftSeries("z", series.energy_kwh * share + scatter, series.drivers, ("z",))
    assert not find_drift([away], [well_known], confidence=0.9)


@pytest.mark.parametrize(("days", "told"), [(270, 0), (300, 1)])
def test_fewer_people_lower_the_hours_tops_and_are_told_only_where_it_lasts(days, told):
    """Morning and evening lose most, the middle of the day, where the top is, least; 70 days, then 100."""
    share = np.where(LIT, 0.95 - 0.35 * np.abs(HOURS - 12.5) / 5.5, 1.0)
    series = zone(7, lambda hours, opened: hours * share)
    cut = replace(series, energy_kwh=series.energy_kwh[:days], hourly_kw=series.hourly_kw[:days])
    assert len(find_drift([cut], [], confidence=0.9)) == told


@pytest.mark.parametrize(
    ("lit", "top", "blurred"), [(-0.2, -0.1, True), (-0.1, -0.3, True), (-0.1, -0.12, False)]
)
def test_only_tops_and_lit_hours_that_lost_alike_speak_for_lamps_by_the_hour(lit, top, blurred):
    """People who stay away take more of the lit hours; summer's light, where lamps follow it, of the top."""
    seen = Signature(2.0, top, top, 1.0, 0.0, 0.0, lit, 0.0, 0.0, lit, 0.8 + lit, 0.0, None, None)
    assert _blurred(seen) is blurred
    assert not _blurred(replace(seen, fine=True))


@pytest.mark.parametrize("days", [260, 300])
def test_lamps_that_fail_take_the_same_part_of_every_hour_and_are_told_soon(days):
    series = zone(7, lamps_gone)
    cut = replace(series, energy_kwh=series.energy_kwh[:days], hourly_kw=series.hourly_kw[:days])
    (finding,) = find_drift([cut], [], confidence=0.9)
    assert finding.causes[0] == "lamps failed"


def nights_at_a_low_level(hours, opened):
    """0.9 kW whenever it used to be dark; on closed days the sun takes the middle of the day off it."""
    midday = (HOURS >= 10) & (HOURS < 15)
    return np.where((hours < 0.1) & ~(midday & (not opened)), 0.9, hours)


def test_nights_and_closed_days_that_rose_alike_are_neither_longer_hours_nor_a_wrong_clock():
    (finding,) = find_drift([zone(6, nights_at_a_low_level)], [], confidence=0.9)
    assert not {"hours changed", "clock shifted"} & set(finding.causes)
    assert "low level raised" in finding.causes
    assert "schedule lost" in finding.causes


def test_nights_a_little_above_the_floor_may_be_standby_as_well_as_a_lost_schedule():
    row = SettingFinding(
        "z",
        "scheduled_off",
        True,
        Estimate(False, None, None, 0.9),
        "moved",
        DAYS[CHANGE].date(),
        "lamps burn in 100 % of vacant time outside opening hours",
        Estimate(60.0, 50.0, 70.0, 0.9),
        Estimate(True, None, None, 0.9),
    )
    settings = ZoneSettings("z", (row,), pd.DataFrame(columns=list(MONTHLY_COLUMNS)))
    higher = zone(7, lambda hours, opened: np.where(hours < 0.1, 0.45, hours))
    (finding,) = find_drift([higher], [settings], confidence=0.9)
    assert finding.causes[0] == "schedule lost"
    assert "standby growth" in finding.causes
