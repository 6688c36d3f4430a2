"""The lighting after: lamps, trim, sensors, daylight, schedule and standby, each as it truly acts."""

from dataclasses import dataclass

import numpy as np

from mv.simulate.arrays import Bools, Floats, merged, minute_share, overlap_count, runs
from mv.simulate.design import SiteDesign, ZoneDesign
from mv.simulate.minute_clock import MinuteClock, Opening
from mv.simulate.people import People
from mv.simulate.sky import Sky
from mv.simulate.timeline import at, timeline

PUSH_BUTTON_MINUTES = 120.0  # after-hours light in zones without sensors; common practice, no source
CLOUD_DEGREES = 0.8  # sun elevation by which full cloud shifts switching; no source
HOLD_OFF_DELAY_MINUTES = 12  # bright this long before lamps go off; common practice, no source
SETTLING_GAIN, SETTLING_MINUTES = 0.012, 12.0  # LEDs draw a little more until warm; no source


@dataclass(frozen=True)
class Measures:
    """Which parts of the retrofit act; all False leaves the old lighting."""

    lamp_change: bool = True
    high_trim: bool = True
    occupancy_sensing: bool = True
    daylight_dimming: bool = True
    scheduling: bool = True
    standby: bool = True
    other_changes: bool = True


@dataclass(frozen=True)
class Scene:
    """All that a zone's control sees, minute by minute; shared by every set of measures."""

    clock: MinuteClock
    hours: Opening
    people: People
    sky: Sky
    daylight_lux: Floats
    old_on: Floats
    powered: Bools
    chosen_dark: Bools
    group_spans: tuple[tuple[Floats, Floats], ...]  # motion per sensor, seconds: starts and ends


def new_power_kw(site: SiteDesign, zone: ZoneDesign, scene: Scene, measures: Measures) -> Floats:
    """Minute power of the controlled zone, egress included, kW."""
    part = _outdoor_parts if zone.outdoor else _indoor_parts
    lit, off = part(site, zone, scene, measures)
    failed = timeline(site, zone, "lamps_failed", scene.clock)
    watts = zone.connected_kw_after * (1.0 - failed)
    power = watts * lit * _settling(lit)
    if measures.standby:
        power = power + off * zone.fixtures * timeline(site, zone, "standby_watts", scene.clock) / 1000.0
    if measures.other_changes:
        power = power + timeline(site, zone, "added_kw", scene.clock)
    result: Floats = power + zone.egress_kw_after
    return result


def _indoor_parts(
    site: SiteDesign, zone: ZoneDesign, scene: Scene, measures: Measures
) -> tuple[Floats, Floats]:
    """Mean level of each minute (fraction of connected load) and share of it spent dark."""
    full = occupied_level(site, zone, scene, measures)
    scheduled = measures.scheduling and zone.commissioned.scheduled_off
    schedule = _schedule_open(site, zone, scene) if scheduled else np.ones(scene.clock.n, dtype=np.bool_)
    if measures.occupancy_sensing and zone.commissioned.occupancy_sensing:
        held = sensed_hold(site, zone, scene, schedule)
        low = timeline(site, zone, "low_level", scene.clock)
        vacant = np.where(schedule, np.minimum(low, full), 0.0)
    else:
        held = _unsensed_hold(scene, schedule) if scheduled else scene.old_on
        vacant = np.zeros(scene.clock.n)
    if measures.occupancy_sensing or measures.scheduling:
        held = np.maximum(held, timeline(site, zone, "override_on", scene.clock))
    held = np.where(scene.chosen_dark, 0.0, held)
    lit = held * full + (1.0 - held) * vacant
    lit = np.where(scene.chosen_dark, 0.0, lit)
    dark = np.where((vacant <= 0.0) | scene.chosen_dark, 1.0 - held, 0.0)
    dark = dark + np.where(full <= 0.0, held, 0.0)
    return lit, dark


def occupied_level(site: SiteDesign, zone: ZoneDesign, scene: Scene, measures: Measures) -> Floats:
    """Level while occupied: trim, less what daylight gives, fraction of connected load."""
    trim = timeline(site, zone, "high_trim", scene.clock) if measures.high_trim else np.ones(1)
    dimming = timeline(site, zone, "daylight_dimming", scene.clock)
    day = zone.daylight
    if not measures.daylight_dimming or not dimming.any() or day.factor <= 0:
        return np.broadcast_to(trim, (scene.clock.n,)).astype(np.float64)
    need = np.clip(1.0 - scene.daylight_lux / day.setpoint_lux, 0.0, 1.0)
    dimmed = np.minimum(np.maximum(trim * need, day.min_level), trim)
    if day.hold_off_lux is not None:
        dimmed = np.where(_long_bright(scene.daylight_lux, day.hold_off_lux), 0.0, dimmed)
    level: Floats = trim - dimming * day.share * (trim - dimmed)
    return level


def _long_bright(lux: Floats, limit: float) -> Bools:
    """Minutes in which daylight has been above a limit for the whole of the hold-off delay."""
    dull_at = np.maximum.accumulate(np.where(lux <= limit, np.arange(len(lux)), -(10**6)))
    bright: Bools = np.arange(len(lux)) - dull_at > HOLD_OFF_DELAY_MINUTES
    return bright


def sensed_hold(site: SiteDesign, zone: ZoneDesign, scene: Scene, schedule: Bools) -> Floats:
    """Share of each minute that the sensor holds the zone as occupied."""
    clock = scene.clock
    hold_minutes = timeline(site, zone, "hold_minutes", clock)
    held = np.zeros(clock.n)
    for starts, ends in scene.group_spans:
        hold_s = 60.0 * at(hold_minutes, (ends // 60).astype(np.int64))
        held += minute_share(*merged(starts, ends + hold_s), clock.n)
    held /= len(scene.group_spans)
    bypassed = timeline(site, zone, "sensor_bypassed", clock)
    if bypassed.any():
        held = np.maximum(held, bypassed * schedule)
    return held


def _unsensed_hold(scene: Scene, schedule: Bools) -> Floats:
    """Without sensors: on by the clock, and by push button when someone is there at other times."""
    people = scene.people
    late = ~schedule[np.minimum((people.motion_start_s // 60).astype(np.int64), scene.clock.n - 1)]
    spans = people.motion_start_s[late], people.motion_end_s[late] + 60.0 * PUSH_BUTTON_MINUTES
    pressed = minute_share(*merged(*spans), scene.clock.n)
    return np.maximum(pressed, schedule)


def _schedule_open(site: SiteDesign, zone: ZoneDesign, scene: Scene) -> Bools:
    """Minutes the controller takes for open: its own clock, and all of them once it is lost."""
    clock = scene.clock
    shift = timeline(site, zone, "clock_offset_minutes", clock)
    index = np.arange(clock.n)
    believed = _widened(scene.hours.open, zone.commissioned.schedule_margin_minutes)
    if shift.any():
        believed = believed[np.clip(index + shift.astype(np.int64), 0, clock.n - 1)]
    lost = timeline(site, zone, "scheduled_off", clock) < 0.5
    return believed | lost


def _widened(flags: Bools, margin: int) -> Bools:
    """Runs of True made longer by a margin at both ends."""
    if margin == 0:
        return flags
    first, last = runs(flags)
    wide: Bools = overlap_count(first - margin, last + margin, len(flags)) > 0
    return wide


def _outdoor_parts(
    site: SiteDesign, zone: ZoneDesign, scene: Scene, measures: Measures
) -> tuple[Floats, Floats]:
    """Dusk to dawn by photocell (cloud switches it on a little early), dimmed for part of the night."""
    clock, sky = scene.clock, scene.sky
    burning = scene.old_on > 0  # the old switching stays until the new acts
    if measures.scheduling:
        threshold = timeline(site, zone, "switching_elevation", clock)
        burning = sky.elevation < threshold + CLOUD_DEGREES * (sky.cloud - 0.5)
        burning = burning | (timeline(site, zone, "photocell_stuck", clock) > 0.5)
    trim = timeline(site, zone, "high_trim", clock) if measures.high_trim else np.ones(1)
    level = np.broadcast_to(trim, (clock.n,))
    if measures.scheduling:
        begin, end = (60.0 * hour for hour in zone.commissioned.part_night_hours)
        wall = clock.minute_of_day
        deep = ((wall - begin) % 1440) < ((end - begin) % 1440)
        level = np.where(deep, np.minimum(level, zone.commissioned.part_night_level), level)
    return burning * level, (~burning).astype(np.float64)


def _settling(lit: Floats) -> Floats:
    """Factor on power while lamps warm up after a dark spell."""
    index = np.arange(len(lit))
    dark_at = np.maximum.accumulate(np.where(lit <= 0.0, index, -(10**6)))
    since = np.minimum(index - dark_at, 120)
    table = 1.0 + SETTLING_GAIN * np.exp(-np.arange(121) / SETTLING_MINUTES)
    table[120] = 1.0
    factor: Floats = table[since]
    return factor
