"""Drawn sites differ as real ones do, and what is planted in them shows."""

from collections import Counter
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import get_args

import numpy as np
import pytest

from mv.simulate import (
    CHANGE_KINDS,
    SHOWS_AS,
    SettingChange,
    SimulatedSite,
    WorkloadStep,
    change_worths,
    expected_savings,
    firmware_reset,
    random_changes,
    random_file_faults,
    random_site,
    simulate_site,
    true_settings,
    zone_changes,
)
from mv.simulate.design import INTERFACE_SETTINGS, Setting

SHORT = {"baseline_months": 1, "reporting_months": 2}


def short(seed: int, **chosen: object) -> SimulatedSite:
    return simulate_site(random_site(seed, **{**SHORT, **chosen}), seed)  # type: ignore[arg-type]


def test_sites_of_many_seeds_differ_in_place_size_hours_and_kind() -> None:
    designs = [random_site(seed, zones=2) for seed in range(60)]
    assert len({d.timezone for d in designs}) > 10
    assert len({d.hours for d in designs}) > 5
    assert min(d.latitude for d in designs) < -40 and max(d.latitude for d in designs) > 60
    assert min(d.persistence for d in designs) < 0.15 and max(d.persistence for d in designs) > 0.75
    kinds = Counter(zone.kind for d in designs for zone in d.zones)
    assert len(kinds) >= 6
    loads = [zone.connected_kw_before for d in designs for zone in d.zones]
    assert max(loads) > 15 * min(loads)


@pytest.mark.parametrize("latitude", [-55.0, 0.0, 70.0, 78.0])
def test_any_latitude_can_be_asked_for(latitude: float) -> None:
    site = short(2, latitude=latitude, kinds=("outdoor",))
    assert site.design.latitude == latitude
    assert np.isfinite(site.zones[0].actual_kw).all()


@pytest.mark.parametrize("seed", range(12))
def test_every_site_draws_what_it_can_and_saves_within_reason(seed: int) -> None:
    site = short(seed, zones=2, difficult=seed % 2 == 0)
    for zone in site.zones:
        most = zone.design.connected_kw_before * 1.1 + zone.design.egress_kw_before * 1.1
        assert zone.baseline_kw.min() >= 0 and zone.baseline_kw.max() < most
        new = zone.actual_kw[site.reporting]
        assert new.max() < (zone.design.connected_kw_after + zone.design.egress_kw_after) * 1.02
        if zone.design.commissioned.standby_watts > 0:
            assert new.min() > 0


def test_the_same_seed_is_the_same_site_and_another_is_not() -> None:
    one, two, other = short(3), short(3), short(4)
    assert one.design == two.design
    assert np.array_equal(one.zones[0].actual_kw, two.zones[0].actual_kw)
    assert one.design != other.design


def test_several_sensors_light_the_zone_in_parts() -> None:
    design = random_site(6, kinds=("stores",), **SHORT)
    parted = replace(
        design.zones[0],
        commissioned=replace(design.zones[0].commissioned, sensor_groups=4, low_level=0.0),
    )
    site = simulate_site(replace(design, zones=(parted,)), 6)
    level = site.zones[0].actual_kw[site.reporting] / site.zones[0].actual_kw[site.reporting].max()
    partly = ((level > 0.2) & (level < 0.8)).mean()
    whole = replace(parted, commissioned=replace(parted.commissioned, sensor_groups=1))
    single = simulate_site(replace(design, zones=(whole,)), 6)
    alone = single.zones[0].actual_kw[single.reporting] / single.zones[0].actual_kw[single.reporting].max()
    assert partly > 3 * ((alone > 0.2) & (alone < 0.8)).mean()


def test_a_schedule_margin_widens_the_lit_hours() -> None:
    design = random_site(1, kinds=("hall",), **SHORT)
    agreed = replace(design.zones[0].commissioned, low_level=0.3, scheduled_off=True, occupancy_sensing=True)

    def hours_lit(margin: int) -> float:
        zone = replace(design.zones[0], commissioned=replace(agreed, schedule_margin_minutes=margin))
        site = simulate_site(replace(design, zones=(zone,), hours=(("mon-fri", "08:00-18:00"),)), 1)
        low = 0.29 * zone.connected_kw_after
        return float((site.zones[0].actual_kw[site.reporting] > low).sum() / 60)

    assert hours_lit(30) > hours_lit(0) + 10


def test_more_work_from_a_date_on_brings_more_people_from_that_date() -> None:
    design = random_site(6, kinds=("stores",), **SHORT)
    step = WorkloadStep("*", date(2023, 4, 1), 2.5)
    busy, calm = (simulate_site(replace(design, workload_steps=steps), 6) for steps in ((step,), ()))
    april = calm.clock.span(date(2023, 4, 1), date(2023, 4, 30))
    march = calm.clock.span(date(2023, 3, 1), date(2023, 3, 31))
    assert busy.zones[0].people[april].sum() > 1.8 * calm.zones[0].people[april].sum()
    assert busy.zones[0].people[march].sum() == pytest.approx(calm.zones[0].people[march].sum(), rel=0.1)


@pytest.mark.parametrize("cause", CHANGE_KINDS)
def test_every_kind_of_fault_can_be_drawn_and_acts_from_its_date(cause: str) -> None:
    for seed in range(40):
        design = random_site(seed, zones=2, **SHORT)
        changes = random_changes(design, seed, kinds=[cause], first_after_days=10, last_before_days=20)
        if changes:
            break
    assert [change.cause for change in changes] == [cause]
    faulty, sound = simulate_site(design.with_changes(*changes), seed), simulate_site(design, seed)
    zone = changes[0].zone
    minute = sound.clock.minute_at(changes[0].day, changes[0].minute)
    one, two = faulty.zone(zone).actual_kw, sound.zone(zone).actual_kw
    assert np.array_equal(one[:minute], two[:minute])
    assert not np.array_equal(one[minute:], two[minute:])


def test_the_worth_of_a_change_is_the_energy_it_added() -> None:
    design = random_site(5, kinds=("office",), **SHORT)
    change = SettingChange(design.zones[0].id, date(2023, 4, 1), "added_kw", 0.5)
    worth = change_worths(simulate_site(design.with_changes(change), 5))[0]
    hours = 30 * 24  # April
    assert worth.kwh == pytest.approx(0.5 * hours, rel=0.005)  # less the hour the clock skips, if any
    assert worth.kwh_per_month == pytest.approx(0.5 * 8766 / 12, rel=0.005)


def test_a_firmware_reset_moves_every_indoor_zone_at_one_minute() -> None:
    design = random_site(9, zones=4, kinds=("office", "workshop", "outdoor"), **SHORT)
    reset = firmware_reset(design, date(2023, 4, 12))
    assert len({(change.day, change.minute) for change in reset}) == 1
    assert {change.zone for change in reset} == {z.id for z in design.zones if not z.outdoor}
    moved = design.with_changes(*reset)
    for zone in moved.zones:
        if not zone.outdoor:
            after = true_settings(zone, changes=zone_changes(moved, zone.id))
            assert (after["high_trim"], after["hold_minutes"], after["daylight_dimming"]) == (
                1.0,
                20.0,
                False,
            )


def test_file_faults_are_drawn_apart_and_inside_the_span() -> None:
    first, last = date(2022, 1, 1), date(2024, 2, 29)
    faults = random_file_faults(first, last, 2, per_year=8)
    assert 6 < len(faults) < 32
    assert len({fault.kind for fault in faults}) >= 4
    assert first < faults[0].when.date() and faults[-1].when.date() < last
    gaps = [(b.when - a.when).days for a, b in pairwise(faults)]
    assert min(gaps) >= 3


def test_expected_savings_average_over_other_years() -> None:
    design = random_site(4, kinds=("office",), **SHORT)
    expected = expected_savings(design, range(4))
    singles = [simulate_site(design, seed).avoided_kwh for seed in range(4)]
    assert expected.kwh == pytest.approx(np.mean(singles))
    assert expected.standard_error == pytest.approx(np.std(singles, ddof=1) / 2)
    with pytest.raises(ValueError, match="two seeds"):
        expected_savings(design, [1])


def test_persistence_of_behaviour_shows_in_the_old_lighting_s_daily_energy() -> None:
    def lag_one(persistence: float) -> float:
        found = []
        for seed in range(5):
            design = random_site(seed, kinds=("workshop",), persistence=persistence, reporting_months=1)
            design = replace(design, quiet_weeks=(), hours=(("mon-sun", "07:00-18:00"),), holidays=())
            site = simulate_site(design, seed)
            daily = np.add.reduceat(site.zones[0].baseline_kw, site.clock.day_start[:-1])
            found.append(np.corrcoef(daily[1:], daily[:-1])[0, 1])
        return float(np.mean(found))

    assert lag_one(0.9) > lag_one(0.0) + 0.15


def test_every_setting_that_can_change_says_what_it_may_be_taken_for() -> None:
    assert set(SHOWS_AS) == set(get_args(Setting))
    for setting in INTERFACE_SETTINGS:
        assert SHOWS_AS[setting] == (setting,)
    assert all(set(shown) <= set(INTERFACE_SETTINGS) for shown in SHOWS_AS.values())
