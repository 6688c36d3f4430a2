"""Drift found in daily energy whose truth is known, and joined with the settings that explain it."""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.setting_records import MONTHLY_COLUMNS, SettingFinding, ZoneSettings
from mv.drift import DriftSeries, find_drift
from mv.drift.event_findings import _denied
from mv.drift.setting_events import SettingEvent

START = pd.Timestamp("2024-01-01")
PRICED = Estimate(3.2 * 30.4375, 90.0, 105.0, 0.9)


def days_of(seed, *, n=365, noise=2.0, rho=0.4, step_on=None, step=0.0, slope=0.0, closed_step=0.0):
    """Daily energy of a zone open Mon-Fri: 40 kWh open, 6 closed, less with more sun."""
    rng = np.random.default_rng(seed)
    index = pd.date_range(START, periods=n)
    is_open = np.asarray(index.day_of_week < 5)
    sun = 5 + 3 * np.sin(2 * np.pi * (np.arange(n) - 80) / 365)
    e = np.zeros(n)
    for i in range(n):
        e[i] = rho * (e[i - 1] if i else 0.0) + np.sqrt(1 - rho**2) * rng.standard_normal()
    energy = np.where(is_open, 46 - 1.5 * sun, 6.0) + noise * e * np.where(is_open, 1, 0.2)
    if step_on is not None:
        energy[step_on:] += np.where(is_open, step, closed_step)[step_on:]
    energy = energy + slope * np.arange(n) / 365.25
    drivers = pd.DataFrame(
        {
            "hours_open": np.where(is_open, 12.0, 0.0),
            "sun_open_hours": np.where(is_open, sun, 0.0),
            "is_open_day": is_open,
            "is_holiday": False,
        },
        index=index,
    )
    return DriftSeries("z", pd.Series(energy, index), drivers, ("z",))


def moved(zone, setting, since, now, before, effect, **more):
    def value(x):
        return Estimate(x, None, None, 0.9) if isinstance(x, bool) else Estimate(x, x - 0.01, x + 0.01, 0.9)

    return SettingFinding(
        zone, setting, before, value(now), "moved", since, f"{setting} moved", effect, value(before), **more
    )


def settings(zone, *findings):
    return ZoneSettings(zone, findings, pd.DataFrame(columns=list(MONTHLY_COLUMNS)))


def test_steps_are_found_with_their_day_and_size():
    """Of 20 intervals at 90 % fewer than 14 hold the truth once in 400 tries (binomial)."""
    held = 0
    for seed in range(20):
        found = find_drift([days_of(seed, step_on=200, step=8.0)], [], confidence=0.9, price_per_kwh=0.2)
        steps = [f for f in found if f.kind == "step"]
        assert len(steps) == 1
        finding = steps[0]
        assert abs((finding.since - START.date()).days - 200) <= 5
        true = 8.0 * 5 / 7 * 30.4375
        assert finding.kwh_per_month.estimate == pytest.approx(true, rel=0.2)
        held += finding.kwh_per_month.low <= true <= finding.kwh_per_month.high
        assert finding.cost_per_month == pytest.approx(0.2 * finding.kwh_per_month.estimate)
        assert finding.likely_causes
        assert finding.check_first
    assert held >= 14


def test_quiet_years_raise_hardly_any_alarm():
    """60 years with residuals of lag-1 autocorrelation 0.6, each looked at whole."""
    alarms = sum(bool(find_drift([days_of(s, rho=0.6)], [], confidence=0.9)) for s in range(60))
    assert alarms <= 1


def test_a_step_downwards_says_that_failed_lamps_look_like_savings():
    (finding,) = find_drift([days_of(3, step_on=150, step=-7.0)], [], confidence=0.9)
    assert finding.kwh_per_month.high < 0
    assert any("lamps" in cause for cause in finding.likely_causes)
    assert any("licensed electrician" in line for line in finding.check_first)


def test_a_step_of_closed_days_alone_points_at_schedule_and_override():
    (finding,) = find_drift([days_of(4, step_on=180, closed_step=9.0)], [], confidence=0.9)
    assert "closed days" in finding.what
    assert finding.causes[0] in ("override left on", "schedule lost")
    assert any("local code" in line for line in finding.check_first)


def test_a_steady_rise_is_a_slope_with_its_interval():
    found = find_drift([days_of(5, slope=14.0)], [], confidence=0.9)
    slope = next(f for f in found if f.kind == "slope")
    assert slope.details["low"] <= 14.0 <= slope.details["high"]
    assert not [f for f in found if f.kind == "step"]


def test_a_line_over_less_than_a_year_is_not_told_from_the_season():
    assert not [
        f for f in find_drift([days_of(5, slope=14.0, n=330)], [], confidence=0.9) if f.kind == "slope"
    ]


def test_spells_that_come_and_go_are_one_recurring_finding():
    series = days_of(6)
    energy = series.energy_kwh.copy()
    for start in (40, 110, 180, 260, 330):
        energy.iloc[start : start + 3] += 25.0
    found = find_drift([DriftSeries("z", energy, series.drivers, ("z",))], [], confidence=0.9)
    recurring = [f for f in found if f.kind == "recurring"]
    assert len(recurring) == 1
    assert "5 spells" in recurring[0].what
    assert recurring[0].kwh_per_month.estimate == pytest.approx(375 / 12, rel=0.15)


def test_missing_days_are_a_gap_with_no_energy_told():
    series = days_of(7)
    energy = series.energy_kwh.copy()
    energy.iloc[350:] = np.nan
    energy.iloc[100:105] = np.nan
    found = find_drift([DriftSeries("z", energy, series.drivers, ("z",))], [], confidence=0.9)
    assert [f.kind for f in found] == ["gap", "gap"]
    assert all(isinstance(f.kwh_per_month, CannotSay) for f in found)
    assert {f.until for f in found} == {None, date(2024, 4, 14)}


def test_a_setting_that_moved_and_its_step_of_energy_are_one_finding():
    since = date(2024, 7, 19)
    effect = Estimate(170.0, 160.0, 180.0, 0.9)
    zone = settings("z", moved("z", "high_trim", since, 1.0, 0.8, effect))
    found = find_drift([days_of(8, step_on=200, step=8.0)], [zone], confidence=0.9, price_per_kwh=0.1)
    assert len(found) == 1
    assert found[0].settings == ("high_trim",)
    assert found[0].since == since
    assert found[0].causes[0] == "trim removed"
    assert found[0].kwh_per_month.estimate == pytest.approx(8.0 * 5 / 7 * 30.4375, rel=0.2)
    assert list(found[0].evidence.columns) == ["day", "actual_kwh", "expected_kwh", "standardised", "cusum"]


@pytest.mark.parametrize("days_later, told_on", [(2, 2), (9, 0)])
def test_a_finding_names_one_day_also_where_its_energy_steps_before_the_setting_is_seen(days_later, told_on):
    """Within two days the setting's own day stands; a week later the step of energy dates both."""
    step_day = date(2024, 7, 19)
    seen = step_day + timedelta(days=days_later)
    finding = moved("z", "hold_minutes", seen, 25.0, 10.0, Estimate(170.0, 160.0, 180.0, 0.9))
    zone = settings("z", replace(finding, why=f"the hold time went from 10 to 25 min on {seen}"))
    (found,) = find_drift([days_of(8, noise=0.3, step_on=200, step=8.0)], [zone], confidence=0.9)
    assert found.since == step_day + timedelta(days=told_on)
    assert found.what == f"the hold time went from 10 to 25 min on {found.since}"


def test_zones_that_change_together_are_one_reset():
    since = date(2024, 5, 2)
    zones = [
        settings(name, moved(name, "hold_minutes", since, 20.0, 10.0, Estimate(30.0, 25.0, 35.0, 0.9)))
        for name in ("a", "b", "c")
    ]
    (finding,) = find_drift([], zones, confidence=0.9, price_per_kwh=0.1)
    assert finding.causes[0] == "controller reset"
    assert finding.zones == ("a", "b", "c")
    assert finding.kwh_per_month.estimate == pytest.approx(90.0)


def test_zones_that_change_apart_stay_apart():
    zones = [
        settings(name, moved(name, "hold_minutes", day, 20.0, 10.0, Estimate(30.0, 25.0, 35.0, 0.9)))
        for name, day in (("a", date(2024, 2, 2)), ("b", date(2024, 5, 2)), ("c", date(2024, 9, 2)))
    ]
    found = find_drift([], zones, confidence=0.9)
    assert len(found) == 3
    assert {f.causes[0] for f in found} == {"delay lengthened"}


def test_nights_on_and_full_light_when_vacant_point_at_an_override_first():
    since = date(2024, 6, 1)
    zone = settings(
        "z",
        moved("z", "scheduled_off", since, False, True, Estimate(90.0, 80.0, 100.0, 0.9)),
        moved("z", "low_level", since, 0.85, 0.2, Estimate(40.0, 35.0, 45.0, 0.9)),
    )
    (finding,) = find_drift([], [zone], confidence=0.9)
    assert finding.causes[0] == "override left on"


def test_a_whole_building_meter_is_not_told_lighting_causes():
    series = days_of(9, step_on=200, step=8.0)
    whole = DriftSeries("z", series.energy_kwh, series.drivers, (), measures="whole building")
    (finding,) = find_drift([whole], [], confidence=0.9)
    assert "use changed" in finding.causes
    assert not any("sensor" in cause for cause in finding.likely_causes)


def test_night_and_egress_light_is_never_called_waste():
    from mv.drift.causes import CAUSES

    for cause in CAUSES.values():
        assert "waste" not in " ".join((cause.text, *cause.check)).lower()
    for code in ("override left on", "schedule lost", "low level raised", "off at night"):
        assert any("local code" in line for line in CAUSES[code].check)
    for code in ("photocell stuck", "lamps failed", "added load"):
        assert any("licensed electrician" in line for line in CAUSES[code].check)


def test_nights_above_the_floor_while_the_standby_is_read_higher_are_no_lost_schedule():
    """Lamps on all night would hide the load with lamps off; it is read, so lamps are off."""
    since = date(2024, 7, 1)
    standby = moved("z", "standby_watts", since, 2.1, 0.5, Estimate(30.0, 25.0, 35.0, 0.9))
    nights = moved("z", "scheduled_off", since, False, True, Estimate(30.0, 25.0, 35.0, 0.9))
    found = find_drift(
        [days_of(1, step_on=182, step=1.0, closed_step=1.0)], [settings("z", nights, standby)], confidence=0.9
    )
    assert [f.causes[0] for f in found] == ["standby growth"]


@pytest.mark.parametrize(("step", "told"), [(0.0, 0), (8.0, 1), (-8.0, 0)])
def test_lamps_at_full_all_day_are_told_only_where_they_use_more(step, told):
    """Busy weeks look like a sensor that rules no more; only the latter burns more."""
    since = date(2024, 7, 19)
    full = moved("z", "full_all_day", since, 0.98, 0.1, CannotSay("kWh a month", "not told"))
    found = find_drift([days_of(8, step_on=200, step=step)], [settings("z", full)], confidence=0.9)
    assert len([f for f in found if "full_all_day" in f.settings]) == told


@pytest.mark.parametrize(
    ("name", "now", "before"), [("hold_minutes", 25.0, 10.0), ("daylight_dimming", False, True)]
)
@pytest.mark.parametrize(("step", "told"), [(0.0, 0), (8.0, 1)])
def test_a_delay_or_a_dead_answer_to_daylight_whose_energy_did_not_come_is_not_told(
    step, told, name, now, before
):
    """170 kWh a month, of about 900, is said to be added; the meter shows a step of it or none at all."""
    effect = Estimate(170.0, 160.0, 180.0, 0.9)
    change = moved("z", name, date(2024, 7, 19), now, before, effect)
    found = find_drift([days_of(8, step_on=200, step=step)], [settings("z", change)], confidence=0.9)
    assert len([f for f in found if name in f.settings]) == told


@pytest.mark.parametrize(("along", "told"), [(0.0, False), (1.2, True)])
def test_energy_that_shows_nothing_denies_what_would_have_shown(along, told):
    """Of 3.2 kWh a day told, known to 1: none is seen, or a part that may be more."""
    event = SettingEvent(
        "z", START.date(), (moved("z", "hold_minutes", START.date(), 15.0, 10.0, PRICED),), ()
    )
    look = SimpleNamespace(item=days_of(8), result=SimpleNamespace(steps=[]))
    step = SimpleNamespace(mean_kwh_a_day=along, mean_error=1.0)
    assert _denied(event, look, step) is not told


@pytest.mark.parametrize(("days_before", "denied"), [(56, False), (200, True)])
def test_what_is_read_weeks_after_its_energy_came_is_not_denied(days_before, denied):
    event = SettingEvent(
        "z", START.date(), (moved("z", "hold_minutes", START.date(), 15.0, 10.0, PRICED),), ()
    )
    step = SimpleNamespace(at=days_before, known=True, mean_kwh_a_day=0.0, mean_error=1.0)
    came = SimpleNamespace(at=0, known=False, mean_kwh_a_day=3.0, mean_error=1.0)
    look = SimpleNamespace(
        item=days_of(8),
        result=SimpleNamespace(steps=[came, step]),
        day=lambda s: START.date() + timedelta(days=s.at),
    )
    assert _denied(event, look, step) is denied


@pytest.mark.parametrize(("days_apart", "told"), [(40, 0), (1, 1)])
def test_what_the_energy_denies_is_told_where_another_zone_moved_on_the_same_days(days_apart, told):
    effect = Estimate(170.0, 160.0, 180.0, 0.9)
    delay = moved("z", "hold_minutes", date(2024, 7, 19), 25.0, 10.0, effect)
    day = date(2024, 7, 19) + timedelta(days=days_apart)
    trim = moved("y", "high_trim", day, 0.9, 0.7, Estimate(100.0, 90.0, 110.0, 0.9))
    found = find_drift([days_of(8)], [settings("z", delay), settings("y", trim)], confidence=0.9)
    assert any("hold_minutes" in f.settings for f in found) == bool(told)


@pytest.mark.parametrize(("kwh_a_month", "told"), [(-1.5, 0), (90.0, 1)])
def test_a_setting_never_as_agreed_is_a_finding_only_where_it_is_worth_one(kwh_a_month, told):
    """Of about 900 kWh a month."""
    effect = Estimate(kwh_a_month, kwh_a_month - 1.0, kwh_a_month + 1.0, 0.9)
    low = replace(moved("z", "low_level", None, 0.154, 0.2, effect), earlier=None)
    assert len(find_drift([days_of(8)], [settings("z", low)], confidence=0.9)) == told
