"""Old and new lighting obey their switches, sensors, sun and clocks, minute by minute."""

from dataclasses import replace
from datetime import date, datetime

import numpy as np
import pytest

from mv.simulate import (
    Behaviour,
    Daylight,
    Measures,
    OldSystem,
    Outage,
    SettingChange,
    SimulatedSite,
    SiteDesign,
    ZoneDesign,
    ZoneSettings,
    bridge_steps,
    simulate_site,
)
from mv.simulate.new_lamps import SETTLING_GAIN

AGREED = ZoneSettings(0.8, 0.0, 10.0, False, True, 0.5)
ROOM = ZoneDesign(
    "room",
    fixtures=50,
    watts_before=100.0,
    watts_after=40.0,
    behaviour=Behaviour(staff=2, breaks_per_day=4, break_minutes=30, motion_probability=0.5),
    commissioned=AGREED,
)
YARD = ZoneDesign(
    "yard",
    outdoor=True,
    behaviour=Behaviour(staff=0, cleaners_after_closing=None),
    old=OldSystem("photocell"),
    commissioned=ZoneSettings(
        occupancy_sensing=False, scheduled_off=False, switching_elevation=-3.0, part_night_level=0.5
    ),
)


def simulated(
    zone: ZoneDesign = ROOM, *, changes: tuple[SettingChange, ...] = (), seed: int = 7, **site: object
) -> SimulatedSite:
    design = SiteDesign(
        "x",
        52.0,
        5.0,
        "Europe/Amsterdam",
        (zone,),
        (date(2023, 1, 1), date(2023, 2, 28)),
        (date(2023, 4, 1), date(2023, 6, 30)),
        changes=changes,
    )
    return simulate_site(replace(design, **site), seed)  # type: ignore[arg-type]


def agreed(**changed: object) -> ZoneDesign:
    return replace(ROOM, commissioned=replace(AGREED, **changed))  # type: ignore[arg-type]


def level(site: SimulatedSite) -> np.typing.NDArray[np.float64]:
    """Reporting power over connected load."""
    zone = site.zones[0]
    return zone.actual_kw[site.reporting] / zone.design.connected_kw_after


def test_nothing_installed_means_nothing_avoided() -> None:
    nothing = Measures(*[False] * 7)
    design = simulated().design
    site = simulate_site(design, 7, nothing)
    assert site.avoided_kwh == 0.0
    assert np.array_equal(site.zones[0].actual_kw, site.zones[0].baseline_kw)


def test_people_and_sky_do_not_depend_on_the_measures_or_on_planted_changes() -> None:
    one = simulated()
    two = simulated(
        agreed(hold_minutes=2.0), changes=(SettingChange("room", date(2023, 5, 1), "high_trim", 1.0),)
    )
    assert np.array_equal(one.zones[0].people, two.zones[0].people)
    assert np.array_equal(one.zones[0].motion, two.zones[0].motion)
    assert np.array_equal(one.zones[0].baseline_kw, two.zones[0].baseline_kw)
    assert np.array_equal(one.sky.lux, two.sky.lux)


@pytest.mark.parametrize("hold", [2.0, 7.5, 20.0])
def test_the_light_goes_out_exactly_the_hold_time_after_the_last_motion(hold: float) -> None:
    site = simulated(agreed(hold_minutes=hold))
    zone, clock = site.zones[0], site.clock
    start, end = zone.scene.people.motion_start_s, zone.scene.people.motion_end_s
    alone = np.append(start[1:] - end[:-1] > (hold + 5) * 60, False)
    alone &= start < end // 60 * 60  # already lit when its last minute begins
    alone &= (end > site.reporting.start * 60) & (end < (clock.n - 100) * 60)
    assert alone.sum() > 50
    off_kw = 50 * 0.5 / 1000
    for last in end[alone][:100]:
        minute = int(last // 60)
        tail = zone.actual_kw[minute : minute + int(hold) + 4] - off_kw
        lit_minutes = tail.sum() / (0.8 * 2.0 - off_kw)
        assert lit_minutes - (last % 60) / 60 == pytest.approx(hold, abs=0.15 + SETTLING_GAIN * hold)


def test_levels_are_trim_when_occupied_and_low_level_when_vacant_in_opening_hours() -> None:
    site = simulated(agreed(low_level=0.25))
    zone, span = site.zones[0], site.reporting
    seen = level(site)
    open_now = zone.scene.hours.open[span]
    assert seen[open_now].min() == pytest.approx(0.25, abs=1e-9)
    assert np.quantile(seen, 0.995) == pytest.approx(0.8, abs=0.012)
    closed_dark = seen[~open_now]
    assert closed_dark.min() == pytest.approx(50 * 0.5 / 2000, abs=1e-9)  # standby only


def test_without_a_schedule_the_low_level_burns_all_night() -> None:
    site = simulated(agreed(low_level=0.25, scheduled_off=False))
    assert level(site).min() == pytest.approx(0.25, abs=1e-9)


def test_daylight_dims_by_day_alone_and_only_its_share_of_fixtures() -> None:
    window = replace(
        agreed(daylight_dimming=True),
        daylight=Daylight(factor=0.05, share=0.5, setpoint_lux=400, min_level=0.1),
    )
    hours = (("mon-sun", "07:00-23:00"),)
    site, plain = simulated(window, hours=hours), simulated(agreed(), hours=hours)
    ratio = site.zones[0].actual_kw / np.maximum(plain.zones[0].actual_kw, 1e-9)
    lit = plain.zones[0].scene.people.motion & (np.arange(site.clock.n) >= site.reporting.start)
    night, noon = site.sky.elevation < -4, site.sky.elevation > 35
    assert (lit & night).sum() > 50
    assert ratio[lit & night] == pytest.approx(1.0, abs=0.003)
    full_sun = (0.5 * 0.8 + 0.5 * 0.1) / 0.8
    assert np.median(ratio[lit & noon]) == pytest.approx(full_sun, abs=0.02)


def test_a_dead_daylight_sensor_restores_full_light_from_its_minute_on() -> None:
    window = replace(agreed(daylight_dimming=True), daylight=Daylight(factor=0.05, share=1.0))
    when = SettingChange("room", date(2023, 5, 15), "daylight_dimming", False, 11 * 60)
    broken, sound = simulated(window, changes=(when,)), simulated(window)
    first = int(np.flatnonzero(broken.zones[0].actual_kw != sound.zones[0].actual_kw)[0])
    change = broken.clock.minute_at(date(2023, 5, 15), 11 * 60)
    assert change <= first < change + 240
    assert broken.avoided_kwh < sound.avoided_kwh


FAULTS = [
    ("high_trim", 1.0),
    ("hold_minutes", 40.0),
    ("sensor_bypassed", True),
    ("override_on", True),
    ("standby_watts", 4.0),
    ("added_kw", 0.3),
]


@pytest.mark.parametrize(("setting", "value"), FAULTS)
def test_each_fault_costs_energy_after_its_date_and_changes_nothing_before(
    setting: str, value: float
) -> None:
    change = SettingChange("room", date(2023, 5, 9), setting, value, 600)  # type: ignore[arg-type]
    faulty, sound = simulated(changes=(change,)), simulated()
    minute = sound.clock.minute_at(date(2023, 5, 9), 600)
    before, after = slice(0, minute), slice(minute, None)
    assert np.array_equal(faulty.zones[0].actual_kw[before], sound.zones[0].actual_kw[before])
    assert faulty.zones[0].actual_kw[after].sum() > sound.zones[0].actual_kw[after].sum()


def test_failed_lamps_lower_the_load_in_proportion() -> None:
    change = SettingChange("room", date(2023, 4, 1), "lamps_failed", 0.2)
    failed, sound = (
        simulated(agreed(standby_watts=0.0), changes=(change,)),
        simulated(agreed(standby_watts=0.0)),
    )
    span = sound.reporting
    assert failed.zones[0].actual_kw[span].sum() == pytest.approx(0.8 * sound.zones[0].actual_kw[span].sum())


def test_a_lost_schedule_shows_only_outside_opening_hours() -> None:
    change = SettingChange("room", date(2023, 5, 9), "scheduled_off", False)
    lost, sound = simulated(agreed(low_level=0.3), changes=(change,)), simulated(agreed(low_level=0.3))
    warm = 0.8 * 2.0 * SETTLING_GAIN  # lamps that burned all night draw less in the morning
    differs = np.abs(lost.zones[0].actual_kw - sound.zones[0].actual_kw) > warm
    assert differs.any()
    assert not sound.zones[0].scene.hours.open[differs].any()


def test_an_unsensed_zone_burns_by_the_clock_and_all_night_once_the_schedule_is_lost() -> None:
    clockwork = agreed(occupancy_sensing=False)
    change = SettingChange("room", date(2023, 5, 9), "scheduled_off", False)
    site = simulated(clockwork, changes=(change,))
    zone, clock = site.zones[0], site.clock
    before = clock.span(date(2023, 4, 1), date(2023, 5, 8))
    after = clock.span(date(2023, 5, 9), date(2023, 6, 30))
    assert zone.actual_kw[before][zone.scene.hours.open[before]].min() > 1.59
    assert zone.actual_kw[before].min() < 0.03
    assert zone.actual_kw[after].min() > 1.59


def test_a_lagging_controller_clock_shifts_the_schedule() -> None:
    change = SettingChange("room", date(2023, 4, 1), "clock_offset_minutes", 60.0)
    site = simulated(agreed(low_level=0.3), changes=(change,))
    zone, clock = site.zones[0], site.clock
    believed_open = zone.actual_kw > 0.3 * 2.0 - 1e-9
    span = clock.span(date(2023, 5, 9), date(2023, 5, 9))
    first = int(np.flatnonzero(believed_open[span])[0])
    assert first <= 6 * 60  # 07:00 by the wall, taken for 07:00 an hour too early


def test_outdoor_lamps_burn_below_their_sun_elevation_and_dim_in_the_deep_night() -> None:
    site = simulated(YARD)
    zone, span = site.zones[0], site.reporting
    power = zone.actual_kw[span] / zone.design.connected_kw_after
    elevation, wall = site.sky.elevation[span], site.clock.minute_of_day[span]
    assert power[elevation > -2.0].max() < 0.05
    evening = (elevation < -4.0) & (wall > 12 * 60) & (wall < 23 * 60)
    assert power[evening] == pytest.approx(0.85, abs=0.012)
    deep = (elevation < -4.0) & ((wall >= 23 * 60) | (wall < 5 * 60))
    assert power[deep] == pytest.approx(0.5, abs=0.012)


def test_a_stuck_photocell_burns_through_the_day() -> None:
    site = simulated(YARD, changes=(SettingChange("yard", date(2023, 6, 1), "photocell_stuck", True),))
    june = site.clock.span(date(2023, 6, 1), date(2023, 6, 30))
    assert site.zones[0].actual_kw[june].min() > 0.4 * site.zones[0].design.connected_kw_after


def test_egress_lighting_never_goes_out() -> None:
    site = simulated(replace(ROOM, egress_kw_before=0.2, egress_kw_after=0.08))
    zone = site.zones[0]
    assert zone.baseline_kw.min() > 0.19
    assert zone.actual_kw[site.reporting].min() >= 0.08


def test_a_power_cut_darkens_everything_and_spares_the_counterfactual_nothing() -> None:
    outage = Outage(datetime(2023, 5, 10, 10, 0), 45)
    site = simulated(replace(ROOM, egress_kw_before=0.2, egress_kw_after=0.08), outages=(outage,))
    first = site.clock.minute_at(date(2023, 5, 10), 600)
    assert site.zones[0].actual_kw[first : first + 45].max() == 0
    assert site.zones[0].baseline_kw[first : first + 45].max() == 0
    assert site.zones[0].actual_kw[first + 45] > 0


def test_old_lamps_are_on_when_people_are_in_and_sometimes_forgotten() -> None:
    def night_share(forget: float) -> float:
        site = simulated(replace(ROOM, old=OldSystem("manual", 1, forget=forget, daylight_switching=0.0)))
        zone = site.zones[0]
        present = zone.people > 0
        assert (zone.baseline_kw[present] > 0).all()
        return float((zone.baseline_kw[~present] > 0).mean())

    assert night_share(0.3) > night_share(0.05) > night_share(0.001)


def test_bright_daylight_keeps_some_people_from_switching_on() -> None:
    def energy(reluctance: float) -> float:
        zone = replace(
            ROOM,
            old=OldSystem("manual", 2, daylight_switching=reluctance),
            daylight=Daylight(factor=0.05),
        )
        site = simulated(zone)
        return float(site.zones[0].baseline_kw[site.reporting].sum())

    assert 0.6 * energy(0.0) < energy(0.5) < energy(0.0)


def test_measures_switched_on_in_turn_add_up_to_the_avoided_energy() -> None:
    change = SettingChange("room", date(2023, 5, 9), "added_kw", 0.3)
    window = replace(agreed(daylight_dimming=True), daylight=Daylight(factor=0.03))
    site = simulated(window, changes=(change,))
    steps = bridge_steps(site)["room"]
    assert sum(steps.values()) == pytest.approx(site.avoided_kwh, abs=1e-6)
    assert steps["standby"] < 0
    assert steps["daylight dimming"] > 0
    days_left = site.clock.span(date(2023, 5, 9), date(2023, 6, 30))
    assert steps["other changes"] == pytest.approx(-0.3 * (days_left.stop - days_left.start) / 60)
    trim = steps["high trim"] / (simulated_energy_after_lamps(site))
    assert trim == pytest.approx(0.2, abs=0.005)


def simulated_energy_after_lamps(site: SimulatedSite) -> float:
    lamps_only = Measures(True, *[False] * 6)
    other = simulate_site(site.design, site.seed, lamps_only)
    return float(other.zones[0].actual_kw[other.reporting].sum() / 60)


def test_bright_daylight_keeps_the_lamps_off_where_the_control_holds_them_off() -> None:
    skylit = replace(agreed(daylight_dimming=True), daylight=Daylight(factor=0.05, hold_off_lux=800.0))
    site = simulated(skylit)
    zone, span = site.zones[0], site.reporting
    lux = zone.scene.daylight_lux
    standby = 50 * 0.5 / 1000
    dull_lately = np.array([lux[max(0, i - 12) : i + 1].min() <= 800 for i in range(len(lux))])
    lit_by_sun = ~dull_lately[span]
    assert lit_by_sun.sum() > 1000
    assert zone.actual_kw[span][lit_by_sun] == pytest.approx(standby)


def test_lights_stay_off_by_choice_in_both_systems() -> None:
    talks = replace(ROOM, behaviour=replace(ROOM.behaviour, dark_hours_per_week=20.0))
    site = simulated(talks)
    zone = site.zones[0]
    chosen = zone.scene.chosen_dark
    assert 0.01 < chosen.mean() < 0.2
    assert zone.baseline_kw[chosen].max() == 0
    reporting = chosen[site.reporting]
    assert zone.actual_kw[site.reporting][reporting] == pytest.approx(50 * 0.5 / 1000)


def test_a_year_of_one_zone_takes_under_a_second_even_on_a_busy_machine() -> None:
    import time

    simulated()  # imports and caches
    begun = time.process_time()
    site = simulated(baseline=(date(2020, 1, 1), date(2022, 12, 31)))
    zone_years = site.clock.n / 525_600
    assert (time.process_time() - begun) / zone_years < 1.0


def test_a_time_clock_burns_the_same_hours_until_it_is_reset() -> None:
    timed = replace(YARD, old=OldSystem("timer"))
    site = simulated(timed, baseline=(date(2022, 3, 1), date(2023, 2, 28)))
    lit = site.zones[0].baseline_kw > 0
    clock = site.clock
    hours = np.add.reduceat(lit, clock.day_start[:-1]) / 60
    length = np.diff(clock.day_start) / 60
    plain = length == 24
    assert len(np.unique(np.round(hours[:61][plain[:61]], 2))) <= 2
    dark = np.add.reduceat(site.sky.elevation < 0, clock.day_start[:-1]) / 60
    assert hours.mean() == pytest.approx(dark.mean(), abs=0.6)
    assert np.abs(hours - dark).max() > 1.0


def test_outdoor_switching_belongs_to_the_scheduling_step() -> None:
    site = simulated(replace(YARD, old=OldSystem("timer", failed_fraction=0.0)))
    steps = bridge_steps(site)["yard"]
    zone = site.zones[0]
    lamps = (
        zone.baseline_kw[site.reporting].sum() / 60 * (1 - zone.design.watts_after / zone.design.watts_before)
    )
    assert steps["lamp change"] == pytest.approx(lamps, rel=0.03)
    assert abs(steps["scheduling"]) > 0
