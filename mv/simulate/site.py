"""The simulated site: what truly burned, what would have burned, and the truth about both."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from mv.simulate.arrays import Bools, Floats, Ints, autoregressive, stream
from mv.simulate.design import SiteDesign, ZoneDesign
from mv.simulate.minute_clock import MinuteClock, minute_clock, opening
from mv.simulate.new_lamps import Measures, Scene, new_power_kw
from mv.simulate.old_lamps import failed_share, old_share_on
from mv.simulate.other_load import other_power_kw
from mv.simulate.people import (
    People,
    dark_by_choice,
    make_people,
    motion_by_group,
    motion_seconds,
)
from mv.simulate.sky import Sky, make_sky

BLINDS_DRAWN = 0.45  # share of side light that drawn blinds pass; common practice, no source


@dataclass(frozen=True)
class SimulatedZone:
    """One zone, minute by minute over the whole span.

    `baseline_kw`: the old lighting with the same people and sky, before and (as counterfactual)
    after. `actual_kw`: what truly burned: old until the zone's hand-over, new from then on.
    """

    design: ZoneDesign
    scene: Scene
    baseline_kw: Floats
    actual_kw: Floats

    @property
    def motion(self) -> Bools:
        """Minutes in which the sensor saw motion."""
        return self.scene.people.motion

    @property
    def people(self) -> Ints:
        """People present per minute."""
        return self.scene.people.count


@dataclass(frozen=True)
class SimulatedSite:
    """The whole site. Energies are kWh over local dates; positive avoided energy is a saving."""

    design: SiteDesign
    seed: int
    clock: MinuteClock
    sky: Sky
    zones: tuple[SimulatedZone, ...]
    other_kw: Floats | None
    handover_minute: int

    def zone(self, name: str) -> SimulatedZone:
        """The simulated zone of that name."""
        return next(zone for zone in self.zones if zone.design.id == name)

    @property
    def reporting(self) -> slice:
        """Minutes of the reporting period."""
        return self.clock.span(*self.design.reporting)

    @property
    def baseline(self) -> slice:
        """Minutes of the baseline period."""
        return self.clock.span(*self.design.baseline)

    @property
    def avoided_kwh_by_zone(self) -> dict[str, float]:
        """Lighting energy avoided over the reporting period, per zone."""
        span = self.reporting
        return {z.design.id: _kwh(z.baseline_kw[span] - z.actual_kw[span]) for z in self.zones}

    @property
    def avoided_kwh(self) -> float:
        """Energy avoided at the meters over the reporting period (cooling interaction included)."""
        return _kwh((self.baseline_total_kw - self.actual_total_kw)[self.reporting])

    def avoided_between(self, first: date, last: date) -> float:
        """Energy avoided at the meters over the local dates first to last, both included."""
        return _kwh((self.baseline_total_kw - self.actual_total_kw)[self.clock.span(first, last)])

    @property
    def actual_total_kw(self) -> Floats:
        """What all meters together saw, per minute."""
        return self._total(np.sum([zone.actual_kw for zone in self.zones], axis=0))

    @property
    def baseline_total_kw(self) -> Floats:
        """What they would have seen with the old lighting."""
        return self._total(np.sum([zone.baseline_kw for zone in self.zones], axis=0))

    def _total(self, lighting_kw: Floats) -> Floats:
        other = self.design.whole_building
        if other is None or self.other_kw is None:
            return lighting_kw
        cooling = self.sky.air_c > other.cooling_above_c
        total: Floats = lighting_kw * (1.0 + other.lighting_to_cooling * cooling) + self.other_kw
        return total

    def series(self, power_kw: Floats, step_minutes: int = 1) -> pd.Series:
        """Mean kW per step as a Series on UTC interval starts."""
        whole = power_kw[: len(power_kw) // step_minutes * step_minutes]
        means = whole.reshape(-1, step_minutes).mean(axis=1)
        return pd.Series(means, index=self.clock.stamps(step_minutes), name="kw")


def simulate_site(design: SiteDesign, seed: int, measures: Measures = Measures()) -> SimulatedSite:  # noqa: B008
    """Simulate the site from the first baseline day to the last reporting day.

    The same design and seed give the same people and sky whatever `measures` act and whatever
    changes are planted: each process draws from a PCG64 stream of its own, seeded by (seed, name).
    """
    clock = minute_clock(design.baseline[0], design.reporting[1], design.timezone)
    sky = make_sky(design, clock, seed)
    handover = clock.minute_at(handover_day(design))
    mains = _mains_voltage(design, clock, seed)
    zones = tuple(
        _simulate_zone(design, z, clock, sky, mains, handover, seed, measures) for z in design.zones
    )
    other = None
    if design.whole_building is not None:
        busy = np.sum([zone.people for zone in zones], axis=0)
        other = other_power_kw(design.whole_building, design, clock, sky, busy, seed) * (mains > 0)
    return SimulatedSite(design, seed, clock, sky, zones, other, handover)


def handover_day(design: SiteDesign) -> date:
    """The local date from which the new lighting burns."""
    if design.handover is not None:
        return design.handover
    works = (design.reporting[0] - design.baseline[1]).days - 1
    return design.baseline[1] + timedelta(days=1 + works // 2)


def _simulate_zone(
    site: SiteDesign,
    zone: ZoneDesign,
    clock: MinuteClock,
    sky: Sky,
    mains: Floats,
    handover: int,
    seed: int,
    measures: Measures,
) -> SimulatedZone:
    hours = opening(clock, zone.hours or site.hours, site.holidays)
    worked = opening(clock, zone.hours or site.hours, (*site.holidays, *closed_days(site, zone.id)))
    people, habits = make_people(zone, site, clock, worked, seed)
    lux = interior_lux(zone, clock, sky, seed)
    old_on = old_share_on(zone, clock, worked, people.count, habits, sky, lux, seed)
    chosen = dark_by_choice(zone.behaviour, clock, people.count, stream(seed, zone.id, "dark"))
    spans = _sensor_spans(zone, people, seed)
    scene = Scene(clock, hours, people, sky, lux, old_on * ~chosen, mains > 0, chosen, spans)
    sound = 1.0 - failed_share(zone, clock, seed)[clock.day]
    voltage = mains**zone.old.voltage_exponent
    baseline = zone.connected_kw_before * scene.old_on * sound * voltage + zone.egress_kw_before * voltage
    return SimulatedZone(
        zone, scene, baseline, actual_power_kw(site, zone, scene, baseline, handover, measures)
    )


def _sensor_spans(zone: ZoneDesign, people: People, seed: int) -> tuple[tuple[Floats, Floats], ...]:
    """Stretches of motion as each of the zone's sensors sees them."""
    groups = zone.commissioned.sensor_groups
    if groups == 1:
        return ((people.motion_start_s, people.motion_end_s),)
    rng = stream(seed, zone.id, "groups")
    return tuple(motion_seconds(seen, rng) for seen in motion_by_group(people, groups, rng))


def actual_power_kw(
    site: SiteDesign, zone: ZoneDesign, scene: Scene, baseline_kw: Floats, handover: int, measures: Measures
) -> Floats:
    """Old until hand-over; new from then on, unless no lamp is changed."""
    actual = baseline_kw.copy()
    if measures.lamp_change:
        new = new_power_kw(site, zone, scene, measures) * scene.powered
        actual[handover:] = new[handover:]
    return actual


def closed_days(site: SiteDesign, zone: str) -> tuple[date, ...]:
    """The days on which a closure keeps people out of a zone."""
    return tuple(
        date.fromordinal(day)
        for closure in site.closures
        if closure.zone == zone
        for day in range(closure.first.toordinal(), closure.last.toordinal() + 1)
    )


def interior_lux(zone: ZoneDesign, clock: MinuteClock, sky: Sky, seed: int) -> Floats:
    """Daylight on the working plane, lux; side windows follow the sun and people draw blinds."""
    day = zone.daylight
    if day.factor <= 0:
        return np.zeros(clock.n)
    if day.facade_azimuth is None:
        return day.factor * sky.lux
    facing = np.clip(np.cos(np.radians(sky.azimuth - day.facade_azimuth)), 0.0, 1.0)
    drawn = stream(seed, zone.id, "blinds").random(clock.days) < 0.3
    blinds = np.where(drawn[clock.day] & (facing * sky.beam_share > 0.15), BLINDS_DRAWN, 1.0)
    lux: Floats = (
        day.factor * sky.lux * blinds * (1.0 - sky.beam_share + sky.beam_share * (0.4 + 1.4 * facing))
    )
    return lux


def _mains_voltage(site: SiteDesign, clock: MinuteClock, seed: int) -> Floats:
    """Mains voltage over nominal: wanders by half a per cent, and is nothing in a power cut."""
    hourly = autoregressive(stream(seed, "mains"), clock.n // 60 + 1, correlation=0.9, sd=0.005)
    voltage = 1.0 + np.repeat(hourly, 60)[: clock.n]
    for outage in site.outages:
        first = clock.minute_at(outage.when.date(), outage.when.hour * 60 + outage.when.minute)
        voltage[first : first + outage.minutes] = 0.0
    return voltage


def _kwh(power_kw: Floats) -> float:
    return float(np.sum(power_kw) / 60.0)


def logged_motion(
    site: SimulatedSite, zone: str, span: slice, silent: Sequence[tuple[date, date]] = ()
) -> tuple[Floats, Floats]:
    """Starts and ends of motion, seconds, that a log of these minutes holds; nothing on `silent` dates."""
    people = site.zone(zone).scene.people
    starts, ends = people.motion_start_s, people.motion_end_s
    inside = (starts >= span.start * 60) & (ends < span.stop * 60)
    for first, last in silent:
        lost = site.clock.span(first, last)
        inside &= (ends <= lost.start * 60) | (starts >= lost.stop * 60)
    return starts[inside], ends[inside]
