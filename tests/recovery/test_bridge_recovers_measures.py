"""The bridge gives back the true size of each measure of a simulated site.

True size: the simulator with the measures switched on one after the other in the stated order.
The avoided energy handed in is the true one, so that the bridge alone is tried. The bench over
many sites, with its table, is tests/benchmarks/bench_bridge.py.
"""

from dataclasses import replace
from datetime import date

import pandas as pd
import pytest

from mv.base.estimate import CannotSay, Estimate
from mv.base.opening_hours import Hours
from mv.base.setting_records import SettingFinding, ZoneSettings
from mv.base.study_records import Occupancy, Site, Study, Zone
from mv.bridge import Bridge, MeterEvidence, ZoneEvidence, baseline_to_reporting
from mv.drivers import interval_conditions
from mv.simulate import (
    MeterDesign,
    SettingChange,
    SimulatedSite,
    SiteDesign,
    bridge_steps,
    make_zone,
    meter_series,
    motion_log,
    simulate_site,
)
from mv.simulate.arrays import stream

HOURS = (("mon-fri", "07:00-19:00"),)
NAMES = {"lamp and fixture change": "lamp change", "unexplained": "other changes"}
AGREED = ("high_trim", "low_level", "hold_minutes", "daylight_dimming", "scheduled_off", "standby_watts")


@pytest.fixture(scope="module")
def site() -> SimulatedSite:
    rng = stream(5, "bridge recovery")
    zones = [make_zone(kind, kind, rng, 44.5) for kind in ("workshop", "office", "stores")]
    zones = [
        replace(z, commissioned=replace(z.commissioned, scheduled_off=True, occupancy_sensing=True))
        for z in zones
    ]
    design = SiteDesign(
        name="Invented",
        latitude=44.5,
        longitude=-89.6,
        timezone="America/Chicago",
        zones=tuple(zones),
        baseline=(date(2023, 1, 1), date(2023, 4, 30)),
        reporting=(date(2023, 6, 1), date(2024, 1, 31)),
        hours=HOURS,
    )
    change = SettingChange("stores", date(2023, 10, 2), "high_trim", 1.0, 600, "trim removed")
    return simulate_site(design.with_changes(change), 5)


def _meter(site: SimulatedSite, zone_id: str, minutes: int) -> MeterEvidence:
    design = site.design.zone(zone_id)
    zone = Zone(
        id=zone_id,
        fixtures=design.fixtures,
        watts_before=design.watts_before,
        watts_after=design.watts_after,
    )
    study = Study(
        format=1,
        site=Site(latitude=44.5, longitude=-89.6, timezone="America/Chicago"),
        meter=({"id": zone_id, "files": ("x",)},),
        occupancy=Occupancy(hours=Hours.model_validate(dict(HOURS))),
        zone=(zone,),
    )
    power = meter_series(site, MeterDesign(zone_id, (zone_id,), minutes, resolution=0.001)).power_kw
    start = site.clock.start
    before, after = (
        power[
            (power.index >= start + pd.Timedelta(minutes=span.start))
            & (power.index < start + pd.Timedelta(minutes=span.stop))
        ]
        for span in (site.baseline, site.reporting)
    )
    conditions = interval_conditions(pd.DatetimeIndex(after.index), study, zone)
    avoided = site.avoided_kwh_by_zone[zone_id]
    half = 0.01 * avoided
    return MeterEvidence(
        meter=zone_id,
        avoided_kwh=Estimate(avoided, avoided - half, avoided + half, 0.90),
        actual_kwh=float(after.sum()) * minutes / 60.0,
        power_kw=after,
        interval_minutes=float(minutes),
        zones=(
            ZoneEvidence(
                zone_id,
                zone.connected_kw_before,
                zone.connected_kw_after,
                zone.fixtures,
                is_open=conditions["is_open"],
                motion=motion_log(site, zone_id),
                settings=_settings(site, zone_id),
            ),
        ),
        baseline_power_kw=before,
        sun_elevation_deg=conditions["sun_elevation_deg"],
    )


def _settings(site: SimulatedSite, zone: str) -> ZoneSettings:
    """What was agreed, nothing found but the date of a change."""
    agreed = site.design.zone(zone).commissioned
    changed = {c.setting: c.day for c in site.design.changes if c.zone == zone}
    findings = [
        SettingFinding(
            zone,
            name,
            getattr(agreed, name),
            CannotSay(name, "not looked at"),
            "moved" if name in changed else "cannot tell",
            changed.get(name),
            "",
        )
        for name in AGREED
    ]
    return ZoneSettings(zone, tuple(findings), pd.DataFrame())


def _misses(bridge: Bridge, truth: dict[str, float], old_kwh: float) -> list[str]:
    found = []
    for step in bridge.steps:
        true = truth[NAMES.get(step.step, step.step)]
        if isinstance(step.kwh, CannotSay):
            found.append(f"{step.step}: cannot say, {step.kwh.why}")
            continue
        assert step.kwh.low is not None and step.kwh.high is not None
        near = abs(step.kwh.estimate - true) <= max(0.10 * abs(true), 0.004 * old_kwh)
        if not near and not step.kwh.low <= true <= step.kwh.high:
            found.append(f"{step.step}: {step.kwh} where {true:.0f} is true")
    return found


@pytest.mark.parametrize("minutes", [5, 15])
@pytest.mark.parametrize("zone", ["workshop", "office", "stores"])
def test_every_measure_is_given_back(site: SimulatedSite, zone: str, minutes: int) -> None:
    meter = _meter(site, zone, minutes)
    bridge = baseline_to_reporting([meter], avoided_kwh=meter.avoided_kwh, timezone=site.design.timezone)
    assert isinstance(meter.avoided_kwh, Estimate)
    old = meter.avoided_kwh.estimate + meter.actual_kwh
    assert _misses(bridge, bridge_steps(site)[zone], old) == []


def test_the_sites_steps_are_the_sums_of_its_zones(site: SimulatedSite) -> None:
    meters = [_meter(site, zone.id, 15) for zone in site.design.zones]
    total = sum(m.avoided_kwh.estimate for m in meters if isinstance(m.avoided_kwh, Estimate))
    answer = Estimate(total, 0.99 * total, 1.01 * total, 0.90)
    bridge = baseline_to_reporting(meters, avoided_kwh=answer, timezone=site.design.timezone)
    by_zone = bridge_steps(site)
    truth = {name: sum(zone[name] for zone in by_zone.values()) for name in by_zone["office"]}
    assert _misses(bridge, truth, 2.0 * total) == []
    told = [step.kwh.estimate for step in bridge.steps if isinstance(step.kwh, Estimate)]
    assert sum(told) == total
